//! The check of a full sheet, and the measuring of one part that is moved on it.

use std::f64::consts::TAU;

use oddment_core::check::{Scene, check};
use oddment_core::distances::{Clearances, EdgeDistance};
use oddment_core::part::Part;
use oddment_core::plan::{Count, Job, Layout, Placement, Plan, Stock, Wanted};
use oddment_core::shape::{
    Loop, LoopFault, PartSpace, Point, Pose, Region, SheetSpace, Vector, Vertex,
};
use oddment_core::sheet::{EdgeFacts, Sheet};

use crate::report::Table;

/// Cells of the sheet, 25 × 20, of which 300 carry a part and 200 a cut-out.
const COLUMNS: usize = 25;
const PARTS: usize = 300;
const CUTOUTS: usize = 200;
const CELL: f64 = 100.0;

/// Figures for 300 parts among 200 cut-outs.
pub(crate) fn run() -> Table {
    let mut table = Table::new();
    match scene() {
        Ok((job, plan)) => measure(&mut table, &job, &plan),
        Err(fault) => eprintln!("error: {fault}"),
    }
    table
}

fn measure(table: &mut Table, job: &Job, plan: &Plan) {
    let report = check(job, plan.clone());
    table.add("faults", report.report().faults.len() as f64, "", Some(0.0));
    table.time("check 300 parts, 200 cut-outs", Some(50.0), || check(job, plan.clone()));
    let layout = &plan.layouts[0];
    let scene = Scene::new(job, layout);
    table.time("make the scene ready", None, || Scene::new(job, layout));
    let region = &job.wanted[layout.placements[150].part].part.region;
    let part = region.edge_set();
    let mut step = 0.0;
    table.time("measure one moved part: tightest", Some(4.0), || {
        step += 0.01;
        let mut pose = layout.placements[150].pose;
        pose.shift += Vector::new(step % 5.0, 0.0);
        scene.tightest(&part.placed(&pose), |i| i != 150)
    });
    table.time("measure one moved part: all within 50 mm", Some(4.0), || {
        step += 0.01;
        let mut pose = layout.placements[150].pose;
        pose.shift += Vector::new(step % 5.0, 0.0);
        scene.near(&part.placed(&pose), |i| i != 150, 50.0)
    });
}

/// A sheet of 200 cut-outs and 300 parts, each in a cell of its own.
pub(crate) fn scene() -> Result<(Job, Plan), LoopFault> {
    let mut random = fastrand::Rng::with_seed(5);
    let mut cells: Vec<usize> = (0..PARTS + CUTOUTS).collect();
    random.shuffle(&mut cells);
    let corner =
        |cell: usize| Vector::new((cell % COLUMNS) as f64 * CELL, (cell / COLUMNS) as f64 * CELL);
    let middle = Vector::new(0.5 * CELL, 0.5 * CELL);
    let holes: Result<Vec<_>, _> = cells[..CUTOUTS]
        .iter()
        .map(|cell| {
            let turn = random.f64() * TAU;
            Ok(bracket(&mut random)?.outer().placed::<SheetSpace>(&Pose::new(
                corner(*cell) + middle,
                turn,
                false,
            )))
        })
        .collect();
    let rows = (PARTS + CUTOUTS) / COLUMNS;
    let size = Vector::new(COLUMNS as f64 * CELL, rows as f64 * CELL);
    let metal = Region::new(Loop::rectangle(Point::origin(), Point::origin() + size)?, holes?);
    let sheet = Sheet::new("full", &[metal], EdgeFacts::default());
    let wanted: Result<Vec<_>, _> = (0..12)
        .map(|i| {
            let part = Part::new(format!("bracket {i}"), bracket(&mut random)?);
            Ok(Wanted { part, count: Count::Exactly(PARTS) })
        })
        .collect();
    let placements = cells[CUTOUTS..]
        .iter()
        .enumerate()
        .map(|(i, cell)| Placement {
            part: i % 12,
            copy: i / 12 + 1,
            pose: Pose::new(corner(*cell) + middle, random.f64() * TAU, false),
            locked: false,
        })
        .collect();
    let clearances = Clearances {
        kerf: 1.0,
        web: 2.0,
        edge: EdgeDistance::all(3.0),
        sensing: 3.0,
        lay: 0.5,
        common: false,
    };
    let job =
        Job { stock: vec![Stock { sheet, count: 1 }], wanted: wanted?, clearances, starts: None };
    Ok((job, Plan { layouts: vec![Layout { stock: 0, placements }] }))
}

/// A star of 20 rounded spokes, 84 mm across, with four bolt holes: 48 lines and arcs.
fn bracket(random: &mut fastrand::Rng) -> Result<Region<PartSpace>, LoopFault> {
    let outline: Vec<_> = (0..40)
        .map(|i| Vertex {
            point: Point::origin()
                + Vector::at_angle(f64::from(i) / 40.0 * TAU) * (34.0 + 8.0 * random.f64()),
            bulge: if i % 2 == 0 { 0.2 } else { 0.0 },
        })
        .collect();
    let holes: Result<Vec<_>, _> = (0..4)
        .map(|i| {
            let way = Vector::at_angle(f64::from(i) * 0.25 * TAU);
            Loop::circle(Point::origin() + way * 20.0, 4.0)
        })
        .collect();
    Ok(Region::new(Loop::new(outline)?, holes?))
}
