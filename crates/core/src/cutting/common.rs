//! Common cuts: two parts whose straight edges lie one kerf apart share the slot between them.
//!
//! The rule lets two parts come so near only where they share a cut, and beside it only where their
//! outlines part again: what of one lies farther than [`LEAVING`] times their usual distance from the
//! shared stretch keeps that distance from the other, so that no sliver of metal narrower than 30°
//! stays between.

use std::collections::{BTreeMap, BTreeSet};

use super::tabs::{Gap, without};
use crate::check::RESOLUTION;
use crate::distances::Clearances;
use crate::shape::{Edge, EdgeSet, Region, SheetSpace, Space, Vector, crossings};

/// A shared stretch is at least so long, mm.
const SHORTEST: f64 = 5.0;
/// Sine of the angle by which the two edges may be off each other, at most.
const ASKEW: f64 = 0.01;
/// From so many of the usual distances on two outlines must have parted: one over the sine of 30°.
const LEAVING: f64 = 2.0;

/// The shares of `edge` between which a straight edge of another part runs beside it the other way,
/// `apart` mm to its right. None where they are no lines, or lie side by side for less than `least` mm.
pub(super) fn beside<S: Space>(
    edge: &Edge<S>,
    other: &Edge<S>,
    apart: f64,
    least: f64,
) -> Option<(f64, f64)> {
    let (Edge::Line { from, to }, Edge::Line { .. }) = (*edge, *other) else { return None };
    let (along, back) = ((to - from).unit()?, other.direction(0.0));
    if along.dot(back) > 0.0 || along.cross(back).abs() > ASKEW {
        return None;
    }
    let length = from.distance(to);
    let at = |end| along.dot(end - from);
    let (first, last) = (at(other.to()).max(0.0), at(other.from()).min(length));
    if last - first < least {
        return None;
    }
    let right = -along.left();
    let level = |along_it: f64| {
        let (a, b) = (other.to(), other.from());
        let share = (along_it - at(a)) / (at(b) - at(a));
        (right.dot(a - from) + share * right.dot(b - a) - apart).abs() <= RESOLUTION
    };
    (level(first) && level(last)).then_some((first / length, last / length))
}

/// The stretches of one outline along which it shares a cut with another, both with their metal on
/// the left.
pub fn shared<S: Space>(outline: &[Edge<S>], other: &[Edge<S>], kerf: f64) -> Vec<Edge<S>> {
    let pairs = outline.iter().flat_map(|a| other.iter().map(move |b| (a, b)));
    let found = pairs.filter_map(|(a, b)| Some((a, beside(a, b, kerf, SHORTEST)?)));
    found.map(|(a, (from, to))| a.between(from, to)).collect()
}

/// The outlines as runs of edges that leave out what one before them in the list is cut along already;
/// `None` where all of one is to be cut.
pub fn unshared<S: Space>(outlines: &[Vec<Edge<S>>], kerf: f64) -> Vec<Option<Vec<Vec<Edge<S>>>>> {
    let boxes: Vec<_> = outlines.iter().map(|o| EdgeSet::new([o.clone()]).bounds()).collect();
    let of = |n: usize| {
        let near =
            (0..n).filter(|m| boxes[*m].distance_squared(&boxes[n]) <= (kerf + RESOLUTION).powi(2));
        let mut gaps = Vec::new();
        for other in near.map(|m| &outlines[m]) {
            gaps.extend(gaps_along(&outlines[n], other, kerf));
        }
        (!gaps.is_empty()).then(|| in_one_go(without(&outlines[n], gaps)))
    };
    (0..outlines.len()).map(of).collect()
}

/// Where another outline runs beside a closed run, `apart` mm to its right.
fn gaps_along<S: Space>(run: &[Edge<S>], other: &[Edge<S>], apart: f64) -> Vec<Gap> {
    let (mut gone, mut gaps) = (0.0, Vec::new());
    for edge in run {
        let length = edge.length();
        let found = other.iter().filter_map(|o| beside(edge, o, apart, SHORTEST));
        gaps.extend(
            found.map(|(from, to)| Gap { from: gone + from * length, to: gone + to * length }),
        );
        gone += length;
    }
    gaps
}

/// The pieces of a closed run, its last and its first as one where they meet.
fn in_one_go<S: Space>(mut pieces: Vec<Vec<Edge<S>>>) -> Vec<Vec<Edge<S>>> {
    let meet = |pieces: &[Vec<Edge<S>>]| {
        let (first, last) = (pieces.first()?.first()?, pieces.last()?.last()?);
        (pieces.len() > 1 && last.to().distance(first.from()) <= RESOLUTION).then_some(())
    };
    if meet(&pieces).is_some() {
        let first = pieces.remove(0);
        if let Some(last) = pieces.last_mut() {
            last.extend(first);
        }
    }
    pieces
}

/// The parts that share a cut with one of them, by their places in the list.
pub fn sharing(regions: &[Region<SheetSpace>], placed: usize, kerf: f64) -> Vec<usize> {
    let outline = |n: usize| regions[n].outer().edges().collect::<Vec<_>>();
    let (own, bounds) = (outline(placed), regions[placed].bounds());
    let near =
        |n: &usize| regions[*n].bounds().distance_squared(&bounds) <= (kerf + RESOLUTION).powi(2);
    let others = (0..regions.len()).filter(|n| *n != placed).filter(near);
    others.filter(|n| !shared(&own, &outline(*n), kerf).is_empty()).collect()
}

/// The shifts, at most `reach` mm long, that bring a part to where it shares a cut with another along
/// one of its straight edges: as far along that as it lies, or with the edges' ends level.
pub fn shifts_to_share<S: Space>(
    part: &EdgeSet<S>,
    other: &EdgeSet<S>,
    kerf: f64,
    reach: f64,
) -> Vec<Vector> {
    let [Some(outline), Some(beside)] = [part, other].map(|s| s.loops().next()) else {
        return Vec::new();
    };
    let pairs = beside.iter().flat_map(|b| outline.iter().map(move |a| (a, b)));
    let long = pairs.filter(|(a, b)| a.length().min(b.length()) >= SHORTEST);
    let found = long.filter_map(|(a, b)| {
        let (Edge::Line { .. }, Edge::Line { .. }) = (a, b) else { return None };
        let along = b.direction(0.0);
        let askew = along.cross(a.direction(0.0)).abs() * a.length().min(b.length());
        if along.dot(a.direction(0.0)) > 0.0 || askew > RESOLUTION {
            return None;
        }
        let right = -along.left();
        let across = right * (kerf - right.dot(a.from() - b.from()));
        let level = [0.0, along.dot(b.from() - a.to()), along.dot(b.to() - a.from())];
        Some(level.map(|by| across + along * by))
    });
    found.flatten().filter(|shift| shift.length() <= reach).collect()
}

/// Whether two parts, nearer to each other than usual but no nearer than a kerf, may lie so: they
/// share a cut, and have parted beyond it.
pub fn may_share<S: Space>(a: &EdgeSet<S>, b: &EdgeSet<S>, clearances: &Clearances) -> bool {
    let Some(kerf) = clearances.common_cut() else { return false };
    let usual = clearances.between_parts();
    let parted = |a: &EdgeSet<S>, b: &EdgeSet<S>| {
        let [Some(outline), Some(other)] = [a, b].map(|s| s.loops().next()) else { return false };
        let stretches = shared(outline, other, kerf);
        !stretches.is_empty()
            && EdgeSet::new([away_from(a.edges(), &stretches, LEAVING * usual)])
                .boundary_gap(b, usual - RESOLUTION)
                .is_none()
    };
    parted(a, b) && parted(b, a)
}

/// The common cuts of a layout while it is cut: what is cut once is not cut again.
#[derive(Default)]
pub(super) struct CommonCuts {
    /// The beam's path round each part that shares a cut.
    paths: BTreeMap<usize, Vec<Edge<SheetSpace>>>,
    partners: BTreeMap<usize, Vec<usize>>,
    done: BTreeSet<usize>,
}

impl CommonCuts {
    /// Nothing is cut yet. `regions` are the placed parts, in the layout's order, and `path` gives the
    /// beam's path round one.
    pub(super) fn new(
        regions: &[Region<SheetSpace>],
        clearances: &Clearances,
        path: impl FnMut(usize) -> Vec<Edge<SheetSpace>>,
    ) -> Self {
        let Some(kerf) = clearances.common_cut() else { return Self::default() };
        let all = (0..regions.len()).map(|a| (a, sharing(regions, a, kerf)));
        let partners: BTreeMap<usize, Vec<usize>> = all.filter(|(_, p)| !p.is_empty()).collect();
        let numbers: Vec<usize> = partners.keys().copied().collect();
        let paths = numbers.iter().copied().zip(numbers.iter().copied().map(path)).collect();
        Self { paths, partners, done: BTreeSet::new() }
    }

    /// The parts that share a cut with one, by their places in the layout's list.
    pub(super) fn beside(&self, placed: usize) -> &[usize] {
        self.partners.get(&placed).map_or(&[], Vec::as_slice)
    }

    /// The stretches of a part's run that other parts share: those that are cut already, and those that
    /// this run cuts for them.
    pub(super) fn along(&self, placed: usize, run: &[Edge<SheetSpace>]) -> (Vec<Gap>, Vec<Gap>) {
        let (mut cut, mut to_cut) = (Vec::new(), Vec::new());
        for partner in self.beside(placed) {
            let stretches = if self.done.contains(partner) { &mut cut } else { &mut to_cut };
            stretches.extend(gaps_along(run, &self.paths[partner], 0.0));
        }
        (cut, to_cut)
    }

    /// A part's outline is cut.
    pub(super) fn done(&mut self, placed: usize) {
        self.done.insert(placed);
    }
}

/// What of some edges lies farther than `reach` mm from every stretch.
fn away_from<S: Space>(edges: &[Edge<S>], stretches: &[Edge<S>], reach: f64) -> Vec<Edge<S>> {
    let mut left = edges.to_vec();
    for stretch in stretches {
        let rim = around(stretch, reach);
        let pieces = left.iter().flat_map(|edge| {
            let meets = rim.iter().flat_map(|r| crossings(edge, r)).flatten();
            let mut shares: Vec<f64> = meets.map(|p| edge.share_at(p)).collect();
            shares.extend([0.0, 1.0]);
            shares.sort_by(f64::total_cmp);
            let spans = shares.windows(2).map(|w| (w[0], w[1])).collect::<Vec<_>>();
            spans
                .into_iter()
                .filter(|(from, to)| to > from)
                .map(|(from, to)| edge.between(from, to))
        });
        let far = |piece: &Edge<S>| {
            let middle = piece.at(0.5);
            stretch.nearest(middle).distance(middle) > reach
        };
        left = pieces.filter(far).collect();
    }
    left
}

/// The rim of all that lies within `reach` mm of a line. Its straight sides go on a little, so that what
/// passes between a side and the round end is met by one of them at least.
fn around<S: Space>(line: &Edge<S>, reach: f64) -> [Edge<S>; 4] {
    let out = -line.direction(0.0).left() * reach;
    let [a, b, c, d] = [line.from() + out, line.to() + out, line.to() - out, line.from() - out];
    let on = line.direction(0.0) * reach;
    let (side, other) = (Edge::new(a - on, b + on, 0.0), Edge::new(c + on, d - on, 0.0));
    [side, Edge::new(b, c, 1.0), other, Edge::new(d, a, 1.0)]
}
