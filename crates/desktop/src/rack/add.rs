//! Adding a sheet at the keyboard, in under a minute.

use eframe::egui::{Align2, Context, Grid, Id, Key, Modal, RichText, TextEdit, Ui, vec2};
use oddment_app::act::Act;
use oddment_app::rack::{Desk, RackAct};
use oddment_app::session::Session;
use oddment_core::sheet::EdgeKind;
use oddment_core::units::{LengthUnit, parse_length};
use oddment_rack::facts::Facts;
use oddment_rack::sheets::{NewSheet, Typed};

use super::bar::size;
use super::chosen::places;
use crate::theme::{self, Colours, Weight};

/// How much of the sheet is known.
#[derive(Clone, Copy, Default, PartialEq, Eq)]
enum Kind {
    #[default]
    Whole,
    Corner,
    Clean,
}

const KINDS: [(Kind, &str); 3] = [
    (Kind::Whole, "a rectangle"),
    (Kind::Corner, "an L: its upper right corner is missing"),
    (Kind::Clean, "one clean rectangle, the rest unknown"),
];

/// A sheet being added, as typed.
#[derive(Default)]
pub(super) struct AddCard {
    kind: Kind,
    size: String,
    inner: String,
    material: String,
    thickness: String,
    stands: String,
    heat: String,
    fault: Option<String>,
    begun: bool,
}

impl AddCard {
    /// Draws the card; whether it is done with.
    pub(super) fn show(
        &mut self,
        ctx: &Context,
        c: &Colours,
        session: &Session,
        desk: &Desk,
        acts: &mut Vec<Act>,
    ) -> bool {
        let mut closed = false;
        let unit = session.settings().unit();
        let modal = Modal::new(Id::unique("add a sheet")).frame(theme::card(c)).show(ctx, |ui| {
            ui.set_width(660f32.min(ctx.content_rect().width() - 60.0));
            ui.label(RichText::new(format!("Add a sheet, {unit}")).font(theme::strong()));
            ui.horizontal_wrapped(|ui| {
                for (kind, name) in KINDS {
                    if theme::choice(ui, c, name, self.kind == kind).clicked() {
                        self.kind = kind;
                    }
                }
            });
            self.fields(ui, c, desk);
            if let Some(fault) = &self.fault {
                ui.label(RichText::new(fault).color(c.short));
            }
            ui.horizontal(|ui| {
                let enter = ui.input(|i| i.key_pressed(Key::Enter));
                if theme::button(ui, c, "Add", "Enter", Weight::Plain).clicked() || enter {
                    match self.sheet(unit) {
                        Ok(new) => {
                            acts.push(Act::Rack(RackAct::Add(Box::new(new))));
                            closed = true;
                        }
                        Err(fault) => self.fault = Some(fault),
                    }
                }
                if theme::button(ui, c, "Cancel", "Esc", Weight::Words).clicked() {
                    closed = true;
                }
            });
        });
        closed || modal.should_close()
    }

    fn fields(&mut self, ui: &mut Ui, c: &Colours, desk: &Desk) {
        let inner = match self.kind {
            Kind::Whole => None,
            Kind::Corner => Some(("missing corner", "width x height of what is missing")),
            Kind::Clean => Some(("clean rectangle", "from the lower left corner")),
        };
        let materials: Vec<String> =
            desk.listing().materials.iter().map(|m| m.name.clone()).collect();
        Grid::new("add").num_columns(3).spacing(vec2(14.0, 6.0)).show(ui, |ui| {
            let first = field(ui, "size", &mut self.size, "such as 980x610, over all", c);
            if !self.begun {
                first.request_focus();
                self.begun = true;
            }
            if let Some((name, help)) = inner {
                field(ui, name, &mut self.inner, help, c);
            }
            ui.label("material");
            let text = TextEdit::singleline(&mut self.material)
                .desired_width(150.0)
                .align(Align2::LEFT_CENTER)
                .min_size(vec2(150.0, 36.0));
            ui.add(text).accessible_name("material");
            ui.horizontal(|ui| {
                for name in materials.iter().take(6) {
                    let on = name.eq_ignore_ascii_case(&self.material);
                    if theme::choice(ui, c, name, on).clicked() {
                        self.material.clone_from(name);
                    }
                }
            });
            ui.end_row();
            field(ui, "thickness", &mut self.thickness, "", c);
            ui.label("stands");
            let text = TextEdit::singleline(&mut self.stands)
                .desired_width(150.0)
                .align(Align2::LEFT_CENTER)
                .min_size(vec2(150.0, 36.0));
            ui.add(text).accessible_name("stands");
            ui.horizontal(|ui| {
                for place in places(desk, &self.stands) {
                    if theme::choice(ui, c, &place, false).clicked() {
                        self.stands = place;
                    }
                }
            });
            ui.end_row();
            field(ui, "heat", &mut self.heat, "heat number, where it is known", c);
        });
    }

    fn sheet(&self, unit: LengthUnit) -> Result<NewSheet, String> {
        let read = |name: &str, text: &str| {
            size(text, unit).ok_or_else(|| format!("{name}: write for example 980x610"))
        };
        let whole = read("size", &self.size)?;
        let typed = match self.kind {
            Kind::Whole => Typed::Rectangle(whole),
            Kind::Corner => Typed::Corner(whole, read("missing corner", &self.inner)?),
            Kind::Clean => Typed::CleanIn(whole, read("clean rectangle", &self.inner)?),
        };
        if self.material.trim().is_empty() {
            return Err("material: which is it?".to_owned());
        }
        let thickness =
            parse_length(&self.thickness, unit).map_err(|fault| format!("thickness: {fault}"))?;
        // Where nobody says otherwise an offcut's edges count as mill edges: the widest distance.
        let outline = typed.outline(EdgeKind::Mill).map_err(|fault| fault.to_string())?;
        let facts = Facts {
            material: self.material.trim().to_owned(),
            thickness,
            stands: self.stands.trim().to_owned(),
            heat: self.heat.trim().to_owned(),
            ..Facts::default()
        };
        Ok(NewSheet { label: None, facts, outline })
    }
}

fn field(
    ui: &mut Ui,
    name: &str,
    text: &mut String,
    help: &str,
    c: &Colours,
) -> eframe::egui::Response {
    ui.label(name);
    let edit = TextEdit::singleline(text)
        .desired_width(150.0)
        .align(Align2::LEFT_CENTER)
        .min_size(vec2(150.0, 36.0));
    let response = ui.add(edit).accessible_name(name);
    ui.label(RichText::new(help).font(theme::small()).color(c.quiet));
    ui.end_row();
    response
}

#[cfg(test)]
mod tests {
    use super::*;

    #[track_caller]
    fn refused(card: AddCard, says: &str) {
        let said = card.sheet(LengthUnit::Mm).err().unwrap();
        assert!(said.contains(says), "{said}");
    }

    #[test]
    fn what_was_typed_wrongly_is_said() {
        let typed = || AddCard {
            size: "980x610".into(),
            material: "S235".into(),
            thickness: "3".into(),
            ..AddCard::default()
        };
        assert!(typed().sheet(LengthUnit::Mm).is_ok());
        refused(AddCard { size: "wide".into(), ..typed() }, "size: write for example");
        refused(AddCard { kind: Kind::Clean, ..typed() }, "clean rectangle:");
        let larger = AddCard { kind: Kind::Corner, inner: "2000x10".into(), ..typed() };
        refused(larger, "does not go into");
        refused(AddCard { material: " ".into(), ..typed() }, "material:");
        refused(AddCard { thickness: "thin".into(), ..typed() }, "thickness:");
    }
}
