//! What a cut is worked out with: the lengths and speeds for one metal on one machine.

use crate::machine::Machine;
use crate::plan::Job;
use crate::shape::{BedSpace, Point, Pose, SheetSpace};

/// How fast the metal is cut, and what it costs.
#[derive(Clone, Debug, PartialEq)]
pub struct Feed {
    /// What blows, flows or grinds; empty where nothing does.
    pub gas: String,
    /// mm/s.
    pub speed: f64,
    /// mm/s along holes no wider than [`small_below`](Self::small_below).
    pub small_speed: f64,
    /// Diameter, mm.
    pub small_below: f64,
    /// mm/s along marks.
    pub mark_speed: f64,
    /// Seconds.
    pub pierce_seconds: f64,
    /// Money per hour: machine, gas, consumables and whoever stands by.
    pub per_hour: f64,
    /// Money per pierce.
    pub per_pierce: f64,
}

/// How a cut is ordered and ended, as the shop wants it. Lengths are mm.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct OrderRules {
    /// Contours that follow each other lie so far apart where others are left in their zone, so that
    /// heat spreads; 0 where it need not.
    pub heat_apart: f64,
    /// A strip at least so wide that no part lies in is cropped off, last but for cutting up; 0 for
    /// no crop line.
    pub crop_least: f64,
    /// The skeleton is cut up into pieces no longer than this, last of all; 0 where it is not.
    pub cut_up: f64,
}

/// All that a cut of one plan is worked out with.
#[derive(Clone, Debug, PartialEq)]
pub struct CutFacts {
    /// The machine.
    pub machine: Machine,
    /// Speeds and money.
    pub feed: Feed,
    /// Where the sheet lies on the bed.
    pub lies: Pose<SheetSpace, BedSpace>,
    /// How far (mm) the beam goes on into the waste after a contour, back along its lead-in.
    pub lead_out: f64,
    /// In which order, and what comes last.
    pub order: OrderRules,
    /// Width of a tab, mm.
    pub tab: f64,
    /// Whether tabs are set by themselves.
    pub tabs: bool,
    /// Slugs that weigh more (kg) and may tip get tabs too.
    pub heavy: f64,
    /// Holes narrower than this (mm) are too small for the thickness to come out well.
    pub least_hole: f64,
    /// Metal between two contours of a part should be no thinner than this, mm.
    pub least_web: f64,
    /// Whether the head senses the surface and must be locked beside old edges.
    pub senses: bool,
    /// By how much the minutes of this metal have been off so far; 1 until learnt.
    pub learnt: Option<f64>,
}

/// Minutes are so far off (share) until they were learnt from recorded cuts, and after.
const BAND: f64 = 0.25;
const BAND_LEARNT: f64 = 0.10;

/// A tooth stands within so much (mm) of where it was measured.
const TOOTH_GIVE: f64 = 2.0;

impl CutFacts {
    /// Where on the sheet a tooth stands, where that is known.
    pub fn tooth(&self) -> Option<Point<SheetSpace>> {
        self.machine.slats.tooth.map(|tooth| self.lies.inverse().apply(tooth))
    }

    /// By how much (mm) the teeth may be off, below a sheet that may lie off itself.
    pub fn tooth_give(&self, job: &Job) -> f64 {
        TOOTH_GIVE + job.clearances.lay
    }

    /// Seconds as reckoned, corrected by what was learnt, and by what share they may be off.
    pub fn honest(&self, seconds: f64) -> (f64, f64) {
        match self.learnt {
            Some(factor) => (seconds * factor, BAND_LEARNT),
            None => (seconds, BAND),
        }
    }
}
