//! The line along the bottom: what is selected, where it lies, what is tightest.

use eframe::egui::{Align, Layout, Rect, RichText, TextEdit, Ui, vec2};
use oddment_app::act::Act;
use oddment_app::session::Session;
use oddment_app::words;
use oddment_core::shape::Vector;
use oddment_core::units::{LengthUnit, parse_length};

use crate::theme::{self, Colours, Weight};

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
    degrees: f64,
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
    let from_datum = session.selected_corner()? - session.datum();
    let degrees = (turn.to_degrees() * 100.0).round() / 100.0;
    Some(Facts {
        name,
        x: from_datum.x,
        y: from_datum.y,
        degrees: if degrees >= 360.0 { 0.0 } else { degrees },
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

/// Draws the line.
pub(crate) fn show(
    ui: &mut Ui,
    c: &Colours,
    session: &Session,
    typing: &mut Typing,
    rect: Rect,
    acts: &mut Vec<Act>,
) {
    let unit = session.settings().unit();
    super::card(ui, c, rect, |ui| {
        ui.with_layout(Layout::left_to_right(Align::Center), |ui| {
            let Some(facts) = facts(session) else {
                let hint = "Nothing is selected. Press a part, or drag one off the slip.";
                match session.notice() {
                    Some(notice) => ui.label(notice),
                    None => ui.label(RichText::new(hint).color(c.quiet)),
                };
                return;
            };
            ui.label(RichText::new(&facts.name).font(theme::strong()));
            ui.add_space(6.0);
            field(ui, c, typing, Field::X, "X", unit.show(facts.x), acts, session);
            field(ui, c, typing, Field::Y, "Y", unit.show(facts.y), acts, session);
            field(ui, c, typing, Field::Angle, "°", format!("{}", facts.degrees), acts, session);
            let step = unit.show(session.settings().nudge);
            field(ui, c, typing, Field::Nudge, "step", step, acts, session);
            ui.add_space(6.0);
            ui.with_layout(Layout::right_to_left(Align::Center), |ui| {
                ui.spacing_mut().item_spacing.x = 0.0;
                if session.hand().is_none() {
                    if theme::button(ui, c, "Put back", "Del", Weight::Words).clicked() {
                        acts.push(Act::PutBack);
                    }
                    let lock = if facts.locked { "Unlock" } else { "Lock" };
                    if theme::button(ui, c, lock, "L", Weight::Words).clicked() {
                        acts.push(Act::Lock);
                    }
                    if facts.may_mirror
                        && theme::button(ui, c, "Mirror", "M", Weight::Words).clicked()
                    {
                        acts.push(Act::Mirror);
                    }
                    if theme::button(ui, c, "Turn", "R", Weight::Words).clicked() {
                        acts.push(Act::Turn(std::f64::consts::FRAC_PI_2));
                    }
                }
                ui.with_layout(Layout::left_to_right(Align::Center), |ui| {
                    let (text, ink) = match (session.notice(), tightest(session)) {
                        (Some(notice), _) => (notice.to_owned(), c.text),
                        (None, Some((text, true))) => (text, c.short),
                        (None, Some((text, false))) => (text, c.quiet),
                        (None, None) => return,
                    };
                    ui.add(
                        eframe::egui::Label::new(
                            RichText::new(text).font(theme::small()).color(ink),
                        )
                        .wrap(),
                    );
                });
            });
        });
    });
}

/// A number that can be typed.
#[expect(clippy::too_many_arguments, reason = "one row of like fields")]
fn field(
    ui: &mut Ui,
    c: &Colours,
    typing: &mut Typing,
    which: Field,
    name: &str,
    shown: String,
    acts: &mut Vec<Act>,
    session: &Session,
) {
    let before = which != Field::Angle;
    if before {
        ui.label(RichText::new(name).font(theme::small()).color(c.quiet));
    }
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
    let response = ui
        .add(
            TextEdit::singleline(&mut text)
                .desired_width(56.0)
                .font(theme::strong())
                .align(eframe::egui::Align2::RIGHT_CENTER)
                .min_size(vec2(56.0, 36.0)),
        )
        .accessible_name(spoken);
    if !before {
        ui.label(RichText::new(name).font(theme::body()).color(c.quiet));
    }
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
