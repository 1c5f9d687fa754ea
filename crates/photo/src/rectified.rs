//! The picture as if taken from straight above: so many millimetres a pixel, y up.

use image::{Rgb, RgbImage};
use oddment_core::job::Stop;
use oddment_core::shape::{Bounds, Point, SheetSpace, Vector};

use crate::calibrate::Calibrated;
use crate::load::Photograph;

type P = Point<SheetSpace>;

/// A grid of square cells over the sheet's plane.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Grid {
    /// Its lower left corner.
    pub origin: P,
    /// Side of a cell, mm.
    pub mm: f64,
    /// Cells across and up.
    pub cells: [usize; 2],
}

/// Farther than where a pixel covers this many times what it does in the middle of what is known nothing
/// is measured.
const FARTHEST: f64 = 3.5;
/// Places looked at along each side of the picture.
const PLACES: usize = 24;

impl Grid {
    /// The grid over all that a photograph shows well enough, with no more cells than `most`, and none
    /// smaller than a pixel.
    pub fn over(photo: &Photograph, calibrated: &Calibrated, most: f64) -> Self {
        let camera = &calibrated.camera;
        let [w, h] = calibrated.reference.size();
        let middle = Point::new(0.5 * w, 0.5 * h);
        let pixel = camera.pixel(middle).unwrap_or(1.0);
        let places = (0..=PLACES).flat_map(|i| (0..=PLACES).map(move |j| (i, j)));
        let near = places.filter_map(|(i, j)| {
            let share = |k: usize| k as f64 / PLACES as f64;
            let p =
                camera.to_sheet(Point::new(photo.width() * share(i), photo.height() * share(j)))?;
            (camera.pixel(p)? <= FARTHEST * pixel).then_some(p)
        });
        let known = Bounds { min: Point::origin(), max: Point::new(w, h) };
        let bounds = Bounds::of(near).union(known);
        let mm = pixel.max((bounds.width() * bounds.height() / most).sqrt());
        let cells = |length: f64| (length / mm).ceil().clamp(1.0, 2.0 * most.sqrt()) as usize;
        Self { origin: bounds.min, mm, cells: [cells(bounds.width()), cells(bounds.height())] }
    }

    /// A place counted in cells from the lower left corner.
    pub fn at(&self, x: f64, y: f64) -> P {
        self.origin + Vector::new(x, y) * self.mm
    }

    /// What of a point `at` is the place.
    pub fn place(&self, p: P) -> [f64; 2] {
        let d = (p - self.origin) * (1.0 / self.mm);
        [d.x, d.y]
    }

    /// Lightness in the middle of each cell, row by row from below; not a number where the photograph
    /// shows nothing. `None` where it was stopped.
    pub fn lightness(
        &self,
        photo: &Photograph,
        calibrated: &Calibrated,
        stop: &Stop,
    ) -> Option<Vec<f32>> {
        let [w, h] = self.cells;
        let mut values = Vec::with_capacity(w * h);
        for y in 0..h {
            if stop.raised() {
                return None;
            }
            values.extend((0..w).map(|x| {
                let p = self.at(x as f64 + 0.5, y as f64 + 0.5);
                let seen = calibrated.camera.to_picture(p).filter(|q| photo.holds(*q));
                seen.map_or(f32::NAN, |q| photo.lightness(q) as f32)
            }));
        }
        Some(values)
    }

    /// The picture from straight above, upper row first; white where the photograph shows nothing.
    pub fn picture(&self, photo: &Photograph, calibrated: &Calibrated) -> RgbImage {
        let [w, h] = self.cells;
        RgbImage::from_fn(w as u32, h as u32, |x, y| {
            let p = self.at(f64::from(x) + 0.5, h as f64 - f64::from(y) - 0.5);
            let seen = calibrated.camera.to_picture(p).filter(|q| photo.holds(*q));
            Rgb(seen.map_or([255; 3], |q| photo.colour(q)))
        })
    }
}

/// Smooths a grid of values by a bell of one cell's width.
pub(crate) fn smoothed(values: &[f32], [w, h]: [usize; 2]) -> Vec<f32> {
    /// A bell of standard deviation 1.
    const BELL: [f32; 5] = [0.0545, 0.2442, 0.4026, 0.2442, 0.0545];
    let run = |of: &[f32], step: usize, count: usize, at: usize| {
        (0..5)
            .map(|k| {
                let i = (at + k).saturating_sub(2).min(count - 1);
                BELL[k] * of[i * step]
            })
            .sum()
    };
    let mut across = Vec::with_capacity(values.len());
    for row in values.chunks_exact(w) {
        across.extend((0..w).map(|x| -> f32 { run(row, 1, w, x) }));
    }
    let mut up = Vec::with_capacity(values.len());
    for y in 0..h {
        up.extend((0..w).map(|x| -> f32 { run(&across[x..], w, h, y) }));
    }
    up
}
