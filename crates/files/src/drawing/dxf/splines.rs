//! Splines as rational Bézier curves.

use oddment_core::shape::{Point, Vector};

use super::super::curve::{Curve, Drawn, HIGHEST_DEGREE};

/// A non-uniform rational B-spline.
pub(super) struct Nurbs {
    pub(super) degree: usize,
    pub(super) knots: Vec<f64>,
    /// One per control point, or none where all weigh alike.
    pub(super) weights: Vec<f64>,
    pub(super) control: Vec<Point<Drawn>>,
    /// What the file says; whether it is so is for the geometry to tell.
    pub(super) closed: bool,
}

/// A point times its weight, and the weight.
type Weighted = (Vector, f64);

impl Nurbs {
    /// One Bézier curve for each span of knots.
    ///
    /// Follows the blossom (polar form) of a B-spline: the control points of a span's Bézier curve
    /// are the blossom's values at mixtures of the span's two ends (Ramshaw 1987).
    pub(super) fn curves(mut self) -> Result<Vec<Curve>, &'static str> {
        let degree = self.degree;
        if degree == 0 || degree > HIGHEST_DEGREE {
            return Err("a spline of this degree can't be");
        }
        if self.control.len() <= degree {
            return Err("a spline has too few control points for its degree");
        }
        self.complete();
        if self.knots.windows(2).any(|k| k[1] < k[0]) {
            return Err("a spline's knots must not decrease");
        }
        if self.weights.iter().any(|w| *w <= 0.0) {
            return Err("a spline's weights must be positive");
        }
        let points: Vec<Weighted> = (self.control.iter())
            .zip(&self.weights)
            .map(|(p, w)| (p.to_vector() * *w, *w))
            .collect();
        let mut curves = Vec::new();
        for span in degree..points.len() {
            let (start, end) = (self.knots[span], self.knots[span + 1]);
            if end <= start {
                continue;
            }
            let bezier = (0..=degree).map(|i| {
                let ends = (0..degree).map(|j| if j < degree - i { start } else { end });
                let (sum, weight) = blossom(&points, &self.knots, degree, span, ends);
                (Point::origin() + sum * (1.0 / weight), weight)
            });
            curves.push(Curve::Bezier(bezier.collect()));
        }
        Ok(curves)
    }

    /// Fills in what files leave out: weights, knots, and the control points that a closed spline
    /// shares between its two ends.
    fn complete(&mut self) {
        let (count, degree) = (self.control.len(), self.degree);
        if self.weights.len() != count {
            self.weights = vec![1.0; count];
        }
        if self.knots.len() != count + degree + 1 {
            let inner = count - degree;
            self.knots =
                (0..=count + degree).map(|i| i.clamp(degree, degree + inner) as f64).collect();
        }
        // A closed spline with free ends repeats its first control points at its end; some files
        // leave that to the reader.
        let first = self.knots[..=degree].iter().all(|k| *k == self.knots[0]);
        let wrapped = (0..degree).all(|i| self.control[i] == self.control[count - degree + i]);
        if self.closed && !first && !wrapped {
            let step = (self.knots[count] - self.knots[degree]) / (count - degree) as f64;
            self.control.extend_from_within(..degree);
            self.weights.extend_from_within(..degree);
            self.knots = (0..=count + 2 * degree).map(|i| i as f64 * step).collect();
        }
    }
}

/// The blossom of the polynomial of one span, by de Boor's construction with a parameter of its
/// own for each round.
fn blossom(
    points: &[Weighted],
    knots: &[f64],
    degree: usize,
    span: usize,
    parameters: impl Iterator<Item = f64>,
) -> Weighted {
    let mut work: Vec<Weighted> = points[span - degree..=span].to_vec();
    for (round, t) in (1..).zip(parameters) {
        for j in (round..=degree).rev() {
            let i = span - degree + j;
            let (low, high) = (knots[i], knots[i + degree + 1 - round]);
            let share = (t - low) / (high - low);
            let ((a, wa), (b, wb)) = (work[j - 1], work[j]);
            work[j] = (a * (1.0 - share) + b * share, wa * (1.0 - share) + wb * share);
        }
    }
    work[degree]
}

/// The smooth curve through `points`: a cubic spline with continuous curvature, its parameter
/// running with the chords, its ends free of curvature; closed ones run round smoothly.
pub(super) fn through(points: &[Point<Drawn>], closed: bool) -> Vec<Curve> {
    let mut points = points.to_vec();
    points.dedup();
    let meets = points.len() > 3 && points.first() == points.last();
    if meets {
        points.pop();
    }
    let count = points.len();
    if count < 2 {
        return Vec::new();
    }
    if count == 2 {
        return vec![Curve::Bezier(points.iter().map(|p| (*p, 1.0)).collect())];
    }
    if !(closed || meets) {
        return natural(&points);
    }
    // What happens at a point fades by a factor of four from each point to the next, so that a
    // run-up of sixteen points at each end makes a closed curve smooth beyond what can be drawn.
    let run_up = 16;
    let round: Vec<_> =
        (0..=count + 2 * run_up).map(|i| points[(i + count * run_up - run_up) % count]).collect();
    natural(&round).drain(run_up..run_up + count).collect()
}

fn natural(points: &[Point<Drawn>]) -> Vec<Curve> {
    let n = points.len() - 1;
    let step: Vec<f64> = points.windows(2).map(|p| p[0].distance(p[1])).collect();
    let slope: Vec<Vector> =
        points.windows(2).zip(&step).map(|(p, h)| (p[1] - p[0]) * (1.0 / h)).collect();
    // The derivatives at the points solve a tridiagonal system: forward, then back.
    let mut upper = vec![0.5; n + 1];
    let mut tangent = vec![slope[0] * 1.5; n + 1];
    for i in 1..=n {
        let (below, diagonal, above, right) = if i == n {
            (1.0, 2.0, 0.0, slope[n - 1] * 3.0)
        } else {
            let (before, after) = (step[i - 1], step[i]);
            let right = (slope[i - 1] * after + slope[i] * before) * 3.0;
            (after, 2.0 * (before + after), before, right)
        };
        let pivot = diagonal - below * upper[i - 1];
        upper[i] = above / pivot;
        tangent[i] = (right - tangent[i - 1] * below) * (1.0 / pivot);
    }
    for i in (0..n).rev() {
        tangent[i] = tangent[i] - tangent[i + 1] * upper[i];
    }
    (0..n)
        .map(|i| {
            let third = step[i] / 3.0;
            let (a, b) = (points[i], points[i + 1]);
            let inner = [a + tangent[i] * third, b - tangent[i + 1] * third];
            Curve::Bezier([a, inner[0], inner[1], b].map(|p| (p, 1.0)).to_vec())
        })
        .collect()
}
