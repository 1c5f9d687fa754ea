//! What the values mean, drawn as one would on the back of an offcut.

use eframe::egui::{Align2, Painter, Pos2, Rect, Sense, Shape, Stroke, StrokeKind, Ui, pos2, vec2};
use oddment_core::cut_data::CutRow;
use oddment_core::machine::Machine;
use oddment_core::units::LengthUnit;

use super::length;
use crate::theme::{self, Colours};

/// The bed from above with its slats, to scale.
pub(super) fn bed(ui: &mut Ui, c: &Colours, machine: &Machine, unit: LengthUnit) {
    let (rect, _) = ui.allocate_exact_size(vec2(ui.available_width(), 190.0), Sense::hover());
    let painter = ui.painter_at(rect);
    let (w, h) = (machine.bed.width as f32, machine.bed.height as f32);
    let scale = ((rect.width() - 40.0) / w).min((rect.height() - 34.0) / h);
    let bed = Rect::from_min_size(rect.min + vec2(8.0, 8.0), vec2(w, h) * scale);
    painter.rect_filled(bed, 3, c.bed);
    let (sin, cos) = (machine.slats.direction as f32).sin_cos();
    let along = vec2(cos, -sin);
    let across = vec2(sin, cos);
    let pitch = (machine.slats.pitch as f32 * scale).max(3.0);
    let reach = bed.width().hypot(bed.height());
    let clipped = painter.with_clip_rect(bed);
    let count = (reach / pitch) as i32;
    for n in -count..=count {
        let at = bed.center() + across * (n as f32 * pitch);
        let line = [at - along * reach, at + along * reach];
        clipped.line_segment(line, Stroke::new(1.0, c.rule));
    }
    painter.rect_stroke(bed, 3, Stroke::new(1.5, c.metal_edge), StrokeKind::Inside);
    let size =
        format!("{} × {} {unit}", unit.show(machine.bed.width), unit.show(machine.bed.height));
    let under = pos2(bed.center().x, bed.bottom() + 2.0);
    painter.text(under, Align2::CENTER_TOP, size, theme::small(), c.text);
}

/// Two parts in a sheet with what must be between and round them; not to scale, since a slot is too
/// fine to be seen.
pub(super) fn cut(ui: &mut Ui, c: &Colours, row: &CutRow, unit: LengthUnit) {
    let (rect, _) = ui.allocate_exact_size(vec2(ui.available_width(), 200.0), Sense::hover());
    let painter = ui.painter_at(rect);
    let wide = rect.width().min(640.0);
    let metal = Rect::from_min_size(rect.min + vec2(4.0, 4.0), vec2(wide - 8.0, 178.0));
    painter.rect(metal, 0, c.metal, Stroke::new(1.5, c.metal_edge), StrokeKind::Inside);
    let part = vec2(wide * 0.28, 84.0);
    let (slot, web) = (7.0, 26.0);
    let first = Rect::from_min_size(metal.min + vec2(70.0, 50.0), part);
    let second = Rect::from_min_size(pos2(first.right() + 2.0 * slot + web, first.top()), part);
    for part in [first, second] {
        painter.rect_filled(part.expand(slot), 2, c.bed);
        painter.rect(part, 0, c.paper, Stroke::new(1.5, c.ink), StrokeKind::Inside);
    }
    // A start of the second part: its pierce and the lead-in from there.
    let corner = second.right_top() + vec2(0.0, -slot * 0.5);
    let pierce = corner + vec2(34.0, -22.0);
    painter.line_segment([pierce, corner], Stroke::new(2.5, c.strong));
    painter.circle_filled(pierce, 4.5, c.strong);
    say(&painter, c, pierce + vec2(8.0, 0.0), Align2::LEFT_CENTER, "pierce, lead-in");
    let hole = second.center();
    painter.circle(hole, 14.0, c.bed, Stroke::new(1.5, c.ink));
    say(&painter, c, hole + vec2(20.0, 0.0), Align2::LEFT_CENTER, "least hole");
    let tab = first.left_bottom() + vec2(part.x * 0.4, 0.0);
    painter.rect_filled(Rect::from_min_size(tab, vec2(9.0, slot)), 0, c.fits);
    say(&painter, c, tab + vec2(14.0, 16.0), Align2::LEFT_CENTER, "tab");
    let y = first.center().y;
    let gap = [pos2(first.right() + slot, y), pos2(second.left() - slot, y)];
    dimension(&painter, c, gap);
    let over = pos2(f32::midpoint(gap[0].x, gap[1].x), first.top() - 20.0);
    say(&painter, c, over, Align2::CENTER_CENTER, &format!("web {}", length(row.web, unit)));
    dimension(&painter, c, [pos2(metal.left(), y), pos2(first.left() - slot, y)]);
    say(&painter, c, pos2(metal.left() + 6.0, y - 16.0), Align2::LEFT_CENTER, "edge");
    let below = pos2(first.left(), first.bottom() + slot + 16.0);
    say(&painter, c, below, Align2::LEFT_CENTER, &format!("kerf {}", length(row.kerf, unit)));
    let edge = [pos2(first.left() + 16.0, first.bottom() + slot), below + vec2(16.0, -7.0)];
    painter.line_segment(edge, Stroke::new(1.0, c.text));
}

fn say(painter: &Painter, c: &Colours, at: Pos2, align: Align2, text: &str) {
    painter.text(at, align, text, theme::small(), c.text);
}

/// A dimension line with an arrow at either end.
fn dimension(painter: &Painter, c: &Colours, [from, to]: [Pos2; 2]) {
    painter.line_segment([from, to], Stroke::new(1.0, c.text));
    for (at, way) in [(from, 1.0), (to, -1.0)] {
        let points = vec![at, at + vec2(5.0 * way, -3.0), at + vec2(5.0 * way, 3.0)];
        painter.add(Shape::convex_polygon(points, c.text, Stroke::NONE));
    }
}
