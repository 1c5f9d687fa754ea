//! Why the best goes before the others, and what can be done with the way that is looked at.

use eframe::egui::{Align, Label, Layout, RichText, Ui, vec2};
use oddment_app::act::Act;
use oddment_app::compare::{CompareAct, why as told_why};
use oddment_app::session::Session;
use oddment_app::words::capital;
use oddment_core::compare::{Way, reason};
use oddment_files::account_words::{reason_words, way_title};

use super::plot;
use crate::theme::{self, Colours, Weight};
use crate::told::Told;

/// Fewer ways need no plot.
const PLOTTED: usize = 4;
/// Width of the plot.
const PLOT: f32 = 190.0;

pub(super) fn show(ui: &mut Ui, c: &Colours, session: &Session, way: &Way, acts: &mut Vec<Act>) {
    let compare = session.compare();
    let Some(running) = compare.running() else { return };
    let (Some(found), Some(posed)) = (running.found(), running.posed()) else { return };
    let question = &posed.question;
    let mut lines: Vec<(String, bool)> = Vec::new();
    match (found.best(), told_why(question, found)) {
        (Some(best), _) if best.key() != way.key() && way.is_complete() => {
            let words =
                reason_words(&reason(question, best, way), "this way", question.is_priced());
            lines.push((capital(&format!("{}: {words}.", way_title(question, best))), false));
        }
        (Some(best), Some(words)) => {
            lines.push((capital(&format!("{}: {words}.", way_title(question, best))), false));
        }
        (Some(best), None) => {
            let title = way_title(question, best);
            lines.push((format!("{} takes all; no other way does.", capital(&title)), false));
        }
        (None, _) => lines.push(("No way places every part yet.".to_owned(), true)),
    }
    lines.extend(running.no_place().iter().map(|none| (none.words(), true)));
    let mut quiet = vec![super::how_far(running)];
    quiet.extend(compare.again().map(str::to_owned));
    if session.is_compared_no_more() {
        quiet.push("The order has changed since.".to_owned());
    }
    if !question.is_priced() {
        quiet.push("No price of the material is known: ways are ranked by metal.".to_owned());
    }
    if !question.candidates.iter().any(|c| !c.source.is_fresh()) {
        quiet.push("The rack has no remnant of it that nobody holds.".to_owned());
    }
    if let Some(gap) = found.gap() {
        quiet.push(format!(
            "Proven: no way costs less than {:.2}; the best could be {:.0} % too dear at most.",
            found.bound,
            100.0 * gap
        ));
    }
    quiet.extend(session.left_out().map(|w| format!("{}.", capital(&w))));
    match Told::of(session) {
        Some(Told::News(said)) => quiet.push(said.to_owned()),
        Some(refusal) => lines.push((refusal.words(), true)),
        None => {}
    }
    let plotted = found.ways.len() >= PLOTTED;
    let high = ui.available_height();
    let text_wide = ui.available_width() - if plotted { PLOT + 12.0 } else { 0.0 };
    ui.horizontal(|ui| {
        ui.allocate_ui_with_layout(vec2(text_wide, high), Layout::top_down(Align::Min), |ui| {
            ui.spacing_mut().item_spacing.y = 2.0;
            for (line, bad) in lines {
                let ink = if bad { c.short } else { c.text };
                ui.add(Label::new(RichText::new(line).font(theme::strong()).color(ink)).wrap());
            }
            let quiet = RichText::new(quiet.join(" ")).color(c.quiet).font(theme::small());
            ui.add(Label::new(quiet).wrap());
            ui.with_layout(Layout::bottom_up(Align::Min), |ui| {
                ui.horizontal(|ui| {
                    let mut press = |ui: &mut Ui, name: &str, key: &str, act: CompareAct| {
                        if theme::button(ui, c, name, key, Weight::Words).clicked() {
                            acts.push(Act::Compare(act));
                        }
                    };
                    press(ui, "Hold its sheets", "H", CompareAct::Hold);
                    press(ui, "Write the ways", "Ctrl E", CompareAct::Export);
                });
            });
        });
        if plotted && let Some(key) = plot::show(ui, c, found, way, vec2(PLOT, high)) {
            acts.push(Act::Compare(CompareAct::Choose(key)));
        }
    });
}
