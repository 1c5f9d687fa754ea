//! Starts and tabs moved by hand.

use eframe::egui::{Painter, Response, Stroke, Ui};
use oddment_app::session::Session;
use oddment_core::cutting::cut::ContourKey;
use oddment_core::cutting::starts::choices;
use oddment_core::cutting::tabs::point_at;
use oddment_core::cutting::{ByHand, Pass};
use oddment_core::shape::{PartSpace, Point, Pose, SheetSpace};

use super::work::Planned;
use crate::sheet::View;
use crate::theme::Colours;

/// Pixels around a pierce, a tab or a contour that belong to it.
const NEAR: f64 = 12.0;

/// What is held while the pointer drags it.
pub(crate) enum Grip {
    /// A start: goes to the place nearest to the pointer at which the contour may start.
    Start(ContourKey),
    /// A tab: this one of a contour's list.
    Tab(ContourKey, usize),
    /// The sheet itself.
    Sheet,
}

impl Grip {
    /// Shows where what is held would go.
    pub(crate) fn draw(&self, painter: &Painter, c: &Colours, view: &View, ui: &Ui) {
        if matches!(self, Self::Sheet) {
            return;
        }
        if let Some(at) = ui.ctx().pointer_latest_pos() {
            // Seen through the view, so that it stays over the place it stands for.
            let at = view.to_screen(view.to_sheet(at));
            painter.circle_stroke(at, 10.0, Stroke::new(2.0, c.fits));
        }
    }
}

/// Pans, zooms, and moves starts and tabs.
pub(crate) fn gestures(
    ui: &Ui,
    canvas: &Response,
    view: &mut View,
    planned: Option<&Planned>,
    session: &Session,
    grip: &mut Option<Grip>,
    by_hand: &mut ByHand,
) {
    if let Some(at) = canvas.hover_pos() {
        let (scroll, pinch) = ui.input(|i| (i.smooth_scroll_delta.y, i.zoom_delta()));
        let factor = f64::from(pinch) * (f64::from(scroll) * 0.002).exp();
        if (factor - 1.0).abs() > 1e-6 {
            view.zoom(factor, at);
        }
    }
    if canvas.drag_started()
        && let Some(from) = ui.input(|i| i.pointer.press_origin())
    {
        let held = planned.and_then(|p| held_at(p, view, view.to_sheet(from)));
        *grip = Some(held.unwrap_or(Grip::Sheet));
    }
    if canvas.dragged() && matches!(grip, Some(Grip::Sheet)) {
        view.pan(canvas.drag_delta());
    }
    if canvas.drag_stopped()
        && let (Some(held), Some(planned)) = (grip.take(), planned)
        && let Some(at) = ui.ctx().pointer_latest_pos()
    {
        put(planned, session, by_hand, held, view.to_sheet(at));
    }
    if canvas.double_clicked()
        && let (Some(planned), Some(at)) = (planned, canvas.interact_pointer_pos())
    {
        tab_at(planned, by_hand, view, view.to_sheet(at));
    }
}

/// The pierce or tab at a place.
fn held_at(planned: &Planned, view: &View, at: Point<SheetSpace>) -> Option<Grip> {
    let near = NEAR / view.scale;
    let mut best: Option<(f64, Grip)> = None;
    let mut offer = |off: f64, grip: Grip| {
        if off <= near && best.as_ref().is_none_or(|b| off < b.0) {
            best = Some((off, grip));
        }
    };
    for pass in &planned.cut.passes {
        let Some(key) = key_of(planned, pass) else { continue };
        if let Some(start) = &pass.start {
            offer(start.pierce.distance(at), Grip::Start(key));
        }
        for (n, tab) in pass.tabs.iter().enumerate() {
            offer(point_at(&pass.run, tab.along).distance(at), Grip::Tab(key, n));
        }
    }
    best.map(|(_, grip)| grip)
}

fn key_of(planned: &Planned, pass: &Pass) -> Option<ContourKey> {
    let p = &planned.layout.placements[pass.placed?];
    Some((p.part, p.copy, pass.contour))
}

fn pass_of(planned: &Planned, key: ContourKey) -> Option<(&Pass, Pose<PartSpace, SheetSpace>)> {
    let pass = planned
        .cut
        .passes
        .iter()
        .find(|pass| pass.start.is_some() && key_of(planned, pass) == Some(key))?;
    Some((pass, planned.layout.placements[pass.placed?].pose))
}

/// The tabs of a contour as they are now, in the part's own drawing.
fn tabs_of(pass: &Pass, pose: &Pose<PartSpace, SheetSpace>) -> Vec<Point<PartSpace>> {
    let back = pose.inverse();
    pass.tabs.iter().map(|tab| back.apply(point_at(&pass.run, tab.along))).collect()
}

fn put(
    planned: &Planned,
    session: &Session,
    by_hand: &mut ByHand,
    held: Grip,
    at: Point<SheetSpace>,
) {
    match held {
        Grip::Sheet => {}
        Grip::Start(key) => {
            let Some((pass, pose)) = pass_of(planned, key) else { return };
            let job = session.view().job();
            let Some(wanted) = job.wanted.get(key.0) else { return };
            let rule = job.starts.unwrap_or(planned.rule);
            let all = choices(&wanted.part.region, &job.clearances, &rule, pose.flipped);
            let off = |start: &oddment_core::cutting::starts::Start<PartSpace>| {
                pose.apply(start.pierce).distance(at)
            };
            let of_contour = all.into_iter().nth(pass.contour).unwrap_or_default();
            let nearest = of_contour.into_iter().min_by(|a, b| off(a).total_cmp(&off(b)));
            if let Some(start) = nearest {
                by_hand.starts.insert(key, start);
            }
        }
        Grip::Tab(key, n) => {
            let Some((pass, pose)) = pass_of(planned, key) else { return };
            let mut tabs = tabs_of(pass, &pose);
            if let Some(tab) = tabs.get_mut(n) {
                *tab = pose.inverse().apply(at);
                by_hand.tabs.insert(key, tabs);
            }
        }
    }
}

/// Takes the tab at a place away, or puts one on the contour there.
fn tab_at(planned: &Planned, by_hand: &mut ByHand, view: &View, at: Point<SheetSpace>) {
    if let Some(Grip::Tab(key, n)) = held_at(planned, view, at) {
        if let Some((pass, pose)) = pass_of(planned, key) {
            let mut tabs = tabs_of(pass, &pose);
            tabs.remove(n);
            by_hand.tabs.insert(key, tabs);
        }
        return;
    }
    let near = NEAR / view.scale;
    let off = |pass: &Pass| {
        pass.run.iter().map(|e| e.nearest(at).distance(at)).fold(f64::INFINITY, f64::min)
    };
    let passes = planned.cut.passes.iter().filter(|pass| pass.start.is_some());
    if let Some(pass) = passes.min_by(|a, b| off(a).total_cmp(&off(b))).filter(|p| off(p) <= near) {
        let Some((key, placed)) = key_of(planned, pass).zip(pass.placed) else { return };
        let pose = planned.layout.placements[placed].pose;
        let mut tabs = tabs_of(pass, &pose);
        tabs.push(pose.inverse().apply(at));
        by_hand.tabs.insert(key, tabs);
    }
}
