//! Shift and turn by least squares.
//!
//! Gauss–Newton on (shift, turn about the middle of what was measured), every measurement weighed by
//! its variance. From four quarter turns, so that it does not matter how the sheet lies; of equally
//! good ends the one that turns the sheet least.

use std::f64::consts::FRAC_PI_2;

use super::Feature;
use super::lay::Lay;
use super::statistics::{Matrix, inverse, times};
use crate::shape::{BedSpace, Point, Pose, SheetSpace, Vector};

/// No measurement is surer than this, mm.
const SUREST: f64 = 0.05;
/// Steps shorter than this (mm) end the search.
const STILL: f64 = 1e-9;
const MOST_STEPS: usize = 60;
/// A place is this far (mm) off the end of its edge before that counts against a fit.
const BEYOND: f64 = 3.0;

/// A feature of the sheet, and where it is on the bed.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Measured {
    /// What the dot hit.
    pub feature: Feature,
    /// Where the dot was, in the bed's coordinates.
    pub at: Point<BedSpace>,
    /// How far (mm) the measurement may be off.
    pub give_or_take: f64,
}

impl Measured {
    /// Standard deviation (mm) of the measurement and of the record together.
    pub(super) fn deviation(&self) -> f64 {
        (self.give_or_take.hypot(self.feature.give_or_take) / 2.0).max(SUREST)
    }
}

/// How far one measurement lies from where the fit has its feature.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Residual {
    /// From the fitted place to the measured one, on the bed; for an edge across it.
    pub off: Vector,
    /// As much (mm) is to be expected in 99 of 100 cases.
    pub expected: f64,
}

/// What is not fixed by the measurements.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Missing {
    /// Nothing or hardly anything was measured.
    Points,
    /// A place on an edge that runs the other way, or a corner.
    OtherWay,
    /// A place far from the others: how the sheet is turned is not known.
    Turn,
}

/// How a sheet lies by its measurements.
#[derive(Clone, Debug, PartialEq)]
pub struct Fit {
    /// Where the sheet lies on the bed.
    pub pose: Pose<SheetSpace, BedSpace>,
    /// How far it may be off.
    pub lay: Lay,
    /// Of each measurement.
    pub residuals: Vec<Residual>,
    /// Sum of squared residuals, each over its variance.
    pub misfit: f64,
    /// How many more numbers were measured than are needed.
    pub spare: usize,
}

/// Fits the pose of a sheet with its usual face up.
///
/// # Errors
/// [`Missing`] where the measurements leave something open.
pub fn fit(measured: &[Measured]) -> Result<Fit, Missing> {
    if measured.iter().any(|m| !m.at.is_finite()) {
        return Err(Missing::Points);
    }
    let mut best: Option<(f64, Fit)> = None;
    let mut missing = Missing::Points;
    for quarter in [0.0, 1.0, -1.0, 2.0] {
        let turn = quarter * FRAC_PI_2;
        let start = Pose::new(Vector::default(), turn, false);
        match from(measured, &centred(measured, &start)) {
            Ok(fit) => {
                let cost = fit.misfit + beyond(measured, &fit.pose);
                // As good, but for rounding: the first start turns the sheet least.
                if best.as_ref().is_none_or(|(least, _)| cost < least - 1e-6) {
                    best = Some((cost, fit));
                }
            }
            Err(what) => missing = what,
        }
    }
    best.map(|(_, fit)| fit).ok_or(missing)
}

/// The pose shifted so that the middles of what is recorded and of what was measured meet.
fn centred(measured: &[Measured], pose: &Pose<SheetSpace, BedSpace>) -> Pose<SheetSpace, BedSpace> {
    let off = measured.iter().map(|m| m.at - pose.apply(m.feature.at()));
    let mean = off.fold(Vector::default(), |a, b| a + b) * (1.0 / measured.len().max(1) as f64);
    Pose::new(pose.shift + mean, pose.turn, pose.flipped)
}

/// What counts against a fit that has places beside the ends of their edges.
fn beyond(measured: &[Measured], pose: &Pose<SheetSpace, BedSpace>) -> f64 {
    let back = pose.inverse();
    let past = measured.iter().filter(|m| !m.feature.is_point()).map(|m| {
        let on_sheet = back.apply(m.at);
        let foot = m.feature.nearest(on_sheet);
        (m.feature.distance(foot) - BEYOND).max(0.0) / m.deviation()
    });
    past.map(|p| p * p).sum()
}

/// The fit reached from a start; flipped where the start is.
pub(super) fn from(
    measured: &[Measured],
    start: &Pose<SheetSpace, BedSpace>,
) -> Result<Fit, Missing> {
    let count: usize = measured.iter().map(|m| if m.feature.is_point() { 2 } else { 1 }).sum();
    if count < 3 {
        return Err(if count == 0 { Missing::Points } else { Missing::Turn });
    }
    let about = measured.iter().fold(Vector::default(), |a, m| a + m.at.to_vector())
        * (1.0 / measured.len() as f64);
    let about = Point::<BedSpace>::origin() + about;
    // Turns are reckoned as the millimetres they move a point so far out.
    let spread = measured.iter().map(|m| (m.at - about).length_squared()).sum::<f64>();
    let arm = (spread / measured.len() as f64).sqrt().max(1.0);
    let mut pose = *start;
    let mut solved = rows(measured, &pose, about, arm);
    for _ in 0..MOST_STEPS {
        let covariance = inverse(&solved.normal).map_err(missing)?;
        let [u, v, turned] = times(&covariance, solved.right);
        let (turn, shift) = (turned / arm, Vector::new(u, v));
        if !turn.is_finite() || !shift.is_finite() {
            return Err(Missing::Points);
        }
        let step = Pose::<BedSpace, BedSpace>::new(Vector::default(), turn, false);
        let moved = about + step.apply_vector(Point::<BedSpace>::origin() + pose.shift - about);
        pose = Pose::new((moved + shift).to_vector(), pose.turn + turn, pose.flipped);
        solved = rows(measured, &pose, about, arm);
        if shift.length() + turned.abs() < STILL {
            break;
        }
    }
    let covariance = inverse(&solved.normal).map_err(missing)?;
    let spare = count - 3;
    // Never surer than what was measured says of itself.
    let grown = if spare > 0 { (solved.misfit / spare as f64).max(1.0) } else { 1.0 };
    let covariance = on_sheet(&covariance, &pose).map(|row| row.map(|value| value * grown));
    let lay = Lay::new(pose.inverse().apply(about), covariance, arm);
    let turn = pose.turn.sin().atan2(pose.turn.cos());
    Ok(Fit {
        pose: Pose::new(pose.shift, turn, pose.flipped),
        lay,
        residuals: solved.residuals,
        misfit: solved.misfit,
        spare,
    })
}

fn missing(unknown: usize) -> Missing {
    if unknown == 2 { Missing::Turn } else { Missing::OtherWay }
}

/// The covariance of a motion along the bed's axes as one along the sheet's.
fn on_sheet(covariance: &Matrix, pose: &Pose<SheetSpace, BedSpace>) -> Matrix {
    let back = Pose::<BedSpace, SheetSpace>::new(Vector::default(), -pose.turn, false);
    let (x, y) =
        (back.apply_vector(Vector::new(1.0, 0.0)), back.apply_vector(Vector::new(0.0, 1.0)));
    let turn = [[x.x, y.x, 0.0], [x.y, y.y, 0.0], [0.0, 0.0, 1.0]];
    let mut carried = [[0.0; 3]; 3];
    for i in 0..3 {
        for j in 0..3 {
            carried[i][j] = (0..3)
                .flat_map(|k| (0..3).map(move |l| (k, l)))
                .map(|(k, l)| turn[i][k] * covariance[k][l] * turn[j][l])
                .sum();
        }
    }
    carried
}

/// How far one measurement lies from where the sheet lies so.
pub(super) fn residual(measured: &Measured, pose: &Pose<SheetSpace, BedSpace>) -> Residual {
    rows(&[*measured], pose, measured.at, 1.0).residuals.remove(0)
}

struct Solved {
    normal: Matrix,
    right: [f64; 3],
    misfit: f64,
    residuals: Vec<Residual>,
}

/// The normal equations of a small motion from `pose`.
fn rows(
    measured: &[Measured],
    pose: &Pose<SheetSpace, BedSpace>,
    about: Point<BedSpace>,
    arm: f64,
) -> Solved {
    /// Of one and of two normal numbers: 99 of 100.
    const EXPECTED: [f64; 2] = [2.576, 3.035];
    let back = pose.inverse();
    let mut solved =
        Solved { normal: [[0.0; 3]; 3], right: [0.0; 3], misfit: 0.0, residuals: Vec::new() };
    for m in measured {
        let on_sheet = back.apply(m.at);
        let foot = m.feature.nearest(on_sheet);
        let at = pose.apply(foot);
        let off = m.at - at;
        let ways: &[Vector] = match m.feature.what {
            super::What::Along(edge) => {
                let share = edge.share_at(foot);
                &[pose.apply_vector(edge.direction(share)).left()]
            }
            _ => &[Vector::new(1.0, 0.0), Vector::new(0.0, 1.0)],
        };
        let deviation = m.deviation();
        let weight = 1.0 / (deviation * deviation);
        let mut left_over = Vector::default();
        for way in ways {
            let error = way.dot(off);
            let row = [way.x, way.y, way.dot((at - about).left()) / arm];
            for i in 0..3 {
                for j in 0..3 {
                    solved.normal[i][j] += weight * row[i] * row[j];
                }
                solved.right[i] += weight * row[i] * error;
            }
            solved.misfit += weight * error * error;
            left_over += *way * error;
        }
        let expected = deviation * EXPECTED[ways.len() - 1];
        solved.residuals.push(Residual { off: left_over, expected });
    }
    solved
}
