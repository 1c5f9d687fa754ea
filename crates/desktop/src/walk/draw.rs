//! The beam's way over the sheet, at a moment.

use eframe::egui::{
    Align2, Color32, Painter, Pos2, Rect, Role, Sense, Shape, Stroke, Ui, WidgetInfo, vec2,
};
use oddment_app::session::Session;
use oddment_core::cutting::legs::Doing;
use oddment_core::cutting::tabs::point_at;
use oddment_core::shape::{Edge, Point, SheetSpace};

use super::work::Planned;
use crate::sheet::View;
use crate::theme::{self, Colours};

/// Draws what is to come, what is done, and the head.
pub(crate) fn draw(
    painter: &Painter,
    c: &Colours,
    view: &View,
    planned: &Planned,
    now: f64,
    zero: Option<Point<SheetSpace>>,
) {
    let cut = &planned.cut;
    let to_come = Stroke::new(1.0, c.quiet);
    let done = Stroke::new(2.5, c.strong);
    let mut shapes = Vec::new();
    let moment = cut.at(now);
    for (n, leg) in cut.legs.iter().enumerate() {
        let over = moment.is_some_and(|m| n < m.leg || (n == m.leg && m.share >= 1.0));
        match leg.doing {
            Doing::Cutting => {
                shapes.push(line(view, &leg.edge, if over { done } else { to_come }));
                if let Some(m) = moment.filter(|m| m.leg == n && m.share > 0.0 && !over) {
                    shapes.push(line(view, &leg.edge.between(0.0, m.share), done));
                }
            }
            // Of the moves only the one under way: all of them would hide the rest.
            Doing::Moving { lifted } if moment.is_some_and(|m| m.leg == n) => {
                let ends = [view.to_screen(leg.edge.from()), view.to_screen(leg.edge.to())];
                let dash = if lifted { 3.0 } else { 8.0 };
                shapes.extend(Shape::dashed_line(&ends, Stroke::new(1.0, c.text), dash, 4.0));
            }
            Doing::Moving { .. } | Doing::Piercing | Doing::OverTab | Doing::AlongCut => {}
        }
    }
    for pass in &cut.passes {
        if let Some(start) = &pass.start {
            let at = view.to_screen(start.pierce);
            // A ring where nothing is pierced.
            let (fill, rim) = if start.from_edge { (c.card, c.strong) } else { (c.strong, c.card) };
            shapes.push(Shape::circle_filled(at, 3.5, fill));
            shapes.push(Shape::circle_stroke(at, 3.5, Stroke::new(1.0, rim)));
        }
        for tab in &pass.tabs {
            let along = tab.along;
            let (before, at) =
                (point_at(&pass.run, along - 0.5 * tab.gap), point_at(&pass.run, along));
            let across = (at - before).unit().map(|u| vec2(u.y as f32, u.x as f32) * 6.0);
            let (at, across) = (view.to_screen(at), across.unwrap_or_default());
            shapes.push(Shape::line_segment([at - across, at + across], Stroke::new(5.0, c.card)));
            shapes.push(Shape::line_segment([at - across, at + across], Stroke::new(3.0, c.fits)));
        }
    }
    painter.extend(shapes);
    for warning in &cut.warnings {
        sign(painter, c, view.to_screen(warning.at));
    }
    if let Some(zero) = zero {
        let at = view.to_screen(zero);
        for (dx, dy) in [(9.0, 0.0), (0.0, 9.0)] {
            let line = [at - vec2(dx, dy), at + vec2(dx, dy)];
            painter.line_segment(line, Stroke::new(2.0, c.fits));
        }
        theme::tag(
            painter,
            at + vec2(8.0, 10.0),
            Align2::LEFT_TOP,
            "zero",
            theme::small(),
            c.fits,
            c.card,
        );
    }
    if let Some(moment) = moment {
        let at = view.to_screen(moment.head);
        let beam_on = matches!(moment.doing, Doing::Cutting | Doing::Piercing);
        let ring = if beam_on { c.short } else { c.text };
        painter.circle(
            at,
            7.0,
            if beam_on { c.selected } else { Color32::TRANSPARENT },
            Stroke::new(2.0, ring),
        );
    }
}

/// Names the pierces for those who do not see them, and tells what is under the pointer.
pub(crate) fn name_starts(ui: &mut Ui, view: &View, planned: &Planned, session: &Session) {
    for (n, pass) in planned.cut.passes.iter().enumerate() {
        let Some(start) = &pass.start else { continue };
        let spot = Rect::from_center_size(view.to_screen(start.pierce), vec2(10.0, 10.0));
        if !ui.clip_rect().contains(spot.center()) {
            continue;
        }
        let name = planned.name(pass.placed, session);
        let text = match pass.placed {
            Some(_) if start.from_edge => {
                format!("start of {} of {name}, from an old edge", contour(pass.contour))
            }
            Some(_) => {
                format!("start of {} of {name}; drag it to another place", contour(pass.contour))
            }
            None => format!("start of a cut through {name}"),
        };
        let response = ui.interact(spot, ui.scope_id().with(("start", n)), Sense::hover());
        response.widget_info(|| WidgetInfo::labeled(Role::Image, true, &text));
        response.on_hover_text(text);
    }
}

/// “the outline” or “hole 2”.
pub(crate) fn contour(number: usize) -> String {
    if number == 0 { "the outline".into() } else { format!("hole {number}") }
}

fn line(view: &View, edge: &Edge<SheetSpace>, stroke: Stroke) -> Shape {
    let pieces = match edge {
        Edge::Line { .. } => 1,
        Edge::Arc { sweep, radius, .. } => {
            let pixels = (sweep.abs() * radius * view.scale) as usize;
            (pixels / 6).clamp(4, 96)
        }
    };
    let points: Vec<Pos2> =
        (0..=pieces).map(|i| view.to_screen(edge.at(i as f64 / pieces as f64))).collect();
    Shape::line(points, stroke)
}

/// A triangle with a mark in it: a warning.
fn sign(painter: &Painter, c: &Colours, at: Pos2) {
    let corners = [at + vec2(0.0, -9.0), at + vec2(9.0, 7.0), at + vec2(-9.0, 7.0)];
    painter.add(Shape::convex_polygon(corners.to_vec(), c.card, Stroke::new(2.0, c.short)));
    painter.text(at + vec2(0.0, 1.0), Align2::CENTER_CENTER, "!", theme::small_strong(), c.short);
}
