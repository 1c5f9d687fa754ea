//! How files are exported, and whether a plan that was not squared up is to go to the machine.

use eframe::egui::{Context, Key, Label, RichText, Ui};
use oddment_app::act::Act;
use oddment_app::session::Session;
use oddment_app::settings::ExportChoices;
use oddment_core::check::Basis;

use crate::theme::{self, Colours, Weight};

/// What became of the card in a frame.
pub(crate) enum Outcome {
    /// Still open.
    Open,
    /// Closed; nothing is exported.
    Closed,
    /// Ask for the folder.
    Into,
}

/// Draws the card.
pub(crate) fn show(ctx: &Context, c: &Colours, session: &Session, acts: &mut Vec<Act>) -> Outcome {
    let mut outcome = Outcome::Open;
    let given_up = theme::modal(ctx, c, "Export", 600.0, |ui| {
        if let Some(why) = session.why_barred() {
            ui.add(Label::new(RichText::new(why).color(c.short)).wrap());
            ui.add_space(10.0);
            if theme::button(ui, c, "Back to the plan", "Esc", Weight::Strong).clicked() {
                outcome = Outcome::Closed;
            }
            return;
        }
        let goes_on = standing(ui, c, session);
        let now = session.settings().export;
        let mut next = now;
        choices(ui, c, &mut next);
        if next != now {
            acts.push(Act::SetExport(next));
        }
        ui.add_space(10.0);
        ui.horizontal(|ui| {
            let enter = ui.input(|i| i.key_pressed(Key::Enter));
            if theme::button(ui, c, goes_on, "Enter", Weight::Strong).clicked() || enter {
                outcome = Outcome::Into;
            }
            if theme::button(ui, c, "Cancel", "Esc", Weight::Words).clicked() {
                outcome = Outcome::Closed;
            }
        });
    });
    if given_up && matches!(outcome, Outcome::Open) {
        outcome = Outcome::Closed;
    }
    outcome
}

/// What the check says, and what going on is called then.
fn standing(ui: &mut Ui, c: &Colours, session: &Session) -> &'static str {
    let checked = session.checked();
    let (colour, text, goes_on) = match (checked.is_clear(), checked.basis()) {
        (false, _) => (
            c.short,
            "The plan is not clear. No drawing for the machine is written; the papers are, with the \
             faults printed on them."
                .to_owned(),
            "Write the papers with the faults",
        ),
        (true, Basis::Laid) => (c.fits, "Clear as laid: what goes to the machine.".to_owned(), "Choose a folder"),
        (true, Basis::SquaredUp) => (
            c.short,
            format!(
                "Squared up, but the pointer points are not ticked off. Drive to each with the {} off \
                 before anything is cut.",
                session.tool()
            ),
            "Export all the same",
        ),
        (true, Basis::Recorded) => (
            c.short,
            "Clear as recorded only: nobody has measured how the sheet lies. Square it up first, or \
             export as recorded and tick off the pointer points at the machine."
                .to_owned(),
            "Export as recorded",
        ),
    };
    ui.add(Label::new(RichText::new(text).color(colour)).wrap());
    goes_on
}

fn choices(ui: &mut Ui, c: &Colours, next: &mut ExportChoices) {
    let pair = |ui: &mut Ui, title: &str, on: &mut bool, [no, yes]: [&str; 2]| {
        ui.add_space(8.0);
        ui.label(RichText::new(title).font(theme::small()).color(c.quiet));
        ui.horizontal_wrapped(|ui| {
            for (value, name) in [(false, no), (true, yes)] {
                if theme::choice(ui, c, name, *on == value).clicked() {
                    *on = value;
                }
            }
        });
    };
    let lines = ["centre of the kerf, with lead-ins and tabs", "as drawn: the machine compensates"];
    pair(ui, "The cut (cut.dxf, cut.svg)", &mut next.as_drawn, lines);
    pair(ui, "In", &mut next.inch, ["mm", "inch"]);
    pair(ui, "Set-up sheet and traveller on", &mut next.letter, ["A4", "Letter"]);
    let singles = ["no", "each, turned as it lies"];
    pair(ui, "Drawings of single parts", &mut next.singles, singles);
}
