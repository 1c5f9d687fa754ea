//! What is left of a sheet: the largest circle and the largest upright rectangle in its metal.

mod circle;
mod rectangle;

pub use circle::{LargestCircle, largest_circle};
pub use rectangle::largest_rectangle;
