//! The computation of Oddment: shapes, the rule of distances, plans, the check, packing.
//!
//! Nothing here reads a file, a clock, a database or a screen. Lengths are millimetres, angles
//! radians counter-clockwise, y points up, and the origin is the sheet's datum corner.
//!
//! Read in this order: [`shape`], [`part`] and [`sheet`], [`distances`] (how far apart things must
//! be), [`plan`] (what lies where), [`check`] (is it clear?), [`fit`] (is there any place at
//! all?), [`packer`] (make a plan), [`cutting`] (from plan to cut), [`square_up`] (how the sheet
//! lies on the bed),
//! [`compare`] (which sheets to cut it from).

pub mod bars;
pub mod capture;
pub mod check;
pub mod compare;
pub mod cut_data;
pub mod cutting;
pub mod distances;
pub mod fit;
pub mod gauge;
pub mod job;
pub mod leftover;
pub mod machine;
pub mod packer;
pub mod part;
pub mod plan;
pub mod shape;
pub mod sheet;
pub mod square_up;
pub mod units;
