//! Polygons in place of curves, erring to a stated side by a stated bound.

use super::{Edge, Loop, Point, Region, Space};

/// On which side of the true loop the polygon may lie.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Side {
    /// The polygon holds the loop: for parts, which must never be smaller.
    Outward,
    /// The loop holds the polygon: for free metal, and where something is to be disproven.
    Inward,
}

impl Side {
    fn opposite(self) -> Self {
        match self {
            Self::Outward => Self::Inward,
            Self::Inward => Self::Outward,
        }
    }
}

/// No piece of an arc turns by more than this (radians), however loose the bound.
const WIDEST_PIECE: f64 = std::f64::consts::FRAC_PI_4;

/// No bound is taken to be tighter than this (mm): the number of points grows with its root.
const TIGHTEST_BOUND: f64 = 1e-6;

/// The polygon around (or in) a loop that leaves it by at most `bound` mm, with the loop's
/// direction, read with the winding rule: in a corner sharper than one piece of an arc it may cross
/// itself, and a tip that then winds the other way is no part of it. Arcs that bulge out of the loop get tangents on the outward side and chords on the
/// inward one; arcs that bulge into it the other way round.
pub fn flatten<S: Space>(l: &Loop<S>, bound: f64, side: Side) -> Vec<Point<S>> {
    let ccw = l.signed_area() > 0.0;
    let bound = bound.max(TIGHTEST_BOUND);
    let mut points = Vec::with_capacity(l.vertices().len());
    for edge in l.edges() {
        points.push(edge.from());
        let Edge::Arc { centre, radius, sweep, .. } = edge else { continue };
        let bulges_out = (sweep > 0.0) == ccw;
        let tangents = bulges_out == (side == Side::Outward);
        // Half a piece's turn, from the sine of its half: acos would lose the digits of a flat one.
        let share = if tangents { bound / (radius + bound) } else { (bound / radius).min(1.0) };
        let half = 2.0 * (0.5 * share).sqrt().asin();
        let pieces = (sweep.abs() / (2.0 * half).min(WIDEST_PIECE)).ceil().max(1.0);
        let step = sweep / pieces;
        if tangents {
            let lift = radius * (step / 2.0).tan() * (step / 4.0).tan();
            points.extend((0..pieces as usize).map(|i| {
                let touch = edge.at((i as f64 + 0.5) / pieces);
                touch + (touch - centre) * (lift / radius)
            }));
        } else {
            points.extend((1..pieces as usize).map(|i| edge.at(i as f64 / pieces)));
        }
    }
    points
}

/// The polygons of a region, outline first: `Outward` holds all of its metal (holes no larger than
/// they are), `Inward` no more than its metal.
pub fn flatten_region<S: Space>(region: &Region<S>, bound: f64, side: Side) -> Vec<Vec<Point<S>>> {
    let outer = flatten(region.outer(), bound, side);
    let holes = region.holes().iter().map(|h| flatten(h, bound, side.opposite()));
    std::iter::once(outer).chain(holes).collect()
}
