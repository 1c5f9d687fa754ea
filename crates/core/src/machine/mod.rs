//! The machine that cuts: how its head moves, what the sheet lies on, how large its bed is.

mod limits;
mod motion;
mod slats;

use crate::cut_data::Process;
use crate::shape::{BedSpace, Bounds, Pose, SheetSpace};

pub use limits::{Lift, Limits};
pub use motion::Motion;
pub use slats::Slats;

/// A cutting machine, as far as planning needs to know it.
#[derive(Clone, Debug, PartialEq)]
pub struct Machine {
    /// What the shop calls it.
    pub name: String,
    /// How it cuts.
    pub process: Process,
    /// Its bed.
    pub bed: Bed,
    /// What the sheet lies on.
    pub slats: Slats,
    /// How its head moves.
    pub motion: Motion,
    /// What it takes as zero of a drawing.
    pub zero: Zero,
    /// Whether it can turn a job; one that can not only shifts it, and is given the drawing turned.
    pub turns: bool,
}

/// What a machine takes as zero of a drawing.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Zero {
    /// The drawing's own origin.
    #[default]
    DrawingOrigin,
    /// The lower left corner of the box round it.
    BoxCorner,
    /// Where it pierces first.
    FirstPierce,
}

impl Zero {
    /// All of them.
    pub const ALL: [Self; 3] = [Self::DrawingOrigin, Self::BoxCorner, Self::FirstPierce];

    /// What people call it.
    pub const fn words(self) -> &'static str {
        match self {
            Self::DrawingOrigin => "drawing origin",
            Self::BoxCorner => "box corner",
            Self::FirstPierce => "first pierce",
        }
    }

    /// The one that people call so.
    pub fn named(name: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|z| z.words() == name)
    }
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
            process: Process::default(),
            bed: Bed { width: 3050.0, height: 1550.0 },
            slats: Slats::STARTING,
            motion: Motion::STARTING,
            zero: Zero::default(),
            turns: false,
        }
    }
}
