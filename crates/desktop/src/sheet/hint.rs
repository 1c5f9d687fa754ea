//! The hint of the first start, which stands on the line below until something is selected, and where to
//! drop files.

use eframe::egui::{Align, Align2, Label, Layout, Rect, RichText, Stroke, StrokeKind, Ui, vec2};
use oddment_app::act::Act;
use oddment_app::session::Session;

use crate::line::{End, apart};
use crate::theme::{self, Colours, Weight};
use crate::told::Told;

const LINES: [&str; 3] = [
    "Press Fill, and the order is laid between the old cut-outs.",
    "Or drag a part from the slip onto the metal; R turns it, L locks it.",
    "Drop your own drawings anywhere; / finds everything else.",
];

/// Whether it is to be shown: until it has been read, and while there is nothing else to say.
pub(super) fn is_wanted(session: &Session) -> bool {
    !session.settings().hint_read && !session.is_at_work() && Told::of_job(session).is_none()
}

/// Draws the hint: its lines beside each other, or below each other where there is no room for that.
pub(super) fn show(ui: &mut Ui, c: &Colours, acts: &mut Vec<Act>) {
    apart(ui, |ui, end| match end {
        End::Right => {
            if theme::button(ui, c, "Got it", "", Weight::Plain).clicked() {
                acts.push(Act::HideHint);
            }
        }
        End::Left if ui.available_width() < BESIDE => {
            ui.vertical(|ui| {
                ui.spacing_mut().item_spacing.y = 3.0;
                for line in LINES {
                    ui.add(Label::new(RichText::new(line).font(theme::small())).truncate());
                }
            });
        }
        End::Left => {
            let wide = ui.available_width() / LINES.len() as f32 - GAP;
            ui.spacing_mut().item_spacing.x = GAP;
            for line in LINES {
                let room = vec2(wide, ui.available_height());
                ui.allocate_ui_with_layout(room, Layout::left_to_right(Align::Center), |ui| {
                    ui.add(Label::new(line).wrap());
                });
            }
        }
    });
}

/// Width (points) from which on the lines stand beside each other.
const BESIDE: f32 = 750.0;

/// Room (points) between them.
const GAP: f32 = 20.0;

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
