//! Branch and bound over boxes of positions and turns.
//!
//! A witness ([`super::laid`]) at the middle of a box plus the farthest it can move within the box
//! bounds what the part can have to spare anywhere in the box: half the box's diagonal plus, for
//! something at a distance `arm` from the pivot, 2·arm·sin(half turn / 2). A box in which any such
//! bound is below minus the resolution holds no place for the part and is dropped; the others are
//! halved. When no box is left there is no place at all. Whatever else is left out below (discs
//! not tried, pairs not followed) only makes boxes live longer.

use std::cmp::Ordering;
use std::collections::BinaryHeap;
use std::f64::consts::PI;
use std::sync::Arc;

use rayon::prelude::*;

use super::climb::{Spot, climb};
use super::field::Field;
use super::laid::{Laid, Pair, Witness};
use super::lp::{Slope, best_move, ceiling};
use super::probe::Probe;
use crate::job::Budget;
use crate::shape::Vector;

/// Boxes halved per round: enough to keep some cores busy, few enough to hear the stop flag.
const ROUND: usize = 256;

/// Climbs per round.
const CLIMBS: usize = 2;

/// At most so many boxes wait (some 100 bytes each, and shared lists).
const MOST_BOXES: usize = 500_000;

/// How coarse room is read, as a share of how far the middle of the part moves within a box.
const BLUR: f64 = 1.0;

/// Pairs of edges and rims are followed in boxes smaller than this share of the part's reach...
const FINE: f64 = 1.0 / 50.0;

/// ...if no more than so many are near.
const MOST_PAIRS: usize = 3000;

/// A box of poses: `at` ± `half` for the pivot, `turn` ± `half_turn`.
#[derive(Clone, Debug)]
struct Cell {
    at: Vector,
    half: Vector,
    turn: f64,
    half_turn: f64,
    /// Which of the part's faces.
    face: usize,
    /// The discs of the part that may lack room in it, the one that told most first.
    discs: Arc<[u16]>,
    /// Bounds what can be to spare in it.
    upper: f64,
    /// About what is to spare at its middle.
    value: f64,
    /// Edges and rims that may touch in it, once it is small.
    pairs: Option<Arc<[Pair]>>,
    /// Order of making, so that equals are told apart alike on every run.
    number: u64,
}

impl Cell {
    /// The farthest that something at a distance `arm` from the pivot moves from where it is at
    /// the middle of the box.
    fn reach(&self, arm: f64) -> f64 {
        self.reaches()(arm)
    }

    /// The same, for many arms.
    fn reaches(&self) -> impl Fn(f64) -> f64 + use<> {
        let shift = self.half.length();
        let chord = 2.0 * (0.5 * self.half_turn.min(PI)).sin();
        move |arm| shift + arm * chord
    }

    fn halves(&self, probe: &Probe) -> [Self; 2] {
        let far = probe.reach();
        let inner = probe.discs().first().map_or(0.0, |d| d.radius);
        // While every turn is allowed the disc about the pivot tells as much as ever: shrink the
        // box before any turn is looked at.
        let whole = self.half_turn >= PI && self.half.length() > (0.5 * inner).max(far / 8.0);
        let turning = if whole { 0.0 } else { far * self.half_turn };
        let mut low = Self { number: 0, ..self.clone() };
        let mut high = low.clone();
        if turning >= self.half.x && turning >= self.half.y {
            let quarter = 0.5 * self.half_turn;
            (low.half_turn, high.half_turn) = (quarter, quarter);
            low.turn -= quarter;
            high.turn += quarter;
        } else if self.half.x >= self.half.y {
            let quarter = 0.5 * self.half.x;
            (low.half.x, high.half.x) = (quarter, quarter);
            low.at.x -= quarter;
            high.at.x += quarter;
        } else {
            let quarter = 0.5 * self.half.y;
            (low.half.y, high.half.y) = (quarter, quarter);
            low.at.y -= quarter;
            high.at.y += quarter;
        }
        [low, high]
    }
}

impl Ord for Cell {
    fn cmp(&self, other: &Self) -> Ordering {
        self.upper.total_cmp(&other.upper).then(other.number.cmp(&self.number))
    }
}

impl PartialOrd for Cell {
    fn partial_cmp(&self, other: &Self) -> Option<Ordering> {
        Some(self.cmp(other))
    }
}

impl PartialEq for Cell {
    fn eq(&self, other: &Self) -> bool {
        self.cmp(other) == Ordering::Equal
    }
}

impl Eq for Cell {}

/// How the search ended.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum End {
    /// The caller accepted a pose.
    Found,
    /// No box is left: there is no place.
    Nowhere,
    /// The budget is spent, memory is full, or what is left is within the resolution.
    GivenUp,
}

/// A face of the part and the turns (radians) it may have: the middle and half of each range.
pub(super) struct Face<'a> {
    pub(super) probe: &'a Probe,
    pub(super) turns: Vec<(f64, f64)>,
}

/// Looks for a pose that `accept` takes, among the best poses found (made better until `enough` mm
/// are to spare); returns how it ended and the
/// number of boxes looked at.
pub(super) fn search(
    faces: &[Face<'_>],
    field: &Field,
    (resolution, enough): (f64, f64),
    budget: &Budget<'_>,
    accept: &mut dyn FnMut(usize, Spot) -> bool,
) -> (End, u64) {
    let searcher = Searcher { faces, field, resolution, enough };
    let mut waiting = BinaryHeap::new();
    let mut climbed: Vec<Cell> = Vec::new();
    let mut best = f64::NEG_INFINITY;
    let (mut steps, mut made, mut unresolved) = (0, 0, false);
    // Rounds until climbs are worth trying again, and how many it was last time.
    let (mut rest, mut rested) = (0_u32, 0);
    let bounds = field.bounds();
    let half = Vector::new(0.5 * bounds.width(), 0.5 * bounds.height());
    let at = bounds.centre().to_vector();
    let mut fresh: Vec<Cell> = Vec::new();
    for (face, f) in faces.iter().enumerate() {
        fresh.extend(f.turns.iter().map(|(turn, half_turn)| Cell {
            at,
            half,
            turn: *turn,
            half_turn: *half_turn,
            face,
            discs: (0..f.probe.discs().len() as u16).collect(),
            upper: f64::INFINITY,
            value: f64::NEG_INFINITY,
            pairs: None,
            number: 0,
        }));
    }
    loop {
        if rest == 0 {
            let before = best;
            for spot in searcher.climbs(&fresh, &mut climbed, best) {
                best = best.max(spot.1.spare);
                if accept(spot.0, spot.1) {
                    return (End::Found, steps);
                }
            }
            rested = if best > before { 0 } else { rested + 1 };
            rest = rested;
        } else {
            rest -= 1;
        }
        for mut cell in fresh.drain(..) {
            if cell.reach(faces[cell.face].probe.reach()) < 0.25 * resolution {
                unresolved = true;
                continue;
            }
            made += 1;
            cell.number = made;
            waiting.push(cell);
        }
        if waiting.is_empty() {
            return (if unresolved { End::GivenUp } else { End::Nowhere }, steps);
        }
        if waiting.len() > MOST_BOXES || budget.spent(steps) {
            return (End::GivenUp, steps);
        }
        let batch: Vec<Cell> = (0..ROUND).map_while(|_| waiting.pop()).collect();
        steps += 2 * batch.len() as u64;
        fresh = batch
            .par_iter()
            .with_min_len(8)
            .flat_map_iter(|cell| cell.halves(faces[cell.face].probe))
            .filter(|_| !budget.stop.raised())
            .filter_map(|cell| searcher.examined(cell))
            .collect();
        // A round that was cut short proves nothing.
        if budget.stop.raised() {
            return (End::GivenUp, steps);
        }
    }
}

struct Searcher<'a> {
    faces: &'a [Face<'a>],
    field: &'a Field,
    resolution: f64,
    enough: f64,
}

impl Searcher<'_> {
    /// The box with its bounds, or `None` where it holds no place for the part.
    fn examined(&self, mut cell: Cell) -> Option<Cell> {
        let probe = self.faces[cell.face].probe;
        let laid = Laid::new(probe, self.field, cell.at, cell.turn);
        let (mut upper, mut value) = (cell.upper, f64::INFINITY);
        let (mut kept, mut first) = (Vec::with_capacity(cell.discs.len()), 0);
        let blur = BLUR * cell.half.length();
        let reach_of = cell.reaches();
        for n in cell.discs.iter() {
            let disc = &probe.discs()[usize::from(*n)];
            let reach = reach_of(disc.arm);
            // What may come to lie anywhere tells nothing.
            if reach > disc.radius + self.field.deepest(laid.middle(disc)) + self.resolution {
                kept.push(*n);
                continue;
            }
            let (low, high) = self.field.room_between(laid.middle(disc), blur);
            let mut most = high - disc.radius;
            if low - disc.radius + reach < -self.resolution && most + reach >= -self.resolution {
                most = laid.disc(disc).value;
            }
            if most + reach < -self.resolution {
                return None;
            }
            value = value.min(most);
            // A disc that has room all over the box has it in every part of the box.
            if low - disc.radius - reach > 0.0 {
                continue;
            }
            if most + reach < upper {
                upper = most + reach;
                first = kept.len();
            }
            kept.push(*n);
        }
        if !kept.is_empty() {
            kept.swap(0, first);
        }
        if kept.len() < cell.discs.len() || first > 0 {
            cell.discs = kept.into();
        }
        (cell.upper, cell.value) = (upper, value);
        if cell.reach(probe.reach()) <= FINE * probe.reach() {
            self.follow_pairs(&laid, &mut cell)?;
        }
        Some(cell)
    }

    /// Looks at the edges and rims that may touch in the box; `None` where they leave no place.
    fn follow_pairs(&self, laid: &Laid<'_>, cell: &mut Cell) -> Option<()> {
        let probe = self.faces[cell.face].probe;
        let entering = cell.pairs.is_none();
        let pairs = match cell.pairs.take() {
            Some(pairs) => pairs,
            None => match laid.pairs(|n| cell.reach(probe.arm(n)), MOST_PAIRS) {
                Some(pairs) => pairs.into(),
                None => return Some(()),
            },
        };
        let mut kept = Vec::with_capacity(pairs.len());
        let mut near = Vec::with_capacity(pairs.len());
        let mut crossing = Vec::new();
        let (mut upper, mut value) = (cell.upper, cell.value);
        let mut worst = 0;
        let mut note = |w: &Witness| {
            let most = w.value + cell.reach(w.arm);
            upper = upper.min(most);
            value = value.min(w.value);
            most >= -self.resolution
        };
        for pair in pairs.iter() {
            let w = laid.pair(*pair);
            if !note(&w) {
                return None;
            }
            if w.value <= cell.reach(w.arm) {
                near.push(w);
                kept.push((w.value, *pair));
                if w.value < kept[worst].0 {
                    worst = kept.len() - 1;
                }
                if w.toward == Vector::default() {
                    crossing.push(*pair);
                }
            }
        }
        let depths = laid.depths(&crossing);
        if !depths.iter().all(&mut note) {
            return None;
        }
        near.extend(depths.into_iter().filter(|w| w.value <= cell.reach(w.arm)));
        // Obstacles none of whose rims touch any more may lie in the part's metal.
        let of = |p: &Pair| self.field.rim(p.rim as usize).obstacle;
        let mut touching: Vec<usize> = kept.iter().map(|(_, p)| of(p)).collect();
        touching.sort_unstable();
        touching.dedup();
        let mut gone: Vec<usize> = if entering {
            (0..self.field.first_rims().len()).collect()
        } else {
            pairs.iter().map(of).collect()
        };
        gone.sort_unstable();
        gone.dedup();
        gone.retain(|n| touching.binary_search(n).is_err());
        for obstacle in gone {
            let rim = self.field.rim(self.field.first_rims()[obstacle]);
            if let Some(w) = laid.swallowed(rim.edge.from(), rim)
                && !note(&w)
            {
                return None;
            }
        }
        upper = upper.min(self.held(laid, cell, &near));
        if upper < -self.resolution {
            return None;
        }
        (cell.upper, cell.value) = (upper, value);
        // The tightest first: it will likely tell for the halves too.
        if !kept.is_empty() {
            kept.swap(0, worst);
        }
        cell.pairs = Some(kept.into_iter().map(|(_, p)| p).collect());
        Some(())
    }

    /// What can be to spare in a box where some witnesses hold each other: a part in a slot cannot
    /// gain on one side without losing on the other.
    fn held(&self, laid: &Laid<'_>, cell: &Cell, near: &[Witness]) -> f64 {
        let limits = [cell.half.x, cell.half.y, cell.half_turn];
        let tangents: Vec<Slope> = near.iter().map(Witness::tangent).collect();
        let Some(best) = best_move(&tangents, limits) else { return f64::INFINITY };
        if best.least >= -self.resolution {
            return f64::INFINITY;
        }
        let slopes: Vec<Slope> = best
            .held_by
            .iter()
            .filter_map(|(n, _)| laid.slope(&near[*n], cell.half.length(), cell.half_turn))
            .collect();
        ceiling(&slopes, limits)
    }

    /// Climbs from the most promising of some boxes that lie apart from those climbed from before.
    fn climbs(&self, cells: &[Cell], climbed: &mut Vec<Cell>, best: f64) -> Vec<(usize, Spot)> {
        let mut order: Vec<&Cell> = cells.iter().collect();
        order.sort_by(|a, b| b.value.total_cmp(&a.value));
        let mut starts: Vec<&Cell> = Vec::new();
        for cell in order {
            if starts.len() == CLIMBS {
                break;
            }
            let far = self.faces[cell.face].probe.reach();
            // The first tells at least something; others where the box may lead out of the depth.
            if !climbed.is_empty() && cell.value < -0.5 * cell.reach(far) {
                break;
            }
            let near = |other: &Cell| {
                other.face == cell.face
                    && (other.at - cell.at).length() + far * (other.turn - cell.turn).abs()
                        < 0.5 * cell.reach(far)
            };
            if !climbed.iter().any(near) && !starts.iter().any(|c| near(c)) {
                starts.push(cell);
            }
        }
        let spots = starts
            .par_iter()
            .map(|cell| {
                let probe = self.faces[cell.face].probe;
                let trust = cell.reach(probe.reach()).min(probe.reach() / 16.0);
                let turns = cell.half_turn > 0.0;
                (
                    cell.face,
                    climb(
                        probe,
                        self.field,
                        (cell.at, cell.turn),
                        turns,
                        trust,
                        (best, self.enough),
                    ),
                )
            })
            .collect();
        climbed.extend(starts.into_iter().map(|c| Cell { pairs: None, ..c.clone() }));
        spots
    }
}
