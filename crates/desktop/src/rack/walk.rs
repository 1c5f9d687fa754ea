//! The end of a stock-take: how what was said differs from what was known, before it is made so.

use eframe::egui::{Context, RichText, ScrollArea, Ui};
use oddment_app::act::Act;
use oddment_app::rack::{Desk, RackAct};
use oddment_rack::stock_take::{Differences, Mark, StockTake};

use crate::theme::{self, Colours, Weight};

/// Draws the card; whether it is done with.
pub(super) fn ask_end(ctx: &Context, c: &Colours, desk: &Desk, acts: &mut Vec<Act>) -> bool {
    let Some(walk) = &desk.listing().walk else { return true };
    let mut closed = false;
    let given_up = theme::modal(ctx, c, "The stock-take so far", 620.0, |ui| {
        let high = (ctx.content_rect().height() - 260.0).max(160.0);
        ScrollArea::vertical().max_height(high).show(ui, |ui| so_far(ui, c, desk, walk));
        ui.horizontal_wrapped(|ui| {
            let all_said = walk.left.is_empty();
            let end = if all_said { "End it" } else { "End it, the rest stays as it was" };
            if theme::button(ui, c, end, "", Weight::Plain).clicked() {
                acts.push(Act::Rack(RackAct::EndWalk(false)));
                closed = true;
            }
            if !all_said
                && theme::button(ui, c, "End it, the rest is missing", "", Weight::Plain).clicked()
            {
                acts.push(Act::Rack(RackAct::EndWalk(true)));
                closed = true;
            }
            closed |= theme::button(ui, c, "Go on with it", "Esc", Weight::Words).clicked();
        });
    });
    closed || given_up
}

/// What differs, sheet by sheet.
fn so_far(ui: &mut Ui, c: &Colours, desk: &Desk, walk: &StockTake) {
    let stood = |label: &str| {
        let entry = desk.listing().sheets.iter().find(|e| e.label == label);
        entry.map(|e| e.facts.stands.as_str()).filter(|s| !s.is_empty()).unwrap_or("no place")
    };
    let there = walk.marks.iter().filter(|(_, mark)| *mark == Mark::There).count();
    ui.label(match there {
        1 => "One is where it should be.".to_owned(),
        many => format!("{many} are where they should be."),
    });
    for (label, mark) in &walk.marks {
        let (text, ink) = match mark {
            Mark::There => continue,
            Mark::Missing => (format!("{label} is missing from {}", stood(label)), c.short),
            Mark::Moved(place) => {
                (format!("{label} moved from {} to {place}", stood(label)), c.text)
            }
            Mark::Damaged(how) => (format!("{label} is damaged: {how}"), c.short),
        };
        ui.label(RichText::new(text).color(ink));
    }
    if !walk.left.is_empty() {
        let labels: Vec<&str> = walk.left.iter().map(|e| e.label.as_str()).collect();
        let text = format!("{} not looked at yet: {}", labels.len(), labels.join(", "));
        ui.label(RichText::new(text).color(c.quiet));
    }
}

/// A stock-take that has ended, in one line.
pub(super) fn ended(told: &Differences) -> String {
    let mut text = format!("Stock-take: {} there", told.there);
    let moved: Vec<&String> = told.moved.iter().map(|(label, ..)| label).collect();
    let damaged: Vec<&String> = told.damaged.iter().map(|(label, _)| label).collect();
    for (what, labels) in [
        ("missing", told.missing.iter().collect()),
        ("moved", moved),
        ("damaged", damaged),
        ("found again", told.found.iter().collect()),
    ] {
        text += &match &labels[..] {
            [] => continue,
            few @ ([_] | [_, _] | [_, _, _]) => {
                let few: Vec<&str> = few.iter().map(|l| l.as_str()).collect();
                format!(", {what}: {}", few.join(" "))
            }
            many => format!(", {} {what}", many.len()),
        };
    }
    match told.not_seen.len() {
        0 => text + ".",
        n => format!("{text}, {n} not looked at."),
    }
}
