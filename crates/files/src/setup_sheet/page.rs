//! Puts text and tables on pages.

use oddment_core::shape::Point;

use crate::picture::{
    Anchor, Look, PagePath, PageSpace, Picture, Stroke, Text, cut_to, text_width,
};

/// Points of white round a page.
pub(crate) const MARGIN: f64 = 36.0;
/// Space (points) between what stands below each other.
pub(crate) const GAP: f64 = 12.0;

/// A page being filled from the top.
pub(crate) struct Page {
    pub(crate) picture: Picture,
    /// How far down it is filled.
    pub(crate) y: f64,
}

/// The pages with who comes first and their numbers at the foot.
pub(crate) fn numbered(mut pages: Vec<Page>, who_comes_first: &str) -> Vec<Picture> {
    let count = pages.len();
    for (i, page) in pages.iter_mut().enumerate() {
        let y = page.picture.height - MARGIN;
        page.write((page.left(), y), who_comes_first, Style::bold(8.5));
        let number = format!("page {} of {count}", i + 1);
        page.write((page.right(), y), &number, Style::plain(8.5).to_the_right());
    }
    pages.into_iter().map(|page| page.picture).collect()
}

impl Page {
    pub(crate) fn new((width, height): (f64, f64)) -> Self {
        Self { picture: Picture::new(width, height), y: MARGIN }
    }

    pub(crate) fn left(&self) -> f64 {
        MARGIN
    }

    pub(crate) fn right(&self) -> f64 {
        self.picture.width - MARGIN
    }

    pub(crate) fn width(&self) -> f64 {
        self.right() - self.left()
    }

    /// Where the page's footer begins.
    pub(crate) fn bottom(&self) -> f64 {
        self.picture.height - MARGIN - 14.0
    }

    /// Writes black text with its base line at `y`.
    pub(crate) fn write(&mut self, (x, y): (f64, f64), text: &str, style: Style) {
        let (size, bold, anchor) = (style.size, style.bold, style.anchor);
        let colour = if style.white { Look::PRINT.paper } else { Look::PRINT.text };
        let at = Point::new(x, y);
        self.picture.text(Text { at, text: text.to_owned(), size, bold, anchor, colour });
    }

    /// Writes a text in lines no longer than `width` from `y` down; returns where it ends.
    pub(crate) fn paragraph(
        &mut self,
        (x, y): (f64, f64),
        width: f64,
        text: &str,
        style: Style,
    ) -> f64 {
        let lines = wrapped(text, style, width);
        let step = style.size * 1.28;
        for (i, line) in lines.iter().enumerate() {
            self.write((x, y + style.size + step * i as f64), line, style);
        }
        y + step * lines.len() as f64
    }

    /// A paragraph behind a box to tick; returns where it ends.
    pub(crate) fn tick_off(
        &mut self,
        (x, y): (f64, f64),
        width: f64,
        text: &str,
        size: f64,
    ) -> f64 {
        self.tick_box((x, y + 1.8), size * 0.9);
        self.paragraph((x + size * 1.7, y), width - size * 1.7, text, Style::plain(size))
    }

    /// A box to tick.
    pub(crate) fn tick_box(&mut self, (x, y): (f64, f64), side: f64) {
        let path = PagePath::rectangle(Point::new(x, y), Point::new(x + side, y + side));
        self.picture.shape(path, None, Some(Stroke::plain(Look::PRINT.ink, 0.8)));
    }

    /// A line across.
    pub(crate) fn rule(&mut self, (from, to): (f64, f64), y: f64, width: f64) {
        let pen = Stroke::plain(Look::PRINT.ink, width);
        self.picture.line(Point::new(from, y), Point::new(to, y), pen);
    }

    /// A filled box.
    pub(crate) fn fill(&mut self, min: Point<PageSpace>, max: Point<PageSpace>) {
        self.picture.shape(PagePath::rectangle(min, max), Some(Look::PRINT.ink), None);
    }
}

/// How a text looks.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Style {
    pub(crate) size: f64,
    pub(crate) bold: bool,
    pub(crate) white: bool,
    pub(crate) anchor: Anchor,
}

impl Style {
    pub(crate) const fn plain(size: f64) -> Self {
        Self { size, bold: false, white: false, anchor: Anchor::Start }
    }

    pub(crate) const fn bold(size: f64) -> Self {
        Self { bold: true, ..Self::plain(size) }
    }

    pub(crate) const fn white(self) -> Self {
        Self { white: true, ..self }
    }

    pub(crate) const fn to_the_right(self) -> Self {
        Self { anchor: Anchor::End, ..self }
    }

    pub(crate) const fn centred(self) -> Self {
        Self { anchor: Anchor::Middle, ..self }
    }
}

/// Text in lines no wider than `width`; a single longer word is cut.
pub(crate) fn wrapped(text: &str, style: Style, width: f64) -> Vec<String> {
    let Style { size, bold, .. } = style;
    // The measures of “40 × 2” stay together.
    const TIMES: (&str, &str) = (" × ", "\u{2060}×\u{2060}");
    let mut lines: Vec<String> = Vec::new();
    for word in text.replace(TIMES.0, TIMES.1).split_whitespace() {
        let word = &word.replace(TIMES.1, TIMES.0);
        let longer = lines.last().map(|line| format!("{line} {word}"));
        match (lines.last_mut(), longer) {
            (Some(last), Some(longer)) if text_width(&longer, size, bold) <= width => {
                *last = longer
            }
            _ => lines.push(cut_to(word, size, bold, width)),
        }
    }
    lines
}
