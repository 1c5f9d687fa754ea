//! What was known of edges, found again after the metal was cut.

use std::collections::HashMap;

use super::{Bounds, Edge, Space};

/// An edge within this (mm) of one that was there is part of it.
const SAME_EDGE: f64 = 1e-5;

/// Notes on edges: an edge that was there, or a part of one, whichever way it runs, has its note.
pub struct KnownEdges<S, N> {
    known: Vec<(Edge<S>, N)>,
    exact: HashMap<[u64; 5], N>,
}

impl<S: Space, N: Copy> KnownEdges<S, N> {
    /// Remembers these.
    pub fn new(known: impl IntoIterator<Item = (Edge<S>, N)>) -> Self {
        let known: Vec<_> = known.into_iter().collect();
        let exact = known
            .iter()
            .flat_map(|(edge, note)| [(digits(edge), *note), (digits(&edge.reversed()), *note)]);
        Self { exact: exact.collect(), known }
    }

    /// The note of an edge; `None` where it is new.
    pub fn note(&self, edge: &Edge<S>) -> Option<N> {
        if let Some(note) = self.exact.get(&digits(edge)) {
            return Some(*note);
        }
        let spots = [0.2, 0.5, 0.8].map(|share| edge.at(share));
        let near = Bounds::of(spots).grown(SAME_EDGE);
        let lies_on = |known: &Edge<S>| {
            known.bounds().distance_squared(&near) <= 0.0
                && spots.iter().all(|p| known.nearest(*p).distance(*p) <= SAME_EDGE)
        };
        self.known.iter().find(|(known, _)| lies_on(known)).map(|(_, note)| *note)
    }
}

/// The digits of an edge's numbers.
fn digits<S: Space>(edge: &Edge<S>) -> [u64; 5] {
    let (from, to) = (edge.from(), edge.to());
    [from.x, from.y, to.x, to.y, edge.bulge()].map(f64::to_bits)
}
