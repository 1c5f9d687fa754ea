//! Where lightness steps, across an edge, to a fraction of a pixel.

use oddment_core::shape::{Point, Vector};

use crate::load::{Photograph, PixelSpace};

/// A step in lightness.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Step {
    /// Where along the normal it is, pixels.
    pub(crate) at: f64,
    /// How much lighter it is beyond it than before it.
    pub(crate) rise: f64,
}

/// Pixels between samples.
const EACH: f64 = 0.5;
/// Samples to either side that the levels before and beyond are taken from.
const SIDES: usize = 6;
/// Lines beside each other that are averaged, to either side.
const BESIDE: i32 = 1;

/// The step nearest to `at`, within `reach` pixels along a unit normal: where lightness passes half-way
/// between what it is on both sides. `wanted` is the rise that it should have about, or 0 for the
/// strongest there is.
pub(crate) fn step_near(
    photo: &Photograph,
    at: Point<PixelSpace>,
    normal: Vector,
    reach: f64,
    wanted: f64,
) -> Option<Step> {
    let count = (2.0 * reach / EACH).round() as usize + 1 + 2 * SIDES;
    let first = -0.5 * EACH * (count - 1) as f64;
    let place = |i: f64| first + EACH * i;
    let along = normal.left();
    let line: Vec<f64> = (0..count)
        .map(|i| {
            let q = at + normal * place(i as f64);
            let sum: f64 =
                (-BESIDE..=BESIDE).map(|k| photo.lightness(q + along * (1.2 * f64::from(k)))).sum();
            sum / f64::from(2 * BESIDE + 1)
        })
        .collect();
    // How much lightness rises over a pixel and a half about each sample.
    let rise = |i: usize| line[i + 2] + line[i + 1] - line[i - 1] - line[i - 2];
    let inner = SIDES..count - SIDES;
    let worth = |i: usize| {
        let signed = if wanted == 0.0 { rise(i).abs() } else { rise(i) * wanted.signum() };
        // A nearer step of equal strength goes before.
        signed * (1.0 - 0.3 * place(i as f64).abs() / reach.max(EACH))
    };
    let steepest = inner.max_by(|a, b| worth(*a).total_cmp(&worth(*b)))?;
    let sign = rise(steepest).signum();
    if wanted != 0.0 && sign != wanted.signum() {
        return None;
    }
    // Levels where it has settled on either side.
    let mean = |of: &[f64]| of.iter().sum::<f64>() / of.len() as f64;
    let before = mean(&line[steepest - SIDES..steepest - SIDES / 2 + 1]);
    let beyond = mean(&line[steepest + SIDES / 2..(steepest + SIDES + 1).min(count)]);
    let rise = beyond - before;
    if rise * sign <= 0.0 || (wanted != 0.0 && rise.abs() < 0.25 * wanted.abs()) {
        return None;
    }
    let half = 0.5 * (before + beyond);
    let window = steepest - SIDES / 2..steepest + SIDES / 2;
    let crossing = window
        .filter_map(|i| {
            let (a, b) = (line[i] - half, line[i + 1] - half);
            (a * sign <= 0.0 && b * sign > 0.0).then(|| i as f64 + a / (a - b))
        })
        .min_by(|a, b| {
            let far = |i: f64| (i - steepest as f64).abs();
            far(*a).total_cmp(&far(*b))
        })?;
    Some(Step { at: place(crossing), rise })
}
