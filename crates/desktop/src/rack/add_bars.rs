//! Adding bars at the keyboard: alike ones in one go.

use eframe::egui::{Align2, Context, Grid, Key, RichText, TextEdit, Ui, vec2};
use oddment_app::act::Act;
use oddment_app::bars::{find_profile, known_profiles};
use oddment_app::rack::{Desk, RackAct};
use oddment_app::session::Session;
use oddment_core::bars::profile::Profile;
use oddment_core::units::{LengthUnit, parse_length};
use oddment_rack::bars::new_bar;
use oddment_rack::facts::Facts;
use oddment_rack::sheets::NewSheet;

use super::chosen::places;
use crate::theme::{self, Colours, Weight};
use crate::told::Pending;

/// As many as can be added in one go.
const MOST: usize = 200;
const FIELD: f32 = 250.0;

/// Bars being added, as typed.
#[derive(Default)]
pub(super) struct AddBarsCard {
    profile: String,
    length: String,
    count: String,
    give_or_take: String,
    material: String,
    stands: String,
    heat: String,
    fault: Option<String>,
    pending: Pending,
    begun: bool,
}

impl AddBarsCard {
    /// Draws the card; whether it is closed.
    pub(super) fn show(
        &mut self,
        ctx: &Context,
        c: &Colours,
        session: &Session,
        desk: &Desk,
        acts: &mut Vec<Act>,
    ) -> bool {
        let unit = session.settings().unit();
        let mut closed = self.pending.is_done(session, &mut self.fault);
        let title = format!("Add bars, {unit}");
        let given_up = theme::modal(ctx, c, &title, 760.0, |ui| {
            Grid::new("add bars").num_columns(3).spacing(vec2(14.0, 6.0)).show(ui, |ui| {
                self.fields(ui, c, session, desk);
            });
            self.pending.show(ui, c, self.fault.as_deref());
            ui.horizontal(|ui| {
                let enter = ui.input(|i| i.key_pressed(Key::Enter));
                if theme::button(ui, c, "Add", "Enter", Weight::Plain).clicked() || enter {
                    match self.bars(find_profile(session, &self.profile), unit) {
                        Ok(bars) => {
                            self.pending.ask(Act::Rack(RackAct::Add(bars)), acts);
                        }
                        Err(fault) => self.fault = Some(fault),
                    }
                }
                if theme::button(ui, c, "Cancel", "Esc", Weight::Words).clicked() {
                    closed = true;
                }
            });
        });
        closed || given_up
    }

    fn fields(&mut self, ui: &mut Ui, c: &Colours, session: &Session, desk: &Desk) {
        let matching = matching(session, &self.profile);
        let materials = desk.listing().materials.iter().map(|m| m.name.clone()).take(6);
        let help = |text: &str| vec![text.to_owned()];
        let length = match session.settings().unit() {
            LengthUnit::Mm => "such as 6000",
            LengthUnit::Inch => "such as 240",
        };
        let rows: [(&str, &mut String, Vec<String>, bool); 7] = [
            ("profile", &mut self.profile, matching, true),
            ("length", &mut self.length, help(length), false),
            ("how many", &mut self.count, help("alike; one where nothing is said"), false),
            (
                "give or take",
                &mut self.give_or_take,
                help("how much shorter it may really be"),
                false,
            ),
            ("material", &mut self.material, materials.collect(), true),
            ("stands", &mut self.stands, Vec::new(), true),
            ("heat", &mut self.heat, help("heat number, where it is known"), false),
        ];
        for (name, text, mut beside, pressed) in rows {
            ui.label(name);
            let edit = TextEdit::singleline(text)
                .desired_width(FIELD)
                .align(Align2::LEFT_CENTER)
                .min_size(vec2(FIELD, 36.0));
            let field = ui.add(edit).accessible_name(name);
            if !std::mem::replace(&mut self.begun, true) {
                field.request_focus();
            }
            if name == "stands" {
                beside = places(desk, text);
            }
            ui.horizontal(|ui| {
                for said in beside {
                    if !pressed {
                        ui.label(RichText::new(said).font(theme::small()).color(c.quiet));
                    } else if theme::proposal(ui, c, &said, said.eq_ignore_ascii_case(text))
                        .clicked()
                    {
                        *text = said;
                    }
                }
            });
            ui.end_row();
        }
    }

    /// The bars as typed.
    fn bars(&self, profile: Option<Profile>, unit: LengthUnit) -> Result<Vec<NewSheet>, String> {
        let profile = profile.ok_or_else(|| {
            format!(
                "profile: “{}” is not known; write a kind with its measures, as in square tube 45x2",
                self.profile.trim()
            )
        })?;
        let length = |name: &str, text: &str| {
            parse_length(text, unit).map_err(|why| format!("{name}: {why}"))
        };
        let give_or_take = match self.give_or_take.trim() {
            "" => 0.0,
            typed => length("give or take", typed)?,
        };
        let count = match self.count.trim() {
            "" => 1,
            typed => typed
                .parse()
                .ok()
                .filter(|n| (1..=MOST).contains(n))
                .ok_or_else(|| format!("how many: write a whole number from 1 to {MOST}"))?,
        };
        let material = self.material.trim().to_owned();
        if material.is_empty() {
            return Err("material: which is it?".to_owned());
        }
        let facts = Facts {
            material,
            stands: self.stands.trim().to_owned(),
            heat: self.heat.trim().to_owned(),
            ..Facts::default()
        };
        let bar = new_bar(None, &profile, length("length", &self.length)?, give_or_take, facts);
        Ok(vec![bar.map_err(|why| why.to_string())?; count])
    }
}

/// Up to three profiles whose names have all the words typed.
fn matching(session: &Session, typed: &str) -> Vec<String> {
    let typed = typed.to_lowercase();
    let fits = |name: &String| {
        let name = name.to_lowercase();
        typed.split_whitespace().all(|word| name.contains(word))
    };
    known_profiles(session).into_iter().map(|p| p.name).filter(fits).take(3).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use oddment_files::bars::profile_named;

    #[test]
    fn what_was_typed_wrongly_is_said() {
        let typed = || AddBarsCard {
            length: "6000".into(),
            count: "3".into(),
            material: "S235".into(),
            ..AddBarsCard::default()
        };
        let tube = || profile_named("Square tube 40 × 2");
        let added = typed().bars(tube(), LengthUnit::Mm).unwrap();
        assert!(added.len() == 3 && added[0].facts.bar.is_some());
        let said = |card: AddBarsCard, profile| card.bars(profile, LengthUnit::Mm).unwrap_err();
        assert!(said(typed(), None).starts_with("profile:"));
        assert!(said(AddBarsCard { length: "long".into(), ..typed() }, tube()).contains("length:"));
        assert!(said(AddBarsCard { length: "-5".into(), ..typed() }, tube()).contains("-5"));
        assert!(said(AddBarsCard { count: "0".into(), ..typed() }, tube()).contains("how many:"));
        let none = AddBarsCard { material: " ".into(), ..typed() };
        assert!(said(none, tube()).contains("material:"));
        let odd = AddBarsCard { give_or_take: "x".into(), ..typed() };
        assert!(said(odd, tube()).contains("give or take:"));
    }
}
