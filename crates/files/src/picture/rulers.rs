//! Rulers along a sheet, in millimetres or inches from its datum corner.

use oddment_core::shape::Point;
use oddment_core::units::LengthUnit;

use super::scene::{Look, View};
use super::{Anchor, Colour, PageSpace, Picture, Stroke, Text};

/// Room (points) that rulers take left of and below the sheet.
pub(super) const ROOM: f64 = 26.0;

/// Least distance of two labels, points.
const BETWEEN_LABELS: f64 = 38.0;
const LONG_TICK: f64 = 6.0;
const SHORT_TICK: f64 = 3.0;
const TYPE: f64 = 7.0;

/// Draws rulers below and left of a sheet of `width` × `height` mm seen by `view`.
pub(super) fn draw(
    picture: &mut Picture,
    view: &View,
    width: f64,
    height: f64,
    unit: LengthUnit,
    look: &Look,
) {
    let step = label_step(view.points_per_mm * unit.in_mm());
    let steps = |length: f64| (length / unit.in_mm() / step * 5.0 + 1e-9).floor() as usize;
    let origin = view.datum_on_page;
    let pen = Stroke::plain(look.quiet, 0.6);
    for i in 0..=steps(width) {
        let at = i as f64 * step / 5.0;
        let x = origin.x + at * unit.in_mm() * view.points_per_mm;
        let long = i % 5 == 0;
        let tick = if long { LONG_TICK } else { SHORT_TICK };
        let (top, bottom) = (origin.y + 5.0, origin.y + 5.0 + tick);
        picture.line(Point::new(x, top), Point::new(x, bottom), pen);
        if long {
            label(picture, Point::new(x, bottom + TYPE), at, Anchor::Middle, look.text);
        }
    }
    for i in 0..=steps(height) {
        let at = i as f64 * step / 5.0;
        let y = origin.y - at * unit.in_mm() * view.points_per_mm;
        let long = i % 5 == 0;
        let tick = if long { LONG_TICK } else { SHORT_TICK };
        let (right, left) = (origin.x - 5.0, origin.x - 5.0 - tick);
        picture.line(Point::new(left, y), Point::new(right, y), pen);
        // The corner's 0 stands below, once.
        if long && i > 0 {
            label(picture, Point::new(left - 2.0, y + TYPE * 0.35), at, Anchor::End, look.text);
        }
    }
    corner(picture, origin, look);
}

/// The datum corner: a dot in an angle.
fn corner(picture: &mut Picture, at: Point<PageSpace>, look: &Look) {
    picture.shape(super::PagePath::circle(at, 2.2), Some(look.ink), None);
    let angle = [
        Point::new(at.x - 13.0, at.y + 2.0),
        Point::new(at.x - 13.0, at.y + 13.0),
        Point::new(at.x - 4.0, at.y + 13.0),
    ];
    let pen = Stroke::plain(look.ink, 1.4);
    picture.shape(super::PagePath::polyline(angle, false), None, Some(pen));
}

fn label(picture: &mut Picture, at: Point<PageSpace>, value: f64, anchor: Anchor, colour: Colour) {
    let text = format!("{}", (value * 1000.0).round() / 1000.0);
    picture.text(Text { at, text, size: TYPE, bold: false, anchor, colour });
}

/// The least of 1, 2, 5, 10, 20 … units whose labels keep apart.
fn label_step(points_per_unit: f64) -> f64 {
    let least = BETWEEN_LABELS / points_per_unit;
    let decade = 10_f64.powf(least.log10().floor());
    [1.0, 2.0, 5.0].into_iter().map(|n| n * decade).find(|s| *s >= least).unwrap_or(10.0 * decade)
}

#[cfg(test)]
mod tests {
    use super::label_step;

    #[test]
    fn labels_stand_at_round_numbers() {
        for (points_per_unit, step) in [(38.0, 1.0), (37.0, 2.0), (1.0, 50.0), (0.2, 200.0)] {
            assert!((label_step(points_per_unit) - step).abs() < 1e-9, "{points_per_unit}");
        }
    }
}
