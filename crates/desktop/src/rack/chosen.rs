//! The line along the bottom: the sheet that is chosen, and what can be done with it.

use eframe::egui::{Align, Key, Label, Layout, Rect, RichText, TextEdit, Ui, vec2};
use oddment_app::act::Act;
use oddment_app::rack::{Desk, RackAct};
use oddment_app::session::Session;
use oddment_core::units::LengthUnit;
use oddment_rack::facts::Whereabouts;
use oddment_rack::find::Room;
use oddment_rack::sheets::Entry;
use oddment_rack::stock_take::{Mark, StockTake};

use super::Opens;
use super::card::metal;
use crate::line::{End, apart};
use crate::sheet::card;
use crate::theme::{self, Colours, Weight};
use crate::told::Pending;

/// Which sheet is chosen.
#[derive(Default)]
pub(super) struct Chosen {
    label: Option<String>,
    entry: Option<Entry>,
    /// What is being typed of it.
    typing: Option<(Typing, String)>,
    /// Whether its field has yet to be given the keyboard.
    unfocused: bool,
    /// What was typed waits for this answer; after it this sheet is next on the walk.
    pending: Pending,
    next: Option<String>,
}

/// What is typed of a sheet.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Typing {
    /// Where it stands now.
    Place,
    /// How it is damaged.
    Damage,
}

impl Chosen {
    pub(super) fn is(&self, label: &str) -> bool {
        self.label.as_deref() == Some(label)
    }

    /// The chosen sheet.
    pub(super) fn entry(&self) -> Option<&Entry> {
        self.entry.as_ref()
    }

    pub(super) fn choose(&mut self, label: &str) {
        self.label = Some(label.to_owned());
        self.typing = None;
    }

    /// Lets go of a sheet that is shown no more. On a walk the next sheet that nothing was said of is
    /// chosen where none is.
    pub(super) fn keep_to(&mut self, sheets: &[(Entry, Option<Room>)], walk: Option<&StockTake>) {
        if self.label.is_none() {
            self.label = walk.and_then(|w| w.left.first()).map(|e| e.label.clone());
        }
        self.entry = sheets.iter().map(|(e, _)| e).find(|e| self.is(&e.label)).cloned();
        if self.entry.is_none() {
            self.label = None;
            self.typing = None;
        }
    }

    /// Draws the line; what is to be opened over the rack.
    pub(super) fn show(
        &mut self,
        ui: &mut Ui,
        c: &Colours,
        session: &Session,
        desk: &Desk,
        rect: Rect,
        acts: &mut Vec<Act>,
    ) -> Option<Opens> {
        let mut opens = None;
        if let Some(importing) = desk.importing() {
            card(ui, c, rect, |ui| {
                ui.with_layout(Layout::left_to_right(Align::Center), |ui| {
                    ui.label(importing.words());
                    if theme::button(ui, c, "Stop reading", "", Weight::Words).clicked() {
                        acts.push(Act::Rack(RackAct::StopImport));
                    }
                });
            });
            return None;
        }
        card(ui, c, rect, |ui| {
            ui.with_layout(Layout::left_to_right(Align::Center), |ui| match self.entry.clone() {
                Some(entry) => opens = self.acts(ui, c, session, desk, &entry, acts),
                None => {
                    let notice = desk.notices().first().map(String::as_str);
                    let hint = "Press a sheet to take it to the Sheet, hold it or print its label.";
                    let text = RichText::new(notice.unwrap_or(hint)).color(c.quiet);
                    ui.add(Label::new(text).truncate());
                }
            });
        });
        opens
    }

    fn acts(
        &mut self,
        ui: &mut Ui,
        c: &Colours,
        session: &Session,
        desk: &Desk,
        entry: &Entry,
        acts: &mut Vec<Act>,
    ) -> Option<Opens> {
        let (label, unit) = (&entry.label, session.settings().unit());
        let rack = |act: RackAct| Act::Rack(act);
        ui.label(RichText::new(label).font(theme::strong()));
        if self.typing.is_some() {
            self.typed(ui, c, (session, desk), label, acts);
            return None;
        }
        if let Some(walk) = &desk.listing().walk {
            self.walk(ui, c, unit, (entry, walk), acts);
            return None;
        }
        let mut opens = None;
        apart(ui, |ui, end| {
            ui.spacing_mut().item_spacing.x = 4.0;
            if end == End::Left {
                let text = match entry.facts.stands.as_str() {
                    "" => metal(entry, unit),
                    place => format!("{} · {place}", metal(entry, unit)),
                };
                ui.add(Label::new(RichText::new(text).color(c.quiet)).truncate());
                return;
            }
            if entry.facts.setup.is_some()
                && theme::button(ui, c, "Lifted", "", Weight::Words)
                    .on_hover_text("It was lifted off the bed")
                    .clicked()
            {
                acts.push(rack(RackAct::Lift(label.clone())));
            }
            if entry.facts.held().is_some() {
                if theme::button(ui, c, "Release", "", Weight::Words).clicked() {
                    acts.push(rack(RackAct::Release(label.clone())));
                }
            } else {
                let order = session.view().title.clone();
                let hold = theme::button(ui, c, "Hold", "", Weight::Words);
                if hold
                    .on_hover_text(format!(
                        "Holds it for {order}, until it is released; Facts takes a date"
                    ))
                    .clicked()
                {
                    acts.push(rack(RackAct::Hold(label.clone(), order, None)));
                }
            }
            if theme::button(ui, c, "Move", "", Weight::Words).clicked() {
                self.begin(Typing::Place, &entry.facts.stands);
            }
            if theme::button(ui, c, "Label", "", Weight::Words)
                .on_hover_text("Writes a label to print")
                .clicked()
            {
                opens = Some(Opens::Label(label.clone()));
            }
            if theme::button(ui, c, "Facts", "", Weight::Words)
                .on_hover_text("What is known of it, notes, and until when it is held")
                .clicked()
            {
                opens = Some(Opens::Facts);
            }
            if entry.facts.whereabouts == Whereabouts::Missing {
                if theme::button(ui, c, "Found again", "", Weight::Strong)
                    .on_hover_text(
                        "It is there again, where it stood; Move where it stands elsewhere",
                    )
                    .clicked()
                {
                    acts.push(rack(RackAct::FoundAgain(label.clone())));
                }
                return;
            }
            if theme::button(ui, c, "Take it", "", Weight::Strong)
                .on_hover_text("Takes it to the place Sheet")
                .clicked()
            {
                acts.push(rack(RackAct::Take(label.clone())));
            }
        });
        opens
    }

    fn begin(&mut self, typing: Typing, text: &str) {
        self.pending = Pending::default();
        self.typing = Some((typing, text.to_owned()));
        self.unfocused = true;
    }

    /// What is typed of the sheet, and the places there are.
    fn typed(
        &mut self,
        ui: &mut Ui,
        c: &Colours,
        (session, desk): (&Session, &Desk),
        label: &str,
        acts: &mut Vec<Act>,
    ) {
        // It stays until that is done; a refusal is told above.
        if self.pending.is_done(session, &mut None) {
            (self.typing, self.pending) = (None, Pending::default());
            self.label = self.next.take().or(self.label.take());
            return;
        }
        let Some((typing, text)) = &mut self.typing else { return };
        let (name, done) = match typing {
            Typing::Place => ("where it stands", "Stands here"),
            Typing::Damage => ("how it is damaged", "Damaged so"),
        };
        let field = TextEdit::singleline(text)
            .desired_width(220.0)
            .hint_text(name)
            .align(eframe::egui::Align2::LEFT_CENTER)
            .min_size(vec2(220.0, c.touch - 8.0));
        let field = ui.add(field).accessible_name(name);
        if std::mem::take(&mut self.unfocused) {
            field.request_focus();
        }
        let enter = field.lost_focus() && ui.input(|i| i.key_pressed(Key::Enter));
        if enter || theme::button(ui, c, done, "Enter", Weight::Plain).clicked() {
            let (label, text) = (label.to_owned(), text.trim().to_owned());
            let act = match (*typing, &desk.listing().walk) {
                (Typing::Damage, _) => RackAct::Mark(label, Mark::Damaged(text)),
                (Typing::Place, Some(_)) => RackAct::Mark(label, Mark::Moved(text)),
                (Typing::Place, None) => RackAct::Move(label, text),
            };
            self.next = match (&act, &desk.listing().walk) {
                (RackAct::Mark(label, _), Some(walk)) => after(walk, label),
                _ => None,
            };
            self.pending.ask(Act::Rack(act), acts);
            return;
        }
        if theme::button(ui, c, "Cancel", "Esc", Weight::Words).clicked()
            || ui.input(|i| i.key_pressed(Key::Escape))
        {
            self.typing = None;
            return;
        }
        if *typing == Typing::Place {
            for known in places(desk, text) {
                if theme::choice(ui, c, &known, false).clicked() {
                    *text = known;
                }
            }
        }
    }

    /// What is said of a sheet on the walk; the next one comes by itself.
    fn walk(
        &mut self,
        ui: &mut Ui,
        c: &Colours,
        unit: LengthUnit,
        (entry, walk): (&Entry, &StockTake),
        acts: &mut Vec<Act>,
    ) {
        apart(ui, |ui, end| {
            ui.spacing_mut().item_spacing.x = 4.0;
            if end == End::Left {
                let (said, left) = (walk.marks.len(), walk.left.len());
                let place = match entry.facts.stands.as_str() {
                    "" => "no place is known",
                    place => place,
                };
                let text = format!(
                    "{place} · {} · {said} of {} looked at",
                    metal(entry, unit),
                    said + left
                );
                ui.add(Label::new(RichText::new(text).color(c.quiet)).truncate());
                return;
            }
            let mut mark = None;
            if theme::button(ui, c, "It is there", "", Weight::Strong).clicked() {
                mark = Some(Mark::There);
            }
            if theme::button(ui, c, "Missing", "", Weight::Plain).clicked() {
                mark = Some(Mark::Missing);
            }
            if theme::button(ui, c, "Stands elsewhere…", "", Weight::Words).clicked() {
                self.begin(Typing::Place, "");
            }
            if theme::button(ui, c, "Damaged…", "", Weight::Words).clicked() {
                self.begin(Typing::Damage, "");
            }
            if let Some(mark) = mark {
                acts.push(Act::Rack(RackAct::Mark(entry.label.clone(), mark)));
                self.label = after(walk, &entry.label);
            }
        });
    }
}

/// The sheet that comes after this one on the walk, of those that nothing was said of.
fn after(walk: &StockTake, label: &str) -> Option<String> {
    let at = walk.left.iter().position(|e| e.label == label).map_or(0, |at| at + 1);
    walk.left.get(at).map(|e| e.label.clone())
}

/// Up to three places that begin with what is typed.
pub(super) fn places(desk: &Desk, typed: &str) -> Vec<String> {
    let typed = typed.trim().to_lowercase();
    let mut found: Vec<String> = desk
        .listing()
        .sheets
        .iter()
        .map(|e| &e.facts.stands)
        .filter(|p| {
            !p.is_empty() && p.to_lowercase().starts_with(&typed) && p.to_lowercase() != typed
        })
        .cloned()
        .collect();
    found.sort();
    found.dedup();
    found.truncate(3);
    found
}
