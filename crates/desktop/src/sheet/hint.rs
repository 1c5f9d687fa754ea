//! The hint of the first start, and where to drop files.

use eframe::egui::{Align2, Rect, Stroke, StrokeKind, Ui, Vec2, pos2, vec2};
use oddment_app::act::Act;
use oddment_app::session::Session;

use super::{card, child};
use crate::theme::{self, Colours, Weight};

const LINES: [&str; 3] = [
    "Press Fill, and the order is laid between the old cut-outs.",
    "Or drag a part from the slip onto the metal; R turns it, L locks it.",
    "Drop your own drawings anywhere; / finds everything else.",
];

/// Size of the hint: each line takes two at the usual size of text.
const SIZE: Vec2 = vec2(264.0, 222.0);

/// Draws the hint until it has been read: below the slip, which ends at `slip`, where there is room and it
/// covers no metal; else in the canvas's far corner.
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
    let bottom = place.bottom() - 96.0;
    let below = slip + 12.0 + SIZE.y <= bottom;
    let left = if below { place.left() + 20.0 } else { place.right() - 40.0 - SIZE.x };
    let top = if below { slip + 12.0 } else { bottom - 40.0 - SIZE.y };
    let rect = Rect::from_min_size(pos2(left, top), SIZE);
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
