//! The job that is open: what is wanted, on which sheets, and the plan so far.

use std::sync::Arc;

use oddment_core::plan::{Count, Job, Layout, Placement, Plan};
use oddment_files::job_file::SourcedJob;

/// One laid copy of a part: which of the wanted parts, and its number.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct Copy {
    /// Which of the job's wanted parts.
    pub part: usize,
    /// Its number, from 1.
    pub number: usize,
}

impl Copy {
    /// The copy that a placement is.
    pub fn of(p: &Placement) -> Self {
        Self { part: p.part, number: p.copy }
    }
}

/// A job and its plan; cheap to clone, so that every act can be taken back.
#[derive(Clone, Debug)]
pub struct OpenJob {
    /// What it is called, for people.
    pub title: String,
    /// What is wanted, on which sheets, at which distances, and where each shape came from.
    pub sourced: Arc<SourcedJob>,
    /// What lies where.
    pub plan: Plan,
}

/// One physical sheet: one there is a layout for, or one that is still empty.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct SheetSlot {
    /// Which of the job's stock.
    pub stock: usize,
    /// Its layout in the plan, if anything lies on it.
    pub layout: Option<usize>,
}

impl OpenJob {
    /// What is wanted, on which sheets, at which distances.
    pub fn job(&self) -> &Job {
        &self.sourced.job
    }

    /// The same, to be changed.
    pub fn job_mut(&mut self) -> &mut SourcedJob {
        Arc::make_mut(&mut self.sourced)
    }

    /// The sheets to show: all that carry something, and of each stock one more while there is one.
    pub fn slots(&self) -> Vec<SheetSlot> {
        let mut slots = Vec::new();
        for (stock, s) in self.job().stock.iter().enumerate() {
            let used = slots.len();
            let layouts = self.plan.layouts.iter().enumerate().filter(|(_, l)| l.stock == stock);
            slots.extend(layouts.map(|(i, _)| SheetSlot { stock, layout: Some(i) }));
            if slots.len() - used < s.count {
                slots.push(SheetSlot { stock, layout: None });
            }
        }
        slots
    }

    /// The layout of a slot, if anything lies on it.
    pub fn layout(&self, slot: SheetSlot) -> Option<&Layout> {
        self.plan.layouts.get(slot.layout?)
    }

    /// A laid copy, and the layout it is in.
    pub fn find(&self, copy: Copy) -> Option<(usize, &Placement)> {
        self.plan
            .layouts
            .iter()
            .enumerate()
            .find_map(|(i, l)| l.placements.iter().find(|p| Copy::of(p) == copy).map(|p| (i, p)))
    }

    /// The same, to be changed.
    pub fn find_mut(&mut self, copy: Copy) -> Option<&mut Placement> {
        self.plan.layouts.iter_mut().flat_map(|l| &mut l.placements).find(|p| Copy::of(p) == copy)
    }

    /// “gusset #3”.
    pub fn name_of(&self, copy: Copy) -> String {
        let name = self.job().wanted.get(copy.part).map_or("part", |w| w.part.name.as_str());
        format!("{name} #{}", copy.number)
    }

    /// “3 of 5”, or “3 laid” where as many as go in are wanted.
    pub fn count_in_words(&self, part: usize) -> String {
        let laid = self.plan.placed(part);
        match self.job().wanted[part].count {
            Count::Exactly(n) => format!("{laid} of {n}"),
            Count::Max => format!("{laid} laid, as many as go in"),
        }
    }

    /// How many parts are laid, and how many are wanted where a number was given.
    pub fn totals(&self) -> (usize, usize) {
        let wanted = self.job().wanted.iter().enumerate().map(|(i, w)| match w.count {
            Count::Exactly(n) => n,
            Count::Max => self.plan.placed(i),
        });
        (self.plan.placements().count(), wanted.sum())
    }

    /// What is wanted and not laid: “2 rack-side, 1 gusset”; empty where nothing is.
    pub fn missing_in_words(&self) -> String {
        let missing = self.job().wanted.iter().enumerate().filter_map(|(i, w)| match w.count {
            Count::Exactly(n) => {
                let left = n.saturating_sub(self.plan.placed(i));
                (left > 0).then(|| format!("{left} {}", w.part.name))
            }
            Count::Max => None,
        });
        missing.collect::<Vec<_>>().join(", ")
    }

    /// How much metal (mm²) a plan lays of the parts that go first, as usual, and where there is room: of two
    /// plans the one that lays more is the greater, as a fill ranks them.
    pub fn metal_laid(&self, plan: &Plan) -> [u64; 3] {
        let mut laid = [0.0; 3];
        for placement in plan.placements() {
            let part = &self.job().wanted[placement.part].part;
            laid[part.priority as usize] += part.region.area();
        }
        // Sums in another order differ by a hair.
        laid.map(|area: f64| area.round() as u64)
    }

    /// Whether one more of a part may be laid.
    pub fn wants_more(&self, part: usize) -> bool {
        self.job().wanted.get(part).is_some_and(|w| match w.count {
            Count::Exactly(n) => self.plan.placed(part) < n,
            Count::Max => true,
        })
    }

    /// Lays a part in a slot and says which copy it became.
    pub fn lay(&mut self, slot: SheetSlot, mut placement: Placement) -> Copy {
        placement.copy = self.plan.free_copy(placement.part);
        match slot.layout.and_then(|i| self.plan.layouts.get_mut(i)) {
            Some(layout) => layout.placements.push(placement),
            None => {
                self.plan.layouts.push(Layout { stock: slot.stock, placements: vec![placement] })
            }
        }
        Copy::of(&placement)
    }

    /// Takes off whatever `goes` says, and layouts that are empty then.
    pub fn take_off(&mut self, goes: impl Fn(&Placement) -> bool) {
        for layout in &mut self.plan.layouts {
            layout.placements.retain(|p| !goes(p));
        }
        self.plan.layouts.retain(|l| !l.placements.is_empty());
    }

    /// Takes a sheet out of the job, with what lies on it.
    pub fn remove_sheet(&mut self, stock: usize) {
        let sourced = self.job_mut();
        sourced.job.stock.remove(stock);
        sourced.sheets.remove(stock);
        self.plan.layouts.retain(|l| l.stock != stock);
        for layout in self.plan.layouts.iter_mut().filter(|l| l.stock > stock) {
            layout.stock -= 1;
        }
    }

    /// Takes a part off the order, and what is laid of it off the sheets.
    pub fn remove_part(&mut self, part: usize) {
        self.take_off(|p| p.part == part);
        let sourced = self.job_mut();
        sourced.job.wanted.remove(part);
        sourced.parts.remove(part);
        sourced.cut.remove_part(part);
        for p in self.plan.layouts.iter_mut().flat_map(|l| &mut l.placements) {
            if p.part > part {
                p.part -= 1;
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::trial::{open, placement, rectangle, sheet_with_hole};

    fn two_plates() -> OpenJob {
        open(
            sheet_with_hole(),
            vec![(rectangle("plate", 100.0, 60.0), 2), (rectangle("tab", 20.0, 20.0), 1)],
        )
    }

    #[test]
    fn laying_counts_up_and_taking_off_frees_the_number() {
        let mut open = two_plates();
        let slot = open.slots()[0];
        assert_eq!(open.lay(slot, placement(0, 100.0, 100.0)).number, 1);
        let slot = open.slots()[0];
        assert_eq!(open.lay(slot, placement(0, 300.0, 100.0)).number, 2);
        assert!(!open.wants_more(0));
        assert_eq!(open.missing_in_words(), "1 tab");
        assert_eq!(open.count_in_words(0), "2 of 2");
        open.take_off(|p| p.copy == 1);
        let slot = open.slots()[0];
        assert_eq!(open.lay(slot, placement(0, 100.0, 100.0)).number, 1);
        open.take_off(|_| true);
        assert!(open.plan.layouts.is_empty());
        assert_eq!(open.slots().len(), 1);
    }

    #[test]
    fn removing_a_part_renumbers_the_rest() {
        let mut open = two_plates();
        let slot = open.slots()[0];
        open.lay(slot, placement(0, 100.0, 100.0));
        let slot = open.slots()[0];
        open.lay(slot, placement(1, 300.0, 100.0));
        open.remove_part(0);
        assert_eq!(open.name_of(Copy { part: 0, number: 1 }), "tab #1");
        assert_eq!(open.plan.placements().count(), 1);
        assert_eq!(open.totals(), (1, 1));
    }
}
