//! A sheet from a photograph.
//!
//! A [`Photograph`] shows a flat sheet and on it something known: a printed [`Target`], or a rectangle
//! such as the sheet itself. A person places its four corners; [`calibrate`] finds the [`Camera`] from
//! them and from what the picture shows between them: perspective, what the lens bends, and how sure
//! that is. [`find`] offers outline and holes as lines and arcs, to be accepted or not, and makes more of
//! the camera where the sheet lies flat; [`traced`] and [`snapped`] help a hand that traces.
//! [`Calibrated::captured`] makes of them what `oddment_core::capture` takes further.
//!
//! Points of the picture belong to [`PixelSpace`] (y down), points of the sheet's plane to the space
//! of sheets: millimetres, y up, from the first corner placed.

mod calibrate;
mod camera;
mod captured;
mod find;
mod hand;
mod levels;
mod load;
mod mend;
mod overlay;
mod profile;
mod rectified;
pub mod rendered;
mod target;

pub use calibrate::{Calibrated, NoCamera, Reference, calibrate};
pub use camera::{Camera, Mark};
pub use captured::Stated;
pub use find::{Found, Offered, find};
pub use hand::{snapped, traced};
pub use load::{MOST_PIXELS, PhotoFault, Photograph, PixelSpace};
pub use overlay::overlay;
pub use rectified::Grid;
pub use target::{Paper, Target};
