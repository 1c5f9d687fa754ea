//! The pointer list: where each point is on the sheet, where it was hit on the bed, how far that is off,
//! and whether it was ticked off.

use eframe::egui::{Label, Rect, RichText, ScrollArea, TextEdit, Ui, vec2};
use oddment_app::act::Act;
use oddment_app::lay::{LayAct, Pointed};
use oddment_app::session::{PointerList, Session};
use oddment_core::check::Basis;
use oddment_core::shape::Point;
use oddment_core::square_up::Measured;
use oddment_core::units::parse_length;
use oddment_files::words::{bearing_words, feature_words, judgement_words, lies_words};

use super::at_words;
use crate::sheet;
use crate::theme::{self, Colours, Weight};

/// Where along an edge it is measured: far enough apart to know it all.
const FAR_APART: [f64; 2] = [0.1, 0.9];

/// What is being typed: of which point, X and Y as they stand.
#[derive(Default)]
pub(super) struct Typing(Option<(char, [String; 2])>);

/// Draws the card.
pub(super) fn show(
    ui: &mut Ui,
    c: &Colours,
    session: &Session,
    seen: &PointerList,
    typing: &mut Typing,
    rect: Rect,
    acts: &mut Vec<Act>,
) {
    sheet::card(ui, c, rect, |ui| {
        ScrollArea::vertical().auto_shrink([false, false]).show(ui, |ui| {
            ui.label(RichText::new("Square up").font(theme::large_strong()));
            if seen.points.is_empty() {
                quiet(ui, c, "Nothing is laid on this sheet yet. Lay parts in the place Sheet first.");
                return;
            }
            quiet(
                ui,
                c,
                "With the beam off, drive the pointer onto two points or more and type where the machine \
                 says it is. Corners far apart say most. Press an edge twice to put a place of it on the list.",
            );
            verdict(ui, c, session);
            if let Some(notice) = session.notice() {
                ui.add(Label::new(notice).wrap());
            }
            for (n, bearing) in seen.bearings.iter().enumerate() {
                if let Some(wrong) = bearing_words(*bearing) {
                    let says = format!("Clamp {} {wrong}. Drag it to another place.", n + 1);
                    ui.add(Label::new(RichText::new(says).color(c.short)).wrap());
                }
            }
            for point in &seen.points {
                row(ui, c, session, point, typing, acts);
            }
            says(ui, c, session, seen, acts);
        });
    });
}

fn row(
    ui: &mut Ui,
    c: &Colours,
    session: &Session,
    point: &Pointed,
    typing: &mut Typing,
    acts: &mut Vec<Act>,
) {
    let unit = session.settings().unit();
    let at = point.feature.at();
    ui.add_space(8.0);
    ui.horizontal(|ui| {
        ui.label(RichText::new(point.letter.to_string()).font(theme::large_strong()));
        let mut says = feature_words(&point.feature, unit);
        if point.beside.is_some() {
            says = format!("tightest spot: {says}");
        }
        ui.add(Label::new(RichText::new(says)).truncate());
    });
    ui.horizontal(|ui| {
        let shown =
            point.on_bed.map_or_else(Default::default, |b| [unit.show(b.x), unit.show(b.y)]);
        let mut texts = match &typing.0 {
            Some((letter, texts)) if *letter == point.letter => texts.clone(),
            _ => shown.clone(),
        };
        let mut left = false;
        for (text, axis) in texts.iter_mut().zip(["X", "Y"]) {
            ui.label(RichText::new(axis).color(c.quiet));
            let field = TextEdit::singleline(text)
                .desired_width(84.0)
                .font(theme::digits())
                .align(eframe::egui::Align2::RIGHT_CENTER)
                .min_size(vec2(84.0, 40.0));
            let name = format!("{axis} of {} on the bed", point.letter);
            left |= ui.add(field).accessible_name(&name).lost_focus();
        }
        ui.label(RichText::new(unit.to_string()).font(theme::small()).color(c.quiet));
        if texts != shown {
            typing.0 = Some((point.letter, texts.clone()));
        }
        if left && texts != shown {
            let read = |text: &str| parse_length(text.trim(), unit).ok();
            let empty = texts.iter().all(|t| t.trim().is_empty());
            match (read(&texts[0]), read(&texts[1])) {
                (Some(x), Some(y)) => {
                    typing.0 = None;
                    acts.push(Act::Lay(LayAct::Measure(at, Some(Point::new(x, y)))));
                }
                _ if empty => {
                    typing.0 = None;
                    acts.push(Act::Lay(LayAct::Measure(at, None)));
                }
                // Half of a place is none yet.
                _ => {}
            }
        }
        if session.squared_up().is_some() {
            let name = format!("{} was hit", point.letter);
            if theme::choice(ui, c, &name, point.ticked).clicked() {
                acts.push(Act::Lay(LayAct::Tick(at, !point.ticked)));
            }
        }
        let off = format!("{} off the list", point.letter);
        if point.asked_for && theme::button(ui, c, &off, "", Weight::Words).clicked() {
            acts.push(Act::Lay(LayAct::Also(at, false)));
        }
    });
    let from_datum = at - session.datum();
    let (x, y) = (unit.show(from_datum.x), unit.show(from_datum.y));
    let mut says = format!("on the sheet at {x}, {y}");
    if let Some(s) = session.squared_up() {
        let expected = s.pose().apply(at);
        says += &match point.on_bed {
            Some(hit) => {
                format!("  ·  {} {unit} off the rest", unit.show(hit.distance(expected)))
            }
            None => format!("  ·  drive to {}", at_words(expected, unit)),
        };
    }
    quiet(ui, c, &says);
}

/// What the check says of the sheet where it lies.
fn verdict(ui: &mut Ui, c: &Colours, session: &Session) {
    let Some(layout) = session.slot().and_then(|s| s.layout) else { return };
    let checked = session.checked();
    let (colour, says) = match (checked.is_clear(), checked.basis_of(layout)) {
        (_, Basis::Recorded) => (c.quiet, "Not squared up yet."),
        (false, _) => (c.short, "NOT CLEAR as laid: see the faults in the place Sheet."),
        (true, Basis::Laid) => (c.fits, "CLEAR AS LAID"),
        (true, _) => (c.text, "Clear where it lies. Drive to every point and tick it off."),
    };
    ui.add_space(6.0);
    ui.add(Label::new(RichText::new(says).font(theme::strong()).color(colour)).wrap());
}

/// What the measurements say, and what can be done with them.
fn says(ui: &mut Ui, c: &Colours, session: &Session, seen: &PointerList, acts: &mut Vec<Act>) {
    let unit = session.settings().unit();
    ui.add_space(12.0);
    match session.judged() {
        Some(judged) => {
            let named = |i: usize| name_of(&seen.points, &judged.measured, i);
            let (judgement, measured) = (&judged.judgement, &judged.measured);
            for line in judgement_words(judgement, measured, named, &judged.rivals, unit) {
                ui.add(Label::new(line).wrap());
            }
        }
        None if seen.points.iter().any(|p| p.on_bed.is_some()) => {
            quiet(ui, c, "What was measured is being compared with the sheet.");
        }
        None => return,
    }
    if let Some(s) = session.squared_up() {
        quiet(ui, c, &lies_words(s, session.datum(), unit));
        let checked = session.checked();
        for worth in seen.worth.iter().take(3) {
            let (short, give) = (unit.show(worth.short), unit.show(worth.give_or_take));
            quiet(
                ui,
                c,
                &format!(
                    "{short} {unit} short, of which {give} is give or take of the edge there."
                ),
            );
            if theme::button(ui, c, "Measure that edge", "", Weight::Plain)
                .on_hover_text("puts two places of it on the list")
                .clicked()
            {
                let ends = FAR_APART.map(|share| worth.edge.at(share));
                acts.extend(ends.map(|at| Act::Lay(LayAct::Also(at, true))));
            }
        }
        ui.add_space(6.0);
        ui.horizontal_wrapped(|ui| {
            if !checked.is_clear()
                && theme::button(ui, c, "Snug anew what is short", "", Weight::Plain).clicked()
            {
                acts.push(Act::Lay(LayAct::Snug));
            }
            let better = seen.known_better;
            if better > 0 {
                let name = format!("Write back {better} edges known better");
                if theme::button(ui, c, &name, "", Weight::Plain).clicked() {
                    acts.push(Act::Lay(LayAct::WriteBack));
                }
            }
        });
    }
    if theme::button(ui, c, "Forget what was measured", "", Weight::Words).clicked() {
        acts.push(Act::Lay(LayAct::Forget));
    }
}

fn name_of(points: &[Pointed], measured: &[Measured], i: usize) -> String {
    let of = measured.get(i).and_then(|m| points.iter().find(|p| p.feature == m.feature));
    of.map_or_else(String::new, |p| p.letter.to_string())
}

fn quiet(ui: &mut Ui, c: &Colours, text: &str) {
    let text = RichText::new(text).font(theme::small()).color(c.quiet);
    ui.add(Label::new(text).wrap());
}
