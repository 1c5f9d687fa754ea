//! Where one part fits on a sheet: an answer, not a search.

mod climb;
mod field;
mod laid;
mod lp;
mod probe;
mod region;
mod search;
#[cfg(test)]
mod tests;
mod tree;

use std::f64::consts::PI;

use crate::check::{Measure, check};
use crate::distances::{Clearances, obstacles};
use crate::job::Budget;
use crate::part::{Part, Turning};
use crate::plan::{Count, Job, Layout, Placement, Plan, Stock, Wanted};
use crate::shape::{PartSpace, Point, Pose, SheetSpace};
use crate::sheet::Sheet;

pub use region::fit_region;

use climb::Spot;
use field::Field;
use probe::Probe;
use search::{End, Face, search};

/// Default resolution, mm: shortfalls of less are not told from fits.
pub const RESOLUTION: f64 = 0.002;

/// Poses whose least spare is over this (mm) are shown to the check, which forgives as much.
const PROMISING: f64 = -crate::check::RESOLUTION;

/// Whether there is a place.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Verdict {
    /// The check passes the pose found.
    Fits,
    /// Proven: no pose that is allowed has room, even with all clearances less by the resolution.
    CannotFit,
    /// Given up, or so near that the resolution cannot tell.
    Undecided,
}

/// The answer to where one part fits on a sheet.
#[derive(Clone, Debug)]
pub struct Answer {
    /// Whether there is a place.
    pub verdict: Verdict,
    /// The best pose found; one that the check passes where it fits.
    pub pose: Option<Pose<PartSpace, SheetSpace>>,
    /// The tightest distance there.
    pub tightest: Option<Measure>,
    /// How far (mm) the edge of that distance may really lie from where it is recorded: so much of
    /// a shortfall is only give or take.
    pub uncertain: f64,
    /// What the answer is sure to, mm.
    pub resolution: f64,
    /// Boxes of poses looked at.
    pub steps: u64,
}

impl Answer {
    /// By how much (mm) clearances would have to shrink at the best pose found; 0 where it fits.
    pub fn shortfall(&self) -> Option<f64> {
        match self.verdict {
            Verdict::Fits => Some(0.0),
            _ => self.tightest.as_ref().map(|m| (-m.spare()).max(0.0)),
        }
    }
}

/// Whether and where one of `part` fits on an empty `sheet`, at any turn and on any face it may
/// have.
pub fn fit(
    sheet: &Sheet,
    part: &Part,
    clearances: &Clearances,
    resolution: f64,
    budget: &Budget<'_>,
) -> Answer {
    let faces = faces(part, sheet.grain);
    let field = Field::new(&obstacles(sheet, clearances), sheet.bounds());
    let job = Job {
        stock: vec![Stock { sheet: sheet.clone(), count: 1 }],
        wanted: vec![Wanted { part: part.clone(), count: Count::Exactly(1) }],
        clearances: *clearances,
    };
    let mut best: Option<(f64, Pose<PartSpace, SheetSpace>)> = None;
    let mut accept = |face: usize, spot: Spot| {
        if best.is_some_and(|(spare, _)| spot.spare <= spare) {
            return false;
        }
        let pose = faces[face].probe.pose(spot.at, spot.turn);
        best = Some((spot.spare, pose));
        spot.spare >= PROMISING && check(&job, alone(pose)).is_clear()
    };
    let (end, steps) = search(&faces, &field, resolution, budget, &mut accept);
    let pose = best.map(|(_, pose)| pose);
    let tightest = pose.and_then(|pose| check(&job, alone(pose)).report().tightest.clone());
    Answer {
        verdict: match end {
            End::Found => Verdict::Fits,
            End::Nowhere => Verdict::CannotFit,
            End::GivenUp => Verdict::Undecided,
        },
        pose,
        uncertain: tightest.as_ref().map_or(0.0, |m| give_or_take(sheet, m.gap.to)),
        tightest,
        resolution,
        steps,
    }
}

/// The plan of one part.
fn alone(pose: Pose<PartSpace, SheetSpace>) -> Plan {
    let placement = Placement { part: 0, copy: 1, pose, locked: false };
    Plan { layouts: vec![Layout { stock: 0, placements: vec![placement] }] }
}

/// The faces that may lie up, with their turns.
fn faces(part: &Part, grain: Option<f64>) -> Vec<Face> {
    let sides = if part.flip { vec![false, true] } else { vec![false] };
    sides
        .into_iter()
        .map(|flipped| {
            let probe = Probe::new(part, flipped);
            let turns = match part.turns(grain, flipped) {
                Turning::Free if probe.is_round() => vec![(0.0, 0.0)],
                Turning::Free => vec![(0.0, PI)],
                Turning::Only(angles) => angles.into_iter().map(|a| (a, 0.0)).collect(),
            };
            Face { probe, turns }
        })
        .collect()
}

/// The give or take (mm) of the sheet's edge that is nearest to `point`.
fn give_or_take(sheet: &Sheet, point: Point<SheetSpace>) -> f64 {
    let contours = sheet.bodies.iter().flat_map(|b| std::iter::once(&b.outer).chain(&b.cutouts));
    contours
        .flat_map(|c| c.shape().edges().zip(c.facts()))
        .map(|(edge, facts)| (edge.nearest(point).distance(point), facts.give_or_take))
        .min_by(|a, b| a.0.total_cmp(&b.0))
        .map_or(0.0, |(_, give_or_take)| give_or_take)
}
