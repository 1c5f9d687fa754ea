//! Long work going on: best so far, time, keep and stop.

use eframe::egui::{Rect, RichText, Ui, vec2};
use oddment_app::act::Act;
use oddment_app::session::AtWork;

use crate::theme::{self, Colours, Weight};

/// Draws the card.
pub(crate) fn show(ui: &mut Ui, c: &Colours, work: &AtWork, rect: Rect, acts: &mut Vec<Act>) {
    super::card(ui, c, rect, |ui| {
        let (spent, limit) = (work.elapsed.as_secs_f64(), work.limit.as_secs_f64());
        ui.horizontal(|ui| {
            ui.label(RichText::new(&work.says).font(theme::strong()));
            let time = RichText::new(format!("{} of at most {}", clock(spent), clock(limit)));
            ui.label(time.font(theme::small()).color(c.quiet));
        });
        let (bar, _) =
            ui.allocate_exact_size(vec2(ui.available_width(), 8.0), eframe::egui::Sense::hover());
        // Where nothing is counted the bar shows the time.
        let share = work.share.unwrap_or((spent / limit.max(0.1)) as f32);
        ui.painter().rect_filled(bar, 4, c.rule);
        let done = Rect::from_min_size(bar.min, vec2(bar.width() * share.min(1.0), bar.height()));
        ui.painter().rect_filled(done, 4, c.fits);
        ui.horizontal(|ui| {
            if work.can_keep && theme::button(ui, c, "Keep this", "Enter", Weight::Plain).clicked()
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
