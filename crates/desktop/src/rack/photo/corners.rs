//! The four corners of what is known, placed in the photograph, with a glass over the place.

use eframe::egui::{Align2, Color32, Painter, Pos2, Rect, Stroke, Ui, pos2, vec2};
use oddment_app::act::Act;
use oddment_app::capture::{CORNERS, CaptureAct};
use oddment_core::shape::Point;
use oddment_photo::{Photograph, PixelSpace};

use super::{Canvas, Here, P, PhotoPage, handle, nudged};
use crate::sheet::View;
use crate::theme::{self, Colours};

/// Side of the glass (pixels), and how much closer it shows things.
const GLASS: f32 = 190.0;
const CLOSER: f64 = 5.0;

/// A place of the photograph on the ground that views are of: y up.
fn on_ground(photo: &Photograph, at: Point<PixelSpace>) -> P {
    P::new(at.x, photo.height() - at.y)
}

fn in_photo(photo: &Photograph, at: P) -> Point<PixelSpace> {
    Point::new(at.x, photo.height() - at.y)
}

impl PhotoPage {
    pub(super) fn corners(
        &mut self,
        ui: &mut Ui,
        here: Here<'_>,
        photo: &Photograph,
        canvas: &Canvas<'_>,
        acts: &mut Vec<Act>,
    ) {
        let Here { c, capture, .. } = here;
        let Canvas { response: canvas, view, painter } = *canvas;
        let mut say = |act| acts.push(Act::Capture(act));
        let shown = |view: &View, at: Pos2| {
            view.to_screen(P::new(f64::from(at.x), photo.height() - f64::from(at.y)))
        };
        self.photo.draw(painter, |at| shown(view, at));
        let said = capture.said();
        let mut placed: Vec<P> = said.corners.iter().map(|q| on_ground(photo, *q)).collect();
        if let Some((n, at)) = self.corner
            && let Some(corner) = placed.get_mut(n)
        {
            *corner = at;
        }
        let on_screen: Vec<Pos2> = placed.iter().map(|p| view.to_screen(*p)).collect();
        let line = |from: Pos2, to: Pos2| {
            painter.line_segment([from, to], Stroke::new(3.0, Color32::BLACK.gamma_multiply(0.6)));
            painter.line_segment([from, to], Stroke::new(1.5, c.selected));
        };
        for pair in on_screen.windows(2) {
            line(pair[0], pair[1]);
        }
        if let [first, .., last] = on_screen[..]
            && on_screen.len() == 4
        {
            line(last, first);
        }
        let mut closely = None;
        for (n, at) in on_screen.iter().enumerate() {
            let name = format!("corner {}, {}", n + 1, CORNERS[n]);
            let held = handle(ui, c, painter, *at, &name);
            theme::tag(
                painter,
                *at + vec2(12.0, -12.0),
                Align2::LEFT_BOTTOM,
                &(n + 1).to_string(),
                theme::strong(),
                c.text,
                c.card,
            );
            if held.dragged() {
                let from = self.corner.filter(|(held, _)| *held == n).map_or(placed[n], |h| h.1);
                // A drag goes slower than the pointer while Shift is held: to the pixel.
                let slow = if ui.input(|i| i.modifiers.shift) { 0.15 } else { 1.0 };
                let by = held.drag_delta() * slow;
                let to = view.to_sheet(view.to_screen(from) + by);
                self.corner = Some((n, to));
                closely = Some(to);
            } else if held.drag_stopped()
                && let Some((_, at)) = self.corner.take()
            {
                say(CaptureAct::Place(n, in_photo(photo, at)));
            } else if held.hovered() || held.has_focus() {
                closely = Some(placed[n]);
            }
            let by = nudged(ui, view);
            if held.has_focus() && by.length() > 0.0 {
                say(CaptureAct::Place(n, in_photo(photo, placed[n] + by)));
            }
        }
        let next = placed.len();
        if next < 4
            && let Some(at) = canvas.hover_pos()
        {
            closely = closely.or(Some(view.to_sheet(at)));
            let says = format!("press corner {}, {}", next + 1, CORNERS[next]);
            let at = at + vec2(16.0, 18.0);
            theme::tag(painter, at, Align2::LEFT_TOP, &says, theme::small(), c.text, c.card);
        }
        if canvas.clicked()
            && next < 4
            && let Some(at) = canvas.interact_pointer_pos()
        {
            let at = in_photo(photo, view.to_sheet(at));
            if photo.holds(at) {
                say(CaptureAct::Place(next, at));
            }
        }
        if let Some(at) = closely {
            self.glass(c, painter, view, at, shown);
        }
    }

    /// What is about a place, closer.
    fn glass(
        &self,
        c: &Colours,
        painter: &Painter,
        view: &View,
        at: P,
        shown: impl Fn(&View, Pos2) -> Pos2,
    ) {
        let room = painter.clip_rect();
        // Where it does not cover what it shows.
        let on_left = view.to_screen(at).x > room.center().x;
        let left = if on_left { room.left() + 10.0 } else { room.right() - 10.0 - GLASS };
        let glass = Rect::from_min_size(pos2(left, room.top() + 10.0), vec2(GLASS, GLASS));
        let close =
            View { centre: at, scale: (view.scale * CLOSER).max(2.0), middle: glass.center() };
        let inside = painter.with_clip_rect(glass);
        inside.rect_filled(glass, 0, c.bed);
        self.photo.draw(&inside, |at| shown(&close, at));
        let cross = Stroke::new(1.0, c.selected);
        inside.hline(glass.x_range(), glass.center().y, cross);
        inside.vline(glass.center().x, glass.y_range(), cross);
        painter.rect_stroke(glass, 4, Stroke::new(2.0, c.card), eframe::egui::StrokeKind::Outside);
    }
}
