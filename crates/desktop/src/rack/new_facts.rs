//! What is known of a new sheet besides its shape, as typed.

use eframe::egui::{Align, Align2, Label, Layout, Response, RichText, TextEdit, Ui, vec2};
use oddment_app::rack::Desk;
use oddment_core::capture::typed::{EdgeSaid, Side};
use oddment_core::gauge::parse_thickness;
use oddment_core::sheet::EdgeKind;
use oddment_core::units::{LengthUnit, parse_length};
use oddment_rack::facts::Facts;

use super::chosen::places;
use crate::theme::{self, Colours};

/// Material, thickness, where it stands and its heat, as typed.
#[derive(Clone, Default)]
pub(super) struct NewFacts {
    pub(super) material: String,
    pub(super) thickness: String,
    pub(super) stands: String,
    pub(super) heat: String,
}

/// Width of the fields (points): a cut-out is written on one line.
const FIELD: f32 = 250.0;

impl NewFacts {
    /// Their rows in a grid of three columns; returns the first field.
    pub(super) fn rows(&mut self, ui: &mut Ui, c: &Colours, desk: &Desk) -> Response {
        ui.label("material");
        let first = typed(ui, "material", &mut self.material);
        self.materials(ui, c, desk);
        ui.end_row();
        field(ui, "thickness", &mut self.thickness, "", c);
        ui.label("stands");
        typed(ui, "stands", &mut self.stands);
        self.places(ui, c, desk);
        ui.end_row();
        field(ui, "heat", &mut self.heat, "heat number, where it is known", c);
        first
    }

    /// The same where there is little room: what can be chosen stands under the fields.
    pub(super) fn stacked(&mut self, ui: &mut Ui, c: &Colours, desk: &Desk) {
        named(ui, "material", &mut self.material);
        self.materials(ui, c, desk);
        named(ui, "thickness", &mut self.thickness);
        named(ui, "stands", &mut self.stands);
        self.places(ui, c, desk);
        named(ui, "heat", &mut self.heat);
    }

    fn materials(&mut self, ui: &mut Ui, c: &Colours, desk: &Desk) {
        let names = desk.listing().materials.iter().map(|m| &m.name);
        ui.horizontal_wrapped(|ui| {
            for name in names.take(6) {
                let on = name.eq_ignore_ascii_case(&self.material);
                if theme::proposal(ui, c, name, on).clicked() {
                    self.material.clone_from(name);
                }
            }
        });
    }

    fn places(&mut self, ui: &mut Ui, c: &Colours, desk: &Desk) {
        ui.horizontal_wrapped(|ui| {
            for place in places(desk, &self.stands) {
                if theme::proposal(ui, c, &place, false).clicked() {
                    self.stands = place;
                }
            }
        });
    }

    /// What was typed.
    ///
    /// # Errors
    /// What is missing or can't be read, in words.
    pub(super) fn facts(&self, unit: LengthUnit) -> Result<Facts, String> {
        if self.material.trim().is_empty() {
            return Err("material: which is it?".to_owned());
        }
        let thickness = parse_thickness(&self.thickness, unit, self.material.trim())
            .map_err(|fault| format!("thickness: {fault}"))?;
        Ok(Facts {
            material: self.material.trim().to_owned(),
            thickness,
            stands: self.stands.trim().to_owned(),
            heat: self.heat.trim().to_owned(),
            ..Facts::default()
        })
    }
}

/// How an edge may have been made, as it is asked.
pub(super) const EDGE_KINDS: [(EdgeKind, &str); 3] =
    [(EdgeKind::Mill, "mill edge"), (EdgeKind::Sheared, "sheared"), (EdgeKind::OwnCut, "cut here")];

/// How the outer edges were made, all alike or each of four sides, as typed.
#[derive(Clone, Debug, Default)]
pub(super) struct Edges {
    pub(super) kind: EdgeKind,
    /// Bottom, right, top and left, each with its give or take.
    each: Option<[(EdgeKind, String); 4]>,
}

impl Edges {
    /// Its rows in a grid of three columns; `sides` where they can be told apart.
    pub(super) fn rows(&mut self, ui: &mut Ui, c: &Colours, sides: bool) {
        ui.label("edges");
        ui.horizontal_wrapped(|ui| {
            for (kind, name) in EDGE_KINDS {
                let on = self.kind == kind && self.each.is_none();
                if theme::choice(ui, c, name, on).clicked() {
                    (self.kind, self.each) = (kind, None);
                }
            }
        });
        let apart = self.each.is_some();
        if sides && theme::choice(ui, c, "each side its own", apart).clicked() && !apart {
            self.each = Some(std::array::from_fn(|_| (self.kind, String::new())));
        }
        ui.end_row();
        for (side, (made, give)) in Side::ALL.into_iter().zip(self.each.iter_mut().flatten()) {
            ui.label(side.name());
            ui.horizontal_wrapped(|ui| {
                for (kind, name) in EDGE_KINDS {
                    let spoken = format!("{} {name}", side.name());
                    if theme::spoken_choice(ui, c, name, *made == kind, &spoken).clicked() {
                        *made = kind;
                    }
                }
            });
            ui.horizontal(|ui| {
                ui.label(RichText::new("give or take").font(theme::small()).color(c.quiet));
                let field =
                    TextEdit::singleline(give).desired_width(70.0).min_size(vec2(70.0, 36.0));
                let field = field.align(Align2::RIGHT_CENTER).hint_text("by tape");
                ui.add(field).accessible_name(format!("give or take of the {} side", side.name()));
            });
            ui.end_row();
        }
    }

    /// What was said of bottom, right, top and left.
    ///
    /// # Errors
    /// What can't be read, in words.
    pub(super) fn sides(&self, unit: LengthUnit) -> Result<[EdgeSaid; 4], String> {
        let mut sides = [EdgeSaid { kind: self.kind, give_or_take: None }; 4];
        let Some(each) = &self.each else { return Ok(sides) };
        for ((said, (kind, give)), side) in sides.iter_mut().zip(each).zip(Side::ALL) {
            said.kind = *kind;
            if !give.trim().is_empty() {
                let why = |why| format!("give or take of the {} side: {why}", side.name());
                said.give_or_take = Some(parse_length(give.trim(), unit).map_err(why)?);
            }
        }
        Ok(sides)
    }
}

/// What a field is called, and the field after it.
fn named(ui: &mut Ui, name: &str, text: &mut String) {
    ui.horizontal(|ui| {
        let beside = Layout::left_to_right(Align::Center);
        ui.allocate_ui_with_layout(vec2(80.0, 36.0), beside, |ui| {
            ui.set_min_width(80.0);
            ui.label(name);
        });
        typed(ui, name, text);
    });
}

/// A row of a grid: what it is called, the field, and help beside it.
pub(super) fn field(
    ui: &mut Ui,
    name: &str,
    text: &mut String,
    help: &str,
    c: &Colours,
) -> Response {
    ui.label(name);
    let response = typed(ui, name, text);
    ui.label(RichText::new(help).font(theme::small()).color(c.quiet));
    ui.end_row();
    response
}

fn typed(ui: &mut Ui, name: &str, text: &mut String) -> Response {
    let edit = TextEdit::singleline(text)
        .desired_width(FIELD)
        .align(Align2::LEFT_CENTER)
        .min_size(vec2(FIELD, 36.0));
    ui.add(edit).accessible_name(name)
}

/// A field of several lines.
pub(super) fn lines(
    ui: &mut Ui,
    name: &str,
    text: &mut String,
    rows: usize,
    help: &str,
    c: &Colours,
) -> Response {
    ui.label(name);
    let edit = TextEdit::multiline(text)
        .desired_width(FIELD)
        .desired_rows(rows)
        .min_size(vec2(FIELD, 36.0));
    let response = ui.add(edit).accessible_name(name);
    ui.add(Label::new(RichText::new(help).font(theme::small()).color(c.quiet)).wrap());
    ui.end_row();
    response
}
