//! A loop grown outward or shrunk exactly: lines and arcs in, lines and arcs out, corners round.
//!
//! Every edge is moved outward (or inward), and every corner that sticks out gets an arc around it; together
//! they hold all points at the wanted distance, and some that are nearer to another edge. The moved
//! edges are cut where they cross, the pieces that are too near are dropped, and what is left is
//! chained into loops. Every chain is measured against the loop it came from; if it fails, the
//! answer is `None`.

use super::distance::crossings;
use super::{Edge, EdgeSet, Loop, Point, Region, Space, Vertex};

/// How far (mm) a piece may be from the wanted distance and still count.
const SLACK: f64 = 1e-8;

/// Ends nearer than this (mm) are one.
const JOIN: f64 = 1e-4;

/// Loops with less area (mm²) come from edges that cross at nearly no angle, and are dropped.
const LEAST_AREA: f64 = 1e-3;

/// All points enclosed by `l` or within `by` mm of it (`by` > 0), whichever way it runs: the
/// outline, and the pockets that stay open where the loop nearly closes in on itself. `None` where
/// the loop crosses itself, or is so tangled that lines and arcs cannot be told; then
/// [`offset`](super::offset) makes polygons.
pub fn grow_loop<S: Space>(l: &Loop<S>, by: f64) -> Option<Region<S>> {
    let l = l.clone().directed(true);
    let mut outlines = Vec::new();
    let mut pockets = Vec::new();
    for found in moved_loops(&l, by)? {
        if found.signed_area() > 0.0 { outlines.push(found) } else { pockets.push(found) }
    }
    let outline = outlines.pop().filter(|o| outlines.is_empty() && o.area() > l.area())?;
    pockets
        .iter()
        .all(|p| outline.encloses(p.vertices()[0].point))
        .then(|| Region::new(outline, pockets))
}

/// The loops, clockwise, that run `by` mm (> 0) inside `l`, whichever way that runs: none where
/// nothing of it lies so deep, several where it is narrow in between. `None` as for [`grow_loop`].
pub fn shrink_loop<S: Space>(l: &Loop<S>, by: f64) -> Option<Vec<Loop<S>>> {
    let found = moved_loops(&l.clone().directed(false), by)?;
    found.iter().all(|f| f.signed_area() < 0.0).then_some(found)
}

/// The loops at `by` mm to the right of `l`: outside where it runs counter-clockwise, inside where
/// it runs clockwise.
fn moved_loops<S: Space>(l: &Loop<S>, by: f64) -> Option<Vec<Loop<S>>> {
    let inside = l.signed_area() < 0.0;
    let edges: Vec<Edge<S>> = l.edges().collect();
    let origin = EdgeSet::new([edges.clone()]);
    let moved = moved_edges(&edges, by);
    let pieces: Vec<Edge<S>> = cut_where_crossed(&moved)
        .into_iter()
        .filter(|piece| {
            let middle = piece.at(0.5);
            origin.distance_to(middle) >= by - SLACK && origin.covers(middle) == inside
        })
        .collect();
    let found = chains(without_stubs(pieces))?;
    let at = |l: &Loop<S>| l.edges().all(|e| is_at(&origin, &e, by));
    found.iter().all(at).then_some(found)
}

/// Whether an edge lies `by` from the shape all along, as far as five places tell.
fn is_at<S: Space>(shape: &EdgeSet<S>, edge: &Edge<S>, by: f64) -> bool {
    [0.0, 0.25, 0.5, 0.75, 1.0]
        .iter()
        .all(|share| (shape.distance_to(edge.at(*share)) - by).abs() <= JOIN)
}

/// Each edge moved to its right, and arcs round the corners between them that stick out.
fn moved_edges<S: Space>(edges: &[Edge<S>], by: f64) -> Vec<Edge<S>> {
    let mut moved = Vec::with_capacity(2 * edges.len());
    for (i, edge) in edges.iter().enumerate() {
        let out = |share: f64| -edge.direction(share).left() * by;
        let (from, to) = (edge.from() + out(0.0), edge.to() + out(1.0));
        match *edge {
            Edge::Line { .. } => moved.push(Edge::Line { from, to }),
            // An arc that bends into the loop more tightly than `by` moves to nowhere.
            Edge::Arc { radius, sweep, .. } if sweep < 0.0 && radius <= by => {}
            Edge::Arc { centre, radius, sweep, .. } => {
                let radius = radius + by * sweep.signum();
                moved.push(Edge::Arc { from, to, centre, radius, sweep });
            }
        }
        let next = &edges[(i + 1) % edges.len()];
        let (before, after) = (edge.direction(1.0), next.direction(0.0));
        let sweep = before.cross(after).atan2(before.dot(after));
        if sweep > 0.0 {
            let [start, end] = [before, after].map(|way| edge.to() - way.left() * by);
            moved.push(Edge::new(start, end, (sweep / 4.0).tan()));
        }
    }
    moved.retain(|e| e.length() > JOIN);
    moved
}

/// The edges cut wherever another one crosses or ends on them.
fn cut_where_crossed<S: Space>(edges: &[Edge<S>]) -> Vec<Edge<S>> {
    let cut = |(i, edge)| {
        let others = edges.iter().enumerate().filter(move |(j, _)| i != *j).map(|(_, other)| other);
        cut_where_met(edge, others)
    };
    edges.iter().enumerate().flat_map(cut).collect()
}

/// The pieces of an edge between the places where one of the others crosses it or ends on it.
pub(super) fn cut_where_met<'a, S: Space>(
    edge: &Edge<S>,
    others: impl IntoIterator<Item = &'a Edge<S>>,
) -> Vec<Edge<S>> {
    let near = edge.bounds().grown(2.0 * SLACK);
    let mut cuts = vec![0.0, 1.0];
    for other in others {
        if near.distance_squared(&other.bounds()) > 0.0 {
            continue;
        }
        let ends = [other.from(), other.to()];
        let ends = ends.into_iter().filter(|p| edge.nearest(*p).distance(*p) <= SLACK);
        let meets = crossings(edge, other).into_iter().flatten();
        cuts.extend(meets.chain(ends).map(|p| edge.share_at(p)));
    }
    cuts.sort_by(f64::total_cmp);
    let length = edge.length();
    // Cuts within a hair of each other are one: pieces that short have no direction.
    cuts.dedup_by(|a, b| (*a - *b) * length < 0.1 * JOIN);
    if let Some(last) = cuts.last_mut() {
        *last = 1.0;
    }
    match cuts[..] {
        // Left as it is to the last digit.
        [_, _] => vec![*edge],
        _ => cuts.windows(2).map(|pair| edge.between(pair[0], pair[1])).collect(),
    }
}

/// Drops pieces that nothing leads to or that lead nowhere. Where edges meet at nearly no angle,
/// the stubs beyond their crossing are hardly nearer than what is wanted.
fn without_stubs<S: Space>(mut pieces: Vec<Edge<S>>) -> Vec<Edge<S>> {
    loop {
        let joins = |p: Point<S>, q: Point<S>| p.distance(q) <= JOIN;
        let goes_on = |e: &Edge<S>| pieces.iter().any(|next| joins(e.to(), next.from()));
        let is_led_to = |e: &Edge<S>| pieces.iter().any(|last| joins(last.to(), e.from()));
        let kept: Vec<_> = pieces.iter().copied().filter(|e| goes_on(e) && is_led_to(e)).collect();
        if kept.len() == pieces.len() {
            return kept;
        }
        pieces = kept;
    }
}

/// The pieces chained end to start into closed loops; `None` where one does not close.
fn chains<S: Space>(mut pieces: Vec<Edge<S>>) -> Option<Vec<Loop<S>>> {
    let mut loops = Vec::new();
    while let Some(first) = pieces.pop() {
        let mut chain = vec![first];
        loop {
            let end = chain[chain.len() - 1].to();
            let off = |e: &Edge<S>| e.from().distance(end);
            let next =
                (0..pieces.len()).min_by(|a, b| off(&pieces[*a]).total_cmp(&off(&pieces[*b])));
            let next = next.filter(|n| off(&pieces[*n]) <= JOIN);
            match next {
                Some(n) if off(&pieces[n]) < off(&chain[0]) => chain.push(pieces.swap_remove(n)),
                _ if off(&chain[0]) <= JOIN => break,
                Some(n) => chain.push(pieces.swap_remove(n)),
                // A stub too short to tell from what it hangs on.
                None if chain.iter().map(Edge::length).sum::<f64>() < 10.0 * JOIN => break,
                None => return None,
            }
        }
        let vertices = chain.iter().map(|e| Vertex { point: e.from(), bulge: e.bulge() });
        // A chain that only runs there and back encloses nothing.
        loops.extend(Loop::new(vertices).ok().filter(|l| l.area() > LEAST_AREA));
    }
    Some(loops)
}
