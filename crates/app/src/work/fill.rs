//! Fill: the order's parts around what is locked.
//!
//! The packer knows neither metals nor priorities. Sheets of one metal are filled together, with the
//! parts that may be of it. Where parts of several priorities do not all go in, they are laid level
//! by level, each around the one before it; what of both plans lays more of the first is kept.

use std::collections::{BTreeSet, HashMap};
use std::time::Duration;

use oddment_core::job::Budget;
use oddment_core::packer::{Settings, pack};
use oddment_core::part::Priority;
use oddment_core::plan::{Count, Job, Layout, Plan};

use super::{Clock, Tell};
use crate::open_job::Copy;

/// Places what is wanted and not laid; what is not locked may be moved.
pub(super) fn fill(job: &Job, start: &Plan, clock: &Clock, tell: &mut Tell<'_>) -> Plan {
    let groups = of_one_metal(job);
    // Better plans are looked for as long as it may take.
    clock.expect(clock.limit);
    let mut plan = start.clone();
    for (n, stock) in groups.iter().enumerate() {
        let share = |n: usize| clock.limit.mul_f64(n as f64 / groups.len() as f64);
        let round = Round { job, stock, parts: parts_for(job, stock) };
        plan = round.by_priority(&plan, clock, (share(n), share(n + 1)), tell);
    }
    plan
}

/// The job's stock, grouped by what it is made of.
fn of_one_metal(job: &Job) -> Vec<Vec<usize>> {
    let mut groups: Vec<Vec<usize>> = Vec::new();
    for (i, stock) in job.stock.iter().enumerate() {
        let same = |g: &&mut Vec<usize>| job.stock[g[0]].sheet.made_of == stock.sheet.made_of;
        match groups.iter_mut().find(same) {
            Some(group) => group.push(i),
            None => groups.push(vec![i]),
        }
    }
    groups
}

/// The parts that may be of what these sheets are made of.
fn parts_for(job: &Job, stock: &[usize]) -> BTreeSet<usize> {
    let metal = stock.first().and_then(|s| job.stock[*s].sheet.made_of.as_ref());
    (0..job.wanted.len()).filter(|i| job.wanted[*i].part.may_be_of(metal)).collect()
}

/// Sheets of one metal and the parts that may be of it.
struct Round<'a> {
    job: &'a Job,
    stock: &'a [usize],
    parts: BTreeSet<usize>,
}

impl Round<'_> {
    fn priority(&self, part: usize) -> Priority {
        self.job.wanted[part].part.priority
    }

    fn by_priority(
        &self,
        start: &Plan,
        clock: &Clock,
        (begin, end): (Duration, Duration),
        tell: &mut Tell<'_>,
    ) -> Plan {
        let levels: BTreeSet<Priority> = self.parts.iter().map(|p| self.priority(*p)).collect();
        let several = levels.len() > 1;
        let half = begin + (end - begin) / 2;
        let together = clock.until(if several { half } else { end }, |budget| {
            self.pack(start, &self.parts, budget, tell)
        });
        if !several || self.is_complete(&together) {
            return together;
        }
        let mut one_by_one = start.clone();
        for layout in &mut one_by_one.layouts {
            layout
                .placements
                .retain(|p| p.locked || !self.moves(&self.parts, layout.stock, p.part));
        }
        one_by_one.layouts.retain(|l| !l.placements.is_empty());
        for (n, level) in levels.iter().enumerate() {
            let parts = self.parts.iter().copied().filter(|p| self.priority(*p) == *level);
            let share = (end - half).mul_f64((n + 1) as f64 / levels.len() as f64);
            let parts = parts.collect();
            one_by_one = clock
                .until(half + share, |budget| self.pack(&one_by_one, &parts, budget, &mut |_| {}));
        }
        if self.laid(&one_by_one, &levels) > self.laid(&together, &levels) {
            one_by_one
        } else {
            together
        }
    }

    /// How many are laid of each level, the first level first.
    fn laid(&self, plan: &Plan, levels: &BTreeSet<Priority>) -> Vec<usize> {
        let of = |level: &Priority| {
            plan.placements().filter(|p| self.priority(p.part) == *level).count()
        };
        levels.iter().map(of).collect()
    }

    fn is_complete(&self, plan: &Plan) -> bool {
        self.parts.iter().all(|p| match self.job.wanted[*p].count {
            Count::Exactly(n) => plan.placed(*p) >= n,
            Count::Max => false,
        })
    }

    fn moves(&self, parts: &BTreeSet<usize>, stock: usize, part: usize) -> bool {
        self.stock.contains(&stock) && parts.contains(&part)
    }

    /// Packs these parts on the sheets; everything else stays where it is.
    fn pack(
        &self,
        start: &Plan,
        parts: &BTreeSet<usize>,
        budget: &Budget<'_>,
        tell: &mut Tell<'_>,
    ) -> Plan {
        let (here, elsewhere): (Vec<Layout>, Vec<Layout>) =
            start.layouts.iter().cloned().partition(|l| self.stock.contains(&l.stock));
        let locked: HashMap<Copy, bool> =
            here.iter().flat_map(|l| &l.placements).map(|p| (Copy::of(p), p.locked)).collect();
        let (job, held) = self.narrowed(here, &elsewhere, parts);
        let whole = |plan: &Plan| {
            let mut plan = plan.clone();
            for layout in &mut plan.layouts {
                layout.stock = self.stock[layout.stock];
                for p in layout.placements.iter_mut().filter(|p| p.locked) {
                    p.locked = locked.get(&Copy::of(p)).copied().unwrap_or(false);
                }
            }
            plan.layouts.retain(|l| !l.placements.is_empty());
            joined(&elsewhere, plan)
        };
        let settings = Settings { seed: 1, threads: 0 };
        let packed = pack(&job, &held, settings, budget, &mut |progress| {
            tell(&whole(progress.plan));
        });
        whole(&packed.plan)
    }

    /// A job of these sheets alone, and the plan so far with everything locked that stays. Of what
    /// is wanted, what lies elsewhere is there already.
    fn narrowed(
        &self,
        mut here: Vec<Layout>,
        elsewhere: &[Layout],
        parts: &BTreeSet<usize>,
    ) -> (Job, Plan) {
        for layout in &mut here {
            for p in &mut layout.placements {
                p.locked |= !parts.contains(&p.part);
            }
            layout.stock = self.stock.iter().position(|s| *s == layout.stock).unwrap_or(0);
        }
        let held = Plan { layouts: here };
        let there = Plan { layouts: elsewhere.to_vec() };
        let mut job = self.job.clone();
        job.stock = self.stock.iter().map(|s| self.job.stock[*s].clone()).collect();
        for (i, wanted) in job.wanted.iter_mut().enumerate() {
            wanted.count = match wanted.count {
                _ if !parts.contains(&i) => Count::Exactly(held.placed(i)),
                Count::Exactly(n) => Count::Exactly(n.saturating_sub(there.placed(i))),
                Count::Max => Count::Max,
            };
        }
        (job, held)
    }
}

/// Both together; copies are numbered anew where two would bear one number.
fn joined(elsewhere: &[Layout], plan: Plan) -> Plan {
    let mut whole = Plan { layouts: elsewhere.to_vec() };
    for layout in plan.layouts {
        whole.layouts.push(Layout { stock: layout.stock, placements: Vec::new() });
        let last = whole.layouts.len() - 1;
        for mut p in layout.placements {
            let taken = whole.placements().any(|other| Copy::of(other) == Copy::of(&p));
            if taken {
                p.copy = whole.free_copy(p.part);
            }
            whole.layouts[last].placements.push(p);
        }
    }
    whole
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::trial::{job, rectangle, sheet_with_hole};
    use oddment_core::check::check;
    use oddment_core::part::MadeFrom;
    use oddment_core::plan::Stock;
    use oddment_core::sheet::Metal;

    fn steel(thickness: f64) -> Metal {
        Metal { material: "S235".into(), thickness, density: 7850.0 }
    }

    #[test]
    fn what_goes_first_is_laid_where_not_all_goes_in() {
        // Of the two only one goes in, beside the hole.
        let parts =
            vec![(rectangle("usual", 440.0, 580.0), 2), (rectangle("first", 430.0, 570.0), 2)];
        let mut job = job(sheet_with_hole(), parts);
        job.wanted[1].part.priority = Priority::First;
        let plan = fill(&job, &Plan::default(), &Clock::of_seconds(4), &mut |_| {});
        assert_eq!((plan.placed(0), plan.placed(1)), (0, 2));
        assert!(check(&job, plan).is_clear());
    }

    #[test]
    fn parts_go_only_on_the_metal_they_are_made_from() {
        let mut job = job(
            sheet_with_hole(),
            vec![(rectangle("thin", 80.0, 50.0), 2), (rectangle("thick", 80.0, 50.0), 2)],
        );
        let mut thick = sheet_with_hole();
        thick.name = "R-2".into();
        job.stock.push(Stock { sheet: thick, count: 1 });
        for (i, thickness) in [2.0, 4.0].into_iter().enumerate() {
            job.stock[i].sheet.made_of = Some(steel(thickness));
            job.wanted[i].part.made_from = Some(MadeFrom { material: "S235".into(), thickness });
        }
        let plan = fill(&job, &Plan::default(), &Clock::of_seconds(4), &mut |_| {});
        assert_eq!(plan.placements().count(), 4);
        assert!(check(&job, plan.clone()).is_clear());
        for layout in &plan.layouts {
            assert!(layout.placements.iter().all(|p| p.part == layout.stock));
        }
        // Nothing is made from six.
        job.wanted[0].part.made_from = Some(MadeFrom { material: "S235".into(), thickness: 6.0 });
        let plan = fill(&job, &Plan::default(), &Clock::of_seconds(4), &mut |_| {});
        assert_eq!((plan.placed(0), plan.placed(1)), (0, 2));
    }
}
