//! What the machine loads, as one field: its bed, the heaviest sheet, the most bow.

use eframe::egui::{RichText, TextEdit, Ui, vec2};
use oddment_app::act::Act;
use oddment_app::session::Session;
use oddment_core::units::{LengthUnit, parse_length};
use oddment_rack::find::Loadable;

use crate::theme::{self, Colours};

/// Width of the field.
const WIDTH: f32 = 190.0;

/// Width of the field with its name.
const NAMED: f32 = WIDTH + 130.0;

/// What is shown while nothing is set.
fn example(unit: LengthUnit) -> String {
    let (bed, bow) = match unit {
        LengthUnit::Inch => ([120.0, 60.0], 0.25),
        _ => ([3000.0, 1500.0], 5.0),
    };
    let mm = |typed: f64| typed * unit.in_mm();
    let bed = Some(bed.map(mm));
    loads_text(&Loadable { bed, weight: Some(45.0), bow: Some(mm(bow)) }, unit)
}

/// How a size is written.
pub(crate) fn size_example(unit: LengthUnit) -> &'static str {
    match unit {
        LengthUnit::Mm => "980x610",
        LengthUnit::Inch => "39x24",
    }
}

/// The field: what is being typed, and nothing while what is set is shown.
#[derive(Default)]
pub(crate) struct LoadsField {
    typed: Option<String>,
}

impl LoadsField {
    /// What the machine can load, with its name before it on the same line: sheets that it can't are left
    /// out of what has room.
    pub(crate) fn show(
        &mut self,
        ui: &mut Ui,
        c: &Colours,
        session: &Session,
        acts: &mut Vec<Act>,
    ) {
        let unit = session.settings().unit();
        if ui.available_size_before_wrap().x < NAMED {
            ui.end_row();
        }
        ui.label(RichText::new("on a machine of").color(c.quiet));
        let mut text = match &self.typed {
            Some(typed) => typed.clone(),
            None => loads_text(&session.settings().loadable, unit),
        };
        let field = TextEdit::singleline(&mut text)
            .hint_text(example(unit))
            .desired_width(WIDTH)
            .align(eframe::egui::Align2::LEFT_CENTER)
            .min_size(vec2(WIDTH, c.touch - 8.0));
        let field = ui.add(field).accessible_name("what the machine loads").on_hover_text(format!(
            "Its bed, the heaviest sheet and the most bow, such as {}",
            example(unit)
        ));
        if field.changed() {
            self.typed = Some(text.clone());
        }
        let Some(typed) = self.typed.as_ref().filter(|_| !field.has_focus()) else { return };
        match loads(typed, unit) {
            Some(loadable) => {
                acts.push(Act::SetLoadable(loadable));
                self.typed = None;
            }
            None => {
                let text = format!("write for example {}", example(unit));
                ui.label(RichText::new(text).color(c.short).font(theme::small()));
            }
        }
    }
}

/// Width and height, mm, of a typed size.
pub(crate) fn size(text: &str, unit: LengthUnit) -> Option<[f64; 2]> {
    let (width, height) = text.split_once(['x', 'X', '×', '*'])?;
    let side = |text: &str| parse_length(text, unit).ok().filter(|mm| *mm >= 1.0);
    Some([side(width)?, side(height)?])
}

/// What a machine loads: its bed's sides, “kg” after the heaviest weight, “bow” before the most bow.
fn loads(text: &str, unit: LengthUnit) -> Option<Loadable> {
    let mut loadable = Loadable::default();
    for word in text.split_whitespace() {
        let word = word.to_lowercase();
        if let Some(kg) = word.strip_suffix("kg") {
            loadable.weight = Some(kg.parse().ok().filter(|kg: &f64| *kg > 0.0)?);
        } else if let Some(bow) = word.strip_prefix("bow") {
            loadable.bow = Some(parse_length(bow, unit).ok().filter(|mm| *mm >= 0.0)?);
        } else {
            loadable.bed = Some(size(&word, unit)?);
        }
    }
    Some(loadable)
}

/// As [`loads`] reads it.
fn loads_text(loadable: &Loadable, unit: LengthUnit) -> String {
    let length = |mm: f64| mm / unit.in_mm();
    let words = [
        loadable.bed.map(|[w, h]| format!("{}x{}", length(w), length(h))),
        loadable.weight.map(|kg| format!("{kg}kg")),
        loadable.bow.map(|mm| format!("bow{}", length(mm))),
    ];
    words.into_iter().flatten().collect::<Vec<_>>().join(" ")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_a_machine_loads_reads_back() {
        let all = Loadable { bed: Some([3000.0, 1500.0]), weight: Some(45.0), bow: Some(5.0) };
        assert_eq!(loads("3000x1500 45kg bow5", LengthUnit::Mm), Some(all));
        for unit in [LengthUnit::Mm, LengthUnit::Inch] {
            let back = loads(&loads_text(&all, unit), unit).unwrap();
            assert!((back.bed.unwrap()[0] - 3000.0).abs() < 1e-9);
            assert_eq!(back.weight, Some(45.0));
        }
        assert_eq!(loads(" ", LengthUnit::Mm), Some(Loadable::default()));
        for odd in ["heavy", "3000", "-5kg", "bow"] {
            assert_eq!(loads(odd, LengthUnit::Mm), None, "{odd}");
        }
    }

    #[test]
    fn sizes_are_read_as_people_write_them() {
        assert_eq!(size("400x300", LengthUnit::Mm), Some([400.0, 300.0]));
        assert_eq!(size(" 400 × 300 mm", LengthUnit::Mm), Some([400.0, 300.0]));
        let inches = size("10x1/2", LengthUnit::Inch).unwrap();
        assert!((inches[0] - 254.0).abs() < 1e-9 && (inches[1] - 12.7).abs() < 1e-9);
        for odd in ["", "400", "0x300", "ax3", "-4x5"] {
            assert_eq!(size(odd, LengthUnit::Mm), None, "{odd}");
        }
    }
}
