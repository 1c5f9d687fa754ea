//! A remnant is captured from its photograph by the names of things and by pressing on the picture.

use eframe::egui::{Key, Pos2, Vec2, pos2, vec2};
use egui_kittest::kittest::Queryable;
use oddment_app::act::Act;
use oddment_app::capture::{Capture, CaptureAct, Known};
use oddment_photo::rendered::{Scene, Shot, drilled, render};

use crate::tests::bench::{Bench, bench};

const SIZE: [f64; 2] = [1000.0, 700.0];

fn capture(bench: &Bench) -> &Capture {
    bench.session().capture().unwrap()
}

fn press_at(bench: &mut Bench, at: Pos2) {
    bench.harness.hover_at(at);
    bench.harness.run_steps(1);
    bench.harness.drag_at(at);
    bench.harness.run_steps(1);
    bench.harness.drop_at(at);
    bench.harness.run_steps(3);
}

fn drag(bench: &mut Bench, name: &str, by: Vec2) {
    let from = bench.harness.get_by_label(name).rect().center();
    bench.harness.drag_at(from);
    bench.harness.run_steps(1);
    for i in 1..=6 {
        bench.harness.hover_at(from + by * (i as f32 / 6.0));
        bench.harness.run_steps(1);
    }
    bench.harness.drop_at(from + by);
    bench.harness.run_steps(3);
}

/// Where the window shows something of a picture of this size, fitted into the room beside the card.
fn shown(size: [f64; 2], at: [f64; 2]) -> Pos2 {
    // As the page lays its room out in a window of 1400 × 900.
    let (left, right, top, bottom) = (20.0 + 12.0, 894.0 - 12.0, 72.0 + 12.0, 880.0 - 12.0);
    let scale = ((right - left) / size[0]).min((bottom - top) / size[1]);
    pos2(
        ((left + right) / 2.0 + (at[0] - size[0] / 2.0) * scale) as f32,
        ((top + bottom) / 2.0 + (at[1] - size[1] / 2.0) * scale) as f32,
    )
}

#[test]
fn a_remnant_is_captured_from_its_photograph() {
    let mut bench = bench("photograph");
    let scene = Scene::plain(drilled().unwrap());
    let shot = Shot {
        size: [1600, 1200],
        tilt: 0.3,
        from: -1.2,
        lens: 0.003,
        blur: 0.7,
        noise: 2.0,
        seed: 3,
    };
    let rendered = render(&scene, &shot);
    let file = bench.folder.join("remnant.png");
    rendered.picture.save(&file).unwrap();
    bench.press("Rack");
    bench.press("Add a sheet");
    assert!(bench.says("a photograph"));
    bench.act(Act::Capture(CaptureAct::Open(file)));
    bench.harness.key_press(Key::Escape);
    bench.until(|s| s.capture().is_some_and(|c| c.photo().is_some()));

    bench.press("the sheet’s own corners");
    bench.type_into("width x height", "1000x700");
    assert_eq!(capture(&bench).said().known, Known::Sheet(SIZE));
    for at in rendered.placed(SIZE, 2.0) {
        press_at(&mut bench, shown([1600.0, 1200.0], [at.x, at.y]));
    }
    assert_eq!(capture(&bench).said().corners.len(), 4);
    // One was missed: it is dragged away and taken back.
    let placed = capture(&bench).said().corners[2];
    drag(&mut bench, "corner 3, upper right", vec2(-30.0, 20.0));
    assert!(capture(&bench).said().corners[2].distance(placed) > 20.0);
    bench.press("Undo");
    assert_eq!(capture(&bench).said().corners[2], placed);
    bench.press("Find the edges");
    bench.until(|s| s.capture().is_some_and(Capture::is_looked_at));
    let holes = drilled().unwrap().holes().len();
    assert!(bench.says(&format!("{holes} cut-outs, {holes} kept")));

    // The largest is chosen from the list and left out, then kept again.
    bench.press("1: cut-out, 140");
    bench.press("Leave it out");
    assert!(!capture(&bench).said().contours[1].kept);
    bench.press("Keep it");
    // The edge that is pressed was sheared, and taped to 0.8 mm.
    bench.press("The outer edge");
    bench.press("sheared");
    bench.type_into("give or take", "0.8");
    let outer = &capture(&bench).said().contours[0];
    assert!(outer.edges.iter().any(|e| e.give_or_take.is_some()));

    bench.press("Go on");
    bench.type_into("material", "unheard of");
    bench.type_into("thickness", "3");
    bench.type_into("stands", "bay 9");
    assert!(bench.says("outer edges give or take"));
    bench.press("Add to the rack");
    bench.until(|s| s.rack().unwrap().refused().is_some());
    // It is refused in words, and the photograph stays with all that was said of it.
    assert!(bench.says("Not done: "));
    assert!(bench.session().capture().is_some());
    bench.press("S235");
    bench.press("Add to the rack");
    bench.until(|s| s.rack().unwrap().listing().sheets.len() == 14);
    assert!(bench.session().capture().is_none());
    let added = bench.sheet("R-0001");
    let area = drilled().unwrap().area();
    assert!((added.area - area).abs() < 0.004 * area, "{} {area}", added.area);
}
