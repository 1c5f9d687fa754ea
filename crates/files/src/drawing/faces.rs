//! Where more than two ends meet, the areas between the lines.
//!
//! The links are a plane graph. Ends that hang loose are taken off first. Around every area that is
//! left, a walk that turns as far left as it can at each node comes back to its start. Links with
//! the same area on both sides bound nothing.

use std::collections::HashMap;
use std::f64::consts::PI;

use oddment_core::shape::{Edge, PartSpace};

use super::join::{Joined, Piece};

/// A piece between two nodes.
pub(super) struct Link {
    pub(super) piece: Piece,
    pub(super) start: usize,
    pub(super) end: usize,
}

/// The bounded areas as contours, and the pieces that bound none.
pub(super) fn faces(links: Vec<Link>, nodes: usize) -> Joined {
    let mut joined = Joined::default();
    let links = prune(links, nodes, &mut joined.open);
    let next = turns(&links, nodes);

    // Half-edge 2 i runs along link i, 2 i + 1 against it.
    let mut face = vec![usize::MAX; next.len()];
    let mut count = 0;
    for first in 0..next.len() {
        let mut half = first;
        if face[first] != usize::MAX {
            continue;
        }
        while face[half] == usize::MAX {
            face[half] = count;
            half = next[half];
        }
        count += 1;
    }
    let is_bridge = |link: usize| face[2 * link] == face[2 * link + 1];
    joined.open.extend(
        links.iter().enumerate().filter(|(i, _)| is_bridge(*i)).map(|(_, l)| l.piece.clone()),
    );

    let mut done = vec![false; count];
    for first in 0..next.len() {
        if std::mem::replace(&mut done[face[first]], true) {
            continue;
        }
        for round in rounds(first, &next, &links) {
            if let Some(contour) = outline(&round, &links).closed()
                && contour.shape.signed_area() > 0.0
            {
                joined.loops.push(contour);
            }
        }
    }
    joined
}

/// The half-edges round one face, parted where the walk comes back to a node: a hole that touches
/// the outline in a point stays a hole.
fn rounds(first: usize, next: &[usize], links: &[Link]) -> Vec<Vec<usize>> {
    let from = |half: usize| {
        let link = &links[half / 2];
        if half.is_multiple_of(2) { link.start } else { link.end }
    };
    let mut rounds = Vec::new();
    let mut walked: Vec<usize> = Vec::new();
    let mut passed: HashMap<usize, usize> = HashMap::new();
    let mut half = first;
    loop {
        passed.insert(from(half), walked.len());
        walked.push(half);
        half = next[half];
        if let Some(since) = passed.get(&from(half)).copied() {
            let round = walked.split_off(since);
            for half in &round {
                passed.remove(&from(*half));
            }
            rounds.push(round);
        }
        if half == first {
            return rounds;
        }
    }
}

fn outline(round: &[usize], links: &[Link]) -> Piece {
    let mut outline =
        Piece { edges: Vec::new(), layer: links[round[0] / 2].piece.layer, dashed: false };
    for half in round {
        let piece = links[half / 2].piece.clone();
        outline.edges.extend(if half % 2 == 0 { piece.edges } else { piece.reversed().edges });
    }
    outline
}

/// Takes off what hangs loose, again and again, into `open`.
fn prune(links: Vec<Link>, nodes: usize, open: &mut Vec<Piece>) -> Vec<Link> {
    let mut at_node: Vec<Vec<usize>> = vec![Vec::new(); nodes];
    for (i, link) in links.iter().enumerate() {
        at_node[link.start].push(i);
        at_node[link.end].push(i);
    }
    let mut degree: Vec<_> = at_node.iter().map(Vec::len).collect();
    let mut loose: Vec<_> = (0..nodes).filter(|n| degree[*n] == 1).collect();
    let mut gone = vec![false; links.len()];
    while let Some(node) = loose.pop() {
        let Some(link) = at_node[node].iter().copied().find(|l| !gone[*l]) else { continue };
        gone[link] = true;
        for end in [links[link].start, links[link].end] {
            degree[end] -= 1;
            if degree[end] == 1 {
                loose.push(end);
            }
        }
    }
    let (off, kept): (Vec<_>, Vec<_>) = links.into_iter().zip(gone).partition(|(_, gone)| *gone);
    open.extend(off.into_iter().map(|(link, _)| link.piece));
    kept.into_iter().map(|(link, _)| link).collect()
}

/// For every half-edge the one that follows it round the area on its left.
fn turns(links: &[Link], nodes: usize) -> Vec<usize> {
    let mut leaving: Vec<Vec<(f64, f64, usize)>> = vec![Vec::new(); nodes];
    for (i, link) in links.iter().enumerate() {
        let (first, last) = (link.piece.edges[0], link.piece.edges[link.piece.edges.len() - 1]);
        leaving[link.start].push(heading(&first, 2 * i));
        leaving[link.end].push(heading(&last.reversed(), 2 * i + 1));
    }
    let mut next = vec![0; 2 * links.len()];
    for around in &mut leaving {
        around.sort_by(|a, b| a.partial_cmp(b).unwrap_or(std::cmp::Ordering::Equal));
        for (k, (_, _, half)) in around.iter().enumerate() {
            // Arriving against `half`, the leftmost way on is the next one clockwise.
            let clockwise = around[(k + around.len() - 1) % around.len()].2;
            next[half ^ 1] = clockwise;
        }
    }
    next
}

/// The direction (rounded, radians) in which a half-edge leaves, and how it bends: of two that
/// leave alike, the one that bends more to the left comes later.
fn heading(edge: &Edge<PartSpace>, half: usize) -> (f64, f64, usize) {
    let angle = (edge.direction(0.0).angle() * 1e6).round() / 1e6;
    // Straight back is the same direction from above and from below.
    let angle = if angle <= 1e-6 - PI { -angle } else { angle };
    let bend = match *edge {
        Edge::Line { .. } => 0.0,
        Edge::Arc { radius, sweep, .. } => sweep.signum() / radius,
    };
    (angle, bend, half)
}
