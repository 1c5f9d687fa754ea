//! The line along the bottom: the sheet that is chosen, and what can be done with it.

use eframe::egui::{Align, Key, Label, Layout, Rect, RichText, TextEdit, Ui, vec2};
use oddment_app::act::Act;
use oddment_app::rack::{Desk, RackAct};
use oddment_app::session::Session;
use oddment_rack::find::Room;
use oddment_rack::sheets::Entry;
use oddment_rack::stock_take::Mark;

use super::card::metal;
use crate::sheet::card;
use crate::theme::{self, Colours, Weight};

/// Which sheet is chosen.
#[derive(Default)]
pub(super) struct Chosen {
    label: Option<String>,
    entry: Option<Entry>,
    /// Where it stands now, while that is typed.
    place: Option<String>,
}

impl Chosen {
    pub(super) fn is(&self, label: &str) -> bool {
        self.label.as_deref() == Some(label)
    }

    pub(super) fn choose(&mut self, label: &str) {
        self.label = Some(label.to_owned());
        self.place = None;
    }

    /// Lets go of a sheet that is shown no more.
    pub(super) fn keep_to(&mut self, sheets: &[(Entry, Option<Room>)]) {
        self.entry = sheets.iter().map(|(e, _)| e).find(|e| self.is(&e.label)).cloned();
        if self.entry.is_none() {
            self.label = None;
            self.place = None;
        }
    }

    pub(super) fn show(
        &mut self,
        ui: &mut Ui,
        c: &Colours,
        session: &Session,
        desk: &Desk,
        rect: Rect,
        acts: &mut Vec<Act>,
    ) {
        card(ui, c, rect, |ui| {
            ui.with_layout(Layout::left_to_right(Align::Center), |ui| match self.entry.clone() {
                Some(entry) => self.acts(ui, c, session, desk, &entry, acts),
                None => {
                    let text = desk.problem().or(desk.said()).map(str::to_owned);
                    let told = desk.told().map(|t| {
                        format!(
                            "Stock-take: {} there, {} missing, {} moved, {} damaged, {} not looked at.",
                            t.there,
                            t.missing.len(),
                            t.moved.len(),
                            t.damaged.len(),
                            t.not_seen.len()
                        )
                    });
                    let notice = desk.notices().first().cloned();
                    let hint = "Press a sheet to take it to the Sheet, hold it or print its label.";
                    let text = told.or(text).or(notice).unwrap_or_else(|| hint.to_owned());
                    ui.add(Label::new(RichText::new(text).color(c.quiet)).truncate());
                }
            });
        });
    }

    fn acts(
        &mut self,
        ui: &mut Ui,
        c: &Colours,
        session: &Session,
        desk: &Desk,
        entry: &Entry,
        acts: &mut Vec<Act>,
    ) {
        let label = &entry.label;
        let rack = |act: RackAct| Act::Rack(act);
        ui.label(RichText::new(label).font(theme::strong()));
        if let Some(place) = &mut self.place {
            let field = TextEdit::singleline(place)
                .desired_width(220.0)
                .align(eframe::egui::Align2::LEFT_CENTER)
                .min_size(vec2(220.0, c.touch - 8.0));
            let field = ui.add(field).accessible_name("where it stands");
            let enter = field.lost_focus() && ui.input(|i| i.key_pressed(Key::Enter));
            let moved = theme::button(ui, c, "Stands here", "Enter", Weight::Plain).clicked();
            if enter || moved {
                let to = place.clone();
                acts.push(match desk.listing().walk {
                    Some(_) => rack(RackAct::Mark(label.clone(), Mark::Moved(to))),
                    None => rack(RackAct::Move(label.clone(), to)),
                });
                self.place = None;
            } else if theme::button(ui, c, "Cancel", "Esc", Weight::Words).clicked()
                || ui.input(|i| i.key_pressed(Key::Escape))
            {
                self.place = None;
            }
            for known in places(desk, self.place.as_deref().unwrap_or_default()) {
                if theme::choice(ui, c, &known, false).clicked() {
                    self.place = Some(known);
                }
            }
            return;
        }
        ui.with_layout(Layout::right_to_left(Align::Center), |ui| {
            ui.spacing_mut().item_spacing.x = 4.0;
            if desk.listing().walk.is_some() {
                if theme::button(ui, c, "Damaged", "", Weight::Words).clicked() {
                    let how = "as seen at the stock-take".to_owned();
                    acts.push(rack(RackAct::Mark(label.clone(), Mark::Damaged(how))));
                }
                if theme::button(ui, c, "Stands elsewhere", "", Weight::Words).clicked() {
                    self.place = Some(entry.facts.stands.clone());
                }
                if theme::button(ui, c, "Missing", "", Weight::Plain).clicked() {
                    acts.push(rack(RackAct::Mark(label.clone(), Mark::Missing)));
                }
                if theme::button(ui, c, "It is there", "", Weight::Plain).clicked() {
                    acts.push(rack(RackAct::Mark(label.clone(), Mark::There)));
                }
                return;
            }
            // Bars are planned on by `oddment bars --shop`.
            if entry.facts.bar.is_none()
                && theme::button(ui, c, "Take it", "", Weight::Strong)
                    .on_hover_text("Takes it to the place Sheet")
                    .clicked()
            {
                acts.push(rack(RackAct::Take(label.clone())));
            }
            if theme::button(ui, c, "Label", "", Weight::Words)
                .on_hover_text("Writes a label to print")
                .clicked()
            {
                acts.push(rack(RackAct::Labels(vec![label.clone()])));
            }
            if theme::button(ui, c, "Move", "", Weight::Words).clicked() {
                self.place = Some(entry.facts.stands.clone());
            }
            if entry.facts.held().is_some() {
                if theme::button(ui, c, "Release", "", Weight::Words).clicked() {
                    acts.push(rack(RackAct::Release(label.clone())));
                }
            } else {
                let order = session.view().title.clone();
                let hold = theme::button(ui, c, "Hold", "", Weight::Words);
                if hold.on_hover_text(format!("Holds it for {order}")).clicked() {
                    acts.push(rack(RackAct::Hold(label.clone(), order)));
                }
            }
            if entry.facts.setup.is_some()
                && theme::button(ui, c, "Lifted", "", Weight::Words)
                    .on_hover_text("It was lifted off the bed")
                    .clicked()
            {
                acts.push(rack(RackAct::Lift(label.clone())));
            }
            let text = match desk.said() {
                Some(said) => said.to_owned(),
                None => format!("{} · {}", metal(entry), entry.facts.stands),
            };
            ui.with_layout(Layout::left_to_right(Align::Center), |ui| {
                ui.add(Label::new(RichText::new(text).color(c.quiet)).truncate());
            });
        });
    }
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
