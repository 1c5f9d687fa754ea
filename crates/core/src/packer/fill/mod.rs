//! Fills sheets: big parts first where they fit at once, then one part more at a time by pulling
//! everything apart, and at last everything pushed together so that a useful piece is left.

mod lane;
mod sheet;

use fastrand::Rng;

use super::scene::is_square;
use super::{Packed, Progress, Settings};
use crate::cutting::starts::Offered;
use crate::job::Budget;
use crate::part::Turning;
use crate::plan::{Count, Job, Layout, Placement, Plan};
use sheet::{Ready, SheetFill};

/// Parts never tried beyond this many for a part wanted as often as it goes in.
const MOST_COPIES: usize = 5_000;

/// Rounds over sheets that could not be fewer which leave no more of the last, after which no other
/// is begun.
const MOST_IN_VAIN: usize = 3;

/// See [`super::pack`].
pub(super) fn fill(
    job: &Job,
    start: &Plan,
    settings: Settings,
    budget: &Budget<'_>,
    better: &mut (dyn FnMut(Progress<'_>) + Send),
) -> Packed {
    let mut rng = Rng::with_seed(settings.seed);
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
        turns,
        ready: None,
        layouts,
        left,
        budget,
        steps: 0,
        better,
    };
    // A complete plan first, in a blink; then, sheet by sheet, as good a one as the budget allows,
    // and where it takes several sheets, again with more care.
    let mut plan = run.sheets(rng.u64(..), 0, &mut None);
    let mut in_vain = 0;
    for care in 1.. {
        let worth = Worth::of(job, &plan);
        let found = run.sheets(rng.u64(..), care, &mut Some(worth));
        in_vain += 1;
        if Worth::of(job, &found).is_better_than(&worth) {
            (plan, in_vain) = (found, 0);
        }
        let one = plan.layouts.len() <= 1 && plan.is_complete(job);
        let least = in_vain >= MOST_IN_VAIN && run.takes_least(&plan);
        if one || run.layouts.len() <= 1 || least || run.budget.spent(run.steps) {
            break;
        }
    }
    Packed { plan, steps: run.steps }
}

/// How much farther a layout may reach (mm) for each part that lies square to the sheet.
const WORTH_OF_SQUARE: f64 = 1.0;

/// What a plan is worth: more area placed, then fewer sheets, then less length used and parts square
/// to the sheet.
#[derive(Clone, Copy, Debug)]
struct Worth {
    area: f64,
    sheets: usize,
    length: f64,
}

impl Worth {
    fn of(job: &Job, plan: &Plan) -> Self {
        let area = plan.placements().map(|p| job.wanted[p.part].part.region.area()).sum();
        let reach: f64 = plan.layouts.iter().map(|l| reach(job, l)).sum();
        let odd = plan.placements().filter(|p| {
            let free = job.wanted[p.part].part.turning == Turning::Free;
            free && !p.locked && !is_square(p.pose.turn)
        });
        let length = reach + WORTH_OF_SQUARE * odd.count() as f64;
        Self { area, sheets: plan.layouts.len(), length }
    }

    fn is_better_than(&self, other: &Self) -> bool {
        let margin = 1e-9 * self.area.max(other.area);
        if (self.area - other.area).abs() > margin {
            return self.area > other.area;
        }
        (self.sheets, self.length) < (other.sheets, other.length)
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

    /// Fills one sheet after the other; `better` hears of plans that beat `best`.
    /// The more `care`, the longer a sheet is searched before the next; with none, all is only laid.
    fn sheets(&mut self, seed: u64, care: u32, best: &mut Option<Worth>) -> Plan {
        let mut rng = Rng::with_seed(seed);
        let (mut layouts, mut left) = (self.layouts.clone(), self.left.clone());
        for l in 0..layouts.len() {
            if left.iter().all(|n| *n == 0) || self.budget.stop.raised() {
                break;
            }
            let layout = &self.layouts[l];
            let ready = match self.ready.take() {
                Some(ready) if ready.stock == layout.stock => ready,
                _ => Ready::new(self.job, layout.stock, self.offered, &self.turns),
            };
            let sheet = SheetFill {
                job: self.job,
                ready: &ready,
                layout,
                left: &left,
                last: l + 1 == layouts.len(),
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
        numbered(layouts)
    }
}

/// The layouts of a plan with only what is locked on them.
fn locked_layouts(start: &Plan) -> Vec<Layout> {
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
