//! From the sheet to the screen and back.

use eframe::egui::{Pos2, Rect, Vec2, pos2};
use oddment_core::shape::{Bounds, Point, SheetSpace, Vector};

/// Least and greatest pixels per millimetre.
const SCALES: (f64, f64) = (0.01, 200.0);

/// Which part of the sheet is shown, and how large.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct View {
    /// The point in the middle of the screen's `middle`.
    pub(crate) centre: Point<SheetSpace>,
    /// Pixels per millimetre.
    pub(crate) scale: f64,
    /// Where on the screen `centre` is.
    pub(crate) middle: Pos2,
}

impl View {
    /// Shows all of `sheet` in `area`.
    pub(crate) fn fit(sheet: Bounds<SheetSpace>, area: Rect) -> Self {
        let (wide, high) = (sheet.width().max(1.0), sheet.height().max(1.0));
        let scale = (f64::from(area.width()) / wide).min(f64::from(area.height()) / high);
        Self {
            centre: sheet.centre(),
            scale: scale.clamp(SCALES.0, SCALES.1),
            middle: area.center(),
        }
    }

    /// A point of the sheet on the screen.
    pub(crate) fn to_screen(self, p: Point<SheetSpace>) -> Pos2 {
        let v = (p - self.centre) * self.scale;
        pos2(self.middle.x + v.x as f32, self.middle.y - v.y as f32)
    }

    /// A point of the screen on the sheet.
    pub(crate) fn to_sheet(self, p: Pos2) -> Point<SheetSpace> {
        let v = p - self.middle;
        self.centre + Vector::new(f64::from(v.x), -f64::from(v.y)) * (1.0 / self.scale)
    }

    /// A length on the screen.
    pub(crate) fn length(&self, mm: f64) -> f32 {
        (mm * self.scale) as f32
    }

    /// Closer by `factor`, keeping what is under `at` where it is.
    pub(crate) fn zoom(&mut self, factor: f64, at: Pos2) {
        let held = self.to_sheet(at);
        self.scale = (self.scale * factor).clamp(SCALES.0, SCALES.1);
        let now = self.to_sheet(at);
        self.centre = self.centre + (held - now);
    }

    /// Moved along with the pointer.
    pub(crate) fn pan(&mut self, by: Vec2) {
        let by = Vector::new(-f64::from(by.x), f64::from(by.y)) * (1.0 / self.scale);
        self.centre = self.centre + by;
    }

    /// What of the sheet is to be seen in `rect`.
    pub(crate) fn seen(&self, rect: Rect) -> Bounds<SheetSpace> {
        Bounds::of([self.to_sheet(rect.left_bottom()), self.to_sheet(rect.right_top())])
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn view() -> View {
        let sheet = Bounds::of([Point::new(10.0, 20.0), Point::new(1010.0, 520.0)]);
        View::fit(sheet, Rect::from_min_max(pos2(200.0, 100.0), pos2(1200.0, 700.0)))
    }

    #[test]
    fn fitting_shows_the_whole_sheet() {
        let view = view();
        assert_eq!(view.to_screen(Point::new(10.0, 20.0)), pos2(200.0, 650.0));
        assert_eq!(view.to_screen(Point::new(1010.0, 520.0)), pos2(1200.0, 150.0));
    }

    #[test]
    fn zooming_keeps_what_is_under_the_pointer() {
        let mut view = view();
        let at = pos2(333.0, 222.0);
        let before = view.to_sheet(at);
        view.zoom(3.0, at);
        assert!(view.to_sheet(at).distance(before) < 1e-3);
        view.pan(Vec2::new(10.0, -5.0));
        assert!(view.to_sheet(at + Vec2::new(10.0, -5.0)).distance(before) < 1e-3);
    }
}
