//! What is known of the sheet, typed.

use eframe::egui::{Context, Grid, RichText, TextEdit, Ui, vec2};
use oddment_app::act::Act;
use oddment_app::rack::RackAct;
use oddment_app::sheet_facts::{SheetFacts, usual_density};
use oddment_core::gauge::parse_thickness;
use oddment_core::sheet::Metal;
use oddment_core::units::{LengthUnit, parse_length};

use crate::theme::{self, Colours, Weight};

/// The facts while they are being changed, as typed.
pub(crate) struct SheetCard {
    name: String,
    /// The name of the sheet that is not being asked about: the one that is shown, or the plain one.
    other_name: String,
    material: String,
    thickness: String,
    grain: String,
    count: String,
    size: [String; 2],
    /// A plain sheet in place of the one that is shown.
    plain: bool,
    /// The sheet that is shown is a plain one.
    was_plain: bool,
    unit: LengthUnit,
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

impl SheetCard {
    /// Opens the card on these facts.
    pub(crate) fn new(now: SheetFacts, unit: LengthUnit) -> Self {
        let shown = |mm: f64| ((mm / unit.in_mm() * 1e4).round() / 1e4).to_string();
        let size = now.size.unwrap_or((2500.0, 1250.0));
        Self {
            material: now.made_of.as_ref().map(|m| m.material.clone()).unwrap_or_default(),
            thickness: now.made_of.map(|m| shown(m.thickness)).unwrap_or_default(),
            grain: now.grain.map(|g| format!("{:.1}", g.to_degrees())).unwrap_or_default(),
            count: now.count.to_string(),
            size: [shown(size.0), shown(size.1)],
            plain: false,
            was_plain: now.size.is_some(),
            name: now.name,
            other_name: "plain sheet".into(),
            unit,
            fault: None,
        }
    }

    /// Draws the card.
    pub(crate) fn show(&mut self, ctx: &Context, c: &Colours) -> Outcome {
        let mut outcome = Outcome::Open;
        let given_up = theme::modal(ctx, c, "The sheet", 560.0, |ui| {
            ui.horizontal(|ui| {
                for (name, plain) in [("the one shown", false), ("a plain sheet instead", true)] {
                    if theme::choice(ui, c, name, self.plain == plain).clicked() {
                        self.make_plain(plain);
                    }
                }
                if theme::choice(ui, c, "from a drawing…", false).clicked() {
                    outcome = Outcome::Done(Act::PickSheet);
                }
                if theme::choice(ui, c, "keep it in the rack", false).clicked() {
                    outcome = Outcome::Done(Act::Rack(RackAct::AddShown));
                }
            });
            Grid::new("sheet facts").num_columns(3).spacing(vec2(14.0, 6.0)).show(ui, |ui| {
                self.fields(ui, c);
            });
            if let Some(fault) = &self.fault {
                ui.label(RichText::new(fault).color(c.short));
            }
            ui.horizontal(|ui| {
                let enter = ui.input(|i| i.key_pressed(eframe::egui::Key::Enter));
                if theme::button(ui, c, "Use this", "Enter", Weight::Plain).clicked() || enter {
                    // It stays open until what was typed can be used.
                    let facts = self.facts().and_then(|facts| match facts.size {
                        Some(_) => facts.plain().map(|_| facts),
                        None => Ok(facts),
                    });
                    match facts {
                        Ok(facts) if self.plain => outcome = Outcome::Done(Act::PlainSheet(facts)),
                        Ok(facts) => outcome = Outcome::Done(Act::SetSheet(facts)),
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

    /// A plain sheet is another than the one that is shown, and does not go by its name.
    fn make_plain(&mut self, plain: bool) {
        if plain != self.plain {
            self.plain = plain;
            std::mem::swap(&mut self.name, &mut self.other_name);
        }
    }

    fn fields(&mut self, ui: &mut Ui, c: &Colours) {
        let unit = self.unit;
        let sized = self.plain || self.was_plain;
        let [wide, high] = &mut self.size;
        let mut rows = vec![
            ("name", &mut self.name, "label or name".to_owned()),
            ("material", &mut self.material, "such as S235 or EN AW-5754".to_owned()),
            (
                "thickness",
                &mut self.thickness,
                format!("{unit}; 1/8in and 11 ga are understood too"),
            ),
            ("grain", &mut self.grain, "degrees from X; empty where there is none".to_owned()),
            ("how many", &mut self.count, "alike".to_owned()),
        ];
        if sized {
            rows.insert(1, ("along Y", high, unit.to_string()));
            rows.insert(1, ("along X", wide, unit.to_string()));
        }
        for (name, text, help) in rows {
            ui.label(name);
            let field = TextEdit::singleline(text)
                .desired_width(190.0)
                .min_size(vec2(190.0, 36.0))
                .align(eframe::egui::Align2::LEFT_CENTER);
            ui.add(field).accessible_name(name);
            ui.label(RichText::new(help).font(theme::small()).color(c.quiet));
            ui.end_row();
        }
    }

    /// What was typed.
    fn facts(&self) -> Result<SheetFacts, String> {
        let name = self.name.trim();
        if name.is_empty() {
            return Err("name: a sheet has a label or a name".into());
        }
        let length = |name: &str, text: &str| {
            parse_length(text, self.unit).map_err(|fault| format!("{name}: {fault}"))
        };
        let size = if self.plain || self.was_plain {
            Some((length("along X", &self.size[0])?, length("along Y", &self.size[1])?))
        } else {
            None
        };
        let material = self.material.trim();
        let made_of = match (material, self.thickness.trim()) {
            ("", "") => None,
            ("", _) => return Err("material: what is it?".into()),
            (_, typed) => Some(Metal {
                material: material.to_owned(),
                thickness: parse_thickness(typed, self.unit, material)
                    .map_err(|fault| format!("thickness: {fault}"))?,
                density: usual_density(material),
            }),
        };
        let grain = match self.grain.trim().trim_end_matches('°') {
            "" => None,
            typed => {
                let degrees: f64 = typed
                    .replace(',', ".")
                    .parse()
                    .map_err(|_| format!("grain: “{typed}” is no angle in degrees"))?;
                Some(degrees.to_radians()).filter(|g| g.is_finite())
            }
        };
        let count = self.count.trim();
        let count = count.parse().ok().filter(|n| (1..=10_000).contains(n));
        let count = count.ok_or("how many: a number from 1 to 10000")?;
        Ok(SheetFacts { name: name.to_owned(), size, made_of, grain, count })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn card() -> SheetCard {
        let facts = SheetFacts {
            name: "S-1".into(),
            size: Some((1000.0, 500.0)),
            made_of: Some(Metal { material: "S235".into(), thickness: 3.0, density: 7850.0 }),
            grain: Some(0.0),
            count: 2,
        };
        SheetCard::new(facts, LengthUnit::Mm)
    }

    #[test]
    fn facts_read_back_as_they_are_shown() {
        let facts = card().facts().unwrap();
        assert_eq!(facts.size, Some((1000.0, 500.0)));
        assert_eq!((facts.made_of.unwrap().thickness, facts.count), (3.0, 2));
    }

    #[test]
    fn a_gauge_is_understood_for_its_metal() {
        let mut card = card();
        (card.material, card.thickness) = ("stainless 304".into(), "16 ga".into());
        let thickness = card.facts().unwrap().made_of.unwrap().thickness;
        assert!((thickness - 1.5875).abs() < 1e-6);
    }

    #[test]
    fn a_plain_sheet_does_not_take_the_name_of_the_one_shown() {
        let mut card = card();
        card.make_plain(true);
        assert_eq!(card.facts().unwrap().name, "plain sheet");
        card.make_plain(false);
        assert_eq!(card.facts().unwrap().name, "S-1");
    }

    #[test]
    fn what_cannot_be_is_said_with_its_name() {
        let check = |change: &dyn Fn(&mut SheetCard), says: &str| {
            let mut card = card();
            change(&mut card);
            assert!(card.facts().unwrap_err().starts_with(says));
        };
        check(&|c| c.name.clear(), "name:");
        check(&|c| c.thickness = "thick".into(), "thickness:");
        check(&|c| c.material.clear(), "material:");
        check(&|c| c.grain = "up".into(), "grain:");
        check(&|c| c.count = "0".into(), "how many:");
        check(&|c| c.size[0] = "wide".into(), "along X:");
    }
}
