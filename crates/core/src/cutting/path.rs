//! The path of the beam's centre round a contour: half a kerf on the waste side, exact in lines and
//! arcs.
//!
//! Where the metal that is kept has a corner, the moved edges are run on until they meet, so that
//! the beam turns outside the corner and leaves it sharp. At very acute corners that would lead far
//! away; there the beam turns round the corner on an arc instead.

use crate::shape::{
    Edge, EdgeSet, Loop, Point, Region, Side, Space, Vertex, grow_loop, offset, shrink_loop,
};

/// How far (in half kerfs) the beam may run past a corner to keep it sharp.
const FARTHEST_PAST: f64 = 4.0;
/// Below this half kerf (mm) the beam runs on the contour itself.
const NO_WIDTH: f64 = 1e-6;
/// Two places are one, mm.
const SAME: f64 = 1e-6;
/// A vertex so near (mm) the line past it is none.
const STRAIGHT: f64 = 1e-7;
/// What polygons may be off where a contour is too tangled for lines and arcs, mm.
const POLYGON_BOUND: f64 = 0.001;

/// The beam's path along one contour of a region.
#[derive(Clone, Debug, PartialEq)]
pub struct BeamPath<S> {
    /// Closed loops: one, but none where the contour is a hole narrower than the slot, and several
    /// where a hole is that narrow in between. They run as the region's contours do.
    pub loops: Vec<Loop<S>>,
    /// Whether they are exact; where not, they are polygons within a micrometre.
    pub exact: bool,
}

/// The path along a contour with metal on its left (as those of a [`Region`] run), `half` a kerf
/// (mm) to its right.
///
/// Notches that are narrower than the slot are left as the beam leaves them: it passes by.
pub fn beam_path<S: Space>(contour: &Loop<S>, half: f64) -> BeamPath<S> {
    if half < NO_WIDTH {
        return BeamPath { loops: vec![contour.clone()], exact: true };
    }
    let is_hole = contour.signed_area() < 0.0;
    let round = if is_hole {
        shrink_loop(contour, half)
    } else {
        grow_loop(contour, half).map(|grown| vec![grown.outer().clone()])
    };
    match round {
        Some(loops) => {
            let edges = EdgeSet::new([contour.edges().collect()]);
            let loops = loops.iter().map(|l| sharpened(l, contour, &edges, half)).collect();
            BeamPath { loops, exact: true }
        }
        None => BeamPath { loops: polygons(contour, half, is_hole), exact: false },
    }
}

/// `path`, closed, as edges from the place on it nearest to `at` round to there again.
pub fn run_from<S: Space>(path: &Loop<S>, at: Point<S>) -> Vec<Edge<S>> {
    let edges: Vec<Edge<S>> = path.edges().collect();
    let off = |e: &Edge<S>| e.nearest(at).distance(at);
    let first = (0..edges.len()).min_by(|i, j| off(&edges[*i]).total_cmp(&off(&edges[*j])));
    let Some(first) = first else { return edges };
    let share = edges[first].share_at(edges[first].nearest(at));
    let length = edges[first].length();
    let mut run = Vec::with_capacity(edges.len() + 1);
    if (1.0 - share) * length > SAME {
        run.push(edges[first].between(share, 1.0));
    }
    run.extend((1..edges.len()).map(|i| edges[(first + i) % edges.len()]));
    if share * length > SAME {
        run.push(edges[first].between(0.0, share));
    }
    run
}

/// The path with its arcs round corners replaced by the corners where the edges beside them meet.
fn sharpened<S: Space>(
    path: &Loop<S>,
    contour: &Loop<S>,
    edges: &EdgeSet<S>,
    half: f64,
) -> Loop<S> {
    let run: Vec<Edge<S>> = path.edges().collect();
    let n = run.len();
    let mut vertices: Vec<Vertex<S>> = Vec::with_capacity(n);
    for (i, edge) in run.iter().enumerate() {
        let (before, after) = (&run[(i + n - 1) % n], &run[(i + 1) % n]);
        match tip(edge, before, after, contour, edges, half) {
            Some(tip) => {
                vertices.push(Vertex { point: edge.from(), bulge: 0.0 });
                vertices.push(Vertex { point: tip, bulge: 0.0 });
            }
            None => vertices.push(Vertex { point: edge.from(), bulge: edge.bulge() }),
        }
    }
    Loop::new(without_straight(vertices)).unwrap_or_else(|_| path.clone())
}

/// Where the edges beside the arc round a corner meet, if `arc` is one and they meet near enough.
fn tip<S: Space>(
    arc: &Edge<S>,
    before: &Edge<S>,
    after: &Edge<S>,
    contour: &Loop<S>,
    edges: &EdgeSet<S>,
    half: f64,
) -> Option<Point<S>> {
    let Edge::Arc { centre, radius, sweep, .. } = *arc else { return None };
    let round_a_corner = sweep > 0.0
        && (radius - half).abs() < SAME
        && contour.vertices().iter().any(|v| v.point.distance(centre) < SAME);
    let smooth = |a: &Edge<S>, b: &Edge<S>| a.direction(1.0).dot(b.direction(0.0)) > 1.0 - 1e-9;
    if !round_a_corner || !smooth(before, arc) || !smooth(arc, after) {
        return None;
    }
    let past = 1.0 / (0.5 * sweep).cos();
    if !(1.0..=FARTHEST_PAST).contains(&past) {
        return None;
    }
    let tip = centre + (arc.at(0.5) - centre) * past;
    // Beside a narrow notch the corner could lead into metal that is kept.
    (edges.distance_to(tip) > half).then_some(tip)
}

/// Leaves out vertices that lie on the line from the last one kept to the next.
fn without_straight<S: Space>(vertices: Vec<Vertex<S>>) -> Vec<Vertex<S>> {
    let n = vertices.len();
    let mut kept: Vec<Vertex<S>> = Vec::with_capacity(n);
    for (i, at) in vertices.iter().enumerate() {
        let before = kept.last().unwrap_or(&vertices[n - 1]);
        let line = Edge::Line { from: before.point, to: vertices[(i + 1) % n].point };
        let lines = before.bulge == 0.0 && at.bulge == 0.0;
        if !(lines && line.nearest(at.point).distance(at.point) <= STRAIGHT) {
            kept.push(*at);
        }
    }
    kept
}

/// The path as polygons, for contours that cross or touch themselves.
fn polygons<S: Space>(contour: &Loop<S>, half: f64, is_hole: bool) -> Vec<Loop<S>> {
    let filled = Region::new(contour.clone(), Vec::new());
    let by = if is_hole { -half } else { half };
    let side = if is_hole { Side::Inward } else { Side::Outward };
    let found = offset(&filled, by, POLYGON_BOUND, side);
    found.iter().map(|region| region.outer().clone().directed(!is_hole)).collect()
}
