//! The search for ways: fresh sheets first, then every remnant by itself, then remnants one after the
//! other by what a kilogram from them costs, and at last mixes of all of them, improved step by step.
//!
//! A mix is a sequence of sheets, each filled with what the ones before have left. Taking a sheet out of
//! the sequence, changing two of them, putting another in its place or in between are the moves; the
//! packer judges each.

use std::sync::Arc;

use fastrand::Rng;
use rayon::prelude::*;

use super::bound::Bounds;
use super::load::{EFFORTS, Kept, Load, Loader};
use super::question::{Question, Source};
use super::sequence::take_off;
use super::ways::{Comparison, Way, WayKind};
use crate::job::Budget;

/// Sheets filled side by side between two looks at the clock.
const BATCH: usize = 8;

/// Remnants that come into question as the next, going by what they took of the whole order.
const NEXT: usize = 12;

/// A remnant with so many times the parts' area mostly takes them at a glance.
const ROOMY: f64 = 2.2;

/// Remnants of a sequence at most.
const LONGEST: usize = 24;

/// Batches of moves without a better mix after which it is tried harder.
const PATIENCE: usize = 6;

/// Remnants that nearly took all are tried harder: those with at least this share of the area.
const NEARLY: f64 = 0.8;

/// Of those that never took all and would be the cheapest way if they did, so many are tried hardest.
const HARDEST: usize = 3;

/// Compares ways of cutting an order; `better` hears of every better comparison. Same question, seed
/// and steps: the same ways, on any number of threads.
pub fn compare(
    question: &Question,
    seed: u64,
    budget: &Budget<'_>,
    better: &mut (dyn FnMut(&Comparison) + Send),
) -> Comparison {
    let mut comparer = Comparer::new(question, seed);
    comparer.search(budget, better);
    comparer.found
}

/// A comparison that can be searched on after it has come to the end of its budget.
pub struct Comparer<'a> {
    question: &'a Question,
    kept: Arc<Kept>,
    seed: u64,
    found: Comparison,
    /// Remnants that took something of the whole order, the cheapest for what they took first: what
    /// the area costs, which, and the share of the order.
    values: Vec<(f64, usize, f64)>,
    rng: Rng,
    /// How many of the efforts are made for all.
    efforts: usize,
}

impl<'a> Comparer<'a> {
    /// A comparison that nothing has been searched for yet.
    pub fn new(question: &'a Question, seed: u64) -> Self {
        let mut found = Comparison::default();
        found.looked_at.1 = question.candidates.len();
        let kept = Arc::new(Kept::new(question));
        let (values, rng, efforts) = (Vec::new(), Rng::with_seed(seed), EFFORTS.len() - 1);
        Self { question, kept, seed, found, values, rng, efforts }
    }

    /// The same, settled with what fits at a glance: in a fraction of the time, and a little dearer.
    pub fn at_a_glance(self) -> Self {
        Self { efforts: 1, ..self }
    }

    /// Searches as far as the budget goes, from what was found before; `better` hears of every better
    /// comparison.
    pub fn search(
        &mut self,
        budget: &Budget<'_>,
        better: &mut (dyn FnMut(&Comparison) + Send),
    ) -> &Comparison {
        let wanted = self.question.wanted.iter().any(|w| w.count > 0);
        if !wanted || self.question.candidates.is_empty() {
            self.found.settled = true;
            return &self.found;
        }
        let loader = Loader::new(self.question, self.kept.clone(), self.seed, budget);
        loader.charge_all();
        if !loader.stopped() {
            let bounds = Bounds::of(&loader);
            self.found.bound = bounds.whole;
            Search { at: self, loader, bounds, budget, better }.run();
        }
        &self.found
    }
}

struct Search<'s, 'a, 'b> {
    at: &'s mut Comparer<'a>,
    loader: Loader<'b>,
    bounds: Bounds,
    budget: &'b Budget<'b>,
    better: &'b mut (dyn FnMut(&Comparison) + Send),
}

impl Search<'_, '_, '_> {
    fn run(mut self) {
        self.all();
        self.at.found.steps = self.loader.steps();
    }

    fn all(&mut self) {
        let whole = self.at.question.counts();
        self.at.values.clear();
        // One by itself: what it learns of the parts, such as how they lie in rows, serves all others.
        let fresh = |c: &usize| self.at.question.candidates[*c].source.is_fresh();
        let first = (0..self.at.question.candidates.len()).find(fresh).unwrap_or(0);
        self.loader.fill(first, &whole, 0);
        for fresh in self.loader.fresh_by_size(&whole, 0) {
            self.admit(fresh);
        }
        self.tell();
        if !self.remnants(&whole) {
            return;
        }
        for effort in 0..self.at.efforts {
            if !(self.harder(&whole, effort) && self.one_after_the_other(&whole, effort)) {
                return;
            }
            self.tell();
            if !self.mix(&whole, effort) {
                return;
            }
            self.tell();
        }
        if self.at.efforts > 1 && !self.hardest(&whole) {
            return;
        }
        self.at.found.settled = true;
        self.tell();
    }

    fn is_over(&self) -> bool {
        self.budget.spent(self.loader.steps())
    }

    fn tell(&mut self) {
        self.at.found.steps = self.loader.steps();
        (self.better)(&self.at.found);
    }

    fn admit(&mut self, loads: Vec<Arc<Load>>) -> bool {
        !loads.is_empty() && self.at.found.admit(self.at.question, Way::of(self.at.question, loads))
    }

    /// Every remnant with the whole order; those that take all are ways. False where time is up.
    fn remnants(&mut self, whole: &[usize]) -> bool {
        let area = |counts: &[usize]| -> f64 {
            let of = |(w, n): (&super::Want, &usize)| w.part.region.area() * *n as f64;
            self.at.question.wanted.iter().zip(counts).map(of).sum()
        };
        let wanted = area(whole);
        let metal = |c: &usize| self.at.question.candidates[*c].sheet.area();
        let remnants: Vec<usize> = (0..self.at.question.candidates.len())
            .filter(|c| self.at.question.candidates[*c].source == Source::Remnant)
            .collect();
        self.at.found.looked_at.0 = self.at.question.candidates.len() - remnants.len();
        // Those with room to spare first, the smallest first of all, so that a way is known early; then
        // those that may just take all, and then the others, large ones first.
        let class = |c: &usize| match metal(c) / wanted {
            _ if !self.loader.may_take_all(*c, whole) => 2,
            room if room >= ROOMY => 0,
            room if room >= 1.0 => 1,
            _ => 2,
        };
        let mut classed: Vec<(u8, usize)> = remnants.iter().map(|c| (class(c), *c)).collect();
        classed.sort_by(|a, b| {
            let order = metal(&a.1).total_cmp(&metal(&b.1));
            a.0.cmp(&b.0).then(if a.0 > 0 { order.reverse() } else { order })
        });
        let remnants: Vec<usize> = classed.into_iter().map(|(_, c)| c).collect();
        for batch in remnants.chunks(BATCH) {
            if self.is_over() {
                return false;
            }
            self.loader.glance_all(batch, whole);
            let mut told = false;
            for c in batch {
                self.at.found.looked_at.0 += 1;
                let Some(laid) = self.loader.glance(*c, whole) else { continue };
                let cost = self.bounds.sheet(*c, laid.area);
                self.at.values.push((cost / laid.area, *c, laid.area / wanted));
                if laid.placed == whole
                    && let Some(load) = self.loader.fill(*c, whole, 0)
                {
                    told |= self.admit(vec![load]);
                }
            }
            if told {
                self.tell();
            }
        }
        self.at.values.sort_by(|a, b| a.0.total_cmp(&b.0).then(a.1.cmp(&b.1)));
        !self.loader.stopped()
    }

    /// Remnants that took nearly all at a glance, or all.
    fn nearly(&self) -> Vec<usize> {
        let nearly = self.at.values.iter().filter(|v| v.2 >= NEARLY).map(|v| v.1);
        nearly.take(NEXT).collect()
    }

    /// The ways known and remnants that nearly took all, with more effort. False where time is up.
    fn harder(&mut self, whole: &[usize], effort: usize) -> bool {
        if effort == 0 {
            return true;
        }
        let nearly = self.nearly();
        for batch in nearly.chunks(BATCH) {
            if self.is_over() {
                return false;
            }
            self.admit_alone(batch, whole, effort);
        }
        for fresh in self.loader.fresh_by_size(whole, effort) {
            self.admit(fresh);
        }
        !self.is_over()
    }

    /// Remnants that would be the cheapest way if they took all, with the last effort. False where time
    /// is up.
    fn hardest(&mut self, whole: &[usize]) -> bool {
        let (last, best) = (EFFORTS.len() - 1, self.at.found.best().map(|b| b.score));
        // What more parts take adds, as a rule, to what a sheet costs as it is filled now.
        let worth = self.nearly().into_iter().filter_map(|c| {
            let load = self.loader.fill(c, whole, last - 1)?;
            let cheaper = load.placed != whole && best.is_none_or(|b| load.score < b);
            cheaper.then_some((load.score, c))
        });
        let mut worth: Vec<(f64, usize)> = worth.collect();
        worth.sort_by(|a, b| a.0.total_cmp(&b.0));
        worth.truncate(HARDEST);
        let worth: Vec<usize> = worth.into_iter().map(|w| w.1).collect();
        self.admit_alone(&worth, whole, last);
        !self.is_over()
    }

    /// Fills these sheets side by side with the whole order; those that take all are ways.
    fn admit_alone(&mut self, candidates: &[usize], whole: &[usize], effort: usize) {
        self.loader.fill_all(candidates, whole, effort);
        for c in candidates {
            if let Some(load) = self.loader.fill(*c, whole, effort)
                && load.placed == whole
            {
                self.admit(vec![load]);
            }
        }
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
                .at
                .values
                .iter()
                .map(|v| v.1)
                .filter(|c| {
                    used.iter().filter(|u| *u == c).count() < self.at.question.candidates[*c].count
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
        let Some(best) = self.at.found.best() else { return !self.is_over() };
        let remnant = |c: &usize| self.at.question.candidates[*c].source == Source::Remnant;
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
                let mut way = Way::of(self.at.question, loads.clone());
                if way.is_complete() && way.score < score - 1e-6 {
                    score = way.score;
                    now = sheets;
                    failed = 0;
                    if way.sheets.len() > 1 && way.kind == WayKind::RemnantsFirst {
                        way.kind = WayKind::Mix;
                    }
                    if self.at.found.admit(self.at.question, way) {
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
            self.at.values.iter().map(|v| v.1).filter(fresh).take(4 * NEXT).collect();
        // The cheaper ones more often.
        let other = (!others.is_empty()).then(|| {
            let share = self.at.rng.f64() * self.at.rng.f64();
            others[(share * others.len() as f64) as usize]
        });
        match (self.at.rng.u8(0..4), other) {
            (0, _) if n > 0 => {
                moved.remove(self.at.rng.usize(0..n));
            }
            (1, _) if n > 1 => moved.swap(self.at.rng.usize(0..n), self.at.rng.usize(0..n)),
            (2, Some(other)) if n > 0 => moved[self.at.rng.usize(0..n)] = other,
            (_, Some(other)) if n < LONGEST => moved.insert(self.at.rng.usize(0..=n), other),
            _ => {}
        }
        moved
    }
}
