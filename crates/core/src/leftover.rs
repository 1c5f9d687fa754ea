//! What is left of a sheet: the metal after cuts, which of it is kept, and the largest circle and the
//! largest upright rectangle in it.

mod circle;
mod rectangle;
mod taken;

pub use circle::{LargestCircle, largest_circle};
pub use rectangle::largest_rectangle;
pub use taken::{CRUMB, Keeping, gone_with, start_slots, take_part, take_region, take_start};
