//! The place *Compare*: which sheet should it come from? What is asked stands on top, the ways as cards
//! below it, the best first, and beside them the account of the one that is looked at.

mod bill;
mod card;
mod plot;
mod question;
#[cfg(test)]
mod tests;
mod thumbs;
mod why;

use eframe::egui::{Label, Rect, RichText, ScrollArea, Ui, UiBuilder, pos2, vec2};
use oddment_app::act::Act;
use oddment_app::compare::{CompareAct, Comparing};
use oddment_app::place::Place;
use oddment_app::session::Session;
use oddment_core::compare::Way;
use oddment_core::plan::Count;
use oddment_core::units::LengthUnit;
use oddment_files::words::counted;

use crate::bars::kinds;
use crate::first_screen::{self, say};
use crate::place::PlaceView;
use crate::sheet::{card as paper, child};
use crate::theme::{self, Colours, Weight};
use crate::told::Told;
use bill::Bill;
use question::Asking;
use thumbs::Thumbs;

const EDGE: f32 = 20.0;
const GAP: f32 = 16.0;
/// Width of the account: in a narrow window this share of it.
const BILL: f32 = 370.0;
const BILL_SHARE: f32 = 0.3;
/// Height of what is said of the best.
const WHY: f32 = 124.0;

/// What the place remembers from frame to frame.
#[derive(Default)]
pub(crate) struct ComparePlace {
    asking: Asking,
    bill: Bill,
    thumbs: Thumbs,
}

impl PlaceView for ComparePlace {
    fn heading(&mut self, ui: &mut Ui, c: &Colours, session: &Session, acts: &mut Vec<Act>) {
        kinds(ui, c, Place::Compare, acts);
        ui.add_space(8.0);
        let asked = RichText::new(asked_in_words(session)).color(c.quiet);
        ui.add(Label::new(asked).truncate());
    }

    fn strong(&mut self, ui: &mut Ui, c: &Colours, session: &Session, acts: &mut Vec<Act>) {
        let compare = session.compare();
        let running = compare.running().is_some_and(|r| r.is_running());
        let to_take = compare.chosen().is_some() && !session.is_compared_no_more();
        let mut press = |ui: &mut Ui, name: &str, key: &str, weight: Weight, act: CompareAct| {
            if theme::button(ui, c, name, key, weight).clicked() {
                acts.push(Act::Compare(act));
            }
        };
        if running {
            press(ui, "Stop", "Ctrl .", Weight::Words, CompareAct::Stop);
        } else if to_take && compare.running().is_some_and(|r| r.could_go_on()) {
            press(ui, "Search on", "O", Weight::Words, CompareAct::SearchOn);
        } else if to_take {
            press(ui, "Compare again", "Enter", Weight::Words, CompareAct::Begin);
        }
        if to_take {
            press(ui, "Take it", "T", Weight::Strong, CompareAct::Take);
        } else if !running || session.is_compared_no_more() {
            let name = if compare.running().is_some() { "Compare again" } else { "Compare" };
            press(ui, name, "Enter", Weight::Strong, CompareAct::Begin);
        }
    }

    fn show(
        &mut self,
        ui: &mut Ui,
        c: &Colours,
        session: &Session,
        area: Rect,
        acts: &mut Vec<Act>,
    ) {
        let (left, right) = (area.left() + EDGE, area.right() - EDGE);
        let bottom = area.bottom() - EDGE;
        let top = area.top() + 4.0;
        let height = self.asking.height(c);
        let asked = Rect::from_min_max(pos2(left, top), pos2(right, top + height));
        let mut asked_ui = child(ui, asked, "asked");
        paper(&mut asked_ui, c, asked, |ui| self.asking.show(ui, c, session, acts));
        let below = asked.bottom() + 12.0;
        let compare = session.compare();
        let Some(way) = compare.chosen() else {
            let rest = Rect::from_min_max(pos2(left, below), pos2(right, bottom));
            first_screen(ui, c, session, rest, acts);
            return;
        };
        if compare.running().is_some_and(|r| r.is_running()) {
            ui.ctx().request_repaint_after(std::time::Duration::from_millis(200));
            progress(ui, c, session, pos2(left, asked.bottom() + 4.0), right);
        }
        let bill = BILL.min(BILL_SHARE * (right - left));
        let cards_right = right - bill - GAP;
        let why_top = bottom - WHY;
        let cards = Rect::from_min_max(pos2(left, below), pos2(cards_right, why_top - 12.0));
        let why = Rect::from_min_max(pos2(left, why_top), pos2(cards_right, bottom));
        let bill = Rect::from_min_max(pos2(right - bill, below), pos2(right, bottom));
        self.cards(ui, c, session, cards, acts);
        let mut why_ui = child(ui, why, "why");
        paper(&mut why_ui, c, why, |ui| why::show(ui, c, session, way, acts));
        let mut bill_ui = child(ui, bill, "bill");
        paper(&mut bill_ui, c, bill, |ui| self.bill.show(ui, c, session, way, acts));
    }
}

impl ComparePlace {
    /// The ways as cards, as many beside each other as go in.
    fn cards(
        &mut self,
        ui: &mut Ui,
        c: &Colours,
        session: &Session,
        area: Rect,
        acts: &mut Vec<Act>,
    ) {
        let compare = session.compare();
        let Some(running) = compare.running() else { return };
        let (Some(found), Some(posed)) = (running.found(), running.posed()) else { return };
        self.thumbs.renew(posed);
        let chosen = compare.chosen().map(Way::key);
        let wide = area.width() - 14.0;
        let columns = ((wide + GAP) / (card::LEAST + GAP)).floor().max(1.0);
        let card = (wide + GAP) / columns - GAP;
        let size = vec2(card, card::height(card, area.height() - 6.0));
        let columns = columns as usize;
        let rows = found.ways.len().div_ceil(columns);
        let mut ui = ui.new_child(UiBuilder::new().max_rect(area).id_salt("ways"));
        ui.spacing_mut().item_spacing = vec2(GAP, GAP);
        ScrollArea::vertical().auto_shrink(false).show_rows(&mut ui, size.y, rows, |ui, range| {
            for row in range {
                let from = row * columns;
                let to = (from + columns).min(found.ways.len());
                ui.horizontal(|ui| {
                    for (n, way) in found.ways[from..to].iter().enumerate() {
                        let shown = card::Shown { session, posed, way, rank: from + n };
                        let here = chosen.as_ref() == Some(&way.key());
                        let response = card::show(ui, c, &shown, &mut self.thumbs, size, here);
                        if response.double_clicked() {
                            acts.push(Act::Compare(CompareAct::Choose(way.key())));
                            acts.push(Act::Compare(CompareAct::Take));
                        } else if response.clicked() {
                            acts.push(Act::Compare(CompareAct::Choose(way.key())));
                        }
                    }
                });
            }
        });
    }
}

/// How far the comparison has come: “4 ways, still improving · 12 of 40 sheets looked at · 3 s”.
fn how_far(running: &Comparing) -> String {
    let mut text = String::new();
    if let Some(found) = running.found() {
        let (looked, of) = found.looked_at;
        text += &counted(found.ways.len(), "way", "ways");
        text += match (running.is_running(), found.settled) {
            (true, _) => ", still improving",
            (false, true) => ", settled",
            (false, false) => ", not settled",
        };
        if looked < of {
            text += &format!(" · {looked} of {of} sheets looked at");
        }
    }
    text + &format!(" · {:.0} s.", running.time().0.as_secs_f64())
}

/// A length without the zeros that say nothing: “2000”, “1.5”.
fn plain(mm: f64, unit: LengthUnit) -> String {
    let shown = unit.show(mm);
    match shown.contains('.') {
        true => shown.trim_end_matches('0').trim_end_matches('.').to_owned(),
        false => shown,
    }
}

/// “Front racks · 11 parts in 3 mm S235”.
fn asked_in_words(session: &Session) -> String {
    let mut names = vec![session.view().title.as_str()];
    names.extend(session.compare().others().iter().map(|o| o.open.title.as_str()));
    let others = session.compare().others().iter().map(|o| o.open.job());
    let count = |w: &oddment_core::plan::Wanted| match w.count {
        Count::Exactly(n) => n,
        Count::Max => 0,
    };
    let jobs = std::iter::once(session.view().job()).chain(others);
    let parts: usize = jobs.flat_map(|j| &j.wanted).map(count).sum();
    let mut text = format!("{} · {}", names.join(" + "), counted(parts, "part", "parts"));
    if let Some(metal) = session.metal_compared() {
        let unit = session.settings().unit();
        text += &format!(" in {}", question::metal_words(&metal, unit));
    }
    text
}

/// How much of the time is spent.
fn progress(ui: &Ui, c: &Colours, session: &Session, at: eframe::egui::Pos2, right: f32) {
    let Some(running) = session.compare().running() else { return };
    let (spent, limit) = running.time();
    let share = (spent.as_secs_f32() / limit.as_secs_f32().max(0.1)).min(1.0);
    let bar = Rect::from_min_max(at, pos2(right, at.y + 4.0));
    ui.painter().rect_filled(bar, 2, c.rule);
    let done = Rect::from_min_size(bar.min, vec2(bar.width() * share, bar.height()));
    ui.painter().rect_filled(done, 2, c.fits);
}

/// What there is to see while there is no way yet: what is going to be asked, or why nothing can be.
fn first_screen(ui: &mut Ui, c: &Colours, session: &Session, area: Rect, acts: &mut Vec<Act>) {
    first_screen::show(ui, c, area, "Which sheet should it come from?", |ui| {
        let running = session.compare().running();
        if let Some(why) = running.and_then(|r| r.failed()) {
            say(ui, &format!("Nothing could be compared: {why}."), c.short);
            return;
        }
        if let Some(running) = running {
            if running.is_running() {
                first_screen::busy(ui, c, "Filling the first sheets.");
            } else {
                say(ui, "No sheet takes any part of it.", c.text);
            }
            for none in running.no_place() {
                say(ui, &none.words(), c.short);
            }
            return;
        }
        if session.rack().is_none() {
            say(ui, "There is no rack here to compare with.", c.text);
            return;
        }
        if session.view().job().wanted.is_empty() && session.compare().others().is_empty() {
            say(
                ui,
                "The slip is empty. Add drawings to it at the place Sheet, or drop them on this \
                 window; then come back.",
                c.text,
            );
            ui.add_space(8.0);
            if theme::button(ui, c, "Go to the Sheet", "1", Weight::Plain).clicked() {
                acts.push(Act::Go(Place::Sheet));
            }
            return;
        }
        say(
            ui,
            "The order is cut from every sheet that could take it: one remnant, several, remnants and \
             a fresh sheet, fresh sheets alone. Each way is a checked plan with its metal, handling, \
             cutting and what goes back, in money and minutes. The cheapest stands first.",
            c.text,
        );
        ui.add_space(8.0);
        if session.metal_compared().is_none() {
            say(ui, "Which metal is it made from? Press it above.", c.text);
            return;
        }
        say(ui, &question::sheets_in_words(session), c.text);
        ui.add_space(12.0);
        if theme::button(ui, c, "Compare the ways", "Enter", Weight::Plain).clicked() {
            acts.push(Act::Compare(CompareAct::Begin));
        }
        match Told::of_job(session) {
            Some(Told::News(notice)) => say(ui, notice, c.quiet),
            Some(refusal) => say(ui, &refusal.words(), c.short),
            None => {}
        }
    });
}
