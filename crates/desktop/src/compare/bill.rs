//! The account of the way that is looked at: every amount opens to the figures that it came about from.

use std::collections::HashSet;

use eframe::egui::{
    Align2, CursorIcon, Label, RichText, Role, ScrollArea, Sense, Ui, WidgetInfo, pos2, vec2,
};
use oddment_app::act::Act;
use oddment_app::place::Place;
use oddment_app::session::Session;
use oddment_app::words::capital;
use oddment_core::compare::{Group, Item, Way};
use oddment_files::account_words::{
    figure_words, formula_words, group_words, item_words, way_title,
};

use crate::theme::{self, Colours, Weight};

/// Which items are open: sheet and place among the account's items.
#[derive(Default)]
pub(super) struct Bill {
    open: HashSet<(Vec<usize>, usize)>,
}

impl Bill {
    pub(super) fn show(
        &mut self,
        ui: &mut Ui,
        c: &Colours,
        session: &Session,
        way: &Way,
        acts: &mut Vec<Act>,
    ) {
        let Some(posed) = session.compare().running().and_then(|r| r.posed()) else { return };
        let question = &posed.question;
        let currency = session.rack().map_or("", |r| r.currency());
        ui.label(RichText::new(capital(&way_title(question, way))).font(theme::large_strong()));
        let priced = question.is_priced();
        let says = if priced {
            format!("{:.2} {currency} in all", way.account.total())
        } else {
            format!("{:.1} kg of metal; its price is missing", way.score)
        };
        ui.label(RichText::new(says).font(theme::digits()));
        ui.label(RichText::new("Press an amount to see how it came about.").color(c.quiet));
        ui.add_space(6.0);
        ScrollArea::vertical().auto_shrink(false).show(ui, |ui| {
            ui.spacing_mut().item_spacing.y = 2.0;
            let several = way.sheets.len() > 1;
            for group in Group::ALL {
                let items: Vec<(usize, &Item)> = way.account.items.iter().enumerate().collect();
                let items = items.into_iter().filter(|(_, i)| i.kind.group() == group);
                let items: Vec<_> = items.collect();
                if items.is_empty() {
                    continue;
                }
                heading(ui, c, group, way);
                for (n, item) in items {
                    let candidate = way.sheets[item.sheet].candidate;
                    let sheet = &question.candidates[candidate].sheet.name;
                    let name = match several {
                        true => format!("{}, {sheet}", item_words(item.kind)),
                        false => item_words(item.kind).to_owned(),
                    };
                    let key = (way.key(), n);
                    let is_open = self.open.contains(&key);
                    if row(ui, c, &name, item, is_open) {
                        if is_open {
                            self.open.remove(&key);
                        } else {
                            self.open.insert(key);
                        }
                    }
                    if is_open {
                        figures(ui, c, item);
                    }
                }
                ui.add_space(8.0);
            }
            metal(ui, c, session, way);
            ui.add_space(8.0);
            let change = theme::button(ui, c, "Change prices and policies", "4", Weight::Words);
            if change.on_hover_text("at the place Shop").clicked() {
                acts.push(Act::Go(Place::Shop));
            }
        });
    }
}

fn heading(ui: &mut Ui, c: &Colours, group: Group, way: &Way) {
    let (rect, _) = ui.allocate_exact_size(vec2(ui.available_width(), 24.0), Sense::hover());
    let minutes = way.account.minutes_of(group);
    let name = match minutes > 0.0 {
        true => format!("{} · {minutes:.0} min", capital(group_words(group))),
        false => capital(group_words(group)),
    };
    let painter = ui.painter_at(rect);
    painter.text(rect.left_center(), Align2::LEFT_CENTER, name, theme::strong(), c.text);
    let amount = format!("{:.2}", way.account.of(group));
    let at = pos2(rect.right() - 8.0, rect.center().y);
    painter.text(at, Align2::RIGHT_CENTER, amount, theme::strong(), c.text);
    painter.hline(rect.x_range(), rect.bottom() - 1.0, eframe::egui::Stroke::new(1.0, c.rule));
}

/// A line of the account; whether it was pressed.
fn row(ui: &mut Ui, c: &Colours, name: &str, item: &Item, is_open: bool) -> bool {
    let high = (c.touch - 14.0).max(26.0);
    let (rect, response) = ui.allocate_exact_size(vec2(ui.available_width(), high), Sense::click());
    let painter = ui.painter_at(rect);
    if response.hovered() || is_open {
        painter.rect_filled(rect, 6, c.rule.gamma_multiply(0.45));
    }
    theme::focus_ring(ui, c, &response, 6);
    let amount = format!("{:.2}", item.amount());
    let at = pos2(rect.right() - 8.0, rect.center().y);
    let amount_at = painter.text(at, Align2::RIGHT_CENTER, &amount, theme::small_strong(), c.text);
    let room = amount_at.left() - rect.left() - 30.0;
    let sign = if is_open { "–" } else { "+" };
    let at = pos2(rect.left() + 8.0, rect.center().y);
    painter.text(at, Align2::LEFT_CENTER, sign, theme::small(), c.quiet);
    let shown = theme::shortened(ui, name, &theme::small(), room);
    let at = pos2(rect.left() + 22.0, rect.center().y);
    painter.text(at, Align2::LEFT_CENTER, shown, theme::small(), c.text);
    let spoken = format!("{name}, {amount}");
    response.widget_info(|| WidgetInfo::selected(Role::Button, true, is_open, &spoken));
    response.on_hover_cursor(CursorIcon::PointingHand).clicked()
}

/// The figures of an item, and who says each.
fn figures(ui: &mut Ui, c: &Colours, item: &Item) {
    let line = |ui: &mut Ui, text: String, heavy: bool| {
        let font = if heavy { theme::small_strong() } else { theme::small() };
        ui.horizontal(|ui| {
            ui.add_space(22.0);
            let text = RichText::new(text).font(font).color(if heavy { c.text } else { c.quiet });
            ui.add(Label::new(text).wrap());
        });
    };
    line(ui, format!("{} = {:.2}", formula_words(item), item.amount()), true);
    for factor in item.terms.iter().flatten() {
        line(ui, figure_words(factor), false);
    }
    ui.add_space(4.0);
}

/// Where the metal goes, kg.
fn metal(ui: &mut Ui, c: &Colours, session: &Session, way: &Way) {
    let Some(posed) = session.compare().running().and_then(|r| r.posed()) else { return };
    let metal = way.metal(&posed.question);
    let says = format!(
        "Metal: {:.1} kg pulled, {:.1} kg go back, {:.1} kg scrap; yield {:.0} %.",
        metal.pulled,
        metal.back,
        metal.scrap,
        100.0 * way.metal_yield(&posed.question)
    );
    ui.add(Label::new(RichText::new(says).font(theme::small()).color(c.quiet)).wrap());
}
