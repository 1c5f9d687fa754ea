//! Cost against minutes, small: each way a dot that can be pressed.

use eframe::egui::{Align2, Sense, Stroke, Ui, Vec2, WidgetInfo, pos2, vec2};
use oddment_core::compare::{Comparison, Way};

use crate::theme::{self, Colours};

/// How near (pixels) a press must be to a dot.
const NEAR: f32 = 14.0;

/// Draws the plot; the sheets of the way that was pressed.
pub(super) fn show(
    ui: &mut Ui,
    c: &Colours,
    found: &Comparison,
    chosen: &Way,
    size: Vec2,
) -> Option<Vec<usize>> {
    let (rect, response) = ui.allocate_exact_size(size, Sense::click());
    response.widget_info(|| {
        WidgetInfo::labeled(eframe::egui::Role::Image, true, "cost of the ways against minutes")
    });
    let painter = ui.painter_at(rect);
    let inside =
        eframe::egui::Rect::from_min_max(rect.min + vec2(10.0, 18.0), rect.max - vec2(8.0, 18.0));
    let axis = Stroke::new(1.0, c.rule);
    painter.line_segment([inside.left_top(), inside.left_bottom()], axis);
    painter.line_segment([inside.left_bottom(), inside.right_bottom()], axis);
    let small = theme::small();
    painter.text(rect.left_top(), Align2::LEFT_TOP, "cost", small.clone(), c.quiet);
    painter.text(rect.right_bottom(), Align2::RIGHT_BOTTOM, "minutes", small, c.quiet);
    let ways: Vec<&Way> = found.ways.iter().filter(|w| w.is_complete()).collect();
    let range = |of: &dyn Fn(&Way) -> f64| {
        let values = ways.iter().map(|w| of(w));
        let (low, high) = values.fold((f64::MAX, f64::MIN), |(l, h), v| (l.min(v), h.max(v)));
        (low, (high - low).max(1e-6))
    };
    let (cost, minutes) = (range(&|w| w.score), range(&|w| w.account.minutes()));
    let place = |w: &Way| {
        let x = (w.account.minutes() - minutes.0) / minutes.1;
        let y = (w.score - cost.0) / cost.1;
        let inner = inside.shrink(7.0);
        pos2(inner.left() + x as f32 * inner.width(), inner.bottom() - y as f32 * inner.height())
    };
    for way in &ways {
        let here = way.key() == chosen.key();
        let (radius, ink) = if here { (6.0, c.strong) } else { (4.0, c.metal_edge) };
        painter.circle_filled(place(way), radius, ink);
    }
    let at = response.interact_pointer_pos().filter(|_| response.clicked())?;
    let near = ways
        .into_iter()
        .min_by(|a, b| place(a).distance_sq(at).total_cmp(&place(b).distance_sq(at)))?;
    (place(near).distance(at) <= NEAR).then(|| near.key())
}
