//! The photograph from straight above with what was found drawn in it, numbered, as a PNG.

use std::io::Cursor;

use image::{ImageError, ImageFormat, Rgb, RgbImage};
use oddment_core::shape::{Loop, Point, SheetSpace};

use crate::find::Found;
use crate::load::Photograph;
use crate::rectified::Grid;

/// Pixels of the picture.
const MOST: f64 = 4e6;
const LINE: Rgb<u8> = Rgb([230, 40, 20]);
const PAPER: Rgb<u8> = Rgb([255, 255, 255]);

/// Draws it. The largest hole has number 1.
///
/// # Errors
/// Where the picture can't be encoded.
pub fn overlay(photo: &Photograph, found: &Found) -> Result<Vec<u8>, ImageError> {
    let grid = Grid::over(photo, &found.calibrated, MOST);
    let mut picture = grid.picture(photo, &found.calibrated);
    for offered in found.outline.iter().chain(&found.holes) {
        draw(&mut picture, &grid, &offered.shape);
    }
    for (i, hole) in found.holes.iter().enumerate() {
        let corner = hole.shape.bounds().max;
        write(&mut picture, &grid, corner, i + 1);
    }
    let mut bytes = Vec::new();
    picture.write_to(&mut Cursor::new(&mut bytes), ImageFormat::Png)?;
    Ok(bytes)
}

fn spot(picture: &mut RgbImage, x: i64, y: i64, colour: Rgb<u8>) {
    if let (Ok(x), Ok(y)) = (u32::try_from(x), u32::try_from(y))
        && let Some(pixel) = picture.get_pixel_mut_checked(x, y)
    {
        *pixel = colour;
    }
}

/// The pixel of the picture, y down, that a point lies in.
fn pixel(grid: &Grid, p: Point<SheetSpace>) -> (i64, i64) {
    let [x, y] = grid.place(p);
    (x.floor() as i64, (grid.cells[1] as f64 - y).floor() as i64)
}

fn draw(picture: &mut RgbImage, grid: &Grid, shape: &Loop<SheetSpace>) {
    for edge in shape.edges() {
        let count = (2.0 * edge.length() / grid.mm).ceil() as usize + 1;
        for k in 0..=count {
            let (x, y) = pixel(grid, edge.at(k as f64 / count as f64));
            for (dx, dy) in [(0, 0), (1, 0), (0, 1), (1, 1)] {
                spot(picture, x + dx, y + dy, LINE);
            }
        }
    }
}

/// Digits of 3 × 5 dots, a row in three bits from the top.
const DIGITS: [u16; 10] = [
    0b111_101_101_101_111,
    0b010_110_010_010_111,
    0b111_001_111_100_111,
    0b111_001_111_001_111,
    0b101_101_111_001_001,
    0b111_100_111_001_111,
    0b111_100_111_101_111,
    0b111_001_001_010_010,
    0b111_101_111_101_111,
    0b111_101_111_001_111,
];
/// Pixels of a dot.
const DOT: i64 = 3;

fn write(picture: &mut RgbImage, grid: &Grid, at: Point<SheetSpace>, number: usize) {
    let (left, low) = pixel(grid, at);
    let digits: Vec<u16> = number
        .to_string()
        .bytes()
        .filter_map(|b| DIGITS.get(usize::from(b.wrapping_sub(b'0'))).copied())
        .collect();
    let (wide, high) = (digits.len() as i64 * 4 + 1, 7);
    let (left, top) = (left + 2, low - high * DOT - 2);
    for y in 0..high * DOT {
        for x in 0..wide * DOT {
            let (column, row) = (x / DOT - 1, y / DOT - 1);
            let digit = digits.get((column / 4) as usize).filter(|_| column >= 0 && column % 4 < 3);
            let on = (0..5).contains(&row)
                && digit.is_some_and(|d| d >> (14 - (row * 3 + column % 4)) & 1 == 1);
            spot(picture, left + x, top + y, if on { LINE } else { PAPER });
        }
    }
}
