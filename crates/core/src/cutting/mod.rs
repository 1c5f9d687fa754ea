//! From plan to cut: the beam's path, where each contour starts, and what follows from them.
//!
//! The beam's centre runs half a kerf beside every contour, on the waste side ([`path`]). Every
//! contour needs a pierce in waste metal and a lead-in from there to the path ([`starts`]). Parts that
//! lie a kerf apart along straight edges may share a cut ([`common`]).
//!
//! What a piece does once free is judged over every offset of the slats ([`support`]), tabs hold
//! what would tip ([`tabs`]) or it is laid otherwise ([`steady`]), and contours are put in an order that keeps metal joined to what
//! holds it ([`order`]); a crop line and cutting up the skeleton come last ([`skeleton`]). [`cut`]
//! puts it all together, with times and warnings.

pub mod common;
pub mod cut;
mod facts;
pub mod legs;
pub mod order;
pub mod path;
pub mod position;
mod routes;
pub mod skeleton;
pub mod starts;
pub mod steady;
pub mod support;
pub mod tabs;
mod walk;
pub mod warnings;

pub use cut::{ByHand, Cut, CutOn, Pass, PassKind, plan_cut};
pub use facts::{CutFacts, Feed, OrderRules};
use legs::Legs;
pub use walk::Moment;

/// Which contour of a part: 0 is its outline, 1 and on are its holes in the region's order.
pub type ContourNo = usize;
