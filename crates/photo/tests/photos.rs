//! Rendered photographs with known truth, within moderate bounds; the benchmark measures how good it is.
#![cfg(test)]

use oddment_core::job::Stop;
use oddment_core::shape::{Point, SheetSpace};
use oddment_files::picture::png;
use oddment_photo::rendered::{Judged, Scene, Shot, drilled, judged, notched, render};
use oddment_photo::{
    Calibrated, Found, NoCamera, Paper, Photograph, Reference, Stated, Target, calibrate, find,
    overlay, snapped, traced,
};

const SHOT: Shot =
    Shot { size: [1800, 1350], tilt: 0.5, from: -1.2, lens: 0.004, blur: 0.8, noise: 3.0, seed: 5 };

fn on_target() -> Scene {
    let target = Target { paper: Paper::A4, printed: None };
    let metal = notched(&target).unwrap();
    Scene { target: Some(target), ..Scene::plain(metal) }
}

fn by_corners() -> Scene {
    Scene::plain(drilled().unwrap())
}

fn seen(scene: &Scene, shot: &Shot) -> (Photograph, Calibrated, Judged) {
    let rendered = render(scene, shot);
    let reference = match scene.target {
        Some(target) => Reference::Target(target),
        None => Reference::taped([1000.0, 700.0]),
    };
    let placed = rendered.placed(reference.size(), 4.0);
    let photo = Photograph::of(rendered.picture).unwrap();
    let calibrated = calibrate(&photo, reference, placed).unwrap();
    let found = looked_at(&photo, &calibrated, scene.bow == 0.0);
    let stated = Stated { bow: scene.bow, ..Stated::default() };
    let judged = judged(scene, &found, &stated);
    (photo, found.calibrated, judged)
}

fn looked_at(photo: &Photograph, calibrated: &Calibrated, flat: bool) -> Found {
    find(photo, calibrated, flat, &Stop::default(), &mut |_| {})
}

#[track_caller]
fn check(scene: &Scene, shot: &Shot, most: f64) {
    let (_, _, j) = seen(scene, shot);
    assert!(j.outline < most && j.hole < most, "{j:?}");
    assert!(j.missed == 0 && j.wrong <= 2 && j.held > 0.9, "{j:?}");
}

#[test]
fn a_sheet_about_a_target_is_found_from_the_side() {
    check(&on_target(), &SHOT, 4.0);
}

#[test]
fn rust_and_a_lamp_do_not_hide_it() {
    check(&Scene { rust: 0.35, glare: 100.0, ..by_corners() }, &SHOT, 3.0);
}

#[test]
fn the_sheets_own_sides_say_what_the_lens_bends() {
    let shot = Shot { tilt: 0.7, lens: 0.012, ..SHOT };
    let (photo, calibrated, j) = seen(&by_corners(), &shot);
    assert!(j.outline < 1.5 && j.hole < 1.5 && j.missed == 0 && j.wrong <= 2, "{j:?}");
    assert!((calibrated.camera.lens() - 0.011).abs() < 0.003, "{}", calibrated.camera.lens());
    // Seen from the side by as much as the picture was taken from there.
    let slant = calibrated.camera.slant(Point::new(500.0, 350.0));
    assert!((slant - 0.7f64.tan()).abs() < 0.1, "{slant}");
    // A hand beside the left edge of the sheet is led to it.
    let on_edge = snapped(&photo, &calibrated, Point::new(2.5, 260.0), 6.0).unwrap();
    assert!(on_edge.x.abs() < 0.6, "{on_edge:?}");
}

/// The rim of a contour that was pressed beside it, by up to 1.5 mm.
#[test]
fn what_a_hand_traces_is_drawn_to_the_edge() {
    let (photo, calibrated, _) = seen(&by_corners(), &SHOT);
    let traced = |pressed: &[(f64, f64)]| {
        let pressed: Vec<_> = pressed.iter().map(|p| Point::new(p.0, p.1)).collect();
        traced(&photo, &calibrated, &pressed).unwrap()
    };
    let round = traced(&[(191.0, 160.5), (149.0, 199.0), (111.0, 159.0), (150.0, 121.0)]);
    let (centre, radius) = round.shape.as_circle().unwrap();
    assert!(centre.distance(Point::new(150.0, 160.0)) < 0.5 && (radius - 40.0).abs() < 0.5);
    let square = traced(&[(419.0, 91.0), (541.0, 89.0), (539.0, 171.0), (421.0, 169.0)]);
    assert_eq!(square.form, oddment_core::capture::trace::Form::Polygon);
    assert!((square.shape.area() - 120.0 * 80.0).abs() < 120.0, "{}", square.shape.area());
    // Where nothing is to be seen it is what was pressed.
    let nothing = traced(&[(300.0, 250.0), (380.0, 250.0), (380.0, 300.0)]);
    assert!((nothing.shape.area() - 2000.0).abs() < 1e-6 && nothing.contrast == 0.0);
}

#[test]
fn a_bow_that_was_stated_is_in_the_give_or_take() {
    let (_, _, j) = seen(&Scene { bow: 8.0, ..on_target() }, &Shot { tilt: 0.6, ..SHOT });
    assert!(j.outline > 2.0 && j.held > 0.95, "{j:?}");
}

/// A sheet of 400 × 300 mm straight from above, two pixels a millimetre, on a dark bed; `shade` says otherwise for
/// places of it (mm from its lower left corner).
fn from_above(shade: impl Fn(f64, f64) -> Option<u8>) -> Found {
    let picture = image::RgbImage::from_fn(1000, 800, |x, y| {
        // Each pixel is the mean of nine places in it.
        let places = (0..9).map(|k| (f64::from(k % 3), f64::from(k / 3)));
        let lightness = places.map(|(i, j)| {
            let mm = |v: f64| 0.5 * (v - 100.0);
            let at = |v: u32, k: f64| mm(f64::from(v) + (k + 0.5) / 3.0);
            let (x, y) = (at(x, i), 300.0 - at(y, j));
            let on = (0.0..400.0).contains(&x) && (0.0..300.0).contains(&y);
            f64::from(if on { shade(x, y).unwrap_or(140) } else { 34 })
        });
        let grain = f64::from((x * 7 + y * 13 + x * y % 11) % 5) - 2.0;
        image::Rgb([(lightness.sum::<f64>() / 9.0 + grain).round() as u8; 3])
    });
    let photo = Photograph::of(picture).unwrap();
    let corners = [(100.0, 700.0), (900.0, 700.0), (900.0, 100.0), (100.0, 100.0)]
        .map(|c| Point::new(c.0, c.1));
    let seen = calibrate(&photo, Reference::taped([400.0, 300.0]), corners).unwrap();
    looked_at(&photo, &seen, true)
}

fn inside(x: f64, y: f64, [left, right, low, high]: [f64; 4]) -> bool {
    (left..right).contains(&x) && (low..high).contains(&y)
}

/// Dark rust beside a round hole, and a slat that is seen through a square one where it runs along its side.
#[test]
fn rust_beside_a_hole_and_a_slat_under_it_do_not_bend_its_rim() {
    let found = from_above(|x, y| {
        let hole = (x - 100.0).hypot(y - 150.0) < 20.0;
        let rust = inside(x, y, [114.0, 125.0, 140.0, 158.0]);
        let square = inside(x, y, [240.0, 320.0, 110.0, 190.0]);
        let slat = inside(x, y, [316.0, 320.0, 130.0, 165.0]);
        match (hole, rust, square, slat) {
            (true, ..) => Some(34),
            (_, true, ..) => Some(76),
            (.., true) => Some(72),
            (_, _, true, _) => Some(34),
            _ => None,
        }
    });
    assert_eq!(found.holes.len(), 2, "{:?}", found.holes);
    let round = found.holes.iter().find_map(|h| h.shape.as_circle());
    let (centre, radius) = round.expect("the hole is round");
    assert!(centre.distance(Point::new(100.0, 150.0)) < 0.4, "{centre:?}");
    assert!((radius - 20.0).abs() < 0.4, "{radius}");
    let square = found.holes.iter().find(|h| h.shape.as_circle().is_none()).unwrap();
    assert_eq!(square.shape.vertices().len(), 4, "{:?}", square.shape);
    assert!((square.shape.area() - 6400.0).abs() < 80.0, "{}", square.shape.area());
}

/// A keyway in a hole and a notch in a side are no stains: there is no edge across their mouths.
#[test]
fn a_notch_stays_one() {
    let found = from_above(|x, y| {
        let hole =
            (x - 100.0).hypot(y - 150.0) < 20.0 || inside(x, y, [110.0, 126.0, 146.0, 154.0]);
        let square = inside(x, y, [240.0, 320.0, 110.0, 190.0])
            || inside(x, y, [318.0, 326.0, 140.0, 160.0]);
        (hole || square).then_some(34)
    });
    assert_eq!(found.holes.len(), 2);
    let reaches = |x: f64, y: f64| found.holes.iter().any(|h| h.shape.encloses(Point::new(x, y)));
    assert!(reaches(124.5, 150.0) && reaches(324.5, 150.0), "{:?}", found.holes);
    assert!(!reaches(124.5, 157.0) && !reaches(324.5, 165.0));
}

/// The page as it comes from the printer, looked at straight from above.
#[test]
fn the_printed_page_is_the_target() {
    for paper in Paper::ALL {
        let target = Target { paper, printed: None };
        let scale = 3.0;
        let photo = Photograph::read(&png(&target.page(), scale).unwrap()).unwrap();
        let (to_pixel, [w, h], [mx, my]) = (scale * 72.0 / 25.4, target.wanted(), target.margins());
        let corner = |x: f64, y: f64| Point::new((mx + x) * to_pixel, (my + h - y) * to_pixel);
        let placed = [corner(1.5, 0.0), corner(w, 2.0), corner(w - 2.0, h), corner(0.0, h - 1.0)];
        let found = calibrate(&photo, Reference::Target(target), placed).unwrap();
        assert!(found.camera.off() < 0.2, "{}", found.camera.off());
        let at: Point<SheetSpace> = found.camera.to_sheet(corner(60.0, 80.0)).unwrap();
        assert!(at.distance(Point::new(60.0, 80.0)) < 0.05, "{at:?}");
        // Between other squares it is no target.
        let wrong =
            [corner(60.0, 60.0), corner(200.0, 60.0), corner(200.0, 130.0), corner(60.0, 130.0)];
        let refused = calibrate(&photo, Reference::Target(target), wrong);
        assert!(matches!(refused, Err(NoCamera::NoSquares | NoCamera::TooSmall)), "{refused:?}");
    }
}

#[test]
fn corners_that_are_none_are_refused() {
    let rendered = render(&by_corners(), &Shot { size: [400, 300], ..SHOT });
    let [a, b, c, d] = rendered.placed([1000.0, 700.0], 0.0);
    let photo = Photograph::of(rendered.picture).unwrap();
    let said = |placed, size| calibrate(&photo, Reference::taped(size), placed).unwrap_err();
    let size = [1000.0, 700.0];
    assert_eq!(said([a, d, c, b], size), NoCamera::NotRound);
    assert_eq!(said([a, c, b, d], size), NoCamera::NotRound);
    assert_eq!(said([a, a, a, a], size), NoCamera::NotRound);
    assert_eq!(said([a, b, c, Point::new(-5.0, 3.0)], size), NoCamera::Outside(4));
    assert_eq!(said([a, b, c, Point::new(f64::NAN, 3.0)], size), NoCamera::Outside(4));
    assert_eq!(said([a, b, c, d], [0.0, 700.0]), NoCamera::NoSize);
    assert_eq!(said([a, b, c, d], [f64::INFINITY, 700.0]), NoCamera::NoSize);
    // A picture of nothing has no outline, and is drawn all the same.
    let grey = image::RgbImage::from_pixel(400, 300, image::Rgb([90; 3]));
    let photo = Photograph::of(grey).unwrap();
    let calibrated = calibrate(&photo, Reference::taped(size), [a, b, c, d]).unwrap();
    let found = looked_at(&photo, &calibrated, true);
    assert!(found.outline.is_none() && found.holes.is_empty());
    assert!(overlay(&photo, &found).is_ok());
}
