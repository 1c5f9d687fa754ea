//! The filter: words that sheets must match, and what they must have room for.

use eframe::egui::{Align, Key, Layout, Rect, RichText, TextEdit, Ui, vec2};
use oddment_app::act::Act;
use oddment_app::rack::{Desk, RackAct, Sought};
use oddment_app::session::Session;
use oddment_core::part::Part;
use oddment_core::shape::{Loop, Point, Region};
use oddment_core::units::{LengthUnit, parse_length};
use oddment_rack::find::Loadable;

use crate::sheet::card;
use crate::theme::{self, Colours, Weight};

/// What is typed.
#[derive(Default)]
pub(super) struct Bar {
    typed: String,
    size: String,
    fault: bool,
    /// What the machine loads, as typed; as it is set where nothing is being typed.
    loads: Option<String>,
}

impl Bar {
    /// The words that sheets must match.
    pub(super) fn typed(&self) -> &str {
        &self.typed
    }

    pub(super) fn show(
        &mut self,
        ui: &mut Ui,
        c: &Colours,
        session: &Session,
        desk: &Desk,
        rect: Rect,
        acts: &mut Vec<Act>,
    ) {
        card(ui, c, rect, |ui| {
            ui.with_layout(Layout::left_to_right(Align::Center), |ui| {
                let field = TextEdit::singleline(&mut self.typed)
                    .hint_text("label, material, place, heat, order …")
                    .desired_width(260.0)
                    .align(eframe::egui::Align2::LEFT_CENTER)
                    .min_size(vec2(260.0, c.touch - 8.0));
                ui.add(field).accessible_name("filter the rack");
                ui.label(RichText::new("has room for").color(c.quiet));
                self.parts(ui, c, session, desk, acts);
                let field = TextEdit::singleline(&mut self.size)
                    .hint_text("or W×H")
                    .desired_width(100.0)
                    .align(eframe::egui::Align2::LEFT_CENTER)
                    .min_size(vec2(100.0, c.touch - 8.0));
                let field = ui.add(field).accessible_name("has room for a size");
                if field.lost_focus() && ui.input(|i| i.key_pressed(Key::Enter)) {
                    let unit = session.settings().unit();
                    match rectangle(&self.size, unit) {
                        Some(part) => {
                            self.fault = false;
                            acts.push(self.seek(part, None, session));
                        }
                        None => self.fault = !self.size.trim().is_empty(),
                    }
                }
                self.loads(ui, c, session, acts);
                if self.fault {
                    let text = "write for example 400x300";
                    ui.label(RichText::new(text).color(c.short).font(theme::small()));
                }
                ui.with_layout(Layout::right_to_left(Align::Center), |ui| {
                    if let Some(finding) = desk.finding() {
                        if theme::button(ui, c, "Show all", "", Weight::Words).clicked() {
                            acts.push(Act::Rack(RackAct::FindNoMore));
                        }
                        ui.label(RichText::new(finding.words()).color(c.quiet));
                    }
                });
            });
        });
    }

    /// What the machine can load: sheets that it can't are left out of what has room.
    fn loads(&mut self, ui: &mut Ui, c: &Colours, session: &Session, acts: &mut Vec<Act>) {
        let unit = session.settings().unit();
        let mut text = match &self.loads {
            Some(typed) => typed.clone(),
            None => loads_text(&session.settings().loadable, unit),
        };
        ui.label(RichText::new("on a machine of").color(c.quiet));
        let field = TextEdit::singleline(&mut text)
            .hint_text("3000x1500 45kg")
            .desired_width(160.0)
            .align(eframe::egui::Align2::LEFT_CENTER)
            .min_size(vec2(160.0, c.touch - 8.0));
        let field = ui.add(field).accessible_name("what the machine loads").on_hover_text(
            "Its bed, the heaviest sheet and the most bow, such as 3000x1500 45kg bow5",
        );
        if field.changed() {
            self.loads = Some(text.clone());
        }
        if field.lost_focus()
            && let Some(typed) = &self.loads
        {
            match loads(typed, unit) {
                Some(loadable) => {
                    acts.push(Act::SetLoadable(loadable));
                    self.loads = None;
                }
                None => {
                    let text = "write for example 3000x1500 45kg";
                    ui.label(RichText::new(text).color(c.short).font(theme::small()));
                }
            }
        }
    }

    /// The open order's parts, to be pressed.
    fn parts(&self, ui: &mut Ui, c: &Colours, session: &Session, desk: &Desk, acts: &mut Vec<Act>) {
        let job = session.view().job();
        let sought = desk.finding().map(|f| f.sought().part.name.as_str());
        let made_of = job.stock.first().and_then(|s| s.sheet.made_of.as_ref());
        let metal = made_of.map(|m| (m.material.clone(), m.thickness));
        for wanted in job.wanted.iter().take(5) {
            let name = &wanted.part.name;
            if theme::choice(ui, c, name, sought == Some(name)).clicked() {
                acts.push(self.seek(wanted.part.clone(), metal.clone(), session));
            }
        }
    }

    fn seek(&self, part: Part, metal: Option<(String, f64)>, session: &Session) -> Act {
        let loadable = session.settings().loadable;
        Act::Rack(RackAct::Find(Box::new(Sought {
            part,
            typed: self.typed.clone(),
            metal,
            loadable,
            order: session.view().title.clone(),
        })))
    }
}

/// The rectangle of a typed size, such as 400x300.
fn rectangle(text: &str, unit: LengthUnit) -> Option<Part> {
    let [width, height] = size(text, unit)?;
    let outer = Loop::rectangle(Point::origin(), Point::new(width, height)).ok()?;
    Some(Part::new(text.trim(), Region::new(outer, Vec::new())))
}

/// Width and height, mm, of a typed size.
pub(super) fn size(text: &str, unit: LengthUnit) -> Option<[f64; 2]> {
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
