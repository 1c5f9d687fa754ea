//! What is asked: the orders, the metal, the sheets that may be used.

use std::collections::BTreeMap;

use eframe::egui::{RichText, TextEdit, Ui, vec2};
use oddment_app::act::Act;
use oddment_app::compare::{CompareAct, Wishes};
use oddment_app::rack::RackAct;
use oddment_app::session::Session;
use oddment_core::part::MadeFrom;
use oddment_core::units::LengthUnit;
use oddment_rack::when;

use super::plain;
use crate::loads::LoadsField;
use crate::theme::{self, Colours, Weight};

/// Width of a date's field.
const DATE: f32 = 150.0;

/// Seconds of a day.
const DAY: i64 = 86_400;

/// Dates while they are typed, by order.
#[derive(Default)]
pub(super) struct Asking {
    typed: BTreeMap<usize, String>,
    loads: LoadsField,
    /// Height of what was shown last.
    tall: f32,
}

impl Asking {
    /// How much room it takes.
    pub(super) fn height(&self, c: &Colours) -> f32 {
        16.0 + c.touch.max(self.tall)
    }

    pub(super) fn show(
        &mut self,
        ui: &mut Ui,
        c: &Colours,
        session: &Session,
        acts: &mut Vec<Act>,
    ) {
        let wishes = session.compare().wishes();
        let wish = |acts: &mut Vec<Act>, wishes: Wishes| {
            acts.push(Act::Compare(CompareAct::Wish(wishes)));
        };
        let unit = session.settings().unit();
        ui.spacing_mut().interact_size.y = c.touch;
        let shown = ui.horizontal_wrapped(|ui| {
            ui.spacing_mut().item_spacing = vec2(6.0, 2.0);
            quiet(ui, c, "metal");
            let now = session.metal_compared();
            for metal in metals(session) {
                let on = now.as_ref() == Some(&metal);
                let words = metal_words(&metal, unit);
                if theme::spoken_choice(ui, c, &words, on, &format!("metal {words}")).clicked() {
                    wish(acts, Wishes { metal: Some(metal), ..wishes.clone() });
                }
            }
            ui.add_space(10.0);
            quiet(ui, c, "can be bought");
            for size in session.values().fresh_sizes() {
                let on = !wishes.without.contains(size);
                let words = format!("{} × {}", plain(size[0], unit), plain(size[1], unit));
                let spoken = format!("fresh {words}");
                if theme::spoken_choice(ui, c, &words, on, &spoken).clicked() {
                    let mut wishes = wishes.clone();
                    if on {
                        wishes.without.push(*size);
                    } else {
                        wishes.without.retain(|s| s != size);
                    }
                    wish(acts, wishes);
                }
            }
            ui.add_space(10.0);
            let on = wishes.stand_ins;
            let stand_ins = theme::choice(ui, c, "materials that may stand in", on);
            if stand_ins.clicked() {
                wish(acts, Wishes { stand_ins: !on, ..wishes.clone() });
            }
            if session.compare().others().is_empty() {
                certificate(ui, c, session, &session.view().title, acts);
            }
            ui.add_space(10.0);
            self.loads.show(ui, c, session, acts);
            ui.add_space(10.0);
            let add = theme::button(ui, c, "Add an order", "Ctrl I", Weight::Words);
            let add = add.on_hover_text("to be cut from the same sheets");
            if add.clicked() {
                acts.push(Act::Compare(CompareAct::AddOrder));
            }
        });
        let mut tall = shown.response.rect.height();
        if !session.compare().others().is_empty() {
            let shown = ui.horizontal_wrapped(|ui| self.orders(ui, c, session, acts));
            tall += ui.spacing().item_spacing.y + shown.response.rect.height();
        }
        if (tall - self.tall).abs() > 0.5 {
            self.tall = tall;
            ui.ctx().request_repaint();
        }
    }

    /// The orders that are cut together, and when each is due.
    fn orders(&mut self, ui: &mut Ui, c: &Colours, session: &Session, acts: &mut Vec<Act>) {
        let compare = session.compare();
        let others = compare.others().iter().map(|o| o.open.title.as_str());
        let names: Vec<&str> =
            std::iter::once(session.view().title.as_str()).chain(others).collect();
        quiet(ui, c, "orders");
        for (n, name) in names.into_iter().enumerate() {
            ui.label(RichText::new(name).font(theme::strong()));
            let known = compare.due(n).map(|days| when::day(days * DAY)).unwrap_or_default();
            let typed = self.typed.entry(n).or_insert_with(|| known.clone());
            let field = TextEdit::singleline(typed)
                .hint_text("due: 2026-03-09")
                .desired_width(DATE)
                .align(eframe::egui::Align2::LEFT_CENTER)
                .min_size(vec2(DATE, c.touch - 8.0));
            let field = ui.add(field).accessible_name(format!("{name} is due"));
            if field.lost_focus() {
                let days = when::end_of_day(typed.trim()).map(|at| at.div_euclid(DAY));
                if typed.trim().is_empty() || days.is_some() {
                    if days != compare.due(n) {
                        acts.push(Act::Compare(CompareAct::Due(n, days)));
                    }
                } else {
                    *typed = known;
                }
            }
            certificate(ui, c, session, name, acts);
            if n > 0 {
                let spoken = format!("leave {name} out");
                let away = theme::sign_button(ui, c, "×", "", Weight::Words, &spoken);
                if away.on_hover_text(&spoken).clicked() {
                    self.typed.clear();
                    acts.push(Act::Compare(CompareAct::RemoveOrder(n - 1)));
                }
            }
            ui.add_space(8.0);
        }
    }
}

/// Whether an order asks for a certificate, to be pressed.
fn certificate(ui: &mut Ui, c: &Colours, session: &Session, order: &str, acts: &mut Vec<Act>) {
    let asks = session.asks_certificate(order);
    let spoken = format!("{order} asks for a certificate");
    let says =
        "Only sheets of the rack that have one and a heat number; others must be bought with one";
    let choice = theme::spoken_choice(ui, c, "with certificate", asks, &spoken);
    if choice.on_hover_text(says).clicked() {
        acts.push(Act::Rack(RackAct::AskCertificate(order.to_owned(), !asks)));
    }
}

fn quiet(ui: &mut Ui, c: &Colours, text: &str) {
    ui.label(RichText::new(text).color(c.quiet).font(theme::small()));
}

/// “3 mm S235”.
pub(super) fn metal_words(metal: &MadeFrom, unit: LengthUnit) -> String {
    format!("{} {unit} {}", plain(metal.thickness, unit), metal.material)
}

/// The metals that may be meant: those that the orders name, or where they name none those of the rack.
fn metals(session: &Session) -> Vec<MadeFrom> {
    let mut metals = session.metals_wanted();
    let wanted = session.compare().wishes().metal.clone();
    let named = session.view().job().wanted.iter().any(|w| w.part.made_from.is_some());
    let listing = session.rack().map(|r| r.listing().clone()).unwrap_or_default();
    let of_rack = listing
        .sheets
        .iter()
        .filter(|e| e.facts.bar.is_none() && !named)
        .map(|e| MadeFrom { material: e.facts.material.clone(), thickness: e.facts.thickness });
    for metal in wanted.into_iter().chain(of_rack) {
        if !metals.contains(&metal) {
            metals.push(metal);
        }
    }
    metals
}

/// “The rack has 2 sheets of 3 mm S235 that nobody holds; 3 fresh sizes can be bought.”
pub(super) fn sheets_in_words(session: &Session) -> String {
    let Some(metal) = session.metal_compared() else { return String::new() };
    let title = &session.view().title;
    let listing = session.rack().map(|r| r.listing().clone()).unwrap_or_default();
    let names = session.compare().others().iter().map(|other| &other.open.title);
    let certificate = names.chain([title]).any(|name| session.asks_certificate(name));
    let free = listing.sheets.iter().filter(|e| {
        e.facts.bar.is_none()
            && (!certificate || e.facts.is_certified())
            && metal.suits(&e.facts.metal())
            && e.facts.held_for_another(Some(title)).is_none()
    });
    let with = if certificate { " with a certificate" } else { "" };
    let words = metal_words(&metal, session.settings().unit()) + with;
    let has = match free.count() {
        0 => format!("The rack has no {words} that nobody holds"),
        1 => format!("The rack has one sheet of {words}"),
        n => format!("The rack has {n} sheets of {words}"),
    };
    let without = &session.compare().wishes().without;
    let sizes = session.values().fresh_sizes().iter().filter(|s| !without.contains(s)).count();
    let bought = match sizes {
        0 => "no fresh sheet can be bought".to_owned(),
        1 => "one fresh size can be bought".to_owned(),
        n => format!("{n} fresh sizes can be bought"),
    };
    let left_out = session.left_out().map(|w| format!(" {w}.")).unwrap_or_default();
    let come = if certificate && sizes > 0 { ", and must come with one" } else { "" };
    format!("{has}; {bought}{come}.{left_out}")
}
