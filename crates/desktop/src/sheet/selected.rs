//! The line along the bottom: what is selected, where it lies, what is tightest.

use eframe::egui::text::LayoutJob;
use eframe::egui::{Align, Key, Label, Layout, Rect, RichText, TextEdit, Ui, pos2, vec2};
use oddment_app::act::Act;
use oddment_app::open_job::Copy;
use oddment_app::session::Session;
use oddment_app::words;
use oddment_core::shape::Vector;
use oddment_core::units::{LengthUnit, parse_sum};

use super::heading::outlook;
use super::hint;
use crate::fields;
use crate::line::{End, apart};
use crate::theme::{self, Colours, Weight};
use crate::told::Told;

/// A card narrower than this (points) has its numbers and what is said on lines of their own, and one wider
/// than the second has room for the keys too.
const NARROW: f32 = 900.0;
const ROOMY: f32 = 1150.0;

/// How high the card is where it is so wide (points).
pub(super) fn height(wide: f32, c: &Colours) -> f32 {
    c.touch + 16.0 + if wide < NARROW { NUMBERS + SAID } else { 0.0 }
}

/// Height of the numbers' own line.
const NUMBERS: f32 = 44.0;

/// Height of the line of what is said.
const SAID: f32 = 20.0;

/// Largest angle that is taken as typed, degrees.
const MOST_DEGREES: f64 = 3600.0;

/// What is being typed into one of the fields.
#[derive(Default)]
pub(crate) struct Typing {
    field: Option<(Field, String)>,
    fault: Option<Fault>,
}

/// What was typed last and can't be used.
struct Fault {
    field: Field,
    /// Why not, in words.
    says: String,
    /// What was selected then.
    of: Vec<Copy>,
}

impl Typing {
    /// What is wrong with what was typed for what is selected now.
    fn fault(&self, session: &Session) -> Option<&Fault> {
        self.fault.as_ref().filter(|fault| fault.of == session.selected())
    }
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
    /// Whether it lies with its other face up.
    flipped: bool,
    may_mirror: bool,
}

/// What there is to say of what is selected or in the hand.
fn facts(session: &Session) -> Option<Facts> {
    let open = session.view();
    let (name, part, pose, locked) = match session.hand() {
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
                pose,
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
            (name, p.part, p.pose, locked)
        }
    };
    let single = session.hand().map_or(session.selected().len(), |h| h.held().count()) == 1;
    let from_datum = session.selected_corner()? - session.datum();
    let degrees = (pose.turn.to_degrees() * 100.0).round() / 100.0;
    Some(Facts {
        name,
        x: from_datum.x,
        y: from_datum.y,
        // A turn by hardly less than nothing is none.
        degrees: single.then_some(if degrees >= 360.0 { 0.0 } else { degrees + 0.0 }),
        locked,
        flipped: single && pose.flipped,
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

/// What is said below the name: what was typed and can't be used, the last notice, that there is no place,
/// or the tightest distance; and whether it is about something wrong.
fn says(session: &Session, typing: &Typing) -> Option<(String, bool)> {
    if let Some(fault) = typing.fault(session) {
        return Some((fault.says.clone(), true));
    }
    if let Some(told) = Told::of_job(session) {
        return Some((told.words(), matches!(told, Told::Refusal(_))));
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
            nothing(ui, c, session, acts);
            return;
        };
        let narrow = rect.width() < NARROW;
        let whole = ui.max_rect();
        let numbers = if narrow { whole.bottom() - NUMBERS } else { whole.bottom() };
        let beside = if narrow { numbers - SAID } else { numbers };
        let mut first =
            super::child(ui, Rect::from_min_max(whole.min, pos2(whole.right(), beside)), "first");
        apart(&mut first, |ui, end| match end {
            End::Left => {
                ui.with_layout(Layout::top_down(Align::Min), |ui| {
                    ui.spacing_mut().item_spacing.y = 1.0;
                    let name = match facts.flipped {
                        true => format!("{} · mirrored", facts.name),
                        false => facts.name.clone(),
                    };
                    ui.add(Label::new(RichText::new(name).font(theme::strong())).truncate());
                    if !narrow {
                        said(ui, c, session, typing);
                    }
                });
            }
            End::Right => {
                if !narrow {
                    ui.spacing_mut().item_spacing.x = 6.0;
                    fields(ui, c, session, &facts, typing, acts);
                }
                if session.hand().is_none() {
                    ui.spacing_mut().item_spacing.x = 0.0;
                    buttons(ui, c, &facts, rect.width(), acts);
                }
            }
        });
        if narrow {
            let line = Rect::from_min_max(pos2(whole.left(), beside), pos2(whole.right(), numbers));
            said(&mut super::child(ui, line, "said"), c, session, typing);
            let mut second = super::child(
                ui,
                Rect::from_min_max(pos2(whole.left(), numbers), whole.max),
                "second",
            );
            second.with_layout(Layout::left_to_right(Align::Center), |ui| {
                ui.spacing_mut().item_spacing.x = 6.0;
                fields(ui, c, session, &facts, typing, acts);
            });
        }
    });
}

/// What there is to say of it.
fn said(ui: &mut Ui, c: &Colours, session: &Session, typing: &Typing) {
    if let Some((text, wrong)) = says(session, typing) {
        let ink = if wrong { c.short } else { c.quiet };
        let mut job = LayoutJob::simple(text.clone(), theme::small(), ink, ui.available_width());
        job.wrap.max_rows = if ui.available_height() > 2.0 * SAID { 2 } else { 1 };
        let galley = ui.painter().layout_job(job);
        let elided = galley.elided;
        let label = ui.add(Label::new(galley));
        if elided {
            label.on_hover_text(text);
        }
    }
}

/// What there is to say where nothing is selected.
fn nothing(ui: &mut Ui, c: &Colours, session: &Session, acts: &mut Vec<Act>) {
    if hint::is_wanted(session) {
        hint::show(ui, c, acts);
        return;
    }
    let says = "Nothing is selected. Press a part, or drag one off the slip.";
    let takes_back = session.recorded_just_now();
    apart(ui, |ui, end| match (end, Told::of_job(session)) {
        (End::Right, _) => {
            if let Some(what) = takes_back {
                let says = format!("Undo it: {what}");
                if theme::sign_button(ui, c, "Undo it", "Ctrl Z", Weight::Plain, &says).clicked() {
                    acts.push(Act::Undo);
                }
            }
        }
        (End::Left, told) => {
            ui.with_layout(Layout::top_down(Align::Min), |ui| {
                ui.spacing_mut().item_spacing.y = 1.0;
                let font = if takes_back.is_some() { theme::strong() } else { theme::body() };
                let text = match told {
                    Some(told) => told.text(c, c.text).font(font),
                    None if session.is_at_work() => RichText::new("working…").color(c.quiet),
                    None => RichText::new(says).color(c.quiet),
                };
                match outlook(session) {
                    Some((words, careful)) => {
                        ui.add(Label::new(text).truncate());
                        let ink = if careful { c.short } else { c.quiet };
                        let words = RichText::new(words).font(theme::small()).color(ink);
                        ui.add(Label::new(words).truncate());
                    }
                    None => {
                        ui.add(Label::new(text).wrap());
                    }
                }
            });
        }
    });
}

/// What can be done with what is selected.
fn buttons(ui: &mut Ui, c: &Colours, facts: &Facts, wide: f32, acts: &mut Vec<Act>) {
    let lock = if facts.locked { "Unlock" } else { "Lock" };
    let turn = Act::Turn(std::f64::consts::FRAC_PI_2);
    let all = [
        ("Turn", "R", turn, true),
        ("Mirror", "M", Act::Mirror, facts.may_mirror),
        (lock, "L", Act::Lock, true),
        ("Duplicate", "D", Act::Duplicate, true),
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
    typing: &mut Typing,
    acts: &mut Vec<Act>,
) {
    let unit = session.settings().unit();
    let quiet = |text: &str| RichText::new(text).font(theme::small()).color(c.quiet);
    for (which, name, mm) in [(Field::X, "X", facts.x), (Field::Y, "Y", facts.y)] {
        ui.label(quiet(name));
        field(ui, c, typing, which, unit.show(mm), acts, session);
    }
    ui.label(quiet(&unit.to_string()));
    if let Some(degrees) = facts.degrees {
        field(ui, c, typing, Field::Angle, format!("{degrees}"), acts, session);
        ui.label(quiet("°"));
    }
    ui.label(quiet("step"));
    let step = unit.show(session.settings().nudge);
    field(ui, c, typing, Field::Nudge, step, acts, session);
}

/// A number that can be typed.
fn field(
    ui: &mut Ui,
    c: &Colours,
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
    let is_wrong = typing.fault(session).is_some_and(|fault| fault.field == which);
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
    let edit = TextEdit::singleline(&mut text)
        .desired_width(wide)
        .font(font)
        .align(eframe::egui::Align2::RIGHT_CENTER)
        .min_size(vec2(wide, 38.0))
        .text_color_opt(is_wrong.then_some(c.short));
    let response = theme::typed_over(ui, edit, false).accessible_name(spoken);
    if response.changed() {
        typing.field = Some((which, text.clone()));
    }
    if response.lost_focus() {
        let changed = typing.field.take().is_some_and(|(field, _)| field == which);
        let (gave_up, entered) =
            ui.input(|i| (i.key_pressed(Key::Escape), i.key_pressed(Key::Enter)));
        if changed {
            let read = if gave_up { Ok(None) } else { read(which, &text, session) };
            let of = session.selected().to_vec();
            typing.fault =
                read.map(|act| acts.extend(act)).err().map(|says| Fault { field: which, says, of });
            if entered && typing.fault.is_some() {
                // To be put right where it stands.
                typing.field = Some((which, text));
                fields::stay(ui.ctx(), response.id);
            }
        }
    }
}

/// The act that a typed number asks for; none where nothing is selected any more.
///
/// # Errors
/// Where it is no number, in words.
fn read(which: Field, text: &str, session: &Session) -> Result<Option<Act>, String> {
    let unit: LengthUnit = session.settings().unit();
    let Some(corner) = session.selected_corner() else { return Ok(None) };
    let now = corner - session.datum();
    let length = || parse_sum(text, unit).map_err(|fault| fault.to_string());
    Ok(Some(match which {
        Field::X => Act::MoveTo(Vector::new(length()?, now.y)),
        Field::Y => Act::MoveTo(Vector::new(now.x, length()?)),
        Field::Angle => {
            // Degrees are summed as lengths are.
            let degrees = parse_sum(text.trim().trim_end_matches('°'), LengthUnit::Mm);
            let degrees = degrees.ok().filter(|d| d.abs() <= MOST_DEGREES);
            let degrees = degrees.ok_or_else(|| format!("“{text}” is no angle in degrees"))?;
            Act::TurnTo(degrees.to_radians())
        }
        Field::Nudge => match length()? {
            mm if mm > 0.0 && mm <= 1000.0 => Act::SetNudge(mm),
            _ => return Err(format!("a step is more than 0, up to {} {unit}", unit.show(1000.0))),
        },
    }))
}
