//! Ellipses and splines as lines and arcs.
//!
//! A run of smooth curves is replaced by a *biarc*: two arcs that start and end where the run
//! does, in its directions, and meet smoothly (Bolton 1975). Each is made as long as the run lets it
//! be without leaving it by too much.

use oddment_core::shape::{Edge, PartSpace, Point, Vector};

use super::DrawingFault;
use super::curve::{Curve, Drawn, Stroke};
use super::join::Piece;

/// The arcs stay within this (mm) of the samples; between samples a fifth of it more, at most.
const TOLERANCE: f64 = 0.004;

/// A run that stays within this (mm) of its chord is a line.
const STRAIGHT: f64 = 0.0005;

/// Directions of neighbouring curves that differ by more than this (radians) make a corner.
const CORNER: f64 = 0.01;

/// Stretches shorter than this share of a curve are taken for straight: it has a cusp there.
const SHORTEST: f64 = 1e-6;

/// More lines and arcs than this are refused.
const MOST_EDGES: usize = 250_000;

/// The strokes in millimetres, `scale` of them to a unit of the file, as lines and arcs.
pub(super) fn pieces(strokes: &[Stroke], scale: f64) -> Result<Vec<Piece>, DrawingFault> {
    let mut total = 0;
    let mut pieces = Vec::with_capacity(strokes.len());
    for stroke in strokes {
        let edges = edges(&stroke.curves, scale);
        total += edges.len();
        if total > MOST_EDGES {
            return Err(DrawingFault::TooLarge(format!("more than {MOST_EDGES} lines and arcs")));
        }
        if !edges.is_empty() && edges.iter().all(|e| e.from().is_finite() && e.to().is_finite()) {
            pieces.push(Piece { edges, layer: stroke.layer, dashed: stroke.dashed });
        }
    }
    Ok(pieces)
}

fn edges(curves: &[Curve], scale: f64) -> Vec<Edge<PartSpace>> {
    let mut edges = Vec::with_capacity(curves.len());
    let mut rest = curves;
    while let Some(first) = rest.first() {
        if let Curve::Edge(edge) = first {
            edges.push(scaled(edge, scale));
            rest = &rest[1..];
            continue;
        }
        let mut count = 1;
        while rest.get(count).is_some_and(|next| flows(&rest[count - 1], next)) {
            count += 1;
        }
        let run = Run { curves: &rest[..count], scale };
        run.fit(&mut edges);
        rest = &rest[count..];
    }
    edges
}

fn scaled(edge: &Edge<Drawn>, scale: f64) -> Edge<PartSpace> {
    let mm = |p: Point<Drawn>| Point::new(p.x * scale, p.y * scale);
    match *edge {
        Edge::Line { from, to } => Edge::Line { from: mm(from), to: mm(to) },
        Edge::Arc { from, to, centre, radius, sweep } => Edge::Arc {
            from: mm(from),
            to: mm(to),
            centre: mm(centre),
            radius: radius * scale,
            sweep,
        },
    }
}

/// Whether `next` leaves in the direction in which `before` arrives.
fn flows(before: &Curve, next: &Curve) -> bool {
    if matches!(next, Curve::Edge(_)) {
        return false;
    }
    let (a, b) = (direction(|t| before.at(t), 1.0), direction(|t| next.at(t), 0.0));
    a.cross(b).abs() < CORNER && a.dot(b) > 0.0
}

/// Unit direction at `t`; where the derivative vanishes, toward a point nearby.
fn direction(at: impl Fn(f64) -> (Point<Drawn>, Vector), t: f64) -> Vector {
    let (point, derivative) = at(t);
    let inward = if t < 0.5 { 1.0 } else { -1.0 };
    let beside = (at(t + inward * 1e-3).0 - point) * inward;
    // The derivative is a thousand times as long unless it vanishes.
    let reliable = derivative.length() > beside.length();
    (if reliable { derivative } else { beside }).unit().unwrap_or_default()
}

/// Smooth curves one after another; its parameter counts them.
struct Run<'a> {
    curves: &'a [Curve],
    scale: f64,
}

impl Run<'_> {
    /// Where the parameter falls: a curve and its own parameter. At a joint, `late` takes the
    /// curve behind it.
    fn split(&self, t: f64, late: bool) -> (&Curve, f64) {
        let last = self.curves.len() - 1;
        let whole = if late { t.floor() } else { t.ceil() - 1.0 };
        let i = (whole.max(0.0) as usize).min(last);
        (&self.curves[i], t - i as f64)
    }

    fn point(&self, t: f64) -> Point<PartSpace> {
        let (curve, t) = self.split(t, true);
        let point = curve.at(t).0;
        Point::new(point.x * self.scale, point.y * self.scale)
    }

    fn direction(&self, t: f64, late: bool) -> Vector {
        let (curve, t) = self.split(t, late);
        direction(|t| curve.at(t), t)
    }

    /// Replaces all of it, each time by the longest biarc that stays close, to an eighth.
    fn fit(&self, edges: &mut Vec<Edge<PartSpace>>) {
        let whole = self.curves.len() as f64;
        let (mut start, mut reach) = (0.0, (whole / 2.0).min(1.0));
        while start < whole {
            let end = |reach: f64| if start + reach < whole { start + reach } else { whole };
            let mut best = self.replace(start, end(reach));
            let mut too_far = None;
            while best.is_none() && reach > SHORTEST {
                too_far = Some(reach);
                reach /= 2.0;
                best = self.replace(start, end(reach));
            }
            for _ in 0..2 {
                let Some(far) = too_far else { break };
                let between = (reach + far) / 2.0;
                match self.replace(start, end(between)) {
                    Some(longer) => (best, reach) = (Some(longer), between),
                    None => too_far = Some(between),
                }
            }
            match best {
                Some(found) => edges.extend(found),
                None => {
                    let (from, to) = (self.point(start), self.point(end(reach)));
                    edges.push(Edge::Line { from, to });
                }
            }
            start = end(reach);
            reach *= 2.0;
        }
    }

    /// A line or two arcs in place of a stretch, where they stay close to it.
    fn replace(&self, start: f64, end: f64) -> Option<Vec<Edge<PartSpace>>> {
        let count = 12 + 4 * (end - start).ceil() as usize;
        let samples: Vec<_> = (0..=count)
            .map(|i| self.point(start + (end - start) * i as f64 / count as f64))
            .collect();
        let (from, to) = (samples[0], samples[count]);
        let length: f64 = samples.windows(2).map(|p| p[0].distance(p[1])).sum();
        let line = [Edge::Line { from, to }];
        if close(&samples, &line, STRAIGHT, length) {
            return Some(line.to_vec());
        }
        let arcs = biarc(from, self.direction(start, true), to, self.direction(end, false))?;
        close(&samples, &arcs, TOLERANCE, length).then(|| arcs.to_vec())
    }
}

/// Whether all samples lie within `bound` of the edges, which are as long as the curve is.
fn close(samples: &[Point<PartSpace>], edges: &[Edge<PartSpace>], bound: f64, length: f64) -> bool {
    // A detour that leaves no sample behind shows in the length.
    let edge_length: f64 = edges.iter().map(Edge::length).sum();
    (edge_length - length).abs() <= 0.1 * length + bound
        && samples.iter().all(|p| edges.iter().any(|e| e.nearest(*p).distance(*p) <= bound))
}

/// The two arcs from `from` to `to` in these unit directions, equally far along both from the
/// corner where they meet.
fn biarc(
    from: Point<PartSpace>,
    leaving: Vector,
    to: Point<PartSpace>,
    arriving: Vector,
) -> Option<[Edge<PartSpace>; 2]> {
    let chord = to - from;
    let sum = leaving + arriving;
    let a = 2.0 * (1.0 - leaving.dot(arriving));
    let (b, c) = (chord.dot(sum), chord.length_squared());
    // The tangents' length d solves a d² + 2 b d − c = 0; the form with the root in the
    // denominator holds for parallel directions (a = 0) too.
    let reach = c / (b + (b * b + a * c).sqrt());
    if !reach.is_finite() || reach <= 0.0 {
        return None;
    }
    let middle = (from + leaving * reach).midpoint(to - arriving * reach);
    let first = arc_along(from, leaving, middle)?;
    let last = arc_along(to, -arriving, middle)?.reversed();
    Some([first, last])
}

/// The arc of less than half a turn that leaves `from` in this direction and ends at `to`.
fn arc_along(
    from: Point<PartSpace>,
    leaving: Vector,
    to: Point<PartSpace>,
) -> Option<Edge<PartSpace>> {
    let chord = to - from;
    let half = leaving.cross(chord).atan2(leaving.dot(chord));
    let in_reach = chord != Vector::default() && half.abs() < std::f64::consts::FRAC_PI_2;
    in_reach.then(|| Edge::new(from, to, (half / 2.0).tan()))
}
