//! The pointer on the canvas: pressing and dragging parts, the turn handle, moving and zooming the
//! view.

use eframe::egui::{
    CursorIcon, PointerButton, Pos2, Rect, Response, Role, Sense, Stroke, Ui, Vec2, WidgetInfo,
};
use oddment_app::act::Act;
use oddment_app::open_job::Copy;
use oddment_app::session::Session;
use oddment_core::shape::{Bounds, Point, SheetSpace};

use super::draw::Scene;
use super::names::toggled;
use super::pictures::Pictures;
use super::view::View;
use crate::theme::Colours;

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
        let knob = match turning {
            Some(about) => Knob::about(scene, about),
            None => Knob::of(scene),
        };
        let Some(knob) = knob else { return };
        let (way, rect) = (knob.way, knob.rect(scene.c));
        let response = ui.interact(rect, id.with("knob"), Sense::drag());
        response.widget_info(|| WidgetInfo::labeled(Role::Button, true, "turn handle"));
        let line = Stroke::new(1.5, scene.c.strong);
        let painter = ui.painter_at(scene.area);
        painter.line_segment([knob.at - way * 26.0, knob.at - way * 9.0], line);
        let fill = if response.hovered() { scene.c.selected } else { scene.c.card };
        painter.circle(knob.at, 9.0, fill, line);
        if response.hovered() {
            ui.ctx().set_cursor_icon(CursorIcon::Alias);
        }
        if response.drag_started() {
            ui.data_mut(|d| d.insert_temp(id, knob.about));
            acts.push(Act::PickUp(session.selected().to_vec()));
        }
        if response.dragged()
            && let Some(at) = response.interact_pointer_pos()
        {
            let snap = if ui.input(|i| i.modifiers.shift) { 15.0 } else { 1.0 };
            acts.push(Act::TurnTo(handle_angle(scene.view.to_screen(knob.about), at, snap)));
        }
        if response.drag_stopped() {
            ui.data_mut(|d| d.remove::<Point<SheetSpace>>(id));
            acts.push(Act::PutDown);
        }
    }
}

/// Where the handle stands that turns what is selected.
pub(super) struct Knob {
    /// The middle of what it turns.
    about: Point<SheetSpace>,
    /// The way to it from there.
    way: Vec2,
    at: Pos2,
}

impl Knob {
    /// The handle of the one part that is selected; none while something is in the hand.
    pub(super) fn of(scene: &Scene<'_>) -> Option<Self> {
        let idle = scene.session.hand().is_none();
        middle_of_selected(scene.session).filter(|_| idle).and_then(|m| Self::about(scene, m))
    }

    fn about(scene: &Scene<'_>, about: Point<SheetSpace>) -> Option<Self> {
        let (turn, reach) = first_turn(scene.session)?;
        let arm = (scene.view.length(reach) + 30.0).max(40.0);
        let way = Vec2::new(-(turn.sin() as f32), -(turn.cos() as f32));
        Some(Self { about, way, at: scene.view.to_screen(about) + way * arm })
    }

    /// What a press on it takes.
    pub(super) fn rect(&self, c: &Colours) -> Rect {
        Rect::from_center_size(self.at, Vec2::splat(c.touch))
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

/// The laid part that a press on a point of the screen means: the one whose metal is there, or whose middle
/// is near; else the smallest with a hole there.
fn hit(session: &Session, pictures: &mut Pictures, view: &View, at: Pos2) -> Option<Copy> {
    let point = view.to_sheet(at);
    let layout = session.slot().and_then(|s| session.view().layout(s))?;
    let near = REACH / view.scale;
    let mut around: Option<(f64, Copy)> = None;
    for p in layout.placements.iter().rev() {
        let Some(picture) = pictures.part(p.part) else { continue };
        let here = p.pose.inverse().apply(point);
        if picture.contains(here) || picture.label.distance(here) < near {
            return Some(Copy::of(p));
        }
        let size = picture.size();
        if picture.surrounds(here) && around.is_none_or(|(least, _)| size < least) {
            around = Some((size, Copy::of(p)));
        }
    }
    around.map(|(_, copy)| copy)
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
    use std::sync::Arc;

    use super::*;
    use eframe::egui::pos2;
    use oddment_app::start::first_job;
    use oddment_core::shape::PartSpace;

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

    #[test]
    fn a_press_in_a_parts_hole_means_the_part() {
        let mut session = Session::new(first_job().unwrap(), None, Arc::new(|| {}));
        let wanted = &session.view().job().wanted;
        let part = wanted.iter().position(|w| w.part.name == "deck-bracket").unwrap();
        session.apply(Act::PlaceOne(part));
        let copy = session.selected()[0];
        let sheet = session.view().job().stock[0].sheet.bounds();
        let area = Rect::from_min_max(pos2(0.0, 0.0), pos2(1000.0, 700.0));
        let view = View::fit(sheet, area);
        let mut pictures = Pictures::default();
        pictures.renew(&session.view().sourced, view.scale);
        let picture = pictures.part(part).unwrap();
        let (_, placed) = session.view().find(copy).unwrap();
        let region = &session.view().job().wanted[part].part.region;
        let hole = region.holes().iter().map(|hole| hole.bounds().centre());
        let hole = hole.max_by(|a, b| {
            let off = |p: &Point<PartSpace>| p.distance(picture.label);
            off(a).total_cmp(&off(b))
        });
        let hole = hole.unwrap();
        assert!(!picture.contains(hole) && hole.distance(picture.label) > REACH / view.scale);
        let pose = placed.pose;
        let mut hit_at = |p| hit(&session, &mut pictures, &view, view.to_screen(p));
        assert_eq!(hit_at(pose.apply(hole)), Some(copy));
        assert_eq!(hit_at(sheet.min), None);
    }
}
