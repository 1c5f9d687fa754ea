//! Bars: tube, bar and profile, cut to length from full lengths and remnants.
//!
//! A [`CutList`] says what is wanted and what there is; [`CutList::plan`] says which bars to cut
//! what from each and where along it, with a bound that no plan can beat; [`check`] tests a plan
//! independently; [`CutList::setup`] says how a bar is cut.
//! Positions along a bar are mm from its datum end, the one that is trimmed and measured from.

mod arrange;
mod check;
mod cut_list;
mod gather;
mod hole;
mod leftovers;
mod plan;
pub mod profile;
mod setup;
pub mod solve;
#[cfg(test)]
mod tests;

pub use arrange::{LaidEnd, Piece};
pub use check::{BarFault, ClearBars, check, clear};
pub use cut_list::{CutList, CutListFault, Line, Machine, STEEPEST, Stock, Wanted};
pub use hole::{Face, Hole, HoleAt};
pub use leftovers::{BarsAccount, Leftovers};
pub use plan::{BarPlan, CutBar};
pub use setup::{CutAt, Setup, Warning};
