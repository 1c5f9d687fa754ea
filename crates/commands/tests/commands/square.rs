//! `oddment square`: measured points in, pose and the plan as laid out.

use serde_json::Value;

use crate::common::{Bench, oddment};
use oddment_commands::Outcome;

const SHEET: &[(f64, f64)] = &[(0.0, 0.0), (1000.0, 0.0), (1000.0, 600.0), (0.0, 600.0)];
const PLATE: &[(f64, f64)] = &[(0.0, 0.0), (100.0, 0.0), (100.0, 60.0), (0.0, 60.0)];
const LIES: (f64, f64, f64) = (120.0, 50.0, 2.0);

/// A point of the sheet on the bed, worked out by hand.
fn on_bed(x: f64, y: f64) -> (f64, f64) {
    let (sin, cos) = LIES.2.to_radians().sin_cos();
    (LIES.0 + x * cos - y * sin, LIES.1 + x * sin + y * cos)
}

fn point(place: &str, x: f64, y: f64) -> String {
    let (x, y) = on_bed(x, y);
    format!("--point={place}={x:.4},{y:.4}")
}

/// A plan of one plate on a sheet with a hole, and the points that were measured.
fn planned(bench: &Bench) -> (String, Vec<String>) {
    let sheet = bench.drawing("sheet.dxf", &[SHEET], &[(820.0, 310.0, 9.0)]);
    let part = bench.drawing("plate.dxf", &[PLATE], &[]);
    let out = bench.path("plan");
    let ran = oddment(&[
        "nest", "--sheet", &sheet, "--part", &part, "--turn", "none", "--steps", "20", "--lay",
        "3", "--out", &out,
    ]);
    assert_eq!(ran.outcome, Some(Outcome::Yes), "{ran:?}");
    let points = vec![
        point("corner:0,0", 0.0, 0.0),
        point("corner:1000,0", 1000.0, 0.0),
        point("edge:0,300", 0.0, 350.0),
        point("hole:820,310", 820.0, 310.0),
    ];
    (bench.path("plan/plan.json"), points)
}

fn number(value: &Value) -> f64 {
    value.as_f64().unwrap()
}

#[test]
fn a_plan_is_checked_as_its_sheet_lies() {
    let bench = Bench::new("a_plan_is_checked_as_its_sheet_lies");
    let (plan, points) = planned(&bench);
    let ran = oddment(&["square", &plan, "--json"]);
    assert_eq!(ran.outcome, Some(Outcome::No));
    assert_eq!(ran.json()["verdict"], "open");
    assert_eq!(ran.json()["pointer_points"].as_array().unwrap().len(), 5);
    let out = bench.path("laid");
    let mut args = vec!["square", &plan, "--json", "--ticked", "--out", &out];
    args.extend(points.iter().map(String::as_str));
    let ran = oddment(&args);
    let said = ran.json();
    assert_eq!(ran.outcome, Some(Outcome::Yes), "{ran:?}");
    assert_eq!(said["verdict"], "fine");
    assert_eq!(said["check"]["as"], "laid");
    for (key, expected) in [("x", LIES.0), ("y", LIES.1), ("turn_deg", LIES.2)] {
        assert!((number(&said["lies"][key]) - expected).abs() < 1e-3, "{said}");
    }
    let saved: Value = serde_json::from_str(&std::fs::read_to_string(&plan).unwrap()).unwrap();
    let (there, here) = (&saved["sheets"][0]["placements"][0], &said["poses"][0]);
    let (x, y) = on_bed(number(&there["x"]), number(&there["y"]));
    assert!((number(&here["x"]) - x).abs() < 2e-3 && (number(&here["y"]) - y).abs() < 2e-3);
    assert!((number(&here["turn_deg"]) - number(&there["turn_deg"]) - LIES.2).abs() < 1e-4);
    // The drawing is written where it is cut: the box round the sheet turned by two degrees.
    let drawn = oddment(&["read", &bench.path("laid/nest.dxf"), "--json"]).json();
    let (sin, cos) = LIES.2.to_radians().sin_cos();
    assert!((number(&drawn["regions"][0]["width_mm"]) - (1000.0 * cos + 600.0 * sin)).abs() < 0.01);
}

#[test]
fn what_a_clamp_makes_short_is_snugged_anew() {
    let bench = Bench::new("what_a_clamp_makes_short");
    let (plan, points) = planned(&bench);
    let saved: Value = serde_json::from_str(&std::fs::read_to_string(&plan).unwrap()).unwrap();
    let there = &saved["sheets"][0]["placements"][0];
    let (x, y) = on_bed(number(&there["x"]), number(&there["y"]));
    let clamp = format!("--clamp={},{},20,8", x + 30.0, y - 6.0);
    let mut args = vec!["square", &plan, "--json", &clamp];
    args.extend(points.iter().map(String::as_str));
    let ran = oddment(&args);
    assert_eq!(ran.outcome, Some(Outcome::No), "{ran:?}");
    let what = ran.json()["check"]["faults"][0]["what"].to_string();
    assert!(what.contains("clamp 1"), "{what}");
    args.push("--snug");
    let ran = oddment(&args);
    assert_eq!(ran.outcome, Some(Outcome::Yes), "{ran:?}");
    assert_eq!(ran.json()["check"]["as"], "squared_up");
    assert_eq!(ran.json()["moved"].as_array().unwrap().len(), 1);
}

#[test]
fn a_bad_point_is_named_and_nonsense_is_refused() {
    let bench = Bench::new("a_bad_point_is_named");
    let (plan, mut points) = planned(&bench);
    let (x, y) = on_bed(1000.0, 600.0);
    points.push(format!("--point=corner:1000,600={},{}", x + 8.0, y - 5.0));
    let mut args = vec!["square", &plan, "--json"];
    args.extend(points.iter().map(String::as_str));
    let ran = oddment(&args);
    // Four others agree: it counts for nothing, and the sheet lies as they have it.
    let said = ran.json();
    assert_eq!(ran.outcome, Some(Outcome::Yes), "{ran:?}");
    assert_eq!(said["verdict"], "outvoted");
    assert_eq!(said["explanations"][0]["kind"], "bad_point");
    assert_eq!(said["explanations"][0]["point"], "corner:1000,600");
    assert!((number(&said["points"][4]["residual_mm"]) - 8_f64.hypot(5.0)).abs() < 1e-2);
    for (key, expected) in [("x", LIES.0), ("y", LIES.1), ("turn_deg", LIES.2)] {
        assert!((number(&said["lies"][key]) - expected).abs() < 1e-3, "{said}");
    }
    // Of three it may be any: which one is said, and nothing relied on.
    let ran = oddment(&["square", &plan, "--json", &points[0], &points[1], &points[4]]);
    assert_eq!(ran.outcome, Some(Outcome::No));
    assert_eq!(ran.json()["verdict"], "too_large");
    assert!(ran.json()["lies"].is_null());
    for (odd, says) in [
        ("--point=A", "no “=”"),
        ("--point=A=1", "no X,Y"),
        ("--point=Z=1,2", "pointer list"),
        ("--point=hole:10,10=1,2", "no hole"),
        ("--point=A=nan,2", "no X,Y"),
        ("--sheet=7", "no sheet 7"),
        ("--sheet=0", "--sheet"),
        ("--bed=3050", "--bed"),
        ("--pointer=-1", "--pointer"),
    ] {
        oddment(&["square", &plan, odd]).refused(says);
    }
    let odd_clamp = ["square", &plan, "--clamp=1,2,0,5", &points[0], &points[1], &points[2]];
    oddment(&odd_clamp).refused("no clamp");
}
