//! What became of a part, in a row: pressed, with the reason where it is scrap.

use eframe::egui::{Align, Align2, Layout, RichText, TextEdit, Ui, vec2};
use oddment_rack::record::Outcome;

use crate::theme::{self, Colours};

/// Draws the row of a part that is `called` so and became `now`; what it is said to have become instead.
pub(crate) fn show(ui: &mut Ui, c: &Colours, called: &str, now: &Outcome) -> Option<Outcome> {
    let mut then = None;
    ui.horizontal(|ui| {
        let wide = (ui.available_width() - 300.0).max(90.0);
        let size = vec2(wide, c.touch - 8.0);
        ui.allocate_ui_with_layout(size, Layout::left_to_right(Align::Center), |ui| {
            ui.set_min_width(wide);
            ui.label(theme::shortened(ui, called, wide));
        });
        ui.spacing_mut().item_spacing.x = 4.0;
        let scrap = matches!(now, Outcome::Scrap(_));
        let choices = [
            ("good", *now == Outcome::Good, Outcome::Good),
            ("scrap", scrap, Outcome::Scrap("spoilt".into())),
            ("half cut", *now == Outcome::HalfCut, Outcome::HalfCut),
            ("not begun", *now == Outcome::NeverStarted, Outcome::NeverStarted),
        ];
        for (word, on, outcome) in choices {
            let spoken = format!("{called} {word}");
            if theme::spoken_choice(ui, c, word, on, &spoken).clicked() {
                then = Some(outcome);
            }
        }
    });
    if let (Outcome::Scrap(why), None) = (now, &then) {
        let mut why = why.clone();
        ui.horizontal(|ui| {
            ui.add_space(24.0);
            ui.label(RichText::new("why").color(c.quiet));
            let field = TextEdit::singleline(&mut why)
                .desired_width(220.0)
                .align(Align2::LEFT_CENTER)
                .min_size(vec2(220.0, 32.0));
            if ui.add(field).accessible_name(format!("why {called} is scrap")).changed() {
                then = Some(Outcome::Scrap(why));
            }
        });
    }
    then
}
