use oddment_core::check::check;
use oddment_core::shape::{Loop, SheetSpace};
use oddment_core::units::LengthUnit;
use tiny_skia::Pixmap;

use super::hatch::hatch;
use super::page_path::Step;
use super::scene::View;
use super::*;
use crate::test_jobs::{bracket_job, rectangle, two_brackets};

fn drawn() -> (Picture, View) {
    let job = bracket_job();
    let checked = check(&job.job, two_brackets());
    let mut picture = Picture::new(700.0, 500.0);
    let frame = Frame { min: Point::origin(), max: Point::new(700.0, 500.0) };
    let view =
        draw_layout(&mut picture, &frame, &job.job, &checked, 0, LengthUnit::Mm, &Look::LIGHT);
    (picture, view)
}

#[test]
fn each_place_of_a_png_has_the_colour_of_what_lies_there() {
    let (picture, view) = drawn();
    let pixels = Pixmap::decode_png(&png(&picture, 1.0).unwrap()).unwrap();
    assert_eq!((pixels.width(), pixels.height()), (700, 500));
    let look = Look::LIGHT;
    #[track_caller]
    fn check(pixels: &Pixmap, at: Point<PageSpace>, colour: Colour) {
        let pixel = pixels.pixel(at.x as u32, at.y as u32).unwrap();
        assert_eq!(Colour(pixel.red(), pixel.green(), pixel.blue()), colour, "at {at:?}");
    }
    // Millimetres on the sheet: a part, the hole in it, bare metal, beside the sheet.
    check(&pixels, view.to_page(Point::new(25.0, 20.0)), look.paper);
    check(&pixels, view.to_page(Point::new(130.0, 40.0)), look.metal);
    check(&pixels, view.to_page(Point::new(580.0, 20.0)), look.metal);
    check(&pixels, view.to_page(Point::new(-2.5, 200.0)), Colour(255, 255, 255));
}

#[test]
fn the_sheet_keeps_its_proportions_and_stands_upright() {
    let (_, view) = drawn();
    let corner = view.to_page(Point::new(0.0, 0.0));
    let along = view.to_page(Point::new(100.0, 0.0)) - corner;
    let up = view.to_page(Point::new(0.0, 100.0)) - corner;
    assert!((along.x + up.y).abs() < 1e-9 && along.y.abs() < 1e-9 && up.x.abs() < 1e-9);
    assert!(along.x > 100.0 && up.y < 0.0);
}

#[test]
fn the_svg_is_read_by_an_svg_reader_and_odd_names_do_no_harm() {
    let mut job = bracket_job();
    job.job.stock[0].sheet.name = "<R&D> \"7\"\u{1}".to_owned();
    let checked = check(&job.job, two_brackets());
    let picture = sheet_picture(&job.job, &checked);
    let text = svg(&picture);
    let tree = usvg::Tree::from_str(&text, &usvg::Options::default()).unwrap();
    // The reader counts in pixels, 96 to the inch.
    assert!((f64::from(tree.size().width()) - picture.width * 96.0 / 72.0).abs() < 0.01);
    assert!(text.contains("&lt;R&amp;D&gt;"));
    assert!(!text.contains('\u{1}'));
}

#[test]
fn a_pdf_is_the_same_for_the_same_pictures() {
    let (picture, _) = drawn();
    let pages = [picture.clone(), picture];
    let file = pdf("Test", &pages).unwrap();
    assert!(file.starts_with(b"%PDF-"));
    assert_eq!(file, pdf("Test", &pages).unwrap());
    assert!(pdf("Test", &[Picture::new(0.0, 100.0)]).is_err());
}

#[test]
fn a_plan_that_carries_nothing_has_a_picture_that_says_so() {
    let job = bracket_job();
    let checked = check(&job.job, oddment_core::plan::Plan::default());
    let picture = sheet_picture(&job.job, &checked);
    assert!(png(&picture, 1.0).is_some());
    assert!(svg(&picture).contains("Nothing is placed."));
}

#[test]
fn what_is_not_clear_is_ringed_and_said() {
    let job = bracket_job();
    let mut plan = two_brackets();
    plan.layouts[0].placements[0].pose.shift.x = 1.0;
    let text = svg(&sheet_picture(&job.job, &check(&job.job, plan)));
    assert!(text.contains("NOT CLEAR as recorded") && text.contains("too near"));
}

#[test]
fn a_part_far_away_does_not_make_the_sheet_a_dot() {
    let job = bracket_job();
    let mut plan = two_brackets();
    plan.layouts[0].placements[0].pose.shift.x = 1e6;
    let picture = sheet_picture(&job.job, &check(&job.job, plan));
    assert!(picture.items.iter().any(|i| matches!(i, Item::Text(t) if t.text == "2")));
    assert!(!picture.items.iter().any(|i| matches!(i, Item::Text(t) if t.text == "1")));
}

#[test]
fn a_picture_has_no_more_pixels_than_a_screen_can_show() {
    for (width, height, asked, given) in
        [(900.0, 600.0, 2.0, 2.0), (2000.0, 600.0, 100.0, 4.0), (100.0, 80_000.0, 1.0, 0.1)]
    {
        assert_eq!(super::png::scale_of(&Picture::new(width, height), asked), given);
    }
}

#[test]
fn hatch_lines_cover_the_shape_evenly_and_lie_in_it() {
    let (outer, hole): (Loop<SheetSpace>, _) =
        (rectangle(0.0, 0.0, 100.0, 60.0), rectangle(20.0, 10.0, 30.0, 30.0));
    let path = hatch(&[&outer, &hole], &|p| Point::new(p.x, -p.y), 0.7, 2.0);
    let mut length = 0.0;
    for pair in path.steps.chunks_exact(2) {
        let (Step::Move(a), Step::Line(b)) = (pair[0], pair[1]) else { panic!("{pair:?}") };
        length += a.distance(b);
        let middle = Point::new(a.midpoint(b).x, -a.midpoint(b).y);
        assert!(outer.encloses(middle) && !hole.encloses(middle));
    }
    // Lines 2 apart: half a millimetre of line for each square millimetre.
    let area = 100.0 * 60.0 - 900.0;
    assert!((length * 2.0 / area - 1.0).abs() < 0.03, "{length}");
}

#[test]
fn curves_on_the_page_follow_their_arcs() {
    let path = PagePath::circle(Point::new(50.0, 40.0), 30.0);
    let mut from = Point::origin();
    for step in &path.steps {
        match *step {
            Step::Move(p) | Step::Line(p) => from = p,
            Step::Curve(a, b, to) => {
                for t in [0.1, 0.3, 0.5, 0.8] {
                    let u = 1.0 - t;
                    let along = |p: f64, q: f64, r: f64, s: f64| {
                        u * u * u * p + 3.0 * u * u * t * q + 3.0 * u * t * t * r + t * t * t * s
                    };
                    let at = Point::<PageSpace>::new(
                        along(from.x, a.x, b.x, to.x),
                        along(from.y, a.y, b.y, to.y),
                    );
                    assert!((at.distance(Point::new(50.0, 40.0)) - 30.0).abs() < 0.0003 * 30.0);
                }
                from = to;
            }
            Step::Close => {}
        }
    }
}

#[test]
fn digits_have_one_width_and_long_names_are_cut() {
    let width = text_width("0", 10.0, false);
    assert!(width > 4.0 && (1..10).all(|d| text_width(&d.to_string(), 10.0, false) == width));
    assert_eq!(cut_to("plate", 10.0, false, 100.0), "plate");
    let cut = cut_to(&"plate ".repeat(1000), 10.0, false, 100.0);
    assert!(cut.ends_with('…') && text_width(&cut, 10.0, false) <= 100.0);
}
