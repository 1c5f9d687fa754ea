//! The check against a checker that shares no code with it, where ODDMENT_CORPUS names the folder
//! with its tools and Python has shapely: on random plans of polygons both must find the same
//! faults, and the same distances.
#![cfg(test)]

mod outside;

use std::collections::BTreeMap;
use std::f64::consts::TAU;
use std::path::{Path, PathBuf};
use std::process::Command;

use fastrand::Rng;
use oddment_core::check::{Fault, Party, check};
use oddment_core::distances::{Clearances, EdgeDistance};
use oddment_core::part::Part;
use oddment_core::plan::{Count, Layout, Placement, Plan, Stock, Wanted};
use oddment_core::shape::{Loop, Point, Pose, Region, Space, Vector};
use oddment_core::sheet::{EdgeFacts, Sheet};
use oddment_files::job_file::{Origin, SourcedJob, sheet_rectangle};
use oddment_files::plan_file::{RunFacts, write_plan};

const SHEETS: usize = 40;
const PARTS: usize = 6;

/// Distances short by as much as this (mm) or less are none for the check, nor asked for here.
const SLACK: f64 = 0.001;

/// What was found, by part (and other part): the distance.
#[derive(Debug, Default, PartialEq)]
struct Found {
    off_the_metal: Vec<String>,
    to_edge: BTreeMap<String, f64>,
    to_cutout: BTreeMap<String, f64>,
    between: BTreeMap<(String, String), f64>,
}

fn verifier() -> Option<PathBuf> {
    let named = std::env::var_os("ODDMENT_CORPUS")?;
    let tool = Path::new(&named).join("tools/verify_plan.py");
    assert!(tool.is_file(), "ODDMENT_CORPUS names no folder with tools: {named:?}");
    outside::judges("shapely, ezdxf").then_some(tool)
}

#[test]
fn both_checkers_find_the_same() {
    let Some(tool) = verifier() else { return };
    (11..15).for_each(|seed| compare(&tool, seed));
}

fn compare(tool: &Path, seed: u64) {
    let (job, plan) = random_plan(&mut Rng::with_seed(seed));
    let checked = check(&job.job, plan);
    let text = write_plan(&job, &checked, RunFacts::default());
    let file = std::env::temp_dir().join(format!("oddment-check-{}.json", std::process::id()));
    std::fs::write(&file, text).unwrap();
    let slack = SLACK.to_string();
    let said = Command::new("python3").arg(tool).arg(&file).args(["--slack", &slack]).output();
    std::fs::remove_file(&file).unwrap();
    let said = said.unwrap();
    assert_eq!(said.stderr, b"", "{}", String::from_utf8_lossy(&said.stderr));
    let theirs = theirs(&String::from_utf8(said.stdout).unwrap());
    let ours = ours(checked.plan(), &checked.report().faults);
    // There is something to agree on.
    let sizes =
        [ours.off_the_metal.len(), ours.to_edge.len(), ours.to_cutout.len(), ours.between.len()];
    assert!(sizes.iter().all(|n| (10..SHEETS * 20).contains(n)), "{sizes:?}");
    assert_eq!(ours.off_the_metal, theirs.off_the_metal);
    same_distances(&ours.to_edge, &theirs.to_edge);
    same_distances(&ours.to_cutout, &theirs.to_cutout);
    same_distances(&ours.between, &theirs.between);
}

/// Both name the same, and the same distance but for the four digits that are printed.
#[track_caller]
fn same_distances<K: Ord + std::fmt::Debug>(ours: &BTreeMap<K, f64>, theirs: &BTreeMap<K, f64>) {
    let names = |all: &BTreeMap<K, f64>| all.keys().map(|k| format!("{k:?}")).collect::<Vec<_>>();
    assert_eq!(names(ours), names(theirs));
    for ((name, a), b) in ours.iter().zip(theirs.values()) {
        assert!((a - b).abs() < 1e-4, "{name:?}: {a} and {b}");
    }
}

fn ours(plan: &Plan, faults: &[Fault]) -> Found {
    let mut found = Found::default();
    for fault in faults {
        let Fault::Short(measure) = fault else { panic!("{fault:?}") };
        let name = |i: usize| {
            let p = &plan.layouts[measure.layout].placements[i];
            format!("part{}#{}", p.part, p.copy)
        };
        let (part, distance) = (name(measure.placed), measure.gap.distance);
        if distance < 0.0 && !matches!(measure.other, Party::Placed(_)) {
            found.off_the_metal.push(part.clone());
        }
        let shown = distance.max(0.0);
        match measure.other {
            Party::Placed(other) => {
                found.between.insert((part, name(other)), shown);
            }
            Party::CutOut(..) => {
                let least = found.to_cutout.entry(part).or_insert(shown);
                *least = least.min(shown);
            }
            Party::SheetEdge => {
                found.to_edge.insert(part, shown);
            }
            Party::NoGo(_) => panic!("there are no zones"),
        }
    }
    found.off_the_metal.sort();
    found.off_the_metal.dedup();
    // Of a part that is not on the metal, the other checker does not measure the edge.
    found.to_edge.retain(|part, _| found.off_the_metal.binary_search(part).is_err());
    found
}

fn theirs(text: &str) -> Found {
    let mut found = Found::default();
    for line in text.lines().filter(|l| l.contains(" is ")) {
        let (part, rest) = line.split_once(" is ").unwrap();
        let part = part.to_owned();
        if rest.starts_with("not wholly on the metal") {
            found.off_the_metal.push(part);
            continue;
        }
        let (distance, other) = rest.split_once(" from ").unwrap();
        let distance = distance.parse().unwrap();
        match other {
            "the edge" => found.to_edge.insert(part, distance),
            "a cut-out" => found.to_cutout.insert(part, distance),
            other => found.between.insert((part, other.to_owned()), distance),
        };
    }
    found.off_the_metal.sort();
    found
}

/// Sheets with cut-outs, and parts on them about as near as they may be, some too near.
fn random_plan(random: &mut Rng) -> (SourcedJob, Plan) {
    let mut job = SourcedJob::new(Clearances {
        kerf: 0.4,
        web: 1.5,
        edge: EdgeDistance::all(8.0),
        sensing: 3.0,
        lay: 0.25,
        common: false,
    });
    for i in 0..PARTS {
        let hole = (i % 2 == 0).then(|| star(random, 3, 10.0, Vector::default()));
        let region =
            Region::new(star(random, 3, 50.0, Vector::default()), hole.into_iter().collect());
        let part = Part { flip: true, ..Part::new(format!("part{i}"), region) };
        job.add_part(Wanted { part, count: Count::Exactly(SHEETS * 12) }, Origin::Outline);
    }
    let mut layouts = Vec::new();
    for stock in 0..SHEETS {
        let (sheet, origin) = if stock % 2 == 0 {
            sheet_rectangle(format!("plain{stock}"), 450.0, 350.0).unwrap()
        } else {
            let outer = star(random, 8, 600.0, Vector::new(225.0, 175.0));
            let holes = [(60.0, 60.0), (170.0, 270.0), (390.0, 160.0)]
                .map(|(x, y)| star(random, 3, 70.0, Vector::new(x, y)));
            let metal = Region::new(outer, holes.to_vec());
            (Sheet::new(format!("used{stock}"), &[metal], EdgeFacts::default()), Origin::Outline)
        };
        job.add_sheet(Stock { sheet, count: 1 }, origin);
        let placements = (0..12)
            .map(|i| {
                let part = random.usize(..PARTS);
                let cell = Vector::new(f64::from(i % 4) * 110.0, f64::from(i / 4) * 110.0);
                let off = Vector::new(random.f64() - 0.5, random.f64() - 0.5) * 45.0;
                let shift = Vector::new(55.0, 55.0) + cell + off;
                let pose = Pose::new(shift, random.f64() * TAU, random.bool());
                let copy = stock * 12 + i as usize + 1;
                Placement { part, copy, pose, locked: false }
            })
            .collect();
        layouts.push(Layout { stock, placements });
    }
    (job, Plan { layouts })
}

/// A polygon of 12 corners or less round `middle`, of about this radius.
fn star<S: Space>(random: &mut Rng, least: usize, radius: f64, middle: Vector) -> Loop<S> {
    let n = random.usize(least..=12);
    let corner = |i: usize| {
        let turn = (i as f64 + 0.8 * random.f64()) / n as f64 * TAU;
        Point::origin() + middle + Vector::at_angle(turn) * (radius * (0.7 + 0.3 * random.f64()))
    };
    Loop::polygon((0..n).map(corner)).unwrap()
}
