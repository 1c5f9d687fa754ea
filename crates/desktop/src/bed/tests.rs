//! A sheet is squared up at the machine, by the names of things.

use eframe::egui::{Key, pos2};
use egui_kittest::kittest::Queryable;
use oddment_app::act::Act;
use oddment_core::check::Basis;
use oddment_core::shape::Point;
use oddment_core::square_up::Verdict;

use crate::tests::bench::{Bench, bench};

/// A part is laid on the first sheet, and the place Bed is shown.
fn at_bed(name: &str) -> Bench {
    let mut bench = bench(name);
    let row = bench.harness.get_by(|n| n.label().is_some_and(|l| l.starts_with("deck-bracket,")));
    let from = row.rect().center();
    bench.harness.drag_at(from);
    for i in 1..=10 {
        bench.harness.hover_at(from + (pos2(900.0, 400.0) - from) * (i as f32 / 10.0));
        bench.harness.run_steps(1);
    }
    bench.harness.drop_at(pos2(900.0, 400.0));
    bench.harness.run_steps(3);
    bench.press("Bed");
    bench
}

/// Types where a point was hit.
fn hit(bench: &mut Bench, letter: char, x: &str, y: &str) {
    bench.type_into(&format!("X of {letter} on the bed"), x);
    bench.type_into(&format!("Y of {letter} on the bed"), y);
    bench.harness.key_press(Key::Tab);
    bench.harness.run_steps(3);
}

/// The sheet of 760 × 520 lies turned by 2° with its datum corner at 100, 80.
#[test]
fn a_sheet_is_squared_up_a_bad_point_left_out_and_all_ticked_off() {
    let mut bench = at_bed("square-up");
    hit(&mut bench, 'A', "100", "80");
    bench.harness.run_steps(4);
    // More is said of A now, and Tab has gone on all the same.
    assert!(bench.harness.get_by_label("X of B on the bed").is_focused());
    hit(&mut bench, 'B', "841.4", "626.2");
    bench.until(|s| s.squared_up().is_some() && s.judged().is_some());
    assert!(bench.says("Clear where it lies"));
    // A half turn would fit as well: an old cut-out tells, and goes on the list at one press.
    assert!(bench.says("turned by 180°"));
    bench.harness.get_by_label("Put that on the list").click_accesskit();
    bench.harness.run_steps(4);
    assert!(bench.says("E was hit"));
    // The list is longer than the card is high.
    bench.harness.get_by_label("E off the list").click_accesskit();
    bench.harness.run_steps(4);
    assert!(!bench.says("E was hit"));
    hit(&mut bench, 'C', "81.9", "609.7");
    let is_off = |v: &Verdict| matches!(v, Verdict::TooLarge(_));
    bench.until(|s| s.judged().is_some_and(|j| is_off(&j.judgement.verdict)));
    assert!(bench.says("C is off") && bench.says("10.0 mm off the rest"));
    bench.press("Leave C out");
    bench.until(|s| s.squared_up().is_some());
    let s = bench.session().squared_up().unwrap();
    let (zero, turn) = s.to_type(bench.session().datum());
    assert!((zero.x - 100.0).abs() < 0.1 && (zero.y - 80.0).abs() < 0.1 && turn == 0.0);
    assert!(bench.says("Type for its zero"));
    for letter in ['T', 'A', 'B', 'C', 'D'] {
        assert_eq!(bench.session().checked().basis(), Basis::SquaredUp);
        bench.harness.get_by_label(&format!("{letter} was hit")).click_accesskit();
        bench.harness.run_steps(4);
    }
    assert_eq!(bench.session().checked().basis(), Basis::Laid);
    assert!(bench.says("Clear as laid"));
    bench.press("Sheet");
    assert!(bench.says("check: clear as laid"));
    bench.press("Export");
    assert!(bench.says("what goes to the machine"));
}

/// Two corners leave more lay than the plan reckons with.
#[test]
fn what_is_laid_on_a_sheet_that_was_squared_up_is_clear_as_it_lies() {
    let mut bench = at_bed("laid-as-it-lies");
    hit(&mut bench, 'A', "100", "80");
    hit(&mut bench, 'B', "841.4", "626.2");
    bench.until(|s| s.squared_up().is_some());
    let lay = bench.session().squared_up().unwrap().lay().at(Point::new(700.0, 40.0));
    assert!(lay > bench.session().view().job().clearances.lay, "{lay}");
    bench.press("Sheet");
    bench.press("Fill");
    bench.until(|s| s.view().plan.placements().count() > 3);
    bench.press("Keep this");
    assert!(bench.session().checked().is_clear(), "{:?}", bench.session().checked().report());
    assert_eq!(bench.session().checked().basis(), Basis::SquaredUp);
    // So does what is laid by hand.
    let row = bench.session().view().job().wanted.len() - 1;
    bench.act(Act::ClearSheet);
    bench.act(Act::PlaceOne(row));
    assert!(bench.session().checked().is_clear());
    // And what a drawing is dropped for, at the far corner.
    std::fs::create_dir_all(&bench.folder).unwrap();
    let drawing = bench.folder.join("shim.svg");
    let svg = "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"40mm\" height=\"30mm\" \
               viewBox=\"0 0 40 30\"><path fill=\"none\" stroke=\"black\" d=\"M0 0H40V30H0Z\"/></svg>";
    std::fs::write(&drawing, svg).unwrap();
    bench.act(Act::TakeFiles(vec![drawing], Some(Point::new(750.0, 505.0))));
    bench.until(|s| s.view().plan.placements().count() == 2);
    assert!(bench.session().checked().is_clear());
}

#[test]
fn a_keypad_goes_from_field_to_field_and_what_is_no_number_is_said() {
    let mut bench = at_bed("keypad");
    bench.type_into("X of A on the bed", "100");
    let to = [("Y of A on the bed", "80"), ("X of B on the bed", "84l.4")];
    for (next, text) in to {
        bench.harness.key_press(Key::Enter);
        bench.harness.run_steps(3);
        let field = bench.harness.get_by_label(next);
        assert!(field.is_focused(), "{next}");
        field.type_text(text);
        bench.harness.run_steps(2);
    }
    bench.harness.key_press(Key::Tab);
    bench.harness.run_steps(3);
    assert!(bench.says("“84l.4” is no length"));
    // Typed over, it is a place.
    hit(&mut bench, 'B', "841.4", "626.2");
    bench.until(|s| s.squared_up().is_some());
    assert!(!bench.says("is no length"));
}

#[test]
fn rows_of_the_machine_are_pasted_into_the_list() {
    let mut bench = at_bed("pasted-rows");
    hit(&mut bench, 'A', "A 100,80 B 841.4,626.2", "");
    bench.until(|s| s.squared_up().is_some());
    let hit = bench.session().pointed();
    assert_eq!(hit.points.iter().filter(|p| p.on_bed.is_some()).count(), 2);
}

#[test]
fn a_corner_that_was_hit_for_another_is_taken_for_that_at_a_press() {
    let mut bench = at_bed("taken-for-another");
    // The lower right corner hit for the lower left one; the sheet lies at 100, 80.
    hit(&mut bench, 'A', "860", "80");
    hit(&mut bench, 'B', "860", "600");
    hit(&mut bench, 'C', "100", "600");
    bench
        .until(|s| s.judged().is_some_and(|j| matches!(j.judgement.verdict, Verdict::TooLarge(_))));
    assert!(bench.says("Likeliest: A is the corner of the sheet at 760.0, 0.0"));
    bench.press("Take A for D");
    bench.until(|s| s.squared_up().is_some());
    let zero = bench.session().squared_up().unwrap().to_type(bench.session().datum()).0;
    assert!((zero.x - 100.0).abs() < 0.1 && (zero.y - 80.0).abs() < 0.1);
    bench.act(Act::Undo);
    assert!(bench.session().squared_up().is_none());
}

#[test]
fn of_four_points_one_that_does_not_agree_counts_for_nothing() {
    let mut bench = at_bed("outvoted");
    // The sheet lies at 100, 80; C was hit 12 mm off.
    for (letter, x, y) in [('A', "100", "80"), ('B', "860", "600"), ('D', "860", "80")] {
        hit(&mut bench, letter, x, y);
    }
    hit(&mut bench, 'C', "112", "600");
    let at = |bench: &Bench| {
        let zero = bench.session().squared_up()?.to_type(bench.session().datum()).0;
        Some((zero.x - 100.0).abs() < 0.1 && (zero.y - 80.0).abs() < 0.1)
    };
    bench.until(|s| s.squared_up().is_some());
    assert_eq!(at(&bench), Some(true));
    assert!(bench.says("C does not agree with the others and counts for nothing"));
    assert!(bench.says("12.0 mm off the rest: counts for nothing"));
    // Who says that it counts is asked to look again, and not overruled.
    bench.until(|s| s.judged().is_some_and(|j| j.measured.len() == 3));
    bench.harness.run_steps(2);
    bench.harness.get_by_label("Count C again").click_accesskit();
    bench.harness.run_steps(4);
    bench.until(|s| s.judged().is_some_and(|j| j.measured.len() == 4));
    bench.harness.run_steps(4);
    assert_eq!(at(&bench), None);
    // Measured again it counts.
    hit(&mut bench, 'C', "100.2", "600");
    bench.until(|s| s.squared_up().is_some());
    assert!(!bench.says("counts for nothing"));
    assert!(bench.session().pointed().points.iter().all(|p| !p.left_out));
}
