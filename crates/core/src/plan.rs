//! The job asked for, and the plan that answers it.

use crate::distances::{Clearances, StartRule};
use crate::part::Part;
use crate::shape::{PartSpace, Pose, SheetSpace};
use crate::sheet::Sheet;

/// How many of a part are wanted.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Count {
    /// So many.
    Exactly(usize),
    /// As many as go in.
    Max,
}

/// A part and how many of it are wanted.
#[derive(Clone, Debug, PartialEq)]
pub struct Wanted {
    /// The part.
    pub part: Part,
    /// How many.
    pub count: Count,
}

/// A sheet and how many there are of it.
#[derive(Clone, Debug, PartialEq)]
pub struct Stock {
    /// The sheet.
    pub sheet: Sheet,
    /// How many alike.
    pub count: usize,
}

/// Everything a plan is made from.
#[derive(Clone, Debug, PartialEq)]
pub struct Job {
    /// The sheets to lay parts on.
    pub stock: Vec<Stock>,
    /// The order.
    pub wanted: Vec<Wanted>,
    /// The lengths of the rule of distances.
    pub clearances: Clearances,
    /// What every contour needs to be started; `None` where starts are chosen at the machine.
    pub starts: Option<StartRule>,
}

/// One part laid on a sheet.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Placement {
    /// Which of the job's wanted parts.
    pub part: usize,
    /// Which copy of it, from 1; unique among the plan's placements of this part.
    pub copy: usize,
    /// Where it lies.
    pub pose: Pose<PartSpace, SheetSpace>,
    /// Whether a person has locked it: packing leaves it where it is.
    pub locked: bool,
}

/// One sheet of the plan and what lies on it.
#[derive(Clone, Debug, PartialEq)]
pub struct Layout {
    /// Which of the job's stock. Two layouts may use two sheets of one stock.
    pub stock: usize,
    /// What lies on it.
    pub placements: Vec<Placement>,
}

/// Which part lies where on which sheet.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Plan {
    /// The sheets used.
    pub layouts: Vec<Layout>,
}

impl Plan {
    /// All placements, sheet by sheet.
    pub fn placements(&self) -> impl Iterator<Item = &Placement> {
        self.layouts.iter().flat_map(|l| &l.placements)
    }

    /// How many copies of the job's wanted part `part` are placed.
    pub fn placed(&self, part: usize) -> usize {
        self.placements().filter(|p| p.part == part).count()
    }

    /// The least copy number of `part` that is not in use.
    pub fn free_copy(&self, part: usize) -> usize {
        let mut used: Vec<usize> =
            self.placements().filter(|p| p.part == part).map(|p| p.copy).collect();
        used.sort_unstable();
        used.dedup();
        (1..).zip(&used).find(|(n, u)| n != *u).map_or(used.len() + 1, |(n, _)| n)
    }

    /// Whether every part wanted is placed (for `Count::Max`: at least one).
    pub fn is_complete(&self, job: &Job) -> bool {
        job.wanted.iter().enumerate().all(|(i, w)| match w.count {
            Count::Exactly(n) => self.placed(i) >= n,
            Count::Max => self.placed(i) > 0,
        })
    }
}

impl Layout {
    /// Whether its sheet and parts are the job's and its poses are numbers.
    pub fn is_known(&self, job: &Job) -> bool {
        self.stock < job.stock.len()
            && self.placements.iter().all(|p| {
                p.part < job.wanted.len() && p.pose.shift.is_finite() && p.pose.turn.is_finite()
            })
    }

    /// Area of the parts laid on it over the area of the sheet's metal, 0 to 1; for a layout that
    /// [is known](Self::is_known).
    pub fn yield_of(&self, job: &Job) -> f64 {
        let parts: f64 =
            self.placements.iter().map(|p| job.wanted[p.part].part.region.area()).sum();
        parts / job.stock[self.stock].sheet.area()
    }
}
