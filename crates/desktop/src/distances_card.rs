//! The distances to keep, typed.

use std::sync::Arc;

use eframe::egui::{Context, Grid, RichText, TextEdit, vec2};
use oddment_app::act::Act;
use oddment_core::distances::{Clearances, EdgeDistance};
use oddment_core::units::{LengthUnit, parse_length};
use oddment_files::values::Values;
use oddment_files::words::thickness_words;

use crate::theme::{self, Colours, Weight};

/// The distances while they are being changed, as typed.
pub(crate) struct DistancesCard {
    fields: [String; 7],
    common: bool,
    unit: LengthUnit,
    thickness: Option<f64>,
    values: Arc<Values>,
    fault: Option<String>,
}

/// What became of the card in a frame.
pub(crate) enum Outcome {
    /// Still open.
    Open,
    /// Closed; nothing is changed.
    Closed,
    /// Closed, and this is to be done.
    Done(Act),
}

const ROWS: [(&str, &str); 7] = [
    ("kerf", "full width of the slot"),
    ("web", "metal left between two cuts"),
    ("edge, mill", "metal left along a mill edge"),
    ("edge, sheared", "along a sheared edge"),
    ("edge, own cut", "along an edge cut here"),
    ("sensing", "where the head loses the surface beside an old edge"),
    ("lay", "how far the sheet may lie from where the plan has it"),
];

impl DistancesCard {
    /// Opens the card on these distances; the shop's values are offered for `thickness`.
    pub(crate) fn new(
        now: &Clearances,
        unit: LengthUnit,
        thickness: Option<f64>,
        values: Arc<Values>,
    ) -> Self {
        let (fields, common) = (as_text(now, unit), now.common);
        Self { fields, common, unit, thickness, values, fault: None }
    }

    /// Draws the card.
    pub(crate) fn show(&mut self, ctx: &Context, c: &Colours) -> Outcome {
        let mut outcome = Outcome::Open;
        let title = format!("Distances to keep, {}", self.unit);
        let given_up = theme::modal(ctx, c, &title, 620.0, |ui| {
            self.starting_values(ui, c);
            Grid::new("distances").num_columns(3).spacing(vec2(14.0, 6.0)).show(ui, |ui| {
                for ((name, help), text) in ROWS.iter().zip(&mut self.fields) {
                    ui.label(*name);
                    ui.add(
                        TextEdit::singleline(text)
                            .desired_width(90.0)
                            .min_size(vec2(90.0, 36.0))
                            .align(eframe::egui::Align2::RIGHT_CENTER),
                    )
                    .accessible_name(*name);
                    ui.label(RichText::new(*help).font(theme::small()).color(c.quiet));
                    ui.end_row();
                }
            });
            let says = "straight edges a kerf apart may share one cut";
            if theme::choice(ui, c, says, self.common).clicked() {
                self.common = !self.common;
            }
            if let Some(fault) = &self.fault {
                ui.label(RichText::new(fault).color(c.short));
            }
            ui.horizontal(|ui| {
                let enter = ui.input(|i| i.key_pressed(eframe::egui::Key::Enter));
                if theme::button(ui, c, "Use these", "Enter", Weight::Plain).clicked() || enter {
                    match from_text(&self.fields, self.unit) {
                        Ok(typed) => {
                            let clearances = Clearances { common: self.common, ..typed };
                            outcome = Outcome::Done(Act::SetClearances(clearances));
                        }
                        Err(fault) => self.fault = Some(fault),
                    }
                }
                if theme::button(ui, c, "Cancel", "Esc", Weight::Words).clicked() {
                    outcome = Outcome::Closed;
                }
            });
        });
        if given_up && matches!(outcome, Outcome::Open) {
            outcome = Outcome::Closed;
        }
        outcome
    }

    /// The values of the shop, by machine.
    fn starting_values(&mut self, ui: &mut eframe::egui::Ui, c: &Colours) {
        let Some(thickness) = self.thickness else { return };
        let at = thickness_words(thickness, self.unit);
        let says = format!("The shop’s values at {at}; see the place Shop:");
        ui.label(RichText::new(says).font(theme::small()).color(c.quiet));
        let mut chosen = None;
        ui.horizontal(|ui| {
            for machine in &self.values.table().machines {
                let clearances = self.values.clearances(Some(&machine.name), thickness);
                let Some(clearances) = clearances else { continue };
                if theme::button(ui, c, &machine.name, "", Weight::Words).clicked() {
                    chosen = Some(clearances);
                }
            }
        });
        if let Some(clearances) = chosen {
            self.fields = as_text(&clearances, self.unit);
        }
    }
}

fn as_text(d: &Clearances, unit: LengthUnit) -> [String; 7] {
    [d.kerf, d.web, d.edge.mill, d.edge.sheared, d.edge.own_cut, d.sensing, d.lay].map(|mm| {
        // Rounded to what reads back within 0.1 µm, without trailing zeros.
        let value = (mm / unit.in_mm() * 1e6).round() / 1e6;
        value.to_string()
    })
}

fn from_text(fields: &[String; 7], unit: LengthUnit) -> Result<Clearances, String> {
    let mut read = [0.0; 7];
    for (((name, _), text), out) in ROWS.iter().zip(fields).zip(&mut read) {
        let mm = parse_length(text, unit).map_err(|fault| format!("{name}: {fault}"))?;
        if !(0.0..=1000.0).contains(&mm) {
            return Err(format!("{name}: from 0 to 1000 mm"));
        }
        *out = mm;
    }
    let [kerf, web, mill, sheared, own_cut, sensing, lay] = read;
    let edge = EdgeDistance { own_cut, sheared, mill };
    Ok(Clearances { kerf, web, edge, sensing, lay, ..Clearances::NONE })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn distances_read_back_as_they_are_shown() {
        let given = Clearances {
            kerf: 0.3,
            web: 2.0,
            edge: EdgeDistance { own_cut: 1.0, sheared: 2.5, mill: 5.0 },
            sensing: 2.0,
            lay: 0.7,
            common: false,
        };
        for unit in [LengthUnit::Mm, LengthUnit::Inch] {
            let read = from_text(&as_text(&given, unit), unit).unwrap();
            assert!((read.kerf - given.kerf).abs() < 1e-4 && (read.lay - given.lay).abs() < 1e-4);
            assert!((read.edge.sheared - given.edge.sheared).abs() < 1e-4);
        }
    }

    #[test]
    fn what_is_no_distance_is_said_with_its_name() {
        let mut fields = as_text(&Clearances::NONE, LengthUnit::Mm);
        fields[1] = "wide".into();
        assert!(from_text(&fields, LengthUnit::Mm).unwrap_err().starts_with("web:"));
        fields[1] = "-1".into();
        assert!(from_text(&fields, LengthUnit::Mm).unwrap_err().starts_with("web:"));
    }
}
