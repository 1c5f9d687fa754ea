//! One sheet and what is cut from it: laid by the packer, passed by the check, its cost worked out.

use std::collections::HashMap;
use std::sync::{Arc, Mutex, OnceLock, PoisonError};

use rayon::prelude::*;

use super::account::{Account, Item, Rest, account, charge};
use super::question::{Candidate, Question};
use crate::check::{CheckedPlan, Fault, check};
use crate::cutting::{ByHand, plan_cut};
use crate::fit::Bulk;
use crate::job::Budget;
use crate::packer::{Patterns, pack_with};
use crate::plan::{Job, Layout, Placement, Plan, Stock};

/// Steps of the packer at each effort: first only what fits at a glance, then ever more, and the last
/// for the few sheets that would pay most if only they took all.
pub(super) const EFFORTS: [u64; 4] = [1, 300, 900, 4_000];

/// A sheet and what is cut from it.
#[derive(Clone, Debug)]
pub(super) struct Load {
    pub(super) candidate: usize,
    pub(super) placements: Vec<Placement>,
    /// How many of each part.
    pub(super) placed: Vec<usize>,
    /// Area of its parts, mm².
    pub(super) area: f64,
    pub(super) account: Account,
    pub(super) rest: Rest,
    /// What it costs: money, or kilograms of metal where prices are missing.
    pub(super) score: f64,
}

/// What the packer laid on a sheet, passed by the check.
#[derive(Clone, Debug)]
pub(super) struct Laid {
    layout: Layout,
    /// How many of each part.
    pub(super) placed: Vec<usize>,
    /// Area of its parts, mm².
    pub(super) area: f64,
}

/// What a sheet is filled from, and how hard it is tried.
type Key = (usize, Vec<usize>, usize);

/// Fills sheets, each for each order once, within a budget.
pub(super) struct Loader<'a> {
    pub(super) question: &'a Question,
    kept: Arc<Kept>,
    seed: u64,
    budget: &'a Budget<'a>,
}

/// What is kept from one search to the next.
pub(super) struct Kept {
    bulks: Vec<Bulk>,
    patterns: Patterns,
    /// What each candidate is charged, once it was asked.
    charges: Vec<OnceLock<Option<Item>>>,
    known: Mutex<Known>,
}

impl Kept {
    pub(super) fn new(question: &Question) -> Self {
        Self {
            bulks: question.wanted.iter().map(|w| Bulk::of(&w.part)).collect(),
            patterns: Patterns::quick(),
            charges: question.candidates.iter().map(|_| OnceLock::new()).collect(),
            known: Mutex::default(),
        }
    }
}

#[derive(Default)]
struct Known {
    laid: HashMap<Key, Option<Arc<Laid>>>,
    loads: HashMap<Key, Arc<Load>>,
    steps: u64,
}

impl<'a> Loader<'a> {
    pub(super) fn new(
        question: &'a Question,
        kept: Arc<Kept>,
        seed: u64,
        budget: &'a Budget<'a>,
    ) -> Self {
        Self { question, kept, seed, budget }
    }

    /// Steps of the packer so far: the same whatever the number of threads.
    pub(super) fn steps(&self) -> u64 {
        self.known().steps
    }

    /// What a candidate is charged when it is pulled.
    pub(super) fn charge(&self, candidate: usize) -> Option<&Item> {
        self.kept.charges[candidate]
            .get_or_init(|| charge(&self.question.candidates[candidate]))
            .as_ref()
    }

    /// Works out what all candidates are charged, side by side.
    pub(super) fn charge_all(&self) {
        (0..self.kept.charges.len()).into_par_iter().filter(|_| !self.stopped()).for_each(|c| {
            self.charge(c);
        });
    }

    pub(super) fn stopped(&self) -> bool {
        self.budget.stop.raised()
    }

    fn known(&self) -> std::sync::MutexGuard<'_, Known> {
        self.kept.known.lock().unwrap_or_else(PoisonError::into_inner)
    }

    /// Of these counts those whose part is not too large for the sheet and may be of its metal.
    fn within(&self, candidate: usize, left: &[usize]) -> Vec<usize> {
        let sheet = &self.question.candidates[candidate].sheet;
        let goes = |i: usize| {
            self.question.wanted[i].part.may_be_of(sheet.made_of.as_ref())
                && sheet.bodies.iter().any(|b| self.kept.bulks[i].goes_into(b.outer.shape()))
        };
        left.iter().enumerate().map(|(i, n)| if *n > 0 && goes(i) { *n } else { 0 }).collect()
    }

    /// Whether a sheet could take one of each of what is left, going by cheap bounds.
    pub(super) fn may_take_all(&self, candidate: usize, left: &[usize]) -> bool {
        self.within(candidate, left) == left
    }

    /// As much as goes on a sheet of what is left; `None` where nothing does.
    pub(super) fn fill(
        &self,
        candidate: usize,
        left: &[usize],
        effort: usize,
    ) -> Option<Arc<Load>> {
        let counts = self.within(candidate, left);
        let laid: Vec<(usize, Arc<Laid>)> = (0..=effort)
            .filter_map(|effort| Some((effort, self.laid(candidate, &counts, effort)?)))
            .collect();
        let most = laid.iter().map(|l| l.1.area).fold(0.0, f64::max);
        let mut best: Option<Arc<Load>> = None;
        // Only what lays most is worth the reckoning.
        for (effort, laid) in laid.iter().filter(|l| l.1.area >= most * (1.0 - 1e-9)) {
            let found = self.load((candidate, counts.clone(), *effort), laid)?;
            if best.as_ref().is_none_or(|b| found.score < b.score - 1e-9) {
                best = Some(found);
            }
        }
        best
    }

    /// What goes at a glance on a sheet of what is left; `None` where nothing does.
    pub(super) fn glance(&self, candidate: usize, left: &[usize]) -> Option<Arc<Laid>> {
        self.laid(candidate, &self.within(candidate, left), 0)
    }

    /// Fills these sheets side by side, so that each is known from then on.
    pub(super) fn fill_all(&self, candidates: &[usize], left: &[usize], effort: usize) {
        candidates.par_iter().for_each(|c| {
            self.fill(*c, left, effort);
        });
    }

    /// Looks at these sheets side by side, and fills those that take all at a glance.
    pub(super) fn glance_all(&self, candidates: &[usize], left: &[usize]) {
        candidates.par_iter().for_each(|c| {
            if self.glance(*c, left).is_some_and(|laid| laid.placed == left) {
                self.fill(*c, left, 0);
            }
        });
    }

    fn job(&self, candidate: usize, counts: &[usize]) -> (Job, Vec<usize>) {
        // The packer hears only of what is wanted here.
        let parts: Vec<usize> = (0..counts.len()).filter(|i| counts[*i] > 0).collect();
        let sheet = self.question.candidates[candidate].sheet.clone();
        let mut job = self.question.job(vec![Stock { sheet, count: 1 }], counts);
        job.wanted = parts.iter().map(|i| job.wanted[*i].clone()).collect();
        (job, parts)
    }

    fn laid(&self, candidate: usize, counts: &[usize], effort: usize) -> Option<Arc<Laid>> {
        if counts.iter().all(|n| *n == 0) {
            return None;
        }
        let key = (candidate, counts.to_vec(), effort);
        if let Some(known) = self.known().laid.get(&key) {
            return known.clone();
        }
        if self.stopped() {
            return None;
        }
        let (job, parts) = self.job(candidate, counts);
        // What goes at a glance is laid whatever the time.
        let time_up = || effort > 0 && (self.budget.time_up)();
        let stop = self.budget.stop.clone();
        let budget = Budget { steps: Some(EFFORTS[effort]), time_up: &time_up, stop };
        let seed = self.seed ^ (candidate as u64) << 8 ^ effort as u64;
        let packed = pack_with(&self.kept.patterns, &job, seed, &budget);
        // Whoever has asked to stop waits for none of what follows.
        let layout = Some(packed.plan).filter(|_| !self.stopped() && !time_up());
        let layout = clear(&job, layout?);
        if self.stopped() {
            return None;
        }
        let found = layout.map(|layout| {
            let area = |p: &Placement| job.wanted[p.part].part.region.area();
            let mut placed = vec![0; counts.len()];
            for p in &layout.placements {
                placed[parts[p.part]] += 1;
            }
            Arc::new(Laid { area: layout.placements.iter().map(area).sum(), placed, layout })
        });
        let mut known = self.known();
        if known.laid.insert(key, found.clone()).is_none() {
            known.steps += packed.steps.max(1);
        }
        found
    }

    /// What a sheet costs with what is laid on it; `None` where it was asked to stop.
    fn load(&self, key: Key, laid: &Laid) -> Option<Arc<Load>> {
        if let Some(known) = self.known().loads.get(&key) {
            return Some(known.clone());
        }
        if self.stopped() {
            return None;
        }
        let (candidate, counts, _) = &key;
        let of = &self.question.candidates[*candidate];
        let (job, parts) = self.job(*candidate, counts);
        let rest = Rest::of(&job, &laid.layout, of, &self.budget.stop)?;
        let cut = self.question.cut.as_ref().map(|(rule, facts)| {
            (plan_cut(&job, &laid.layout, rule, facts, &ByHand::default()), facts)
        });
        if self.stopped() {
            return None;
        }
        let policies = &self.question.policies;
        let cut = cut.as_ref().map(|(c, f)| (c, *f));
        let account = account(of, policies, &rest, self.charge(*candidate), cut);
        let score = if self.question.is_priced() {
            account.total()
        } else {
            metal_used(of, &rest, policies.get(super::Policy::CreditShare))
        };
        let placements = laid.layout.placements.iter();
        let load = Arc::new(Load {
            candidate: *candidate,
            placements: placements.map(|p| Placement { part: parts[p.part], ..*p }).collect(),
            placed: laid.placed.clone(),
            area: laid.area,
            account,
            rest,
            score,
        });
        self.known().loads.insert(key, load.clone());
        Some(load)
    }
}

/// Metal (kg) that a cut takes, with what goes back counted for the share that leftovers are
/// credited with.
fn metal_used(candidate: &Candidate, rest: &Rest, share: f64) -> f64 {
    candidate.kg() - share * rest.kept.iter().map(|l| l.weight).sum::<f64>()
}

/// The one layout of a plan, without what the check finds fault with; `None` where nothing is left.
fn clear(job: &Job, plan: Plan) -> Option<Layout> {
    let mut plan = plan;
    // What is at fault goes, and what is left is checked anew.
    for _ in 0..2 {
        let checked: CheckedPlan = check(job, plan);
        if checked.is_clear() {
            return checked.plan().layouts.first().filter(|l| !l.placements.is_empty()).cloned();
        }
        let bad = |placed: usize| {
            checked.report().faults.iter().any(|fault| match fault {
                Fault::Short(measure) => measure.placed == placed,
                Fault::Turned { placed: p, .. }
                | Fault::WrongMetal { placed: p, .. }
                | Fault::NoStart { placed: p, .. } => *p == placed,
                _ => true,
            })
        };
        plan = checked.plan().clone();
        for layout in &mut plan.layouts {
            let kept = layout.placements.iter().enumerate().filter(|(i, _)| !bad(*i));
            layout.placements = kept.map(|(_, p)| *p).collect();
        }
        plan.layouts.retain(|l| !l.placements.is_empty());
    }
    None
}
