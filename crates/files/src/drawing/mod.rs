//! Drawings in: DXF and SVG become regions of lines and arcs, in millimetres.
//!
//! The reading runs in steps, one file each. [`dxf`] and [`svg`] turn a file into *strokes* (the
//! curves of one drawn entity, in the file's own units) and a list of what is not cut. [`units`]
//! decides what the numbers mean. [`fit`] makes lines and arcs of ellipses and splines. [`join`]
//! drops duplicates and makes *chains* of pieces that share ends, [`faces`] sorts out where more
//! than two ends meet, [`nest`] tells outlines, holes and islands apart, and [`crossings`] names
//! those that cross. What remains open becomes marks ([`marks`]). Everything left out or decided on the way is told as a [`Problem`].

mod crossings;
mod curve;
mod dxf;
mod faces;
mod fit;
mod grid;
mod join;
mod layers;
mod marks;
mod nest;
mod small_holes;
mod split;
mod svg;
mod units;

#[cfg(test)]
mod tests;

use std::collections::BTreeMap;

use oddment_core::part::Mark;
use oddment_core::shape::{Bounds, PartSpace, Point, Region};
use oddment_core::units::LengthUnit;

use curve::{Drawn, Stroke};
use layers::Taken;
use units::Claim;

/// A larger file is refused: a drawing of a hundred parts has a hundredth of it.
const LARGEST_FILE: usize = 64 << 20;

/// Endings of the files that drawings are in.
pub const ENDINGS: [&str; 2] = ["dxf", "svg"];

/// How a drawing is to be read where it leaves a choice.
#[derive(Clone, Debug, PartialEq)]
pub struct ReadOptions {
    /// What the numbers mean, whatever the file says.
    pub units: Option<LengthUnit>,
    /// Free ends up to this far apart (mm) are joined once ends that meet have been.
    pub bridge: f64,
    /// What to do with what lies on layers of these names, whatever the names say.
    pub layers: BTreeMap<String, LayerUse>,
    /// Round holes less than this (mm) across become centre marks.
    pub centre_marks_under: f64,
}

/// What is done with what lies on a layer.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum LayerUse {
    /// It is cut.
    Cut,
    /// It travels with the part and is not cut.
    Mark,
    /// It is left out.
    LeaveOut,
}

/// A layer of a drawing and what was done with it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Layer {
    /// Its name.
    pub name: String,
    /// How many lines and curves lie on it.
    pub lines: usize,
    /// What was done with them.
    pub used: LayerUse,
}

impl Default for ReadOptions {
    fn default() -> Self {
        Self { units: None, bridge: 0.05, layers: BTreeMap::new(), centre_marks_under: 0.0 }
    }
}

/// What the numbers of a drawing mean.
#[derive(Clone, Debug, PartialEq)]
pub struct Units {
    /// For people: `mm`, `in`, …
    pub name: String,
    /// Millimetres in one unit of the file.
    pub mm_per_unit: f64,
    /// Whether it was guessed, since the file says nothing or nothing believable.
    pub assumed: bool,
}

/// A piece of metal found in a drawing, with the lines on it that are not cut.
#[derive(Clone, Debug, PartialEq)]
pub struct Found {
    /// The metal, in mm, in the drawing's own coordinates.
    pub region: Region<PartSpace>,
    /// Engraving and bend lines that lie on it.
    pub marks: Vec<Mark>,
    /// Whether it lies within an outline with a gap, so that it may be a hole of that.
    pub in_open: bool,
}

/// Something that a person should know about how a drawing was read.
#[derive(Clone, Debug, PartialEq)]
pub struct Problem {
    /// What was found.
    pub what: String,
    /// Where (the first place, if there are several).
    pub at: Option<Point<PartSpace>>,
    /// On which layer.
    pub layer: Option<String>,
    /// What the reading did about it.
    pub done: String,
    /// Whether it is for a person to decide before anything is cut.
    pub must_settle: bool,
}

/// What was taken from a drawing.
#[derive(Clone, Debug, PartialEq)]
pub struct Drawing {
    /// What its numbers mean.
    pub units: Units,
    /// Largest first; of equal areas (to 0.01 mm²) the one with the least x, then y, of its box.
    pub regions: Vec<Found>,
    /// The layers that something lies on.
    pub layers: Vec<Layer>,
    /// What was left out, repaired or guessed.
    pub problems: Vec<Problem>,
}

impl Drawing {
    /// How many round holes are less than `diameter` mm across.
    pub fn small_holes(&self, diameter: f64) -> usize {
        self.regions.iter().map(|f| small_holes::count(&f.region, diameter)).sum()
    }

    /// What to call the regions of the drawing in the file `file_stem`: after the file where there
    /// is one, numbered from 1 where there are several.
    pub fn part_names(&self, file_stem: &str) -> Vec<String> {
        match self.regions.len() {
            1 => vec![file_stem.to_owned()],
            n => (1..=n).map(|i| format!("{file_stem}-{i}")).collect(),
        }
    }
}

/// Why nothing can be taken from a file. The sentences say what to do.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum DrawingFault {
    /// No drawing of any kind that is known here.
    #[error("{0} is neither a DXF nor an SVG drawing; save the part as a DXF (R12 or later)")]
    NotADrawing(String),
    /// A known kind of file that is not read.
    #[error("this is {0}, which is not read; save the flat part as a DXF (R12 or later)")]
    Refused(&'static str),
    /// More than is sensible.
    #[error("the drawing is too large: {0}; save only the parts themselves")]
    TooLarge(String),
    /// The file is damaged.
    #[error("{place}: {what}; export the drawing again")]
    Broken {
        /// Line or byte.
        place: String,
        /// What is wrong there.
        what: String,
    },
    /// Nothing in it encloses metal.
    #[error("{}", nothing_found(.0))]
    Nothing(Vec<Problem>),
}

/// Reads the drawing in `bytes`; `name` is its file name, for messages. Whether it is a DXF
/// (ASCII or binary) or an SVG is told from its content.
///
/// # Errors
/// [`DrawingFault`] where no closed contour can be taken from it.
pub fn read_drawing(
    name: &str,
    bytes: &[u8],
    options: &ReadOptions,
) -> Result<Drawing, DrawingFault> {
    if bytes.len() > LARGEST_FILE {
        return Err(DrawingFault::TooLarge(format!("{} MB", bytes.len() >> 20)));
    }
    let sheet = match sniff(bytes) {
        Kind::Dxf => dxf::read(bytes)?,
        Kind::Svg => svg::read(bytes)?,
        Kind::Refused(kind) => return Err(DrawingFault::Refused(kind)),
        Kind::Unknown => return Err(DrawingFault::NotADrawing(name.to_owned())),
    };
    sheet.into_drawing(options)
}

/// What a file format's reader hands on.
struct Sheet {
    strokes: Vec<Stroke>,
    layers: Vec<String>,
    /// What the file says about its units.
    claim: Claim,
    /// Places still in the file's units.
    left_out: Vec<LeftOut>,
}

/// What one and several of a kind are called.
type OneOrMany = [&'static str; 2];

/// A length (mm) to so many digits, without zeros that say nothing.
fn short_words(mm: f64, digits: i32) -> String {
    let tens = 10f64.powi(digits);
    // Adding zero turns −0 into 0.
    ((mm * tens).round() / tens + 0.0).to_string()
}

/// Something that is in the file and not taken.
struct LeftOut {
    what: String,
    at: Option<Point<Drawn>>,
    layer: Option<String>,
    done: &'static str,
    must_settle: bool,
}

impl Sheet {
    fn into_drawing(self, options: &ReadOptions) -> Result<Drawing, DrawingFault> {
        let bounds =
            self.strokes.iter().map(Stroke::rough_bounds).fold(Bounds::EMPTY, Bounds::union);
        let (units, guess) = units::decide(&self.claim, &bounds, options.units);
        let scale = units.mm_per_unit;
        let place = |p: Point<Drawn>| Point::new(p.x * scale, p.y * scale);
        let mut problems: Vec<Problem> = guess.into_iter().collect();
        problems.extend(self.left_out.iter().map(|l| Problem {
            what: l.what.clone(),
            at: l.at.map(place),
            layer: l.layer.clone(),
            done: l.done.to_owned(),
            must_settle: l.must_settle,
        }));

        let pieces = fit::pieces(&self.strokes, scale)?;
        let all = || Taken::all(pieces.clone(), &self.layers);
        let Some(taken) = layers::split(pieces.clone(), &self.layers, &options.layers) else {
            return self.drawing_of(all(), units, problems, options);
        };
        match self.drawing_of(taken, units.clone(), problems.clone(), options) {
            // Where the names of layers leave nothing to cut, they mean nothing; a person does.
            Err(DrawingFault::Nothing(_)) if options.layers.is_empty() => {
                self.drawing_of(all(), units, problems, options)
            }
            result => result,
        }
    }

    fn drawing_of(
        &self,
        taken: Taken,
        units: Units,
        mut problems: Vec<Problem>,
        options: &ReadOptions,
    ) -> Result<Drawing, DrawingFault> {
        problems.extend(taken.problems);
        let joined = join::join(taken.cut, options.bridge, &self.layers, &mut problems);
        let mut regions = nest::nest(joined.loops, &mut problems)?;
        for found in &mut regions {
            let inner = found.region.outer().vertices()[0].point;
            found.in_open = joined.outlines.iter().any(|outline| outline.covers(inner));
        }
        let open = joined.open.into_iter().chain(taken.marks).collect();
        marks::assign(open, &mut regions, &self.layers, &mut problems);
        if regions.is_empty() {
            return Err(DrawingFault::Nothing(problems));
        }
        small_holes::mark(&mut regions, options.centre_marks_under, &mut problems);
        Ok(Drawing { units, regions, layers: taken.layers, problems })
    }
}

enum Kind {
    Dxf,
    Svg,
    Refused(&'static str),
    Unknown,
}

/// The kind of file, by its first bytes.
fn sniff(bytes: &[u8]) -> Kind {
    let text = bytes.strip_prefix(b"\xef\xbb\xbf").unwrap_or(bytes).trim_ascii_start();
    let starts = |prefix: &[u8]| text.starts_with(prefix);
    if starts(dxf::BINARY_MARK) {
        return Kind::Dxf;
    }
    if starts(b"AC10") || starts(b"AC1.") || starts(b"AC2.") {
        return Kind::Refused("a DWG drawing");
    }
    if starts(b"ISO-10303-21") {
        return Kind::Refused("a 3D model (STEP)");
    }
    if starts(b"%PDF") {
        return Kind::Refused("a PDF");
    }
    if starts(b"solid ") || starts(b"ACIS") || starts(b"400 ") || starts(b"700 ") {
        return Kind::Refused("a 3D model");
    }
    if starts(b"\x89PNG") || starts(b"\xff\xd8\xff") || starts(b"GIF8") || starts(b"BM") {
        return Kind::Refused("a picture");
    }
    if starts(b"PK\x03\x04") || starts(b"\x1f\x8b") {
        return Kind::Refused("a compressed file");
    }
    let head = &text[..text.len().min(4096)];
    if starts(b"<") {
        return if head.windows(4).any(|w| w == b"<svg") { Kind::Svg } else { Kind::Unknown };
    }
    // The first group code of a DXF: a section (0) or a comment (999).
    let first = text.split(|b| matches!(b, b'\n' | b'\r')).next().unwrap_or_default();
    if matches!(first.trim_ascii(), b"0" | b"999") { Kind::Dxf } else { Kind::Unknown }
}

fn nothing_found(problems: &[Problem]) -> String {
    let mut sentence = "no closed contour was found".to_owned();
    for (i, problem) in
        problems.iter().filter(|p| p.at.is_some() || p.layer.is_some()).take(6).enumerate()
    {
        sentence += if i == 0 { ": " } else { "; " };
        sentence += &problem.what;
        if let Some(at) = problem.at {
            sentence += &format!(" at ({}, {}) mm", short_words(at.x, 2), short_words(at.y, 2));
        }
    }
    sentence + "; draw the outline as closed lines and arcs on a visible layer of the model space"
}
