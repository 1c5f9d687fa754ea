//! Plans on the sample shop: made, made again, checked, damaged.

use std::fs;
use std::path::PathBuf;

use serde_json::Value;

use crate::program::{Ran, folder, json_in, oddment, shared, text};

/// A short search for places of a few parts on an offcut.
fn nest(more: &[&str]) -> Ran {
    let sheet = shared("sheets/S3-041.dxf");
    let (tabs, brackets) =
        (shared("parts/rack-stay-tab.dxf=4"), shared("parts/deck-bracket.dxf=2"));
    let job = ["nest", "--sheet", &sheet, "--part", &tabs, "--part", &brackets];
    oddment(&[&job[..], more].concat())
}

const SHORT: [&str; 4] = ["--steps", "20", "--seed", "3"];

fn saved_plan() -> PathBuf {
    let out = folder("plan");
    nest(&[&SHORT[..], &["--out", text(&out)]].concat()).ended(0);
    out.join("plan.json")
}

#[test]
fn parts_go_between_old_cut_outs() {
    let plan = nest(&[&SHORT[..], &["--json"]].concat()).ended(0).json();
    let placements = plan["sheets"][0]["placements"].as_array().unwrap();
    assert_eq!(placements.len(), 6);
    assert_eq!(plan["check"]["clear"], true);
    let tightest = &plan["check"]["tightest"];
    assert!(tightest["distance"].as_f64() >= tightest["required"].as_f64().map(|r| r - 0.001));
}

#[test]
fn the_same_steps_make_the_same_plan_on_any_number_of_threads() {
    let made = |threads: &str| {
        let mut plan =
            nest(&[&SHORT[..], &["--threads", threads, "--json"]].concat()).ended(0).json();
        plan["seconds"].take();
        plan.to_string()
    };
    let one = made("1");
    assert_eq!(one, made("1"));
    assert_eq!(one, made("2"));
}

#[test]
fn what_cannot_go_in_is_a_no_and_the_rest_is_placed() {
    let board = shared("parts/footboard.dxf=4");
    let tab = shared("parts/cable-guide.dxf");
    let job = ["nest", "--sheet", "300x200", "--part", &board, "--part", &tab, "--json"];
    let plan = oddment(&[&job[..], &SHORT].concat()).ended(1).json();
    assert_eq!(plan["check"]["clear"], true);
    assert_eq!(plan["wanted"][0]["placed"], 0);
    assert_eq!(plan["wanted"][1]["placed"], 1);
}

/// Checks a saved plan after `damage`, and that it is faulted in `places` at least, a line each.
fn faulted(damage: impl Fn(&mut Value), places: usize) {
    let file = saved_plan();
    let mut plan = json_in(&file);
    damage(&mut plan["sheets"][0]["placements"]);
    fs::write(&file, plan.to_string()).unwrap();
    let checked = oddment(&["check", text(&file), "--json"]).ended(1);
    let report = checked.json();
    let faults = report["faults"].as_array().unwrap().len();
    assert_eq!(report["clear"], false);
    assert!(faults >= places, "{report}");
    assert!(checked.err.lines().count() >= faults, "{}", checked.err);
}

#[test]
fn a_part_laid_over_another_is_a_fault() {
    faulted(
        |placements| {
            for key in ["x", "y", "turn_deg"] {
                placements[1][key] = placements[0][key].clone();
            }
        },
        1,
    );
}

#[test]
fn a_part_off_the_sheet_is_a_fault() {
    faulted(|placements| placements[2]["x"] = 5000.0.into(), 1);
}

#[test]
fn parts_over_old_cut_outs_are_faults() {
    // The sheet is full of cut-outs along its lower edge.
    faulted(
        |placements| {
            placements[0]["x"] = 60.0.into();
            placements[0]["y"] = 30.0.into();
            placements[1]["x"] = 5000.0.into();
        },
        2,
    );
}

#[test]
fn a_plan_that_is_none_is_refused() {
    let file = saved_plan();
    let whole = fs::read_to_string(&file).unwrap();
    for damaged in ["", "{}", &whole[..whole.len() / 2], &whole.replace("oddment-plan", "letter")] {
        fs::write(&file, damaged).unwrap();
        let refused = oddment(&["check", text(&file)]).ended(2);
        assert!(refused.err.contains("plan.json"), "{}", refused.err);
    }
}
