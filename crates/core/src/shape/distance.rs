//! How far apart two shapes are: exactly, on their lines and arcs.
//!
//! *Gap*: the nearest points of two boundaries. *Spare*: the gap, or minus the *depth* when the
//! interiors overlap. Depth is the greatest distance that a point of one boundary lies inside the
//! other shape, looked for at corners and half-way between the places where the boundaries cross;
//! for a small overlap of lines and arcs that is where the deepest point lies.

use super::{Edge, EdgeSet, Point, Space, Vector};

/// Boundaries nearer than this (mm) count as touching, and overlaps less deep as none: it lies
/// well above the noise of f64 on a sheet of some metres and well below any measurement.
const TOUCH: f64 = 1e-7;

/// How far (mm) inside a shared edge to look for whether both shapes lie on the same side of it.
const PEEK: f64 = 1e-2;

/// The nearest points of two shapes.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Gap<S> {
    /// Distance in mm; minus the depth when interiors overlap.
    pub distance: f64,
    /// The point on the first shape's boundary.
    pub from: Point<S>,
    /// The point on the second's.
    pub to: Point<S>,
}

/// The nearest points of two edges; distance 0 where they cross.
pub fn edge_gap<S: Space>(a: &Edge<S>, b: &Edge<S>) -> Gap<S> {
    closest(a, b)
}

pub(super) fn closest<S: Space>(a: &Edge<S>, b: &Edge<S>) -> Gap<S> {
    if let Some(meet) = crossings(a, b).into_iter().flatten().next() {
        return Gap { distance: 0.0, from: meet, to: meet };
    }
    let mut best = Gap { distance: f64::INFINITY, from: a.from(), to: b.from() };
    let mut offer = |from: Point<S>, to: Point<S>| {
        let distance = from.distance(to);
        if distance < best.distance {
            best = Gap { distance, from, to };
        }
    };
    for end in [a.from(), a.to()] {
        offer(end, b.nearest(end));
    }
    for end in [b.from(), b.to()] {
        offer(a.nearest(end), end);
    }
    match (a, b) {
        (Edge::Line { .. }, Edge::Line { .. }) => {}
        (Edge::Line { .. }, Edge::Arc { centre, .. }) => {
            let on_line = a.nearest(*centre);
            offer(on_line, b.nearest(on_line));
        }
        (Edge::Arc { centre, .. }, Edge::Line { .. }) => {
            let on_line = b.nearest(*centre);
            offer(a.nearest(on_line), on_line);
        }
        (Edge::Arc { centre: p, radius, .. }, Edge::Arc { centre: q, .. }) => {
            // Away from the ends the nearest points lie on the line through both centres.
            if let Some(toward) = (*q - *p).unit() {
                for on_a in [*p + toward * *radius, *p - toward * *radius] {
                    if a.sees(on_a) {
                        offer(on_a, b.nearest(on_a));
                    }
                }
            }
        }
    }
    best
}

/// Where two edges cross or touch, at most twice. Edges that run along each other are not looked
/// at here: their ends tell.
fn crossings<S: Space>(a: &Edge<S>, b: &Edge<S>) -> [Option<Point<S>>; 2] {
    match (*a, *b) {
        (Edge::Line { from: p, to: q }, Edge::Line { from: r, to: s }) => {
            let (u, v) = (q - p, s - r);
            let turn = u.cross(v);
            if turn * turn <= 1e-24 * u.length_squared() * v.length_squared() {
                return [None, None];
            }
            let along = (r - p).cross(v) / turn;
            let across = (r - p).cross(u) / turn;
            let meets = (0.0..=1.0).contains(&along) && (0.0..=1.0).contains(&across);
            [meets.then(|| p + u * along), None]
        }
        (Edge::Line { from, to }, Edge::Arc { centre, radius, .. }) => {
            line_circle(from, to, centre, radius).map(|p| p.filter(|p| b.sees(*p)))
        }
        (Edge::Arc { centre, radius, .. }, Edge::Line { from, to }) => {
            line_circle(from, to, centre, radius).map(|p| p.filter(|p| a.sees(*p)))
        }
        (Edge::Arc { centre: p, radius: r, .. }, Edge::Arc { centre: q, radius: s, .. }) => {
            circle_circle(p, r, q, s).map(|p| p.filter(|p| a.sees(*p) && b.sees(*p)))
        }
    }
}

fn line_circle<S: Space>(
    from: Point<S>,
    to: Point<S>,
    centre: Point<S>,
    radius: f64,
) -> [Option<Point<S>>; 2] {
    let along = to - from;
    let length = along.length();
    if length == 0.0 {
        return [None, None];
    }
    let unit = along * (1.0 / length);
    let foot = unit.dot(centre - from);
    let off = unit.cross(centre - from);
    let half_square = (radius - off) * (radius + off);
    if half_square < 0.0 {
        return [None, None];
    }
    let half = half_square.sqrt();
    [foot - half, foot + half].map(|t| (0.0..=length).contains(&t).then(|| from + unit * t))
}

fn circle_circle<S: Space>(p: Point<S>, r: f64, q: Point<S>, s: f64) -> [Option<Point<S>>; 2] {
    let between = q - p;
    let d = between.length();
    if d == 0.0 || d > r + s || d < (r - s).abs() {
        return [None, None];
    }
    let unit = between * (1.0 / d);
    let along = (d + (r - s) * (r + s) / d) * 0.5;
    let half = ((r - along) * (r + along)).max(0.0).sqrt();
    [half, -half].map(|h| Some(p + unit * along + unit.left() * h))
}

/// The deepest point found of one shape's boundary in the other, if the interiors overlap; `gap`
/// is the nearest pair of boundary points, if any were near.
pub(super) fn deepest<S: Space>(
    a: &EdgeSet<S>,
    b: &EdgeSet<S>,
    gap: Option<Gap<S>>,
) -> Option<Gap<S>> {
    let meet = gap.is_some_and(|g| g.distance <= TOUCH);
    let first = probe(a, b, meet);
    let second = probe(b, a, meet).map(|g| Gap { from: g.to, to: g.from, ..g });
    [first, second].into_iter().flatten().min_by(|g, h| g.distance.total_cmp(&h.distance))
}

/// The deepest point found of `a`'s boundary inside `b`.
fn probe<S: Space>(a: &EdgeSet<S>, b: &EdgeSet<S>, meet: bool) -> Option<Gap<S>> {
    let mut best: Option<Gap<S>> = None;
    let mut offer = |at: Point<S>| {
        if b.covers(at) {
            let depth = b.distance_to(at);
            if depth > TOUCH && best.is_none_or(|g| -depth < g.distance) {
                best = Some(Gap { distance: -depth, from: at, to: at });
            }
        }
    };
    if !meet {
        // Nothing crosses: each loop lies in one face of the other shape, and one point tells all.
        let inside: Vec<_> = a.loop_points().filter(|p| b.covers(*p)).collect();
        if !inside.is_empty() {
            inside.into_iter().for_each(&mut offer);
            a.edges().iter().for_each(|e| offer(e.at(0.5)));
        }
        return best;
    }
    let near: Vec<usize> = (0..b.edges().len())
        .filter(|j| b.boxes()[*j].distance_squared(&a.bounds()) <= TOUCH * TOUCH)
        .collect();
    for (edge, around) in a.edges().iter().zip(a.boxes()) {
        let mut cuts = vec![0.0, 1.0];
        for j in &near {
            if around.distance_squared(&b.boxes()[*j]) > TOUCH * TOUCH {
                continue;
            }
            let other = &b.edges()[*j];
            cuts.extend(crossings(edge, other).into_iter().flatten().map(|p| edge.share_at(p)));
            let touching = [other.from(), other.to()];
            cuts.extend(
                touching
                    .into_iter()
                    .filter(|p| edge.nearest(*p).distance(*p) <= TOUCH)
                    .map(|p| edge.share_at(p)),
            );
        }
        cuts.sort_by(f64::total_cmp);
        for pair in cuts.windows(2) {
            if (pair[1] - pair[0]) * edge.length() <= TOUCH {
                continue;
            }
            let middle = 0.5 * (pair[0] + pair[1]);
            let at = edge.at(middle);
            if b.distance_to(at) > TOUCH {
                offer(at);
                continue;
            }
            // The piece runs along b's boundary: do both shapes lie on the same side of it?
            let inward: Vector = edge.direction(middle).left() * PEEK;
            let peek = at + inward;
            if a.covers(peek) {
                offer(peek);
            }
        }
        offer(edge.from());
    }
    best
}
