//! The hint of the first start, and where to drop files.

use eframe::egui::{Align2, Rect, Stroke, StrokeKind, Ui, pos2, vec2};
use oddment_app::act::Act;
use oddment_app::session::Session;

use super::{card, child};
use crate::theme::{self, Colours, Weight};

const LINES: [&str; 3] = [
    "Press Fill, and the order is laid between the old cut-outs.",
    "Or drag a part from the slip onto the metal; R turns it, L locks it.",
    "Drop your own DXF or SVG drawings anywhere; / finds everything else.",
];

/// Draws the hint until it has been read, where the slip above, which ends at `slip`, leaves room.
pub(crate) fn show(
    ui: &mut Ui,
    c: &Colours,
    session: &Session,
    place: Rect,
    slip: f32,
    acts: &mut Vec<Act>,
) {
    if session.settings().hint_read || session.at_work().is_some() {
        return;
    }
    // Below the slip, where it covers no metal.
    let (left, bottom) = (place.left() + 20.0, place.bottom() - 96.0);
    let rect = Rect::from_min_size(pos2(left, bottom - 262.0), vec2(264.0, 262.0));
    if rect.top() < slip {
        return;
    }
    card(&mut child(ui, rect, "hint"), c, rect, |ui| {
        for line in LINES {
            ui.add_space(3.0);
            ui.label(line);
        }
        ui.add_space(3.0);
        if theme::button(ui, c, "Got it", "", Weight::Plain).clicked() {
            acts.push(Act::HideHint);
        }
    });
}

/// Says that files held over the window may be dropped.
pub(crate) fn drop_here(ui: &Ui, c: &Colours, place: Rect) {
    let rect = place.shrink(14.0);
    ui.painter().rect(
        rect,
        16,
        c.bed.gamma_multiply(0.7),
        Stroke::new(3.0, c.strong),
        StrokeKind::Inside,
    );
    let text = "Drop drawings to add them to the order, or a plan to open it";
    ui.painter().text(rect.center(), Align2::CENTER_CENTER, text, theme::large(), c.text);
}
