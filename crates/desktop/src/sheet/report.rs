//! What there is to say about drawings that were read, what can be done about it, and why files
//! could not be.

use std::path::PathBuf;

use eframe::egui::{Rect, RichText, ScrollArea, TextEdit, Ui, pos2, vec2};
use oddment_app::act::Act;
use oddment_app::exchange::{ReadAs, ReadDrawing};
use oddment_app::session::Session;
use oddment_core::units::{LengthUnit, parse_length};
use oddment_files::drawing::{LayerUse, ReadOptions};
use oddment_files::words::counted;

use super::{card, child};
use crate::theme::{self, Colours, Weight};

/// Of so many drawings each is told about in full.
const FEW: usize = 2;

/// What is being typed, and what is looked at.
#[derive(Default)]
pub(crate) struct Report {
    /// The gap to close, of this drawing.
    typed_gap: Option<(PathBuf, String)>,
    /// Of many drawings the one with nothing to settle that is told about in full.
    unfolded: Option<PathBuf>,
    /// How high the card came out in the frame before.
    high: f32,
}

impl Report {
    /// Draws the card below the strong button, while there is something to say.
    pub(crate) fn show(
        &mut self,
        ui: &mut Ui,
        c: &Colours,
        session: &Session,
        place: Rect,
        acts: &mut Vec<Act>,
    ) {
        if session.report().is_empty() && session.problems().is_empty() {
            return;
        }
        let right = place.right() - 20.0;
        let top = place.top() + 4.0;
        let high = self.high.clamp(120.0, (place.height() - 190.0).max(120.0));
        let rect = Rect::from_min_max(pos2(right - 480.0, top), pos2(right, top + high));
        let mut used = 0.0;
        card(&mut child(ui, rect, "report"), c, rect, |ui| {
            let top = ui.cursor().top();
            if session.report().len() > FEW {
                ui.label(RichText::new(in_words(session.report())).font(theme::strong()));
            }
            let room = place.height() - 270.0 - (ui.cursor().top() - top);
            ScrollArea::vertical().max_height(room).auto_shrink([false, true]).show(ui, |ui| {
                for problem in session.problems() {
                    ui.label(RichText::new(problem).color(c.text));
                }
                self.drawings(ui, c, session, acts);
            });
            if theme::button(ui, c, "Close", "Esc", Weight::Plain).clicked() {
                acts.push(Act::CloseReport);
            }
            used = ui.cursor().top() - rect.top() + 8.0;
        });
        if used != self.high {
            self.high = used;
            ui.ctx().request_repaint();
        }
    }

    /// What is to be settled first, and what there is nothing to say about in a line each.
    fn drawings(&mut self, ui: &mut Ui, c: &Colours, session: &Session, acts: &mut Vec<Act>) {
        let mut drawings: Vec<&ReadDrawing> = session.report().iter().collect();
        drawings.sort_by_key(|d| (!d.must_settle(), d.problems_in_words().is_empty()));
        let few = drawings.len() <= FEW;
        for drawing in drawings {
            let small = small_holes(session, drawing) > 0;
            let full = few || small || !drawing.problems_in_words().is_empty();
            if full || self.unfolded.as_ref() == Some(&drawing.path) {
                self.one(ui, c, session, drawing, acts);
                continue;
            }
            let says = drawing.pieces_in_words(session.settings().unit()).unwrap_or_default();
            if theme::button(ui, c, &drawing.name(), &says, Weight::Words).clicked() {
                self.unfolded = Some(drawing.path.clone());
            }
        }
    }

    /// One drawing: its name, what was found in it, what was done about the rest, and what else can
    /// be done.
    fn one(
        &mut self,
        ui: &mut Ui,
        c: &Colours,
        session: &Session,
        drawing: &ReadDrawing,
        acts: &mut Vec<Act>,
    ) {
        let unit = session.settings().unit();
        ui.label(RichText::new(drawing.name()).font(theme::strong()));
        if let (Some(pieces), Some(units)) =
            (drawing.pieces_in_words(unit), drawing.units_in_words())
        {
            ui.label(RichText::new(format!("{pieces}; {units}")).color(c.quiet));
        }
        for (text, must_settle) in drawing.problems_in_words() {
            let text = if must_settle { format!("settle: {text}") } else { text };
            let ink = if must_settle { c.short } else { c.text };
            ui.label(RichText::new(text).font(theme::small()).color(ink));
        }
        if drawing.found.is_err() {
            ui.add_space(8.0);
            return;
        }
        let mut options = drawing.options.clone();
        let mut read_as = drawing.read_as;
        ui.horizontal_wrapped(|ui| {
            ui.spacing_mut().item_spacing = vec2(4.0, 0.0);
            units(ui, c, drawing, &mut options);
            let sheet = read_as == ReadAs::Sheet;
            if theme::choice(ui, c, "it is the sheet", sheet).clicked() && !sheet {
                read_as = ReadAs::Sheet;
            }
            centre_marks(ui, c, session, drawing, &mut options);
        });
        self.gap(ui, c, drawing, unit, &mut options);
        layers(ui, c, drawing, &mut options);
        if options != drawing.options || read_as != drawing.read_as {
            acts.push(Act::ReadAgain(drawing.path.clone(), read_as, options));
        }
        ui.add_space(8.0);
    }

    /// How far apart ends may be and still be joined.
    fn gap(
        &mut self,
        ui: &mut Ui,
        c: &Colours,
        drawing: &ReadDrawing,
        unit: LengthUnit,
        options: &mut ReadOptions,
    ) {
        ui.horizontal(|ui| {
            ui.label(RichText::new("close gaps up to").font(theme::small()).color(c.quiet));
            let shown = format!("{}", (options.bridge / unit.in_mm() * 1e4).round() / 1e4);
            let mut text = match &self.typed_gap {
                Some((path, text)) if *path == drawing.path => text.clone(),
                _ => shown,
            };
            let field = ui.add(
                TextEdit::singleline(&mut text)
                    .desired_width(60.0)
                    .align(eframe::egui::Align2::RIGHT_CENTER)
                    .min_size(vec2(60.0, 32.0)),
            );
            let field = field.accessible_name(format!("gaps to close in {}", drawing.name()));
            ui.label(RichText::new(unit.to_string()).font(theme::small()).color(c.quiet));
            if field.changed() {
                self.typed_gap = Some((drawing.path.clone(), text.clone()));
            }
            if field.lost_focus() {
                self.typed_gap = None;
                if let Ok(mm) = parse_length(&text, unit)
                    && (0.0..=10.0).contains(&mm)
                    && (mm - options.bridge).abs() > 1e-6
                {
                    options.bridge = mm;
                }
            }
        });
    }
}

/// “41 drawings were read, 2 of them to be settled”.
fn in_words(drawings: &[ReadDrawing]) -> String {
    let all = drawings.len();
    match drawings.iter().filter(|d| d.must_settle()).count() {
        0 => format!("{all} drawings were read"),
        1 => format!("{all} drawings were read, 1 of them is to be settled"),
        n => format!("{all} drawings were read, {n} of them are to be settled"),
    }
}

/// How thick (mm) the sheet that is shown is, where that is known.
fn thickness(session: &Session) -> Option<f64> {
    let sheet = &session.view().job().stock[session.slot()?.stock].sheet;
    sheet.made_of.as_ref().map(|metal| metal.thickness)
}

/// Round holes of the drawing that are smaller than the metal is thick.
fn small_holes(session: &Session, drawing: &ReadDrawing) -> usize {
    let found = thickness(session).zip(drawing.found.as_ref().ok());
    found.map_or(0, |(thickness, drawing)| drawing.small_holes(thickness))
}

/// What the numbers of the drawing mean.
fn units(ui: &mut Ui, c: &Colours, drawing: &ReadDrawing, options: &mut ReadOptions) {
    let mm_per_unit = drawing.found.as_ref().ok().map(|d| d.units.mm_per_unit);
    for (unit, name) in [(LengthUnit::Mm, "read as mm"), (LengthUnit::Inch, "read as inches")] {
        let now = mm_per_unit.is_some_and(|u| (u - unit.in_mm()).abs() < 1e-9);
        if theme::choice(ui, c, name, now).clicked() && !now {
            options.units = Some(unit);
        }
    }
}

/// Round holes smaller than the metal is thick can be drilled instead.
fn centre_marks(
    ui: &mut Ui,
    c: &Colours,
    session: &Session,
    drawing: &ReadDrawing,
    options: &mut ReadOptions,
) {
    let Some(thickness) = thickness(session) else { return };
    let on = options.centre_marks_under > 0.0;
    let small = small_holes(session, drawing);
    let name = match small {
        _ if on => "small holes are centre marks".to_owned(),
        0 => return,
        1 => "1 hole smaller than the metal is thick: mark its centre".to_owned(),
        _ => format!("{small} holes smaller than the metal is thick: mark centres"),
    };
    if theme::choice(ui, c, &name, on).clicked() {
        options.centre_marks_under = if on { 0.0 } else { thickness };
    }
}

/// What is done with each layer.
fn layers(ui: &mut Ui, c: &Colours, drawing: &ReadDrawing, options: &mut ReadOptions) {
    let Ok(found) = &drawing.found else { return };
    if found.layers.len() < 2 {
        return;
    }
    for layer in &found.layers {
        ui.horizontal_wrapped(|ui| {
            ui.spacing_mut().item_spacing = vec2(4.0, 0.0);
            let says = format!("layer {}, {}:", layer.name, counted(layer.lines, "line", "lines"));
            ui.label(RichText::new(says).font(theme::small()).color(c.quiet));
            let uses = [
                (LayerUse::Cut, "cut"),
                (LayerUse::Mark, "mark"),
                (LayerUse::LeaveOut, "leave out"),
            ];
            for (used, name) in uses {
                let on = layer.used == used;
                let spoken = format!("{name} layer {}", layer.name);
                if theme::spoken_choice(ui, c, name, on, &spoken).clicked() && !on {
                    options.layers.insert(layer.name.clone(), used);
                }
            }
        });
    }
}
