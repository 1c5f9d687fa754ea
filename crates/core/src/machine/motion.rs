//! How long the head takes along lines and arcs.
//!
//! The head speeds up and slows down by no more than its acceleration, goes round an arc no faster
//! than that acceleration holds it on the arc, and takes a corner no faster than at a speed whose
//! change of direction is a jump it can make. Within these limits it is as fast as can be: from
//! every place it must still be able to slow down for what comes, so limits are carried backward
//! and then forward along the run, and each piece takes the time of a trapezoid.

use crate::shape::{Edge, Space};

/// How a head moves.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Motion {
    /// mm/s².
    pub acceleration: f64,
    /// Speed (mm/s) of moves without the beam.
    pub rapid: f64,
    /// The change of velocity (mm/s) that the head makes at once in a corner.
    pub corner_jump: f64,
    /// Seconds to lift the head and let it down again.
    pub lift_seconds: f64,
    /// Seconds to find the surface before a pierce.
    pub touch_off_seconds: f64,
}

impl Motion {
    /// A middling gantry. A starting point to be replaced by the machine's own figures.
    pub const STARTING: Self = Self {
        acceleration: 8_000.0,
        rapid: 1_000.0,
        corner_jump: 60.0,
        lift_seconds: 0.6,
        touch_off_seconds: 0.2,
    };

    /// Seconds for each edge of a chain that begins and ends at rest, with at most `feed` mm/s
    /// along each edge, as `feed` says of it.
    pub fn seconds<S: Space>(&self, run: &[Edge<S>], feed: impl Fn(&Edge<S>) -> f64) -> Vec<f64> {
        let a = self.acceleration;
        let most: Vec<f64> = run.iter().map(|e| feed(e).min(self.on_arc(e)).max(1e-6)).collect();
        // Speeds at the joints, ends included.
        let mut at = vec![0.0; run.len() + 1];
        for i in 1..run.len() {
            at[i] = self.corner(&run[i - 1], &run[i]).min(most[i - 1]).min(most[i]);
        }
        for i in (0..run.len()).rev() {
            at[i] = at[i].min(reached(at[i + 1], a, run[i].length()));
        }
        for i in 0..run.len() {
            at[i + 1] = at[i + 1].min(reached(at[i], a, run[i].length()));
        }
        let piece = |i: usize| trapezoid(run[i].length(), at[i], at[i + 1], most[i], a);
        (0..run.len()).map(piece).collect()
    }

    /// Seconds for a straight move of `length` mm without the beam, from rest to rest.
    pub fn rapid_seconds(&self, length: f64) -> f64 {
        trapezoid(length, 0.0, 0.0, self.rapid, self.acceleration)
    }

    /// The fastest (mm/s) along an edge: unbounded on a line.
    fn on_arc<S: Space>(&self, edge: &Edge<S>) -> f64 {
        match edge {
            Edge::Line { .. } => f64::INFINITY,
            Edge::Arc { radius, .. } => (self.acceleration * radius).sqrt(),
        }
    }

    /// The fastest (mm/s) from one edge onto the next.
    fn corner<S: Space>(&self, before: &Edge<S>, after: &Edge<S>) -> f64 {
        let change = (after.direction(0.0) - before.direction(1.0)).length();
        if change < 1e-6 { f64::INFINITY } else { self.corner_jump / change }
    }
}

/// The speed reached from `speed` over `length` with acceleration `a`.
fn reached(speed: f64, a: f64, length: f64) -> f64 {
    (speed * speed + 2.0 * a * length).sqrt()
}

/// Seconds over `length` from one speed to another, at most `most` in between.
fn trapezoid(length: f64, from: f64, to: f64, most: f64, a: f64) -> f64 {
    let peak = (0.5 * (from * from + to * to) + a * length).sqrt().min(most.max(from).max(to));
    let changing = (2.0 * peak * peak - from * from - to * to) / (2.0 * a);
    let cruising = (length - changing).max(0.0);
    (2.0 * peak - from - to) / a + if peak > 0.0 { cruising / peak } else { 0.0 }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::shape::{Loop, PartSpace, Point};

    const M: Motion = Motion { acceleration: 1000.0, corner_jump: 50.0, ..Motion::STARTING };

    fn line(from: (f64, f64), to: (f64, f64)) -> Edge<PartSpace> {
        Edge::new(Point::new(from.0, from.1), Point::new(to.0, to.1), 0.0)
    }

    #[track_caller]
    fn check(run: &[Edge<PartSpace>], feed: f64, seconds: f64) {
        let total: f64 = M.seconds(run, |_| feed).iter().sum();
        assert!((total - seconds).abs() < 1e-9, "{total} s, not {seconds}");
        let back: Vec<_> = run.iter().rev().map(Edge::reversed).collect();
        let total: f64 = M.seconds(&back, |_| feed).iter().sum();
        assert!((total - seconds).abs() < 1e-9, "the other way {total} s");
    }

    #[test]
    fn a_line_is_a_trapezoid_or_a_triangle() {
        // 100 mm/s is reached after 0.1 s and 5 mm.
        check(&[line((0.0, 0.0), (110.0, 0.0))], 100.0, 0.2 + 1.0);
        check(&[line((0.0, 0.0), (10.0, 0.0))], 100.0, 0.2);
        check(&[line((0.0, 0.0), (2.5, 0.0))], 100.0, 0.1);
    }

    #[test]
    fn pieces_of_a_line_take_as_long_as_the_line() {
        let pieces: Vec<_> = (0..11)
            .map(|i| line((10.0 * f64::from(i), 0.0), (10.0 * f64::from(i + 1), 0.0)))
            .collect();
        check(&pieces, 100.0, 1.2);
    }

    #[test]
    fn a_square_corner_is_taken_at_its_speed() {
        // The jump of 50 mm/s allows 50 / √2 round a square corner.
        let v = 50.0 / 2f64.sqrt();
        let up = 0.1 + (100.0 - v) / 1000.0;
        let travelled = (100.0 * 100.0 + 100.0 * 100.0 - v * v) / 2000.0;
        let leg = up + (100.0 - travelled) / 100.0;
        check(
            &[line((0.0, 0.0), (100.0, 0.0)), line((100.0, 0.0), (100.0, 100.0))],
            100.0,
            2.0 * leg,
        );
    }

    #[test]
    fn turning_back_means_a_jump_of_twice_the_speed() {
        let v = 25.0;
        let leg = 0.1 + (100.0 - v) / 1000.0 + (100.0 - (2.0 * 1e4 - v * v) / 2000.0) / 100.0;
        check(&[line((0.0, 0.0), (100.0, 0.0)), line((100.0, 0.0), (0.0, 0.0))], 100.0, 2.0 * leg);
    }

    #[test]
    fn a_circle_is_no_faster_than_it_holds() {
        let circle = Loop::<PartSpace>::circle(Point::origin(), 2.5).unwrap();
        let run: Vec<_> = circle.edges().collect();
        // √(1000 × 2.5) = 50 mm/s, reached after 0.05 s and 1.25 mm.
        let length = 5.0 * std::f64::consts::PI;
        check(&run, 100.0, 0.1 + (length - 2.5) / 50.0);
    }

    #[test]
    fn a_move_without_the_beam_is_a_trapezoid_too() {
        let seconds = Motion { rapid: 500.0, ..M }.rapid_seconds(1000.0);
        assert!((seconds - (1.0 + 1.5)).abs() < 1e-12);
    }
}
