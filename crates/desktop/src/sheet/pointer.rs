//! The pointer on the canvas: pressing and dragging parts, the turn handle, moving and zooming the
//! view.

use eframe::egui::{
    CursorIcon, PointerButton, Pos2, Rect, Response, Role, Sense, Stroke, Ui, Vec2, WidgetInfo,
};
use oddment_app::act::Act;
use oddment_app::open_job::Copy;
use oddment_app::session::Session;
use oddment_core::shape::{Bounds, Point, SheetSpace};

use super::draw::{Scene, toggled};
use super::pictures::Pictures;
use super::view::View;

/// How far (pixels) beside a part one may press and still mean it.
const REACH: f64 = 6.0;

/// What the pointer is doing.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub(crate) enum Gesture {
    /// Nothing.
    #[default]
    None,
    /// Moving the view.
    Pan,
    /// Moving what was picked up at this point of the sheet.
    Carry(Point<SheetSpace>),
    /// Selecting all in a box that starts at this point of the sheet.
    Box(Point<SheetSpace>),
}

impl Gesture {
    /// Takes in what the pointer does on the canvas.
    pub(crate) fn canvas(
        &mut self,
        ui: &Ui,
        canvas: &Response,
        view: &mut View,
        pictures: &mut Pictures,
        session: &Session,
        acts: &mut Vec<Act>,
    ) {
        if let Some(at) = canvas.hover_pos() {
            let (scroll, pinch) = ui.input(|i| (i.smooth_scroll_delta().y, i.zoom_delta()));
            let factor = f64::from(pinch) * (f64::from(scroll) * 0.004).exp();
            if factor != 1.0 {
                view.zoom(factor, at);
            }
            if session.hand().is_none() && hit(session, pictures, view, at).is_some() {
                ui.ctx().set_cursor_icon(CursorIcon::Grab);
            }
        }
        let shift = ui.input(|i| i.modifiers.shift);
        if canvas.drag_started()
            && let Some(from) = ui.input(|i| i.pointer.press_origin())
        {
            let on_sheet = view.to_sheet(from);
            let hit = hit(session, pictures, view, from);
            *self = match hit {
                Some(copy) if canvas.drag_started_by(PointerButton::Primary) && !shift => {
                    let selected = session.selected();
                    let picked =
                        if selected.contains(&copy) { selected.to_vec() } else { vec![copy] };
                    acts.push(Act::PickUp(picked));
                    Self::Carry(on_sheet)
                }
                _ if canvas.drag_started_by(PointerButton::Primary) && shift => Self::Box(on_sheet),
                _ => Self::Pan,
            };
        }
        let pointer = canvas.interact_pointer_pos();
        match (*self, pointer) {
            (Self::Pan, _) if canvas.dragged() => view.pan(canvas.drag_delta()),
            (Self::Carry(from), Some(at)) if canvas.dragged() => {
                let free = ui.input(|i| i.modifiers.alt);
                acts.push(Act::Follow(view.to_sheet(at) - from, free));
                ui.ctx().set_cursor_icon(CursorIcon::Grabbing);
            }
            (Self::Box(from), Some(at)) => {
                let rect = Rect::from_two_pos(view.to_screen(from), at);
                let line = Stroke::new(1.5, ui.visuals().selection.stroke.color);
                ui.painter().rect_stroke(rect, 0, line, eframe::egui::StrokeKind::Middle);
                if canvas.drag_stopped() {
                    let chosen = Bounds::of([from, view.to_sheet(at)]);
                    acts.push(Act::Select(in_box(session, chosen)));
                }
            }
            _ => {}
        }
        if canvas.drag_stopped() {
            if matches!(self, Self::Carry(_)) {
                acts.push(Act::PutDown);
            }
            *self = Self::None;
        }
        if canvas.clicked()
            && let Some(at) = canvas.interact_pointer_pos()
        {
            acts.push(match hit(session, pictures, view, at) {
                Some(copy) => Act::Select(toggled(session.selected(), copy, shift)),
                None => Act::SelectNone,
            });
        }
    }

    /// The handle that turns what is selected.
    pub(crate) fn handle(&mut self, ui: &mut Ui, scene: &Scene<'_>, acts: &mut Vec<Act>) {
        let id = ui.scope_id().with("turn handle");
        let session = scene.session;
        let turning: Option<Point<SheetSpace>> = ui.data(|d| d.get_temp(id));
        let about = match turning {
            Some(about) => Some(about),
            None if session.hand().is_some() => None,
            None => middle_of_selected(session),
        };
        let Some((about, turn, reach)) =
            about.zip(first_turn(session)).map(|(a, (t, r))| (a, t, r))
        else {
            return;
        };
        let middle = scene.view.to_screen(about);
        let arm = (scene.view.length(reach) + 30.0).max(40.0);
        let way = Vec2::new(-(turn.sin() as f32), -(turn.cos() as f32));
        let knob = middle + way * arm;
        let rect = Rect::from_center_size(knob, Vec2::splat(scene.c.touch));
        let response = ui.interact(rect, id.with("knob"), Sense::drag());
        response.widget_info(|| WidgetInfo::labeled(Role::Button, true, "turn handle"));
        let line = Stroke::new(1.5, scene.c.strong);
        let painter = ui.painter_at(scene.area);
        painter.line_segment([middle + way * (arm - 30.0 + 4.0), knob - way * 9.0], line);
        let fill = if response.hovered() { scene.c.selected } else { scene.c.card };
        painter.circle(knob, 9.0, fill, line);
        if response.hovered() {
            ui.ctx().set_cursor_icon(CursorIcon::Alias);
        }
        if response.drag_started() {
            ui.data_mut(|d| d.insert_temp(id, about));
            acts.push(Act::PickUp(session.selected().to_vec()));
        }
        if response.dragged()
            && let Some(at) = response.interact_pointer_pos()
        {
            let snap = if ui.input(|i| i.modifiers.shift) { 15.0 } else { 1.0 };
            acts.push(Act::TurnTo(handle_angle(middle, at, snap)));
        }
        if response.drag_stopped() {
            ui.data_mut(|d| d.remove::<Point<SheetSpace>>(id));
            acts.push(Act::PutDown);
        }
    }
}

/// The turn (radians) that puts the handle under the pointer, to multiples of `snap` degrees.
fn handle_angle(middle: Pos2, at: Pos2, snap: f64) -> f64 {
    let v = at - middle;
    let degrees = f64::from((-v.x).atan2(-v.y).to_degrees());
    ((degrees / snap).round() * snap).rem_euclid(360.0).to_radians()
}

fn middle_of_selected(session: &Session) -> Option<Point<SheetSpace>> {
    let [copy] = session.selected() else { return None };
    let (_, p) = session.view().find(*copy).filter(|(_, p)| !p.locked)?;
    let region = &session.view().job().wanted[p.part].part.region;
    Some(p.pose.apply(region.bounds().centre()))
}

/// Turn of what is selected, and how far (mm) it reaches from its middle.
fn first_turn(session: &Session) -> Option<(f64, f64)> {
    let (part, turn) = match session.hand() {
        Some(hand) => hand.held().next().map(|(h, pose)| (h.part, pose.turn))?,
        None => {
            let (_, p) = session.view().find(*session.selected().first()?)?;
            (p.part, p.pose.turn)
        }
    };
    let bounds = session.view().job().wanted.get(part)?.part.region.bounds();
    Some((turn, bounds.height() / 2.0))
}

/// The laid part under the pointer, or the one whose middle is near.
fn hit(session: &Session, pictures: &mut Pictures, view: &View, at: Pos2) -> Option<Copy> {
    let point = view.to_sheet(at);
    let layout = session.slot().and_then(|s| session.view().layout(s))?;
    let near = REACH / view.scale;
    layout
        .placements
        .iter()
        .rev()
        .find(|p| {
            pictures.part(p.part).is_some_and(|picture| {
                let here = p.pose.inverse().apply(point);
                picture.contains(here) || picture.label.distance(here) < near
            })
        })
        .map(Copy::of)
}

/// The laid parts whose boxes lie in `chosen`.
fn in_box(session: &Session, chosen: Bounds<SheetSpace>) -> Vec<Copy> {
    let open = session.view();
    let layout = session.slot().and_then(|s| open.layout(s));
    layout
        .into_iter()
        .flat_map(|l| &l.placements)
        .filter(|p| {
            let region = &open.job().wanted[p.part].part.region;
            chosen.contains_bounds(&region.placed(&p.pose).bounds())
        })
        .map(Copy::of)
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use eframe::egui::pos2;

    #[track_caller]
    fn check(at: (f32, f32), snap: f64, degrees: f64) {
        let angle = handle_angle(pos2(100.0, 100.0), pos2(at.0, at.1), snap).to_degrees();
        assert!((angle - degrees).abs() < 1e-9, "{angle}");
    }

    #[test]
    fn the_handle_stands_above_at_no_turn() {
        check((100.0, 20.0), 1.0, 0.0);
        check((20.0, 100.0), 1.0, 90.0);
        check((100.0, 180.0), 1.0, 180.0);
        check((180.0, 100.0), 1.0, 270.0);
        check((97.0, 20.0), 15.0, 0.0);
    }
}
