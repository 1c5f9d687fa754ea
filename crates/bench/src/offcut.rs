//! An order among old cut-outs: how soon all of it is placed, and what is left over.

use oddment_core::distances::Clearances;
use oddment_core::leftover::largest_rectangle;
use oddment_core::part::Part;
use oddment_core::plan::{Count, Job, Stock, Wanted};
use oddment_core::shape::{Loop, LoopFault, PartSpace, Point, Region, SheetSpace, Vertex};
use oddment_core::sheet::{EdgeFacts, Sheet};

use crate::report::Table;
use crate::timed::packed;

/// 40 parts of 8 shapes on a sheet with 60 cut-outs.
pub(crate) fn run() -> Table {
    let mut table = Table::new();
    match job() {
        Ok((job, metal)) => {
            for seconds in [1.0, 10.0] {
                let found = packed(&job, seconds, 1);
                let complete = found.complete.unwrap_or(f64::NAN) * 1e3;
                table.add("first complete plan", complete, "ms", Some(300.0));
                table.add(format!("faults at {seconds} s"), found.faults as f64, "", Some(0.0));
                let laid = found
                    .plan
                    .placements()
                    .map(|p| job.wanted[p.part].part.region.outer().placed(&p.pose));
                let holes = metal.holes().iter().cloned().chain(laid).collect();
                let left = Region::new(metal.outer().clone(), holes);
                if let Some(left) = largest_rectangle(&left) {
                    let size = left.width() * left.height() / 1e6;
                    table.add(format!("largest rectangle left at {seconds} s"), size, "m²", None);
                }
                table.add(
                    format!("time over {seconds} s"),
                    found.seconds - seconds,
                    "s",
                    Some(0.1),
                );
            }
        }
        Err(fault) => eprintln!("error: {fault}"),
    }
    table
}

/// The job, and the sheet's metal.
fn job() -> Result<(Job, Region<SheetSpace>), LoopFault> {
    let mut random = fastrand::Rng::with_seed(11);
    let outline: Loop<SheetSpace> = Loop::rectangle(Point::origin(), Point::new(1500.0, 1000.0))?;
    let holes: Result<Vec<_>, _> = (0..60)
        .map(|i| {
            let x = 100.0 + f64::from(i % 10) * 140.0 + 30.0 * random.f64();
            let y = 80.0 + f64::from(i / 10) * 140.0 + 30.0 * random.f64();
            Loop::circle(Point::new(x, y), 10.0 + 20.0 * random.f64())
        })
        .collect();
    let metal = Region::new(outline, holes?);
    let sheet = Sheet::new("offcut", std::slice::from_ref(&metal), EdgeFacts::default());
    let corner = |x, y, bulge| Vertex { point: Point::new(x, y), bulge };
    let wanted: Result<Vec<_>, _> = (0..8)
        .map(|i| {
            let (w, h) = (40.0 + 80.0 * random.f64(), 40.0 + 100.0 * random.f64());
            let outline: Loop<PartSpace> = Loop::new([
                corner(0.0, 0.0, 0.0),
                corner(w, 0.0, 0.0),
                corner(w, h * 0.4, 0.2),
                corner(w * 0.3, h, 0.0),
                corner(0.0, h, -0.2),
            ])?;
            let part = Part::new(format!("plate {i}"), Region::new(outline, Vec::new()));
            Ok(Wanted { part, count: Count::Exactly(5) })
        })
        .collect();
    Ok((
        Job {
            stock: vec![Stock { sheet, count: 1 }],
            wanted: wanted?,
            clearances: Clearances::STARTING,
            starts: None,
        },
        metal,
    ))
}
