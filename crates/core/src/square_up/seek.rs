//! Other ways in which what was measured may lie on a sheet: every pair of its features that is as far
//! apart as two of the measurements, and the turns and mirrors of the way it was taken to lie.

use std::f64::consts::FRAC_PI_2;

use super::Feature;
use super::fit::{Fit, Measured, from};
use super::statistics::limit_999;
use crate::shape::{BedSpace, Bounds, Point, Pose, SheetSpace, Vector};

/// Two lengths agree when they differ by no more than this many standard deviations, and a bit (mm).
const DEVIATIONS: f64 = 4.0;
const A_BIT: f64 = 1.0;
/// Times that each measurement is given the feature nearest to it.
const ROUNDS: usize = 4;
/// Poses this near each other (mm at the sheet's corners) are the same.
const SAME: f64 = 5.0;
/// Pairs of features looked at, at most.
const MOST_PAIRS: usize = 60_000;
/// Within so much of a quarter turn (radians) a sheet counts as turned by quarters.
const A_QUARTER: f64 = 0.26;

/// How a sheet lies otherwise than it was taken to.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct How {
    /// Quarter turns counter-clockwise.
    pub quarters: u8,
    /// Its other face is up.
    pub flipped: bool,
}

impl How {
    /// As it was taken to.
    pub const AS_TAKEN: Self = Self { quarters: 0, flipped: false };
}

/// The measurements taken for other features, and the fit of that.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Other {
    pub(super) how: How,
    pub(super) measured: Vec<Measured>,
    pub(super) fit: Fit,
}

/// Other ways in which the measurements fit on a sheet with these features as well as they should.
/// Each measurement stays one of a like feature. `taken` is how the sheet was taken to lie.
pub(super) fn others(
    measured: &[Measured],
    features: &[Feature],
    bounds: &Bounds<SheetSpace>,
    taken: &Pose<SheetSpace, BedSpace>,
) -> Vec<Other> {
    let mut found: Vec<Other> = Vec::new();
    for start in starts(measured, features, bounds, taken) {
        let Some(other) = settled(measured, features, start, taken) else { continue };
        let same = |o: &Other| apart(&o.fit.pose, &other.fit.pose, bounds) < SAME;
        match found.iter_mut().find(|o| same(o)) {
            Some(known) if other.fit.misfit < known.fit.misfit => *known = other,
            Some(_) => {}
            None => found.push(other),
        }
    }
    found
}

/// How far (mm) two poses take a corner of the sheet apart, at most.
pub(super) fn apart(
    a: &Pose<SheetSpace, BedSpace>,
    b: &Pose<SheetSpace, BedSpace>,
    bounds: &Bounds<SheetSpace>,
) -> f64 {
    let off = |p: Point<SheetSpace>| a.apply(p).distance(b.apply(p));
    bounds.corners().into_iter().map(off).fold(0.0, f64::max)
}

/// Poses to begin with.
fn starts(
    measured: &[Measured],
    features: &[Feature],
    bounds: &Bounds<SheetSpace>,
    taken: &Pose<SheetSpace, BedSpace>,
) -> Vec<Pose<SheetSpace, BedSpace>> {
    let mut starts = vec![*taken];
    // The box turned and mirrored, about its middle and with the corner that then lies lowest and
    // leftmost where the datum corner was.
    for flipped in [false, true] {
        for quarters in 0..4 {
            let turn = f64::from(quarters) * FRAC_PI_2;
            let about = Pose::<SheetSpace, SheetSpace>::new(Vector::default(), turn, flipped);
            let box_then = Bounds::of(bounds.corners().map(|p| about.apply(p)));
            for shift in [bounds.centre() - box_then.centre(), bounds.min - box_then.min] {
                starts.push(taken.after(&Pose::new(shift, turn, flipped)));
            }
        }
    }
    let points: Vec<&Measured> = measured.iter().filter(|m| m.feature.is_point()).collect();
    let points = &points;
    let pairs = (0..points.len()).flat_map(|i| (0..i).map(move |j| (points[i], points[j])));
    let farthest =
        pairs.max_by(|p, q| (p.0.at - p.1.at).length().total_cmp(&(q.0.at - q.1.at).length()));
    let Some((a, b)) = farthest else { return starts };
    let (way, slack) = (b.at - a.at, DEVIATIONS * a.deviation().hypot(b.deviation()) + A_BIT);
    let like = |m: &Measured| -> Vec<Point<SheetSpace>> {
        features.iter().filter(|f| f.is_like(&m.feature)).map(Feature::at).collect()
    };
    let (firsts, seconds) = (like(a), like(b));
    let all = firsts.iter().flat_map(|p| seconds.iter().map(move |q| (*p, *q)));
    for (p, q) in all.take(MOST_PAIRS) {
        if ((q - p).length() - way.length()).abs() > slack {
            continue;
        }
        for flipped in [false, true] {
            let unturned = Pose::<SheetSpace, BedSpace>::new(Vector::default(), 0.0, flipped);
            let turn = way.angle() - unturned.apply_vector(q - p).angle();
            let turned = Pose::new(Vector::default(), turn, flipped);
            let shift = a.at.midpoint(b.at) - turned.apply(p.midpoint(q));
            starts.push(Pose::new(shift, turn, flipped));
        }
    }
    starts
}

/// Gives each measurement the like feature nearest to it and fits, until that changes nothing; `None`
/// where it does not fit in the end.
fn settled(
    measured: &[Measured],
    features: &[Feature],
    start: Pose<SheetSpace, BedSpace>,
    taken: &Pose<SheetSpace, BedSpace>,
) -> Option<Other> {
    let mut pose = start;
    let mut last: Option<(Vec<Measured>, Fit)> = None;
    for _ in 0..ROUNDS {
        let back = pose.inverse();
        let named: Vec<Measured> = measured
            .iter()
            .map(|m| {
                let at = back.apply(m.at);
                let like = features.iter().filter(|f| f.is_like(&m.feature));
                let nearest = like.min_by(|f, g| f.distance(at).total_cmp(&g.distance(at)))?;
                Some(Measured { feature: *nearest, ..*m })
            })
            .collect::<Option<_>>()?;
        if last.as_ref().is_some_and(|(before, _)| *before == named) {
            break;
        }
        let fit = from(&named, &pose).ok()?;
        pose = fit.pose;
        last = Some((named, fit));
    }
    let (named, fit) = last?;
    // Two measurements of one place say nothing of a sheet.
    let twice = (0..named.len()).any(|i| {
        (0..i).any(|j| named[i].feature == named[j].feature && named[i].feature.is_point())
    });
    if twice || fit.misfit > limit_999(fit.spare) || apart_of_edges(&named, &fit) {
        return None;
    }
    let how = how(&fit.pose, taken);
    Some(Other { how, measured: named, fit })
}

/// Whether a place lies beside the end of its edge.
fn apart_of_edges(measured: &[Measured], fit: &Fit) -> bool {
    let back = fit.pose.inverse();
    measured
        .iter()
        .any(|m| m.feature.distance(back.apply(m.at)) > DEVIATIONS * m.deviation() + A_BIT)
}

fn how(pose: &Pose<SheetSpace, BedSpace>, taken: &Pose<SheetSpace, BedSpace>) -> How {
    How { quarters: quarters(pose, taken).unwrap_or(0), flipped: pose.flipped != taken.flipped }
}

/// By how many quarters a pose is turned against how the sheet was taken to lie; `None` where it is askew.
pub(super) fn quarters(
    pose: &Pose<SheetSpace, BedSpace>,
    taken: &Pose<SheetSpace, BedSpace>,
) -> Option<u8> {
    let turned = pose.turn - taken.turn;
    let quarters = (turned / FRAC_PI_2).round();
    let rest = (turned - quarters * FRAC_PI_2).abs();
    (rest < A_QUARTER).then(|| (quarters as i64).rem_euclid(4) as u8)
}
