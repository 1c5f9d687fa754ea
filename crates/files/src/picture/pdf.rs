//! Pictures as PDF pages.

use krilla::Document;
use krilla::color::rgb;
use krilla::geom::{Path, PathBuilder, Point};
use krilla::metadata::Metadata;
use krilla::num::NormalizedF32;
use krilla::page::PageSettings;
use krilla::paint::{Fill, FillRule, LineJoin, StrokeDash};
use krilla::surface::Surface;
use krilla::text::{Font, Tag, TextDirection};

use super::font::{FONT, start_of, weight};
use super::page_path::Step;
use super::{Colour, Item, PagePath, Picture, Stroke, Text};

/// Why no PDF came of it: a page without size, or letters that the font does not have.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[error("the PDF can't be written: {0}")]
pub struct NoPdf(String);

impl NoPdf {
    pub(crate) fn because(why: String) -> Self {
        Self(why)
    }
}

/// The pictures as the pages of a PDF file with its font in it; the same bytes for the same
/// pictures.
///
/// # Errors
/// [`NoPdf`] says why.
pub fn pdf(title: &str, pages: &[Picture]) -> Result<Vec<u8>, NoPdf> {
    let (plain, bold) = (font(false)?, font(true)?);
    let mut document = Document::new();
    document.set_metadata(Metadata::new().title(title.to_owned()).language("en".to_owned()));
    for picture in pages {
        let size = PageSettings::from_wh(picture.width as f32, picture.height as f32)
            .ok_or_else(|| NoPdf("a page has no size".to_owned()))?;
        let mut page = document.start_page_with(size);
        let mut surface = page.surface();
        for item in &picture.items {
            match item {
                Item::Shape { path, fill, stroke } => draw(&mut surface, path, *fill, *stroke),
                Item::Text(text) => {
                    write_text(&mut surface, text, if text.bold { &bold } else { &plain });
                }
            }
        }
        surface.finish();
        page.finish();
    }
    document.finish().map_err(|e| NoPdf(format!("{e:?}")))
}

fn font(bold: bool) -> Result<Font, NoPdf> {
    let weight = [(Tag::new(b"wght"), weight(bold))];
    Font::new_variable(FONT.to_vec().into(), 0, &weight)
        .ok_or_else(|| NoPdf("the font file is damaged".to_owned()))
}

fn draw(surface: &mut Surface<'_>, path: &PagePath, fill: Option<Colour>, stroke: Option<Stroke>) {
    let Some(path) = built(path) else { return };
    surface.set_fill(fill.map(|c| filling(c, FillRule::EvenOdd)));
    surface.set_stroke(stroke.map(pen_of));
    // Without a fill and a pen nothing is drawn; a path with neither would be filled black.
    if fill.is_some() || stroke.is_some() {
        surface.draw_path(&path);
    }
}

fn write_text(surface: &mut Surface<'_>, text: &Text, font: &Font) {
    surface.set_fill(Some(filling(text.colour, FillRule::NonZero)));
    surface.set_stroke(None);
    let start = Point::from_xy(start_of(text) as f32, text.at.y as f32);
    let direction = TextDirection::LeftToRight;
    surface.draw_text(start, font.clone(), text.size as f32, &text.text, false, direction);
}

fn filling(c: Colour, rule: FillRule) -> Fill {
    Fill { paint: rgb::Color::new(c.0, c.1, c.2).into(), opacity: NormalizedF32::ONE, rule }
}

fn pen_of(stroke: Stroke) -> krilla::paint::Stroke {
    let c = stroke.colour;
    krilla::paint::Stroke {
        paint: rgb::Color::new(c.0, c.1, c.2).into(),
        width: stroke.width as f32,
        line_join: LineJoin::Round,
        dash: stroke.dash.map(|d| StrokeDash { array: d.map(|l| l as f32).to_vec(), offset: 0.0 }),
        ..krilla::paint::Stroke::default()
    }
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
