//! Long work going on: best so far, time, keep and stop.

use eframe::egui::{Label, Rect, RichText, Ui, vec2};
use oddment_app::act::Act;
use oddment_app::session::AtWork;

use crate::theme::{self, Colours, Weight};

/// Height of the card.
pub(crate) fn height(c: &Colours) -> f32 {
    c.touch + 108.0
}

/// Draws the card.
pub(crate) fn show(ui: &mut Ui, c: &Colours, work: &AtWork, rect: Rect, acts: &mut Vec<Act>) {
    super::card(ui, c, rect, |ui| {
        ui.spacing_mut().item_spacing.y = 4.0;
        ui.add(Label::new(RichText::new(&work.says).font(theme::strong())).truncate());
        let quiet = |text: String| RichText::new(text).font(theme::small()).color(c.quiet);
        ui.label(quiet(work.time_in_words()));
        ui.label(quiet(work.unchanged_in_words().unwrap_or_default()));
        let (bar, _) =
            ui.allocate_exact_size(vec2(ui.available_width(), 8.0), eframe::egui::Sense::hover());
        // Where nothing is counted the bar shows the time.
        let spent = work.elapsed.as_secs_f32() / work.limit.as_secs_f32().max(0.1);
        let share = work.share.unwrap_or(spent);
        ui.painter().rect_filled(bar, 4, c.rule);
        let done = Rect::from_min_size(bar.min, vec2(bar.width() * share.min(1.0), bar.height()));
        ui.painter().rect_filled(done, 4, c.fits);
        ui.horizontal(|ui| {
            if let Some(keep) = work.keep
                && theme::button(ui, c, keep, "Enter", Weight::Plain).clicked()
            {
                acts.push(Act::KeepBest);
            }
            if theme::button(ui, c, "Stop", "Ctrl .", Weight::Words)
                .on_hover_text("and go back to the plan from before")
                .clicked()
            {
                acts.push(Act::StopFill);
            }
        });
    });
    // The clock runs without news from the work.
    ui.ctx().request_repaint_after(std::time::Duration::from_millis(200));
}
