//! QR codes.

use oddment_core::shape::{Point, Vector};
use qrcode::{Color, EcLevel, QrCode};

use super::{Look, NoPdf, PagePath, PageSpace, Picture};

/// Draws a text as a code with its upper left corner at `at`, `side` points wide. A quarter of it may
/// be dirty or worn: paper in a workshop is.
///
/// # Errors
/// Where the text is too long for a code.
pub(crate) fn draw_code(
    picture: &mut Picture,
    text: &str,
    at: Point<PageSpace>,
    side: f64,
) -> Result<(), NoPdf> {
    let code = QrCode::with_error_correction_level(text.as_bytes(), EcLevel::Q)
        .map_err(|why| NoPdf::because(format!("“{text}” can't be a QR code: {why}")))?;
    let cells = code.width();
    let size = side / cells as f64;
    let mut path = PagePath::default();
    for (i, _) in code.to_colors().iter().enumerate().filter(|(_, c)| **c == Color::Dark) {
        let min = at + Vector::new((i % cells) as f64 * size, (i / cells) as f64 * size);
        path.steps.extend(PagePath::rectangle(min, min + Vector::new(size, size)).steps);
    }
    picture.shape(path, Some(Look::PRINT.ink), None);
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::super::{Item, Step};
    use super::*;

    /// The drawn squares as a matrix of modules: whether each is dark.
    fn modules(picture: &Picture, side: f64) -> Vec<Vec<bool>> {
        let [Item::Shape { path, .. }] = &picture.items[..] else { panic!("one shape") };
        let corners = path.steps.iter().filter_map(|s| match s {
            Step::Move(p) => Some(*p),
            _ => None,
        });
        let squares: Vec<Point<PageSpace>> = corners.collect();
        // The finder in the upper left corner begins with seven dark modules in a row.
        let mut first_row: Vec<f64> =
            squares.iter().filter(|p| p.y.abs() < 1e-9).map(|p| p.x).collect();
        first_row.sort_by(f64::total_cmp);
        let size = first_row[1] - first_row[0];
        let cells = (side / size).round() as usize;
        let mut dark = vec![vec![false; cells]; cells];
        for p in squares {
            dark[(p.y / size).round() as usize][(p.x / size).round() as usize] = true;
        }
        dark
    }

    /// Whether a module belongs to a finder, timing, alignment or format pattern (versions 1 to 6).
    fn is_pattern(x: usize, y: usize, n: usize) -> bool {
        let [left, top] = [x < 9, y < 9];
        let finder = (left || x >= n - 8) && top || left && y >= n - 8;
        let middle = n - 7;
        let aligned = n > 21 && x.abs_diff(middle) <= 2 && y.abs_diff(middle) <= 2;
        finder || aligned || x == 6 || y == 6
    }

    /// Reads a code of one block back as its standard (ISO/IEC 18004) has it, without correcting: what
    /// is drawn is whole.
    fn read(dark: &[Vec<bool>]) -> String {
        let n = dark.len();
        // Format bits beside the upper left finder, the first three after two of level: the mask.
        let format = (0..5).map(|i| dark[8][i]).fold(0_u32, |f, bit| f * 2 + u32::from(bit));
        let (level, mask) = ((format ^ 0b10101) >> 3, (format ^ 0b10101) & 7);
        assert_eq!(level, 0b11, "level Q");
        let flipped = |x: usize, y: usize| {
            let (sum, product) = (y + x, y * x);
            let rest = match mask {
                0 => sum % 2,
                1 => y % 2,
                2 => x % 3,
                3 => sum % 3,
                4 => (y / 2 + x / 3) % 2,
                5 => product % 2 + product % 3,
                6 => (product % 2 + product % 3) % 2,
                _ => (sum % 2 + product % 3) % 2,
            };
            rest == 0
        };
        // Two columns at a time from the right, up and down in turn.
        let mut bits = Vec::new();
        let columns: Vec<usize> = (0..n).rev().filter(|x| *x != 6).collect();
        for (pair, columns) in columns.chunks(2).enumerate() {
            for step in 0..n {
                let y = if pair.is_multiple_of(2) { n - 1 - step } else { step };
                for x in columns.iter().filter(|x| !is_pattern(**x, y, n)) {
                    bits.push(dark[y][*x] != flipped(*x, y));
                }
            }
        }
        let mut bits = bits.into_iter();
        let mut take = |count: usize| {
            bits.by_ref().take(count).fold(0_usize, |v, bit| v * 2 + usize::from(bit))
        };
        const LETTERS: &[u8] = b"0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZ $%*+-./:";
        let mut text = String::new();
        loop {
            match take(4) {
                0b0000 => return text,
                0b0001 => {
                    let mut left = take(10);
                    while left > 0 {
                        let digits = left.min(3);
                        text += &format!("{:0digits$}", take([0, 4, 7, 10][digits]));
                        left -= digits;
                    }
                }
                0b0010 => {
                    let count = take(9);
                    for _ in 0..count / 2 {
                        let two = take(11);
                        text.push(LETTERS[two / 45] as char);
                        text.push(LETTERS[two % 45] as char);
                    }
                    if count % 2 == 1 {
                        text.push(LETTERS[take(6)] as char);
                    }
                }
                0b0100 => {
                    let count = take(8);
                    text.extend((0..count).map(|_| take(8) as u8 as char));
                }
                mode => panic!("mode {mode:04b}"),
            }
        }
    }

    #[test]
    fn what_is_drawn_reads_back() {
        // As long as one block holds: 20 bytes, or 29 letters and digits.
        for text in
            ["R-0007", "S3-041", "a bracket, 3 mm", "ODDMENT R-1 0123456789ABCDEF", "20261125"]
        {
            let mut picture = Picture::new(200.0, 200.0);
            draw_code(&mut picture, text, Point::origin(), 87.0).unwrap();
            assert_eq!(read(&modules(&picture, 87.0)), text);
        }
    }
}
