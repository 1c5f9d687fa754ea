//! The place *Compare* of bars: which bars should it come from? Each way of cutting the order as a card,
//! the best first, and beside them what the one that is looked at costs and leaves.

use eframe::egui::{
    Align2, Grid, Label, Painter, Rect, Response, RichText, Role, ScrollArea, Sense, Stroke,
    StrokeKind, Ui, UiBuilder, Vec2, WidgetInfo, pos2, vec2,
};
use oddment_app::act::Act;
use oddment_app::bars::{BarWay, BarsAct, PlannedBars};
use oddment_app::place::Place;
use oddment_app::session::Session;
use oddment_app::words::{capital, in_a_sentence};
use oddment_core::bars::BarsAccount;
use oddment_core::units::LengthUnit;
use oddment_files::words::counted;

use super::{draw, facts, kinds, profile_name};
use crate::first_screen::{self, say};
use crate::place::PlaceView;
use crate::sheet::{card as paper, child};
use crate::theme::{self, Colours, Weight};
use crate::told::Told;

const EDGE: f32 = 20.0;
const GAP: f32 = 16.0;
/// Width of the account.
const BILL: f32 = 370.0;
/// No card is narrower.
const LEAST: f32 = 290.0;
/// White round what stands on a card, and the height of its picture and its words.
const PAD: f32 = 18.0;
const PICTURE: f32 = 120.0;
const WORDS: f32 = 150.0;
/// Bars that a picture shows.
const SHOWN: usize = 8;

/// The place; what it shows is kept with the order.
#[derive(Default)]
pub(crate) struct BarWaysPlace;

impl PlaceView for BarWaysPlace {
    fn heading(&mut self, ui: &mut Ui, c: &Colours, session: &Session, acts: &mut Vec<Act>) {
        kinds(ui, c, Place::BarWays, acts);
        let order = session.bars().order();
        let mut text =
            format!("{} · {} parts of {}", order.title, order.wanted(), profile_name(order));
        if session.bars().is_comparing() {
            text += " · comparing";
        }
        ui.add_space(8.0);
        ui.add(Label::new(RichText::new(text).color(c.quiet)).truncate());
    }

    fn strong(&mut self, ui: &mut Ui, c: &Colours, session: &Session, acts: &mut Vec<Act>) {
        let bars = session.bars();
        let mut press = |ui: &mut Ui, name: &str, key: &str, weight: Weight, act: BarsAct| {
            if theme::button(ui, c, name, key, weight).clicked() {
                acts.push(Act::Bars(act));
            }
        };
        if bars.chosen_way().is_some_and(|way| way.found.is_ok()) {
            press(ui, "Compare again", "Enter", Weight::Words, BarsAct::Compare);
            press(ui, "Take it", "T", Weight::Strong, BarsAct::TakeWay);
        } else if !bars.is_comparing() {
            press(ui, "Compare", "Enter", Weight::Strong, BarsAct::Compare);
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
        let (top, bottom) = (area.top() + 4.0, area.bottom() - EDGE);
        if session.bars().is_comparing() {
            ui.ctx().request_repaint_after(std::time::Duration::from_millis(200));
        }
        let ways = session.bars().ways().unwrap_or_default();
        let Some(chosen) = session.bars().chosen_way() else {
            let rest = Rect::from_min_max(pos2(left, top), pos2(right, bottom));
            first_screen(ui, c, session, rest, acts);
            return;
        };
        let cards = Rect::from_min_max(pos2(left, top), pos2(right - BILL - GAP, bottom));
        let bill = Rect::from_min_max(pos2(right - BILL, top), pos2(right, bottom));
        show_cards(ui, c, session, (&ways, chosen), cards, acts);
        let mut bill_ui = child(ui, bill, "bars bill");
        paper(&mut bill_ui, c, bill, |ui| show_bill(ui, c, session, chosen, ways[0]));
    }
}

fn show_cards(
    ui: &mut Ui,
    c: &Colours,
    session: &Session,
    (ways, chosen): (&[&BarWay], &BarWay),
    area: Rect,
    acts: &mut Vec<Act>,
) {
    let wide = area.width() - 14.0;
    let columns = ((wide + GAP) / (LEAST + GAP)).floor().max(1.0);
    let size = vec2((wide + GAP) / columns - GAP, 2.0 * PAD + PICTURE + WORDS);
    let mut ui = ui.new_child(UiBuilder::new().max_rect(area).id_salt("ways of bars"));
    ui.spacing_mut().item_spacing = vec2(GAP, GAP);
    ScrollArea::vertical().auto_shrink(false).show(&mut ui, |ui| {
        for row in ways.chunks(columns as usize) {
            ui.horizontal(|ui| {
                for way in row {
                    let response = card(ui, c, session, way, size, way.name == chosen.name);
                    if response.clicked() || response.double_clicked() {
                        acts.push(Act::Bars(BarsAct::ChooseWay(way.name)));
                    }
                    if response.double_clicked() {
                        acts.push(Act::Bars(BarsAct::TakeWay));
                    }
                }
            });
        }
    });
}

/// A way: its bars, what it costs and what goes back.
fn card(
    ui: &mut Ui,
    c: &Colours,
    session: &Session,
    way: &BarWay,
    size: Vec2,
    chosen: bool,
) -> Response {
    let unit = session.settings().unit();
    let (rect, response) = ui.allocate_exact_size(size, Sense::click());
    theme::card_to_choose(ui, c, &response, chosen);
    let wide = rect.width() - 2.0 * PAD;
    let painter = ui.painter_at(rect.shrink(6.0));
    let room = Rect::from_min_size(rect.min + vec2(PAD, PAD), vec2(wide, PICTURE));
    let (left, mut y) = (room.left(), room.bottom() + 10.0);
    let mut line = |text: &str, font, ink, high: f32| {
        let text = theme::shortened(ui, text, &font, wide);
        painter.text(pos2(left, y), Align2::LEFT_TOP, text, font, ink);
        y += high;
    };
    let spoken = match &way.found {
        Ok(planned) => {
            picture(&painter, c, planned, room);
            line(&capital(way.name), theme::strong(), c.text, 22.0);
            line(&bars_in_words(planned), theme::small(), c.quiet, 22.0);
            let currency = session.rack().map_or("", |rack| rack.currency());
            let minutes = (planned.list.seconds(&planned.plan) / 60.0).ceil();
            let cost = format!("{:.2} {currency} · {minutes:.0} min", planned.plan.cost);
            line(&cost, theme::large_strong(), c.text, 32.0);
            let missing: usize = planned.plan.missing.iter().sum();
            if missing > 0 {
                let text = format!("{missing} parts have no bar");
                line(&text, theme::small_strong(), c.short, 20.0);
            }
            line(&back_in_words(planned, unit), theme::small(), c.quiet, 20.0);
            format!("{}: {cost}", way.name)
        }
        Err(why) => {
            line(&capital(way.name), theme::strong(), c.text, 22.0);
            line(&in_a_sentence(why), theme::small(), c.short, 22.0);
            format!("{}: {why}", way.name)
        }
    };
    response.widget_info(|| WidgetInfo::selected(Role::Button, true, chosen, &spoken));
    response
}

/// The bars under each other to one scale, small.
fn picture(painter: &Painter, c: &Colours, planned: &PlannedBars, room: Rect) {
    let PlannedBars { list, plan, .. } = planned;
    let longest = plan.bars.iter().map(|bar| list.stock[bar.stock].length).fold(1.0, f64::max);
    let scale = room.width() / longest as f32;
    let high = (room.height() / plan.bars.len().clamp(1, SHOWN) as f32).min(24.0);
    for (i, bar) in plan.bars.iter().take(SHOWN).enumerate() {
        let top = room.top() + i as f32 * high;
        let band = |from: f64, to: f64| {
            let from = pos2(room.left() + from as f32 * scale, top);
            Rect::from_min_max(from, pos2(room.left() + to as f32 * scale, top + high - 5.0))
        };
        let whole = band(0.0, list.stock[bar.stock].length);
        painter.rect(whole, 0, c.metal, Stroke::new(1.0, c.metal_edge), StrokeKind::Inside);
        for piece in &bar.pieces {
            let part = band(piece.at, piece.end(list));
            painter.rect(part, 0, c.paper, Stroke::new(1.0, c.ink), StrokeKind::Inside);
        }
    }
}

/// “2 bars: T40-01, and 1 full length to buy”.
fn bars_in_words(planned: &PlannedBars) -> String {
    let PlannedBars { list, plan, .. } = planned;
    let named = |stock: usize| !list.stock[stock].name.trim().is_empty();
    let (ours, bought): (Vec<usize>, Vec<usize>) =
        plan.bars.iter().map(|bar| bar.stock).partition(|stock| named(*stock));
    let mut said: Vec<String> = ours.iter().map(|s| draw::stock_name(&list.stock[*s])).collect();
    if !bought.is_empty() {
        said.push(counted(bought.len(), "full length", "full lengths"));
    }
    format!("{}: {}", counted(plan.bars.len(), "bar", "bars"), said.join(", "))
}

/// “1840.0 mm, 320.5 mm go back to the rack”.
fn back_in_words(planned: &PlannedBars, unit: LengthUnit) -> String {
    let PlannedBars { list, plan, .. } = planned;
    let kept = plan.bars.iter().filter(|bar| list.keeps(bar)).map(|bar| list.left(bar));
    let kept: Vec<String> = kept.map(|(from, to)| unit.show(to - from)).collect();
    match kept.as_slice() {
        [] => "nothing goes back to the rack".to_owned(),
        lengths => format!("{} {unit} go back to the rack", lengths.join(", ")),
    }
}

/// What the way that is looked at costs and leaves, and why it is not the best.
fn show_bill(ui: &mut Ui, c: &Colours, session: &Session, way: &BarWay, best: &BarWay) {
    ui.label(RichText::new(capital(way.name)).font(theme::large_strong()));
    let planned = match &way.found {
        Ok(planned) => planned,
        Err(why) => {
            ui.add(Label::new(RichText::new(in_a_sentence(why)).color(c.short)).wrap());
            return;
        }
    };
    ScrollArea::vertical().auto_shrink(false).show(ui, |ui| {
        let unit = session.settings().unit();
        facts::all_bars(ui, c, unit, planned);
        ui.add_space(8.0);
        if let Ok(cheapest) = &best.found
            && best.name != way.name
        {
            let text = difference(planned, cheapest, best.name);
            ui.add(Label::new(RichText::new(text).color(c.text)).wrap());
            ui.add_space(8.0);
        }
        Grid::new("bars used").num_columns(3).spacing(vec2(12.0, 4.0)).striped(true).show(
            ui,
            |ui| {
                for head in ["bar", "length", "left"] {
                    ui.label(RichText::new(head).font(theme::small()).color(c.quiet));
                }
                ui.end_row();
                for bar in &planned.plan.bars {
                    let stock = &planned.list.stock[bar.stock];
                    let (from, to) = planned.list.left(bar);
                    let goes = if planned.list.keeps(bar) { "stays" } else { "scrap" };
                    ui.label(draw::stock_name(stock));
                    ui.label(unit.show(stock.length));
                    ui.label(format!("{} {goes}", unit.show(to - from)));
                    ui.end_row();
                }
            },
        );
    });
}

/// “2.40 more than at least cost: 3.10 more metal, 0.70 less handling.”
fn difference(planned: &PlannedBars, best: &PlannedBars, name: &str) -> String {
    let of = |planned: &PlannedBars| planned.list.account(&planned.plan);
    let (a, b): (BarsAccount, BarsAccount) = (of(planned), of(best));
    let more =
        |money: f64| format!("{:.2} {}", money.abs(), if money < 0.0 { "less" } else { "more" });
    let items = [
        ("for metal", a.metal - b.metal),
        ("for handling", a.handling - b.handling),
        ("less what scrap brings", a.scrap - b.scrap),
        ("less what goes back", a.goes_back - b.goes_back),
    ];
    let items: Vec<String> = items
        .iter()
        .filter(|(_, money)| money.abs() >= 0.005)
        .map(|(what, money)| format!("{} {what}", more(*money)))
        .collect();
    let all = more(planned.plan.cost - best.plan.cost);
    match items.as_slice() {
        [] => format!("It costs the same as {name}."),
        items => format!("It costs {all} than {name}: {}.", items.join(", ")),
    }
}

/// What there is to see while there is no way yet.
fn first_screen(ui: &mut Ui, c: &Colours, session: &Session, area: Rect, acts: &mut Vec<Act>) {
    first_screen::show(ui, c, area, "Which bars should it come from?", |ui| {
        if session.bars().is_comparing() {
            first_screen::busy(ui, c, "Cutting the order at least cost.");
            return;
        }
        if session.bars().order().wanted() == 0 {
            say(ui, "Nothing is wanted yet: type the parts, or paste a cut list.", c.text);
            ui.add_space(8.0);
            if theme::button(ui, c, "Go to the order of bars", "B", Weight::Plain).clicked() {
                acts.push(Act::Go(Place::Bars));
            }
            return;
        }
        say(
            ui,
            "The order is cut from the rack’s bars and full lengths at least cost, from full lengths \
             alone, from the rack’s bars alone, and from as few bars as can be. Each way is a checked \
             plan with its metal, handling and what goes back.",
            c.text,
        );
        match Told::of_job(session) {
            Some(Told::News(notice)) => say(ui, &in_a_sentence(notice), c.text),
            Some(refusal) => say(ui, &refusal.words(), c.short),
            None => {}
        }
        ui.add_space(8.0);
        if theme::button(ui, c, "Compare the ways", "Enter", Weight::Plain).clicked() {
            acts.push(Act::Bars(BarsAct::Compare));
        }
    });
}
