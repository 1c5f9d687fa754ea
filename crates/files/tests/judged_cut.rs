//! Cuts of random plans, judged from their drawings by a program that shares no code with this one, where
//! ODDMENT_CORPUS is named and Python has shapely and ezdxf.
#![cfg(test)]

mod outside;

use std::path::Path;
use std::process::Command;

use fastrand::Rng;
use oddment_core::check::check;
use oddment_core::cut_data::Process;
use oddment_core::cutting::plan_cut;
use oddment_core::job::{Budget, Stop};
use oddment_core::packer::{Settings, pack};
use oddment_core::part::Part;
use oddment_core::plan::{Count, Job, Plan, Stock, Wanted};
use oddment_core::shape::{Loop, PartSpace, Point, Pose, Region, SheetSpace, Vertex};
use oddment_core::sheet::{EdgeFacts, Metal, Sheet};
use oddment_core::units::LengthUnit;
use oddment_files::cut_data::starting_cut_data;
use oddment_files::dxf_out::{CutLines, cut_dxf, layout_dxf};
use oddment_files::job_file::{Origin, SourcedJob};

/// A plate with rounded or sharp corners, round holes and a slot.
fn plate(rng: &mut Rng) -> Region<PartSpace> {
    let (w, h) = (60.0 + 140.0 * rng.f64(), 40.0 + 80.0 * rng.f64());
    let r = 3.0 + 9.0 * rng.f64();
    let quarter = 2f64.sqrt() - 1.0;
    let round = rng.bool();
    let corners = [(0.0, 0.0), (w, 0.0), (w, h), (0.0, h)];
    let vertices = (0..4).flat_map(|i| {
        let ((x, y), (nx, ny)) = (corners[i], corners[(i + 1) % 4]);
        let along =
            ((nx - x).signum() * f64::from(nx != x), (ny - y).signum() * f64::from(ny != y));
        let from = Point::new(x + along.0 * r, y + along.1 * r);
        let to = Point::new(nx - along.0 * r, ny - along.1 * r);
        if round {
            vec![Vertex { point: from, bulge: 0.0 }, Vertex { point: to, bulge: quarter }]
        } else {
            vec![Vertex { point: Point::new(x, y), bulge: 0.0 }]
        }
    });
    let outer = Loop::new(vertices.collect::<Vec<_>>()).unwrap();
    let hole = Loop::circle(Point::new(0.25 * w, 0.5 * h), 4.0 + 0.1 * h * rng.f64()).unwrap();
    let (x, y, half, length) = (0.6 * w, 0.5 * h, 5.0 + 3.0 * rng.f64(), 0.15 * w);
    let slot = [
        (x, y - half, 0.0),
        (x + length, y - half, 1.0),
        (x + length, y + half, 0.0),
        (x, y + half, 1.0),
    ];
    let slot =
        Loop::new(slot.map(|(x, y, bulge)| Vertex { point: Point::new(x, y), bulge })).unwrap();
    Region::new(outer, vec![hole, slot])
}

#[test]
fn an_outside_judge_finds_cuts_of_random_plans_as_they_are_meant() {
    if !outside::judges("ezdxf, shapely") {
        return;
    }
    let folder = std::env::temp_dir().join(format!("oddment-judged-{}", std::process::id()));
    std::fs::create_dir_all(&folder).unwrap();
    let (mut contours, mut tabs) = (0, 0);
    for (seed, process) in (0..12).zip(Process::ALL.iter().cycle()) {
        let found = judged(&folder, *process, &mut Rng::with_seed(seed));
        contours += found.0;
        tabs += found.1;
    }
    std::fs::remove_dir_all(&folder).unwrap();
    // There is something to judge.
    assert!(contours > 150 && tabs > 30, "{contours} contours, {tabs} tabs");
}

/// How many contours and tabs were looked at.
fn judged(folder: &Path, process: Process, rng: &mut Rng) -> (usize, usize) {
    let table = starting_cut_data().unwrap();
    let thickness = [1.5, 3.0, 5.0, 8.0][rng.usize(0..4)];
    let rectangle =
        |w: f64, h: f64| Loop::<SheetSpace>::rectangle(Point::origin(), Point::new(w, h)).unwrap();
    let old = (0..4).map(|n| {
        let at = Point::new(80.0 + 180.0 * f64::from(n), 90.0 + 200.0 * rng.f64());
        Loop::circle(at, 20.0 + 25.0 * rng.f64()).unwrap()
    });
    let metal = Region::new(rectangle(800.0, 500.0), old.collect());
    let mut sheet = Sheet::new("S", &[metal], EdgeFacts::default());
    sheet.made_of = Some(Metal { material: "S235".into(), thickness, density: 7850.0 });
    let rule = table.starts(process, thickness).map(|rule| {
        // Where nothing is pierced there is no pierce to judge.
        oddment_core::distances::StartRule { from_edge: false, ..rule }
    });
    let mut job = SourcedJob::new(table.clearances(process, thickness).unwrap());
    job.job.starts = rule;
    let origin = Origin::Outline;
    let metal = sheet.made_of.clone().unwrap();
    job.add_sheet(Stock { sheet, count: 1 }, origin.clone());
    for n in 0..3 {
        let part = Part { flip: true, ..Part::new(format!("P{n}"), plate(rng)) };
        job.add_part(Wanted { part, count: Count::Exactly(3) }, origin.clone());
    }
    let budget = Budget { steps: Some(200), time_up: &|| false, stop: Stop::default() };
    let settings = Settings { seed: rng.u64(..), threads: 1 };
    let plan = pack(&job.job, &Plan::default(), settings, &budget, &mut |_| {}).plan;
    let checked = check(&job.job, plan);
    assert!(checked.is_clear(), "{:?}", checked.report());
    let facts = table.facts(process, &metal).unwrap();
    let Job { starts, clearances, .. } = &job.job;
    let rule = starts.unwrap();
    let cut = plan_cut(&job.job, &checked.plan().layouts[0], &rule, &facts, &Default::default());
    let (layout, beam) = (folder.join("layout.dxf"), folder.join("cut.dxf"));
    std::fs::write(&layout, layout_dxf(&job, &checked).unwrap()).unwrap();
    let (lines, lies) = (CutLines::BeamCentre, Pose::identity());
    let drawn = cut_dxf(&job.job, &checked, 0, &cut, lines, lies, LengthUnit::Mm).unwrap();
    std::fs::write(&beam, drawn).unwrap();
    let least = rule.pierce.min(rule.small_hole);
    let numbers = [clearances.kerf, facts.tab, least].map(|mm| mm.to_string());
    let judge = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/judge_cut.py");
    let ran = Command::new("python3").arg(judge).args([&layout, &beam]).args(numbers).output();
    let ran = ran.unwrap();
    assert!(ran.status.success(), "{}", String::from_utf8_lossy(&ran.stderr));
    let said = String::from_utf8(ran.stdout).unwrap();
    let lines: Vec<&str> = said.trim().lines().collect();
    assert_eq!(lines.len(), 1, "{process}, {thickness} mm: {said}");
    let counts: Vec<usize> = lines[0].split(' ').map(|n| n.parse().unwrap()).collect();
    assert_eq!(counts[2], cut.passes.iter().map(|p| p.tabs.len()).sum::<usize>(), "tabs");
    (counts[0], counts[2])
}
