//! The lay that remains: how far a point of the sheet may be from where the fit has it.

use super::statistics::Matrix;
use crate::shape::{Bounds, Edge, Point, SheetSpace};

/// The square root of what the sum of three squared standard normal numbers stays under in 95 of 100
/// cases: then all points of the sheet are within their lay at once.
const WITHIN: f64 = 2.7955;

/// How far any point of the sheet may be off. It grows with the distance from what was measured.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Lay {
    about: Point<SheetSpace>,
    /// Of the shift (mm) and of the turn times `arm`, at `about`.
    covariance: Matrix,
    arm: f64,
}

impl Lay {
    /// The lay by the covariance of the shift of `about` and of the turn about it times `arm` mm.
    pub(super) fn new(about: Point<SheetSpace>, covariance: Matrix, arm: f64) -> Self {
        Self { about, covariance, arm }
    }

    /// How far (mm) the sheet may be off at this point; with all other points at once in 95 of 100
    /// cases. The value at the ends of a line is at least that between them.
    pub fn at(&self, point: Point<SheetSpace>) -> f64 {
        let (out, s) = ((point - self.about) * (1.0 / self.arm), &self.covariance);
        // Motion of the point: (u − φ·out.y, v + φ·out.x).
        let xx = s[0][0] - 2.0 * out.y * s[0][2] + out.y * out.y * s[2][2];
        let yy = s[1][1] + 2.0 * out.x * s[1][2] + out.x * out.x * s[2][2];
        let xy = s[0][1] + out.x * s[0][2] - out.y * s[1][2] - out.x * out.y * s[2][2];
        let (middle, half) = ((xx + yy) / 2.0, ((xx - yy) / 2.0).hypot(xy));
        WITHIN * (middle + half).max(0.0).sqrt()
    }

    /// The most (mm) along an edge.
    pub fn along(&self, edge: &Edge<SheetSpace>) -> f64 {
        match edge {
            Edge::Line { from, to } => self.at(*from).max(self.at(*to)),
            Edge::Arc { .. } => self.within(&edge.bounds()),
        }
    }

    /// The most (mm) within a box.
    pub fn within(&self, bounds: &Bounds<SheetSpace>) -> f64 {
        bounds.corners().into_iter().map(|p| self.at(p)).fold(0.0, f64::max)
    }
}
