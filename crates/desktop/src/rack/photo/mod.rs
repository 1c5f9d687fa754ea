//! A sheet from a photograph: place the corners of what is known in it, look through what was found, and keep
//! it as a sheet. The picture is beside all the while.

mod card;
mod contours;
mod corners;
#[cfg(test)]
mod tests;
mod tiles;

use eframe::egui::{
    Color32, Key, Painter, Pos2, Rect, Response, RichText, Sense, Stroke, Ui, pos2, vec2,
};
use oddment_app::act::Act;
use oddment_app::capture::{Capture, CaptureAct, Made, Tracing};
use oddment_app::rack::Desk;
use oddment_app::session::Session;
use oddment_core::gauge::parse_thickness;
use oddment_core::shape::{Bounds, Point, SheetSpace, Vector};
use oddment_core::units::LengthUnit;

use super::new_facts::NewFacts;
use super::silhouette::{Scale, Silhouette, draw, draw_measured};
use crate::sheet::{View, child};
use crate::theme::{self, Colours, Weight};
use crate::told::Pending;
use tiles::Tiles;

type P = Point<SheetSpace>;

/// What is being done.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
enum Step {
    #[default]
    Corners,
    Edges,
    Sheet,
}

const STEPS: [(Step, &str); 3] =
    [(Step::Corners, "1  Corners"), (Step::Edges, "2  Edges"), (Step::Sheet, "3  Sheet")];

/// What a press on the picture does.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
enum Tool {
    #[default]
    Choose,
    Trace(Tracing),
}

/// What the page remembers from frame to frame.
#[derive(Default)]
pub(super) struct PhotoPage {
    step: Step,
    tool: Tool,
    view: Option<View>,
    fitted: Option<(Step, Rect, bool)>,
    /// The photograph, and the picture from straight above of this looking.
    photo: Tiles,
    above: (usize, Tiles),
    /// The contour that is looked at, and one of its edges.
    chosen: Option<(usize, usize)>,
    /// The contour that the list was last scrolled to.
    listed: Option<usize>,
    /// What is pressed round so far.
    pressed: Vec<P>,
    /// The handle that is dragged, and where it is.
    grip: Option<(contours::Handle, P)>,
    corner: Option<(usize, P)>,
    typed: card::Typed,
    facts: NewFacts,
    made: Option<Drawn>,
    looked: bool,
    adding: Pending,
}

/// The sheet that it makes, for the revision and the thickness that it was made of.
struct Drawn {
    of: (u64, f64),
    made: Result<(Made, Silhouette), String>,
}

/// What the page is about.
#[derive(Clone, Copy)]
pub(super) struct Here<'a> {
    pub(super) c: &'a Colours,
    pub(super) session: &'a Session,
    pub(super) desk: &'a Desk,
    pub(super) capture: &'a Capture,
}

impl Here<'_> {
    fn unit(&self) -> LengthUnit {
        self.session.settings().unit()
    }
}

/// The picture, where it is on the screen, and what is done with the pointer there.
struct Canvas<'a> {
    response: &'a Response,
    view: &'a View,
    painter: &'a Painter,
}

const EDGE: f32 = 20.0;
const CARD: f32 = 470.0;

impl PhotoPage {
    /// The strong button and what else is done with the whole.
    pub(super) fn strong(&mut self, ui: &mut Ui, here: Here<'_>, acts: &mut Vec<Act>) {
        let Here { c, session, capture, .. } = here;
        // It stays open until the sheet is in the rack; a refusal is told on the card.
        if self.adding.is_done(session, &mut None) {
            acts.push(Act::Capture(CaptureAct::Close));
        }
        let mut say = |act| acts.push(Act::Capture(act));
        let (undo, redo) = capture.can_undo_and_redo();
        for (name, key, can, act) in
            [("Undo", "Ctrl Z", undo, CaptureAct::Undo), ("Redo", "Ctrl Y", redo, CaptureAct::Redo)]
        {
            ui.add_enabled_ui(can, |ui| {
                if theme::button(ui, c, name, key, Weight::Words).clicked() {
                    say(act);
                }
            });
        }
        if theme::button(ui, c, "Put away", "", Weight::Words)
            .on_hover_text("the photograph, and all that was said of it")
            .clicked()
        {
            say(CaptureAct::Close);
        }
        match self.step {
            _ if capture.at_work().is_some() => {
                if theme::button(ui, c, "Stop", "", Weight::Strong).clicked() {
                    say(CaptureAct::Stop);
                }
            }
            Step::Corners => {
                let ready = capture.photo().is_some() && capture.said().corners.len() == 4;
                ui.add_enabled_ui(ready, |ui| {
                    if theme::button(ui, c, "Find the edges", "", Weight::Strong).clicked() {
                        say(CaptureAct::Look);
                    }
                });
            }
            Step::Edges => {
                if theme::button(ui, c, "Go on", "", Weight::Strong).clicked() {
                    self.step = Step::Sheet;
                }
            }
            Step::Sheet => {
                if theme::button(ui, c, "Add to the rack", "", Weight::Strong).clicked() {
                    match self.facts.facts(here.unit()) {
                        Ok(mut facts) => {
                            let bow = capture.said().bow;
                            facts.bow = (bow > 0.0).then_some(bow);
                            self.typed.fault = None;
                            let add = Act::Capture(CaptureAct::Add(Box::new(facts)));
                            self.adding.ask(add, acts);
                        }
                        Err(why) => self.typed.fault = Some(why),
                    }
                }
            }
        }
    }

    pub(super) fn show(&mut self, ui: &mut Ui, here: Here<'_>, area: Rect, acts: &mut Vec<Act>) {
        let Here { c, capture, .. } = here;
        // Ctrl Z takes back what was done in the rack, and comes here while a sheet is captured.
        if !ui.ctx().text_edit_focused()
            && ui.input(|i| i.modifiers.command && i.key_pressed(Key::Y))
        {
            acts.push(Act::Capture(CaptureAct::Redo));
        }
        // What was asked for is shown as soon as it is there.
        if capture.is_looked_at() != self.looked {
            self.looked = capture.is_looked_at();
            if self.looked && self.step == Step::Corners {
                self.step = Step::Edges;
            }
        }
        let right = area.right() - EDGE;
        let split = (right - CARD).max(area.left() + 300.0);
        let room = Rect::from_min_max(
            pos2(area.left() + EDGE, area.top() + 8.0),
            pos2(split - 16.0, area.bottom() - EDGE),
        );
        ui.painter().rect_filled(room, 8, c.metal.gamma_multiply(0.5));
        self.picture(ui, here, room, acts);
        let card =
            Rect::from_min_max(pos2(split, area.top() + 8.0), pos2(right, area.bottom() - EDGE));
        let mut card_ui = child(ui, card, "photograph");
        self.card(&mut card_ui, here, card, acts);
    }

    /// The photograph, the picture from above or the sheet, as the step asks.
    fn picture(&mut self, ui: &mut Ui, here: Here<'_>, room: Rect, acts: &mut Vec<Act>) {
        let Here { c, capture, .. } = here;
        let Some(photo) = capture.photo() else {
            let says = capture.problem().unwrap_or("The photograph is being read.");
            let mut text = child(ui, room.shrink(20.0), "reading");
            text.label(RichText::new(says).color(c.text));
            return;
        };
        self.photo.load(ui.ctx(), photo.colours());
        let seen = capture.seen();
        if let Some(seen) = seen {
            let number = std::sync::Arc::as_ptr(seen) as usize;
            if self.above.0 != number {
                self.above = (number, Tiles::default());
                (self.chosen, self.fitted) = (None, None);
                self.pressed.clear();
            }
            self.above.1.load(ui.ctx(), &seen.picture);
        }
        let bounds = match (self.step, seen) {
            (Step::Edges, Some(seen)) => contours::shown(seen, capture.said()),
            (Step::Sheet, _) => return self.sheet(ui, here, room),
            _ => Bounds { min: P::origin(), max: P::new(photo.width(), photo.height()) },
        };
        let fitted = (self.step, room, seen.is_some());
        if self.fitted != Some(fitted) {
            self.view = Some(View::fit(bounds, room.shrink(12.0)));
            self.fitted = Some(fitted);
        }
        let mut view = self.view.unwrap_or_else(|| View::fit(bounds, room));
        let canvas = ui.interact(room, ui.scope_id().with("photo canvas"), Sense::click_and_drag());
        zoom_and_pan(ui, &canvas, &mut view);
        self.view = Some(view);
        let painter = ui.painter_at(room);
        let canvas = Canvas { response: &canvas, view: &view, painter: &painter };
        match (self.step, seen) {
            (Step::Edges, Some(seen)) => self.contours(ui, here, seen, &canvas, acts),
            (Step::Edges, None) => {}
            _ => self.corners(ui, here, photo, &canvas, acts),
        }
    }

    /// The sheet that it makes.
    fn sheet(&mut self, ui: &mut Ui, here: Here<'_>, room: Rect) {
        self.renew(here);
        let Some(Drawn { made: Ok((made, silhouette)), .. }) = &self.made else { return };
        let (painter, inside, unit) = (ui.painter_at(room), room.shrink(30.0), here.unit());
        let scale = Scale::filling(silhouette, inside);
        draw(&painter, here.c, silhouette, &scale, false, inside);
        draw_measured(&painter, here.c, silhouette, &scale, inside, &made.residuals, unit);
    }

    /// Makes the sheet anew where something was said.
    fn renew(&mut self, here: Here<'_>) {
        let (unit, capture) = (here.unit(), here.capture);
        let thickness = self.thickness(unit);
        let of = (capture.revision(), thickness);
        if self.made.as_ref().is_some_and(|m| m.of == of) {
            return;
        }
        let made = capture.captured(thickness, unit);
        let made = made.and_then(|captured| Made::of(&captured, unit)).map(|made| {
            let silhouette = Silhouette::of(&made.outline);
            (made, silhouette)
        });
        self.made = Some(Drawn { of, made });
    }

    /// Thickness as typed, mm; 0 until it is.
    fn thickness(&self, unit: LengthUnit) -> f64 {
        parse_thickness(&self.facts.thickness, unit, self.facts.material.trim()).unwrap_or(0.0)
    }
}

/// Closer under the pointer with the wheel; along with a drag of the ground.
fn zoom_and_pan(ui: &Ui, canvas: &Response, view: &mut View) {
    if let Some(at) = canvas.hover_pos() {
        let (scroll, pinch) = ui.input(|i| (i.smooth_scroll_delta.y, i.zoom_delta()));
        let factor = f64::from(pinch) * (f64::from(scroll) * 0.003).exp();
        if (factor - 1.0).abs() > 1e-6 {
            view.zoom(factor, at);
        }
    }
    if canvas.dragged() {
        view.pan(canvas.drag_delta());
    }
}

/// A round handle with a name: what a finger or a glove takes hold of.
fn handle(ui: &Ui, c: &Colours, painter: &Painter, at: Pos2, name: &str) -> Response {
    let id = ui.scope_id().with(("handle", name));
    let response =
        ui.interact(Rect::from_center_size(at, vec2(26.0, 26.0)), id, Sense::click_and_drag());
    let warm = if response.hovered() || response.dragged() { c.selected } else { Color32::WHITE };
    painter.circle(at, 7.0, warm.gamma_multiply(0.85), Stroke::new(2.0, Color32::BLACK));
    theme::focus_ring(ui, c, &response, 13);
    response
        .widget_info(|| eframe::egui::WidgetInfo::labeled(eframe::egui::Role::Button, true, name));
    response
}

/// So far from the pointer a thing is still meant, pixels.
const REACH: f32 = 9.0;

/// A step of the keyboard, in pixels of the screen.
fn nudged(ui: &Ui, view: &View) -> Vector {
    let step = |key, x: f64, y: f64| {
        if ui.input(|i| i.key_pressed(key)) { Vector::new(x, y) } else { Vector::default() }
    };
    let by = step(Key::ArrowLeft, -1.0, 0.0)
        + step(Key::ArrowRight, 1.0, 0.0)
        + step(Key::ArrowUp, 0.0, 1.0)
        + step(Key::ArrowDown, 0.0, -1.0);
    by * (1.0 / view.scale)
}
