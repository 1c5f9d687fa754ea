//! What stands on the top line for the sheet.

use eframe::egui::{RichText, Ui};
use oddment_app::act::Act;
use oddment_app::rack::RackAct;
use oddment_app::session::Session;
use oddment_core::sheet::Sheet;
use oddment_core::units::LengthUnit;
use oddment_files::words::thickness_words;

use crate::theme::{self, Colours, Weight};
use crate::top_line::Word;

/// The strong button.
pub(crate) fn fill(ui: &mut Ui, c: &Colours, acts: &mut Vec<Act>) {
    if theme::button(ui, c, "Fill", "F", Weight::Strong)
        .on_hover_text("Places the order's parts around what is locked")
        .clicked()
    {
        acts.push(Act::Fill);
    }
}

/// What else is done with the plan.
pub(crate) fn words(session: &Session) -> Vec<Word> {
    let mut words = Vec::from(Word::steps(session.undoes_and_redoes(), (Act::Undo, Act::Redo)));
    if session.rack().is_some() {
        let says = "It was cut as planned: the parts leave the sheet, in the rack too".to_owned();
        let says = match outlook(session) {
            Some((words, _)) => format!("{says}. {words}"),
            None => says,
        };
        let record = Act::Rack(RackAct::Record(Box::default()));
        let can = session.can_record();
        words.push(Word::new("Record the cut", &says, record).plain().where_it(can));
        let says = "What is good, scrap or was not begun; what stays and what is scrap";
        words.push(Word::new("Part by part", says, Act::RecordParts).where_it(can));
    }
    words.push(Word::new("Export", "Cut, layout and set-up sheet, to print too", Act::Export));
    words.push(Word::new("Save", "Saves the plan", Act::Save));
    words.push(Word::new("Open", "Opens a plan or a job", Act::Open));
    words
}

/// What recording the cut as planned does, and whether it takes what a person may want to keep, or see to
/// first.
pub(crate) fn outlook(session: &Session) -> Option<(String, bool)> {
    let preview = session.outlook()?;
    let currency = session.rack()?.currency();
    let recorded = &preview.recorded;
    let mut words = format!("Record the cut: {}.", preview.words(currency));
    for warning in &recorded.warnings {
        words += " ";
        words += warning;
    }
    Some((words, recorded.kept.is_empty() || !recorded.warnings.is_empty()))
}

/// The sheet that is shown, and the way to the others.
pub(crate) fn show(ui: &mut Ui, c: &Colours, session: &Session, acts: &mut Vec<Act>) {
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
    // As much of it as there is room for.
    let room = ui.available_width() - 24.0;
    let shown = theme::shortened(ui, &text, &theme::body(), room);
    if theme::sign_button(ui, c, &shown, "", Weight::Words, &format!("The sheet: {text}"))
        .on_hover_text("Its metal, grain and size; or a plain sheet")
        .clicked()
    {
        acts.push(Act::SheetFacts);
    }
}

/// “R-0147 · 3 mm S235 · 980 × 610”.
fn describe(sheet: &Sheet, unit: LengthUnit) -> String {
    format!("{} · {}", sheet.name, facts(sheet, unit))
}

/// “3 mm S235 · 980 × 610”.
pub(super) fn facts(sheet: &Sheet, unit: LengthUnit) -> String {
    let bounds = sheet.bounds();
    let size = |mm: f64| match unit {
        LengthUnit::Mm => format!("{mm:.0}"),
        LengthUnit::Inch => format!("{:.2}", mm / unit.in_mm()),
    };
    let mut text = String::new();
    if let Some(metal) = &sheet.made_of {
        let thick = thickness_words(metal.thickness, unit);
        text += &format!("{thick} {} · ", metal.material);
    }
    text += &format!("{} × {}", size(bounds.width()), size(bounds.height()));
    if let Some(grain) = sheet.grain {
        text += &format!(" · grain {}", grain_words(grain));
    }
    text
}

/// “along X”, or an angle.
fn grain_words(grain: f64) -> String {
    let degrees = grain.to_degrees().rem_euclid(180.0);
    if !(0.05..=179.95).contains(&degrees) {
        "along X".into()
    } else if (degrees - 90.0).abs() < 0.05 {
        "along Y".into()
    } else {
        format!("at {degrees:.1}°")
    }
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
        sheet.grain = Some(std::f64::consts::FRAC_PI_2);
        assert!(describe(&sheet, LengthUnit::Mm).ends_with("grain along Y"));
    }

    #[test]
    fn grain_has_no_sense() {
        assert_eq!(grain_words(std::f64::consts::PI), "along X");
        assert_eq!(grain_words(-0.5f64.to_radians()), "at 179.5°");
    }
}
