//! The target: a printed page of squares whose corners lie at known places.

use oddment_core::shape::{Point, SheetSpace};
use oddment_files::picture::{
    Anchor, Colour, PagePath, PageSpace, Picture, Stroke, Text, pdf, svg,
};

/// Points of a page in a millimetre.
const POINTS: f64 = 72.0 / 25.4;
const BLACK: Colour = Colour(0, 0, 0);

/// Paper that a target is printed on, lying across.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Paper {
    /// 297 × 210 mm.
    #[default]
    A4,
    /// 420 × 297 mm.
    A3,
    /// 11 × 8.5 inches.
    Letter,
}

impl Paper {
    /// All of them.
    pub const ALL: [Self; 3] = [Self::A4, Self::A3, Self::Letter];

    /// Its name.
    pub const fn name(self) -> &'static str {
        match self {
            Self::A4 => "A4",
            Self::A3 => "A3",
            Self::Letter => "Letter",
        }
    }

    /// Width and height lying across, mm.
    pub const fn size(self) -> [f64; 2] {
        match self {
            Self::A4 => [297.0, 210.0],
            Self::A3 => [420.0, 297.0],
            Self::Letter => [279.4, 215.9],
        }
    }
}

/// A target as it was printed. Its board of dark and light squares has the lower left corner at the
/// origin; the corner squares are dark.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Target {
    /// The paper.
    pub paper: Paper,
    /// Width and height of the board as measured on the print, mm; what it should be where nobody measured.
    pub printed: Option<[f64; 2]>,
}

/// Side of a square, mm.
const SQUARE: f64 = 20.0;
/// A measured board is known to this, mm.
const MEASURED: f64 = 0.3;
/// Printers that scale by nothing still are off by this share.
const PRINTER: f64 = 0.003;

impl Target {
    /// Squares across and up; odd, so that all four corners are dark.
    pub const fn squares(&self) -> [usize; 2] {
        match self.paper {
            Paper::A4 | Paper::Letter => [13, 9],
            Paper::A3 => [19, 13],
        }
    }

    /// Width and height that its board should have, mm.
    pub fn wanted(&self) -> [f64; 2] {
        self.squares().map(|n| n as f64 * SQUARE)
    }

    /// Width and height of its board, mm.
    pub fn size(&self) -> [f64; 2] {
        self.printed.unwrap_or(self.wanted())
    }

    /// By what share lengths told by it may be wrong.
    pub fn scale_unsure(&self) -> f64 {
        match self.printed {
            Some([width, _]) => MEASURED / width,
            None => PRINTER,
        }
    }

    /// How much paper there is beside and above its board, mm.
    pub fn margins(&self) -> [f64; 2] {
        let ([w, h], [bw, bh]) = (self.paper.size(), self.wanted());
        [0.5 * (w - bw), 0.5 * (h - bh)]
    }

    /// Where four squares meet: the marks.
    pub fn marks(&self) -> impl Iterator<Item = Point<SheetSpace>> + use<> {
        let ([nx, ny], [w, h]) = (self.squares(), self.size());
        (1..ny).flat_map(move |j| {
            (1..nx).map(move |i| Point::new(w * i as f64 / nx as f64, h * j as f64 / ny as f64))
        })
    }

    /// The middles of its squares, and whether they are dark.
    pub fn middles(&self) -> impl Iterator<Item = (Point<SheetSpace>, bool)> + use<> {
        let ([nx, ny], [w, h]) = (self.squares(), self.size());
        (0..ny).flat_map(move |j| {
            (0..nx).map(move |i| {
                let at = |i: usize, n: usize, size: f64| size * (i as f64 + 0.5) / n as f64;
                (Point::new(at(i, nx, w), at(j, ny, h)), (i + j) % 2 == 0)
            })
        })
    }

    /// The page as the content of a file of this kind, `pdf` or `svg`.
    ///
    /// # Errors
    /// In words, for another kind.
    pub fn written(&self, kind: &str) -> Result<Vec<u8>, String> {
        match kind.to_ascii_lowercase().as_str() {
            "pdf" => pdf("Target for photographs", &[self.page()]).map_err(|why| why.to_string()),
            "svg" => Ok(svg(&self.page()).into_bytes()),
            _ => Err("name it .pdf or .svg".to_owned()),
        }
    }

    /// The page, to be printed without scaling.
    pub fn page(&self) -> Picture {
        let ([pw, ph], [bw, bh], [left, top]) = (self.paper.size(), self.wanted(), self.margins());
        let mut picture = Picture::new(pw * POINTS, ph * POINTS);
        let at = |x: f64, y: f64| -> Point<PageSpace> {
            Point::new((left + x) * POINTS, (top + bh - y) * POINTS)
        };
        let plain = Self { printed: None, ..*self };
        for (middle, _) in plain.middles().filter(|(_, dark)| *dark) {
            let half = 0.5 * SQUARE;
            let square = PagePath::rectangle(
                at(middle.x - half, middle.y + half),
                at(middle.x + half, middle.y - half),
            );
            picture.shape(square, Some(BLACK), None);
        }
        let mut write = |x: f64, y: f64, anchor: Anchor, bold: bool, text: String| {
            picture.text(Text { at: at(x, y), text, size: 9.0, bold, anchor, colour: BLACK });
        };
        let title = format!("Oddment: target for photographs, {}", self.paper.name());
        write(0.0, bh + 9.0, Anchor::Start, true, title);
        let how = format!(
            "Print without scaling, lay it flat on the sheet. The squares should measure {bw} × {bh} mm over all:"
        );
        write(0.0, bh + 4.5, Anchor::Start, false, how);
        let what = "measure them with a steel rule, and tell the program what they do measure.";
        write(bw, bh + 4.5, Anchor::End, false, what.to_owned());
        let first = "First corner. Then the others, counter-clockwise.";
        write(5.0, -6.0, Anchor::Start, true, first.to_owned());
        // From the words to the corner.
        for [from, to] in [[(4.0, -5.0), (0.0, -5.0)], [(0.0, -5.0), (0.0, -0.6)]] {
            picture.line(at(from.0, from.1), at(to.0, to.1), Stroke::plain(BLACK, 0.8));
        }
        for side in [-0.9, 0.9] {
            picture.line(at(side, -2.0), at(0.0, -0.6), Stroke::plain(BLACK, 0.8));
        }
        picture
    }
}
