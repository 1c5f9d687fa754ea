//! The place *Bed*: how does the sheet lie on the bed? Points to drive to with the beam off, on the sheet
//! and in a list beside it; what was measured says how the sheet lies, and the plan is checked as laid.

mod draw;
mod hits;
mod list;
#[cfg(test)]
mod tests;

use eframe::egui::{Rect, Response, Sense, Ui, pos2};
use oddment_app::act::Act;
use oddment_app::lay::{CLAMP, ClampAct, LayAct, lay_of};
use oddment_app::session::{Ask, PointerList, Session};
use oddment_core::shape::{BedSpace, Bounds, Point, SheetSpace, Vector};

use crate::place::PlaceView;
use crate::sheet::{self, View};
use crate::theme::{self, Colours, Weight};
use crate::top_line::Word;

const EDGE: f32 = 20.0;
const LIST: f32 = 430.0;

/// What the place remembers from frame to frame.
#[derive(Default)]
pub(crate) struct BedPlace {
    view: Option<View>,
    fitted: Option<(usize, Bounds<SheetSpace>, Rect)>,
    ground: sheet::Ground,
    typing: hits::Typing,
    /// What was asked of the session last, and for which of its revisions and sheets.
    seen: Option<((u64, usize), PointerList)>,
    /// The clamp that is dragged, and where in it it was taken.
    grip: Option<(usize, Vector)>,
}

fn clamps(session: &Session) -> Vec<Bounds<BedSpace>> {
    let view = session.view();
    let name = session.slot().map(|s| view.job().stock[s.stock].sheet.name.as_str());
    name.and_then(|n| lay_of(view, n)).map(|l| l.clamps.clone()).unwrap_or_default()
}

impl BedPlace {
    /// Pans and zooms; a clamp that is dragged goes along, pressed twice it goes; an edge pressed twice is measured.
    fn gestures(
        &mut self,
        ui: &Ui,
        canvas: &Response,
        view: &mut View,
        session: &Session,
        acts: &mut Vec<Act>,
    ) {
        if let Some(at) = canvas.hover_pos() {
            let (scroll, pinch) = ui.input(|i| (i.smooth_scroll_delta.y, i.zoom_delta()));
            let factor = f64::from(pinch) * (f64::from(scroll) * 0.002).exp();
            if (factor - 1.0).abs() > 1e-6 {
                view.zoom(factor, at);
            }
        }
        let on_bed = |view: &View, at| session.bed_pose().apply(view.to_sheet(at));
        if canvas.drag_started()
            && let Some(from) = ui.input(|i| i.pointer.press_origin())
        {
            let at = on_bed(view, from);
            let held = clamps(session).iter().position(|c| c.contains(at));
            self.grip = held.map(|n| (n, at - clamps(session)[n].min));
        }
        if canvas.dragged() && self.grip.is_none() {
            view.pan(canvas.drag_delta());
        }
        if canvas.drag_stopped()
            && let Some((n, within)) = self.grip.take()
            && let Some(at) = ui.ctx().pointer_latest_pos()
        {
            let to = on_bed(view, at) - within;
            acts.push(Act::Lay(LayAct::Clamp(ClampAct::Move(n, to))));
        }
        if canvas.double_clicked()
            && let Some(at) = canvas.interact_pointer_pos()
        {
            let bed = on_bed(view, at);
            let clamp = clamps(session).iter().position(|c| c.contains(bed));
            acts.push(Act::Lay(match clamp {
                Some(n) => LayAct::Clamp(ClampAct::Remove(n)),
                None => LayAct::Also(view.to_sheet(at), true),
            }));
        }
    }
}

impl PlaceView for BedPlace {
    fn heading(&mut self, ui: &mut Ui, c: &Colours, session: &Session, acts: &mut Vec<Act>) {
        sheet::describe(ui, c, session, acts);
    }

    fn words(&self, session: &Session) -> Vec<Word> {
        Vec::from(Word::steps(session.undoes_and_redoes(), (Act::Undo, Act::Redo)))
    }

    fn strong(&mut self, ui: &mut Ui, c: &Colours, session: &Session, acts: &mut Vec<Act>) {
        if session.slot().is_none_or(|s| s.layout.is_none()) {
            return;
        }
        if theme::button(ui, c, "Add a clamp", "", Weight::Words).clicked() {
            // At the sheet's datum corner, from where it is dragged to its place.
            let corner =
                session.bed_pose().apply(session.datum()) - Vector::new(CLAMP, CLAMP) * 0.75;
            acts.push(Act::Lay(LayAct::Clamp(ClampAct::Add(corner))));
        }
        if theme::button(ui, c, "Export", "", Weight::Strong).clicked() {
            acts.push(Act::Export);
        }
    }

    fn show(
        &mut self,
        ui: &mut Ui,
        c: &Colours,
        session: &Session,
        area: Rect,
        acts: &mut Vec<Act>,
    ) {
        let Some(slot) = session.slot() else {
            sheet::no_sheet(ui, c, session, area, acts);
            return;
        };
        let right = area.right() - EDGE;
        let list_left = (right - LIST).max(area.left() + 300.0);
        let room = Rect::from_min_max(
            pos2(area.left() + EDGE + 40.0, area.top() + 40.0),
            pos2(list_left - 40.0, area.bottom() - 60.0),
        );
        let bounds = session.view().job().stock[slot.stock].sheet.bounds();
        let fitted = (session.shown().0, bounds, room);
        if self.fitted != Some(fitted) {
            self.view = Some(View::fit(bounds, room));
            self.fitted = Some(fitted);
        }
        let mut view = self.view.unwrap_or_else(|| View::fit(bounds, room));
        let canvas = ui.interact(area, ui.scope_id().with("bed canvas"), Sense::click_and_drag());
        self.gestures(ui, &canvas, &mut view, session, acts);
        self.view = Some(view);
        let painter = ui.painter_at(area);
        self.ground.draw(&painter, c, session, slot, view, area);
        let asked = (session.revision(), session.shown().0);
        if self.seen.as_ref().is_none_or(|s| s.0 != asked) {
            self.seen = Some((asked, session.pointed()));
        }
        let Some((_, seen)) = &self.seen else { return };
        let points = &seen.points;
        let pose = session.bed_pose();
        if let Some(machine) = session.machine() {
            draw::bed(&painter, c, &view, &pose, machine);
        }
        let mut clamps = clamps(session);
        if let (Some((n, within)), Some(at)) = (self.grip, ui.ctx().pointer_latest_pos())
            && let Some(clamp) = clamps.get_mut(n)
        {
            let min = pose.apply(view.to_sheet(at)) - within;
            *clamp = Bounds { min, max: min + Vector::new(CLAMP, CLAMP) };
        }
        draw::clamps(&painter, c, &view, &pose, &clamps, &seen.bearings);
        draw::points(&painter, c, &view, points, bounds.centre());
        let card = Rect::from_min_max(
            pos2(list_left, area.top() + 8.0),
            pos2(right, area.bottom() - EDGE),
        );
        let mut list_ui = sheet::child(ui, card, "pointer list");
        list::show(&mut list_ui, c, session, seen, &mut self.typing, card, acts);
    }

    fn answer(&mut self, ask: Ask) {
        match ask {
            Ask::FitView => self.fitted = None,
            Ask::ZoomIn | Ask::ZoomOut => {
                let factor = if ask == Ask::ZoomIn { 1.25 } else { 0.8 };
                if let Some(view) = &mut self.view {
                    view.zoom(factor, view.middle);
                }
            }
            _ => {}
        }
    }
}

/// A point of the bed as it is written.
fn at_words(at: Point<BedSpace>, unit: oddment_core::units::LengthUnit) -> String {
    format!("{}, {} {unit}", unit.show(at.x), unit.show(at.y))
}
