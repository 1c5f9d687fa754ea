//! What a place shows while it has nothing of its own to show: its question, and what to do.

use std::time::Duration;

use eframe::egui::{Color32, Label, Rect, RichText, Ui, pos2, vec2};

use crate::sheet::{card, child};
use crate::theme::{self, Colours};

/// Draws a card with the place's question in the middle of `area`.
pub(crate) fn show(
    ui: &mut Ui,
    c: &Colours,
    area: Rect,
    question: &str,
    contents: impl FnOnce(&mut Ui),
) {
    // How high it is, is known once it has been drawn.
    let id = ui.scope_id().with("height").with(question);
    let known: Option<f32> = ui.data(|d| d.get_temp(id));
    let middle = Rect::from_center_size(
        pos2(area.center().x, area.top() + 0.4 * area.height()),
        vec2(640.0_f32.min(area.width()), known.unwrap_or(300.0).min(area.height())),
    );
    let mut high = 0.0;
    card(&mut child(ui, middle, question), c, middle, |ui| {
        let top = ui.cursor().top();
        ui.add_space(8.0);
        ui.label(RichText::new(question).font(theme::large_strong()));
        ui.add_space(6.0);
        contents(ui);
        high = ui.min_rect().bottom() - top + 24.0;
    });
    if known.is_none_or(|known| (known - high).abs() > 0.5) {
        ui.data_mut(|d| d.insert_temp(id, high));
        ui.ctx().request_discard("the card of a first screen has another height");
    }
}

/// A paragraph.
pub(crate) fn say(ui: &mut Ui, text: &str, ink: Color32) {
    ui.add(Label::new(RichText::new(text).color(ink)).wrap());
}

/// What is being done, while there is nothing to show of it.
pub(crate) fn busy(ui: &mut Ui, c: &Colours, text: &str) {
    ui.ctx().request_repaint_after(Duration::from_millis(200));
    ui.horizontal(|ui| {
        ui.spinner();
        say(ui, text, c.text);
    });
}
