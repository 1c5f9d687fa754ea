//! How far apart two shapes are: exactly, on their lines and arcs.
//!
//! *Gap*: the nearest points of two boundaries. *Spare*: the gap, or minus the *depth* when the
//! interiors overlap. Depth is the greatest distance that a point of one boundary lies inside the
//! other shape, looked for at corners and between the places where the boundaries cross; for a
//! small overlap of lines and arcs that is where the deepest point lies. Where boundaries run along
//! each other, as those of two equal shapes do, it is the radius of a disc that lies in both.

use super::{Edge, EdgeSet, Point, Space, Vector};

/// Boundaries nearer than this (mm) count as touching, and overlaps less deep as none: it lies
/// well above the noise of f64 on a sheet of some metres and well below any measurement.
pub(super) const TOUCH: f64 = 1e-7;

/// How far (mm) to look beside a boundary that runs close along the other shape's: five steps, as
/// long as both shapes go on.
const PEEKS: [f64; 5] = [0.01, 0.1, 1.0, 10.0, 100.0];

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
                    let on_a = a.nearest(on_a);
                    offer(on_a, b.nearest(on_a));
                }
            }
        }
    }
    best
}

/// Where two edges cross or touch, at most twice. Edges that run along each other are not looked
/// at here: their ends tell.
pub fn crossings<S: Space>(a: &Edge<S>, b: &Edge<S>) -> [Option<Point<S>>; 2] {
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
        (line @ Edge::Line { .. }, arc @ Edge::Arc { .. })
        | (arc @ Edge::Arc { .. }, line @ Edge::Line { .. }) => line_arc(&line, &arc),
        (Edge::Arc { radius, .. }, Edge::Arc { radius: other, .. }) => {
            if radius < other {
                arc_arc(b, a)
            } else {
                arc_arc(a, b)
            }
        }
    }
}

fn line_arc<S: Space>(line: &Edge<S>, arc: &Edge<S>) -> [Option<Point<S>>; 2] {
    let (from, length) = (line.from(), line.length());
    let Some(unit) = (line.to() - from).unit() else { return [None, None] };
    let Some(meets) = circle_crossings(arc, from, unit) else { return [None, None] };
    meets.map(|t| Some(from + unit * t).filter(|p| (0.0..=length).contains(&t) && arc.sees(*p)))
}

/// Both circles cross where the smaller one crosses the line on which points have the same power
/// as to both; unlike the centres, that line is near even when an arc is nearly straight.
fn arc_arc<S: Space>(large: &Edge<S>, small: &Edge<S>) -> [Option<Point<S>>; 2] {
    let (Edge::Arc { centre: p, radius, .. }, Edge::Arc { centre: q, .. }) = (large, small) else {
        return [None, None];
    };
    let start = small.from();
    let away = *q - *p;
    let Some(unit) = away.unit() else { return [None, None] };
    let power = large.flat_power(start).unwrap_or_else(|| {
        let out = (start - *p).length();
        (out - radius) * (out + radius)
    });
    let on_line = start - unit * (0.5 * power / away.length());
    let Some(meets) = circle_crossings(small, on_line, unit.left()) else { return [None, None] };
    let both_see = |at: &Point<S>| large.sees(*at) && small.sees(*at);
    meets.map(|t| Some(on_line + unit.left() * t).filter(both_see))
}

/// How far along `unit` from `start` the arc's full circle is crossed.
fn circle_crossings<S: Space>(arc: &Edge<S>, start: Point<S>, unit: Vector) -> Option<[f64; 2]> {
    let Edge::Arc { centre, radius, .. } = *arc else { return None };
    let foot = unit.dot(centre - start);
    let Some(power) = arc.flat_power(start) else {
        let off = unit.cross(centre - start);
        let half_squared = (radius - off) * (radius + off);
        let half = (half_squared >= 0.0).then(|| half_squared.sqrt())?;
        return Some([foot - half, foot + half]);
    };
    let half_squared = foot * foot - power;
    let half = (half_squared >= 0.0).then(|| half_squared.sqrt())?;
    // The far root first, and the near one from their product, where no digits cancel.
    let far = foot + half.copysign(foot);
    Some([if far == 0.0 { 0.0 } else { power / far }, far])
}

/// The deepest point found of one shape's boundary in the other, if the interiors overlap; `gap`
/// is the nearest pair of boundary points, if any were near.
pub(super) fn deepest<S: Space>(
    a: &EdgeSet<S>,
    b: &EdgeSet<S>,
    gap: Option<Gap<S>>,
) -> Option<Gap<S>> {
    let meet = gap.is_some_and(|g| g.distance <= TOUCH);
    let probe = if meet { probe_pieces } else { probe_loops };
    let (first, second) = (probe(a, b), probe(b, a));
    first.into_iter().chain(second).min_by(|g, h| g.distance.total_cmp(&h.distance))
}

/// The deepest point found of `a`'s boundary in `b` where the boundaries do not meet: then each
/// loop lies in one face of the other shape, and one point tells whether it is inside.
fn probe_loops<S: Space>(a: &EdgeSet<S>, b: &EdgeSet<S>) -> Option<Gap<S>> {
    let mut deepest = Deepest { a, b, found: None };
    for edges in a.loops().filter(|l| l.first().is_some_and(|e| b.covers(e.from()))) {
        for edge in edges {
            deepest.offer(edge.from());
            deepest.offer_beside(edge, 0.5);
        }
    }
    deepest.found
}

/// The deepest point found of `a`'s boundary in `b` where the boundaries meet: they are cut there,
/// and each piece lies inside, outside or along the other boundary.
fn probe_pieces<S: Space>(a: &EdgeSet<S>, b: &EdgeSet<S>) -> Option<Gap<S>> {
    let mut deepest = Deepest { a, b, found: None };
    let near: Vec<usize> = (0..b.edges().len())
        .filter(|j| b.boxes()[*j].distance_squared(&a.bounds()) <= TOUCH * TOUCH)
        .collect();
    let mut cuts = Vec::new();
    for (edge, around) in a.edges().iter().zip(a.boxes()) {
        cuts.clear();
        cuts.extend([0.0, 1.0]);
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
        deepest.offer(edge.from());
        for pair in cuts.windows(2) {
            let piece = pair[1] - pair[0];
            if piece * edge.length() > TOUCH {
                for part in [0.25, 0.5, 0.75] {
                    deepest.offer_beside(edge, pair[0] + part * piece);
                }
            }
        }
    }
    deepest.found
}

/// Keeps the deepest of the points offered.
struct Deepest<'a, S> {
    a: &'a EdgeSet<S>,
    b: &'a EdgeSet<S>,
    found: Option<Gap<S>>,
}

impl<S: Space> Deepest<'_, S> {
    fn note(&mut self, at: Point<S>, depth: f64) {
        if depth > TOUCH && self.found.is_none_or(|g| -depth < g.distance) {
            self.found = Some(Gap { distance: -depth, from: at, to: at });
        }
    }

    /// A point of `a`'s boundary; says how far it is from `b`'s.
    fn offer(&mut self, at: Point<S>) -> f64 {
        let away = self.b.distance_to(at);
        if away > TOUCH && self.b.covers(at) {
            self.note(at, away);
        }
        away
    }

    /// A point of `a`'s boundary and, where it runs close along `b`'s, the points beside it.
    fn offer_beside(&mut self, edge: &Edge<S>, share: f64) {
        let at = edge.at(share);
        if self.offer(at) > PEEKS[0] {
            return;
        }
        let left = edge.direction(share).left();
        for beside in [left, -left] {
            for reach in PEEKS {
                let peek = at + beside * reach;
                if !(self.a.covers(peek) && self.b.covers(peek)) {
                    break;
                }
                self.note(peek, self.a.distance_to(peek).min(self.b.distance_to(peek)));
            }
        }
    }
}
