//! The pointer list: how the sheet lies, and of each point where it is on the sheet, where it was hit on the bed,
//! how far that is off, and whether it was ticked off.

use eframe::egui::{Label, Rect, RichText, ScrollArea, Ui, vec2};
use oddment_app::act::Act;
use oddment_app::lay::{LayAct, Pointed};
use oddment_app::session::{PointerList, Session};
use oddment_app::words::faults;
use oddment_core::check::Basis;
use oddment_core::shape::{BedSpace, Point, Pose, SheetSpace};
use oddment_core::square_up::{
    Drawn, Explanation, How, Judgement, Measured, Sharper, SquaredUp, Verdict,
};
use oddment_core::units::LengthUnit;
use oddment_files::words::{bearing_words, counted, feature_words, judgement_words};

use super::at_words;
use super::hits::{self, Typing};
use crate::sheet;
use crate::theme::{self, Colours, Weight};
use crate::told::Told;

/// Where along an edge it is measured: far enough apart to know it all.
const FAR_APART: [f64; 2] = [0.1, 0.9];
/// Faults that are said here; all of them are in the place Sheet.
const MOST_FAULTS: usize = 3;

/// The most of the card's height that the points take: what is said of them stands below, and does not move
/// them as it grows.
const POINTS: f32 = 0.6;

/// Width of a point's letter.
const LETTER: f32 = 20.0;

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
        if seen.points.is_empty() {
            ui.label(RichText::new("Square up").font(theme::large_strong()));
            let says = "Nothing is laid on this sheet yet. Lay parts in the place Sheet first.";
            quiet(ui, c, says);
            return;
        }
        title(ui, c, session);
        let high = POINTS * ui.available_height();
        let points = ScrollArea::vertical().id_salt("points").max_height(high);
        points.auto_shrink([false, true]).show(ui, |ui| {
            for n in 0..seen.points.len() {
                row(ui, c, session, (&seen.points, n), typing, acts);
            }
        });
        ui.add_space(4.0);
        ui.separator();
        let said = ScrollArea::vertical().id_salt("said");
        said.auto_shrink([false, false]).show(ui, |ui| {
            verdict(ui, c, session, acts);
            if let Some(told) = Told::of(session) {
                told.show(ui, c);
            }
            for (n, bearing) in seen.bearings.iter().enumerate() {
                if let Some(wrong) = bearing_words(*bearing) {
                    warn(ui, c, &format!("Clamp {} {wrong}. Drag it to another place.", n + 1));
                }
            }
            if let Some(s) = session.squared_up() {
                to_type(ui, c, session, s);
            }
            says(ui, c, session, seen, acts);
            after(ui, c, session, seen, acts);
        });
    });
}

fn row(
    ui: &mut Ui,
    c: &Colours,
    session: &Session,
    (points, n): (&[Pointed], usize),
    typing: &mut Typing,
    acts: &mut Vec<Act>,
) {
    let unit = session.settings().unit();
    let point = &points[n];
    let at = point.feature.at();
    ui.add_space(6.0);
    ui.horizontal(|ui| {
        let letter = RichText::new(point.letter.to_string()).font(theme::large_strong());
        ui.allocate_ui(vec2(LETTER, c.touch), |ui| {
            ui.set_min_width(LETTER);
            ui.label(letter);
        });
        hits::fields(ui, c, (points, n), typing, unit, acts);
        if session.squared_up().is_some() {
            let name = format!("{} was hit", point.letter);
            if theme::choice(ui, c, &name, point.ticked).clicked() {
                acts.push(Act::Lay(LayAct::Tick(at, !point.ticked)));
            }
        }
        let off = format!("{} off the list", point.letter);
        if point.asked_for && theme::sign_button(ui, c, "×", "", Weight::Words, &off).clicked() {
            acts.push(Act::Lay(LayAct::Also(at, false)));
        }
    });
    let lies = lies(session);
    let mut says = feature_words(&point.feature, unit);
    if point.beside.is_some() {
        says = format!("tightest spot: {says}");
    }
    // Until it is known how the sheet lies the place on the sheet tells which point is meant.
    if lies.is_none() {
        let from_datum = at - session.datum();
        let [x, y] = [unit.show(from_datum.x), unit.show(from_datum.y)];
        says = format!("{says} · on the sheet at {x}, {y}");
    }
    ui.horizontal_wrapped(|ui| {
        // Words alone: no room for a finger.
        ui.set_row_height(18.0);
        if let Some(unread) = hits::unread(typing, point, unit) {
            ui.label(RichText::new(unread).font(theme::small_strong()).color(c.short));
            return;
        }
        quiet(ui, c, &says);
        let Some((lies, is_sure)) = lies else { return };
        match point.on_bed {
            Some(hit) => {
                let off = unit.show(point.feature.off(&lies, hit));
                let counts = if point.left_out { ": counts for nothing" } else { "" };
                let says = RichText::new(format!("{off} {unit} off the rest{counts}"));
                let is_bad = !is_sure || is_bad(session, point);
                let colour = if is_bad { c.short } else { c.quiet };
                ui.label(says.font(theme::small()).color(colour));
            }
            // Where the measurements do not fit, nobody should drive by them.
            None if !is_sure => {}
            None => {
                let to = at_words(lies.apply(at), unit);
                ui.label(RichText::new(format!("drive to {to}")).font(theme::small_strong()));
            }
        }
    });
}

/// How the sheet lies, as measured or as the likeliest explanation of a bad measurement has it, and that this
/// is so; else as measurements that nothing explains have it at best, and that it is not.
fn lies(session: &Session) -> Option<(Pose<SheetSpace, BedSpace>, bool)> {
    if let Some(squared_up) = session.squared_up() {
        return Some((squared_up.pose(), true));
    }
    let judgement = &session.judged()?.judgement;
    match &judgement.verdict {
        Verdict::TooLarge(found) => match found.first() {
            Some(Explanation::Bad(_, fit) | Explanation::Otherwise(How::AS_TAKEN, _, fit)) => {
                Some((fit.pose, true))
            }
            _ => judgement.fit.as_ref().map(|f| (f.pose, false)),
        },
        _ => None,
    }
}

/// Whether a point is the likeliest to have been measured badly.
fn is_bad(session: &Session, point: &Pointed) -> bool {
    let by_judgement = session.judged().is_some_and(|j| match &j.judgement.verdict {
        Verdict::TooLarge(found) => match found.first() {
            Some(Explanation::Bad(i, _)) => j.measured[*i].feature == point.feature,
            Some(Explanation::Otherwise(How::AS_TAKEN, taken, _)) => j
                .measured
                .iter()
                .zip(taken)
                .any(|(was, is)| was.feature == point.feature && is.feature != was.feature),
            _ => false,
        },
        _ => false,
    });
    point.left_out || by_judgement
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

/// What the check says of the sheet where it lies, in a line.
fn title(ui: &mut Ui, c: &Colours, session: &Session) {
    let Some(layout) = session.slot().and_then(|s| s.layout) else { return };
    let checked = session.checked();
    let basis = checked.basis_of(layout);
    let (colour, says) = match (checked.is_clear(), basis) {
        (_, Basis::Recorded) => (c.text, "Square up"),
        (false, _) => (c.short, "Not clear as laid"),
        (true, Basis::Laid) => (c.fits, "Clear as laid"),
        (true, _) => (c.text, "Clear where it lies"),
    };
    ui.label(RichText::new(says).font(theme::large_strong()).color(colour));
}

/// What the check says of the sheet where it lies, and what comes next.
fn verdict(ui: &mut Ui, c: &Colours, session: &Session, acts: &mut Vec<Act>) {
    let Some(layout) = session.slot().and_then(|s| s.layout) else { return };
    let checked = session.checked();
    let (basis, tool) = (checked.basis_of(layout), session.tool());
    let next = match (checked.is_clear(), basis) {
        (_, Basis::Recorded) => format!(
            "With the {tool} off, drive the pointer onto two points or more and type where the machine says it is. \
             Corners far apart say most. Press a corner, a hole or an edge twice to put it on the list."
        ),
        (true, Basis::SquaredUp) => {
            format!("Drive to every point with the {tool} off, and tick it off.")
        }
        (true, Basis::Laid) => format!("Every point was hit with the {tool} off."),
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
    quiet(ui, c, &next);
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
                acts.push(Act::Lay(LayAct::LeaveOut(at, true)));
            }
        }
        for point in seen.points.iter().filter(|p| p.left_out && p.on_bed.is_some()) {
            let name = format!("Count {} again", point.letter);
            if theme::button(ui, c, &name, "", Weight::Words).clicked() {
                acts.push(Act::Lay(LayAct::LeaveOut(point.feature.at(), false)));
            }
        }
        if let Some((i, was, is)) = taken_for_another(judgement, measured) {
            let letter = seen.points.iter().find(|p| p.feature.at() == is).map(|p| p.letter);
            let other = letter.map_or("that".to_owned(), String::from);
            let name = format!("Take {} for {other}", named(i));
            if theme::button(ui, c, &name, "", Weight::Plain).clicked() {
                acts.push(Act::Lay(LayAct::Instead(was, is)));
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

/// The one measurement that was likeliest taken for another place, with that place and what it really is.
fn taken_for_another(
    judgement: &Judgement,
    measured: &[Measured],
) -> Option<(usize, Point<SheetSpace>, Point<SheetSpace>)> {
    let Verdict::TooLarge(found) = &judgement.verdict else { return None };
    let Some(Explanation::Otherwise(How::AS_TAKEN, taken, _)) = found.first() else { return None };
    let others = measured.iter().zip(taken).map(|(was, is)| (was.feature.at(), is.feature.at()));
    let others: Vec<_> = others.enumerate().filter(|(_, (was, is))| was != is).collect();
    let [(i, (was, is))] = others[..] else { return None };
    Some((i, was, is))
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
