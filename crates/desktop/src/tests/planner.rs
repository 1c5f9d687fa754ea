//! The planner's task: forty drawings dropped at once, put right, counted, and laid by what goes first.

use std::path::{Path, PathBuf};
use std::sync::Arc;

use eframe::egui::accesskit::Role;
use eframe::egui::{DroppedFile, Key, Modifiers, pos2};
use egui_kittest::kittest::Queryable;
use oddment_core::part::Priority;
use oddment_core::plan::Count;

use super::bench::{Bench, bench};

/// A file as it is dropped on the window.
#[derive(Debug)]
struct Dropped(PathBuf);

impl DroppedFile for Dropped {
    fn path(&self) -> &Path {
        &self.0
    }

    fn bytes(&self) -> Result<Vec<u8>, String> {
        std::fs::read(&self.0).map_err(|why| why.to_string())
    }
}

/// Forty plates with a hole each; the first's outline has a gap of 0.3 mm, the second's hole is
/// smaller than the metal is thick.
fn forty(folder: &Path) -> Vec<PathBuf> {
    std::fs::create_dir_all(folder).unwrap();
    let one = |n: usize| {
        let (wide, high) = (40 + 3 * n, 30 + (7 * n) % 50);
        let radius = if n == 2 { 1.0 } else { 6.0 };
        let outline = match n {
            1 => format!("M0.3 0H{wide}V{high}H0V0"),
            _ => format!("M0 0H{wide}V{high}H0Z"),
        };
        let svg = format!(
            "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"{wide}mm\" height=\"{high}mm\" \
             viewBox=\"0 0 {wide} {high}\"><g fill=\"none\" stroke=\"black\"><path d=\"{outline}\"/>\
             <circle cx=\"15\" cy=\"15\" r=\"{radius}\"/></g></svg>"
        );
        let file = folder.join(format!("plate-{n:02}.svg"));
        std::fs::write(&file, svg).unwrap();
        file
    };
    (1..=40).map(one).collect()
}

/// Types into a field in place of what is there.
fn write_into(bench: &mut Bench, name: &str, text: &str) {
    bench.harness.get_by_role_and_label(Role::TextInput, name).focus();
    bench.harness.run_steps(1);
    bench.harness.key_press_modifiers(Modifiers::COMMAND, Key::A);
    bench.harness.run_steps(1);
    bench.harness.get_by_role_and_label(Role::TextInput, name).type_text(text);
    bench.harness.run_steps(1);
    bench.harness.key_press(Key::Enter);
    bench.harness.run_steps(3);
}

#[test]
fn forty_drawings_are_dropped_put_right_and_laid() {
    let mut bench = bench("forty");
    let files = forty(&bench.folder.join("drawings"));
    // On the slip: for the order alone.
    bench.harness.hover_at(pos2(120.0, 600.0));
    bench.harness.run_steps(1);
    let dropped = &mut bench.harness.input_mut().dropped_files;
    dropped.extend(files.into_iter().map(|f| Arc::new(Dropped(f)) as _));
    bench.until(|s| s.report().len() == 40);
    assert!(bench.says("40 drawings were read, 1 of them is to be settled"));
    let part = |bench: &Bench, name: &str| {
        let wanted = &bench.session().view().job().wanted;
        wanted.iter().position(|w| w.part.name == name)
    };
    // What lies in an open outline waits until that is closed.
    assert_eq!(part(&bench, "plate-01"), None);
    let width = |bench: &Bench, name: &str| {
        let part = &bench.session().view().job().wanted[part(bench, name).unwrap()].part;
        part.region.bounds().width()
    };
    write_into(&mut bench, "gaps to close in plate-01.svg", "0.5");
    bench.until(|s| !s.is_busy() && s.report().iter().all(|r| !r.must_settle()));
    bench.press("1 hole smaller than the metal is thick: mark its centre");
    bench.until(|s| !s.is_busy());
    let second = part(&bench, "plate-02").unwrap();
    assert!((width(&bench, "plate-01") - 43.0).abs() < 0.5);
    assert!(bench.session().view().job().wanted[second].part.region.holes().is_empty());
    assert!(bench.session().view().plan.layouts.is_empty());
    bench.press("Close");

    bench.press("plate-03, 0 of 1");
    write_into(&mut bench, "how many plate-03", "3");
    bench.press("first");
    let third = part(&bench, "plate-03").unwrap();
    let wanted = &bench.session().view().job().wanted[third];
    assert_eq!((wanted.count, wanted.part.priority), (Count::Exactly(3), Priority::First));
    bench.press("plate-03, 0 of 3");
    bench.press("plate-04, 0 of 1");
    write_into(&mut bench, "metal of plate-04", "5 mm S355");
    let fourth = part(&bench, "plate-04").unwrap();
    bench.press("Lay one plate-04");
    assert!(bench.says("plate-04 must be 5 mm S355"));

    bench.press("Fill");
    // What goes first is there once the search has ended by itself.
    bench.until(|s| !s.is_previewed() && s.view().plan.placed(third) == 3);
    assert_eq!(bench.session().view().plan.placed(fourth), 0);
    assert!(bench.session().checked().is_clear());
    assert!(bench.says("check: clear as recorded"));
    bench.press("Undo: Fill");
    bench.press("Undo: Change the metal of plate-04");
    assert!(bench.session().view().job().wanted[fourth].part.made_from.is_none());
}

#[test]
fn enter_presses_the_control_that_the_keyboard_speaks_to() {
    let mut bench = bench("enter");
    bench.harness.get_by(|n| n.label().is_some_and(|l| l.starts_with("rack-side,"))).focus();
    bench.harness.run_steps(1);
    bench.harness.key_press(Key::Enter);
    bench.harness.run_steps(3);
    assert!(bench.says("One rack-side more"));
}
