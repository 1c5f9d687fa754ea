//! Axis-parallel boxes.

use super::{Point, Space, Vector};

/// The smallest axis-parallel box around something; empty until something is added.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Bounds<S> {
    /// Corner with the least x and y.
    pub min: Point<S>,
    /// Corner with the greatest x and y.
    pub max: Point<S>,
}

impl<S: Space> Bounds<S> {
    /// A box that holds nothing.
    pub const EMPTY: Self = Self {
        min: Point::new(f64::INFINITY, f64::INFINITY),
        max: Point::new(f64::NEG_INFINITY, f64::NEG_INFINITY),
    };

    /// The box around some points.
    pub fn of(points: impl IntoIterator<Item = Point<S>>) -> Self {
        points.into_iter().fold(Self::EMPTY, Self::with)
    }

    /// Whether it holds nothing.
    pub fn is_empty(&self) -> bool {
        self.min.x > self.max.x || self.min.y > self.max.y
    }

    /// Grown to hold `point`.
    pub fn with(self, point: Point<S>) -> Self {
        self.union(Self { min: point, max: point })
    }

    /// Grown to hold `other`.
    pub fn union(self, other: Self) -> Self {
        let (a, b) = (self, other);
        Self {
            min: Point::new(a.min.x.min(b.min.x), a.min.y.min(b.min.y)),
            max: Point::new(a.max.x.max(b.max.x), a.max.y.max(b.max.y)),
        }
    }

    /// Grown by `by` millimetres on every side (shrunk where negative).
    pub fn grown(self, by: f64) -> Self {
        let by = Vector::new(by, by);
        Self { min: self.min - by, max: self.max + by }
    }

    /// Its corners, counter-clockwise from the least.
    pub fn corners(&self) -> [Point<S>; 4] {
        let Self { min, max } = *self;
        [min, Point::new(max.x, min.y), max, Point::new(min.x, max.y)]
    }

    /// Millimetres along x.
    pub fn width(&self) -> f64 {
        self.max.x - self.min.x
    }

    /// Millimetres along y.
    pub fn height(&self) -> f64 {
        self.max.y - self.min.y
    }

    /// The middle.
    pub fn centre(&self) -> Point<S> {
        self.min.midpoint(self.max)
    }

    /// Whether `point` lies in it or on its rim.
    pub fn contains(&self, point: Point<S>) -> bool {
        self.min.x <= point.x
            && point.x <= self.max.x
            && self.min.y <= point.y
            && point.y <= self.max.y
    }

    /// Whether `other` lies in it, rims may touch.
    pub fn contains_bounds(&self, other: &Self) -> bool {
        self.contains(other.min) && self.contains(other.max)
    }

    /// Squared distance to `other`, 0 where they meet; mm².
    pub fn distance_squared(&self, other: &Self) -> f64 {
        let dx = (self.min.x - other.max.x).max(other.min.x - self.max.x).max(0.0);
        let dy = (self.min.y - other.max.y).max(other.min.y - self.max.y).max(0.0);
        dx * dx + dy * dy
    }

    /// Distance to `other`, 0 where they meet; mm.
    pub fn distance(&self, other: &Self) -> f64 {
        self.distance_squared(other).sqrt()
    }
}
