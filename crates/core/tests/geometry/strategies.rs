//! Random shapes, and slow measurements to compare with.

use std::f64::consts::TAU;

use oddment_core::shape::{
    Edge, EdgeSet, Loop, Point, Pose, Region, SheetSpace, Space, Vector, Vertex,
};
use proptest::prelude::*;

/// Points of the space most tests work in.
pub(crate) type P = Point<SheetSpace>;

/// A pose within `reach` mm, any turn, either face.
pub(crate) fn pose<A: Space, B: Space>(reach: f64) -> impl Strategy<Value = Pose<A, B>> {
    let turn = prop_oneof![-10.0..10.0, (-4..8i32).prop_map(|q| f64::from(q) * TAU / 4.0)];
    (-reach..=reach, -reach..=reach, turn, any::<bool>())
        .prop_map(|(x, y, turn, flipped)| Pose::new(Vector::new(x, y), turn, flipped))
}

/// A bulge: often a line, at times nearly one, at times a circle or more of one.
pub(crate) fn any_bulge() -> impl Strategy<Value = f64> {
    prop_oneof![
        3 => Just(0.0),
        3 => -1.0..1.0f64,
        1 => Just(1.0),
        1 => Just(-1.0),
        1 => -8.0..8.0f64,
        1 => -1e-7..1e-7f64,
        1 => -1e-4..1e-4f64,
    ]
}

/// An edge some `size` mm long near the origin. Half of them sit on a coarse grid, so that they
/// touch, cross at corners and run along each other.
pub(crate) fn edge(size: f64) -> impl Strategy<Value = Edge<SheetSpace>> {
    let free = (-1.0..1.0, -1.0..1.0, -1.0..1.0, -1.0..1.0, any_bulge());
    let grid = (-2..=2i32, -2..=2i32, -2..=2i32, -2..=2i32, any_bulge()).prop_map(
        |(a, b, c, d, bulge)| {
            let [a, b, c, d] = [a, b, c, d].map(|n| f64::from(n) * 0.5);
            (a, b, c, d, bulge)
        },
    );
    prop_oneof![free, grid].prop_filter_map("an edge without length", move |(a, b, c, d, bulge)| {
        let (from, to) = (P::new(a * size, b * size), P::new(c * size, d * size));
        (from.distance(to) > 1e-3 * size).then(|| Edge::new(from, to, bulge))
    })
}

/// A simple loop of lines and arcs round the origin, some `size` mm across, counter-clockwise.
pub(crate) fn blob<S: Space>(size: f64) -> impl Strategy<Value = Loop<S>> {
    let spoke = (0.35..1.0, 0.1..0.9, prop_oneof![2 => Just(0.0), 3 => -0.4..0.4f64]);
    let star = proptest::collection::vec(spoke, 3..9).prop_map(move |spokes| {
        let n = spokes.len() as f64;
        Loop::new(spokes.iter().enumerate().map(|(i, (radius, jitter, bulge))| Vertex {
            point: Point::origin()
                + Vector::at_angle((i as f64 + jitter) / n * TAU) * (radius * 0.5 * size),
            bulge: *bulge,
        }))
        .expect("a star has area")
    });
    let circle =
        (0.1..0.5).prop_map(move |r| Loop::circle(Point::origin(), r * size).expect("a circle"));
    let square = (1..4i32, 1..4i32).prop_map(move |(w, h)| {
        let corner = Vector::new(f64::from(w), f64::from(h)) * (size / 8.0);
        Loop::rectangle(Point::origin() - corner, Point::origin() + corner).expect("a rectangle")
    });
    let nearly_whole = (1.5..6.0, 0.1..0.5).prop_map(move |(bulge, r): (f64, f64)| {
        let chord = 2.0 * r * size * bulge / (1.0 + bulge * bulge);
        let half = Vector::new(chord, 0.0);
        Loop::new([
            Vertex { point: Point::origin() + half, bulge },
            Vertex { point: Point::origin() - half, bulge: 0.0 },
        ])
        .expect("a disc with a flat")
    });
    prop_oneof![4 => star, 1 => circle, 1 => square, 1 => nearly_whole]
        .prop_filter("crosses itself", is_simple)
}

/// A blob, at times with a hole.
pub(crate) fn region<S: Space>(size: f64) -> impl Strategy<Value = Region<S>> {
    (blob(size), blob(0.3 * size), any::<bool>()).prop_map(|(outer, hole, holed)| {
        let (outline, inner) = (edge_set(&outer), edge_set(&hole));
        let inside = outline.boundary_gap(&inner, f64::INFINITY).is_none_or(|g| g.distance > 0.0)
            && hole.edges().all(|e| outer.encloses(e.at(0.5)));
        Region::new(outer, if holed && inside { vec![hole] } else { vec![] })
    })
}

pub(crate) fn edge_set<S: Space>(l: &Loop<S>) -> EdgeSet<S> {
    EdgeSet::new([l.edges().collect()])
}

/// Points along an edge, ends included.
pub(crate) fn samples<S: Space>(edge: &Edge<S>, pieces: usize) -> Vec<Point<S>> {
    (0..=pieces).map(|i| edge.at(i as f64 / pieces as f64)).collect()
}

/// The distance of two edges by looking at many points: never less than the truth, and at most
/// the second number more.
pub(crate) fn sampled_gap<S: Space>(a: &Edge<S>, b: &Edge<S>, pieces: usize) -> (f64, f64) {
    let on_b = samples(b, pieces);
    let nearest = samples(a, pieces)
        .iter()
        .flat_map(|p| on_b.iter().map(|q| p.distance(*q)))
        .fold(f64::INFINITY, f64::min);
    (nearest, 0.5 * (a.length() + b.length()) / pieces as f64)
}

/// Whether a loop does not cross itself, as far as pieces of its edges and its corners tell.
fn is_simple<S: Space>(l: &Loop<S>) -> bool {
    let points: Vec<_> = l.edges().flat_map(|e| samples(&e, 12).into_iter().take(12)).collect();
    let ways: Vec<_> = l.edges().map(|e| (e.direction(0.0), e.direction(1.0))).collect();
    let turns_back = |(before, after): (&(Vector, Vector), &(Vector, Vector))| {
        before.1.cross(after.0).atan2(before.1.dot(after.0)).abs() > 3.0
    };
    if ways.iter().zip(ways.iter().cycle().skip(1)).any(turns_back) {
        return false;
    }
    let n = points.len();
    let piece = |i: usize| (points[i], points[(i + 1) % n]);
    (0..n).all(|i| (i + 2..n).filter(|j| (j + 1) % n != i).all(|j| !cross(piece(i), piece(j))))
}

fn cross<S: Space>((a, b): (Point<S>, Point<S>), (c, d): (Point<S>, Point<S>)) -> bool {
    let side = |p: Point<S>, q: Point<S>, r: Point<S>| (q - p).cross(r - p);
    side(a, b, c) * side(a, b, d) <= 0.0 && side(c, d, a) * side(c, d, b) <= 0.0
}
