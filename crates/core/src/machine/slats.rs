//! What the sheet lies on.

use std::f64::consts::FRAC_PI_2;

use crate::shape::{BedSpace, Point};

/// Slats with teeth, or a close grid (then both pitches are small): the sheet rests on points.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Slats {
    /// Direction in which a slat runs, radians from the sheet's x axis.
    pub direction: f64,
    /// From slat to slat, mm.
    pub pitch: f64,
    /// From tooth to tooth along a slat, mm.
    pub tooth_pitch: f64,
    /// Where on the bed a tooth stands, where anybody has measured that; all others follow from it.
    pub tooth: Option<Point<BedSpace>>,
}

impl Slats {
    /// Slats across the bed, 75 mm apart, with a tooth every 25 mm.
    pub const STARTING: Self =
        Self { direction: FRAC_PI_2, pitch: 75.0, tooth_pitch: 25.0, tooth: None };
}
