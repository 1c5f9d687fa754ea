//! The job: sheets, parts and clearances, with where each came from. Read from a job file, or put
//! together piece by piece.

mod drawings;
mod entries;
mod lays;
mod read;
mod wishes;

use std::path::PathBuf;

use oddment_core::distances::{Clearances, EdgeDistance};
use oddment_core::plan::{Job, Plan, Stock, Wanted};
use oddment_core::shape::{Loop, LoopFault, Point, Region};
use oddment_core::sheet::{EdgeFacts, Sheet};

pub(crate) use drawings::Drawings;
pub use drawings::{
    NoDrawingFile, drawing_again, load_drawing, parts_from_drawing, sheet_from_drawing,
};
pub(crate) use entries::{
    EDGE_KINDS, PRIORITIES, read_clearances, read_part, read_pose, read_sheet, read_starts,
};
pub use lays::{PointAt, SheetLay};
pub use read::{parse_job, read_job, read_order};
pub use wishes::CutWishes;
pub(crate) use wishes::{WishesJson, edge_numbers, read_wishes};

use crate::drawing::Problem;
pub use crate::json::JobFault;

/// No job asks for more of one thing.
pub const MOST_COPIES: usize = 100_000;

/// A job, and where its shapes came from.
#[derive(Clone, Debug, PartialEq)]
pub struct SourcedJob {
    /// The job.
    pub job: Job,
    /// Where each of the job's wanted parts came from.
    pub parts: Vec<Origin>,
    /// Where each of the job's stock came from.
    pub sheets: Vec<Origin>,
    /// What a person has locked in its place.
    pub locked: Plan,
    /// How it is to be cut.
    pub cut: CutWishes,
    /// What a person should know of the drawings read for it.
    pub notes: Vec<DrawingNote>,
}

/// Something that a person should know about how a drawing was read.
#[derive(Clone, Debug, PartialEq)]
pub struct DrawingNote {
    /// The drawing.
    pub path: PathBuf,
    /// What was found in it.
    pub problem: Problem,
}

/// Where a shape came from.
#[derive(Clone, Debug, PartialEq)]
pub enum Origin {
    /// A drawing.
    Drawing {
        /// Absolute path.
        path: PathBuf,
        /// Millimetres in one unit of the drawing.
        mm_per_unit: f64,
        /// Which of the drawing's regions, largest first; 0 for a sheet, which takes them all.
        region: usize,
    },
    /// A rectangle with a corner at the origin.
    Rectangle {
        /// Millimetres along x.
        width: f64,
        /// Millimetres along y.
        height: f64,
    },
    /// Given as lines and arcs.
    Outline,
}

impl SourcedJob {
    /// A job without sheets or parts.
    pub fn new(clearances: Clearances) -> Self {
        Self {
            job: Job { stock: Vec::new(), wanted: Vec::new(), clearances, starts: None },
            parts: Vec::new(),
            sheets: Vec::new(),
            locked: Plan::default(),
            cut: CutWishes::default(),
            notes: Vec::new(),
        }
    }

    /// Adds a sheet.
    pub fn add_sheet(&mut self, stock: Stock, origin: Origin) {
        self.job.stock.push(stock);
        self.sheets.push(origin);
    }

    /// Adds a part.
    pub fn add_part(&mut self, wanted: Wanted, origin: Origin) {
        self.job.wanted.push(wanted);
        self.parts.push(origin);
    }
}

/// A plain rectangular sheet of `width` × `height` mm with its datum corner at the origin.
///
/// # Errors
/// [`LoopFault`] where the sides are no lengths.
pub fn sheet_rectangle(
    name: impl Into<String>,
    width: f64,
    height: f64,
) -> Result<(Sheet, Origin), LoopFault> {
    let outer = Loop::rectangle(Point::origin(), Point::new(width, height))?;
    let sheet = Sheet::new(name, &[Region::new(outer, Vec::new())], EdgeFacts::default());
    Ok((sheet, Origin::Rectangle { width, height }))
}

/// The clearances (mm) that somebody gave, on a command line or in a file.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct GivenClearances {
    /// Full width of the slot.
    pub kerf: Option<f64>,
    /// Metal left between two cuts.
    pub web: Option<f64>,
    /// Metal left along the sheet's outer edges.
    pub edge: Option<EdgeDistance>,
    /// Distance inside which the head loses the surface beside an old edge.
    pub sensing: Option<f64>,
    /// How far the sheet may lie from where the plan has it.
    pub lay: Option<f64>,
    /// Whether two parts may share one cut between straight edges.
    pub common: Option<bool>,
}

impl GivenClearances {
    /// These, and for what is not given here, `others`.
    pub fn or(self, others: Self) -> Self {
        Self {
            kerf: self.kerf.or(others.kerf),
            web: self.web.or(others.web),
            edge: self.edge.or(others.edge),
            sensing: self.sensing.or(others.sensing),
            lay: self.lay.or(others.lay),
            common: self.common.or(others.common),
        }
    }

    /// Completed with the starting values; `sensing` is the web where it is not given.
    pub fn complete(self) -> Clearances {
        let starting = Clearances::STARTING;
        let web = self.web.unwrap_or(starting.web);
        Clearances {
            kerf: self.kerf.unwrap_or(starting.kerf),
            web,
            edge: self.edge.unwrap_or(starting.edge),
            sensing: self.sensing.unwrap_or(web),
            lay: self.lay.unwrap_or(starting.lay),
            common: self.common.unwrap_or(starting.common),
        }
    }
}

impl From<Clearances> for GivenClearances {
    fn from(all: Clearances) -> Self {
        Self {
            kerf: Some(all.kerf),
            web: Some(all.web),
            edge: Some(all.edge),
            sensing: Some(all.sensing),
            lay: Some(all.lay),
            common: Some(all.common),
        }
    }
}

#[cfg(test)]
mod tests;
