//! The tasks of a person at the window, by the names of things and by dragging on the canvas.

pub(crate) mod bench;
mod cards;
mod planner;

use std::sync::Arc;
use std::time::{Duration, Instant};

use eframe::egui::{Key, Modifiers, Pos2, Role, Vec2, vec2};
use egui_kittest::Harness;
use egui_kittest::kittest::Queryable;
use oddment_app::session::Session;
use oddment_app::start::first_job;

use crate::window::Window;

/// A window on the sample shop's first order, 1400 × 900.
fn window() -> Harness<'static, Option<Window>> {
    window_of(vec2(1400.0, 900.0))
}

/// The same, of another size.
fn window_of(size: Vec2) -> Harness<'static, Option<Window>> {
    let mut harness = Harness::builder().with_size(size).with_max_steps(400).build_ui_state(
        |ui, window: &mut Option<Window>| {
            let window = window.get_or_insert_with(|| {
                let session = Session::new(first_job().unwrap(), None, Arc::new(|| {}));
                Window::new(ui.ctx(), session)
            });
            window.main_ui(ui);
        },
        None,
    );
    harness.run_steps(4);
    harness
}

fn session<'a>(harness: &'a Harness<'_, Option<Window>>) -> &'a Session {
    harness.state().as_ref().unwrap().session()
}

/// The node whose name begins so.
fn middle(harness: &Harness<'_, Option<Window>>, name: &str) -> Pos2 {
    harness.get_by(|n| n.label().is_some_and(|l| l.starts_with(name))).rect().center()
}

fn drag(harness: &mut Harness<'_, Option<Window>>, from: Pos2, by: Vec2) {
    harness.drag_at(from);
    harness.run_steps(1);
    for i in 1..=10 {
        harness.hover_at(from + by * (i as f32 / 10.0));
        harness.run_steps(1);
    }
    harness.drop_at(from + by);
    harness.run_steps(2);
}

#[test]
fn a_value_of_the_shop_is_tried_for_one_plan() {
    let mut harness = window();
    harness.get_by_label("Shop").click();
    harness.run_steps(3);
    harness.get_by_label("Weights").click();
    harness.run_steps(3);
    harness.get_by(|n| n.label().is_some_and(|l| l.starts_with("one person, 20 kg"))).click();
    harness.run_steps(3);
    assert!(says(&harness, "20 kg, to start from"));
    // What is typed goes into its field, in place of what stands there.
    let field = harness.get_by(|n| {
        n.label().as_deref() == Some("one person") && n.value().is_some_and(|v| v == "20")
    });
    assert!(field.is_focused());
    field.type_text("15");
    harness.run_steps(2);
    harness.get_by_label("Only for this plan").click();
    harness.run_steps(3);
    assert!(says(&harness, "one person, 15 kg, for this plan"));
    assert_eq!(session(&harness).values().limits().one_person, 15.0);
    harness.get_by_label("No longer for this plan").click();
    harness.run_steps(3);
    assert_eq!(session(&harness).values().limits().one_person, 20.0);
    // What stands in the field is what holds now.
    let field = harness.get_by_role_and_label(Role::TextInput, "one person");
    assert_eq!(field.value().as_deref(), Some("20"));
}

fn says(harness: &Harness<'_, Option<Window>>, name: &str) -> bool {
    let says = |text: Option<String>| text.is_some_and(|l| l.contains(name));
    harness.query_all_by(|n| says(n.label()) || says(n.value())).next().is_some()
}

#[test]
fn a_part_is_dragged_off_the_slip_turned_locked_and_taken_back() {
    let mut harness = window();
    assert!(says(&harness, "check: nothing laid yet"));
    let row = middle(&harness, "deck-bracket, 0 of 4");
    drag(&mut harness, row, Pos2::new(900.0, 400.0) - row);
    assert!(says(&harness, "deck-bracket, 1 of 4"));
    assert!(says(&harness, "check: clear as recorded"));
    let laid = session(&harness).view().plan.layouts[0].placements[0];
    harness.key_press(Key::R);
    harness.run_steps(2);
    let turned = session(&harness).view().plan.layouts[0].placements[0];
    assert!((turned.pose.turn - laid.pose.turn - std::f64::consts::FRAC_PI_2).abs() < 1e-9);
    harness.key_press(Key::L);
    harness.run_steps(2);
    assert!(says(&harness, "deck-bracket #1, locked"));
    // What is locked does not move.
    let at = middle(&harness, "deck-bracket #1, locked");
    drag(&mut harness, at, vec2(50.0, 0.0));
    assert_eq!(session(&harness).view().plan.layouts[0].placements[0].pose, turned.pose);
    for _ in 0..3 {
        harness.key_press_modifiers(Modifiers::COMMAND, Key::Z);
        harness.run_steps(2);
    }
    assert!(session(&harness).view().plan.layouts.is_empty());
    assert!(says(&harness, "deck-bracket, 0 of 4"));
}

#[test]
fn a_laid_part_is_dragged_and_stops_at_its_distance() {
    let mut harness = window();
    let row = middle(&harness, "rack-stay-tab, 0 of 4");
    drag(&mut harness, row, Pos2::new(800.0, 300.0) - row);
    let at = middle(&harness, "rack-stay-tab #1");
    // Far beyond the sheet's lower edge.
    drag(&mut harness, at, vec2(0.0, 1000.0));
    let checked = session(&harness).checked();
    assert!(checked.is_clear());
    let tightest = checked.report().tightest.clone().unwrap();
    assert!(tightest.spare().abs() < 0.001, "{tightest:?}");
}

#[test]
fn fill_lays_parts_and_can_be_taken_back() {
    let mut harness = window();
    harness.get_by_label("Fill").click();
    harness.run_steps(2);
    let started = Instant::now();
    let waiting = |harness: &Harness<'_, _>| session(harness).view().plan.layouts.is_empty();
    while waiting(&harness) && started.elapsed() < Duration::from_secs(60) {
        std::thread::sleep(Duration::from_millis(20));
        harness.run_steps(1);
    }
    harness.get_by_label("Keep this").click();
    harness.run_steps(2);
    assert!(!session(&harness).is_previewed());
    let laid = session(&harness).view().plan.placements().count();
    assert!(laid > 0);
    assert!(session(&harness).checked().is_clear());
    harness.key_press_modifiers(Modifiers::COMMAND, Key::Z);
    harness.run_steps(2);
    assert_eq!(session(&harness).view().plan.placements().count(), 0);
}

#[test]
fn counts_are_pressed_and_typed() {
    let mut harness = window();
    harness.get_by(|n| n.label().is_some_and(|l| l.starts_with("rack-side,"))).click();
    harness.run_steps(2);
    harness.get_by_label("One rack-side more").click();
    harness.run_steps(2);
    assert!(says(&harness, "rack-side, 0 of 3"));
    let field = harness.get_by_label("how many rack-side");
    field.focus();
    harness.run_steps(1);
    harness.key_press_modifiers(Modifiers::COMMAND, Key::A);
    harness.run_steps(1);
    harness.get_by_label("how many rack-side").type_text("12");
    harness.run_steps(1);
    harness.key_press(Key::Enter);
    harness.run_steps(2);
    assert!(says(&harness, "rack-side, 0 of 12"));
}

#[test]
fn acts_are_found_by_typing() {
    let mut harness = window();
    harness.key_press(Key::Slash);
    harness.run_steps(3);
    harness.get_by_label("search all acts").type_text("inches");
    harness.run_steps(2);
    harness.key_press(Key::Enter);
    harness.run_steps(2);
    assert!(session(&harness).settings().inch);
}

#[test]
fn the_cut_of_what_is_laid_is_walked_through() {
    let mut harness = window();
    let row = middle(&harness, "deck-bracket, 0 of 4");
    drag(&mut harness, row, Pos2::new(900.0, 400.0) - row);
    harness.key_press(Key::C);
    let began = Instant::now();
    while !says(&harness, "Next contour") {
        assert!(began.elapsed() < Duration::from_secs(60), "no cut came");
        std::thread::sleep(Duration::from_millis(10));
        harness.run_steps(2);
    }
    assert!(says(&harness, "start of the outline of deck-bracket #1"));
    assert!(says(&harness, "pierces"));
    assert!(says(&harness, "contour 1 of"));
    harness.key_press(Key::ArrowRight);
    harness.run_steps(2);
    assert!(says(&harness, "contour 2 of"));
    harness.key_press(Key::Space);
    harness.run_steps(2);
    assert!(says(&harness, "Pause"));
}
