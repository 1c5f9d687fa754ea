//! What the cards that record a cut have in common: what became of a part, what is kept, the minutes it
//! took, and the row that ends the card.

use eframe::egui::{Align, Align2, Key, Layout, RichText, TextEdit, Ui, vec2};
use oddment_rack::record::{Keep, Outcome};

use crate::theme::{self, Colours, Weight};

/// The row of a part that is `called` so, has this number in a picture and became `now`, pressed, with the
/// reason where it is scrap; what it is said to have become instead.
pub(crate) fn outcome(
    ui: &mut Ui,
    c: &Colours,
    called: &str,
    number: Option<usize>,
    now: &Outcome,
) -> Option<Outcome> {
    let mut then = None;
    ui.horizontal(|ui| {
        let wide = (ui.available_width() - 300.0).max(90.0);
        let size = vec2(wide, c.touch - 8.0);
        ui.allocate_ui_with_layout(size, Layout::left_to_right(Align::Center), |ui| {
            ui.set_min_width(wide);
            if let Some(number) = number {
                ui.label(RichText::new(number.to_string()).font(theme::small_strong()));
            }
            ui.label(theme::shortened(ui, called, &theme::body(), ui.available_width()));
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

/// A short field and its name before it.
pub(crate) fn field(ui: &mut Ui, name: &str, text: &mut String, hint: &str, wide: f32) {
    ui.label(name);
    let field = TextEdit::singleline(text)
        .hint_text(hint)
        .desired_width(wide)
        .align(Align2::LEFT_CENTER)
        .min_size(vec2(wide, 36.0));
    ui.add(field).accessible_name(name);
}

/// What is kept of what is left.
pub(crate) fn keeps(ui: &mut Ui, c: &Colours, kept: &mut Keep) {
    let keeps = [
        (Keep::ByRule, "keep by the rule"),
        (Keep::All, "keep all"),
        (Keep::Nothing, "keep nothing"),
    ];
    for (keep, name) in keeps {
        if theme::choice(ui, c, name, *kept == keep).clicked() {
            *kept = keep;
        }
    }
}

/// A number that is not negative, as typed.
pub(crate) fn number(typed: &str) -> Option<f64> {
    typed.trim().replace(',', ".").parse().ok().filter(|n| (0.0..=1e6).contains(n))
}

/// The minutes that a cut took, as typed; `None` where nothing was.
///
/// # Errors
/// Where it is no number, in words.
pub(crate) fn minutes(typed: &str) -> Result<Option<f64>, String> {
    match typed.trim() {
        "" => Ok(None),
        typed => {
            number(typed).map(Some).ok_or_else(|| format!("“{typed}” is no number of minutes"))
        }
    }
}

/// What was pressed in the row that ends a card.
pub(crate) struct Ending {
    /// The cut is to be recorded.
    pub(crate) record: bool,
    /// The card is to be closed.
    pub(crate) cancel: bool,
}

/// What is wrong, and the row that ends a card, with `beside` after its buttons.
pub(crate) fn ending(
    ui: &mut Ui,
    c: &Colours,
    fault: Option<&str>,
    beside: impl FnOnce(&mut Ui),
) -> Ending {
    if let Some(fault) = fault {
        ui.label(RichText::new(fault).color(c.short));
    }
    let row = ui.horizontal(|ui| {
        let enter = ui.input(|i| i.modifiers.command && i.key_pressed(Key::Enter));
        let pressed = theme::button(ui, c, "Record it", "Ctrl Enter", Weight::Strong).clicked();
        let cancel = theme::button(ui, c, "Cancel", "Esc", Weight::Words).clicked();
        beside(ui);
        Ending { record: pressed || enter, cancel }
    });
    row.inner
}
