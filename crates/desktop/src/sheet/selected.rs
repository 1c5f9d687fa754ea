//! The line along the bottom: what is selected, where it lies, what is tightest.

use eframe::egui::{Align, Label, Layout, Rect, RichText, TextEdit, Ui, UiBuilder, pos2, vec2};
use oddment_app::act::Act;
use oddment_app::session::Session;
use oddment_app::words;
use oddment_core::shape::Vector;
use oddment_core::units::{LengthUnit, parse_length};

use crate::theme::{self, Colours, Weight};

/// A line narrower than this (pixels) has room for the most needed things only, and one wider than
/// the second for the keys too.
const NARROW: f32 = 900.0;
const ROOMY: f32 = 1150.0;

/// What is being typed into one of the fields.
#[derive(Default)]
pub(crate) struct Typing {
    field: Option<(Field, String)>,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Field {
    X,
    Y,
    Angle,
    Nudge,
}

/// What stands on the line.
#[derive(Clone, Debug, PartialEq)]
struct Facts {
    name: String,
    x: f64,
    y: f64,
    /// Of a single part.
    degrees: Option<f64>,
    locked: bool,
    may_mirror: bool,
}

/// What there is to say of what is selected or in the hand.
fn facts(session: &Session) -> Option<Facts> {
    let open = session.view();
    let (name, part, turn, locked) = match session.hand() {
        Some(hand) => {
            let (held, pose) = hand.held().next()?;
            let name = match held.copy {
                Some(copy) => open.name_of(copy),
                None => open.job().wanted.get(held.part)?.part.name.clone(),
            };
            let more = hand.held().count() - 1;
            (
                if more > 0 { format!("{name} and {more} more") } else { name },
                held.part,
                pose.turn,
                false,
            )
        }
        None => {
            let first = *session.selected().first()?;
            let (_, p) = open.find(first)?;
            let name = match session.selected().len() {
                1 => open.name_of(first),
                n => format!("{n} parts"),
            };
            let locked =
                session.selected().iter().all(|c| open.find(*c).is_some_and(|(_, p)| p.locked));
            (name, p.part, p.pose.turn, locked)
        }
    };
    let single = session.hand().map_or(session.selected().len(), |h| h.held().count()) == 1;
    let from_datum = session.selected_corner()? - session.datum();
    let degrees = (turn.to_degrees() * 100.0).round() / 100.0;
    Some(Facts {
        name,
        x: from_datum.x,
        y: from_datum.y,
        degrees: single.then_some(if degrees >= 360.0 { 0.0 } else { degrees }),
        locked,
        may_mirror: open.job().wanted.get(part).is_some_and(|w| w.part.flip),
    })
}

/// The tightest distance in words, and whether it is short.
fn tightest(session: &Session) -> Option<(String, bool)> {
    let unit = session.settings().unit();
    let near = session.near().iter().min_by(|a, b| a.spare().total_cmp(&b.spare()))?;
    let layout = session.slot()?.layout.unwrap_or(usize::MAX);
    let to = words::party(session.view(), layout, &near.other, unit);
    let short = near.spare() < -oddment_core::check::RESOLUTION;
    let text = words::distance(near.gap.distance, &to, near.required, unit);
    Some((if near.gap.distance < 0.0 { text } else { format!("tightest {text}") }, short))
}

/// What is said below the name: the last notice, that there is no place, or the tightest distance;
/// and whether it is about something short.
fn says(session: &Session) -> Option<(String, bool)> {
    if let Some(notice) = session.notice() {
        return Some((notice.to_owned(), false));
    }
    let nowhere = session.where_it_fits().is_some_and(|f| f.regions.is_empty());
    if nowhere && session.hand().is_some() {
        return Some(("no place at this angle; R turns it".into(), true));
    }
    tightest(session)
}

/// Draws the line.
pub(crate) fn show(
    ui: &mut Ui,
    c: &Colours,
    session: &Session,
    typing: &mut Typing,
    rect: Rect,
    acts: &mut Vec<Act>,
) {
    super::card(ui, c, rect, |ui| {
        let Some(facts) = facts(session) else {
            ui.with_layout(Layout::left_to_right(Align::Center), |ui| nothing(ui, c, session));
            return;
        };
        let whole = ui.max_rect();
        let left = at_right(ui, whole, |ui| {
            ui.spacing_mut().item_spacing.x = 6.0;
            fields(ui, c, session, &facts, (typing, rect.width() >= NARROW), acts);
            if session.hand().is_none() {
                ui.spacing_mut().item_spacing.x = 0.0;
                buttons(ui, c, &facts, rect.width(), acts);
            }
        });
        let beside = Rect::from_min_max(whole.min, pos2(left - 6.0, whole.bottom()));
        ui.scope_builder(UiBuilder::new().max_rect(beside), |ui| {
            ui.spacing_mut().item_spacing.y = 1.0;
            ui.add(Label::new(RichText::new(&facts.name).font(theme::strong())).truncate());
            if let Some((text, short)) = says(session) {
                let ink = if short { c.short } else { c.quiet };
                let text = RichText::new(text).font(theme::small()).color(ink);
                let full = text.text().to_owned();
                ui.add(Label::new(text).truncate()).on_hover_text(full);
            }
        });
    });
}

/// Lays contents from left to right so that they end at the right edge of `whole`, which the keyboard
/// then goes through in that order. Returns where they begin.
fn at_right(ui: &mut Ui, whole: Rect, contents: impl FnOnce(&mut Ui)) -> f32 {
    // How wide they are is known from the frame before.
    let id = ui.scope_id().with("at right");
    let known: Option<f32> = ui.data(|d| d.get_temp(id));
    let left = whole.right() - known.unwrap_or(0.6 * whole.width());
    let place = Rect::from_min_max(pos2(left, whole.top()), whole.max);
    let layout = Layout::left_to_right(Align::Center);
    let builder = UiBuilder::new().max_rect(place).layout(layout).id_salt("right");
    let mut inside = ui.new_child(builder);
    contents(&mut inside);
    let wide = inside.min_rect().width();
    if known.is_none_or(|k| (k - wide).abs() > 0.5) {
        ui.data_mut(|d| d.insert_temp(id, wide));
        ui.ctx().request_repaint();
    }
    left
}

/// What there is to say where nothing is selected.
fn nothing(ui: &mut Ui, c: &Colours, session: &Session) {
    let hint = "Nothing is selected. Press a part, or drag one off the slip.";
    match session.notice() {
        Some(notice) => ui.add(Label::new(notice).wrap()),
        None if session.is_at_work() => ui.label(RichText::new("working…").color(c.quiet)),
        None => ui.label(RichText::new(hint).color(c.quiet)),
    };
}

/// What can be done with what is selected.
fn buttons(ui: &mut Ui, c: &Colours, facts: &Facts, wide: f32, acts: &mut Vec<Act>) {
    let lock = if facts.locked { "Unlock" } else { "Lock" };
    let turn = Act::Turn(std::f64::consts::FRAC_PI_2);
    let all = [
        ("Turn", "R", turn, true),
        ("Mirror", "M", Act::Mirror, facts.may_mirror && wide >= NARROW),
        (lock, "L", Act::Lock, true),
        ("Duplicate", "D", Act::Duplicate, wide >= NARROW),
        ("Put back", "Del", Act::PutBack, true),
    ];
    for (name, key, act, may) in all {
        if !may {
            continue;
        }
        let shown = if wide >= ROOMY { key } else { "" };
        let response = theme::button(ui, c, name, shown, Weight::Words);
        if response.on_hover_text(format!("{name} ({key})")).clicked() {
            acts.push(act);
        }
    }
}

/// Where it lies, as numbers that can be typed.
fn fields(
    ui: &mut Ui,
    c: &Colours,
    session: &Session,
    facts: &Facts,
    (typing, with_step): (&mut Typing, bool),
    acts: &mut Vec<Act>,
) {
    let unit = session.settings().unit();
    let quiet = |text: &str| RichText::new(text).font(theme::small()).color(c.quiet);
    for (which, name, mm) in [(Field::X, "X", facts.x), (Field::Y, "Y", facts.y)] {
        ui.label(quiet(name));
        field(ui, typing, which, unit.show(mm), acts, session);
    }
    ui.label(quiet(&unit.to_string()));
    if let Some(degrees) = facts.degrees {
        field(ui, typing, Field::Angle, format!("{degrees}"), acts, session);
        ui.label(quiet("°"));
    }
    if with_step {
        ui.label(quiet("step"));
        let step = unit.show(session.settings().nudge);
        field(ui, typing, Field::Nudge, step, acts, session);
    }
}

/// A number that can be typed.
fn field(
    ui: &mut Ui,
    typing: &mut Typing,
    which: Field,
    shown: String,
    acts: &mut Vec<Act>,
    session: &Session,
) {
    let mut text = match &typing.field {
        Some((field, text)) if *field == which => text.clone(),
        _ => shown,
    };
    let spoken = match which {
        Field::X => "X from the datum",
        Field::Y => "Y from the datum",
        Field::Angle => "angle in degrees",
        Field::Nudge => "step of the arrow keys",
    };
    let (font, wide) = match which {
        Field::Nudge => (theme::body(), 62.0),
        _ => (theme::digits(), 74.0),
    };
    let response = ui
        .add(
            TextEdit::singleline(&mut text)
                .desired_width(wide)
                .font(font)
                .align(eframe::egui::Align2::RIGHT_CENTER)
                .min_size(vec2(wide, 38.0)),
        )
        .accessible_name(spoken);
    if response.changed() {
        typing.field = Some((which, text.clone()));
    }
    if response.lost_focus() {
        let changed = typing.field.take().is_some_and(|(field, _)| field == which);
        let gave_up = ui.input(|i| i.key_pressed(eframe::egui::Key::Escape));
        if changed && !gave_up {
            acts.extend(read(which, &text, session));
        }
    }
}

/// The act that a typed number asks for; none where it is no number.
fn read(which: Field, text: &str, session: &Session) -> Option<Act> {
    let unit: LengthUnit = session.settings().unit();
    let now = session.selected_corner()? - session.datum();
    match which {
        Field::X => Some(Act::MoveTo(Vector::new(parse_length(text, unit).ok()?, now.y))),
        Field::Y => Some(Act::MoveTo(Vector::new(now.x, parse_length(text, unit).ok()?))),
        Field::Angle => {
            let degrees: f64 = text.trim().trim_end_matches('°').replace(',', ".").parse().ok()?;
            Some(Act::TurnTo(degrees.to_radians()))
        }
        Field::Nudge => Some(Act::SetNudge(parse_length(text, unit).ok()?)),
    }
}
