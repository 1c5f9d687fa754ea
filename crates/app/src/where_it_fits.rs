//! Where what is in the hand fits at its angle, worked out on a thread of its own.

use std::sync::Arc;
use std::sync::mpsc::{Receiver, channel};

use geo::BooleanOps;

use oddment_core::fit::fit_region;
use oddment_core::job::Stop;
use oddment_core::plan::{Job, Placement};
use oddment_core::shape::{Loop, Point, Pose, Region, SheetSpace, Vector};
use oddment_core::sheet::{Body, Contour, EdgeFacts, Sheet};
use oddment_files::job_file::SourcedJob;

use crate::background::background;
use crate::open_job::{Copy, OpenJob, SheetSlot};
use crate::session::Wake;

/// How far (mm) the rim may err, always toward too small.
const BOUND: f64 = 0.2;

/// One of the parts that a region is worked out for.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Wanted {
    /// Which of the wanted parts.
    pub part: usize,
    /// Radians.
    pub turn: f64,
    /// Whether it lies with its other face up.
    pub flipped: bool,
    /// Its shift from the middle of the box round all that is moved.
    pub from_middle: Vector,
}

/// All places for the middle of the box round what is moved.
#[derive(Clone, Debug)]
pub struct WhereItFits {
    /// What it holds for.
    pub wanted: Vec<Wanted>,
    /// The places; none where it fits nowhere at this angle.
    pub regions: Vec<Region<SheetSpace>>,
}

/// The thread at work on the latest request. Dropping it stops the work.
#[derive(Debug)]
pub struct Working {
    /// What it works on.
    pub wanted: Vec<Wanted>,
    answer: Receiver<WhereItFits>,
    stop: Stop,
}

impl Working {
    /// Works out where parts that move together fit in a slot among all that lies there but `held`. `None` where the
    /// system gives no thread: then nothing is tinted.
    pub fn start(
        open: &OpenJob,
        slot: SheetSlot,
        held: &[Copy],
        wanted: Vec<Wanted>,
        wake: Wake,
    ) -> Option<Self> {
        let (send, answer) = channel();
        let (stop, sourced) = (Stop::default(), open.sourced.clone());
        let laid: Vec<Placement> = open
            .layout(slot)
            .into_iter()
            .flat_map(|l| l.placements.iter().copied())
            .filter(|p| !held.contains(&Copy::of(p)))
            .collect();
        let (stopped, asked) = (stop.clone(), wanted.clone());
        let work = move || {
            if let Some(regions) = work_out(&sourced, slot.stock, &laid, &wanted, &stopped) {
                // Nobody listening means that something newer is asked for.
                let _ = send.send(WhereItFits { wanted, regions });
                wake();
            }
        };
        background("where it fits", work).ok()?;
        Some(Self { wanted: asked, answer, stop })
    }

    /// The answer, once there is one.
    pub fn answer(&self) -> Option<WhereItFits> {
        self.answer.try_recv().ok()
    }
}

impl Drop for Working {
    fn drop(&mut self) {
        self.stop.raise();
    }
}

fn work_out(
    sourced: &Arc<SourcedJob>,
    stock: usize,
    laid: &[Placement],
    wanted: &[Wanted],
    stop: &Stop,
) -> Option<Vec<Region<SheetSpace>>> {
    let job = &sourced.job;
    let sheet = with_parts_cut_out(job, stock, laid);
    let mut common: Option<Vec<Region<SheetSpace>>> = None;
    for wanted in wanted {
        let part = &job.wanted.get(wanted.part)?.part;
        let turn = (wanted.turn, wanted.flipped);
        let shifts = fit_region(&sheet, part, turn, &job.clearances, BOUND, stop)?;
        let to_middle = Pose::<SheetSpace, SheetSpace>::shifted(-wanted.from_middle);
        let middles: Vec<_> = shifts.iter().map(|r| r.placed(&to_middle)).collect();
        common = Some(match common {
            None => middles,
            Some(before) => in_both(&before, &middles),
        });
        if common.as_ref().is_some_and(Vec::is_empty) {
            break;
        }
    }
    common
}

/// What lies in some region of both. The regions are polygons.
fn in_both(a: &[Region<SheetSpace>], b: &[Region<SheetSpace>]) -> Vec<Region<SheetSpace>> {
    let ring = |l: &Loop<SheetSpace>| {
        geo::LineString::from_iter(l.vertices().iter().map(|v| (v.point.x, v.point.y)))
    };
    let polygons = |regions: &[Region<SheetSpace>]| {
        geo::MultiPolygon::from_iter(
            regions
                .iter()
                .map(|r| geo::Polygon::new(ring(r.outer()), r.holes().iter().map(ring).collect())),
        )
    };
    let back = |ring: &geo::LineString<f64>| {
        // The last point is the first again.
        let open = &ring.0[..ring.0.len().saturating_sub(1)];
        Loop::polygon(open.iter().map(|c| Point::new(c.x, c.y))).ok()
    };
    let region = |p: &geo::Polygon<f64>| {
        let holes = p.interiors().iter().filter_map(back).collect();
        Some(Region::new(back(p.exterior())?, holes))
    };
    polygons(a).intersection(&polygons(b)).iter().filter_map(region).collect()
}

/// The sheet as if what is laid on it were old cut-outs (and islands where it has holes), whose
/// edges are so uncertain that the rule asks for just what it asks for between two parts.
pub(crate) fn with_parts_cut_out(job: &Job, stock: usize, laid: &[Placement]) -> Sheet {
    let mut sheet = job.stock[stock].sheet.clone();
    let as_between_parts = job.clearances.between_parts() - job.clearances.to_cutout(0.0);
    let facts = EdgeFacts { give_or_take: as_between_parts, ..EdgeFacts::default() };
    for placement in laid {
        let region: Region<SheetSpace> =
            job.wanted[placement.part].part.region.placed(&placement.pose);
        let contour = |l: &Loop<SheetSpace>| Contour::uniform(l.clone(), facts);
        if let Some(body) = sheet.bodies.first_mut() {
            body.cutouts.push(contour(region.outer()));
        }
        for hole in region.holes() {
            sheet.bodies.push(Body { outer: contour(hole), cutouts: Vec::new() });
        }
    }
    sheet
}

/// Whether any of the places is at `at`.
pub fn holds(regions: &[Region<SheetSpace>], at: Point<SheetSpace>) -> bool {
    regions.iter().any(|r| r.contains(at))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::room::{Room, outline};
    use crate::trial::{open, placement, rectangle, sheet_with_hole};

    #[test]
    fn places_agree_with_the_distances_measured() {
        let mut open = open(sheet_with_hole(), vec![(rectangle("plate", 100.0, 60.0), 3)]);
        for x in [100.0, 640.0] {
            let slot = open.slots()[0];
            open.lay(slot, placement(0, x, 250.0));
        }
        let slot = open.slots()[0];
        let laid = &open.plan.layouts[0].placements;
        let turned = Pose::new(Vector::default(), 0.5, false);
        let shape = [outline(open.job(), 0, &turned)];
        let middle = shape[0].bounds().centre();
        let from_middle = -middle.to_vector();
        let wanted = [Wanted { part: 0, turn: 0.5, flipped: false, from_middle }];
        let regions = work_out(&open.sourced, slot.stock, laid, &wanted, &Stop::default()).unwrap();
        let room = Room::new(open.job(), 0, open.layout(slot), |_| false);
        let (mut clear, mut barred) = (0, 0);
        for i in 0..50 {
            for j in 0..30 {
                let at = Point::new(10.0 + 20.0 * f64::from(i), 10.0 + 20.0 * f64::from(j));
                if holds(&regions, at) {
                    clear += 1;
                    assert!(room.is_clear(&shape, at - middle), "{at:?}");
                } else if !room.is_clear(&shape, at - middle) {
                    barred += 1;
                } else {
                    // Only what lies near the rim may be missed.
                    let near = Vector::new(0.4, 0.0);
                    let around = [near, near.left(), -near, -near.left()];
                    assert!(
                        around.iter().any(|v| !room.is_clear(&shape, at - middle + *v)),
                        "{at:?} was missed"
                    );
                }
            }
        }
        assert!(clear > 200 && barred > 200, "{clear} {barred}");
    }

    #[test]
    fn a_group_fits_where_each_of_it_does() {
        let open = open(sheet_with_hole(), vec![(rectangle("plate", 100.0, 60.0), 2)]);
        let slot = open.slots()[0];
        // Two plates beside each other with 20 between: 220 × 60 about their middle.
        let plate = |x: f64| Wanted {
            part: 0,
            turn: 0.0,
            flipped: false,
            from_middle: Vector::new(x, -30.0),
        };
        let wanted = [plate(-110.0), plate(10.0)];
        let regions = work_out(&open.sourced, slot.stock, &[], &wanted, &Stop::default()).unwrap();
        // 5.5 from the edges of 1000 × 600.
        let at = |x: f64, y: f64| holds(&regions, Point::new(x, y));
        assert!(at(116.0, 36.0) && !at(115.0, 36.0) && !at(116.0, 35.0));
        assert!(at(884.0, 564.0) && !at(885.0, 564.0));
        // The hole of 40 about (500, 300) goes neither under a plate nor between the two.
        assert!(!at(500.0, 300.0) && !at(440.0, 300.0) && at(300.0, 300.0));
    }
}
