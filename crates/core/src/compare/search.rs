//! The search for ways: fresh sheets first, then every remnant by itself, then remnants one after the
//! other by what a kilogram from them costs, and at last mixes of all of them, improved step by step.
//!
//! A mix is a sequence of sheets, each filled with what the ones before have left. Taking a sheet out of
//! the sequence, changing two of them, putting another in its place or in between are the moves; the
//! packer judges each.

use std::sync::Arc;

use fastrand::Rng;
use rayon::prelude::*;

use super::bound::lower_bound;
use super::load::{EFFORTS, Load, Loader};
use super::question::{Question, Source};
use super::sequence::take_off;
use super::ways::{Comparison, Way, WayKind};
use crate::job::Budget;

/// Sheets filled side by side between two looks at the clock.
const BATCH: usize = 8;

/// Remnants that come into question as the next, going by what they took of the whole order.
const NEXT: usize = 12;

/// A remnant with so many times the parts' area mostly takes them at a glance.
const ROOMY: f64 = 1.3;

/// Remnants of a sequence at most.
const LONGEST: usize = 24;

/// Batches of moves without a better mix after which it is tried harder.
const PATIENCE: usize = 6;

/// Remnants that nearly took all are tried harder: those with at least this share of the area.
const NEARLY: f64 = 0.8;

/// Compares ways of cutting an order; `better` hears of every better comparison. Same question, seed
/// and steps: the same ways, on any number of threads.
pub fn compare(
    question: &Question,
    seed: u64,
    budget: &Budget<'_>,
    better: &mut (dyn FnMut(&Comparison) + Send),
) -> Comparison {
    let usable = question.wanted.iter().any(|w| w.count > 0) && !question.candidates.is_empty();
    if !usable {
        return Comparison { settled: true, ..Comparison::default() };
    }
    let mut search = Search {
        question,
        loader: Loader::new(question, seed, budget.stop.clone()),
        budget,
        found: Comparison { bound: lower_bound(question), ..Comparison::default() },
        better,
        values: Vec::new(),
        rng: Rng::with_seed(seed),
    };
    search.found.looked_at.1 = question.candidates.len();
    search.run();
    search.found.steps = search.loader.steps();
    search.found
}

struct Search<'a, 'b> {
    question: &'a Question,
    loader: Loader<'a>,
    budget: &'a Budget<'b>,
    found: Comparison,
    better: &'a mut (dyn FnMut(&Comparison) + Send),
    /// Remnants that took something of the whole order, the cheapest for what they took first: what
    /// the area costs, which, and the share of the order.
    values: Vec<(f64, usize, f64)>,
    rng: Rng,
}

impl Search<'_, '_> {
    fn run(&mut self) {
        let whole = self.question.counts();
        let fresh = self.loader.fresh(&whole, 0);
        self.admit(fresh);
        self.tell();
        if !self.remnants(&whole) {
            return;
        }
        for effort in 0..EFFORTS.len() {
            if !(self.harder(&whole, effort) && self.one_after_the_other(&whole, effort)) {
                return;
            }
            self.tell();
            if !self.mix(&whole, effort) {
                return;
            }
            self.tell();
        }
        self.found.settled = true;
        self.tell();
    }

    fn is_over(&self) -> bool {
        self.budget.spent(self.loader.steps())
    }

    fn tell(&mut self) {
        self.found.steps = self.loader.steps();
        (self.better)(&self.found);
    }

    fn admit(&mut self, loads: Vec<Arc<Load>>) -> bool {
        !loads.is_empty() && self.found.admit(self.question, Way::of(self.question, loads))
    }

    /// Every remnant with the whole order; those that take all are ways. False where time is up.
    fn remnants(&mut self, whole: &[usize]) -> bool {
        let area = |counts: &[usize]| -> f64 {
            let of = |(w, n): (&super::Want, &usize)| w.part.region.area() * *n as f64;
            self.question.wanted.iter().zip(counts).map(of).sum()
        };
        let wanted = area(whole);
        let metal = |c: &usize| self.question.candidates[*c].sheet.area();
        let remnants: Vec<usize> = (0..self.question.candidates.len())
            .filter(|c| self.question.candidates[*c].source == Source::Remnant)
            .collect();
        self.found.looked_at.0 = self.question.candidates.len() - remnants.len();
        // Those with room to spare first, the smallest first of all, so that a way is known early; then
        // those that may just take all; then the others, large ones first.
        let class = |c: &usize| match metal(c) / wanted {
            _ if !self.loader.may_take_all(*c, whole) => 2,
            room if room >= ROOMY => 0,
            room if room >= 1.0 => 1,
            _ => 2,
        };
        let mut classed: Vec<(u8, usize)> = remnants.iter().map(|c| (class(c), *c)).collect();
        classed.sort_by(|a, b| {
            let order = metal(&a.1).total_cmp(&metal(&b.1));
            a.0.cmp(&b.0).then(if a.0 == 2 { order.reverse() } else { order })
        });
        let remnants: Vec<usize> = classed.into_iter().map(|(_, c)| c).collect();
        for batch in remnants.chunks(BATCH) {
            if self.is_over() {
                return false;
            }
            self.loader.fill_all(batch, whole, 0);
            let mut told = false;
            for c in batch {
                self.found.looked_at.0 += 1;
                let Some(load) = self.loader.fill(*c, whole, 0) else { continue };
                self.values.push((load.score / load.area, *c, load.area / wanted));
                if load.placed == whole {
                    told |= self.admit(vec![load]);
                }
            }
            if told {
                self.tell();
            }
        }
        self.values.sort_by(|a, b| a.0.total_cmp(&b.0).then(a.1.cmp(&b.1)));
        !self.loader.stopped()
    }

    /// The ways known and remnants that nearly took all, with more effort. False where time is up.
    fn harder(&mut self, whole: &[usize], effort: usize) -> bool {
        if effort == 0 {
            return true;
        }
        let fresh = self.loader.fresh(whole, effort);
        self.admit(fresh);
        let nearly = self.values.iter().filter(|v| v.2 >= NEARLY).map(|v| v.1);
        let nearly: Vec<usize> = nearly.take(NEXT).collect();
        for batch in nearly.chunks(BATCH) {
            if self.is_over() {
                return false;
            }
            self.loader.fill_all(batch, whole, effort);
            for c in batch {
                if let Some(load) = self.loader.fill(*c, whole, effort)
                    && load.placed == whole
                {
                    self.admit(vec![load]);
                }
            }
        }
        !self.is_over()
    }

    /// Remnants one after the other, each time the one whose metal comes cheapest; after each of them
    /// fresh sheets for the rest. False where time is up.
    fn one_after_the_other(&mut self, whole: &[usize], effort: usize) -> bool {
        let mut left = whole.to_vec();
        let mut loads: Vec<Arc<Load>> = Vec::new();
        let mut used: Vec<usize> = Vec::new();
        while left.iter().any(|n| *n > 0) && loads.len() < LONGEST {
            if self.is_over() {
                return false;
            }
            let next: Vec<usize> = self
                .values
                .iter()
                .map(|v| v.1)
                .filter(|c| {
                    used.iter().filter(|u| *u == c).count() < self.question.candidates[*c].count
                })
                .take(NEXT)
                .collect();
            self.loader.fill_all(&next, &left, effort);
            let best = next
                .iter()
                .filter_map(|c| self.loader.fill(*c, &left, effort))
                .min_by(|a, b| (a.score / a.area).total_cmp(&(b.score / b.area)));
            let Some(load) = best else { break };
            take_off(&mut left, &load.placed);
            used.push(load.candidate);
            loads.push(load);
            let rest = self.loader.fresh(&left, effort);
            self.admit(loads.iter().cloned().chain(rest).collect());
        }
        self.admit(loads);
        !self.is_over()
    }

    /// Improves the cheapest way by moves. False where time is up.
    fn mix(&mut self, whole: &[usize], effort: usize) -> bool {
        let Some(best) = self.found.best() else { return !self.is_over() };
        let remnant = |c: &usize| self.question.candidates[*c].source == Source::Remnant;
        let mut now: Vec<usize> = best.sheets.iter().map(|s| s.candidate).filter(remnant).collect();
        let mut score = best.score;
        let mut failed = 0;
        while failed < PATIENCE {
            if self.is_over() {
                return false;
            }
            let moves: Vec<Vec<usize>> = (0..BATCH).map(|_| self.moved(&now)).collect();
            let loader = &self.loader;
            let tried: Vec<Vec<Arc<Load>>> =
                moves.par_iter().map(|m| loader.sequence(whole, m, effort)).collect();
            failed += 1;
            for (sheets, loads) in moves.into_iter().zip(tried) {
                if loads.is_empty() || self.loader.stopped() {
                    continue;
                }
                let mut way = Way::of(self.question, loads.clone());
                if way.is_complete() && way.score < score - 1e-6 {
                    score = way.score;
                    now = sheets;
                    failed = 0;
                    if way.sheets.len() > 1 && way.kind == WayKind::RemnantsFirst {
                        way.kind = WayKind::Mix;
                    }
                    if self.found.admit(self.question, way) {
                        self.tell();
                    }
                }
            }
        }
        !self.is_over()
    }

    /// A neighbour of a sequence: one sheet out, two changed, one in place of another, or one more.
    fn moved(&mut self, sheets: &[usize]) -> Vec<usize> {
        let mut moved = sheets.to_vec();
        let n = moved.len();
        let fresh = |c: &usize| !moved.contains(c);
        let others: Vec<usize> =
            self.values.iter().map(|v| v.1).filter(fresh).take(4 * NEXT).collect();
        // The cheaper ones more often.
        let other = (!others.is_empty()).then(|| {
            let share = self.rng.f64() * self.rng.f64();
            others[(share * others.len() as f64) as usize]
        });
        match (self.rng.u8(0..4), other) {
            (0, _) if n > 0 => {
                moved.remove(self.rng.usize(0..n));
            }
            (1, _) if n > 1 => moved.swap(self.rng.usize(0..n), self.rng.usize(0..n)),
            (2, Some(other)) if n > 0 => moved[self.rng.usize(0..n)] = other,
            (_, Some(other)) if n < LONGEST => moved.insert(self.rng.usize(0..=n), other),
            _ => {}
        }
        moved
    }
}
