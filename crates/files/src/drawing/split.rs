//! Lines that meet in places where neither ends, parted there.
//!
//! Done only among lines that branch: a fold drawn from edge to edge of a plate must not part it,
//! but neighbours that share part of an edge are told apart only when that edge is parted.

use oddment_core::shape::{Edge, PartSpace, Point, crossings};

use super::grid::Grid;
use super::join::{Piece, SAME};

/// Pairs of lines looked at before it is given up: then lines meet at their ends only.
const MOST_PAIRS: usize = 1_000_000;

/// The pieces, each with the number of its group, as single lines and arcs that meet others of
/// their group at their ends alone; what lies on each other is taken once.
pub(super) fn at_contacts(pieces: Vec<(usize, Piece)>) -> Vec<Piece> {
    let mut edges: Vec<(usize, Piece)> = Vec::new();
    for (group, piece) in pieces {
        let (layer, dashed) = (piece.layer, piece.dashed);
        let single = |edge| (group, Piece { edges: vec![edge], layer, dashed });
        edges.extend(piece.edges.into_iter().map(single));
    }
    let cuts = cuts(&edges);
    let mut parted: Vec<Piece> = Vec::new();
    let mut middles = Grid::new(SAME);
    for ((_, piece), mut shares) in edges.into_iter().zip(cuts) {
        let whole = piece.edges[0];
        shares.extend([0.0, 1.0]);
        shares.sort_by(f64::total_cmp);
        for ends in shares.windows(2).filter(|ends| ends[0] < ends[1]) {
            let edge = if ends == [0.0, 1.0] { whole } else { whole.between(ends[0], ends[1]) };
            let middle = edge.at(0.5);
            let ends = |e: &Edge<PartSpace>| [e.from(), e.to()];
            let again = middles.near(middle).any(|(i, _)| {
                let ([a, b], [c, d]) = (ends(&edge), ends(&parted[i].edges[0]));
                let meet = |p: Point<PartSpace>, q| p.distance(q) <= 2.0 * SAME;
                (meet(a, c) && meet(b, d)) || (meet(a, d) && meet(b, c))
            });
            if !again {
                middles.add(parted.len(), middle);
                parted.push(Piece { edges: vec![edge], ..piece });
            }
        }
    }
    parted
}

/// For each edge the shares of its length at which others of its group meet it.
fn cuts(edges: &[(usize, Piece)]) -> Vec<Vec<f64>> {
    let boxes: Vec<_> = edges.iter().map(|(_, p)| p.edges[0].bounds().grown(SAME)).collect();
    let mut order: Vec<_> = (0..edges.len()).collect();
    order.sort_by(|a, b| boxes[*a].min.x.total_cmp(&boxes[*b].min.x));
    let mut cuts = vec![Vec::new(); edges.len()];
    let mut pairs = 0;
    for (k, i) in order.iter().enumerate() {
        let until = boxes[*i].max.x;
        for j in order[k + 1..].iter().take_while(|j| boxes[**j].min.x <= until) {
            pairs += 1;
            if pairs > MOST_PAIRS {
                return vec![Vec::new(); edges.len()];
            }
            if edges[*i].0 != edges[*j].0 || boxes[*i].distance_squared(&boxes[*j]) > 0.0 {
                continue;
            }
            let (a, b) = (&edges[*i].1.edges[0], &edges[*j].1.edges[0]);
            let meets = crossings(a, b).into_iter().flatten();
            for point in [a.from(), a.to(), b.from(), b.to()].into_iter().chain(meets) {
                cuts[*i].extend(share_within(a, point));
                cuts[*j].extend(share_within(b, point));
            }
        }
    }
    cuts
}

/// The share of its length at which the edge passes the point, unless that is at its ends.
fn share_within(edge: &Edge<PartSpace>, point: Point<PartSpace>) -> Option<f64> {
    let apart = |end: Point<PartSpace>| end.distance(point) > SAME;
    let on = edge.nearest(point).distance(point) <= SAME;
    (on && apart(edge.from()) && apart(edge.to())).then(|| edge.share_at(point))
}
