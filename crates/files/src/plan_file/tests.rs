use std::path::Path;

use oddment_core::check::check;
use oddment_core::distances::{EdgeDistance, StartRule};
use oddment_core::part::{MadeFrom, Mark, MarkKind, Priority, Turning};
use oddment_core::plan::{Count, Layout, Plan, Stock, Wanted};
use oddment_core::shape::{Bounds, Edge, Loop, Point, Pose, Region, Vector};
use oddment_core::sheet::{Contour, EdgeFacts, EdgeKind, Metal, NoGo, Sheet};
use proptest::prelude::*;
use serde_json::Value;

use super::*;
use crate::drawing::ReadOptions;
use crate::job_file::{Origin, PointAt, SheetLay, SourcedJob, load_drawing, parts_from_drawing};
use crate::test_jobs::{bracket_job, placement, rectangle, two_brackets};

const RUN: RunFacts = RunFacts { seconds: 0.25, steps: 12, seed: 7 };

fn written(job: &SourcedJob, plan: Plan) -> String {
    write_plan(job, &check(&job.job, plan), RUN)
}

#[track_caller]
fn reads_back(job: &SourcedJob, plan: &Plan) {
    let text = written(job, plan.clone());
    let (job_again, plan_again) = read_plan(&text, None).unwrap();
    assert_eq!(&plan_again, plan);
    assert_eq!(job_again.job, job.job);
    assert_eq!(written(&job_again, plan_again), text);
}

#[test]
fn how_sheets_lie_is_kept_with_the_plan() {
    let mut job = bracket_job();
    job.cut.lays = vec![SheetLay {
        sheet: job.job.stock[0].sheet.name.clone(),
        points: vec![
            PointAt {
                at: Point::new(0.0, 0.0),
                on_bed: Some(Point::new(80.25, 40.0)),
                ticked: true,
                asked_for: false,
                left_out: false,
            },
            PointAt {
                at: Point::new(500.0, 0.0),
                on_bed: None,
                ticked: false,
                asked_for: true,
                left_out: true,
            },
        ],
        clamps: vec![Bounds { min: Point::new(10.0, 20.0), max: Point::new(90.0, 100.0) }],
    }];
    let text = written(&job, two_brackets());
    let (again, _) = read_plan(&text, None).unwrap();
    assert_eq!(again.cut, job.cut);
    let far = text.replace("80.25", "1e12");
    assert!(read_plan(&far, None).unwrap_err()[0].to_string().contains("kilometre"));
}

#[test]
fn a_plan_has_the_keys_that_scripts_look_for() {
    let value: Value = serde_json::from_str(&written(&bracket_job(), two_brackets())).unwrap();
    assert_eq!(value["format"], "oddment-plan");
    assert_eq!(value["clearances"]["edge"], 5.0);
    assert_eq!(value["wanted"][0]["part"], "bracket");
    assert_eq!(value["wanted"][0]["count"], 3);
    assert_eq!(value["wanted"][0]["placed"], 2);
    let sheet = &value["sheets"][0];
    assert_eq!(sheet["sheet"], "600x400");
    assert_eq!(sheet["rectangle"], serde_json::json!([600.0, 400.0]));
    assert_eq!(sheet["metal_mm2"], 240_000.0);
    let bracket = 120.0 * 60.0 + std::f64::consts::PI * (450.0 - 121.0);
    assert!((sheet["yield"].as_f64().unwrap() - 2.0 * bracket / 240_000.0).abs() < 1e-12);
    assert_eq!(sheet["placements"][1]["turn_deg"], 33.3);
    assert_eq!(sheet["placements"][1]["flipped"], false);
    assert_eq!(value["check"]["clear"], true);
    assert_eq!(value["check"]["as"], "recorded");
    // The first bracket lies 10 mm from two edges.
    assert_eq!(value["check"]["tightest"]["distance"], 10.0);
    assert_eq!(value["check"]["tightest"]["required"], 5.3);
    assert_eq!((&value["steps"], &value["seed"]), (&12.into(), &7.into()));
}

#[test]
fn faults_are_told_in_words_and_numbers() {
    let mut plan = two_brackets();
    plan.layouts[0].placements[0].pose.shift.x = 2.0;
    let value: Value = serde_json::from_str(&written(&bracket_job(), plan)).unwrap();
    assert_eq!(value["check"]["clear"], false);
    let fault = &value["check"]["faults"][0];
    assert_eq!(fault["what"], "bracket #1 is 2.0 mm from the sheet’s edge, needs 5.3");
    assert_eq!(fault["distance"], 2.0);
}

#[test]
fn plans_read_back_exactly() {
    reads_back(&bracket_job(), &two_brackets());
}

#[test]
fn everything_known_of_sheets_and_parts_reads_back() {
    let mut job = bracket_job();
    job.job.clearances.edge = EdgeDistance { own_cut: 1.0, sheared: 4.0, mill: 9.0 };
    job.job.starts =
        Some(StartRule { pierce: 0.7, clockwise_outside: true, ..StartRule::STARTING });
    let metal = [
        Region::new(rectangle(0.0, 0.0, 500.0, 300.0), vec![rectangle(20.0, 20.0, 50.0, 50.0)]),
        Region::new(Loop::circle(Point::new(800.0, 100.0), 90.0).unwrap(), vec![]),
    ];
    let facts = EdgeFacts { kind: EdgeKind::Sheared, give_or_take: 0.5 };
    let mut sheet = Sheet::new("R-9", &metal, facts);
    let each = [EdgeKind::Mill, EdgeKind::OwnCut, EdgeKind::Sheared, EdgeKind::Mill]
        .map(|kind| EdgeFacts { kind, give_or_take: 1.0 / 3.0 });
    let outer = sheet.bodies[0].outer.shape().clone();
    sheet.bodies[0].outer = Contour::with_facts(outer, each.to_vec()).unwrap();
    let shape = Loop::circle(Point::new(400.0, 200.0), 30.0).unwrap();
    for stands_up in [true, false] {
        let shape = shape.clone();
        sheet.no_go.push(NoGo { name: "clamp".into(), shape, clearance: 12.5, stands_up });
    }
    sheet.grain = Some(0.3);
    sheet.made_of = Some(Metal { material: "S235".into(), thickness: 3.0, density: 7850.0 });
    job.add_sheet(Stock { sheet, count: 1 }, Origin::Outline);
    let part = &mut job.job.wanted[0].part;
    part.turning = Turning::steps(30_f64.to_radians());
    part.flip = true;
    part.grain = Some(1.0);
    let line = Edge::new(Point::new(10.0, 5.0), Point::new(10.0, 55.0), 0.0);
    part.marks.push(Mark { kind: MarkKind::Bend, edges: vec![line] });
    let mut plan = two_brackets();
    plan.layouts.push(Layout { stock: 1, placements: vec![placement(0, 3, 100.0, 90.0, 30.0)] });
    plan.layouts[0].placements[0].pose.flipped = true;
    reads_back(&job, &plan);
    let mut angles = job;
    angles.job.wanted[0].part.turning = Turning::Only(vec![0.1, 2.0]);
    reads_back(&angles, &plan);
}

#[test]
fn locked_placements_stay_locked() {
    let mut plan = two_brackets();
    plan.layouts[0].placements[1].locked = true;
    let (job, again) = read_plan(&written(&bracket_job(), plan.clone()), None).unwrap();
    assert_eq!(again, plan);
    assert_eq!(job.locked.layouts[0].placements, [plan.layouts[0].placements[1]]);
}

#[test]
fn two_sheets_of_one_stock_read_back_as_such() {
    let mut plan = two_brackets();
    let second = plan.layouts[0].placements.remove(1);
    plan.layouts.push(Layout { stock: 0, placements: vec![second] });
    reads_back(&bracket_job(), &plan);
}

#[test]
fn a_layout_that_is_no_plan_of_the_job_is_left_out_and_told_of() {
    let mut plan = two_brackets();
    plan.layouts[0].placements[0].pose.shift.x = f64::NAN;
    plan.layouts.push(Layout { stock: 9, placements: vec![placement(0, 3, 0.0, 0.0, 0.0)] });
    let value: Value = serde_json::from_str(&written(&bracket_job(), plan)).unwrap();
    assert_eq!(value["sheets"].as_array().unwrap().len(), 0);
    assert_eq!(value["check"]["faults"].as_array().unwrap().len(), 2);
}

const SQUARE_DXF: &str = "0\nSECTION\n2\nHEADER\n9\n$INSUNITS\n70\n4\n0\nENDSEC\n0\nSECTION\n2\n\
ENTITIES\n0\nLWPOLYLINE\n8\n0\n90\n4\n70\n1\n10\n0\n20\n0\n10\n40\n20\n0\n10\n40\n20\n30\n10\n0\n20\n30\n\
0\nENDSEC\n0\nEOF\n";

#[test]
fn drawings_are_found_again_where_the_plan_says_or_by_name() {
    let folder = std::env::temp_dir().join(format!("oddment-plan-{}", std::process::id()));
    std::fs::create_dir_all(&folder).unwrap();
    let path = folder.join("square.dxf");
    std::fs::write(&path, SQUARE_DXF).unwrap();
    let mut job = bracket_job();
    let drawing = load_drawing(&path, &ReadOptions::default()).unwrap();
    for (part, origin) in parts_from_drawing(&path, &drawing) {
        job.add_part(Wanted { part, count: Count::Max }, origin);
    }
    let mut plan = two_brackets();
    plan.layouts[0].placements.push(placement(1, 1, 400.0, 300.0, 0.0));
    reads_back(&job, &plan);
    let text = written(&job, plan).replace(&*folder.to_string_lossy(), "/nowhere");
    let told = read_plan(&text, None).unwrap_err();
    assert!(told[0].to_string().starts_with("wanted[1].source"), "{told:?}");
    let (found, _) = read_plan(&text, Some(&folder)).unwrap();
    assert_eq!(found.job, job.job);
    assert_eq!(found.job.wanted[1].part.region.area(), 1200.0);
    let inches = text.replace("\"mm_per_unit\": 1.0", "\"mm_per_unit\": 10.0");
    let told = read_plan(&inches, Some(&folder)).unwrap_err();
    assert!(told[0].to_string().contains("one unit of the drawing is 1 mm"), "{told:?}");
    std::fs::remove_dir_all(&folder).unwrap();
}

/// Replaces the first `find` of a good plan and expects words of the fault.
#[track_caller]
fn refused(find: &str, replace: &str, words: &str) {
    let text = written(&bracket_job(), two_brackets());
    assert!(text.contains(find), "{find}");
    let told = read_plan(&text.replacen(find, replace, 1), None).unwrap_err();
    assert!(told.iter().any(|f| f.to_string().contains(words)), "{told:?}");
}

#[test]
fn metal_and_priority_of_a_part_read_back() {
    let mut job = bracket_job();
    let part = &mut job.job.wanted[0].part;
    part.made_from = Some(MadeFrom { material: "DC01".into(), thickness: 1.5 });
    for priority in [Priority::First, Priority::Usual, Priority::IfRoom] {
        job.job.wanted[0].part.priority = priority;
        reads_back(&job, &two_brackets());
    }
    let text = written(&job, two_brackets()).replace("if_room", "whenever");
    let told = read_plan(&text, None).unwrap_err();
    assert!(told[0].to_string().starts_with("wanted[0].priority"), "{told:?}");
}

#[test]
fn a_part_on_the_wrong_metal_is_a_fault_in_words() {
    let mut job = bracket_job();
    job.job.stock[0].sheet.made_of =
        Some(Metal { material: "S235".into(), thickness: 3.0, density: 7850.0 });
    let says = |job: &SourcedJob| {
        let checked = check(&job.job, two_brackets());
        let report = checked.report();
        report
            .faults
            .first()
            .map(|f| crate::words::fault_words(&job.job, checked.plan(), f, Default::default()))
    };
    assert_eq!(says(&job), None);
    job.job.wanted[0].part.made_from = Some(MadeFrom { material: "s235".into(), thickness: 3.04 });
    assert_eq!(says(&job), None);
    job.job.wanted[0].part.made_from = Some(MadeFrom { material: "S235".into(), thickness: 2.0 });
    let sentence = "bracket must be 2 mm S235; 600x400 is 3 mm S235";
    assert_eq!(says(&job).as_deref(), Some(sentence));
}

#[test]
fn damaged_plans_are_refused_with_the_place() {
    refused("\"copy\": 1", "\"copy\": 0", "sheets[0].placements[0].copy");
    refused("\"x\": 10.0", "\"x\": 1e300", "sheets[0].placements[0].x");
    refused("\"x\": 10.0,", "", "“x” is missing");
    refused("\"turn_deg\": 0.0,", "", "“turn_deg” is missing");
    refused("\"kerf\": 0.3", "\"kerf\": \"wide\"", "clearances.kerf");
    let text = written(&bracket_job(), two_brackets());
    for cut in [text.len() / 4, text.len() / 2, text.len() - 3] {
        assert!(read_plan(&text[..cut], None).is_err());
    }
}

#[test]
fn a_plan_may_be_read_without_the_keys_of_our_own() {
    let text = r#"{"format": "oddment-plan", "version": 1, "units": "mm",
        "clearances": {"kerf": 0.3, "web": 1.5, "edge": 1},
        "wanted": [{"part": "P", "outline": [[0,0],[10,0],[0,10]], "holes": [], "count": null,
                    "placed": 2}],
        "sheets": [
            {"sheet": "S", "rectangle": [100, 100], "metal_mm2": 10000, "yield": 0.005,
             "placements": [{"part": "P", "copy": 1, "x": 20, "y": 20, "turn_deg": 0,
                             "flipped": false}]},
            {"sheet": "S", "rectangle": [100, 100], "metal_mm2": 10000, "yield": 0.005,
             "placements": [{"part": "P", "copy": 2, "x": 20, "y": 20, "turn_deg": 0,
                             "flipped": false}]}],
        "check": {"clear": true, "as": "recorded", "faults": [], "tightest": null},
        "seconds": 1, "steps": 1, "seed": 1}"#;
    let (job, plan) = read_plan(text, Some(Path::new("."))).unwrap();
    assert_eq!(job.job.wanted[0].count, Count::Max);
    assert!(check(&job.job, plan).is_clear());
}

proptest! {
    #[test]
    fn any_pose_reads_back(x in -1e4..1e4, y in -1e4..1e4, degrees in 0.0..360.0, flipped: bool) {
        let mut plan = two_brackets();
        plan.layouts[0].placements[0].pose = Pose::new(Vector::new(x, y), f64::to_radians(degrees), flipped);
        reads_back(&bracket_job(), &plan);
    }

    #[test]
    fn no_text_makes_reading_panic(text in "\\PC*") {
        prop_assert!(read_plan(&text, None).is_err());
    }

    #[test]
    fn no_changed_byte_makes_reading_panic(at in 0usize..4000, byte in 32u8..127) {
        let mut bytes = written(&bracket_job(), two_brackets()).into_bytes();
        let at = at % bytes.len();
        bytes[at] = byte;
        if let Ok(text) = String::from_utf8(bytes) {
            let _ = read_plan(&text, None);
        }
    }
}
