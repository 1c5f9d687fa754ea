//! One line or arc of a loop.

use std::f64::consts::{PI, TAU};

use super::{Bounds, Frame, Point, Pose, Space, Vector};

/// Below this bulge an arc is a line: its height over a chord of a metre is under 0.001 µm.
const STRAIGHT_BULGE: f64 = 1e-9;

/// Arcs that turn by less than this (radians) are measured from their chord.
const FLAT_SWEEP: f64 = 0.1;

/// A line or an arc, with what measuring needs worked out.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Edge<S> {
    /// A straight line.
    Line {
        /// Start.
        from: Point<S>,
        /// End.
        to: Point<S>,
    },
    /// A circular arc.
    Arc {
        /// Start.
        from: Point<S>,
        /// End.
        to: Point<S>,
        /// Middle of the circle.
        centre: Point<S>,
        /// Radius in mm, positive.
        radius: f64,
        /// Radians run through, positive counter-clockwise, |sweep| < 2π.
        sweep: f64,
    },
}

impl<S: Space> Edge<S> {
    /// The edge from `from` to `to` with `bulge` = tan(sweep / 4), 0 for a line.
    pub fn new(from: Point<S>, to: Point<S>, bulge: f64) -> Self {
        if bulge.abs() < STRAIGHT_BULGE {
            return Self::Line { from, to };
        }
        let chord = to - from;
        // The centre lies on the chord's bisector, (1 − b²) / 4b of the chord's length to the left.
        let off = (1.0 - bulge * bulge) / (4.0 * bulge);
        let centre = from.midpoint(to) + chord.left() * off;
        let radius = chord.length() * (1.0 + bulge * bulge) / (4.0 * bulge.abs());
        Self::Arc { from, to, centre, radius, sweep: 4.0 * bulge.atan() }
    }

    /// Start.
    pub fn from(&self) -> Point<S> {
        match *self {
            Self::Line { from, .. } | Self::Arc { from, .. } => from,
        }
    }

    /// End.
    pub fn to(&self) -> Point<S> {
        match *self {
            Self::Line { to, .. } | Self::Arc { to, .. } => to,
        }
    }

    /// tan(sweep / 4); 0 for a line.
    pub fn bulge(&self) -> f64 {
        match *self {
            Self::Line { .. } => 0.0,
            Self::Arc { sweep, .. } => (sweep / 4.0).tan(),
        }
    }

    /// Length in mm.
    pub fn length(&self) -> f64 {
        match *self {
            Self::Line { from, to } => from.distance(to),
            Self::Arc { radius, sweep, .. } => radius * sweep.abs(),
        }
    }

    /// The point at `share` (0 to 1) of the length.
    pub fn at(&self, share: f64) -> Point<S> {
        match *self {
            Self::Line { from, to } => from + (to - from) * share,
            Self::Arc { from, to, sweep, .. } if sweep.abs() <= PI => {
                // Chord by chord instead of round the centre, which is far away on a flat arc.
                let (sin, cos) = (0.5 * sweep * (share - 1.0)).sin_cos();
                let grown = (0.5 * sweep * share).sin() / (0.5 * sweep).sin();
                let chord = to - from;
                from + (chord * cos + chord.left() * sin) * grown
            }
            Self::Arc { from, centre, radius, sweep, .. } => {
                let start = (from - centre).angle();
                centre + Vector::at_angle(start + sweep * share) * radius
            }
        }
    }

    /// Unit direction of travel at `share` of the length; null for a line without length.
    pub fn direction(&self, share: f64) -> Vector {
        match *self {
            Self::Line { from, to } => (to - from).unit().unwrap_or_default(),
            Self::Arc { centre, sweep, .. } => {
                let out = (self.at(share) - centre).unit().unwrap_or_default();
                if sweep > 0.0 { out.left() } else { -out.left() }
            }
        }
    }

    /// The part of the edge between two shares of its length.
    pub fn between(&self, start: f64, end: f64) -> Self {
        let bulge = match *self {
            Self::Line { .. } => 0.0,
            Self::Arc { sweep, .. } => (sweep * (end - start) / 4.0).tan(),
        };
        Self::new(self.at(start), self.at(end), bulge)
    }

    /// The share of the length at which `point`, lying on the edge, is reached (0 to 1).
    pub fn share_at(&self, point: Point<S>) -> f64 {
        match *self {
            Self::Line { from, to } => foot(from, to, point),
            Self::Arc { from, centre, sweep, .. } => {
                let turned = turned(from - centre, point - from, sweep);
                let share = turned / sweep.abs();
                // Just before the start reads as nearly a whole turn: nearer to the start than to
                // the end means the start.
                if share <= 1.0 {
                    share
                } else if TAU - turned < turned - sweep.abs() {
                    0.0
                } else {
                    1.0
                }
            }
        }
    }

    /// Whether the direction from the arc's centre toward `point` runs through the arc. Always true
    /// for a line.
    pub fn sees(&self, point: Point<S>) -> bool {
        match *self {
            Self::Line { .. } => true,
            Self::Arc { from, to, centre, sweep, .. } => {
                let (a, b) = if sweep > 0.0 { (from, to) } else { (to, from) };
                // (a − centre) × (point − centre), but exact near a even when the centre is far.
                let past_a = (a - centre).cross(point - a);
                let before_b = (point - b).cross(b - centre);
                if sweep.abs() <= PI {
                    past_a >= 0.0 && before_b >= 0.0
                } else {
                    past_a >= 0.0 || before_b >= 0.0
                }
            }
        }
    }

    /// The box around it.
    pub fn bounds(&self) -> Bounds<S> {
        let ends = Bounds::of([self.from(), self.to()]);
        let Self::Arc { centre, radius, .. } = *self else { return ends };
        [(1.0, 0.0), (0.0, 1.0), (-1.0, 0.0), (0.0, -1.0)]
            .into_iter()
            .map(|(x, y)| centre + Vector::new(x, y) * radius)
            .filter(|p| self.sees(*p))
            .map(|p| self.nearest(p))
            .fold(ends, Bounds::with)
    }

    /// The point of the edge that is nearest to `point`.
    pub fn nearest(&self, point: Point<S>) -> Point<S> {
        match *self {
            Self::Line { from, to } => from + (to - from) * foot(from, to, point),
            Self::Arc { from, to, centre, .. } => {
                if let Some(out) = (point - centre).unit()
                    && self.sees(point)
                {
                    return point - out * self.beyond_circle(point);
                }
                if from.distance(point) <= to.distance(point) { from } else { to }
            }
        }
    }

    /// How far (mm) `point` lies outside the arc's full circle, negative inside; infinite for a
    /// line.
    pub(super) fn beyond_circle(&self, point: Point<S>) -> f64 {
        let Self::Arc { centre, radius, .. } = *self else { return f64::INFINITY };
        let out = (point - centre).length();
        match self.flat_power(point) {
            Some(power) => power / (out + radius),
            None => out - radius,
        }
    }

    /// The power of `point` as to the circle of a flat arc, |point − centre|² − radius², worked
    /// out on the chord: the difference of two large numbers would lose the digits that matter.
    pub(super) fn flat_power(&self, point: Point<S>) -> Option<f64> {
        match *self {
            Self::Arc { from, to, sweep, .. } if sweep.abs() < FLAT_SWEEP => {
                let (a, b) = (point - from, point - to);
                Some(a.dot(b) - a.cross(b) / (0.5 * sweep).tan())
            }
            _ => None,
        }
    }

    /// Carried into another space.
    pub fn placed<T: Space>(&self, pose: &Pose<S, T>) -> Edge<T> {
        self.carried(&pose.frame())
    }

    /// As [`placed`](Self::placed), with the pose's sine and cosine worked out.
    pub(crate) fn carried<T: Space>(&self, frame: &Frame<S, T>) -> Edge<T> {
        match *self {
            Self::Line { from, to } => Edge::Line { from: frame.point(from), to: frame.point(to) },
            Self::Arc { from, to, centre, radius, sweep } => Edge::Arc {
                from: frame.point(from),
                to: frame.point(to),
                centre: frame.point(centre),
                radius,
                sweep: frame.sweep(sweep),
            },
        }
    }

    /// Run the other way.
    pub fn reversed(&self) -> Self {
        match *self {
            Self::Line { from, to } => Self::Line { from: to, to: from },
            Self::Arc { from, to, centre, radius, sweep } => {
                Self::Arc { from: to, to: from, centre, radius, sweep: -sweep }
            }
        }
    }
}

/// Radians from `start` to `start + step` in the direction of `sweep`'s sign, in [0, 2π).
fn turned(start: Vector, step: Vector, sweep: f64) -> f64 {
    let turned = start.cross(step).atan2(start.dot(start + step));
    (if sweep > 0.0 { turned } else { -turned }).rem_euclid(TAU)
}

/// The share of the line at which it is nearest to `point`, from 0 to 1.
fn foot<S: Space>(from: Point<S>, to: Point<S>, point: Point<S>) -> f64 {
    let along = to - from;
    let length = along.length_squared();
    if length == 0.0 { 0.0 } else { (along.dot(point - from) / length).clamp(0.0, 1.0) }
}
