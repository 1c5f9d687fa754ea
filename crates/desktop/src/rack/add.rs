//! Adding a sheet at the keyboard, in under a minute: by lengths from a tape or points from the
//! machine's pointer, with its picture beside as it is typed.

use eframe::egui::{
    Align2, Context, Grid, Id, Key, Label, Modal, RichText, ScrollArea, Sense, TextEdit, Ui, vec2,
};
use oddment_app::act::Act;
use oddment_app::rack::{Desk, RackAct};
use oddment_app::session::Session;
use oddment_core::capture::Captured;
use oddment_core::capture::points::{Pointing, capture_points};
use oddment_core::capture::rows::read_rows;
use oddment_core::capture::typed::{Corner, EdgeSaid, Missing, MissingAt, Outer, TypedSheet};
use oddment_core::capture::words::{read_cutout, read_missing};
use oddment_core::gauge::parse_thickness;
use oddment_core::sheet::EdgeKind;
use oddment_core::units::LengthUnit;
use oddment_files::sound::unsound;
use oddment_rack::facts::Facts;
use oddment_rack::outline::Outline;
use oddment_rack::sheets::NewSheet;

use super::chosen::places;
use super::silhouette::{Scale, Silhouette, draw};
use crate::loads::size;
use crate::theme::{self, Colours, Weight};

/// How much of the sheet is known.
#[derive(Clone, Copy, Default, PartialEq, Eq)]
enum Kind {
    #[default]
    Whole,
    Corner,
    Clean,
    Points,
}

const KINDS: [(Kind, &str); 4] = [
    (Kind::Whole, "a rectangle"),
    (Kind::Corner, "an L"),
    (Kind::Clean, "one clean rectangle, the rest unknown"),
    (Kind::Points, "points of the pointer"),
];

/// A sheet being added, as typed.
#[derive(Default)]
pub(super) struct AddCard {
    kind: Kind,
    size: String,
    diagonals: String,
    inner: String,
    corner: usize,
    notches: String,
    cutouts: String,
    points: String,
    material: String,
    thickness: String,
    stands: String,
    heat: String,
    fault: Option<String>,
    begun: bool,
    preview: Preview,
}

/// The sheet as typed so far, made anew when something is typed.
#[derive(Default)]
struct Preview {
    of: Option<String>,
    silhouette: Option<Silhouette>,
    says: String,
}

/// Width of the fields (points): a cut-out is written on one line.
const FIELD: f32 = 250.0;

/// The upper right corner, which is missing most often.
const UPPER_RIGHT: usize = 2;

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
            ui.set_width(1080f32.min(ctx.content_rect().width() - 60.0));
            ui.label(RichText::new(format!("Add a sheet, {unit}")).font(theme::strong()));
            ui.horizontal_wrapped(|ui| {
                for (kind, name) in KINDS {
                    if theme::choice(ui, c, name, self.kind == kind).clicked() {
                        self.kind = kind;
                    }
                }
            });
            self.renew(unit);
            let mut writing = false;
            ui.horizontal_top(|ui| {
                let height = (ui.ctx().content_rect().height() - 320.0).max(240.0);
                ScrollArea::vertical().max_height(height).max_width(680.0).show(ui, |ui| {
                    ui.vertical(|ui| writing = self.fields(ui, c, desk));
                });
                self.picture(ui, c);
            });
            if let Some(fault) = &self.fault {
                ui.label(RichText::new(fault).color(c.short));
            }
            ui.horizontal(|ui| {
                // Enter begins a line where lines are being written.
                let enter = ui.input(|i| i.key_pressed(Key::Enter)) && !writing;
                if theme::button(ui, c, "Add", "Enter", Weight::Plain).clicked() || enter {
                    match self.sheet(unit) {
                        Ok(new) => {
                            acts.push(Act::Rack(RackAct::Add(vec![new])));
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

    /// Draws the fields; whether lines are being written in one of them.
    fn fields(&mut self, ui: &mut Ui, c: &Colours, desk: &Desk) -> bool {
        let inner = match self.kind {
            Kind::Whole | Kind::Points => None,
            Kind::Corner => Some(("missing corner", "width x height of what is missing")),
            Kind::Clean => Some(("clean rectangle", "from the lower left corner")),
        };
        let mut writing = false;
        let materials: Vec<String> =
            desk.listing().materials.iter().map(|m| m.name.clone()).collect();
        Grid::new("add").num_columns(3).spacing(vec2(14.0, 6.0)).show(ui, |ui| {
            let first = if self.kind == Kind::Points {
                let help = "X, Y rows under the words edge, free, corners, circle, cutout; a blank \
                            line begins one more";
                lines(ui, "points", &mut self.points, 8, help, c)
            } else {
                field(ui, "size", &mut self.size, "such as 980x610, over all", c)
            };
            writing |= self.kind == Kind::Points && first.has_focus();
            if !self.begun {
                first.request_focus();
                self.begun = true;
            }
            if let Some((name, help)) = inner {
                field(ui, name, &mut self.inner, help, c);
            }
            if self.kind == Kind::Corner {
                ui.label("which corner");
                ui.horizontal(|ui| {
                    for (i, corner) in Corner::ALL.into_iter().enumerate() {
                        // Counted from the upper right one, which is meant where none is pressed.
                        let at = (i + Corner::ALL.len() - UPPER_RIGHT) % Corner::ALL.len();
                        if theme::choice(ui, c, corner.name(), self.corner == at).clicked() {
                            self.corner = at;
                        }
                    }
                });
                ui.end_row();
            }
            if self.kind != Kind::Points {
                let help = "both, such as 1154x1156; empty where it is square";
                field(ui, "diagonals", &mut self.diagonals, help, c);
                let help = "one a line: top 100x30 at 250";
                writing |= lines(ui, "notches", &mut self.notches, 1, help, c).has_focus();
                let help = "one a line: circle 20 at 100,50 · slot 60x12 at 200,80 turn 30 · \
                            rectangle 40x30 at 10,10 · circle 9 at 300,200 bolt 6 on 120, or row 5 \
                            step 40,0";
                writing |= lines(ui, "cut out", &mut self.cutouts, 3, help, c).has_focus();
            }
            ui.label("material");
            typed(ui, "material", &mut self.material);
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
            typed(ui, "stands", &mut self.stands);
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
        writing
    }

    /// The sheet as typed so far, and what there is to say of it.
    fn picture(&mut self, ui: &mut Ui, c: &Colours) {
        ui.vertical(|ui| {
            ui.label(RichText::new(&self.preview.says).font(theme::small()).color(c.quiet));
            let side = ui.available_width().clamp(160.0, 360.0);
            let (room, _) = ui.allocate_exact_size(vec2(side, 0.75 * side), Sense::hover());
            if let Some(silhouette) = &self.preview.silhouette {
                let scale = Scale::filling(silhouette, room);
                draw(ui.painter(), c, silhouette, &scale, false, room);
            }
        });
    }

    /// Makes the picture anew where something was typed.
    fn renew(&mut self, unit: LengthUnit) {
        let typed = format!(
            "{:?}|{}|{}|{}|{}|{}|{}|{}",
            self.kind as u8,
            self.corner,
            self.size,
            self.diagonals,
            self.inner,
            self.notches,
            self.cutouts,
            self.points
        );
        if self.preview.of.as_ref() == Some(&typed) {
            return;
        }
        let untouched = self.size.trim().is_empty() && self.points.trim().is_empty();
        let (silhouette, says) = match self.outline(unit) {
            Ok((outline, says)) => (Some(Silhouette::of(&outline)), says),
            Err(_) if untouched => (None, "The sheet is drawn here as you type.".to_owned()),
            Err(why) => (None, why),
        };
        self.preview = Preview { of: Some(typed), silhouette, says };
    }

    /// What was measured.
    fn captured(&self, unit: LengthUnit) -> Result<Captured, String> {
        if self.kind == Kind::Points {
            let rings = read_rows(&self.points, unit).map_err(|f| joined(&f))?;
            let captured = capture_points(&rings, Pointing::default()).map_err(|f| joined(&f))?;
            return Ok(captured.at_datum());
        }
        let read = |name: &str, text: &str| {
            size(text, unit).ok_or_else(|| format!("{name}: write for example 980x610"))
        };
        let mut missing = Vec::new();
        if self.kind == Kind::Corner {
            let [width, depth] = read("missing corner", &self.inner)?;
            let corner = Corner::ALL[(self.corner + UPPER_RIGHT) % Corner::ALL.len()];
            let edges = EdgeSaid::default();
            missing.push(Missing { at: MissingAt::Corner(corner), width, depth, edges });
        }
        let rows = |text: &str| -> Vec<String> {
            text.lines().map(str::trim).filter(|l| !l.is_empty()).map(str::to_owned).collect()
        };
        for row in rows(&self.notches) {
            missing.push(read_missing(&row, unit)?);
        }
        let cutouts =
            rows(&self.cutouts).iter().map(|r| read_cutout(r, unit)).collect::<Result<_, _>>()?;
        let diagonals = match self.diagonals.trim() {
            "" => None,
            typed => Some(read("diagonals", typed)?),
        };
        let clean = match self.kind {
            Kind::Clean => Some(read("clean rectangle", &self.inner)?),
            _ => None,
        };
        // Where nobody says otherwise an offcut's edges count as mill edges: the widest distance.
        let said = EdgeSaid { kind: EdgeKind::Mill, give_or_take: None };
        let outer = Outer::Sides {
            size: read("size", &self.size)?,
            opposite: [None; 2],
            diagonals,
            sides: [said; 4],
            missing,
        };
        let sheet = TypedSheet { outer, cutouts, clean, unknown: Vec::new() };
        sheet.captured().map_err(|f| joined(&f))
    }

    /// Its shape, and how well it is known.
    fn outline(&self, unit: LengthUnit) -> Result<(Outline, String), String> {
        let captured = self.captured(unit)?;
        let metal = captured.metal().map_err(|f| joined(&f))?;
        let outline = Outline::of_captured(&metal);
        if let Some(problem) = outline.regions().iter().find_map(unsound) {
            return Err(problem.to_string());
        }
        let (bounds, off) = (outline.bounds(), captured.outer.give_or_take());
        let mut says = format!(
            "{} × {} {unit}; outer edges give or take {}.",
            unit.show(bounds.width()),
            unit.show(bounds.height()),
            unit.show(off)
        );
        let worst = captured.residuals.iter().max_by(|a, b| a.off.abs().total_cmp(&b.off.abs()));
        if let Some(worst) = worst.filter(|r| r.off.abs() > 0.05) {
            says +=
                &format!(" {} is {} off: measure it again?", worst.of, unit.show(worst.off.abs()));
        }
        Ok((outline, says))
    }

    fn sheet(&self, unit: LengthUnit) -> Result<NewSheet, String> {
        let (outline, _) = self.outline(unit)?;
        if self.material.trim().is_empty() {
            return Err("material: which is it?".to_owned());
        }
        let thickness = parse_thickness(&self.thickness, unit, self.material.trim())
            .map_err(|fault| format!("thickness: {fault}"))?;
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
    let response = typed(ui, name, text);
    ui.label(RichText::new(help).font(theme::small()).color(c.quiet));
    ui.end_row();
    response
}

fn typed(ui: &mut Ui, name: &str, text: &mut String) -> eframe::egui::Response {
    let edit = TextEdit::singleline(text)
        .desired_width(FIELD)
        .align(Align2::LEFT_CENTER)
        .min_size(vec2(FIELD, 36.0));
    ui.add(edit).accessible_name(name)
}

/// A field of several lines.
fn lines(
    ui: &mut Ui,
    name: &str,
    text: &mut String,
    rows: usize,
    help: &str,
    c: &Colours,
) -> eframe::egui::Response {
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

/// All that is wrong, in one line.
fn joined<T: ToString>(faults: &[T]) -> String {
    faults.iter().map(ToString::to_string).collect::<Vec<_>>().join("; ")
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
        refused(AddCard { notches: "top 9x9".into(), ..typed() }, "how far along");
        refused(AddCard { cutouts: "circle 9".into(), ..typed() }, "say where it is");
        refused(AddCard { cutouts: "circle 9 at -90,0".into(), ..typed() }, "takes nothing");
        refused(AddCard { diagonals: "99x99".into(), ..typed() }, "do not meet");
        refused(AddCard { kind: Kind::Points, points: "1".into(), ..typed() }, "row 1");
    }

    #[test]
    fn an_l_with_holes_and_a_measured_sheet_are_what_was_typed() {
        let typed = || AddCard {
            size: "980x610".into(),
            material: "S235".into(),
            thickness: "11 ga".into(),
            ..AddCard::default()
        };
        let inner = "400x300".to_owned();
        let l = AddCard {
            kind: Kind::Corner,
            inner,
            cutouts: "rectangle 50x20 at 10,10".into(),
            ..typed()
        };
        let l = l.sheet(LengthUnit::Mm).unwrap();
        assert!((l.outline.area() - (980.0 * 610.0 - 400.0 * 300.0 - 50.0 * 20.0)).abs() < 1e-6);
        // The upper right corner is missing where no other was pressed.
        let outer = &l.outline.regions()[0];
        assert!(!outer.contains(oddment_core::shape::Point::new(900.0, 600.0)));
        let points = "7,7\n107,7\n107,57\n7,57".to_owned();
        let measured = AddCard { kind: Kind::Points, points, ..typed() };
        let measured = measured.sheet(LengthUnit::Mm).unwrap().outline;
        assert!((measured.area() - 100.0 * 50.0).abs() < 1e-6);
        assert_eq!(measured.bounds().min, oddment_core::shape::Point::origin());
    }
}
