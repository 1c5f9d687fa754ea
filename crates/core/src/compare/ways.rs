//! Ways of cutting an order, and the comparison of them.

use std::sync::Arc;

use super::account::{Account, Group, Rest};
use super::load::Load;
use super::question::{Question, Source};
use crate::check::{CheckedPlan, check};
use crate::plan::{Job, Layout, Placement, Plan, Stock};

/// What is particular about a way.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum WayKind {
    /// One remnant takes all.
    OneRemnant,
    /// Remnants take all.
    RemnantsOnly,
    /// Remnants first, fresh sheets for the rest.
    RemnantsFirst,
    /// Fresh sheets take all.
    FreshOnly,
    /// The cheapest mix that the search found.
    Mix,
}

/// A sheet of a way.
#[derive(Clone, Debug)]
pub struct SheetUse {
    /// Which of the question's candidates.
    pub candidate: usize,
    /// What becomes of its metal besides the parts.
    pub rest: Rest,
    /// Area of its parts over the area of its metal, 0 to 1.
    pub used: f64,
    /// When the first of what is cut from it is due.
    pub due: Option<i64>,
}

/// A way of cutting the order.
#[derive(Clone, Debug)]
pub struct Way {
    /// What is particular about it.
    pub kind: WayKind,
    /// Its sheets in the order of cutting, one for each layout of the plan.
    pub sheets: Vec<SheetUse>,
    /// The job of these sheets: its stock are the candidates used, its wanted parts the question's.
    pub job: Arc<Job>,
    /// The plan, as the check sees it.
    pub checked: CheckedPlan,
    /// How many of each part are not placed.
    pub missing: Vec<usize>,
    /// What it costs.
    pub account: Account,
    /// What ways are ranked by: the account's total, or where prices are missing the metal used, kg.
    pub score: f64,
    loads: Vec<Arc<Load>>,
}

impl Way {
    /// The way of these loads, the sheets with what is due first before the others.
    pub(super) fn of(question: &Question, mut loads: Vec<Arc<Load>>) -> Self {
        let due = |load: &Load| {
            let parts = load.placements.iter().map(|p| question.wanted[p.part].due);
            parts.flatten().min()
        };
        loads.sort_by_key(|l| due(l).unwrap_or(i64::MAX));
        let mut stock: Vec<usize> = Vec::new();
        let mut layouts = Vec::with_capacity(loads.len());
        let mut next = vec![1; question.wanted.len()];
        let mut missing = question.counts();
        for load in &loads {
            let known = stock.iter().position(|c| *c == load.candidate);
            let index = known.unwrap_or_else(|| {
                stock.push(load.candidate);
                stock.len() - 1
            });
            let placements = load.placements.iter().map(|p| {
                let copy = next[p.part];
                next[p.part] += 1;
                missing[p.part] = missing[p.part].saturating_sub(1);
                Placement { copy, ..*p }
            });
            layouts.push(Layout { stock: index, placements: placements.collect() });
        }
        let of = |c: &usize| {
            let count = loads.iter().filter(|l| l.candidate == *c).count();
            Stock { sheet: question.candidates[*c].sheet.clone(), count }
        };
        let job = question.job(stock.iter().map(of).collect(), &question.counts());
        let checked = check(&job, Plan { layouts });
        let sheets = loads.iter().map(|load| SheetUse {
            candidate: load.candidate,
            rest: load.rest.clone(),
            used: load.area / question.candidates[load.candidate].sheet.area(),
            due: due(load),
        });
        let items = loads.iter().enumerate().flat_map(|(sheet, load)| {
            load.account.items.iter().map(move |item| super::Item { sheet, ..item.clone() })
        });
        Self {
            kind: kind_of(question, &loads),
            sheets: sheets.collect(),
            checked,
            missing,
            account: Account { items: items.collect() },
            score: loads.iter().map(|l| l.score).sum(),
            job: Arc::new(job),
            loads,
        }
    }

    /// Whether every part wanted is placed.
    pub fn is_complete(&self) -> bool {
        self.missing.iter().all(|n| *n == 0)
    }

    /// How many parts are placed.
    pub fn placed(&self) -> usize {
        self.checked.plan().placements().count()
    }

    /// Area of the parts over the area of the metal of all sheets, 0 to 1.
    pub fn metal_yield(&self, question: &Question) -> f64 {
        let parts: f64 = self.loads.iter().map(|l| l.area).sum();
        let metal: f64 =
            self.sheets.iter().map(|s| question.candidates[s.candidate].sheet.area()).sum();
        if metal > 0.0 { parts / metal } else { 0.0 }
    }

    /// Kilograms: of all its sheets, of what goes back, of what goes to scrap.
    pub fn metal(&self, question: &Question) -> Metal {
        let kept = |s: &SheetUse| s.rest.kept.iter().map(|l| l.weight).sum::<f64>();
        Metal {
            pulled: self.sheets.iter().map(|s| question.candidates[s.candidate].kg()).sum::<f64>(),
            back: self.sheets.iter().map(kept).sum::<f64>() + 0.0,
            scrap: self.sheets.iter().map(|s| s.rest.scrap).sum::<f64>() + 0.0,
        }
    }

    /// How many of its sheets come from there.
    pub fn sheets_of(&self, question: &Question, source: Source) -> usize {
        self.sheets.iter().filter(|s| question.candidates[s.candidate].source == source).count()
    }

    /// After which of its sheets, and how many minutes, all parts of an order are cut; `None` where
    /// some are missing.
    pub fn whole_after(&self, question: &Question, order: usize) -> Option<(usize, f64)> {
        let of = |part: usize| question.wanted[part].order == order;
        if (0..question.wanted.len()).any(|p| of(p) && self.missing[p] > 0) {
            return None;
        }
        let layouts = &self.checked.plan().layouts;
        let last = layouts.iter().rposition(|l| l.placements.iter().any(|p| of(p.part)))?;
        let items = self.account.items.iter().filter(|i| i.sheet <= last);
        Some((last, items.map(|i| i.minutes).sum()))
    }

    /// Minutes by the clock: by hand, and at the machine.
    pub fn minutes(&self) -> (f64, f64) {
        (self.account.minutes_of(Group::Handling), self.account.minutes_of(Group::Cutting))
    }

    /// Its sheets as a list that does not depend on their order.
    pub fn key(&self) -> Vec<usize> {
        let mut key: Vec<usize> = self.sheets.iter().map(|s| s.candidate).collect();
        key.sort_unstable();
        key
    }

    /// Area of what is missing, mm².
    fn missing_area(&self, question: &Question) -> f64 {
        let of = |(w, n): (&super::Want, &usize)| w.part.region.area() * *n as f64;
        question.wanted.iter().zip(&self.missing).map(of).sum::<f64>() + 0.0
    }

    /// Whether it goes before another: complete ways first, then what misses less, then what costs
    /// less.
    pub(super) fn goes_before(&self, other: &Self, question: &Question) -> bool {
        let (mine, theirs) = (self.missing_area(question), other.missing_area(question));
        if (mine - theirs).abs() > 1e-6 {
            return mine < theirs;
        }
        self.score < other.score - 1e-9
    }
}

/// Kilograms of metal.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Metal {
    /// Of all sheets pulled.
    pub pulled: f64,
    /// Of what goes back to the rack.
    pub back: f64,
    /// Of what goes to scrap.
    pub scrap: f64,
}

fn kind_of(question: &Question, loads: &[Arc<Load>]) -> WayKind {
    let fresh = loads.iter().filter(|l| question.candidates[l.candidate].source.is_fresh()).count();
    match (loads.len() - fresh, fresh) {
        (1, 0) => WayKind::OneRemnant,
        (_, 0) => WayKind::RemnantsOnly,
        (0, _) => WayKind::FreshOnly,
        _ => WayKind::RemnantsFirst,
    }
}

/// Ways side by side, the best first.
#[derive(Clone, Debug, Default)]
pub struct Comparison {
    /// The ways, best first; those that do not place all come last.
    pub ways: Vec<Way>,
    /// Proven: no way costs less (in what ways are ranked by).
    pub bound: f64,
    /// How many sheets were filled at least once, and how many come into question.
    pub looked_at: (usize, usize),
    /// Steps of search done.
    pub steps: u64,
    /// Whether the search has run out of what to try.
    pub settled: bool,
}

/// Ways kept besides the best of each kind.
const MOST: usize = 10;

impl Comparison {
    /// Takes a way in; whether that changed anything worth telling.
    pub(super) fn admit(&mut self, question: &Question, way: Way) -> bool {
        if way.loads.is_empty() || !way.checked.is_clear() {
            return false;
        }
        let key = way.key();
        if let Some(same) = self.ways.iter().position(|w| w.key() == key) {
            if !way.goes_before(&self.ways[same], question) {
                return false;
            }
            self.ways.remove(same);
        }
        let at = self.ways.partition_point(|w| !way.goes_before(w, question));
        self.ways.insert(at, way);
        // The best of each kind stays, and of the rest the best.
        let mut seen: Vec<WayKind> = Vec::new();
        let mut others = 0;
        let mut admitted = false;
        let mut place = 0;
        self.ways.retain(|w| {
            let first = !seen.contains(&w.kind);
            seen.push(w.kind);
            others += usize::from(!first);
            let stays = first || others <= MOST;
            admitted |= stays && place == at;
            place += 1;
            stays
        });
        admitted
    }

    /// The best complete way.
    pub fn best(&self) -> Option<&Way> {
        self.ways.first().filter(|w| w.is_complete())
    }

    /// By what share of its cost the best could be dearer than the cheapest there is, at most.
    pub fn gap(&self) -> Option<f64> {
        let best = self.best()?.score;
        (best > 0.0).then(|| ((best - self.bound) / best).max(0.0))
    }
}
