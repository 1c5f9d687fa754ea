//! Fills sheets: big parts first where they fit at once, then one part more at a time by pulling
//! everything apart, and at last everything pushed together so that a useful piece is left.

mod lane;
mod sheet;

use fastrand::Rng;

use super::scene::is_square;
use super::{Packed, Patterns, Progress};
use crate::cutting::starts::Offered;
use crate::job::Budget;
use crate::part::Turning;
use crate::plan::{Count, Job, Layout, Placement, Plan};
use sheet::{Ready, SheetFill};

/// Parts never tried beyond this many for a part wanted as often as it goes in.
const MOST_COPIES: usize = 5_000;

/// Rounds over several sheets after which those that could not be fewer are left as they are.
const MOST_ROUNDS: u32 = 12;

/// Of so many rounds the first fills all sheets anew, with more care than before.
const ROUNDS_PER_CARE: u32 = 10;

/// Share by which sheets may be worse crowded after a round that is gone on from.
const SLACK: f64 = 0.02;

/// See [`super::pack`].
pub(super) fn fill(
    job: &Job,
    start: &Plan,
    seed: u64,
    budget: &Budget<'_>,
    patterns: &Patterns,
    better: &mut (dyn FnMut(Progress<'_>) + Send),
) -> Packed {
    let mut rng = Rng::with_seed(seed);
    let mut layouts = locked_layouts(start);
    let left: Vec<usize> = job
        .wanted
        .iter()
        .enumerate()
        .map(|(i, w)| {
            let laid = layouts.iter().flat_map(|l| &l.placements).filter(|p| p.part == i).count();
            match w.count {
                Count::Exactly(n) => n.saturating_sub(laid),
                Count::Max => MOST_COPIES.saturating_sub(laid),
            }
        })
        .collect();
    for (stock, s) in job.stock.iter().enumerate() {
        let used = layouts.iter().filter(|l| l.stock == stock).count();
        let more = s.count.saturating_sub(used).min(left.iter().sum());
        layouts.extend((0..more).map(|_| Layout { stock, placements: Vec::new() }));
    }
    let offered = Offered::new(job);
    let turns: Vec<f64> = layouts.iter().flat_map(|l| &l.placements).map(|p| p.pose.turn).collect();
    let mut run = Run {
        job,
        offered: offered.as_ref(),
        patterns,
        turns,
        ready: None,
        layouts,
        left,
        budget,
        steps: 0,
        better,
    };
    // A complete plan first, in a blink; then, sheet by sheet, as good a one as the budget allows.
    let all = vec![true; run.layouts.len()];
    let mut current = run.sheets(&[], &all, rng.u64(..), 0, &mut None);
    let mut best = numbered(current.clone());
    for round in 0_u32.. {
        if run.budget.spent(run.steps) {
            break;
        }
        let worth = Worth::of(job, &best);
        let care = 1 + round / ROUNDS_PER_CARE;
        let anew = round.is_multiple_of(ROUNDS_PER_CARE);
        let open = if anew { all.clone() } else { run.opened(&current, &mut rng) };
        let found = run.sheets(&current, &open, rng.u64(..), care, &mut Some(worth));
        if anew || run.crowding(&found) >= (1.0 - SLACK) * run.crowding(&current) {
            current.clone_from(&found);
        }
        let found = numbered(found);
        if Worth::of(job, &found).is_better_than(&worth) {
            best = found;
        }
        let one = best.layouts.len() <= 1 && best.is_complete(job);
        let in_vain = round >= MOST_ROUNDS && run.takes_least(&best);
        if one || run.layouts.len() <= 1 || in_vain {
            break;
        }
    }
    Packed { plan: best, steps: run.steps }
}

/// How much farther a layout may reach (mm) for each part that lies square to the sheet.
const WORTH_OF_SQUARE: f64 = 1.0;

/// What a plan is worth: more area placed, then fewer sheets, then less length used and parts square
/// to the sheet.
#[derive(Clone, Copy, Debug)]
pub(super) struct Worth {
    area: f64,
    sheets: usize,
    length: f64,
}

impl Worth {
    pub(super) fn of(job: &Job, plan: &Plan) -> Self {
        let area = plan.placements().map(|p| job.wanted[p.part].part.region.area()).sum();
        let reach: f64 = plan.layouts.iter().map(|l| reach(job, l)).sum();
        let odd = plan.placements().filter(|p| {
            let free = job.wanted[p.part].part.turning == Turning::Free;
            free && !p.locked && !is_square(p.pose.turn)
        });
        let length = reach + WORTH_OF_SQUARE * odd.count() as f64;
        Self { area, sheets: plan.layouts.len(), length }
    }

    /// Whether more area is placed, or as much on fewer sheets.
    fn places_more_than(&self, other: &Self) -> bool {
        let margin = 1e-9 * self.area.max(other.area);
        if (self.area - other.area).abs() > margin {
            return self.area > other.area;
        }
        self.sheets < other.sheets
    }

    pub(super) fn is_better_than(&self, other: &Self) -> bool {
        self.is_better_by(0.0, other)
    }

    /// Whether it is better, among such as place the same by more than so much length (mm).
    pub(super) fn is_better_by(&self, length: f64, other: &Self) -> bool {
        if self.places_more_than(other) || other.places_more_than(self) {
            return self.places_more_than(other);
        }
        (self.sheets, self.length + length) < (other.sheets, other.length)
    }
}

/// The greatest x that the parts of a layout reach, mm.
fn reach(job: &Job, layout: &Layout) -> f64 {
    let right =
        |p: &Placement| job.wanted[p.part].part.region.outer().placed(&p.pose).bounds().max.x;
    layout.placements.iter().map(right).fold(0.0, f64::max)
}

/// All sheets of a job, one after the other.
struct Run<'a, 'b> {
    job: &'a Job,
    offered: Option<&'a Offered<'a>>,
    patterns: &'a Patterns,
    /// Turns of locked parts.
    turns: Vec<f64>,
    /// Of the stock that was filled last.
    ready: Option<Ready<'a>>,
    /// What is locked on each sheet there is.
    layouts: Vec<Layout>,
    /// How many of each part are to be placed.
    left: Vec<usize>,
    budget: &'a Budget<'b>,
    steps: u64,
    better: &'a mut (dyn FnMut(Progress<'_>) + Send),
}

impl Run<'_, '_> {
    /// Whether a complete plan's sheets could not be fewer, by the areas alone.
    fn takes_least(&self, plan: &Plan) -> bool {
        let sheet = |l: &Layout| self.job.stock[l.stock].sheet.area();
        let parts: f64 =
            plan.placements().map(|p| self.job.wanted[p.part].part.region.area()).sum();
        let mut sheets: Vec<f64> = self.layouts.iter().map(sheet).collect();
        sheets.sort_by(|a, b| b.total_cmp(a));
        let fewer = plan.layouts.len().saturating_sub(1);
        plan.is_complete(self.job) && sheets.iter().take(fewer).sum::<f64>() < parts * (1.0 - 1e-9)
    }

    /// How full each sheet is.
    fn fills(&self, layouts: &[Layout]) -> Vec<f64> {
        let area = |p: &Placement| self.job.wanted[p.part].part.region.area();
        let fill = |l: &Layout| {
            l.placements.iter().map(area).sum::<f64>() / self.job.stock[l.stock].sheet.area()
        };
        layouts.iter().map(fill).collect()
    }

    /// What grows as more is placed and as full sheets grow fuller and the others emptier.
    fn crowding(&self, layouts: &[Layout]) -> f64 {
        self.fills(layouts).iter().map(|fill| fill * fill).sum()
    }

    /// A few sheets to fill anew, rather those that are not full, and those without parts where parts
    /// are left over.
    fn opened(&self, layouts: &[Layout], rng: &mut Rng) -> Vec<bool> {
        let fills = self.fills(layouts);
        let used = |l: &usize| layouts[*l].placements.iter().any(|p| !p.locked);
        let mut order: Vec<(f64, usize)> =
            (0..layouts.len()).filter(used).map(|l| (rng.f64() * (1.02 - fills[l]), l)).collect();
        order.sort_by(|a, b| b.0.total_cmp(&a.0));
        let count = 2 + rng.usize(0..order.len().max(3));
        let mut open: Vec<bool> = (0..layouts.len()).map(|l| !used(&l)).collect();
        order.iter().take(count).for_each(|(_, l)| open[*l] = true);
        open
    }

    /// Fills the sheets that are `open` one after the other with what does not lie on the others;
    /// `better` hears of plans that beat `best`.
    /// The more `care`, the longer a sheet is searched before the next; with none, all is only laid.
    fn sheets(
        &mut self,
        base: &[Layout],
        open: &[bool],
        seed: u64,
        care: u32,
        best: &mut Option<Worth>,
    ) -> Vec<Layout> {
        let mut rng = Rng::with_seed(seed);
        let (mut layouts, mut left) = (self.layouts.clone(), self.left.clone());
        for l in (0..layouts.len()).filter(|l| !open[*l]) {
            layouts[l].clone_from(&base[l]);
            for p in layouts[l].placements.iter().filter(|p| !p.locked) {
                left[p.part] = left[p.part].saturating_sub(1);
            }
        }
        for l in (0..layouts.len()).filter(|l| open[*l]) {
            if left.iter().all(|n| *n == 0) || self.budget.stop.raised() {
                break;
            }
            let layout = &self.layouts[l];
            let ready = match self.ready.take() {
                Some(ready) if ready.stock == layout.stock => ready,
                _ => {
                    let offered = self.offered;
                    Ready::new(self.job, layout.stock, offered, &self.turns, self.patterns)
                }
            };
            let sheet = SheetFill {
                job: self.job,
                ready: &ready,
                layout,
                left: &left,
                alone: layouts.len() == 1,
                // What time does not allow to be searched is at least laid.
                care: if self.budget.spent(self.steps) { 0 } else { care },
                seed: rng.u64(..),
            };
            let (job, before, better) = (self.job, self.steps, &mut *self.better);
            let filled = sheet.run(self.budget, before, &mut |placements, done| {
                let mut now = layouts.clone();
                now[l].placements = placements;
                let plan = numbered(now);
                let worth = Worth::of(job, &plan);
                if best.is_none_or(|b| worth.is_better_than(&b)) {
                    *best = Some(worth);
                    better(Progress { plan: &plan, steps: before + done });
                }
            });
            self.steps += filled.steps;
            for p in filled.placements.iter().filter(|p| !p.locked) {
                left[p.part] = left[p.part].saturating_sub(1);
            }
            layouts[l].placements = filled.placements;
            self.ready = Some(ready);
        }
        layouts
    }
}

/// The layouts of a plan with only what is locked on them.
pub(super) fn locked_layouts(start: &Plan) -> Vec<Layout> {
    let locked = start.layouts.iter().map(|l| Layout {
        stock: l.stock,
        placements: l.placements.iter().filter(|p| p.locked).copied().collect(),
    });
    locked.filter(|l| !l.placements.is_empty()).collect()
}

/// The plan of these layouts, those without parts left out, with copies numbered: locked parts keep
/// their number, the others take the least that is free.
fn numbered(layouts: Vec<Layout>) -> Plan {
    let mut layouts: Vec<Layout> =
        layouts.into_iter().filter(|l| !l.placements.is_empty()).collect();
    let parts = layouts.iter().flat_map(|l| &l.placements).map(|p| p.part + 1).max().unwrap_or(0);
    let mut taken: Vec<Vec<usize>> = vec![Vec::new(); parts];
    for p in layouts.iter().flat_map(|l| &l.placements).filter(|p| p.locked) {
        taken[p.part].push(p.copy);
    }
    let mut next = vec![1; parts];
    for p in layouts.iter_mut().flat_map(|l| &mut l.placements).filter(|p| !p.locked) {
        while taken[p.part].contains(&next[p.part]) {
            next[p.part] += 1;
        }
        p.copy = next[p.part];
        next[p.part] += 1;
    }
    Plan { layouts }
}
