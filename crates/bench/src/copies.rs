//! Many copies of one part on a full sheet: what rows give at once, and what the search adds.

use std::f64::consts::FRAC_PI_2;

use oddment_core::distances::{Clearances, EdgeDistance};
use oddment_core::part::{Part, Turning};
use oddment_core::plan::{Count, Job, Plan, Stock, Wanted};
use oddment_core::shape::{Loop, LoopFault, PartSpace, Point, Region, Vertex};
use oddment_core::sheet::{EdgeFacts, Sheet};

use crate::report::Table;
use crate::timed::packed;

/// Seconds for each part.
const SECONDS: f64 = 10.0;

/// As many of each part as go onto 2500 × 1250.
pub(crate) fn run() -> Table {
    let mut table = Table::new();
    if let Err(fault) = measure(&mut table) {
        eprintln!("error: {fault}");
    }
    table
}

fn measure(table: &mut Table) -> Result<(), LoopFault> {
    let outline = Loop::rectangle(Point::origin(), Point::new(2500.0, 1250.0))?;
    let metal = Region::new(outline, Vec::new());
    for part in parts()? {
        let name = part.name.clone();
        let job = Job {
            stock: vec![Stock {
                sheet: Sheet::new("sheet", std::slice::from_ref(&metal), EdgeFacts::default()),
                count: 1,
            }],
            wanted: vec![Wanted { part, count: Count::Max }],
            clearances: Clearances {
                kerf: 0.3,
                web: 2.0,
                edge: EdgeDistance::all(5.0),
                sensing: 2.0,
                lay: 0.0,
                common: false,
            },
            starts: None,
        };
        let share = |plan: &Plan| plan.layouts.first().map_or(0.0, |l| 100.0 * l.yield_of(&job));
        let found = packed(&job, SECONDS, 1);
        let (time, rows) = found.first.map_or((f64::NAN, 0.0), |(time, plan)| (time, share(&plan)));
        table.add(format!("{name}: rows alone, after"), time * 1e3, "ms", None);
        table.add(format!("{name}: yield of rows alone"), rows, "%", None);
        let least = 0.97 * rows;
        table.reach(format!("{name}: yield at {SECONDS} s"), share(&found.plan), "%", least);
        table.add(format!("{name}: faults"), found.faults as f64, "", Some(0.0));
    }
    Ok(())
}

/// Six shapes of a shop's day.
fn parts() -> Result<Vec<Part>, LoopFault> {
    let polygon = |name: &str, corners: &[[f64; 2]], turns: bool| {
        let outline: Loop<PartSpace> =
            Loop::polygon(corners.iter().map(|[x, y]| Point::new(*x, *y)))?;
        let mut part = Part::new(name, Region::new(outline, Vec::new()));
        if !turns {
            let square = (0..4).map(|k| f64::from(k) * FRAC_PI_2);
            part.turning = Turning::Only(square.collect());
        }
        Ok(part)
    };
    let corner = |x, y, bulge| Vertex { point: Point::new(x, y), bulge };
    let quarter = std::f64::consts::FRAC_PI_8.tan();
    let lug = Loop::new([
        corner(10.0, 0.0, 0.0),
        corner(110.0, 0.0, quarter),
        corner(120.0, 10.0, 0.0),
        corner(90.0, 60.0, 0.6),
        corner(30.0, 60.0, 0.0),
        corner(0.0, 10.0, quarter),
    ])?;
    let bore = Loop::circle(Point::new(60.0, 40.0), 15.0)?;
    let washer = Region::new(
        Loop::circle(Point::origin(), 45.0)?,
        vec![Loop::circle(Point::origin(), 10.0)?],
    );
    let angle = [[0.0, 0.0], [120.0, 0.0], [120.0, 40.0], [40.0, 40.0], [40.0, 90.0], [0.0, 90.0]];
    let tee = [
        [0.0, 0.0],
        [120.0, 0.0],
        [120.0, 30.0],
        [80.0, 30.0],
        [80.0, 100.0],
        [40.0, 100.0],
        [40.0, 30.0],
        [0.0, 30.0],
    ];
    let hook = [
        [0.0, 0.0],
        [100.0, 0.0],
        [100.0, 100.0],
        [60.0, 100.0],
        [60.0, 40.0],
        [40.0, 40.0],
        [40.0, 70.0],
        [0.0, 70.0],
    ];
    Ok(vec![
        polygon("angle", &angle, true)?,
        polygon("gusset", &[[0.0, 0.0], [140.0, 0.0], [0.0, 80.0]], true)?,
        polygon("tee, square to the sheet", &tee, false)?,
        polygon("hook", &hook, true)?,
        Part::new("washer", washer),
        Part::new("lug", Region::new(lug, vec![bore])),
    ])
}
