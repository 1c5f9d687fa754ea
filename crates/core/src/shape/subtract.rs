//! Metal less what a cut takes from it, exactly: lines and arcs in, lines and arcs out.
//!
//! The metal's edges are cut where the cut's edges meet them, and the other way round. Of the
//! metal's pieces those outside the cut remain, of the cut's pieces those inside the metal, run the
//! other way, since metal lies to the left of every edge. Pieces that lie on each other remain where
//! the metal lies on the far side of the cut. What remains is chained into loops, turning as far left
//! as it goes where several ends meet, so that metal that only touches at a point counts as parted.

use super::grow::cut_where_met;
use super::{Bounds, Edge, Loop, Region, Space, Vector, Vertex};

/// Pieces nearer than this (mm) to the other boundary lie on it.
const ON: f64 = 1e-6;

/// Ends nearer than this (mm) are one.
const JOIN: f64 = 1e-4;

/// Loops with less area (mm²) are left-overs of rounding.
const LEAST_AREA: f64 = 1e-3;

/// The pieces of metal that are left of `metal` when all of `cut` is gone, largest first; none where
/// nothing is left. `None` where the edges are so tangled that they cannot be told apart.
pub fn subtract<S: Space>(metal: &Region<S>, cut: &Region<S>) -> Option<Vec<Region<S>>> {
    let (of_metal, of_cut) = (metal.edge_set(), cut.edge_set());
    // Most of a sheet lies far from one cut, and stays as it is.
    let reach = cut.bounds().grown(JOIN);
    let is_far = |bounds: Bounds<S>| bounds.distance_squared(&reach) > 0.0;
    let (untouched, touched): (Vec<_>, Vec<_>) = metal.loops().partition(|l| is_far(l.bounds()));
    let (mut pieces, near): (Vec<Edge<S>>, Vec<Edge<S>>) =
        touched.into_iter().flat_map(Loop::edges).partition(|e| is_far(e.bounds()));
    for edge in &near {
        for piece in cut_where_met(edge, of_cut.edges()) {
            let remains = match lies_on(&piece, of_cut.edges()) {
                Some(other) => piece.direction(0.5).dot(other) < 0.0,
                None => !of_cut.covers(piece.at(0.5)),
            };
            pieces.extend(remains.then_some(piece));
        }
    }
    for edge in of_cut.edges() {
        for piece in cut_where_met(edge, &near) {
            if lies_on(&piece, &near).is_none() && of_metal.covers(piece.at(0.5)) {
                pieces.push(piece.reversed());
            }
        }
    }
    let mut loops = chains(pieces)?;
    loops.extend(untouched.into_iter().cloned());
    regions(loops)
}

/// The direction of the edge on which a piece lies, if it lies on one.
fn lies_on<S: Space>(piece: &Edge<S>, edges: &[Edge<S>]) -> Option<Vector> {
    let middle = piece.at(0.5);
    let near = Bounds { min: middle, max: middle }.grown(ON);
    let on = |edge: &&Edge<S>| {
        edge.bounds().distance_squared(&near) <= 0.0
            && [0.25, 0.5, 0.75].iter().all(|share| {
                let at = piece.at(*share);
                edge.nearest(at).distance(at) <= ON
            })
    };
    let edge = edges.iter().find(on)?;
    Some(edge.direction(edge.share_at(edge.nearest(middle))))
}

/// The pieces chained end to start into closed loops; `None` where one does not close.
fn chains<S: Space>(mut pieces: Vec<Edge<S>>) -> Option<Vec<Loop<S>>> {
    pieces.retain(|p| p.length() > 0.1 * JOIN);
    let mut loops = Vec::new();
    while let Some(first) = pieces.pop() {
        let mut chain = vec![first];
        loop {
            let last = &chain[chain.len() - 1];
            let (end, way) = (last.to(), last.direction(1.0));
            let turn = |e: &Edge<S>| {
                let next = e.direction(0.0);
                way.cross(next).atan2(way.dot(next))
            };
            let joins = |e: &Edge<S>| e.from().distance(end) <= JOIN;
            let next = (0..pieces.len())
                .filter(|i| joins(&pieces[*i]))
                .max_by(|a, b| turn(&pieces[*a]).total_cmp(&turn(&pieces[*b])));
            let closes = joins(&chain[0]);
            match next {
                Some(n) if !closes || turn(&pieces[n]) > turn(&chain[0]) => {
                    chain.push(pieces.swap_remove(n));
                }
                _ if closes => break,
                // A stub that rounding has left.
                _ if chain.iter().map(Edge::length).sum::<f64>() < 10.0 * JOIN => break,
                _ => return None,
            }
        }
        let vertices = chain.iter().map(|e| Vertex { point: e.from(), bulge: e.bulge() });
        loops.extend(Loop::new(vertices).ok().filter(|l| l.area() > LEAST_AREA));
    }
    Some(loops)
}

/// Outlines with the holes that lie in them, largest first.
fn regions<S: Space>(loops: Vec<Loop<S>>) -> Option<Vec<Region<S>>> {
    let (outlines, holes): (Vec<_>, Vec<_>) =
        loops.into_iter().partition(|l| l.signed_area() > 0.0);
    let mut found: Vec<(Loop<S>, Vec<Loop<S>>)> =
        outlines.into_iter().map(|outline| (outline, Vec::new())).collect();
    found.sort_by(|a, b| b.0.area().total_cmp(&a.0.area()));
    for hole in holes {
        let middle = hole.edges().next()?.at(0.5);
        let holder = found.iter_mut().rev().find(|(outline, _)| outline.encloses(middle))?;
        holder.1.push(hole);
    }
    Some(found.into_iter().map(|(outline, holes)| Region::new(outline, holes)).collect())
}
