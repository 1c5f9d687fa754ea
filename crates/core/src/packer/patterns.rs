//! Row patterns, found once for all sheets that parts are tried on.

use std::collections::HashMap;
use std::sync::{Arc, Mutex, PoisonError};

use super::figure::Figure;
use super::lattice::{Lattice, LatticeEffort, lattices};
use crate::job::Stop;
use crate::part::Turning;

/// Row patterns of parts, shared by the searches that hold a clone: they depend on the part and the
/// gap alone, and take longer to find than many a sheet takes to fill.
#[derive(Clone, Debug)]
pub(crate) struct Patterns {
    effort: LatticeEffort,
    known: Arc<Mutex<HashMap<Key, Arc<[Lattice]>>>>,
}

/// All that a pattern depends on, bit by bit: edges, gap, turns.
#[derive(Clone, Debug, PartialEq, Eq, Hash)]
struct Key {
    edges: Vec<[u64; 4]>,
    gap: u64,
    turns: Option<Vec<u64>>,
}

impl Default for Patterns {
    fn default() -> Self {
        Self { effort: LatticeEffort::FULL, known: Arc::default() }
    }
}

impl Patterns {
    /// A few for each part, found in a fraction of the time and nearly as dense.
    pub(crate) fn quick() -> Self {
        Self { effort: LatticeEffort::QUICK, known: Arc::default() }
    }

    /// The lattices of a figure whose edges keep `gap` mm, densest first.
    pub(super) fn of(&self, figure: &Figure, gap: f64, stop: &Stop) -> Arc<[Lattice]> {
        let key = Key {
            edges: figure.edges.iter().map(|e| e.map(f64::to_bits)).collect(),
            gap: gap.to_bits(),
            turns: match &figure.turning {
                Turning::Free => None,
                Turning::Only(angles) => Some(angles.iter().map(|a| a.to_bits()).collect()),
            },
        };
        let known = |key: &Key| {
            let known = self.known.lock().unwrap_or_else(PoisonError::into_inner);
            known.get(key).cloned()
        };
        if let Some(found) = known(&key) {
            return found;
        }
        // Not under the lock: others may ask, also this thread while it waits for its helpers.
        let found: Arc<[Lattice]> = lattices(figure, gap, self.effort, stop).into();
        // What a stop has cut short is for nobody else.
        if !stop.raised() {
            self.known.lock().unwrap_or_else(PoisonError::into_inner).insert(key, found.clone());
        }
        found
    }
}
