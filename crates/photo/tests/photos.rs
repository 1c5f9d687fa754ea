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
