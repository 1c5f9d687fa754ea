//! What was found, over the picture from straight above: to be chosen, dragged, and traced beside.

use eframe::egui::{Align2, Color32, Key, Painter, Pos2, Shape, Stroke, Ui};
use oddment_app::act::Act;
use oddment_app::capture::{CaptureAct, Contour, Said, Seen, Tracing};
use oddment_core::shape::{Bounds, Edge, Loop, Point, SheetSpace};

use super::{Canvas, Here, P, PhotoPage, REACH, Tool, handle};
use crate::sheet::View;
use crate::sheet::pictures::hatch;
use crate::theme::{self, Colours};

/// What of a contour can be taken hold of.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Handle {
    Corner(usize),
    Middle,
    Rim,
}

/// Contours with more corners than this show none: a free edge is traced anew instead.
const MOST_CORNERS: usize = 40;

/// What of the picture is worth showing: the sheet with some room about it.
pub(super) fn shown(seen: &Seen, said: &Said) -> Bounds<SheetSpace> {
    let outer = said.contours.iter().find(|c| c.outer).map(|c| c.offered.shape.bounds());
    let whole = Bounds {
        min: seen.grid.origin,
        max: seen.grid.at(seen.grid.cells[0] as f64, seen.grid.cells[1] as f64),
    };
    outer.map_or(whole, |b| b.grown(0.03 * b.width().max(b.height())))
}

/// An edge on the screen.
fn drawn(edge: &Edge<SheetSpace>, view: &View) -> Vec<Pos2> {
    let bend = (edge.bulge().abs() * f64::from(view.length(edge.length()))).sqrt();
    let count = if edge.bulge() == 0.0 { 1 } else { bend.ceil().clamp(4.0, 48.0) as usize };
    (0..=count).map(|i| view.to_screen(edge.at(i as f64 / count as f64))).collect()
}

fn rim(shape: &Loop<SheetSpace>, view: &View) -> Vec<Pos2> {
    shape
        .edges()
        .flat_map(|e| {
            let mut points = drawn(&e, view);
            points.pop();
            points
        })
        .collect()
}

impl PhotoPage {
    pub(super) fn contours(
        &mut self,
        ui: &mut Ui,
        here: Here<'_>,
        seen: &Seen,
        canvas: &Canvas<'_>,
        acts: &mut Vec<Act>,
    ) {
        let Here { c, capture, .. } = here;
        let Canvas { view, painter, .. } = *canvas;
        let grid = seen.grid;
        self.above.1.draw(painter, |at| {
            let up = grid.cells[1] as f64 - f64::from(at.y);
            view.to_screen(grid.at(f64::from(at.x), up))
        });
        let said = capture.said();
        for hidden in &said.unseen {
            let rim = rim(hidden, view);
            for falling in [false, true] {
                for line in hatch(std::slice::from_ref(&rim), 7.0, falling) {
                    painter.line_segment(line, Stroke::new(1.2, c.short));
                }
            }
            painter.add(Shape::closed_line(rim, Stroke::new(2.0, c.short)));
        }
        for (n, contour) in said.contours.iter().enumerate() {
            let chosen = self.chosen.is_some_and(|ch| ch.0 == n);
            draw(c, painter, view, contour, chosen);
        }
        match self.tool {
            Tool::Choose => self.choose(ui, here, canvas, acts),
            Tool::Trace(what) => self.trace(ui, here, what, canvas, acts),
        }
    }

    /// Choosing, dragging, keeping and leaving out.
    fn choose(&mut self, ui: &mut Ui, here: Here<'_>, canvas: &Canvas<'_>, acts: &mut Vec<Act>) {
        let (c, said) = (here.c, here.capture.said());
        let Canvas { response, view, painter } = *canvas;
        if response.clicked()
            && let Some(at) = response.interact_pointer_pos()
        {
            self.chosen = meant(said, view, at);
        }
        let Some((n, edge)) = self.chosen else { return };
        let Some(contour) = said.contours.get(n) else {
            self.chosen = None;
            return;
        };
        // A circle’s two halves are one edge to whoever looks at it.
        let whole = contour.circle().is_some();
        for (_, edge) in contour.offered.shape.edges().enumerate().filter(|e| whole || e.0 == edge)
        {
            painter.add(Shape::line(drawn(&edge, view), Stroke::new(5.0, c.selected)));
        }
        self.handles(ui, c, (n, contour), canvas, acts);
        if ui.ctx().text_edit_focused() {
            return;
        }
        let key = |key| ui.input(|i| i.key_pressed(key));
        if key(Key::Delete) || key(Key::Space) {
            let kept = key(Key::Space) && !contour.kept;
            acts.push(Act::Capture(CaptureAct::Keep(n, kept)));
        }
    }

    fn handles(
        &mut self,
        ui: &mut Ui,
        c: &Colours,
        (n, contour): (usize, &Contour),
        canvas: &Canvas<'_>,
        acts: &mut Vec<Act>,
    ) {
        let Canvas { view, painter, .. } = *canvas;
        let shape = &contour.offered.shape;
        let mut handles: Vec<(Handle, P, String)> = Vec::new();
        if let Some((centre, radius)) = contour.circle() {
            let rim = centre + oddment_core::shape::Vector::new(radius, 0.0);
            handles.push((Handle::Rim, rim, "rim".to_owned()));
        } else if shape.vertices().len() <= MOST_CORNERS {
            let corners = shape.vertices().iter().enumerate();
            handles.extend(
                corners.map(|(i, v)| (Handle::Corner(i), v.point, format!("corner {}", i + 1))),
            );
        }
        if !contour.outer {
            handles.push((Handle::Middle, shape.bounds().centre(), "middle".to_owned()));
        }
        for (which, at, name) in handles {
            let now = self.grip.filter(|g| g.0 == which).map_or(at, |g| g.1);
            let held = handle(ui, c, painter, view.to_screen(now), &name);
            if held.dragged() {
                self.grip = Some((which, view.to_sheet(view.to_screen(now) + held.drag_delta())));
                let [from, to] = [at, now].map(|p| view.to_screen(p));
                painter.line_segment([from, to], Stroke::new(1.5, c.selected));
            } else if held.drag_stopped()
                && let Some((_, to)) = self.grip.take()
            {
                let freely = ui.input(|i| i.modifiers.alt);
                acts.push(Act::Capture(match which {
                    Handle::Corner(i) => CaptureAct::MoveCorner(n, i, to, freely),
                    Handle::Middle => CaptureAct::MoveContour(n, to - at),
                    Handle::Rim => {
                        let centre = contour.circle().map_or(at, |c| c.0);
                        CaptureAct::Resize(n, to.distance(centre))
                    }
                }));
            }
        }
    }

    /// Pressing round what is to be a contour.
    fn trace(
        &mut self,
        ui: &mut Ui,
        here: Here<'_>,
        what: Tracing,
        canvas: &Canvas<'_>,
        acts: &mut Vec<Act>,
    ) {
        let Here { c, capture, .. } = here;
        let Canvas { response: canvas, view, painter } = *canvas;
        let freely = ui.input(|i| i.modifiers.alt);
        let drawn_to = |at: Pos2| {
            let at = view.to_sheet(at);
            if freely || what == Tracing::Unseen { at } else { capture.drawn_to_edge(at) }
        };
        let colour = if what == Tracing::Unseen { c.short } else { c.selected };
        let mut round: Vec<Pos2> = self.pressed.iter().map(|p| view.to_screen(*p)).collect();
        let mut done = false;
        if let Some(at) = canvas.hover_pos() {
            let to = view.to_screen(drawn_to(at));
            painter.circle_stroke(to, 5.0, Stroke::new(2.0, colour));
            let first = round.first().filter(|f| round.len() >= 3 && f.distance(at) < REACH);
            if canvas.clicked() {
                match first {
                    Some(_) => done = true,
                    None => self.pressed.push(drawn_to(at)),
                }
            }
            round.push(first.copied().unwrap_or(to));
        }
        painter
            .add(Shape::line(round.clone(), Stroke::new(4.0, Color32::BLACK.gamma_multiply(0.5))));
        painter.add(Shape::line(round, Stroke::new(2.0, colour)));
        for p in &self.pressed {
            painter.circle(view.to_screen(*p), 4.0, colour, Stroke::new(1.0, Color32::BLACK));
        }
        let key = |key| !ui.ctx().text_edit_focused() && ui.input(|i| i.key_pressed(key));
        done |= key(Key::Enter) || canvas.double_clicked();
        if key(Key::Backspace) {
            self.pressed.pop();
        }
        if key(Key::Escape) {
            self.pressed.clear();
            self.tool = Tool::Choose;
        }
        if done && self.pressed.len() >= 3 {
            let pressed = std::mem::take(&mut self.pressed);
            acts.push(Act::Capture(CaptureAct::Trace(what, pressed, freely)));
            // What was traced is looked at.
            self.chosen = match what {
                Tracing::CutOut => Some((capture.said().contours.len(), 0)),
                Tracing::Outer => Some((0, 0)),
                Tracing::Unseen => None,
            };
        }
    }
}

fn draw(c: &Colours, painter: &Painter, view: &View, contour: &Contour, chosen: bool) {
    let rim = rim(&contour.offered.shape, view);
    let wide = if chosen { 3.0 } else { 1.8 };
    let closed = |stroke| Shape::closed_line(rim.clone(), stroke);
    if contour.kept {
        // Dark beneath, so that it is seen on light metal too.
        painter.add(closed(Stroke::new(wide + 2.0, Color32::BLACK.gamma_multiply(0.45))));
        let colour = if contour.by_hand { c.selected } else { Color32::from_rgb(0x35, 0xC7, 0x95) };
        painter.add(closed(Stroke::new(wide, colour)));
        return;
    }
    let mut round = rim.clone();
    round.extend(rim.first());
    painter.extend(Shape::dashed_line(&round, Stroke::new(wide, c.short), 5.0, 5.0));
    let middle = view.to_screen(contour.offered.shape.bounds().centre());
    let ink = (c.text, c.card);
    theme::tag(painter, middle, Align2::CENTER_CENTER, "left out", theme::small(), ink.0, ink.1);
}

/// The contour and its edge that a press means: a line under the pointer, else the smallest contour about it.
fn meant(said: &Said, view: &View, at: Pos2) -> Option<(usize, usize)> {
    let p: Point<SheetSpace> = view.to_sheet(at);
    let near = said.contours.iter().enumerate().flat_map(|(n, contour)| {
        let edges = contour.offered.shape.edges().enumerate();
        edges.map(move |(i, e)| (view.length(e.nearest(p).distance(p)), n, i))
    });
    let line = near.filter(|(off, ..)| *off <= REACH).min_by(|a, b| a.0.total_cmp(&b.0));
    let about = || {
        let about = said.contours.iter().enumerate().filter(|(_, c)| c.offered.shape.encloses(p));
        about.min_by(|a, b| a.1.size().total_cmp(&b.1.size())).map(|(n, _)| (n, 0))
    };
    line.map(|(_, n, i)| (n, i)).or_else(about)
}
