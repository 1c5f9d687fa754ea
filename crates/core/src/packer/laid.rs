//! A figure's convex pieces where it lies.

use super::convex::{Convex, normals, spare};
use super::figure::Place;
use super::limits::Limits;
use super::nofit::Piece;

/// Convex polygons side by side in flat arrays.
#[derive(Clone, Debug, Default)]
pub(super) struct Pieces {
    points: Vec<[f64; 2]>,
    normals: Vec<[f64; 2]>,
    /// Where each ends in the arrays, and its box.
    ends: Vec<(usize, Limits)>,
    pub(super) limits: Option<Limits>,
}

impl Pieces {
    pub(super) fn new(pieces: &[Piece]) -> Self {
        let mut all = Self::default();
        // Large ones first: they tell soonest of a collision.
        let mut pieces: Vec<&Piece> = pieces.iter().collect();
        pieces.sort_by(|a, b| area(b).total_cmp(&area(a)));
        for piece in pieces {
            all.points.extend(piece);
            all.normals.extend(normals(piece));
            all.normals.resize(all.points.len(), [0.0; 2]);
            all.ends.push((all.points.len(), Limits::around(piece)));
        }
        all.limits = Limits::union(all.ends.iter().map(|e| e.1));
        all
    }

    /// Makes this `own`, turned and moved to a place.
    pub(super) fn lay(&mut self, own: &Self, place: Place) {
        let (sin, cos) = place.turn.sin_cos();
        self.points.clear();
        self.normals.clear();
        self.ends.clear();
        let turn = |p: &[f64; 2]| [p[0] * cos - p[1] * sin, p[0] * sin + p[1] * cos];
        self.points.extend(own.points.iter().map(|p| {
            let [x, y] = turn(p);
            [x + place.x, y + place.y]
        }));
        self.normals.extend(own.normals.iter().map(turn));
        let mut start = 0;
        for (end, _) in &own.ends {
            self.ends.push((*end, Limits::around(&self.points[start..*end])));
            start = *end;
        }
        self.limits = Limits::union(self.ends.iter().map(|e| e.1));
    }

    fn each(&self) -> impl Iterator<Item = (Convex<'_>, &Limits)> {
        let starts = std::iter::once(0).chain(self.ends.iter().map(|e| e.0));
        starts.zip(&self.ends).map(|(start, (end, limits))| {
            let (points, normals) = (&self.points[start..*end], &self.normals[start..*end]);
            (Convex { points, normals }, limits)
        })
    }

    /// Whether any of them covers a point.
    pub(super) fn covers(&self, p: [f64; 2]) -> bool {
        self.each().any(|(piece, limits)| limits.holds(p) && piece.covers(p))
    }

    /// How far the pieces of both lie within `keep` mm of each other, summed over their pairs, or
    /// something above `most` once it is more than that; what is no more than `touch` mm counts
    /// nothing.
    pub(super) fn depth(&self, other: &Self, keep: f64, touch: f64, most: f64) -> f64 {
        let Some(around) = &other.limits else { return 0.0 };
        let mut sum = 0.0;
        for (a, own) in self.each().filter(|(_, own)| own.meets(around, keep)) {
            for (b, box_b) in other.each() {
                if own.meets(box_b, keep) {
                    sum += depth(a, b, keep, touch);
                    if sum > most {
                        return sum;
                    }
                }
            }
        }
        sum
    }

    /// As [`Self::depth`], to one polygon with this box.
    pub(super) fn depth_to(&self, b: Convex<'_>, limits: &Limits, keep: f64, touch: f64) -> f64 {
        let near = self.each().filter(|(_, own)| own.meets(limits, keep));
        near.map(|(a, _)| depth(a, b, keep, touch)).sum()
    }
}

fn area(piece: &Piece) -> f64 {
    let next = piece.iter().cycle().skip(1);
    piece.iter().zip(next).map(|(a, b)| a[0] * b[1] - a[1] * b[0]).sum()
}

#[inline]
fn depth(a: Convex<'_>, b: Convex<'_>, keep: f64, touch: f64) -> f64 {
    let clear = keep - touch;
    let spare = spare(a, b, clear);
    if spare < clear { keep - spare } else { 0.0 }
}
