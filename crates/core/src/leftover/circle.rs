//! The largest circle that the metal holds.

use std::cmp::Ordering;
use std::collections::BinaryHeap;

use crate::shape::{EdgeSet, Point, Region, Space, Vector};

/// Squares looked at before the search ends: enough for a micrometre on a plain sheet, where long
/// strips of one width end it early.
const MOST_SQUARES: usize = 20_000;

/// The largest circle found.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct LargestCircle<S> {
    /// Its middle.
    pub centre: Point<S>,
    /// Its radius, mm.
    pub radius: f64,
    /// No circle in the metal has a larger radius than this, mm.
    pub at_most: f64,
}

/// The largest circle in a region's metal to within `precision` mm, or as near as a bounded search
/// comes. `None` for a region too thin to tell.
///
/// Squares are quartered, those first whose middle is farthest inside for their size: no point of a
/// square lies deeper than its middle by more than half its diagonal.
pub fn largest_circle<S: Space>(region: &Region<S>, precision: f64) -> Option<LargestCircle<S>> {
    let edges = region.edge_set();
    let bounds = region.bounds();
    let half = 0.5 * bounds.width().max(bounds.height());
    let precision = precision.max(1e-9 * half);
    let mut open = BinaryHeap::from([Square::new(&edges, bounds.centre(), half)]);
    let mut best = Square::new(&edges, region.centroid(), 0.0);
    let mut looked_at = 0;
    while let Some(square) = open.peek()
        && square.at_most > best.depth + precision
        && looked_at < MOST_SQUARES
    {
        let (centre, half) = (square.centre, 0.5 * square.half);
        open.pop();
        for (x, y) in [(-half, -half), (half, -half), (-half, half), (half, half)] {
            let quarter = Square::new(&edges, centre + Vector::new(x, y), half);
            if quarter.depth > best.depth {
                best = quarter;
            }
            open.push(quarter);
        }
        looked_at += 4;
    }
    let at_most = open.peek().map_or(best.depth, |s| s.at_most.max(best.depth));
    let Square { centre, depth: radius, .. } = best;
    (radius > 0.0).then_some(LargestCircle { centre, radius, at_most })
}

/// A square, ordered by the deepest that a point of it may lie in the metal.
#[derive(Clone, Copy)]
struct Square<S> {
    centre: Point<S>,
    half: f64,
    /// How deep the centre lies in the metal, negative outside.
    depth: f64,
    at_most: f64,
}

impl<S: Space> Square<S> {
    fn new(edges: &EdgeSet<S>, centre: Point<S>, half: f64) -> Self {
        let away = edges.distance_to(centre);
        let depth = if edges.covers(centre) { away } else { -away };
        Self { centre, half, depth, at_most: depth + half * std::f64::consts::SQRT_2 }
    }
}

impl<S> Ord for Square<S> {
    fn cmp(&self, other: &Self) -> Ordering {
        self.at_most.total_cmp(&other.at_most)
    }
}

impl<S> PartialOrd for Square<S> {
    fn partial_cmp(&self, other: &Self) -> Option<Ordering> {
        Some(self.cmp(other))
    }
}

impl<S> PartialEq for Square<S> {
    fn eq(&self, other: &Self) -> bool {
        self.cmp(other).is_eq()
    }
}

impl<S> Eq for Square<S> {}
