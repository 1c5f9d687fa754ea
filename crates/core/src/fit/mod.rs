//! Where one part fits on a sheet: an answer, not a search.

mod bulk;
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

use rayon::prelude::*;

use crate::check::{Measure, check};
use crate::distances::Clearances;
use crate::job::Budget;
use crate::packer::guess;
use crate::part::{Part, Turning};
use crate::plan::{Count, Job, Layout, Placement, Plan, Stock, Wanted};
use crate::shape::{PartSpace, Point, Pose, SheetSpace};
use crate::sheet::Sheet;

pub use bulk::Bulk;
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
/// have, told to `resolution` mm.
pub fn fit(
    sheet: &Sheet,
    part: &Part,
    clearances: &Clearances,
    resolution: f64,
    budget: &Budget<'_>,
) -> Answer {
    fit_telling(sheet, part, clearances, resolution, budget, &mut |_, _| {})
}

/// The same; `better` hears of every pose that has more to spare (mm, less than 0 where it is short)
/// than those before.
pub fn fit_telling(
    sheet: &Sheet,
    part: &Part,
    clearances: &Clearances,
    resolution: f64,
    budget: &Budget<'_>,
    better: &mut Better<'_>,
) -> Answer {
    let until = (resolution, f64::INFINITY);
    answer(sheet, part, &probes(part), clearances, until, budget, better)
}

/// Who hears of better poses while a place is looked for.
type Better<'a> = dyn FnMut(f64, Pose<PartSpace, SheetSpace>) + 'a;

/// Which of many sheets have room for one of `part`: an answer for each, in their order, with the
/// first pose found rather than the one with most to spare. The steps
/// of `budget` count for each sheet alone, so that no sheet's answer depends on the others.
pub fn room_on(
    sheets: &[&Sheet],
    part: &Part,
    clearances: &Clearances,
    resolution: f64,
    budget: &Budget<'_>,
) -> Vec<Answer> {
    let probes = probes(part);
    sheets
        .par_iter()
        .map(|sheet| {
            answer(sheet, part, &probes, clearances, (resolution, 0.0), budget, &mut |_, _| {})
        })
        .collect()
}

/// Each face that may lie up.
fn probes(part: &Part) -> Vec<(bool, Probe)> {
    let flips: &[bool] = if part.flip { &[false, true] } else { &[false] };
    flips.iter().map(|flipped| (*flipped, Probe::new(part, *flipped))).collect()
}

/// The answer for one sheet; a pose found is made better until `enough` mm are to spare.
fn answer(
    sheet: &Sheet,
    part: &Part,
    probes: &[(bool, Probe)],
    clearances: &Clearances,
    (resolution, enough): (f64, f64),
    budget: &Budget<'_>,
    better: &mut Better<'_>,
) -> Answer {
    let resolution = if resolution > 0.0 { resolution } else { RESOLUTION };
    let mut answer = Answer {
        verdict: Verdict::CannotFit,
        pose: None,
        tightest: None,
        uncertain: 0.0,
        resolution,
        steps: 0,
    };
    if is_too_large(sheet, part, resolution) {
        return answer;
    }
    let job = Job {
        stock: vec![Stock { sheet: sheet.clone(), count: 1 }],
        wanted: vec![Wanted { part: part.clone(), count: Count::Exactly(1) }],
        clearances: *clearances,
        starts: None,
    };
    // Most sheets with room show it at a glance, where any place will do.
    if enough == 0.0
        && let Some(pose) = guess(sheet, part, clearances)
    {
        let checked = check(&job, alone(pose));
        if checked.is_clear() {
            answer.verdict = Verdict::Fits;
            answer.pose = Some(pose);
            answer.tightest = checked.report().tightest.clone();
            let edge = answer.tightest.as_ref();
            answer.uncertain = edge.map_or(0.0, |m| give_or_take(sheet, m.gap.to));
            return answer;
        }
    }
    let faces: Vec<Face<'_>> = probes
        .iter()
        .map(|(flipped, probe)| Face { probe, turns: turns(part, sheet, *flipped, probe) })
        .collect();
    let field = Field::new(sheet, clearances);
    let mut best: Option<(f64, Pose<PartSpace, SheetSpace>)> = None;
    let mut accept = |face: usize, spot: Spot| {
        if best.is_some_and(|(spare, _)| spot.spare <= spare) {
            return false;
        }
        let pose = faces[face].probe.pose(spot.at, spot.turn);
        best = Some((spot.spare, pose));
        better(spot.spare, pose);
        spot.spare >= PROMISING && check(&job, alone(pose)).is_clear()
    };
    let (end, steps) = search(&faces, &field, (resolution, enough), budget, &mut accept);
    answer.verdict = match end {
        End::Found => Verdict::Fits,
        End::Nowhere => Verdict::CannotFit,
        End::GivenUp => Verdict::Undecided,
    };
    answer.steps = steps;
    answer.pose = best.map(|(_, pose)| pose);
    answer.tightest =
        answer.pose.and_then(|pose| check(&job, alone(pose)).report().tightest.clone());
    answer.uncertain = answer.tightest.as_ref().map_or(0.0, |m| give_or_take(sheet, m.gap.to));
    answer
}

/// Whether no piece of metal has as much area as the part. Metal that reaches a resolution farther
/// all round gains no more than its perimeter times that, and the corners.
fn is_too_large(sheet: &Sheet, part: &Part, resolution: f64) -> bool {
    let wanted = part.region.area();
    sheet.bodies.iter().all(|body| {
        let outline = body.outer.shape();
        let gained = 2.0 * resolution * (outline.perimeter() + 10.0 * resolution);
        wanted > outline.area() + gained
    })
}

/// The turns that a face may have: the middle and half of each range.
fn turns(part: &Part, sheet: &Sheet, flipped: bool, probe: &Probe) -> Vec<(f64, f64)> {
    match part.turns(sheet.grain, flipped) {
        Turning::Free if probe.is_round() => vec![(0.0, 0.0)],
        Turning::Free => vec![(0.0, PI)],
        Turning::Only(angles) => angles.into_iter().map(|a| (a, 0.0)).collect(),
    }
}

/// The plan of one part.
fn alone(pose: Pose<PartSpace, SheetSpace>) -> Plan {
    let placement = Placement { part: 0, copy: 1, pose, locked: false };
    Plan { layouts: vec![Layout { stock: 0, placements: vec![placement] }] }
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
