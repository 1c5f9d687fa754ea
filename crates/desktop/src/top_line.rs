//! The line along the top: the places, the sheet that is shown, and what is done with the whole.

use eframe::egui::{Align, Layout, RichText, Ui};
use oddment_app::act::Act;
use oddment_app::session::Session;
use oddment_core::sheet::Sheet;
use oddment_core::units::LengthUnit;

use crate::sheet::fill_button;
use crate::theme::{self, Colours, Weight};

/// Its height.
pub(crate) const HEIGHT: f32 = 64.0;

/// Draws the line.
pub(crate) fn show(ui: &mut Ui, c: &Colours, session: &Session, acts: &mut Vec<Act>) {
    ui.with_layout(Layout::left_to_right(Align::Center), |ui| {
        let name = ui.label(RichText::new("Sheet").font(theme::large_strong()));
        let under = name.rect.bottom() + 2.0;
        let line = eframe::egui::Stroke::new(2.5, c.strong);
        ui.painter().hline(name.rect.x_range(), under, line);
        ui.add_space(18.0);
        sheet_name(ui, c, session, acts);
        ui.with_layout(Layout::right_to_left(Align::Center), |ui| {
            ui.spacing_mut().item_spacing.x = 2.0;
            fill_button(ui, c, acts);
            ui.add_space(10.0);
            if theme::button(ui, c, "All acts", "/", Weight::Words).clicked() {
                acts.push(Act::FindAct);
            }
            let theme_name = if session.settings().dark { "Light" } else { "Dark" };
            if theme::button(ui, c, theme_name, "", Weight::Words).clicked() {
                acts.push(Act::ToggleTheme);
            }
            let unit = session.settings().unit();
            let response = theme::button(ui, c, &unit.to_string(), "", Weight::Words);
            if response.on_hover_text("Millimetres or inches").clicked() {
                acts.push(Act::ToggleUnit);
            }
            ui.add_space(10.0);
            for (name, act) in [("Export", Act::Export), ("Save", Act::Save), ("Open", Act::Open)] {
                if theme::button(ui, c, name, "", Weight::Words).clicked() {
                    acts.push(act);
                }
            }
        });
    });
}

/// The sheet that is shown, and the way to the others.
fn sheet_name(ui: &mut Ui, c: &Colours, session: &Session, acts: &mut Vec<Act>) {
    let Some(slot) = session.slot() else { return };
    let sheet = &session.view().job().stock[slot.stock].sheet;
    let text = describe(sheet, session.settings().unit());
    let (at, of) = session.shown();
    if of > 1 {
        if at > 0 && theme::sign_button(ui, c, "‹", "", Weight::Words, "Sheet before").clicked() {
            acts.push(Act::PreviousSheet);
        }
        ui.label(RichText::new(format!("{} of {of}", at + 1)).color(c.quiet));
        if at + 1 < of && theme::sign_button(ui, c, "›", "", Weight::Words, "Next sheet").clicked()
        {
            acts.push(Act::NextSheet);
        }
    }
    ui.label(RichText::new(text).color(c.quiet));
}

/// “R-0147 · 3 mm S235 · 980 × 610”.
fn describe(sheet: &Sheet, unit: LengthUnit) -> String {
    let bounds = sheet.bounds();
    let size = |mm: f64| match unit {
        LengthUnit::Mm => format!("{mm:.0}"),
        LengthUnit::Inch => format!("{:.2}", mm / unit.in_mm()),
    };
    let mut text = sheet.name.clone();
    if let Some(metal) = &sheet.made_of {
        let thick = match unit {
            LengthUnit::Mm => format!("{} mm", metal.thickness),
            LengthUnit::Inch => format!("{:.3} in", metal.thickness / unit.in_mm()),
        };
        text += &format!(" · {thick} {}", metal.material);
    }
    text + &format!(" · {} × {}", size(bounds.width()), size(bounds.height()))
}

#[cfg(test)]
mod tests {
    use super::*;
    use oddment_core::shape::{Loop, Point, Region};
    use oddment_core::sheet::{EdgeFacts, Metal};

    #[test]
    fn a_sheet_is_described_in_either_unit() {
        let outer = Loop::rectangle(Point::origin(), Point::new(980.0, 609.6)).unwrap();
        let mut sheet =
            Sheet::new("R-0147", &[Region::new(outer, Vec::new())], EdgeFacts::default());
        assert_eq!(describe(&sheet, LengthUnit::Mm), "R-0147 · 980 × 610");
        sheet.made_of = Some(Metal { material: "S235".into(), thickness: 3.0, density: 7850.0 });
        assert_eq!(describe(&sheet, LengthUnit::Mm), "R-0147 · 3 mm S235 · 980 × 610");
        assert_eq!(describe(&sheet, LengthUnit::Inch), "R-0147 · 0.118 in S235 · 38.58 × 24.00");
    }
}
