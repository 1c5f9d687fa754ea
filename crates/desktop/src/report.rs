//! What there is to say about drawings that were read, and about files that could not be.

use eframe::egui::{Rect, RichText, ScrollArea, Ui, pos2};
use oddment_app::act::Act;
use oddment_app::exchange::{ReadAs, ReadDrawing};
use oddment_app::session::Session;
use oddment_core::units::LengthUnit;

use crate::sheet::{card, child};
use crate::theme::{self, Colours, Weight};

/// Draws the card below the strong button, while there is something to say.
pub(crate) fn show(ui: &mut Ui, c: &Colours, session: &Session, place: Rect, acts: &mut Vec<Act>) {
    if session.report().is_empty() && session.problems().is_empty() {
        return;
    }
    // As high as what it said in the frame before.
    let id = ui.scope_id().with("report height");
    let high = ui.data(|d| d.get_temp(id)).unwrap_or(200f32).min(place.height() - 190.0);
    let mut used = 0.0;
    let right = place.right() - 20.0;
    let rect = Rect::from_min_max(
        pos2(right - 460.0, place.top() + 4.0),
        pos2(right, place.top() + 4.0 + high),
    );
    card(&mut child(ui, rect, "report"), c, rect, |ui| {
        let room = place.height() - 270.0;
        ScrollArea::vertical().max_height(room).auto_shrink([false, true]).show(ui, |ui| {
            for problem in session.problems() {
                ui.label(RichText::new(problem).color(c.text));
            }
            for drawing in session.report() {
                one(ui, c, drawing, session.settings().unit());
            }
        });
        ui.horizontal(|ui| {
            if theme::button(ui, c, "Good", "", Weight::Plain).clicked() {
                acts.push(Act::CloseReport);
            }
            choices(ui, c, session.report(), acts);
        });
        used = ui.cursor().top() - rect.top() + 8.0;
    });
    if used != high {
        ui.data_mut(|d| d.insert_temp(id, used));
        ui.ctx().request_repaint();
    }
}

/// One drawing: its name, what was found in it, and what was done about the rest.
fn one(ui: &mut Ui, c: &Colours, drawing: &ReadDrawing, unit: LengthUnit) {
    ui.label(RichText::new(drawing.name()).font(theme::strong()));
    if let (Some(pieces), Some(units)) = (drawing.pieces_in_words(unit), drawing.units_in_words()) {
        ui.label(RichText::new(format!("{pieces}; {units}")).color(c.quiet));
    }
    for (text, must_settle) in drawing.problems_in_words() {
        let text = if must_settle { format!("settle: {text}") } else { text };
        let ink = if must_settle { c.short } else { c.text };
        ui.label(RichText::new(text).font(theme::small()).color(ink));
    }
    ui.add_space(4.0);
}

/// The same drawings in other units, or for something else.
fn choices(ui: &mut Ui, c: &Colours, report: &[ReadDrawing], acts: &mut Vec<Act>) {
    let Some(first) = report.first() else { return };
    let Ok(drawing) = &first.found else { return };
    let now = first.read_as;
    let in_inches = (drawing.units.mm_per_unit - LengthUnit::Inch.in_mm()).abs() < 1e-9;
    let (other, name) = if in_inches {
        (LengthUnit::Mm, "Read as mm")
    } else {
        (LengthUnit::Inch, "Read as inches")
    };
    if theme::button(ui, c, name, "", Weight::Words).clicked() {
        acts.push(Act::ReadAgain(now, Some(other)));
    }
    let kept = if in_inches { LengthUnit::Inch } else { LengthUnit::Mm };
    if now == ReadAs::Parts
        && report.len() == 1
        && theme::button(ui, c, "It is the sheet", "", Weight::Words).clicked()
    {
        acts.push(Act::ReadAgain(ReadAs::Sheet, units_again(drawing.units.mm_per_unit, kept)));
    }
}

/// The unit to read again in, where the drawing was in one of the two.
fn units_again(mm_per_unit: f64, kept: LengthUnit) -> Option<LengthUnit> {
    ((mm_per_unit - kept.in_mm()).abs() < 1e-9).then_some(kept)
}
