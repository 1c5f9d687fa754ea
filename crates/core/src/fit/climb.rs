//! From a pose to the best one near it: the least of all spares is made as great as it will go.
//!
//! At each pose every witness near the tightest one is taken as a linear function of the move; the
//! best move for those, within a radius of trust, is tried on the true shapes. The best poses lie
//! where three or four contacts hold each other, and there such steps end exactly.

use super::field::Field;
use super::laid::{Laid, Witness};
use super::lp::{Slope, best_move};
use super::probe::Probe;
use crate::shape::Vector;

/// Moves shorter than this (mm) no longer matter.
const SHORTEST: f64 = 1e-6;

/// At most so many steps from one start.
const STEPS: usize = 60;

/// A pose of the pivot and the least of all witnesses there.
#[derive(Clone, Copy, Debug)]
pub(super) struct Spot {
    pub(super) at: Vector,
    pub(super) turn: f64,
    pub(super) spare: f64,
}

/// Climbs from a pose; moves no farther than `trust` (mm, of any point of the part) in the first
/// step, and turns only where that is allowed. Discs lead out of deep overlaps, where edges that
/// cross know no direction; the true shapes decide. Ends at a spare of `enough`, and early where the
/// discs show that it will not be over `best`.
pub(super) fn climb(
    probe: &Probe,
    field: &Field,
    (at, turn): (Vector, f64),
    turns: bool,
    trust: f64,
    (best, enough): (f64, f64),
) -> Spot {
    let rough =
        ascend(probe, (at, turn), turns, (trust, 1e-2 * trust), enough, |at, turn, window| {
            Laid::new(probe, field, at, turn).tightest_discs(window)
        });
    if rough.spare <= best {
        return rough;
    }
    ascend(
        probe,
        (rough.at, rough.turn),
        turns,
        (trust / 32.0, SHORTEST),
        enough,
        |at, turn, window| Laid::new(probe, field, at, turn).tightest(window),
    )
}

/// Takes steps of `widest` at most until there is `enough`, or they bring no more or are shorter
/// than `shortest`.
fn ascend(
    probe: &Probe,
    (at, turn): (Vector, f64),
    turns: bool,
    (widest, shortest): (f64, f64),
    enough: f64,
    look: impl Fn(Vector, f64, f64) -> Vec<Witness>,
) -> Spot {
    let reach = probe.reach().max(1e-9);
    let mut trust = widest;
    let least = |found: &[Witness]| found.iter().map(|w| w.value).fold(f64::INFINITY, f64::min);
    let mut witnesses = look(at, turn, 3.0 * trust);
    let mut best = Spot { at, turn, spare: least(&witnesses) };
    for _ in 0..STEPS {
        if best.spare >= enough {
            break;
        }
        let slopes: Vec<Slope> = witnesses.iter().map(Witness::tangent).collect();
        let limits = [trust, trust, if turns { trust / reach } else { 0.0 }];
        let Some(aim) = best_move(&slopes, limits) else { break };
        let hoped = aim.least - best.spare;
        let [x, y, turned] = aim.by;
        if hoped < 0.1 * shortest {
            break;
        }
        let (at, turn) = (best.at + Vector::new(x, y), best.turn + turned);
        let found = look(at, turn, 3.0 * trust);
        let spare = least(&found);
        let gained = spare - best.spare;
        if gained > 0.0 {
            best = Spot { at, turn, spare };
            witnesses = found;
        }
        if gained > 0.75 * hoped {
            trust = (2.0 * trust).min(widest);
        } else if gained < 0.25 * hoped {
            trust *= 0.25;
        }
        if trust < shortest {
            break;
        }
    }
    best
}
