//! The place *Sheet* of bars: which bars to cut, and what from each?

mod draw;
mod facts;
mod how;
mod paste;
mod piece_card;
mod record_card;
mod slip;
#[cfg(test)]
mod tests;
mod ways;

use eframe::egui::{
    Align, Align2, CursorIcon, Event, Label, Layout, Rect, Response, RichText, Role, ScrollArea,
    Sense, Stroke, StrokeKind, TextEdit, Ui, WidgetInfo, pos2, vec2,
};
use oddment_app::act::Act;
use oddment_app::bars::{BarOrder, BarsAct, PlannedBars};
use oddment_app::place::Place;
use oddment_app::session::{Ask, Session};
use oddment_app::words::in_a_sentence;
use oddment_core::bars::CutList;
use oddment_core::units::LengthUnit;

use crate::place::PlaceView;
use crate::sheet::{Mark, card, child, paint_mark, progress};
use crate::stock_card::StockCard;
use crate::theme::{self, Colours, Weight};
use crate::told::Told;
use crate::top_line::Word;
use how::HowCard;
use paste::PasteCard;
use piece_card::PieceCard;
use record_card::RecordCard;
pub(crate) use ways::BarWaysPlace;

const EDGE: f32 = 20.0;
const SLIP: f32 = 300.0;
const FACTS: f32 = 330.0;
/// Height of a bar with what is written above and below it.
const ROW: f32 = 112.0;

/// What the place remembers from frame to frame.
#[derive(Default)]
pub(crate) struct BarsPlace {
    slip: slip::Slip,
    asking: Option<Asking>,
    /// The bar of the plan that is told about.
    chosen: Option<usize>,
    stock: Stock,
    /// The cut is to be recorded part by part.
    recording: bool,
}

/// What lies over the place until it is answered.
enum Asking {
    How(Box<HowCard>),
    Paste(Box<PasteCard>),
    Piece(Box<PieceCard>),
    Record(Box<RecordCard>),
}

/// What there is to cut from, and what is wrong with it or the order: worked out anew when the order or the rack
/// changes.
#[derive(Default)]
struct Stock {
    of: Option<(u64, BarOrder)>,
    list: CutList,
    fault: Option<String>,
}

impl Stock {
    fn renew(&mut self, session: &Session) {
        let of = (session.rack().map_or(0, |desk| desk.revision()), session.bars().order());
        if self.of.as_ref().is_some_and(|(revision, order)| (*revision, order) == of) {
            return;
        }
        self.of = Some((of.0, of.1.clone()));
        (self.list, self.fault) = session.bars_at_hand();
    }
}

/// Width (points) of the two kinds of stock on the top line.
pub(crate) const KINDS: f32 = 124.0;

/// The two kinds of stock that a place shows.
pub(crate) fn kinds(ui: &mut Ui, c: &Colours, here: Place, acts: &mut Vec<Act>) {
    let of_sheets = here.named();
    let doing = if of_sheets == Place::Compare { "compare" } else { "plan on" };
    for (place, name) in [(of_sheets, "sheets"), (of_sheets.for_bars(), "bars")] {
        let says = format!("{doing} {name}");
        if theme::spoken_choice(ui, c, name, here == place, &says).clicked() {
            acts.push(Act::Go(place));
        }
    }
}

/// An act that changes the order.
fn change(name: impl Into<String>, order: BarOrder) -> Act {
    Act::Bars(BarsAct::Change(name.into(), Box::new(order)))
}

/// A field for a line of text.
fn typed(ui: &mut Ui, name: &str, text: &mut String, wide: f32) -> Response {
    let edit = TextEdit::singleline(text)
        .desired_width(wide)
        .align(Align2::LEFT_CENTER)
        .min_size(vec2(wide, 36.0));
    ui.add(edit).accessible_name(name)
}

impl PlaceView for BarsPlace {
    fn heading(&mut self, ui: &mut Ui, c: &Colours, _session: &Session, acts: &mut Vec<Act>) {
        kinds(ui, c, Place::Bars, acts);
    }

    fn heading_room(&self) -> f32 {
        KINDS
    }

    fn strong(&mut self, ui: &mut Ui, c: &Colours, _session: &Session, acts: &mut Vec<Act>) {
        if theme::button(ui, c, "Fill", "F", Weight::Strong)
            .on_hover_text("Plans what is cut from which bar, at least cost")
            .clicked()
        {
            acts.push(Act::Bars(BarsAct::Fill));
        }
    }

    fn words(&self, session: &Session) -> Vec<Word> {
        let steps = (Act::Bars(BarsAct::Undo), Act::Bars(BarsAct::Redo));
        let mut words = Vec::from(Word::steps(session.bars().undoes_and_redoes(), steps));
        if session.rack().is_some() {
            let can = session.can_record_bars();
            let says = "It was cut as planned: what is left is the bars’ new length";
            let record = Act::Bars(BarsAct::Record(Box::default()));
            words.push(Word::new("Record the cut", says, record).plain().where_it(can));
            let says = "Record what is good, scrap, half cut or was not begun";
            words.push(Word::new("Part by part", says, Act::RecordParts).where_it(can));
        }
        words.push(Word::new("Print", "Set-up sheet and plan, into a folder", Act::Export));
        words.push(Word::new("Save", "Saves the plan", Act::Save));
        words.push(Word::new("Open", "Opens a plan or a cut list", Act::Open));
        words
    }

    fn show(
        &mut self,
        ui: &mut Ui,
        c: &Colours,
        session: &Session,
        area: Rect,
        acts: &mut Vec<Act>,
    ) {
        self.stock.renew(session);
        let (left, right) = (area.left() + EDGE, area.right() - EDGE);
        let (top, bottom) = (area.top() + 4.0, area.bottom() - EDGE);
        let line_top = bottom - (c.touch + 16.0);
        let slip = Rect::from_min_max(pos2(left, top), pos2(left + SLIP, line_top - 16.0));
        let facts_left = (right - FACTS).max(slip.right() + 240.0);
        let bars = Rect::from_min_max(
            pos2(slip.right() + 20.0, top),
            pos2(facts_left - 16.0, line_top - 14.0),
        );
        let facts = Rect::from_min_max(pos2(facts_left, top), pos2(right, line_top - 14.0));
        let line = Rect::from_min_max(pos2(left, line_top), pos2(facts_left - 14.0, bottom));
        let corner = Rect::from_min_max(pos2(facts_left, line_top), pos2(right, bottom));
        if let Some(text) = session.bars().table() {
            self.ask_paste(text, session);
            acts.push(Act::Bars(BarsAct::TableSeen));
        } else if self.asking.is_none()
            && !ui.ctx().text_edit_focused()
            && let Some(text) = pasted(ui)
        {
            self.ask_paste(&text, session);
        }
        if std::mem::take(&mut self.recording) {
            let card = RecordCard::new(session);
            self.asking = card.map(|card| Asking::Record(Box::new(card)));
        }
        let planned = session.bars().shown();
        self.chosen = self.chosen.filter(|i| planned.is_some_and(|p| *i < p.plan.bars.len()));
        let order = session.bars().order();
        let stock = StockCard {
            name: order.list.profile.as_ref().map_or("No profile yet", |p| p.name.as_str()),
            facts: &lengths_in_words(order, session.settings().unit()),
            help: "profile, material, full lengths and machine",
            shown: (0, 1),
        };
        let (below, pressed) = stock.show(ui, c, "Profile, machine", slip.min, slip.width());
        if pressed.is_some() {
            self.ask_how(session);
        }
        let slip = slip.with_min_y(below + 10.0);
        let mut slip_ui = child(ui, slip, "bar slip");
        if let Some(asked) = self.slip.show(&mut slip_ui, c, session, slip, acts) {
            match asked {
                slip::Asked::Paste => self.ask_paste("", session),
                slip::Asked::Piece(i) => {
                    let card = PieceCard::new(session, i);
                    self.asking = card.map(|card| Asking::Piece(Box::new(card)));
                }
            }
        }
        let mut bars_ui = child(ui, bars, "bars");
        match planned {
            Some(planned) => self.planned(&mut bars_ui, c, session, planned),
            None => self.unplanned(&mut bars_ui, c, session),
        }
        let mut facts_ui = child(ui, facts, "bar facts");
        let list = planned.map_or(&self.stock.list, |planned| &planned.list);
        let shown = facts::Shown { list, planned, chosen: self.chosen };
        facts::show(&mut facts_ui, c, session, &shown, facts, acts);
        self.line(ui, c, session, line);
        verdict(ui, c, session, corner);
        if let Some(work) = session.bars().at_work() {
            let above = corner.top() - 14.0;
            let rect = Rect::from_min_max(
                pos2(corner.left(), above - progress::height(c)),
                pos2(corner.right(), above),
            );
            progress::show(&mut child(ui, rect, "bars progress"), c, &work, rect, acts);
        }
        self.question(ui, c, session, acts);
    }

    fn answer(&mut self, ask: Ask) {
        self.recording |= ask == Ask::RecordParts;
    }
}

impl BarsPlace {
    fn ask_how(&mut self, session: &Session) {
        self.asking = Some(Asking::How(Box::new(HowCard::new(session))));
    }

    fn ask_paste(&mut self, text: &str, session: &Session) {
        self.asking = Some(Asking::Paste(Box::new(PasteCard::new(text, session))));
    }

    fn question(&mut self, ui: &Ui, c: &Colours, session: &Session, acts: &mut Vec<Act>) {
        let closed = match &mut self.asking {
            None => return,
            Some(Asking::How(card)) => card.show(ui.ctx(), c, session, acts),
            Some(Asking::Paste(card)) => card.show(ui.ctx(), c, session, acts),
            Some(Asking::Piece(card)) => card.show(ui.ctx(), c, session, acts),
            Some(Asking::Record(card)) => card.show(ui.ctx(), c, session, acts),
        };
        if closed {
            self.asking = None;
        }
    }

    /// The bars of a plan under each other, to one scale.
    fn planned(&mut self, ui: &mut Ui, c: &Colours, session: &Session, planned: &PlannedBars) {
        let unit = session.settings().unit();
        let list = &planned.list;
        let bars = &planned.plan.bars;
        let longest = bars.iter().map(|bar| list.stock[bar.stock].length).fold(1.0, f64::max);
        ScrollArea::vertical().auto_shrink(false).show_rows(ui, ROW, bars.len(), |ui, range| {
            for i in range {
                let bar = &bars[i];
                let size = vec2(ui.available_width() - 14.0, ROW - ui.spacing().item_spacing.y);
                let (rect, response) = ui.allocate_exact_size(size, Sense::click());
                let is_chosen = self.chosen == Some(i);
                if is_chosen || response.hovered() {
                    ui.painter().rect_filled(rect, 8, c.rule.gamma_multiply(0.45));
                }
                if is_chosen || response.has_focus() {
                    let line = Stroke::new(2.0, c.strong);
                    ui.painter().rect_stroke(rect, 8, line, StrokeKind::Inside);
                }
                let scene = draw::Scene::new(c, list, unit, rect, longest);
                scene.bar(ui.painter(), bar, i, bars.len());
                let stock = &list.stock[bar.stock];
                let name = draw::stock_name(stock);
                let spoken = format!(
                    "bar {} of {}: {name}, {} {unit}, {} parts",
                    i + 1,
                    bars.len(),
                    unit.show(stock.length),
                    bar.pieces.len()
                );
                response
                    .widget_info(|| WidgetInfo::selected(Role::Button, true, is_chosen, &spoken));
                if response.on_hover_cursor(CursorIcon::PointingHand).clicked() {
                    self.chosen = if is_chosen { None } else { Some(i) };
                }
            }
        });
    }

    /// What there is to cut from, before anything is planned.
    fn unplanned(&mut self, ui: &mut Ui, c: &Colours, session: &Session) {
        let unit = session.settings().unit();
        let list = &self.stock.list;
        // That nothing is wanted yet is no fault, and the slip says it.
        let wanted = session.bars().order().wanted() > 0;
        if let Some(fault) = self.stock.fault.as_ref().filter(|_| wanted) {
            ui.add_space(8.0);
            ui.label(RichText::new(in_a_sentence(fault)).color(c.short));
        }
        if list.stock.is_empty() {
            ui.add_space(8.0);
            let text = "There is no bar to cut from yet. Press the profile above: say which it is, \
                        which full lengths can be bought, and whether the rack’s bars are cut too.";
            ui.label(RichText::new(text).color(c.text));
            return;
        }
        let longest = list.stock.iter().map(|bar| bar.length).fold(1.0, f64::max);
        let row = ROW - 34.0;
        ScrollArea::vertical().auto_shrink(false).show_rows(
            ui,
            row,
            list.stock.len(),
            |ui, range| {
                for stock in &list.stock[range] {
                    let size = vec2(ui.available_width() - 14.0, row - ui.spacing().item_spacing.y);
                    let (rect, response) = ui.allocate_exact_size(size, Sense::hover());
                    let spoken =
                        format!("{}, {} {unit}", draw::stock_name(stock), unit.show(stock.length));
                    response.widget_info(|| WidgetInfo::labeled(Role::Label, true, &spoken));
                    draw::Scene::new(c, list, unit, rect, longest).stock(ui.painter(), stock);
                }
            },
        );
    }

    /// The line along the bottom: what was done, or what can be done.
    fn line(&self, ui: &mut Ui, c: &Colours, session: &Session, rect: Rect) {
        card(&mut child(ui, rect, "bars line"), c, rect, |ui| {
            ui.with_layout(Layout::left_to_right(Align::Center), |ui| {
                let problem = session.problems().first();
                let told = Told::of(session);
                let (text, ink) = match (problem, told) {
                    (Some(problem), _) => (problem.clone(), c.short),
                    (None, Some(Told::News(said))) => (in_a_sentence(said), c.text),
                    (None, Some(refusal)) => (refusal.words(), c.short),
                    (None, None) if session.bars().shown().is_some() => {
                        ("Press a bar for its cuts, support and warnings.".to_owned(), c.quiet)
                    }
                    (None, None) => (
                        "Fill plans the order at least cost. Ctrl V or a dropped CSV file brings a \
                         cut list."
                            .to_owned(),
                        c.quiet,
                    ),
                };
                let label = Label::new(RichText::new(&text).color(ink)).truncate();
                ui.add(label).on_hover_text(text);
            });
        });
    }
}

/// What was pasted in this frame.
fn pasted(ui: &Ui) -> Option<String> {
    ui.input(|i| {
        i.events.iter().find_map(|event| match event {
            Event::Paste(text) => Some(text.clone()),
            _ => None,
        })
    })
}

/// The check, in the corner and in words.
fn verdict(ui: &mut Ui, c: &Colours, session: &Session, rect: Rect) {
    let bars = session.bars();
    let wanted = bars.order().wanted();
    let (text, second, sign, ink) = match bars.shown() {
        _ if bars.at_work().is_some() => ("working…".to_owned(), String::new(), None, c.quiet),
        None => {
            let text = if wanted == 0 { "nothing is wanted" } else { "not planned yet" };
            (text.to_owned(), String::new(), None, c.quiet)
        }
        Some(planned) if planned.faults.is_empty() => {
            let missing: usize = planned.plan.missing.iter().sum();
            let sign = if missing == 0 { (true, c.fits) } else { (false, c.short) };
            let text = format!("clear: {} of {wanted} parts", wanted.saturating_sub(missing));
            (text, planned.in_words(), Some(sign.0), sign.1)
        }
        Some(planned) => {
            let text = format!("{} faults", planned.faults.len());
            (text, planned.faults[0].to_string(), Some(false), c.short)
        }
    };
    let ground = card(&mut child(ui, rect, "bars verdict"), c, rect, |_| {});
    if let Some(clear) = sign {
        let mark = if clear { Mark::Tick } else { Mark::Cross };
        paint_mark(ui.painter(), mark, pos2(rect.left() + 28.0, rect.center().y), ink);
    }
    let left = if sign.is_some() { rect.left() + 48.0 } else { rect.left() + 18.0 };
    let up = if second.is_empty() { 0.0 } else { 9.0 };
    let at = pos2(left, rect.center().y - up);
    ui.painter().text(at, Align2::LEFT_CENTER, &text, theme::strong(), c.text);
    let shown = theme::shortened(ui, &second, &theme::small(), rect.right() - left - 8.0);
    let at = pos2(left, rect.center().y + 11.0);
    ui.painter().text(at, Align2::LEFT_CENTER, shown, theme::small(), c.quiet);
    let spoken = format!("check: {text}. {second}");
    ground.widget_info(|| WidgetInfo::labeled(Role::Label, true, &spoken));
    if !second.is_empty() {
        ground.on_hover_text(second);
    }
}

/// “Square tube 40 × 2, S235”, or what is not known of it.
/// “S235 · full lengths of 6000 mm”.
fn lengths_in_words(order: &BarOrder, unit: LengthUnit) -> String {
    let material = order.list.material.trim();
    let material = if material.is_empty() { "no material yet" } else { material };
    let full = order.list.stock.iter().filter(|s| s.count.is_none());
    let full: Vec<String> = full.map(|s| unit.show(s.length)).collect();
    let lengths = match &full[..] {
        [] => "no full lengths".to_owned(),
        full => format!("full lengths of {} {unit}", full.join(", ")),
    };
    format!("{material} · {lengths}")
}

fn profile_name(order: &BarOrder) -> String {
    let name = order.list.profile.as_ref().map_or("no profile yet", |p| p.name.as_str());
    match order.list.material.as_str() {
        "" => name.to_owned(),
        material => format!("{name}, {material}"),
    }
}
