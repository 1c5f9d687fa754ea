//! The sheet and what lies on it as a ground for other things to be drawn on.

use eframe::egui::{Painter, Rect, Shape};
use oddment_app::open_job::SheetSlot;
use oddment_app::session::Session;

use super::View;
use super::draw::{Field, Layer, Scene};
use super::pictures::{Pictures, placed};
use crate::theme::Colours;

/// What is remembered of the ground from frame to frame.
#[derive(Default)]
pub(crate) struct Ground {
    pictures: Pictures,
    layer: Layer,
    field: Field,
}

impl Ground {
    /// Draws the sheet, its old cut-outs, no-go zones and parts.
    pub(crate) fn draw(
        &mut self,
        painter: &Painter,
        c: &Colours,
        session: &Session,
        slot: SheetSlot,
        view: View,
        area: Rect,
    ) {
        let scene = Scene { c, session, slot, view, area, free: area };
        self.layer.draw(painter, &scene, &mut self.pictures);
        scene.draw_lively(painter, &mut self.pictures, &mut self.field);
    }

    /// Lays a tint over placed parts, by their places in the layout's list.
    pub(crate) fn tint(
        &mut self,
        painter: &Painter,
        c: &Colours,
        session: &Session,
        slot: SheetSlot,
        view: View,
        which: &[usize],
    ) {
        let Some(layout) = session.view().layout(slot) else { return };
        // Their numbers are to be seen through it.
        let tint = c.selected.gamma_multiply(0.55);
        for p in which.iter().filter_map(|i| layout.placements.get(*i)) {
            if let Some(picture) = self.pictures.part(p.part) {
                let mesh = picture.fill(placed(view, p.pose), tint);
                painter.add(Shape::Mesh(mesh.into()));
            }
        }
    }
}
