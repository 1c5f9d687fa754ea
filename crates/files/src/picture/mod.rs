//! Pictures: one display list, drawn as PNG, SVG or PDF.
//!
//! A [`Picture`] is a page in points (1/72 inch), y down, and what is drawn on it in order.
//! [`sheet_picture`] makes one of a plan; the set-up sheet is made of them.

mod code;
mod font;
mod hatch;
mod page_path;
mod pdf;
mod png;
mod rulers;
mod scene;
mod svg;

use oddment_core::shape::{Point, Space};

pub(crate) use code::draw_code;
pub(crate) use font::{cut_to, text_width};
pub(crate) use hatch::hatch;
pub use page_path::{PagePath, Step};
pub use pdf::{NoPdf, pdf};
pub use png::png;
pub use scene::sheet_picture;
pub(crate) use scene::{Frame, Look, View, draw_layout, draw_sheet, drawable};
pub use svg::svg;

/// The coordinates of a page: points (1/72 inch) from its top left corner, y down.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct PageSpace;

impl Space for PageSpace {}

/// A page and what is drawn on it.
#[derive(Clone, Debug, PartialEq)]
pub struct Picture {
    /// Points.
    pub width: f64,
    /// Points.
    pub height: f64,
    /// What is drawn, first things lowest.
    pub items: Vec<Item>,
}

/// One thing drawn.
#[derive(Clone, Debug, PartialEq)]
pub enum Item {
    /// Outlines, filled by even-odd.
    Shape {
        /// The outlines.
        path: PagePath,
        /// Colour inside.
        fill: Option<Colour>,
        /// The pen.
        stroke: Option<Stroke>,
    },
    /// A line of text.
    Text(Text),
}

/// A line of text.
#[derive(Clone, Debug, PartialEq)]
pub struct Text {
    /// Where its base line begins, or has its middle or end.
    pub at: Point<PageSpace>,
    /// What it says.
    pub text: String,
    /// Points.
    pub size: f64,
    /// Whether it is heavy.
    pub bold: bool,
    /// What of it lies at `at`.
    pub anchor: Anchor,
    /// Colour.
    pub colour: Colour,
}

/// What of a text lies at its place.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Anchor {
    /// Its start.
    #[default]
    Start,
    /// Its middle.
    Middle,
    /// Its end.
    End,
}

/// Red, green, blue.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Colour(pub u8, pub u8, pub u8);

/// A pen.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Stroke {
    /// Colour.
    pub colour: Colour,
    /// Points.
    pub width: f64,
    /// Lengths of dash and gap, points.
    pub dash: Option<[f64; 2]>,
}

impl Stroke {
    /// A pen for unbroken lines.
    pub const fn plain(colour: Colour, width: f64) -> Self {
        Self { colour, width, dash: None }
    }

    /// A pen for broken lines.
    pub const fn dashed(colour: Colour, width: f64, dash: f64, gap: f64) -> Self {
        Self { colour, width, dash: Some([dash, gap]) }
    }
}

impl Picture {
    /// An empty page.
    pub const fn new(width: f64, height: f64) -> Self {
        Self { width, height, items: Vec::new() }
    }

    /// Adds outlines.
    pub fn shape(&mut self, path: PagePath, fill: Option<Colour>, stroke: Option<Stroke>) {
        self.items.push(Item::Shape { path, fill, stroke });
    }

    /// Adds a straight line.
    pub fn line(&mut self, from: Point<PageSpace>, to: Point<PageSpace>, stroke: Stroke) {
        self.shape(PagePath::polyline([from, to], false), None, Some(stroke));
    }

    /// Adds a line of text.
    pub fn text(&mut self, text: Text) {
        self.items.push(Item::Text(text));
    }
}

#[cfg(test)]
mod tests;
