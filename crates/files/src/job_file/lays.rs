//! What was measured of how sheets lie on the bed: `lays` under `cut` in a plan file.
//!
//! ```json
//! {"lays": [{"sheet": "S3-041", "clamps": [[x, y, width, height]],
//!            "points": [{"at": [x, y], "bed": [x, y] | null, "ticked": false, "asked_for": true, "left_out": false}]}]}
//! ```
//! `at` is on the sheet, `bed` and clamps on the bed.

use oddment_core::shape::{BedSpace, Bounds, Point, SheetSpace, Vector};
use serde::{Deserialize, Serialize};

use crate::json::FARTHEST;

/// What was measured of how one sheet lies, and what stands on the bed beside it.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct SheetLay {
    /// The sheet's name.
    pub sheet: String,
    /// Places that were driven to.
    pub points: Vec<PointAt>,
    /// Clamps, upright rectangles on the bed.
    pub clamps: Vec<Bounds<BedSpace>>,
}

/// A place of the pointer list that something was said of.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct PointAt {
    /// Where it is recorded on the sheet.
    pub at: Point<SheetSpace>,
    /// Where the pointer hit it.
    pub on_bed: Option<Point<BedSpace>>,
    /// Whether it was driven to with the beam off, once squared up, and hit.
    pub ticked: bool,
    /// Whether a person put it on the list.
    pub asked_for: bool,
    /// Whether where it was hit counts for nothing, for it does not agree with the rest.
    pub left_out: bool,
}

/// As it stands in a file.
#[derive(Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct LayJson {
    sheet: String,
    #[serde(default)]
    points: Vec<PointJson>,
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    clamps: Vec<[f64; 4]>,
}

#[derive(Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
struct PointJson {
    at: [f64; 2],
    #[serde(default)]
    bed: Option<[f64; 2]>,
    #[serde(default)]
    ticked: bool,
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    asked_for: bool,
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    left_out: bool,
}

impl LayJson {
    pub(crate) fn new(lay: &SheetLay) -> Self {
        let point = |p: &PointAt| PointJson {
            at: [p.at.x, p.at.y],
            bed: p.on_bed.map(|b| [b.x, b.y]),
            ticked: p.ticked,
            asked_for: p.asked_for,
            left_out: p.left_out,
        };
        let clamp = |b: &Bounds<BedSpace>| [b.min.x, b.min.y, b.width(), b.height()];
        Self {
            sheet: lay.sheet.clone(),
            points: lay.points.iter().map(point).collect(),
            clamps: lay.clamps.iter().map(clamp).collect(),
        }
    }

    /// All its numbers, to be looked at before they are used.
    pub(crate) fn are_near(&self) -> bool {
        let points = self.points.iter();
        let of_points = points.flat_map(|p| p.at.into_iter().chain(p.bed.into_iter().flatten()));
        let clamps = self.clamps.iter();
        let positive = clamps.clone().all(|c| c[2] > 0.0 && c[3] > 0.0);
        let mut all = of_points.chain(clamps.flatten().copied());
        positive && all.all(|n| (-FARTHEST..=FARTHEST).contains(&n))
    }

    pub(crate) fn read(&self) -> SheetLay {
        let point = |p: &PointJson| PointAt {
            at: Point::new(p.at[0], p.at[1]),
            on_bed: p.bed.map(|[x, y]| Point::new(x, y)),
            ticked: p.ticked,
            asked_for: p.asked_for,
            left_out: p.left_out,
        };
        let clamp = |[x, y, w, h]: &[f64; 4]| {
            let min = Point::new(*x, *y);
            Bounds { min, max: min + Vector::new(*w, *h) }
        };
        SheetLay {
            sheet: self.sheet.clone(),
            points: self.points.iter().map(point).collect(),
            clamps: self.clamps.iter().map(clamp).collect(),
        }
    }
}
