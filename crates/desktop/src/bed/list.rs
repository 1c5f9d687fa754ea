//! The pointer list: how the sheet lies, and of each point where it is on the sheet, where it was hit on the bed,
//! how far that is off, and whether it was ticked off.

use eframe::egui::{Align, Id, Label, Layout, Rect, RichText, ScrollArea, TextEdit, Ui, vec2};
use oddment_app::act::Act;
use oddment_app::lay::{LayAct, Pointed};
use oddment_app::session::{PointerList, Session};
use oddment_app::words::faults;
use oddment_core::check::Basis;
use oddment_core::shape::{BedSpace, Point, Pose, SheetSpace};
use oddment_core::square_up::{Drawn, Explanation, Measured, Sharper, SquaredUp, Verdict};
use oddment_core::units::{LengthUnit, parse_length};
use oddment_files::words::{bearing_words, counted, feature_words, judgement_words};

use super::at_words;
use crate::sheet;
use crate::theme::{self, Colours, Weight};

/// Where along an edge it is measured: far enough apart to know it all.
const FAR_APART: [f64; 2] = [0.1, 0.9];
/// Faults that are said here; all of them are in the place Sheet.
const MOST_FAULTS: usize = 3;

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
            if seen.points.is_empty() {
                ui.label(RichText::new("Square up").font(theme::large_strong()));
                quiet(
                    ui,
                    c,
                    "Nothing is laid on this sheet yet. Lay parts in the place Sheet first.",
                );
                return;
            }
            verdict(ui, c, session, acts);
            if let Some(notice) = session.notice() {
                ui.add(Label::new(notice).wrap());
            }
            for (n, bearing) in seen.bearings.iter().enumerate() {
                if let Some(wrong) = bearing_words(*bearing) {
                    warn(ui, c, &format!("Clamp {} {wrong}. Drag it to another place.", n + 1));
                }
            }
            says(ui, c, session, seen, acts);
            if let Some(s) = session.squared_up() {
                to_type(ui, c, session, s);
            }
            for point in &seen.points {
                row(ui, c, session, point, typing, acts);
            }
            after(ui, c, session, seen, acts);
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
        ui.with_layout(Layout::right_to_left(Align::Center), |ui| {
            let off = format!("{} off the list", point.letter);
            let name = "off the list";
            if point.asked_for && theme::sign_button(ui, c, name, "", Weight::Words, &off).clicked()
            {
                acts.push(Act::Lay(LayAct::Also(at, false)));
            }
        });
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
            // Named by its point, so that it keeps the keyboard when more is said above it.
            let field = TextEdit::singleline(text)
                .id(Id::unique(("hit", point.letter, axis)))
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
    });
    let from_datum = at - session.datum();
    let says = format!("on the sheet at {}, {}", unit.show(from_datum.x), unit.show(from_datum.y));
    ui.horizontal_wrapped(|ui| {
        // Words alone: no room for a finger.
        ui.set_row_height(18.0);
        quiet(ui, c, &says);
        let Some(lies) = lies(session) else { return };
        match point.on_bed {
            Some(hit) => {
                let off = unit.show(point.feature.off(&lies, hit));
                let says = RichText::new(format!("{off} {unit} off the rest"));
                let colour = if is_bad(session, point) { c.short } else { c.quiet };
                ui.label(says.font(theme::small()).color(colour));
            }
            None => {
                let to = at_words(lies.apply(at), unit);
                ui.label(RichText::new(format!("drive to {to}")).font(theme::small_strong()));
            }
        }
    });
}

/// How the sheet lies: as measured, or as the likeliest explanation of measurements that do not fit has it.
fn lies(session: &Session) -> Option<Pose<SheetSpace, BedSpace>> {
    let likeliest = || {
        let judgement = &session.judged()?.judgement;
        match &judgement.verdict {
            Verdict::TooLarge(found) => match found.first() {
                Some(Explanation::Bad(_, fit)) => Some(fit.pose),
                _ => judgement.fit.as_ref().map(|f| f.pose),
            },
            _ => None,
        }
    };
    session.squared_up().map(SquaredUp::pose).or_else(likeliest)
}

/// Whether a point is the likeliest to have been measured badly.
fn is_bad(session: &Session, point: &Pointed) -> bool {
    session.judged().is_some_and(|j| match &j.judgement.verdict {
        Verdict::TooLarge(found) => match found.first() {
            Some(Explanation::Bad(i, _)) => j.measured[*i].feature == point.feature,
            _ => false,
        },
        _ => false,
    })
}

/// What is typed at the machine for the drawing, to be read from there.
fn to_type(ui: &mut Ui, c: &Colours, session: &Session, s: &SquaredUp) {
    let unit = session.settings().unit();
    let (shift, turn) = s.to_type(session.datum());
    let says = match s.drawn {
        Drawn::OnBed => "The drawing is written where it is cut: nothing is typed at the machine.",
        Drawn::Turned => "The drawing is written turned as the sheet lies. Type for its zero:",
        Drawn::OnSheet => "Type for the drawing’s zero, and how it is turned:",
    };
    quiet(ui, c, says);
    if s.drawn != Drawn::OnBed {
        let mut numbers = vec![("X", unit.show(shift.x)), ("Y", unit.show(shift.y))];
        if s.drawn == Drawn::OnSheet {
            numbers.push(("turn", format!("{:.3}°", turn.to_degrees())));
        }
        ui.horizontal(|ui| {
            for (name, number) in numbers {
                ui.label(RichText::new(name).color(c.quiet));
                ui.label(RichText::new(number).font(theme::large_strong()));
                ui.add_space(6.0);
            }
            ui.label(RichText::new(unit.to_string()).color(c.quiet));
        });
    }
    let bounds = session.slot().map(|slot| session.view().job().stock[slot.stock].sheet.bounds());
    let lay = bounds.map_or(0.0, |b| s.lay().within(&b));
    let turned = s.pose().turn.to_degrees();
    let says = format!(
        "The sheet lies turned by {turned:.2}°; no place of it is off by more than {} {unit}.",
        unit.show(lay)
    );
    quiet(ui, c, &says);
}

/// What the check says of the sheet where it lies.
fn verdict(ui: &mut Ui, c: &Colours, session: &Session, acts: &mut Vec<Act>) {
    let Some(layout) = session.slot().and_then(|s| s.layout) else { return };
    let checked = session.checked();
    let basis = checked.basis_of(layout);
    let (colour, says) = match (checked.is_clear(), basis) {
        (_, Basis::Recorded) => (c.text, "Square up"),
        (false, _) => (c.short, "Not clear as laid"),
        (true, Basis::Laid) => (c.fits, "Clear as laid"),
        (true, _) => (c.text, "Clear where it lies"),
    };
    ui.add(Label::new(RichText::new(says).font(theme::large_strong()).color(colour)).wrap());
    let next = match (checked.is_clear(), basis) {
        (_, Basis::Recorded) => {
            "With the beam off, drive the pointer onto two points or more and type where the machine says it is. \
             Corners far apart say most. Press a corner, a hole or an edge twice to put it on the list."
        }
        (true, Basis::SquaredUp) => "Drive to every point with the beam off, and tick it off.",
        (true, Basis::Laid) => "Every point was hit with the beam off.",
        (false, _) => {
            let found = faults(session.view(), checked, session.settings().unit());
            let here: Vec<_> =
                found.iter().filter(|f| f.layout.is_none_or(|l| l == layout)).collect();
            for fault in here.iter().take(MOST_FAULTS) {
                warn(ui, c, &fault.text);
            }
            if here.len() > MOST_FAULTS {
                quiet(
                    ui,
                    c,
                    &format!("And {} more: see them in the place Sheet.", here.len() - MOST_FAULTS),
                );
            }
            if theme::button(ui, c, "Snug anew what is short", "", Weight::Plain).clicked() {
                acts.push(Act::Lay(LayAct::Snug));
            }
            return;
        }
    };
    quiet(ui, c, next);
}

/// What the measurements say, and what can be done about it.
fn says(ui: &mut Ui, c: &Colours, session: &Session, seen: &PointerList, acts: &mut Vec<Act>) {
    let unit = session.settings().unit();
    let Some(judged) = session.judged() else {
        if seen.points.iter().any(|p| p.on_bed.is_some()) {
            quiet(ui, c, "What was measured is being compared with the sheet.");
        }
        return;
    };
    ui.add_space(6.0);
    let (judgement, measured) = (&judged.judgement, &judged.measured);
    let named = |i: usize| name_of(&seen.points, measured, i);
    let is_off = matches!(judgement.verdict, Verdict::TooLarge(_));
    for line in judgement_words(judgement, measured, named, &judged.rivals, unit) {
        let ink = if is_off { c.short } else { c.text };
        ui.add(Label::new(RichText::new(line).color(ink)).wrap());
    }
    let listed = |at: Point<SheetSpace>| seen.points.iter().any(|p| p.feature.at() == at);
    ui.horizontal_wrapped(|ui| {
        if let Verdict::TooLarge(found) = &judgement.verdict
            && let Some(Explanation::Bad(i, _)) = found.first()
        {
            let name = format!("Leave {} out", named(*i));
            if theme::button(ui, c, &name, "", Weight::Plain).clicked() {
                let at = measured[*i].feature.at();
                acts.push(Act::Lay(LayAct::Measure(at, None)));
            }
        }
        let tells = judgement.doubts.iter().map(|d| d.tell.at()).find(|at| !listed(*at));
        if let Some(at) = tells
            && theme::button(ui, c, "Put that on the list", "", Weight::Plain).clicked()
        {
            acts.push(Act::Lay(LayAct::Also(at, true)));
        }
    });
}

/// What can be done with the measurements besides.
fn after(ui: &mut Ui, c: &Colours, session: &Session, seen: &PointerList, acts: &mut Vec<Act>) {
    let unit = session.settings().unit();
    ui.add_space(12.0);
    for worth in seen.worth.iter().take(3) {
        let (short, give) = (unit.show(worth.short), unit.show(worth.give_or_take));
        let says =
            format!("{short} {unit} short, of which {give} is give or take of the edge there.");
        quiet(ui, c, &says);
        if theme::button(ui, c, "Measure that edge", "", Weight::Plain)
            .on_hover_text("puts two places of it on the list")
            .clicked()
        {
            let ends = FAR_APART.map(|share| worth.edge.at(share));
            acts.extend(ends.map(|at| Act::Lay(LayAct::Also(at, true))));
        }
    }
    ui.horizontal_wrapped(|ui| {
        if !seen.sharper.is_empty() {
            let edges = counted(seen.sharper.len(), "edge", "edges");
            let is_better = seen.sharper.iter().all(|s| s.is < s.was);
            let how = if is_better { "known better" } else { "as measured" };
            let name = format!("Write back {edges} {how}");
            let says = sharper_words(&seen.sharper, unit);
            if theme::button(ui, c, &name, "", Weight::Plain).on_hover_text(says).clicked() {
                acts.push(Act::Lay(LayAct::WriteBack));
            }
        }
        if seen.points.iter().any(|p| p.on_bed.is_some())
            && theme::button(ui, c, "Forget what was measured", "", Weight::Words).clicked()
        {
            acts.push(Act::Lay(LayAct::Forget));
        }
    });
}

/// “give or take 3.0 → 0.9 mm, 3.0 → 1.1 mm”.
fn sharper_words(sharper: &[Sharper], unit: LengthUnit) -> String {
    let one = |s: &Sharper| format!("{} → {} {unit}", unit.show(s.was), unit.show(s.is));
    let all: Vec<String> = sharper.iter().map(one).collect();
    format!("give or take {}", all.join(", "))
}

fn name_of(points: &[Pointed], measured: &[Measured], i: usize) -> String {
    let of = measured.get(i).and_then(|m| points.iter().find(|p| p.feature == m.feature));
    of.map_or_else(String::new, |p| p.letter.to_string())
}

fn warn(ui: &mut Ui, c: &Colours, text: &str) {
    ui.add(Label::new(RichText::new(text).color(c.short)).wrap());
}

fn quiet(ui: &mut Ui, c: &Colours, text: &str) {
    let text = RichText::new(text).font(theme::small()).color(c.quiet);
    ui.add(Label::new(text).wrap());
}
