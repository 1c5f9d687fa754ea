//! Adding a sheet at the keyboard, in under a minute: by lengths from a tape or points from the
//! machine's pointer, with its picture beside as it is typed. From here it goes to a photograph too.

use eframe::egui::{Context, Grid, Key, RichText, ScrollArea, Sense, Ui, vec2};
use oddment_app::act::Act;
use oddment_app::capture::{CaptureAct, Made};
use oddment_app::place::Place;
use oddment_app::rack::{Desk, RackAct};
use oddment_app::session::Session;
use oddment_app::words::joined;
use oddment_core::capture::points::{Pointing, capture_points};
use oddment_core::capture::rows::read_rows;
use oddment_core::capture::typed::{Corner, EdgeSaid, Missing, MissingAt, Outer, TypedSheet};
use oddment_core::capture::words::{read_cutout, read_missing};
use oddment_core::capture::{Captured, Residual};
use oddment_core::units::LengthUnit;
use oddment_rack::sheets::NewSheet;

use super::cut_out_fields::{CutOutFields, Written};
use super::new_facts::{Edges, NewFacts, field, lines};
use super::silhouette::{Scale, Silhouette, draw, draw_measured};
use crate::loads::{size, size_example};
use crate::theme::{self, Colours, Weight};
use crate::told::Pending;

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
    cut_out: CutOutFields,
    points: String,
    edges: Edges,
    facts: NewFacts,
    fault: Option<String>,
    pending: Pending,
    begun: bool,
    preview: Preview,
}

/// The sheet as typed so far, made anew when something is typed.
#[derive(Default)]
struct Preview {
    of: Option<String>,
    silhouette: Option<Silhouette>,
    residuals: Vec<Residual>,
    says: String,
}

/// The upper right corner, which is missing most often.
const UPPER_RIGHT: usize = 2;

impl AddCard {
    /// One of the same metal and place as the sheet that was added last: offcuts come in heaps.
    pub(super) fn like(last: &NewFacts) -> Self {
        let facts = NewFacts { heat: String::new(), ..last.clone() };
        Self { facts, ..Self::default() }
    }

    /// What was typed of the sheet besides its shape.
    pub(super) fn facts(&self) -> &NewFacts {
        &self.facts
    }

    /// Draws the card; whether it is done with.
    pub(super) fn show(
        &mut self,
        ctx: &Context,
        c: &Colours,
        session: &Session,
        desk: &Desk,
        acts: &mut Vec<Act>,
    ) -> bool {
        let mut closed = self.pending.is_done(session, &mut self.fault);
        let unit = session.settings().unit();
        let title = format!("Add a sheet, {unit}");
        let given_up = theme::modal(ctx, c, &title, 1080.0, |ui| {
            ui.horizontal_wrapped(|ui| {
                for (kind, name) in KINDS {
                    if theme::choice(ui, c, name, self.kind == kind).clicked() {
                        self.kind = kind;
                    }
                }
                if theme::choice(ui, c, "a drawing or a plan", false).clicked() {
                    acts.push(Act::Go(Place::Sheet));
                    acts.push(Act::PickSheet);
                    closed = true;
                }
                if theme::choice(ui, c, "a photograph", false).clicked() {
                    acts.push(Act::Capture(CaptureAct::Pick));
                    closed = true;
                }
            });
            self.renew(unit);
            let mut writing = false;
            ui.horizontal_top(|ui| {
                let height = (ui.ctx().content_rect().height() - 320.0).max(240.0);
                ScrollArea::vertical().max_height(height).max_width(680.0).show(ui, |ui| {
                    ui.vertical(|ui| writing = self.fields(ui, c, unit, desk));
                });
                self.picture(ui, c, unit);
            });
            self.pending.show(ui, c, self.fault.as_deref());
            ui.horizontal(|ui| {
                // Enter begins a line where lines are being written.
                let enter = ui.input(|i| i.key_pressed(Key::Enter)) && !writing;
                if theme::button(ui, c, "Add", "Enter", Weight::Plain).clicked() || enter {
                    match self.sheet(unit) {
                        Ok(new) => {
                            self.pending.ask(Act::Rack(RackAct::Add(vec![new])), acts);
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

    /// Draws the fields; whether lines are being written in one of them.
    fn fields(&mut self, ui: &mut Ui, c: &Colours, unit: LengthUnit, desk: &Desk) -> bool {
        let inner = match self.kind {
            Kind::Whole | Kind::Points => None,
            Kind::Corner => Some(("missing corner", "width x height of what is missing")),
            Kind::Clean => Some(("clean rectangle", "from the lower left corner")),
        };
        let mut writing = false;
        Grid::new("add").num_columns(3).spacing(vec2(14.0, 6.0)).show(ui, |ui| {
            let first = if self.kind == Kind::Points {
                let help = "X, Y rows under the words edge, free, corners, circle, cutout; a blank \
                            line begins one more";
                lines(ui, "points", &mut self.points, 8, help, c)
            } else {
                let help = format!("such as {}, over all", size_example(unit));
                field(ui, "size", &mut self.size, &help, c)
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
                // As they lie on the sheet.
                ui.vertical(|ui| {
                    for pair in [[3, 2], [0, 1]] {
                        ui.horizontal(|ui| pair.map(|i| self.corner_choice(ui, c, i)));
                    }
                });
                ui.end_row();
            }
            self.facts.rows(ui, c, desk);
            self.edges.rows(ui, c, self.kind != Kind::Points);
            if self.kind != Kind::Points {
                let [diagonals, notch, circle] = match unit {
                    LengthUnit::Mm => ["1154x1156", "top 100x30 at 250", "circle 20 at 100,50"],
                    LengthUnit::Inch => ["45.4x45.5", "top 4x1 at 10", "circle 0.75 at 4,2"],
                };
                let help = &format!("both, such as {diagonals}; empty where it is square");
                field(ui, "diagonals", &mut self.diagonals, help, c);
                let help = &format!("one a line: {notch}");
                writing |= lines(ui, "notches", &mut self.notches, 1, help, c).has_focus();
                let help = &format!("one a line, written or put together below: {circle}");
                writing |= lines(ui, "cut out", &mut self.cutouts, 3, help, c).has_focus();
                let help =
                    "of the pointer, on the edges that matter; where they know it better, they win";
                writing |= lines(ui, "points", &mut self.points, 1, help, c).has_focus();
            }
        });
        if self.kind != Kind::Points {
            ui.add_space(6.0);
            match self.cut_out.show(ui, c, unit) {
                Some(Written::Notch(line)) => put_in(&mut self.notches, &line),
                Some(Written::CutOut(line)) => put_in(&mut self.cutouts, &line),
                None => {}
            }
        }
        writing
    }

    /// That the corner of this number is missing, to be pressed.
    fn corner_choice(&mut self, ui: &mut Ui, c: &Colours, number: usize) {
        // Counted from the upper right one, which is meant where none is pressed.
        let at = (number + Corner::ALL.len() - UPPER_RIGHT) % Corner::ALL.len();
        if theme::choice(ui, c, Corner::ALL[number].name(), self.corner == at).clicked() {
            self.corner = at;
        }
    }

    /// The sheet as typed so far, and what there is to say of it.
    fn picture(&mut self, ui: &mut Ui, c: &Colours, unit: LengthUnit) {
        ui.vertical(|ui| {
            ui.label(RichText::new(&self.preview.says).font(theme::small()).color(c.quiet));
            let side = ui.available_width().clamp(160.0, 360.0);
            let (room, _) = ui.allocate_exact_size(vec2(side, 0.75 * side), Sense::hover());
            if let Some(silhouette) = &self.preview.silhouette {
                let scale = Scale::filling(silhouette, room);
                let (painter, residuals) = (ui.painter(), &self.preview.residuals);
                draw(painter, c, silhouette, &scale, false, room);
                draw_measured(painter, c, silhouette, &scale, room, residuals, unit);
            }
        });
    }

    /// Makes the picture anew where something was typed.
    fn renew(&mut self, unit: LengthUnit) {
        let typed = format!(
            "{:?}|{:?}|{:?}|{}|{}|{}|{}|{}|{}|{}",
            self.kind as u8,
            self.edges,
            unit,
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
        let (silhouette, residuals, says) = match self.made(unit) {
            Ok(made) => (Some(Silhouette::of(&made.outline)), made.residuals, made.says),
            Err(_) if untouched => {
                (None, Vec::new(), "The sheet is drawn here as you type.".to_owned())
            }
            Err(why) => (None, Vec::new(), why),
        };
        self.preview = Preview { of: Some(typed), silhouette, residuals, says };
    }

    /// What was measured.
    fn captured(&self, unit: LengthUnit) -> Result<Captured, String> {
        let rings = || read_rows(&self.points, unit).map_err(|f| joined(&f));
        let how = Pointing { outer: self.edges.kind, ..Pointing::default() };
        if self.kind == Kind::Points {
            let captured = capture_points(&rings()?, how).map_err(|f| joined(&f))?;
            return Ok(captured.at_datum());
        }
        let read = |name: &str, text: &str| {
            let example = size_example(unit);
            size(text, unit).ok_or_else(|| format!("{name}: write for example {example}"))
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
        let outer = Outer::Sides {
            size: read("size", &self.size)?,
            opposite: [None; 2],
            diagonals,
            sides: self.edges.sides(unit)?,
            missing,
        };
        let sheet = TypedSheet { outer, cutouts, clean, unknown: Vec::new() };
        let taped = sheet.captured().map_err(|f| joined(&f))?;
        if self.points.trim().is_empty() {
            return Ok(taped);
        }
        taped.sharpened(&rings()?, how).map_err(|f| joined(&f))
    }

    /// Its shape, and how well it is known.
    fn made(&self, unit: LengthUnit) -> Result<Made, String> {
        Made::of(&self.captured(unit)?, unit)
    }

    fn sheet(&self, unit: LengthUnit) -> Result<NewSheet, String> {
        let Made { outline, .. } = self.made(unit)?;
        Ok(NewSheet { label: None, facts: self.facts.facts(unit)?, outline, drawing: None })
    }
}

/// One more line.
fn put_in(lines: &mut String, line: &str) {
    if !lines.is_empty() && !lines.ends_with('\n') {
        lines.push('\n');
    }
    lines.push_str(line);
}

#[cfg(test)]
mod tests {
    use super::*;

    #[track_caller]
    fn refused(card: AddCard, says: &str) {
        let said = card.sheet(LengthUnit::Mm).err().unwrap();
        assert!(said.contains(says), "{said}");
    }

    fn facts(material: &str, thickness: &str) -> NewFacts {
        NewFacts { material: material.into(), thickness: thickness.into(), ..NewFacts::default() }
    }

    #[test]
    fn what_was_typed_wrongly_is_said() {
        let typed =
            || AddCard { size: "980x610".into(), facts: facts("S235", "3"), ..AddCard::default() };
        assert!(typed().sheet(LengthUnit::Mm).is_ok());
        refused(AddCard { size: "wide".into(), ..typed() }, "size: write for example");
        refused(AddCard { kind: Kind::Clean, ..typed() }, "clean rectangle:");
        let larger = AddCard { kind: Kind::Corner, inner: "2000x10".into(), ..typed() };
        refused(larger, "does not go into");
        refused(AddCard { facts: facts(" ", "3"), ..typed() }, "material:");
        refused(AddCard { facts: facts("S235", "thin"), ..typed() }, "thickness:");
        refused(AddCard { notches: "top 9x9".into(), ..typed() }, "how far along");
        refused(AddCard { cutouts: "circle 9".into(), ..typed() }, "say where it is");
        refused(AddCard { cutouts: "circle 9 at -90,0".into(), ..typed() }, "takes nothing");
        refused(AddCard { diagonals: "99x99".into(), ..typed() }, "do not meet");
        refused(AddCard { kind: Kind::Points, points: "1".into(), ..typed() }, "row 1");
    }

    #[test]
    fn a_taped_sheet_takes_the_edge_that_was_measured_better() {
        let points = "edge\n980.8,50\n980.8,550".to_owned();
        let card = AddCard { size: "980x610".into(), points, ..AddCard::default() };
        let captured = card.captured(LengthUnit::Mm).unwrap();
        assert!((captured.outer.shape().bounds().width() - 980.8).abs() < 1e-6);
        let known: Vec<f64> = captured.outer.known().iter().map(|k| k.facts.give_or_take).collect();
        assert!(known[1] < 0.8 && known[0] >= 1.0 && known[2] >= 1.0, "{known:?}");
    }

    #[test]
    fn an_l_with_holes_and_a_measured_sheet_are_what_was_typed() {
        let typed = || AddCard {
            size: "980x610".into(),
            facts: facts("S235", "11 ga"),
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
