//! Least squares: the line, circle and slot that points lie on best, and how sure it is.
//!
//! Distances are measured square to what is fitted. Circles and slots begin from an algebraic guess
//! and are improved by Gauss–Newton steps on the distances themselves.

use std::f64::consts::PI;

use crate::shape::{Point, SheetSpace, Vector};

type P = Point<SheetSpace>;

/// Steps of Gauss–Newton; a few suffice from the guesses made here.
const STEPS: usize = 30;

/// The line that points lie on best.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Line {
    /// The middle of the points.
    pub at: P,
    /// Unit direction, from the first point toward the last.
    pub along: Vector,
    /// Number of points, and the sum of their squared distances (mm²) from the middle.
    spread: (f64, f64),
}

impl Line {
    /// The line through two points or more; `None` where they are one.
    pub fn of(points: &[P]) -> Option<Self> {
        let n = points.len() as f64;
        let first = *points.first()?;
        let mean = points.iter().fold(Vector::default(), |s, p| s + (*p - first)) * (1.0 / n);
        let at = first + mean;
        let (mut xx, mut xy, mut yy) = (0.0, 0.0, 0.0);
        for d in points.iter().map(|p| *p - at) {
            (xx, xy, yy) = (xx + d.x * d.x, xy + d.x * d.y, yy + d.y * d.y);
        }
        let angle = 0.5 * (2.0 * xy).atan2(xx - yy);
        let along = Vector::at_angle(angle);
        let spread: f64 = points.iter().map(|p| (*p - at).dot(along).powi(2)).sum();
        if points.len() < 2 || !at.is_finite() || spread.sqrt() < 1e-6 {
            return None;
        }
        let backward = (points[points.len() - 1] - first).dot(along) < 0.0;
        Some(Self { at, along: if backward { -along } else { along }, spread: (n, spread) })
    }

    /// The line through a point in a unit direction.
    pub fn through(at: P, along: Vector) -> Self {
        Self { at, along, spread: (1.0, f64::INFINITY) }
    }

    /// How far (mm) a point lies from it, positive to its left.
    pub fn off(&self, p: P) -> f64 {
        self.along.cross(p - self.at)
    }

    /// The point of it nearest to `p`.
    pub fn foot(&self, p: P) -> P {
        self.at + self.along * self.along.dot(p - self.at)
    }

    /// Where it crosses another; `None` where they run within `least` radians of each other.
    pub fn meets(&self, other: &Self, least: f64) -> Option<P> {
        let cross = self.along.cross(other.along);
        if cross.abs() < least.sin() {
            return None;
        }
        Some(self.at + self.along * ((other.at - self.at).cross(other.along) / cross))
    }

    /// How far (mm) the line may be off at `p` where each point may be off by `each`.
    pub fn unsure(&self, p: P, each: f64) -> f64 {
        let t = self.along.dot(p - self.at);
        each * (1.0 / self.spread.0 + t * t / self.spread.1).sqrt()
    }
}

/// The circle that points lie on best.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Circle {
    /// Its middle.
    pub centre: P,
    /// Millimetres.
    pub radius: f64,
}

impl Circle {
    /// The circle through three points or more; `None` where they lie on a line.
    pub fn of(points: &[P]) -> Option<Self> {
        let n = points.len();
        if n < 3 {
            return None;
        }
        let first = points[0];
        let mean =
            points.iter().fold(Vector::default(), |s, p| s + (*p - first)) * (1.0 / n as f64);
        let middle = first + mean;
        // The algebraic circle 2ax + 2by + c = x² + y² about the middle.
        let (mut m, mut r) = ([[0.0; 3]; 3], [0.0; 3]);
        for d in points.iter().map(|p| *p - middle) {
            let row = [2.0 * d.x, 2.0 * d.y, 1.0];
            add_square(&mut m, &mut r, &row, d.length_squared());
        }
        let [a, b, c] = solve(m, r)?;
        let guess = [a, b, (c + a * a + b * b).max(0.0).sqrt()];
        let improved = gauss_newton(guess, |p, sink| {
            for q in points {
                let d = (*q - middle) - Vector::new(p[0], p[1]);
                let length = d.length().max(1e-12);
                sink(length - p[2], [-d.x / length, -d.y / length, -1.0]);
            }
        })?;
        let circle =
            Self { centre: middle + Vector::new(improved[0], improved[1]), radius: improved[2] };
        let sound = circle.centre.is_finite() && circle.radius > 1e-6 && circle.radius < 1e7;
        sound.then_some(circle)
    }

    /// How far (mm) a point lies outside it.
    pub fn off(&self, p: P) -> f64 {
        self.centre.distance(p) - self.radius
    }

    /// How far (mm) its rim may be off anywhere where each of the points may be off by `each`.
    pub fn unsure(&self, points: &[P], each: f64) -> f64 {
        let row = |angle: f64| [-angle.cos(), -angle.sin(), -1.0];
        let (mut m, mut none) = ([[0.0; 3]; 3], [0.0; 3]);
        for p in points {
            add_square(&mut m, &mut none, &row((*p - self.centre).angle()), 0.0);
        }
        let worst = (0..24).map(|i| {
            let j = row(f64::from(i) * std::f64::consts::TAU / 24.0);
            solve(m, j).map_or(f64::INFINITY, |s| (0..3).map(|k| s[k] * j[k]).sum::<f64>())
        });
        each * worst.fold(0.0, f64::max).max(0.0).sqrt()
    }
}

/// The slot with round ends that points all round it lie on best.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Slot {
    /// Its middle.
    pub centre: P,
    /// From its middle to that of one round end.
    pub half: Vector,
    /// Of the round ends, mm.
    pub radius: f64,
}

/// Directions tried for a slot to begin with.
const WAYS: u8 = 48;

impl Slot {
    /// The slot; `None` where the points suggest none.
    pub fn of(points: &[P]) -> Option<Self> {
        let line = Line::of(points)?;
        if points.len() < 5 {
            return None;
        }
        let reach = |w: Vector| {
            let at = points.iter().map(|p| w.dot(*p - line.at));
            at.fold((f64::MAX, f64::MIN), |(l, h), t| (l.min(t), h.max(t)))
        };
        // A slot reaches farthest along itself; where most points lie says little of a short one.
        let longest = (0..WAYS).map(|k| Vector::at_angle(PI * f64::from(k) / f64::from(WAYS)));
        let long = |w: &Vector| reach(*w).1 - reach(*w).0;
        let u = longest.max_by(|a, b| long(a).total_cmp(&long(b)))?;
        let v = u.left();
        let ((low, high), (under, over)) = (reach(u), reach(v));
        let centre = line.at + u * (0.5 * (low + high)) + v * (0.5 * (under + over));
        let radius = 0.5 * (over - under);
        let half = 0.5 * (high - low) - radius;
        if radius <= 0.0 || half <= 0.05 * radius {
            return None;
        }
        // Numbers: middle along and across, angle, half length, radius.
        let at = |p: &[f64; 5]| {
            let centre = centre + u * p[0] + v * p[1];
            Self { centre, half: Vector::at_angle(u.angle() + p[2]) * p[3].max(1e-9), radius: p[4] }
        };
        let scale = half + radius;
        let found = gauss_newton([0.0, 0.0, 0.0, half, radius], |p, sink| {
            let here = at(p);
            for q in points {
                let value = here.off(*q);
                let mut slope = [0.0; 5];
                for (k, slope) in slope.iter_mut().enumerate() {
                    let step = if k == 2 { 1e-6 } else { 1e-6 * scale };
                    let mut beside = *p;
                    beside[k] += step;
                    *slope = (at(&beside).off(*q) - value) / step;
                }
                sink(value, slope);
            }
        })?;
        let slot = at(&found);
        (slot.radius > 0.0 && slot.half.length() > 0.0 && slot.centre.is_finite()).then_some(slot)
    }

    /// How far (mm) a point lies outside it.
    pub fn off(&self, p: P) -> f64 {
        let (d, length) = (p - self.centre, self.half.length());
        let along = self.half.unit().unwrap_or(Vector::new(1.0, 0.0));
        let t = along.dot(d).clamp(-length, length);
        (d - along * t).length() - self.radius
    }
}

/// Adds one equation, `row` · x = `value`, to the normal equations.
pub fn add_square<const N: usize>(
    m: &mut [[f64; N]; N],
    r: &mut [f64; N],
    row: &[f64; N],
    value: f64,
) {
    for i in 0..N {
        for j in 0..N {
            m[i][j] += row[i] * row[j];
        }
        r[i] += row[i] * value;
    }
}

/// Solves `m` x = `r` with the greatest pivots; `None` where `m` is singular.
pub fn solve<const N: usize>(mut m: [[f64; N]; N], mut r: [f64; N]) -> Option<[f64; N]> {
    let scale = m.iter().flatten().fold(0.0_f64, |s, v| s.max(v.abs()));
    for k in 0..N {
        let pivot = (k..N).max_by(|a, b| m[*a][k].abs().total_cmp(&m[*b][k].abs()))?;
        m.swap(k, pivot);
        r.swap(k, pivot);
        if m[k][k].is_nan() || m[k][k].abs() <= 1e-14 * scale {
            return None;
        }
        for i in k + 1..N {
            let share = m[i][k] / m[k][k];
            let upper = m[k];
            for (below, above) in m[i].iter_mut().zip(upper).skip(k) {
                *below -= share * above;
            }
            r[i] -= share * r[k];
        }
    }
    for k in (0..N).rev() {
        for j in k + 1..N {
            r[k] -= m[k][j] * r[j];
        }
        r[k] /= m[k][k];
    }
    r.iter().all(|v| v.is_finite()).then_some(r)
}

/// What takes a residual and its slopes by each of the numbers sought.
type Sink<'a, const N: usize> = dyn FnMut(f64, [f64; N]) + 'a;

/// The numbers that make the squares of the residuals least, from a guess; `None` where they run
/// away. `residuals` tells the residuals at given numbers.
pub fn gauss_newton<const N: usize>(
    guess: [f64; N],
    residuals: impl Fn(&[f64; N], &mut Sink<'_, N>),
) -> Option<[f64; N]> {
    let squares = |x: &[f64; N]| {
        let mut sum = 0.0;
        residuals(x, &mut |value, _| sum += value * value);
        sum
    };
    let (mut now, mut least) = (guess, squares(&guess));
    for _ in 0..STEPS {
        let (mut m, mut r) = ([[0.0; N]; N], [0.0; N]);
        residuals(&now, &mut |value, slope| add_square(&mut m, &mut r, &slope, -value));
        // A trace of damping keeps numbers that nothing depends on where they are.
        for (k, row) in m.iter_mut().enumerate() {
            row[k] *= 1.0 + 1e-12;
        }
        let Some(step) = solve(m, r) else { break };
        // A step that makes it worse is halved.
        let shorter = (0..12).map(|i| 0.5f64.powi(i)).find_map(|share| {
            let mut next = now;
            for (x, d) in next.iter_mut().zip(step) {
                *x += share * d;
            }
            let sum = squares(&next);
            (sum <= least).then_some((next, sum))
        });
        let Some((next, sum)) = shorter else { break };
        let settled = least - sum <= 1e-14 * least;
        (now, least) = (next, sum);
        if settled {
            break;
        }
    }
    least.is_finite().then_some(now)
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn on_circle(x: f64, y: f64, r: f64, from: f64, sweep: f64, n: usize) -> Vec<P> {
        let at = |i: usize| from + sweep * i as f64 / (n - 1) as f64;
        (0..n).map(|i| Point::new(x, y) + Vector::at_angle(at(i)) * r).collect()
    }

    proptest! {
        #[test]
        fn points_of_a_line_give_it_back(
            x in -2e3..2e3f64, y in -2e3..2e3f64, angle in -3.0..3.0f64, n in 2usize..9,
        ) {
            let along = Vector::at_angle(angle);
            let points: Vec<P> =
                (0..n).map(|i| Point::new(x, y) + along * (37.0 * i as f64)).collect();
            let line = Line::of(&points).unwrap();
            prop_assert!(line.along.dot(along) > 1.0 - 1e-12);
            prop_assert!(points.iter().all(|p| line.off(*p).abs() < 1e-8));
        }

        #[test]
        fn points_of_a_circle_give_it_back(
            x in -2e3..2e3f64, y in -2e3..2e3f64, r in 4.0..800.0f64,
            from in 0.0..6.0f64, sweep in 0.8..6.0f64, n in 3usize..12,
        ) {
            let circle = Circle::of(&on_circle(x, y, r, from, sweep, n)).unwrap();
            prop_assert!(circle.centre.distance(Point::new(x, y)) < 1e-5 * r, "{:?}", circle);
            prop_assert!((circle.radius - r).abs() < 1e-5 * r);
        }

        #[test]
        fn points_of_a_slot_give_it_back(
            x in -2e3..2e3f64, y in -2e3..2e3f64, r in 3.0..60.0f64, long in 0.5..8.0f64,
            angle in -1.5..1.5f64,
        ) {
            let half = Vector::at_angle(angle) * (long * r);
            let shape = super::super::typed::slot(Point::new(x, y), half, r).unwrap();
            let edges: Vec<_> = shape.edges().collect();
            let points: Vec<P> = edges
                .iter()
                .flat_map(|e| (0..20).map(|i| e.at(f64::from(i) / 20.0)))
                .collect();
            let slot = Slot::of(&points).unwrap();
            prop_assert!(slot.centre.distance(Point::new(x, y)) < 1e-3 * r, "{:?}", slot);
            prop_assert!((slot.radius - r).abs() < 1e-3 * r);
            prop_assert!((slot.half.length() - long * r).abs() < 2e-3 * r);
        }
    }

    #[test]
    fn what_has_no_answer_has_none() {
        let p = |x: f64, y: f64| Point::new(x, y);
        assert!(Line::of(&[p(1.0, 1.0), p(1.0, 1.0)]).is_none());
        assert!(Line::of(&[]).is_none());
        assert!(Circle::of(&[p(0.0, 0.0), p(1.0, 0.0), p(2.0, 0.0)]).is_none());
        assert!(Circle::of(&[p(0.0, 0.0), p(1.0, f64::NAN), p(2.0, 0.0)]).is_none());
        assert!(solve([[1.0, 2.0], [2.0, 4.0]], [1.0, 2.0]).is_none());
    }

    #[test]
    fn a_short_slot_with_most_points_on_its_sides_is_one() {
        let shape = super::super::typed::slot(Point::origin(), Vector::new(1.5, 0.0), 3.0).unwrap();
        let edges: Vec<_> = shape.edges().collect();
        let points: Vec<P> =
            edges.iter().flat_map(|e| (0..20).map(|i| e.at(f64::from(i) / 20.0))).collect();
        let slot = Slot::of(&points).unwrap();
        assert!((slot.radius - 3.0).abs() < 3e-3 && (slot.half.length() - 1.5).abs() < 6e-3);
    }

    /// Two points a length L apart, each off by 0.5 at most in root mean square: in the middle 0.5 /
    /// √2, at each point 0.5.
    #[test]
    fn a_line_is_surest_between_its_points() {
        let line = Line::of(&[Point::new(0.0, 0.0), Point::new(1000.0, 0.0)]).unwrap();
        assert!((line.unsure(Point::new(500.0, 0.0), 0.5) - 0.5 / 2f64.sqrt()).abs() < 1e-12);
        assert!((line.unsure(Point::new(0.0, 0.0), 0.5) - 0.5).abs() < 1e-12);
        assert!(line.unsure(Point::new(2000.0, 0.0), 0.5) > 1.0);
    }

    /// With points all round the rim is as sure as their number makes it; on a short arc it is not.
    #[test]
    fn a_circle_by_a_short_arc_is_unsure() {
        let round = on_circle(0.0, 0.0, 20.0, 0.0, 5.0, 8);
        let short = on_circle(0.0, 0.0, 20.0, 0.0, 0.8, 8);
        let unsure = |points: &[P]| Circle::of(points).unwrap().unsure(points, 0.5);
        assert!(unsure(&round) < 0.5 && unsure(&short) > 3.0);
    }
}
