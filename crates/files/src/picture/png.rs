//! Pictures as PNG.

use tiny_skia::{
    Color, FillRule, LineCap, LineJoin, Paint, Path, PathBuilder, Pixmap, StrokeDash, Transform,
};

use super::font::outlines;
use super::page_path::Step;
use super::{Colour, Item, PagePath, Picture, Stroke};

/// No side of a picture has more pixels.
const MOST_PIXELS: f64 = 8000.0;

/// The picture as a PNG file of `pixels_per_point`, or as many as leave it at most 8,000 pixels
/// wide and high. `None` for a picture without size.
pub fn png(picture: &Picture, pixels_per_point: f64) -> Option<Vec<u8>> {
    let scale = scale_of(picture, pixels_per_point);
    let pixels = |points: f64| (points * scale).round().max(1.0) as u32;
    let mut pixmap = Pixmap::new(pixels(picture.width), pixels(picture.height))?;
    pixmap.fill(Color::WHITE);
    let mut canvas =
        Canvas { pixmap, transform: Transform::from_scale(scale as f32, scale as f32) };
    for item in &picture.items {
        match item {
            Item::Shape { path, fill, stroke } => {
                canvas.draw(path, *fill, FillRule::EvenOdd, *stroke);
            }
            Item::Text(text) => {
                canvas.draw(&outlines(text), Some(text.colour), FillRule::Winding, None);
            }
        }
    }
    canvas.pixmap.encode_png().ok()
}

/// The pixels per point that a picture gets where so many are asked for.
pub(super) fn scale_of(picture: &Picture, pixels_per_point: f64) -> f64 {
    pixels_per_point.min(MOST_PIXELS / picture.width.max(picture.height))
}

struct Canvas {
    pixmap: Pixmap,
    transform: Transform,
}

impl Canvas {
    fn draw(
        &mut self,
        path: &PagePath,
        fill: Option<Colour>,
        rule: FillRule,
        stroke: Option<Stroke>,
    ) {
        let Some(path) = built(path) else { return };
        if let Some(colour) = fill {
            self.pixmap.fill_path(&path, &paint(colour), rule, self.transform, None);
        }
        if let Some(stroke) = stroke {
            let pen = tiny_skia::Stroke {
                width: stroke.width as f32,
                line_cap: LineCap::Butt,
                line_join: LineJoin::Round,
                dash: stroke
                    .dash
                    .and_then(|d| StrokeDash::new(d.map(|length| length as f32).to_vec(), 0.0)),
                ..tiny_skia::Stroke::default()
            };
            self.pixmap.stroke_path(&path, &paint(stroke.colour), &pen, self.transform, None);
        }
    }
}

fn paint(colour: Colour) -> Paint<'static> {
    let mut paint = Paint::default();
    paint.set_color_rgba8(colour.0, colour.1, colour.2, 255);
    paint
}

fn built(path: &PagePath) -> Option<Path> {
    let mut builder = PathBuilder::new();
    for step in &path.steps {
        match *step {
            Step::Move(p) => builder.move_to(p.x as f32, p.y as f32),
            Step::Line(p) => builder.line_to(p.x as f32, p.y as f32),
            Step::Curve(a, b, p) => builder
                .cubic_to(a.x as f32, a.y as f32, b.x as f32, b.y as f32, p.x as f32, p.y as f32),
            Step::Close => builder.close(),
        }
    }
    builder.finish()
}
