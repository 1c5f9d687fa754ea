//! Bars: tube, bar and profile, cut to length from full lengths and remnants.
//!
//! A [`CutList`] says what is wanted and what there is; [`CutList::plan`] says which bars to cut
//! and what from each, with a bound that no plan can beat; [`check`] tests a plan independently.
//! Positions along a bar are mm from its datum end, the one held by the drive.

mod check;
mod cut_list;
pub mod solve;
#[cfg(test)]
mod tests;

pub use check::{BarFault, check};
pub use cut_list::{BarPlan, CutBar, CutList, CutListFault, Line, Stock, Wanted};
