//! One sheet and what is cut from it: laid by the packer, passed by the check, its cost worked out.

use std::collections::HashMap;
use std::sync::{Arc, Mutex, PoisonError};

use rayon::prelude::*;

use super::account::{Account, Rest, account};
use super::question::{Candidate, Question};
use crate::check::{CheckedPlan, Fault, check};
use crate::cutting::{ByHand, plan_cut};
use crate::fit::Bulk;
use crate::job::{Budget, Stop};
use crate::packer::{Settings, pack};
use crate::plan::{Layout, Placement, Plan, Stock};

/// Steps of the packer at each effort: first only what fits at a glance, then ever more.
pub(super) const EFFORTS: [u64; 3] = [1, 600, 4_000];

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

/// What a sheet is filled from, and how hard it is tried.
type Key = (usize, Vec<usize>, usize);

/// Fills sheets, each for each order once.
pub(super) struct Loader<'a> {
    pub(super) question: &'a Question,
    bulks: Vec<Bulk>,
    seed: u64,
    stop: Stop,
    known: Mutex<Known>,
}

#[derive(Default)]
struct Known {
    loads: HashMap<Key, Option<Arc<Load>>>,
    steps: u64,
}

impl<'a> Loader<'a> {
    pub(super) fn new(question: &'a Question, seed: u64, stop: Stop) -> Self {
        let bulks = question.wanted.iter().map(|w| Bulk::of(&w.part)).collect();
        Self { question, bulks, seed, stop, known: Mutex::default() }
    }

    /// Steps of the packer so far: the same whatever the number of threads.
    pub(super) fn steps(&self) -> u64 {
        self.known().steps
    }

    pub(super) fn stopped(&self) -> bool {
        self.stop.raised()
    }

    fn known(&self) -> std::sync::MutexGuard<'_, Known> {
        self.known.lock().unwrap_or_else(PoisonError::into_inner)
    }

    /// Of these counts those whose part is not too large for the sheet and may be of its metal.
    fn within(&self, candidate: usize, left: &[usize]) -> Vec<usize> {
        let sheet = &self.question.candidates[candidate].sheet;
        let goes = |i: usize| {
            self.question.wanted[i].part.may_be_of(sheet.made_of.as_ref())
                && sheet.bodies.iter().any(|b| self.bulks[i].goes_into(b.outer.shape()))
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
        if counts.iter().all(|n| *n == 0) {
            return None;
        }
        let mut best: Option<Arc<Load>> = None;
        for effort in 0..=effort {
            let key = (candidate, counts.clone(), effort);
            let known = self.known().loads.get(&key).cloned();
            let found = match known {
                Some(found) => found,
                None if self.stopped() => break,
                None => {
                    let (found, steps) = self.make(candidate, &counts, effort);
                    let found = found.map(Arc::new);
                    if self.stopped() {
                        break;
                    }
                    let mut known = self.known();
                    if known.loads.insert(key, found.clone()).is_none() {
                        known.steps += steps;
                    }
                    found
                }
            };
            if let Some(found) = found
                && best.as_ref().is_none_or(|b| found.is_better_than(b))
            {
                best = Some(found);
            }
        }
        best
    }

    /// Fills these sheets side by side, so that each is known from then on.
    pub(super) fn fill_all(&self, candidates: &[usize], left: &[usize], effort: usize) {
        candidates.par_iter().for_each(|c| {
            self.fill(*c, left, effort);
        });
    }

    fn make(&self, candidate: usize, counts: &[usize], effort: usize) -> (Option<Load>, u64) {
        let of = &self.question.candidates[candidate];
        // The packer hears only of what is wanted here.
        let parts: Vec<usize> = (0..counts.len()).filter(|i| counts[*i] > 0).collect();
        let stock = vec![Stock { sheet: of.sheet.clone(), count: 1 }];
        let mut job = self.question.job(stock, counts);
        job.wanted = parts.iter().map(|i| job.wanted[*i].clone()).collect();
        let budget =
            Budget { steps: Some(EFFORTS[effort]), time_up: &|| false, stop: self.stop.clone() };
        let seed = self.seed ^ (candidate as u64) << 8 ^ effort as u64;
        let packed =
            pack(&job, &Plan::default(), Settings { seed, threads: 1 }, &budget, &mut |_| {});
        let steps = packed.steps.max(1);
        // Whoever has asked to stop waits for none of what follows.
        let still = |layout: Layout| (!self.stopped()).then_some(layout);
        let layout = Some(packed.plan).filter(|_| !self.stopped());
        let Some(layout) = layout.and_then(|plan| clear(&job, plan)).and_then(still) else {
            return (None, steps);
        };
        let rest = Rest::of(&job, &layout, of);
        let Some(layout) = still(layout) else { return (None, steps) };
        let cut =
            self.question.cut.as_ref().map(|(rule, facts)| {
                (plan_cut(&job, &layout, rule, facts, &ByHand::default()), facts)
            });
        let account =
            account(of, &self.question.policies, &rest, cut.as_ref().map(|(c, f)| (c, *f)));
        let area = layout.placements.iter().map(|p| job.wanted[p.part].part.region.area()).sum();
        let placements: Vec<Placement> =
            layout.placements.iter().map(|p| Placement { part: parts[p.part], ..*p }).collect();
        let mut placed = vec![0; counts.len()];
        for p in &placements {
            placed[p.part] += 1;
        }
        let score = if self.question.is_priced() {
            account.total()
        } else {
            metal_used(of, &rest, self.question.policies.get(super::Policy::CreditShare))
        };
        (Some(Load { candidate, placements, placed, area, account, rest, score }), steps)
    }
}

/// Metal (kg) that a cut takes, with what goes back counted for the share that leftovers are
/// credited with.
fn metal_used(candidate: &Candidate, rest: &Rest, share: f64) -> f64 {
    candidate.kg() - share * rest.kept.iter().map(|l| l.weight).sum::<f64>()
}

/// The one layout of a plan, without what the check finds fault with; `None` where nothing is left.
fn clear(job: &crate::plan::Job, plan: Plan) -> Option<Layout> {
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

impl Load {
    /// Whether it places more, or the same for less.
    fn is_better_than(&self, other: &Self) -> bool {
        let margin = 1e-9 * self.area.max(other.area);
        if (self.area - other.area).abs() > margin {
            return self.area > other.area;
        }
        self.score < other.score - 1e-9
    }
}
