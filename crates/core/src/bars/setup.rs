//! How one bar is set up and cut: positions from the datum end, support, warnings, time.

use super::cut_list::{CutList, ROUNDING};
use super::hole::HoleAt;
use super::plan::{BarPlan, CutBar};
use super::profile::Support;

/// From this mass (kg) on a part must not drop.
const DROPS_FROM: f64 = 10.0;

/// How one bar is cut. Positions are mm from its datum end.
#[derive(Clone, Debug, PartialEq)]
pub struct Setup {
    /// The cuts in order; the blade or beam runs through here on the bar's long sides.
    pub cuts: Vec<CutAt>,
    /// Holes and copes, in order along the bar.
    pub holes: Vec<HoleAt>,
    /// What is left, from where to where: between the last part's cut and the far end.
    pub left: (f64, f64),
    /// Whether what is left goes back to the rack.
    pub kept: bool,
    /// Where the far support stands and how far the bar sags, where the profile is known.
    pub support: Option<Support>,
    /// Mass of the bar, kg, where the profile is known.
    pub mass: Option<f64>,
    /// Tabs left at all its parts together.
    pub tabs: usize,
    /// What a person should know before.
    pub warnings: Vec<Warning>,
    /// About how long it takes, seconds.
    pub seconds: f64,
}

/// A cut.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct CutAt {
    /// The side of it towards the datum end.
    pub at: f64,
    /// From square, radians.
    pub angle: f64,
    /// How many parts it ends or begins.
    pub parts: usize,
}

/// What a person should know before a bar is cut.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum Warning {
    /// A part too short to be held.
    #[error(
        "part {piece} is {length:.1} mm long, shorter than a grip with the tool’s distance ({least:.1} mm): it can’t be held; catch it by the machine’s manual"
    )]
    TooShortToHold {
        /// Which part of the bar, from 1.
        piece: usize,
        /// Its length.
        length: f64,
        /// What can be held.
        least: f64,
    },
    /// Nothing holds the last part.
    #[error(
        "behind the last part {left:.1} mm are left, less than the grip of {grip:.1} mm: the last cut can’t be held"
    )]
    LastCantBeHeld {
        /// What is left behind it.
        left: f64,
        /// The grip.
        grip: f64,
    },
    /// A bar that sags more than it may be off straight.
    #[error(
        "it sags {sag:.1} mm between its supports, more than the {allowed:.1} mm it may be off straight: add a support"
    )]
    Sags {
        /// How far.
        sag: f64,
        /// How far it may.
        allowed: f64,
    },
    /// A heavy part that nothing holds once it is cut.
    #[error(
        "part {piece} weighs {kg:.0} kg and nothing holds it once it is cut: support it, or leave tabs"
    )]
    Drops {
        /// Which part of the bar, from 1: the heaviest.
        piece: usize,
        /// Its mass, kg.
        kg: f64,
    },
    /// Parts that hang on tabs.
    #[error("each part hangs on its tabs ({0} on the bar) until it is parted: support it before")]
    OnTabs(usize),
    /// A datum end that is not square.
    #[error(
        "its datum end is {0:.1}° off square: measure from where its section is whole, and trim it first"
    )]
    EndOffSquare(f64),
    /// A bar of which only a part is sure.
    #[error("its length is sure to {0:.1} mm only: measure it first")]
    MeasureFirst(f64),
}

impl CutList {
    /// How a bar of a plan is cut.
    pub fn setup(&self, bar: &CutBar) -> Setup {
        let stock = &self.stock[bar.stock];
        let mut cuts: Vec<CutAt> = Vec::new();
        let mut add = |at: f64, angle: f64| match cuts.last_mut() {
            // One cut ends one part and begins the next.
            Some(last) if (last.at - at).abs() < ROUNDING * 10.0 && last.angle == angle => {
                last.parts += 1;
            }
            _ => cuts.push(CutAt { at, angle, parts: 1 }),
        };
        for piece in &bar.pieces {
            let [near, far] = piece.ends(self);
            if piece.at > ROUNDING || near.angle > 0.0 {
                add(piece.at - self.cut_along(near.angle), near.angle);
            }
            if piece.end(self) < stock.length - ROUNDING || far.angle > 0.0 {
                add(piece.end(self), far.angle);
            }
        }
        let range = self.machine.support;
        let support = self.profile.as_ref().and_then(|p| p.support(stock.length, range));
        let pieces =
            bar.pieces.iter().enumerate().map(|(i, piece)| (i, piece, &self.parts[piece.part]));
        let mut holes: Vec<HoleAt> = pieces
            .flat_map(|(i, piece, part)| part.holes.iter().map(move |h| h.laid(part, piece, i)))
            .collect();
        holes.sort_by(|a, b| a.at.total_cmp(&b.at));
        let mass = self.profile.as_ref().map(|p| p.mass_per_metre() * stock.length / 1000.0);
        let tabs = self.machine.tabs * bar.pieces.len();
        let [load, cut, hole] = self.machine.seconds;
        let seconds = load
            + cut * cuts.len() as f64
            + hole * holes.len() as f64
            + self.machine.tab_seconds * tabs as f64;
        let (left, kept) = (self.left(bar), self.keeps(bar));
        let warnings = self.warnings(bar, left.1 - left.0, support);
        Setup { cuts, holes, left, kept, support, mass, tabs, warnings, seconds }
    }

    fn warnings(&self, bar: &CutBar, left: f64, support: Option<Support>) -> Vec<Warning> {
        let stock = &self.stock[bar.stock];
        let mut warnings = Vec::new();
        let grip = self.grips[0].max(self.grips[1]);
        let least = if grip > 0.0 { grip + self.machine.tool_to_grip } else { 0.0 };
        for (i, piece) in bar.pieces.iter().enumerate() {
            let length = self.parts[piece.part].length;
            if length < least {
                warnings.push(Warning::TooShortToHold { piece: i + 1, length, least });
            }
        }
        if grip > 0.0 && left < grip - ROUNDING {
            warnings.push(Warning::LastCantBeHeld { left, grip });
        }
        let allowed = self.machine.straightness * stock.length / 1000.0;
        if let Some(Support { sag, .. }) = support.filter(|support| support.sag > allowed) {
            warnings.push(Warning::Sags { sag, allowed });
        }
        if self.machine.tabs > 0 {
            warnings.push(Warning::OnTabs(self.machine.tabs * bar.pieces.len()));
        } else if let Some((piece, kg)) = self.heaviest(bar).filter(|(_, kg)| *kg > DROPS_FROM) {
            warnings.push(Warning::Drops { piece, kg });
        }
        if stock.end > 0.0 {
            warnings.push(Warning::EndOffSquare(stock.end.to_degrees()));
        }
        if stock.give_or_take > 0.0 {
            warnings.push(Warning::MeasureFirst(stock.give_or_take));
        }
        warnings
    }

    /// The heaviest part of a bar, from 1, and its mass, kg; `None` where the profile is not known.
    fn heaviest(&self, bar: &CutBar) -> Option<(usize, f64)> {
        let per_mm = self.profile.as_ref()?.mass_per_metre() / 1000.0;
        let masses = bar.pieces.iter().map(|piece| self.parts[piece.part].length * per_mm);
        (1..).zip(masses).max_by(|a, b| a.1.total_cmp(&b.1))
    }

    /// About how long the whole plan takes, seconds.
    pub fn seconds(&self, plan: &BarPlan) -> f64 {
        plan.bars.iter().map(|bar| self.setup(bar).seconds).sum()
    }
}
