//! Where the part in the hand fits at its angle, worked out on a thread of its own.

use std::sync::Arc;
use std::sync::mpsc::{Receiver, channel};

use oddment_core::fit::fit_region;
use oddment_core::job::Stop;
use oddment_core::plan::{Job, Placement};
use oddment_core::shape::{Loop, Point, Pose, Region, SheetSpace, Vector};
use oddment_core::sheet::{Body, Contour, EdgeFacts, Sheet};
use oddment_files::job_file::SourcedJob;

use crate::open_job::{Copy, OpenJob, SheetSlot};
use crate::session::Wake;

/// How far (mm) the rim may err, always toward too small.
const BOUND: f64 = 0.2;

/// What a region is worked out for.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Wanted {
    /// Which of the wanted parts.
    pub part: usize,
    /// Radians.
    pub turn: f64,
    /// Whether it lies with its other face up.
    pub flipped: bool,
}

/// All places for the middle of a part's box.
#[derive(Clone, Debug)]
pub struct WhereItFits {
    /// What it holds for.
    pub wanted: Wanted,
    /// The places; none where the part fits nowhere at this angle.
    pub regions: Vec<Region<SheetSpace>>,
}

/// The thread at work on the latest request. Dropping it stops the work.
#[derive(Debug)]
pub struct Working {
    /// What it works on.
    pub wanted: Wanted,
    answer: Receiver<WhereItFits>,
    stop: Stop,
}

impl Working {
    /// Works out where a part fits in a slot among all that lies there but `held`. `None` where the
    /// system gives no thread: then nothing is tinted.
    pub fn start(
        open: &OpenJob,
        slot: SheetSlot,
        held: &[Copy],
        wanted: Wanted,
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
        let stopped = stop.clone();
        let work = move || {
            if let Some(regions) = work_out(&sourced, slot.stock, &laid, wanted, &stopped) {
                // Nobody listening means that something newer is asked for.
                let _ = send.send(WhereItFits { wanted, regions });
                wake();
            }
        };
        std::thread::Builder::new().name("where it fits".into()).spawn(work).ok()?;
        Some(Self { wanted, answer, stop })
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
    wanted: Wanted,
    stop: &Stop,
) -> Option<Vec<Region<SheetSpace>>> {
    let job = &sourced.job;
    let part = &job.wanted.get(wanted.part)?.part;
    let sheet = with_parts_cut_out(job, stock, laid);
    let turn = (wanted.turn, wanted.flipped);
    let shifts = fit_region(&sheet, part, turn, &job.clearances, BOUND, stop)?;
    let turned: Pose<_, SheetSpace> = Pose::new(Vector::default(), wanted.turn, wanted.flipped);
    let middle = part.region.placed(&turned).bounds().centre().to_vector();
    let to_middle = Pose::<SheetSpace, SheetSpace>::shifted(middle);
    Some(shifts.iter().map(|r| r.placed(&to_middle)).collect())
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
        let wanted = Wanted { part: 0, turn: 0.5, flipped: false };
        let regions = work_out(&open.sourced, slot.stock, laid, wanted, &Stop::default()).unwrap();
        let room = Room::new(open.job(), 0, open.layout(slot), |_| false);
        let turned = Pose::new(Vector::default(), 0.5, false);
        let shape = [outline(open.job(), 0, &turned)];
        let middle = shape[0].bounds().centre();
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
}
