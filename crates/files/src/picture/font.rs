//! The one font of pictures and PDFs, the window's own, in two weights.

use oddment_core::shape::Point;
use ttf_parser::{Face, OutlineBuilder, Tag};

use super::page_path::Step;
use super::{Anchor, PagePath, Text};

/// The font file, which holds all weights.
pub(super) const FONT: &[u8] = include_bytes!("../../../../assets/fonts/IBMPlexSans.ttf");

/// The font's weight on its own scale of 100 to 700.
pub(super) fn weight(bold: bool) -> f32 {
    if bold { 600.0 } else { 400.0 }
}

fn face(bold: bool) -> Option<Face<'static>> {
    let mut face = Face::parse(FONT, 0).ok()?;
    face.set_variation(Tag::from_bytes(b"wght"), weight(bold))?;
    Some(face)
}

/// Width of a text of `size` points, points.
pub(crate) fn text_width(text: &str, size: f64, bold: bool) -> f64 {
    face(bold).map_or(0.0, |face| width_in(&face, text, size))
}

fn width_in(face: &Face<'_>, text: &str, size: f64) -> f64 {
    let units: u32 = text
        .chars()
        .filter_map(|c| face.glyph_hor_advance(face.glyph_index(c)?))
        .map(u32::from)
        .sum();
    f64::from(units) * size / f64::from(face.units_per_em())
}

/// As much of a text as is no wider than `width`, with … where something is left out.
pub(crate) fn cut_to(text: &str, size: f64, bold: bool, width: f64) -> String {
    let Some(face) = face(bold) else { return text.to_owned() };
    if width_in(&face, text, size) <= width {
        return text.to_owned();
    }
    let mut kept: Vec<char> = text.chars().take(200).collect();
    loop {
        let shown: String = kept.iter().collect::<String>() + "…";
        if kept.is_empty() || width_in(&face, &shown, size) <= width {
            return shown;
        }
        kept.pop();
    }
}

/// Where a text begins, points from the left.
pub(super) fn start_of(text: &Text) -> f64 {
    let width = || text_width(&text.text, text.size, text.bold);
    match text.anchor {
        Anchor::Start => text.at.x,
        Anchor::Middle => text.at.x - width() / 2.0,
        Anchor::End => text.at.x - width(),
    }
}

/// The letters of a text as outlines.
pub(super) fn outlines(text: &Text) -> PagePath {
    let mut path = PagePath::default();
    let Some(face) = face(text.bold) else { return path };
    let scale = text.size / f64::from(face.units_per_em());
    let mut x = start_of(text);
    for c in text.text.chars() {
        let Some(glyph) = face.glyph_index(c) else { continue };
        let mut pen = Pen { path: &mut path, x, y: text.at.y, scale, last: Point::origin() };
        // A glyph without an outline is a blank.
        face.outline_glyph(glyph, &mut pen);
        x += f64::from(face.glyph_hor_advance(glyph).unwrap_or(0)) * scale;
    }
    path
}

/// Draws a glyph at its place.
struct Pen<'a> {
    path: &'a mut PagePath,
    x: f64,
    y: f64,
    scale: f64,
    last: Point<super::PageSpace>,
}

impl Pen<'_> {
    fn at(&self, x: f32, y: f32) -> Point<super::PageSpace> {
        Point::new(self.x + f64::from(x) * self.scale, self.y - f64::from(y) * self.scale)
    }
}

impl OutlineBuilder for Pen<'_> {
    fn move_to(&mut self, x: f32, y: f32) {
        self.last = self.at(x, y);
        self.path.steps.push(Step::Move(self.last));
    }

    fn line_to(&mut self, x: f32, y: f32) {
        self.last = self.at(x, y);
        self.path.steps.push(Step::Line(self.last));
    }

    fn quad_to(&mut self, x1: f32, y1: f32, x: f32, y: f32) {
        let (control, end) = (self.at(x1, y1), self.at(x, y));
        let toward = |p: Point<super::PageSpace>| p + (control - p) * (2.0 / 3.0);
        self.path.steps.push(Step::Curve(toward(self.last), toward(end), end));
        self.last = end;
    }

    fn curve_to(&mut self, x1: f32, y1: f32, x2: f32, y2: f32, x: f32, y: f32) {
        let (a, b, end) = (self.at(x1, y1), self.at(x2, y2), self.at(x, y));
        self.path.steps.push(Step::Curve(a, b, end));
        self.last = end;
    }

    fn close(&mut self) {
        self.path.steps.push(Step::Close);
    }
}
