//! Rulers from the datum corner.

use eframe::egui::{Align2, Painter, Rect, Stroke, pos2};
use oddment_core::shape::{Bounds, SheetSpace};
use oddment_core::units::LengthUnit;

use super::view::View;
use crate::theme::{self, Colours};

/// Room (pixels) that the rulers take to the left of the sheet and below it.
pub(crate) const ROOM: f32 = 46.0;

/// A line on a ruler.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Tick {
    /// Millimetres from the datum.
    pub(crate) at: f64,
    /// What is written beside it, where anything is.
    pub(crate) label: Option<String>,
}

/// The lines of a ruler from `from` to `to` (mm) at `scale` pixels per millimetre: numbered ones at
/// round numbers at least 60 pixels apart, and four parts between them.
pub(crate) fn ticks(from: f64, to: f64, scale: f64, unit: LengthUnit) -> Vec<Tick> {
    let step = numbered_step(60.0 / scale, unit);
    let small = step / if unit == LengthUnit::Inch { 4.0 } else { 5.0 };
    let parts = if unit == LengthUnit::Inch { 4 } else { 5 };
    let (first, last) = ((from / small).ceil() as i64, (to / small).floor() as i64);
    // A ruler has no more lines than the screen has pixels.
    (first..=last.min(first + 10_000))
        .map(|i| {
            let at = i as f64 * small;
            let label = (i % parts == 0).then(|| number(at, step, unit));
            Tick { at, label }
        })
        .collect()
}

/// The least round step (mm) of at least `least` mm.
fn numbered_step(least: f64, unit: LengthUnit) -> f64 {
    match unit {
        LengthUnit::Mm => {
            let ten = 10f64.powf(least.log10().floor());
            [1.0, 2.0, 5.0, 10.0]
                .into_iter()
                .map(|m| m * ten)
                .find(|s| *s >= least * 0.999)
                .unwrap_or(least)
        }
        LengthUnit::Inch => {
            let two = (least / unit.in_mm()).log2().ceil();
            two.exp2() * unit.in_mm()
        }
    }
}

fn number(at: f64, step: f64, unit: LengthUnit) -> String {
    let (at, step) = (at / unit.in_mm() + 0.0, step / unit.in_mm());
    let digits = match unit {
        LengthUnit::Mm => (-step.log10().floor()).max(0.0),
        LengthUnit::Inch => (-step.log2().floor()).max(0.0),
    };
    format!("{at:.*}", digits as usize)
}

/// Draws both rulers along the sheet's edges, or along the area's where those are out of sight; then
/// nothing of the sheet is to be seen on the canvas beyond them.
pub(crate) fn draw(
    painter: &Painter,
    c: &Colours,
    view: &View,
    sheet: Bounds<SheetSpace>,
    (area, canvas): (Rect, Rect),
    unit: LengthUnit,
) {
    let (corner, far) = (view.to_screen(sheet.min), view.to_screen(sheet.max));
    let x = corner.x.clamp(area.left() + ROOM, area.right());
    let y = corner.y.clamp(area.top(), area.bottom() - ROOM);
    let seen = view.seen(area);
    if corner.x < area.left() + ROOM {
        let strip = Rect::from_min_max(canvas.left_top(), pos2(x, canvas.bottom()));
        painter.rect_filled(strip, 0, c.bed);
    }
    if corner.y > area.bottom() - ROOM {
        let strip = Rect::from_min_max(pos2(canvas.left(), y), canvas.right_bottom());
        painter.rect_filled(strip, 0, c.bed);
    }
    let line = Stroke::new(1.0, c.quiet);
    let across = (seen.min.x.max(sheet.min.x), seen.max.x.min(sheet.max.x));
    for tick in ticks(across.0 - sheet.min.x, across.1 - sheet.min.x, view.scale, unit) {
        let at = corner.x + view.length(tick.at);
        if at < x - 0.5 {
            continue;
        }
        let long = if tick.label.is_some() { 9.0 } else { 5.0 };
        painter.vline(at, y + 7.0..=y + 7.0 + long, line);
        if let Some(label) = tick.label {
            let at = pos2(at, y + 18.0);
            painter.text(at, Align2::CENTER_TOP, label, theme::small(), c.quiet);
        }
    }
    let up = (seen.min.y.max(sheet.min.y), seen.max.y.min(sheet.max.y));
    for tick in ticks(up.0 - sheet.min.y, up.1 - sheet.min.y, view.scale, unit) {
        let at = corner.y - view.length(tick.at);
        if at > y + 0.5 || at < far.y - 0.5 {
            continue;
        }
        let long = if tick.label.is_some() { 9.0 } else { 5.0 };
        painter.hline(x - 7.0 - long..=x - 7.0, at, line);
        if let Some(label) = tick.label {
            let at = pos2(x - 19.0, at);
            painter.text(at, Align2::RIGHT_CENTER, label, theme::small(), c.quiet);
        }
    }
    if area.contains(corner) {
        datum(painter, c, corner);
    }
}

/// The mark at the datum corner.
fn datum(painter: &Painter, c: &Colours, at: eframe::egui::Pos2) {
    let line = Stroke::new(2.5, c.strong);
    painter.circle_filled(at, 3.5, c.strong);
    painter.vline(at.x - 14.0, at.y + 4.0..=at.y + 14.0, line);
    painter.hline(at.x - 15.0..=at.x - 4.0, at.y + 14.0, line);
}

#[cfg(test)]
mod tests {
    use super::*;

    #[track_caller]
    fn check(from: f64, to: f64, scale: f64, unit: LengthUnit, expected: &[&str]) {
        let labels: Vec<String> =
            ticks(from, to, scale, unit).into_iter().filter_map(|t| t.label).collect();
        assert_eq!(labels, expected);
    }

    #[test]
    fn numbers_are_round_and_far_enough_apart() {
        check(0.0, 400.0, 1.0, LengthUnit::Mm, &["0", "100", "200", "300", "400"]);
        check(0.0, 1.0, 200.0, LengthUnit::Mm, &["0.0", "0.5", "1.0"]);
        check(-30.0, 30.0, 3.0, LengthUnit::Mm, &["-20", "0", "20"]);
        check(0.0, 304.8, 1.0, LengthUnit::Inch, &["0", "4", "8", "12"]);
        check(0.0, 25.4, 10.0, LengthUnit::Inch, &["0.00", "0.25", "0.50", "0.75", "1.00"]);
    }

    #[test]
    fn there_are_parts_between_the_numbers() {
        assert_eq!(ticks(0.0, 100.0, 1.0, LengthUnit::Mm).len(), 6);
        assert!(ticks(0.0, 1e12, 1.0, LengthUnit::Mm).len() <= 10_001);
    }
}
