//! A cut list pasted as a table, looked at before it is taken.

use eframe::egui::{Context, Grid, RichText, ScrollArea, TextEdit, Ui, vec2};
use oddment_app::act::Act;
use oddment_app::bars::{BarOrder, find_profile};
use oddment_app::session::Session;
use oddment_core::units::LengthUnit;
use oddment_files::bars::{Column, Table, is_same_name, read_table};
use oddment_files::words::counted;

use super::change;
use crate::theme::{self, Colours, Weight};

/// Rows that the preview shows.
const SHOWN: usize = 10;

/// The table while it is looked at.
pub(super) struct PasteCard {
    text: String,
    unit: LengthUnit,
    /// What was read, and of which text.
    read: Option<(String, LengthUnit, Table)>,
    begun: bool,
}

impl PasteCard {
    pub(super) fn new(text: &str, session: &Session) -> Self {
        let unit = session.settings().unit();
        Self { text: text.to_owned(), unit, read: None, begun: false }
    }

    /// Draws the card; whether it is closed.
    pub(super) fn show(
        &mut self,
        ctx: &Context,
        c: &Colours,
        session: &Session,
        acts: &mut Vec<Act>,
    ) -> bool {
        let mut closed = false;
        let given_up = theme::modal(ctx, c, "Paste a cut list", 1000.0, |ui| {
            let screen = ctx.content_rect();
            ui.horizontal(|ui| {
                let help = "A row for each part; with or without headings: length, count, name, \
                            angle 1, angle 2, profile, material, priority. Bare numbers are";
                ui.label(RichText::new(help).font(theme::small()).color(c.quiet));
                for unit in [LengthUnit::Mm, LengthUnit::Inch] {
                    if theme::choice(ui, c, &unit.to_string(), self.unit == unit).clicked() {
                        self.unit = unit;
                    }
                }
            });
            let high = (screen.height() - 300.0).clamp(160.0, 400.0);
            ui.horizontal_top(|ui| {
                ScrollArea::vertical().id_salt("pasted").max_height(high).max_width(380.0).show(
                    ui,
                    |ui| {
                        let edit = TextEdit::multiline(&mut self.text)
                            .hint_text("712, 8, rail\n1200, 4, post")
                            .desired_width(360.0)
                            .desired_rows(14)
                            .min_size(vec2(360.0, high - 10.0));
                        let field = ui.add(edit).accessible_name("cut list");
                        if !std::mem::replace(&mut self.begun, true) {
                            field.request_focus();
                        }
                    },
                );
                ScrollArea::vertical().id_salt("read").max_height(high).show(ui, |ui| {
                    ui.vertical(|ui| self.preview(ui, c, session));
                });
            });
            ui.horizontal(|ui| {
                let taken = self.taken(session);
                let name = match &taken {
                    Some((n, _)) => format!("Take {}", counted(*n, "line", "lines")),
                    None => "Take them".to_owned(),
                };
                let take = ui.add_enabled_ui(taken.is_some(), |ui| {
                    theme::button(ui, c, &name, "", Weight::Plain).clicked()
                });
                if take.inner
                    && let Some((n, order)) = taken
                {
                    acts.push(change(format!("Add {}", counted(n, "line", "lines")), order));
                    closed = true;
                }
                if theme::button(ui, c, "Cancel", "Esc", Weight::Words).clicked() {
                    closed = true;
                }
            });
        });
        closed || given_up
    }

    /// The table, read anew where something was typed.
    fn table(&mut self) -> &Table {
        let fresh = self.read.as_ref().is_some_and(|(t, u, _)| *t == self.text && *u == self.unit);
        if !fresh {
            self.read = None;
        }
        let (_, _, table) = self.read.get_or_insert_with(|| {
            (self.text.clone(), self.unit, read_table(&self.text, self.unit))
        });
        table
    }

    /// The order with what can be taken; `None` while something is wrong.
    fn taken(&mut self, session: &Session) -> Option<(usize, BarOrder)> {
        if self.refused(session).is_some() {
            return None;
        }
        let mut order = session.bars().order().clone();
        let table = self.table();
        if !table.faults.is_empty() || table.parts.is_empty() {
            return None;
        }
        if order.list.parts.is_empty() {
            if let Some(said) = &table.profile {
                order.list.profile = Some(find_profile(session, said)?);
            }
            if let Some(said) = &table.material {
                order.list.material.clone_from(said);
            }
        }
        order.list.parts.extend(table.parts.iter().map(|(_, part)| part.clone()));
        Some((table.parts.len(), order))
    }

    /// How the text was understood.
    fn preview(&mut self, ui: &mut Ui, c: &Colours, session: &Session) {
        if self.text.trim().is_empty() {
            ui.label(RichText::new("How it is understood is shown here.").color(c.quiet));
            return;
        }
        let table = self.table();
        let how = if table.headed { "by their headings" } else { "by what stands in them" };
        let says = format!(
            "{}; columns found {how}; bare numbers are {}.",
            counted(table.parts.len(), "line", "lines"),
            table.unit
        );
        ui.label(RichText::new(says).font(theme::small()).color(c.quiet));
        for fault in table.faults.iter().take(SHOWN) {
            ui.label(RichText::new(fault.to_string()).color(c.short));
        }
        if table.faults.len() > SHOWN {
            let more = format!("and {} faults more", table.faults.len() - SHOWN);
            ui.label(RichText::new(more).color(c.short));
        }
        if let Some(why) = self.refused(session) {
            ui.label(RichText::new(why).color(c.short));
        }
        let table = self.table();
        let unit = table.unit;
        let angles = table.columns.iter().any(|c| matches!(c, Some(Column::End(_))));
        Grid::new("read table").striped(true).spacing(vec2(18.0, 4.0)).show(ui, |ui| {
            let mut heads = vec!["line", "name", "length", "count"];
            if angles {
                heads.push("ends");
            }
            for head in heads {
                ui.label(RichText::new(head).font(theme::small()).color(c.quiet));
            }
            ui.end_row();
            for (line, part) in table.parts.iter().take(SHOWN) {
                ui.label(RichText::new(line.to_string()).color(c.quiet));
                ui.label(&part.name);
                let length = format!("{} {unit}", unit.show(part.length));
                ui.label(RichText::new(length).font(theme::strong()));
                ui.label(format!("× {}", part.count));
                if angles {
                    let [a, b] = part.ends.map(f64::to_degrees);
                    ui.label(format!("{a:.1}° / {b:.1}°"));
                }
                ui.end_row();
            }
        });
        if table.parts.len() > SHOWN {
            let more = format!("and {} more", table.parts.len() - SHOWN);
            ui.label(RichText::new(more).color(c.quiet));
        }
    }

    /// Why lines that are sound do not go into this order.
    fn refused(&mut self, session: &Session) -> Option<String> {
        let of = session.bars().order();
        let has_parts = !of.list.parts.is_empty();
        let table = self.table();
        let other = |known: &str, said: &str| !is_same_name(known, said);
        let apart = "Plan each in an order of its own: “New order of bars” in All acts.";
        if let Some(said) = &table.material
            && has_parts
            && !of.list.material.is_empty()
            && other(&of.list.material, said)
        {
            return Some(format!(
                "The lines are of {said}, and the order is of {}. {apart}",
                of.list.material
            ));
        }
        let said = table.profile.as_ref()?;
        let known = of.list.profile.as_ref().is_some_and(|p| !other(&p.name, said));
        if known {
            None
        } else if has_parts {
            let profile = super::profile_name(of);
            Some(format!("The lines are of {said}, and the order is of {profile}. {apart}"))
        } else if find_profile(session, said).is_none() {
            Some(format!(
                "The profile {said} is not known here: say its kind and measures on the card above \
                 the order first."
            ))
        } else {
            None
        }
    }
}
