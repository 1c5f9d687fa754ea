//! Labels for sheets, to be printed and stuck on: the label in large letters and as a QR code, what it
//! is, and its silhouette to scale with the scale beside it.

use oddment_core::shape::Point;
use oddment_core::sheet::Sheet;

use crate::picture::{
    Anchor, Look, NoPdf, PageSpace, Picture, Stroke, Text, View, cut_to, draw_code, draw_sheet,
    pdf, text_width,
};
use crate::setup_sheet::page::{Style, wrapped};

/// Points in a millimetre.
const PER_MM: f64 = 72.0 / 25.4;

/// White (points) round what stands on a label.
const MARGIN: f64 = 9.0;

/// Points of a fine line.
const FINE: f64 = 0.4;

/// The scales that a person expects: one to so much.
const SCALES: [f64; 13] =
    [1.0, 2.0, 2.5, 5.0, 10.0, 15.0, 20.0, 25.0, 30.0, 40.0, 50.0, 75.0, 100.0];

/// No sheet of labels takes more.
pub const MOST: usize = 5_000;

/// What labels are printed on.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Stickers {
    /// A4, two across and four down.
    #[default]
    A4,
    /// Letter, two across and four down.
    Letter,
    /// A roll 62 mm wide, each label cut off at its end.
    Roll62,
}

impl Stickers {
    /// Width and height of a page, points.
    fn page(self) -> (f64, f64) {
        match self {
            Self::A4 => (210.0 * PER_MM, 297.0 * PER_MM),
            Self::Letter => (612.0, 792.0),
            Self::Roll62 => (62.0 * PER_MM, 100.0 * PER_MM),
        }
    }

    /// Labels across and down a page.
    fn grid(self) -> (usize, usize) {
        match self {
            Self::A4 | Self::Letter => (2, 4),
            Self::Roll62 => (1, 1),
        }
    }
}

/// Lines go down to this share of a tall label; below is the silhouette.
const LINES: f64 = 0.62;

/// Lines take this share of the width of a wide label; beside them is the silhouette, under the code.
const COLUMN: f64 = 0.42;

/// A label.
#[derive(Clone, Debug, PartialEq)]
pub struct Label {
    /// What is written large, and in the code.
    pub name: String,
    /// What else stands on it, the most important line first.
    pub lines: Vec<String>,
    /// The sheet, for its silhouette.
    pub sheet: Sheet,
}

/// Labels as the pages of a PDF.
///
/// # Errors
/// Where a name can't be a code, or the PDF can't be made.
pub fn labels_pdf(labels: &[Label], stickers: Stickers) -> Result<Vec<u8>, NoPdf> {
    pdf("Labels", &pages(labels, stickers)?)
}

fn pages(labels: &[Label], stickers: Stickers) -> Result<Vec<Picture>, NoPdf> {
    let ((width, height), (across, down)) = (stickers.page(), stickers.grid());
    let (w, h) = (width / across as f64, height / down as f64);
    let mut pages = Vec::new();
    for page in labels.chunks(across * down) {
        let mut picture = Picture::new(width, height);
        for (i, label) in page.iter().enumerate() {
            let corner = Point::new((i % across) as f64 * w, (i / across) as f64 * h);
            draw(&mut picture, label, corner, (w, h))?;
        }
        if across > 1 {
            cutting_lines(&mut picture, (across, down), (w, h));
        }
        pages.push(picture);
    }
    Ok(pages)
}

/// Fine dashes where the page is cut apart.
fn cutting_lines(picture: &mut Picture, (across, down): (usize, usize), (w, h): (f64, f64)) {
    let pen = Stroke::dashed(Look::PRINT.quiet, FINE, 3.0, 3.0);
    let (width, height) = (picture.width, picture.height);
    for x in (1..across).map(|i| i as f64 * w) {
        picture.line(Point::new(x, 0.0), Point::new(x, height), pen);
    }
    for y in (1..down).map(|i| i as f64 * h) {
        picture.line(Point::new(0.0, y), Point::new(width, y), pen);
    }
}

fn draw(
    picture: &mut Picture,
    label: &Label,
    corner: Point<PageSpace>,
    (w, h): (f64, f64),
) -> Result<(), NoPdf> {
    let look = &Look::PRINT;
    let (left, top) = (corner.x + MARGIN, corner.y + MARGIN);
    let (right, bottom) = (corner.x + w - MARGIN, corner.y + h - MARGIN);
    let side = (0.36 * (right - left)).min(0.42 * (bottom - top));
    draw_code(picture, &label.name, Point::new(right - side, top), side)?;
    let is_wide = w > h;
    let room = if is_wide { COLUMN * (right - left) } else { right - side - MARGIN - left };
    // As large as the words go beside the code.
    let large = (room / text_width(&label.name, 1.0, true).max(1e-6)).min(30.0);
    let mut y = top + large;
    let mut write = |y: f64, text: &str, size: f64, bold: bool| {
        let at = Point::new(left, y);
        let text = cut_to(text, size, bold, room);
        picture.text(Text { at, text, size, bold, anchor: Anchor::Start, colour: look.text });
    };
    write(y, &label.name, large, true);
    let most = if is_wide { bottom } else { top + side.max(LINES * (bottom - top)) };
    let styles = std::iter::once(Style::bold(11.0)).chain(std::iter::repeat(Style::plain(8.5)));
    let rows = label.lines.iter().zip(styles).flat_map(|(line, style)| {
        wrapped(line, style, room).into_iter().map(move |row| (row, style))
    });
    for (row, style) in rows {
        y += style.size + 3.5;
        if y > most {
            break;
        }
        write(y, &row, style.size, style.bold);
    }
    let below = match is_wide {
        true => Point::new(left + room + MARGIN, top + side + 6.0),
        false => Point::new(left, (y + 8.0).max(top + side + 6.0)),
    };
    draw_silhouette(picture, &label.sheet, below, Point::new(right, bottom));
    Ok(())
}

fn draw_silhouette(
    picture: &mut Picture,
    sheet: &Sheet,
    min: Point<PageSpace>,
    max: Point<PageSpace>,
) {
    let bounds = sheet.bounds();
    let (w, h) = (max.x - min.x, max.y - min.y - 9.0);
    if bounds.is_empty() || w <= 0.0 || h <= 0.0 {
        return;
    }
    let least = (bounds.width() * PER_MM / w).max(bounds.height() * PER_MM / h);
    let scale = SCALES.iter().copied().find(|s| *s >= least).unwrap_or(least.ceil());
    let points_per_mm = PER_MM / scale;
    let datum_on_page = Point::new(min.x, min.y + bounds.height() * points_per_mm);
    let view = View { datum: bounds.min, datum_on_page, points_per_mm };
    draw_sheet(picture, sheet, &view, &Look::PRINT);
    let text = format!("1 : {scale}    {:.0} × {:.0} mm", bounds.width(), bounds.height());
    let at = Point::new(min.x, max.y);
    let (size, bold, anchor, colour) = (7.0, false, Anchor::Start, Look::PRINT.quiet);
    picture.text(Text { at, text, size, bold, anchor, colour });
}

#[cfg(test)]
mod tests {
    use oddment_core::shape::{Loop, Region};
    use oddment_core::sheet::EdgeFacts;

    use super::*;
    use crate::picture::PagePath;

    fn label(i: usize, width: f64, height: f64) -> Label {
        let outer = Loop::rectangle(Point::origin(), Point::new(width, height)).unwrap();
        let hole =
            Loop::circle(Point::new(width / 2.0, height / 2.0), width.min(height) / 4.0).unwrap();
        let metal = Region::new(outer, vec![hole]);
        let name = format!("R-{i:04}");
        Label {
            sheet: Sheet::new(&name, &[metal], EdgeFacts::default()),
            name,
            lines: (0..12).map(|i| format!("line {i} of what is known of it")).collect(),
        }
    }

    fn ends(path: &PagePath) -> Vec<Point<PageSpace>> {
        use crate::picture::Step;
        let end = |step: &Step| match *step {
            Step::Move(p) | Step::Line(p) | Step::Curve(_, _, p) => Some(p),
            Step::Close => None,
        };
        path.steps.iter().filter_map(end).collect()
    }

    #[test]
    fn nothing_stands_outside_its_label() {
        for stickers in [Stickers::A4, Stickers::Letter, Stickers::Roll62] {
            for (w, h) in [(980.0, 610.0), (3000.0, 150.0), (120.0, 2500.0), (20.0, 20.0)] {
                let labels: Vec<Label> = (0..9).map(|i| label(i, w, h)).collect();
                let pages = pages(&labels, stickers).unwrap();
                assert_eq!(pages.len(), if stickers == Stickers::Roll62 { 9 } else { 2 });
                for page in &pages {
                    for item in &page.items {
                        let points: Vec<Point<_>> = match item {
                            crate::picture::Item::Text(text) => vec![text.at],
                            crate::picture::Item::Shape { path, .. } => ends(path),
                        };
                        for p in points {
                            let on_page = (-0.01..=page.width + 0.01).contains(&p.x)
                                && (-0.01..=page.height + 0.01).contains(&p.y);
                            assert!(on_page, "{p:?} on {} × {}", page.width, page.height);
                        }
                    }
                }
            }
        }
    }

    #[test]
    fn what_is_too_long_beside_the_code_goes_on_below() {
        let words = "Square tube 40 × 2, S235";
        let lines = vec![words.to_owned(), "heat H 48217".to_owned()];
        let long = Label { lines, ..label(1, 1935.0, 40.0) };
        let pages = pages(&[long], Stickers::Roll62).unwrap();
        let texts = pages[0].items.iter().filter_map(|item| match item {
            crate::picture::Item::Text(text) => Some(text.text.as_str()),
            crate::picture::Item::Shape { .. } => None,
        });
        let said = texts.collect::<Vec<_>>().join(" ");
        assert!(said.contains(words) && said.contains("heat H 48217"), "{said}");
    }

    fn texts(label: Label, stickers: Stickers) -> Vec<String> {
        let pages = pages(&[label], stickers).unwrap();
        let texts = pages[0].items.iter().filter_map(|item| match item {
            crate::picture::Item::Text(text) => Some(text.text.clone()),
            crate::picture::Item::Shape { .. } => None,
        });
        texts.collect()
    }

    #[test]
    fn all_that_is_known_stands_on_a_wide_label_beside_a_silhouette_of_some_size() {
        let known = ["3 mm EN AW-5754", "heat H 5", "certificate 3.1", "stands rack C", "20.2 kg"];
        let more = ["brushed", "foil", "face up: foil", "grain 90°", "from A2-001", "since today"];
        let lines: Vec<String> = known.iter().chain(&more).map(|l| (*l).to_owned()).collect();
        for stickers in [Stickers::A4, Stickers::Letter] {
            let label = Label { lines: lines.clone(), ..label(1, 2500.0, 1250.0) };
            let texts = texts(label, stickers);
            assert!(lines.iter().all(|line| texts.contains(line)), "{texts:?}");
            assert!(texts.iter().any(|text| text.starts_with("1 : 50 ")), "{texts:?}");
        }
    }

    #[test]
    fn the_measures_of_a_profile_stay_together() {
        let lines = vec!["Square tube 40 × 2, S235".to_owned()];
        let texts = texts(Label { lines, ..label(1, 1935.0, 40.0) }, Stickers::Roll62);
        assert!(texts.iter().any(|text| text.contains("40 × 2")), "{texts:?}");
    }

    #[test]
    fn labels_are_a_pdf() {
        let bytes = labels_pdf(&[label(7, 980.0, 610.0)], Stickers::Roll62).unwrap();
        assert!(bytes.starts_with(b"%PDF"));
        let long = Label { name: "x".repeat(5000), ..label(1, 10.0, 10.0) };
        assert!(labels_pdf(&[long], Stickers::A4).is_err());
    }
}
