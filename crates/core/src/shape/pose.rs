//! Where something lies: mirror, turn, shift.

use std::marker::PhantomData;

use super::{Point, Space, Vector};

/// Carries points of space `A` into space `B`: mirror x → −x if `flipped`, then turn
/// counter-clockwise about the origin, then shift. Distances are kept.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Pose<A, B> {
    /// Millimetres added after turning.
    pub shift: Vector,
    /// Radians counter-clockwise.
    pub turn: f64,
    /// Whether x is mirrored first.
    pub flipped: bool,
    spaces: PhantomData<(A, B)>,
}

impl<A: Space, B: Space> Pose<A, B> {
    /// The pose with these three steps.
    pub const fn new(shift: Vector, turn: f64, flipped: bool) -> Self {
        Self { shift, turn, flipped, spaces: PhantomData }
    }

    /// Nothing moved.
    pub const fn identity() -> Self {
        Self::new(Vector::new(0.0, 0.0), 0.0, false)
    }

    /// A shift alone.
    pub const fn shifted(shift: Vector) -> Self {
        Self::new(shift, 0.0, false)
    }

    /// A vector carried along: mirrored and turned, not shifted.
    pub fn apply_vector(&self, v: Vector) -> Vector {
        self.frame().vector(v)
    }

    /// A point carried along.
    pub fn apply(&self, p: Point<A>) -> Point<B> {
        self.frame().point(p)
    }

    /// The pose with sine and cosine worked out, for many points.
    pub(crate) fn frame(&self) -> Frame<A, B> {
        let (sin, cos) = exact_sin_cos(self.turn);
        let mirror = if self.flipped { -1.0 } else { 1.0 };
        Frame { sin, cos, mirror, shift: self.shift, spaces: PhantomData }
    }

    /// The pose that undoes this one.
    pub fn inverse(&self) -> Pose<B, A> {
        // A mirror undone comes after the turn is undone; moving it to the front turns the other way.
        let turn = if self.flipped { self.turn } else { -self.turn };
        let back = Pose::<B, A>::new(Vector::default(), turn, self.flipped);
        Pose::new(-back.apply_vector(self.shift), turn, self.flipped)
    }

    /// This pose after `first`.
    pub fn after<Z: Space>(&self, first: &Pose<Z, A>) -> Pose<Z, B> {
        let turn = if self.flipped { self.turn - first.turn } else { self.turn + first.turn };
        let shift = self.apply_vector(first.shift) + self.shift;
        Pose::new(shift, turn, self.flipped != first.flipped)
    }
}

/// A pose with its sine and cosine worked out.
#[derive(Clone, Copy)]
pub(crate) struct Frame<A, B> {
    sin: f64,
    cos: f64,
    mirror: f64,
    shift: Vector,
    spaces: PhantomData<(A, B)>,
}

impl<A: Space, B: Space> Frame<A, B> {
    pub(crate) fn vector(&self, v: Vector) -> Vector {
        let x = v.x * self.mirror;
        Vector::new(x * self.cos - v.y * self.sin, x * self.sin + v.y * self.cos)
    }

    /// The radians that an arc runs through: a mirror changes the direction of travel.
    pub(crate) fn sweep(&self, sweep: f64) -> f64 {
        sweep * self.mirror
    }

    pub(crate) fn point(&self, p: Point<A>) -> Point<B> {
        let v = self.vector(p.to_vector()) + self.shift;
        Point::new(v.x, v.y)
    }
}

/// Sine and cosine, exact at the quarter turns so that square work stays square.
fn exact_sin_cos(turn: f64) -> (f64, f64) {
    let quarters = turn / std::f64::consts::FRAC_PI_2;
    let whole = quarters.round();
    if (quarters - whole).abs() > 1e-12 {
        return turn.sin_cos();
    }
    match (whole as i64).rem_euclid(4) {
        0 => (0.0, 1.0),
        1 => (1.0, 0.0),
        2 => (0.0, -1.0),
        _ => (-1.0, 0.0),
    }
}
