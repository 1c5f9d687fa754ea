//! The machine that cuts: how its head moves, what the sheet lies on, how large its bed is.

mod motion;
mod slats;

use crate::shape::{BedSpace, Bounds, Pose, SheetSpace};

pub use motion::Motion;
pub use slats::Slats;

/// A cutting machine, as far as planning needs to know it.
#[derive(Clone, Debug, PartialEq)]
pub struct Machine {
    /// What the shop calls it.
    pub name: String,
    /// Its bed.
    pub bed: Bed,
    /// What the sheet lies on.
    pub slats: Slats,
    /// How its head moves.
    pub motion: Motion,
}

/// The table a sheet is laid on, its corner at the origin of the bed's own coordinates.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Bed {
    /// Millimetres along x that the head reaches.
    pub width: f64,
    /// Millimetres along y that the head reaches.
    pub height: f64,
}

impl Bed {
    /// Whether a box of the sheet, lying on the bed as `lies` says, is within the head's reach.
    pub fn reaches(
        &self,
        of_sheet: &Bounds<SheetSpace>,
        lies: &Pose<SheetSpace, BedSpace>,
    ) -> bool {
        of_sheet.corners().into_iter().all(|corner| {
            let at = lies.apply(corner);
            (0.0..=self.width).contains(&at.x) && (0.0..=self.height).contains(&at.y)
        })
    }
}

impl Machine {
    /// What stands where a shop has not said otherwise: a bed for 3 × 1.5 m.
    pub fn starting() -> Self {
        Self {
            name: "cutter".to_owned(),
            bed: Bed { width: 3050.0, height: 1550.0 },
            slats: Slats::STARTING,
            motion: Motion::STARTING,
        }
    }
}
