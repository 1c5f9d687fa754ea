//! Small jobs for the tests of this crate.

use std::sync::Arc;

use oddment_core::distances::{Clearances, EdgeDistance};
use oddment_core::part::Part;
use oddment_core::plan::{Count, Job, Placement, Plan, Stock, Wanted};
use oddment_core::shape::{Loop, PartSpace, Point, Pose, Region, SheetSpace, Vector};
use oddment_core::sheet::{EdgeFacts, Sheet};

use oddment_files::job_file::{Origin, SourcedJob};

use crate::open_job::OpenJob;

pub(crate) fn clearances() -> Clearances {
    Clearances {
        kerf: 0.5,
        web: 3.0,
        edge: EdgeDistance::all(5.0),
        sensing: 3.0,
        lay: 0.0,
        common: false,
    }
}

/// 1000 × 600 with a round hole of 80 about (500, 300).
pub(crate) fn sheet_with_hole() -> Sheet {
    let outer = Loop::rectangle(Point::origin(), Point::new(1000.0, 600.0)).unwrap();
    let hole = Loop::circle(Point::new(500.0, 300.0), 40.0).unwrap();
    Sheet::new("R-1", &[Region::new(outer, vec![hole])], EdgeFacts::default())
}

pub(crate) fn rectangle(name: &str, width: f64, height: f64) -> Part {
    let outer = Loop::rectangle(Point::origin(), Point::new(width, height)).unwrap();
    Part::new(name, Region::new(outer, Vec::new()))
}

pub(crate) fn job(sheet: Sheet, parts: Vec<(Part, usize)>) -> Job {
    Job {
        stock: vec![Stock { sheet, count: 1 }],
        wanted: parts
            .into_iter()
            .map(|(part, n)| Wanted { part, count: Count::Exactly(n) })
            .collect(),
        clearances: clearances(),
        starts: None,
    }
}

pub(crate) fn open(sheet: Sheet, parts: Vec<(Part, usize)>) -> OpenJob {
    let job = job(sheet, parts);
    let mut sourced = SourcedJob::new(job.clearances);
    job.stock.into_iter().for_each(|s| sourced.add_sheet(s, Origin::Outline));
    job.wanted.into_iter().for_each(|w| sourced.add_part(w, Origin::Outline));
    OpenJob { title: "trial".into(), sourced: Arc::new(sourced), plan: Plan::default() }
}

pub(crate) fn place(x: f64, y: f64, turn: f64) -> Pose<PartSpace, SheetSpace> {
    Pose::new(Vector::new(x, y), turn, false)
}

pub(crate) fn placement(part: usize, x: f64, y: f64) -> Placement {
    Placement { part, copy: 0, pose: place(x, y, 0.0), locked: false }
}
