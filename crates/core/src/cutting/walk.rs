//! The cut at one moment.

use super::cut::{Cut, PassKind};
use super::legs::{Doing, Leg};
use crate::shape::{Point, SheetSpace};

/// What is going on at a moment of the cut.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Moment {
    /// Where the head is.
    pub head: Point<SheetSpace>,
    /// What it does.
    pub doing: Doing,
    /// The leg, by its place in [`Cut::legs`].
    pub leg: usize,
    /// How much of the leg is done, 0 to 1.
    pub share: f64,
}

impl Cut {
    /// The moment `seconds` from the start; the last one beyond the end. `None` for a cut of
    /// nothing.
    pub fn at(&self, seconds: f64) -> Option<Moment> {
        let after = self.legs.partition_point(|l| l.begins <= seconds);
        let leg = after.max(1) - 1;
        let Leg { doing, edge, begins, seconds: takes, .. } = *self.legs.get(leg)?;
        let share = if takes > 0.0 { ((seconds - begins) / takes).clamp(0.0, 1.0) } else { 1.0 };
        Some(Moment { head: edge.at(share), doing, leg, share })
    }

    /// The parts that are free by then, by their places in the layout's list, in the order in which
    /// they came free. Parts held by tabs are not.
    pub fn freed_by(&self, seconds: f64) -> Vec<usize> {
        let freed = |(n, pass): (usize, &super::Pass)| {
            let frees = pass.kind == PassKind::Outline && !pass.held;
            (frees && self.times(n).1 <= seconds).then_some(pass.placed).flatten()
        };
        self.passes.iter().enumerate().filter_map(freed).collect()
    }
}
