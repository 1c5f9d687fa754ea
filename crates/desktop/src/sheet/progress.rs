//! A fill at work: best so far, time, keep and stop.

use eframe::egui::{Rect, RichText, Ui, vec2};
use oddment_app::act::Act;
use oddment_app::session::Session;

use crate::theme::{self, Colours, Weight};

/// Draws the card.
pub(crate) fn show(ui: &mut Ui, c: &Colours, session: &Session, rect: Rect, acts: &mut Vec<Act>) {
    let Some(filling) = session.filling() else { return };
    let (laid, wanted) = session.view().totals();
    super::card(ui, c, rect, |ui| {
        ui.horizontal(|ui| {
            ui.label(
                RichText::new(format!("best so far {laid} of {wanted}")).font(theme::strong()),
            );
            let (spent, limit) = (filling.elapsed().as_secs_f64(), filling.limit().as_secs_f64());
            let time = RichText::new(format!("{} of about {}", clock(spent), clock(limit)));
            ui.label(time.font(theme::small()).color(c.quiet));
        });
        let (bar, _) =
            ui.allocate_exact_size(vec2(ui.available_width(), 8.0), eframe::egui::Sense::hover());
        let share = if wanted == 0 { 0.0 } else { laid as f32 / wanted as f32 };
        ui.painter().rect_filled(bar, 4, c.rule);
        let done = Rect::from_min_size(bar.min, vec2(bar.width() * share.min(1.0), bar.height()));
        ui.painter().rect_filled(done, 4, c.fits);
        ui.horizontal(|ui| {
            if theme::button(ui, c, "Keep this", "Enter", Weight::Plain).clicked() {
                acts.push(Act::KeepBest);
            }
            if theme::button(ui, c, "Stop", "", Weight::Words)
                .on_hover_text("and go back to the plan from before")
                .clicked()
            {
                acts.push(Act::StopFill);
            }
        });
    });
    // The clock runs without news from the fill.
    ui.ctx().request_repaint_after(std::time::Duration::from_millis(200));
}

/// “0:03”.
fn clock(seconds: f64) -> String {
    let whole = seconds.max(0.0) as u64;
    format!("{}:{:02}", whole / 60, whole % 60)
}

#[cfg(test)]
mod tests {
    use super::clock;

    #[test]
    fn times_as_on_a_clock() {
        assert_eq!(clock(3.9), "0:03");
        assert_eq!(clock(125.0), "2:05");
    }
}
