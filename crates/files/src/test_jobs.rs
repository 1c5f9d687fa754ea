//! A small job that the tests of this crate share.

use oddment_core::distances::{Clearances, EdgeDistance};
use oddment_core::part::{Mark, MarkKind, Part};
use oddment_core::plan::{Count, Layout, Placement, Plan, Stock, Wanted};
use oddment_core::shape::{Edge, Loop, Point, Pose, Region, Space, Vector, Vertex};
use oddment_core::sheet::{EdgeFacts, Metal, Sheet};

use crate::job_file::{Origin, SourcedJob, sheet_rectangle};

/// Kerf 0.3, web 2, edge 5 mm.
pub(crate) const CLEARANCES: Clearances = Clearances {
    kerf: 0.3,
    web: 2.0,
    edge: EdgeDistance::all(5.0),
    sensing: 2.0,
    lay: 0.0,
    common: false,
};

pub(crate) fn rectangle<S: Space>(x: f64, y: f64, w: f64, h: f64) -> Loop<S> {
    Loop::rectangle(Point::new(x, y), Point::new(x + w, y + h)).unwrap()
}

pub(crate) fn placement(part: usize, copy: usize, x: f64, y: f64, degrees: f64) -> Placement {
    let pose = Pose::new(Vector::new(x, y), f64::to_radians(degrees), false);
    Placement { part, copy, pose, locked: false }
}

/// Three brackets with a rounded end and a round hole are wanted; there are two rectangular sheets
/// with room for many.
pub(crate) fn bracket_job() -> SourcedJob {
    let mut job = SourcedJob::new(CLEARANCES);
    let (sheet, origin) = sheet_rectangle("600x400", 600.0, 400.0).unwrap();
    job.add_sheet(Stock { sheet, count: 2 }, origin);
    let wanted = Wanted { part: bracket(), count: Count::Exactly(3) };
    job.add_part(wanted, Origin::Outline);
    job
}

/// 120 × 60 mm, with a half circle added to its right end and a hole in its middle.
pub(crate) fn bracket() -> Part {
    let outline = [(0.0, 0.0, 0.0), (120.0, 0.0, 1.0), (120.0, 60.0, 0.0), (0.0, 60.0, 0.0)]
        .map(|(x, y, bulge)| Vertex { point: Point::new(x, y), bulge });
    let hole = Loop::circle(Point::new(120.0, 30.0), 11.0).unwrap();
    Part::new("bracket", Region::new(Loop::new(outline).unwrap(), vec![hole]))
}

/// Two brackets on the first sheet.
pub(crate) fn two_brackets() -> Plan {
    let placements = vec![placement(0, 1, 10.0, 10.0, 0.0), placement(0, 2, 300.0, 100.0, 33.3)];
    Plan { layouts: vec![Layout { stock: 0, placements }] }
}

/// A steel sheet whose datum corner lies at 5000, 300, with a round and a square cut-out, and as
/// many 20 × 10 mm strips on it as asked for, each bent and engraved.
pub(crate) fn strips(count: usize) -> (SourcedJob, Plan) {
    let mut job = SourcedJob::new(CLEARANCES);
    let round = Loop::circle(Point::new(5900.0, 800.0), 15.0).unwrap();
    let square = rectangle(5700.0, 1100.0, 60.0, 60.0);
    let metal = Region::new(rectangle(5000.0, 300.0, 1000.0, 1000.0), vec![round, square]);
    let mut sheet = Sheet::new("R-7", &[metal], EdgeFacts::default());
    sheet.made_of = Some(Metal { material: "S235".into(), thickness: 3.0, density: 7850.0 });
    job.add_sheet(Stock { sheet, count: 1 }, Origin::Outline);
    let mut part = Part::new("strip", Region::new(rectangle(0.0, 0.0, 20.0, 10.0), vec![]));
    let bend = Edge::new(Point::new(10.0, 1.0), Point::new(10.0, 9.0), 0.0);
    let arc = Edge::new(Point::new(3.0, 5.0), Point::new(7.0, 5.0), 1.0);
    part.marks.push(Mark { kind: MarkKind::Bend, edges: vec![bend] });
    part.marks.push(Mark { kind: MarkKind::Engrave, edges: vec![arc] });
    job.add_part(Wanted { part, count: Count::Max }, Origin::Outline);
    let placements = (0..count)
        .map(|i| {
            let (column, row) = ((i % 20) as f64, (i / 20) as f64);
            placement(0, i + 1, 5010.0 + 30.0 * column, 310.0 + 20.0 * row, 0.0)
        })
        .collect();
    (job, Plan { layouts: vec![Layout { stock: 0, placements }] })
}
