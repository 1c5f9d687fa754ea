//! Tabs: short pieces of a contour that are left uncut, so that what is cut stays in the sheet.
//!
//! The gap in the path is a tab and a kerf wide: the slot's round ends take half a kerf each, and
//! what is left is the tab. Tabs keep away from inside corners, from the start and from tight arcs.

use crate::shape::{Edge, Point, Space};

use super::support::holds;

/// Places along a run that are looked at, mm apart.
const STEP: f64 = 1.0;
/// Arcs with a smaller radius (mm) get no tab.
const TIGHT: f64 = 10.0;
/// As few and as many tabs as a piece gets.
const FEWEST: usize = 2;
const MOST: usize = 8;
/// A tab keeps so many gaps, and so many mm, from the start and from inside corners.
const GAPS_OFF: f64 = 3.0;
const LEAST_OFF: f64 = 3.0;
/// A corner turns by at least so much (radians).
const CORNER: f64 = 0.2;

/// A tab on a run: the middle of the gap, mm along it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Tab {
    /// Millimetres along the run from its start.
    pub along: f64,
    /// Millimetres of the path that are not cut.
    pub gap: f64,
}

/// A stretch of a run that is not cut with it, mm along it from its start.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Gap {
    /// Where it begins.
    pub from: f64,
    /// Where it ends.
    pub to: f64,
}

impl From<Tab> for Gap {
    fn from(tab: Tab) -> Self {
        Self { from: tab.along - 0.5 * tab.gap, to: tab.along + 0.5 * tab.gap }
    }
}

/// Tabs on a closed run that keep a piece whose centre of mass is `middle` from tipping: as few as
/// hold it, evenly spread and off the stretches that are `shared` with other pieces. `metal_left` says
/// on which side of the run the piece lies. None where there is no place for them.
pub fn place_tabs<S: Space>(
    run: &[Edge<S>],
    gap: f64,
    middle: Point<S>,
    metal_left: bool,
    shared: &[Gap],
) -> Vec<Tab> {
    let spots = Spots::new(run, gap, metal_left, shared);
    let mut best = Vec::new();
    for count in FEWEST..=MOST {
        let found = spots.spread(count);
        if found.len() < count {
            break;
        }
        let at: Vec<Point<S>> = found.iter().map(|along| point_at(run, *along)).collect();
        let held = held_by(&at, middle);
        best = found;
        if held {
            break;
        }
    }
    best.into_iter().map(|along| Tab { along, gap }).collect()
}

/// Where a tab that a person wants `along` mm from the start of a closed run may be: there, or the
/// nearest place off the start, where the lead-in would be cut loose from its contour, and off what
/// is `shared`. None where there is none.
pub fn place_by_hand<S: Space>(
    run: &[Edge<S>],
    gap: f64,
    along: f64,
    shared: &[Gap],
) -> Option<f64> {
    let total: f64 = run.iter().map(Edge::length).sum();
    let barred: Vec<(f64, f64)> = std::iter::once((0.0, 0.0))
        .chain([(total, total)])
        .chain(shared.iter().map(|s| (s.from, s.to)))
        .map(|(from, to)| (from - gap, to + gap))
        .collect();
    let ends = barred.iter().flat_map(|(from, to)| [*from, *to]);
    let free = |at: &f64| {
        (0.0..=total).contains(at) && barred.iter().all(|(from, to)| at <= from || at >= to)
    };
    let off = |at: &f64| (at - along).abs();
    std::iter::once(along).chain(ends).filter(free).min_by(|a, b| off(a).total_cmp(&off(b)))
}

/// Whether the tabs of a run keep a piece whose centre of mass is `middle` from tipping.
pub(super) fn hold<S: Space>(run: &[Edge<S>], tabs: &[Tab], middle: Point<S>) -> bool {
    let at: Vec<Point<S>> = tabs.iter().map(|tab| point_at(run, tab.along)).collect();
    held_by(&at, middle)
}

/// Whether a piece held at these points does not tip: its centre of mass lies between them.
fn held_by<S: Space>(points: &[Point<S>], middle: Point<S>) -> bool {
    match points {
        [a, b] => {
            let line = Edge::Line { from: *a, to: *b };
            line.nearest(middle).distance(middle) <= 0.1 * line.length()
        }
        _ => holds(points, middle, 0.0),
    }
}

/// The point `along` mm from a run's start.
pub fn point_at<S: Space>(run: &[Edge<S>], along: f64) -> Point<S> {
    let mut left = along;
    for edge in run {
        let length = edge.length();
        if left <= length {
            return edge.at((left / length).clamp(0.0, 1.0));
        }
        left -= length;
    }
    run.last().map_or(Point::origin(), Edge::to)
}

/// How far along a run the place nearest to `point` lies, mm.
pub fn along_at<S: Space>(run: &[Edge<S>], point: Point<S>) -> f64 {
    let mut best = (f64::INFINITY, 0.0);
    let mut gone = 0.0;
    for edge in run {
        let near = edge.nearest(point);
        if near.distance(point) < best.0 {
            best = (near.distance(point), gone + edge.share_at(near) * edge.length());
        }
        gone += edge.length();
    }
    best.1
}

/// The run without its gaps: the pieces that are cut, in order. Gaps that meet become one.
pub fn without<S: Space>(run: &[Edge<S>], mut gaps: Vec<Gap>) -> Vec<Vec<Edge<S>>> {
    let total: f64 = run.iter().map(Edge::length).sum();
    gaps.sort_by(|a, b| a.from.total_cmp(&b.from));
    let mut pieces = Vec::new();
    let mut from = 0.0;
    for gap in gaps {
        pieces.push(between(run, from, gap.from.min(total)));
        from = gap.to.max(from);
    }
    pieces.push(between(run, from, total));
    pieces.retain(|p: &Vec<Edge<S>>| !p.is_empty());
    pieces
}

/// The edges from one distance along a run to another.
fn between<S: Space>(run: &[Edge<S>], from: f64, to: f64) -> Vec<Edge<S>> {
    const SHORTEST: f64 = 1e-6;
    let mut found = Vec::new();
    let mut gone = 0.0;
    for edge in run {
        let length = edge.length();
        let (a, b) = ((from - gone).max(0.0), (to - gone).min(length));
        if b - a > SHORTEST {
            found.push(if a <= 0.0 && b >= length {
                *edge
            } else {
                edge.between(a / length, b / length)
            });
        }
        gone += length;
    }
    found
}

/// The places of a run that may carry a tab.
struct Spots {
    total: f64,
    free: Vec<f64>,
}

impl Spots {
    fn new<S: Space>(run: &[Edge<S>], gap: f64, metal_left: bool, shared: &[Gap]) -> Self {
        let total: f64 = run.iter().map(Edge::length).sum();
        let off = LEAST_OFF.max(GAPS_OFF * gap);
        let mut barred: Vec<(f64, f64)> = vec![(0.0, off), (total - off, total)];
        barred.extend(shared.iter().map(|s| (s.from - off, s.to + off)));
        let mut gone = 0.0;
        for (i, edge) in run.iter().enumerate() {
            let end = gone + edge.length();
            if let Edge::Arc { radius, .. } = edge
                && *radius < TIGHT
            {
                barred.push((gone - 0.5 * gap, end + 0.5 * gap));
            }
            let (before, after) = (edge.direction(1.0), run[(i + 1) % run.len()].direction(0.0));
            let left = before.cross(after).atan2(before.dot(after));
            let inside = if metal_left { left < -CORNER } else { left > CORNER };
            // The gap itself lies on one edge, off its corners.
            let around = if inside { off } else { gap };
            if inside || left.abs() > CORNER {
                barred.push((end - around, end + around));
            }
            gone = end;
        }
        let steps = (total / STEP).floor().max(1.0) as usize;
        let free = (0..steps)
            .map(|i| (i as f64 + 0.5) / steps as f64 * total)
            .filter(|at| barred.iter().all(|(from, to)| at < from || at > to))
            .collect();
        Self { total, free }
    }

    /// Free places near evenly spread ones; fewer than `count` where there are not enough.
    fn spread(&self, count: usize) -> Vec<f64> {
        let share = self.total / count as f64;
        let mut found: Vec<f64> = Vec::new();
        for n in 0..count {
            let ideal = (n as f64 + 0.5) * share;
            let open = self.free.iter().filter(|at| {
                (**at - ideal).abs() <= 0.5 * share
                    && found.iter().all(|f| (f - **at).abs() >= 0.4 * share)
            });
            let nearest = open.min_by(|a, b| (**a - ideal).abs().total_cmp(&(**b - ideal).abs()));
            found.extend(nearest);
        }
        found
    }
}
