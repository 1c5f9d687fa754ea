//! Whether what is left over is as small as it should be, and what explains it where it is not.

use std::f64::consts::FRAC_PI_2;

use super::fit::{Fit, Measured, Missing, fit, residual};
use super::seek::{How, Other, apart, others, quarters};
use super::statistics::{limit_99, limit_999};
use super::{Feature, Rim, features};
use crate::shape::{Bounds, Point, Pose, SheetSpace, Vector};
use crate::sheet::Sheet;

/// Explanations offered, at most.
const MOST: usize = 4;
/// What costs so much more than the likeliest explanation is not offered beside it.
const FAR_FETCHED: f64 = 14.0;
/// A bad measurement is outvoted where so many more numbers than needed are left without it.
const OUTVOTES: usize = 3;
/// What costs so much more than the likeliest explanation is as good as none.
const BEYOND_DOUBT: f64 = 5.0;
/// A feature this far (mm) from every like one tells two ways of lying apart.
const TELLS: f64 = 8.0;
/// Poses this near (mm) are the same.
const SAME: f64 = 5.0;
/// So near (mm) a feature lies where another should.
const NEARBY: f64 = 50.0;
/// Of edges so many, the longest, are asked whether they tell.
const MOST_EDGES: usize = 100;

/// What is made of the measurements.
#[derive(Clone, Debug, PartialEq)]
pub enum Verdict {
    /// Something is left open: measure more.
    Open(Missing),
    /// A pose is found, but nothing could show a mistake: measure one more point.
    Untested,
    /// What is left over is as small as it should be.
    Fine,
    /// So it is of all but this measurement, and nothing but that it is bad explains that: it counts for nothing.
    Outvoted(usize),
    /// What is left over is too large; what may explain it, the likeliest first.
    TooLarge(Vec<Explanation>),
}

/// What may explain measurements that do not fit.
#[derive(Clone, Debug, PartialEq)]
pub enum Explanation {
    /// This measurement is bad: the others fit.
    Bad(usize, Fit),
    /// The sheet lies turned or with its other face up, or other features were hit: with the
    /// measurements taken so, all of them fit. A fit with the other face up is of no use for a plan.
    Otherwise(How, Vec<Measured>, Fit),
    /// It is another sheet, by its place in the list that was given.
    OtherSheet(usize, How),
}

/// Another way the sheet may lie that these measurements can't tell from the one that was taken.
#[derive(Clone, Debug, PartialEq)]
pub struct Doubt {
    /// How it would lie.
    pub how: How,
    /// What to measure to know.
    pub tell: Feature,
}

/// How a sheet lies and what is to be thought of it.
#[derive(Clone, Debug, PartialEq)]
pub struct Judgement {
    /// The fit of all measurements that count, where nothing is left open; what is left over is told of the
    /// others too.
    pub fit: Option<Fit>,
    /// What is made of it.
    pub verdict: Verdict,
    /// Ways of lying that can't be told from it; only where it may be relied on.
    pub doubts: Vec<Doubt>,
}

impl Judgement {
    /// The fit, where it may be relied on.
    pub fn relied_on(&self) -> Option<&Fit> {
        let may_be = matches!(self.verdict, Verdict::Fine | Verdict::Outvoted(_));
        self.fit.as_ref().filter(|_| may_be)
    }

    /// Of the measurements that were judged those that count.
    pub fn counted(&self, measured: &[Measured]) -> Vec<Measured> {
        match self.verdict {
            Verdict::Outvoted(bad) => without(measured, bad),
            _ => measured.to_vec(),
        }
    }
}

/// The fit of measurements where it may be relied on, as [`Judgement::relied_on`] has it; much sooner, for no
/// other way is tried in which the sheet may lie.
pub fn relied_on(measured: &[Measured]) -> Option<Fit> {
    fit(measured).ok().filter(|fit| fit.spare > 0 && is_fine(fit))
}

fn is_fine(fit: &Fit) -> bool {
    fit.misfit <= limit_99(fit.spare)
}

/// Fits and judges. Where the fit is too poor, tries for each measurement whether the others fit
/// without it, whether all fit with the sheet turned, mirrored or with other features hit, and whether
/// they fit one of `rivals`.
pub fn judge(sheet: &Sheet, measured: &[Measured], rivals: &[Sheet]) -> Judgement {
    let none = |verdict| Judgement { fit: None, verdict, doubts: Vec::new() };
    let fit = match fit(measured) {
        Ok(fit) => fit,
        Err(missing) => return none(Verdict::Open(missing)),
    };
    if fit.spare == 0 {
        return Judgement { fit: Some(fit), verdict: Verdict::Untested, doubts: Vec::new() };
    }
    let (known, bounds) = (features(sheet), sheet.bounds());
    let others = others(measured, &known, &bounds, &fit.pose);
    if is_fine(&fit) {
        let doubts = doubts(&known, &bounds, &fit, &others);
        return Judgement { fit: Some(fit), verdict: Verdict::Fine, doubts };
    }
    let explanations = explain(measured, (&known, &bounds), others, &fit, rivals);
    if let Some((bad, fit)) = outvoted(measured, &explanations) {
        let others = self::others(&without(measured, bad), &known, &bounds, &fit.pose);
        let doubts = doubts(&known, &bounds, &fit, &others);
        return Judgement { fit: Some(fit), verdict: Verdict::Outvoted(bad), doubts };
    }
    let explanations = explanations.into_iter().take(MOST).map(|(_, e)| e).collect();
    Judgement { fit: Some(fit), verdict: Verdict::TooLarge(explanations), doubts: Vec::new() }
}

fn without(measured: &[Measured], bad: usize) -> Vec<Measured> {
    let all = measured.iter().enumerate();
    all.filter(|(i, _)| *i != bad).map(|(_, m)| *m).collect()
}

/// The one measurement that is bad beyond doubt, and the fit of the others: they fit, enough of them are left
/// that a second mistake would show, and no other explanation comes near. An old cut-out is what tells one sheet
/// from another of the same size: where only one was measured, that is never outvoted. (As least trimmed squares has it,
/// P. J. Rousseeuw, Least median of squares regression, J. Am. Stat. Assoc. 79, 1984, with one trimmed.)
fn outvoted(measured: &[Measured], explanations: &[(f64, Explanation)]) -> Option<(usize, Fit)> {
    let [(cost, Explanation::Bad(bad, rest)), others @ ..] = explanations else { return None };
    let beyond_doubt = others.first().is_none_or(|(next, _)| *next > cost + BEYOND_DOUBT);
    let others_tell = without(measured, *bad).iter().any(|m| m.feature.rim == Rim::CutOut);
    let tells = measured[*bad].feature.rim == Rim::CutOut && !others_tell;
    if rest.spare < OUTVOTES || !is_fine(rest) || !beyond_doubt || tells {
        return None;
    }
    let mut fit = rest.clone();
    fit.residuals.insert(*bad, residual(&measured[*bad], &fit.pose));
    Some((*bad, fit))
}

/// How much larger the misfit is than it would be on the average.
fn excess(fit: &Fit) -> f64 {
    fit.misfit - fit.spare as f64
}

/// The likelier of two explanations has the lower cost: its excess of misfit, and twice the logarithm of how
/// rare such a mistake is taken to be.
fn explain(
    measured: &[Measured],
    (known, bounds): (&[Feature], &Bounds<SheetSpace>),
    others_here: Vec<Other>,
    taken: &Fit,
    rivals: &[Sheet],
) -> Vec<(f64, Explanation)> {
    const TURNED: f64 = 4.0;
    const OTHER_WAY: f64 = 2.0;
    const SLIP: f64 = 4.0;
    const BAD: f64 = 9.0;
    const RIVAL: f64 = 6.0;
    let mut found: Vec<(f64, Explanation)> = Vec::new();
    for other in others_here {
        let mut cost = excess(&other.fit);
        // One of many like features hit by mistake.
        cost += slips(measured, &other, bounds)
            .into_iter()
            .map(|m| known.iter().filter(|f| f.is_like(&m.feature)).count())
            .map(|like| SLIP + 2.0 * (like.max(1) as f64).ln())
            .sum::<f64>();
        if other.how != How::AS_TAKEN {
            cost += TURNED;
        }
        if other.how.flipped || other.how.quarters % 2 == 1 {
            cost += OTHER_WAY;
        }
        found.push((cost, Explanation::Otherwise(other.how, other.measured, other.fit)));
    }
    for i in 0..measured.len() {
        if let Ok(fit) = fit(&without(measured, i))
            && fit.spare > 0
            && fit.misfit <= limit_999(fit.spare)
        {
            found.push((excess(&fit) + BAD, Explanation::Bad(i, fit)));
        }
    }
    for (n, rival) in rivals.iter().enumerate() {
        let (known, bounds) = (features(rival), rival.bounds());
        let fits = others(measured, &known, &bounds, &taken.pose);
        if let Some(best) = fits.iter().min_by(|a, b| a.fit.misfit.total_cmp(&b.fit.misfit)) {
            found.push((excess(&best.fit) + RIVAL, Explanation::OtherSheet(n, best.how)));
        }
    }
    found.sort_by(|a, b| a.0.total_cmp(&b.0));
    let least = found.first().map_or(0.0, |f| f.0);
    found.retain(|(cost, _)| *cost < least + FAR_FETCHED);
    let mut explanations: Vec<(f64, Explanation)> = Vec::new();
    for (cost, explanation) in found {
        let is_said = |known: &(f64, Explanation)| match (&known.1, &explanation) {
            // Of the ways to lie so the likeliest is enough; which features were hit is told of each.
            (Explanation::Otherwise(a, ..), Explanation::Otherwise(b, ..)) => {
                a == b && *a != How::AS_TAKEN
            }
            _ => false,
        };
        if !explanations.iter().any(is_said) {
            explanations.push((cost, explanation));
        }
    }
    explanations
}

/// The measurements that were hit by mistake if the sheet lies so. Whoever does not know that it lies otherwise
/// hits what is named, or what lies where that should: of the outer edge always the one or always the other.
fn slips<'a>(
    measured: &'a [Measured],
    other: &Other,
    bounds: &Bounds<SheetSpace>,
) -> Vec<&'a Measured> {
    let turn = f64::from(other.how.quarters) * FRAC_PI_2;
    let about = Pose::<SheetSpace, SheetSpace>::new(Vector::default(), turn, other.how.flipped);
    let then = Bounds::of(bounds.corners().map(|p| about.apply(p)));
    // What lies, as a share of the sheet's box, where this should.
    let instead = |p: Point<SheetSpace>| {
        let (x, y) = (p.x - bounds.min.x, p.y - bounds.min.y);
        let x = then.min.x + x / bounds.width() * then.width();
        let y = then.min.y + y / bounds.height() * then.height();
        about.inverse().apply(Point::new(x, y))
    };
    let pairs: Vec<_> = measured.iter().zip(&other.measured).collect();
    let is_named = |(was, is): &(&Measured, &Measured)| was.feature == is.feature;
    let is_instead = |(was, is): &(&Measured, &Measured)| {
        is.feature.distance(instead(was.feature.at())) < NEARBY
    };
    let is_outer = |(was, _): &(&Measured, &Measured)| was.feature.rim == Rim::Outer;
    let count = |is_so: &dyn Fn(&(&Measured, &Measured)) -> bool| {
        pairs.iter().filter(|p| is_outer(p) && is_so(p)).count()
    };
    let by_name = count(&is_named) >= count(&is_instead);
    let is_slip = |pair: &(&Measured, &Measured)| match (is_outer(pair), by_name) {
        (true, true) => !is_named(pair),
        (true, false) => !is_instead(pair),
        (false, _) => !is_named(pair) && !is_instead(pair),
    };
    pairs.iter().filter(|p| is_slip(p)).map(|(was, _)| *was).collect()
}

/// The other ways of lying that would put some feature of the sheet elsewhere. A sheet that lies askew is seen to,
/// and is none of them.
fn doubts(
    known: &[Feature],
    bounds: &Bounds<SheetSpace>,
    fit: &Fit,
    others: &[Other],
) -> Vec<Doubt> {
    let (points, mut edges): (Vec<&Feature>, Vec<&Feature>) =
        known.iter().partition(|f| f.is_point());
    edges.sort_by(|a, b| b.length().total_cmp(&a.length()));
    let longest = &edges[..edges.len().min(MOST_EDGES)];
    let from_edges = |at| edges.iter().map(|e| e.distance(at)).fold(f64::INFINITY, f64::min);
    let is_other = |o: &&Other| {
        apart(&o.fit.pose, &fit.pose, bounds) > SAME && quarters(&o.fit.pose, &fit.pose).is_some()
    };
    let mut ways: Vec<(How, Pose<SheetSpace, SheetSpace>)> = Vec::new();
    for other in others.iter().filter(is_other) {
        if !ways.iter().any(|(how, _)| *how == other.how) {
            ways.push((other.how, other.fit.pose.inverse().after(&fit.pose)));
        }
    }
    // How far what of the sheet lies, if it lay each of these ways, where a feature is recorded is from any
    // like feature, the least of them.
    let off = |f: &Feature, ways: &[(How, Pose<SheetSpace, SheetSpace>)]| {
        let least = |there: &Pose<SheetSpace, SheetSpace>| {
            let at = there.apply(f.at());
            if !f.is_point() {
                return from_edges(at);
            }
            let like = points.iter().filter(|g| g.is_like(f));
            like.map(|g| g.at().distance(at)).fold(f64::INFINITY, f64::min)
        };
        ways.iter().map(|(_, there)| least(there)).fold(f64::INFINITY, f64::min)
    };
    let tell = |ways: &[(How, Pose<SheetSpace, SheetSpace>)]| {
        // Points say more than edges.
        [&points[..], longest].into_iter().find_map(|of| {
            let best = of.iter().copied().max_by(|f, g| off(f, ways).total_cmp(&off(g, ways)))?;
            (off(best, ways) > TELLS).then_some(*best)
        })
    };
    // One place that tells all of them apart is the least to measure.
    let all = tell(&ways);
    let doubts = ways.chunks(1).filter_map(|way| {
        let tell = all.or_else(|| tell(way))?;
        Some(Doubt { how: way[0].0, tell })
    });
    doubts.collect()
}
