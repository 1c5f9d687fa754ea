//! The whole sheet, small, with what is to be seen of it: there while only some of it is.

use std::hash::{DefaultHasher, Hash, Hasher};
use std::sync::Arc;

use eframe::egui::{
    Mesh, Pos2, Rect, Role, Sense, Shape, Stroke, StrokeKind, Ui, WidgetInfo, vec2,
};
use oddment_app::open_job::SheetSlot;
use oddment_app::session::Session;
use oddment_core::shape::{Point, SheetSpace};

use super::pictures::{Pictures, placed};
use super::view::View;
use crate::theme::Colours;

/// Most room that it takes.
const WIDE: f32 = 240.0;
const HIGH: f32 = 150.0;

/// The picture, made only when what it shows has changed.
#[derive(Default)]
pub(crate) struct Minimap {
    made_from: u64,
    mesh: Arc<Mesh>,
}

impl Minimap {
    /// Draws it with its lower right corner at `corner`, unless all of the sheet is to be seen in
    /// `free`. Returns the point of the sheet that was pressed, to be looked at.
    pub(crate) fn show(
        &mut self,
        ui: &mut Ui,
        c: &Colours,
        (session, slot): (&Session, SheetSlot),
        pictures: &mut Pictures,
        (view, free): (View, Rect),
        corner: Pos2,
    ) -> Option<Point<SheetSpace>> {
        let sheet = session.view().job().stock[slot.stock].sheet.bounds();
        let seen = view.seen(free);
        if seen.grown(1.0).contains_bounds(&sheet) {
            return None;
        }
        let aspect = (sheet.width() / sheet.height().max(1e-6)) as f32;
        let size = vec2(WIDE.min(HIGH * aspect), HIGH.min(WIDE / aspect));
        let size = vec2(size.x.max(40.0), size.y.max(24.0));
        let rect = Rect::from_min_max(corner - size - vec2(20.0, 20.0), corner);
        let inside = rect.shrink(10.0);
        let small = View::fit(sheet, inside);
        super::card(&mut super::child(ui, rect, "minimap"), c, rect, |_| {});
        self.renew(c, (session, slot), pictures, small);
        let painter = ui.painter_at(inside.expand(2.0));
        painter.add(Shape::Mesh(self.mesh.clone()));
        let window = Rect::from_two_pos(small.to_screen(seen.min), small.to_screen(seen.max));
        painter.rect_stroke(window, 2, Stroke::new(2.0, c.strong), StrokeKind::Middle);
        let response =
            ui.interact(inside, ui.scope_id().with("minimap press"), Sense::click_and_drag());
        response.widget_info(|| {
            WidgetInfo::labeled(Role::Button, true, "whole sheet, press to look there")
        });
        let pressed = response.clicked() || response.dragged();
        response.interact_pointer_pos().filter(|_| pressed).map(|at| small.to_sheet(at))
    }

    fn renew(
        &mut self,
        c: &Colours,
        (session, slot): (&Session, SheetSlot),
        pictures: &mut Pictures,
        small: View,
    ) {
        let mut h = DefaultHasher::new();
        (session.revision(), session.shown(), session.settings().dark).hash(&mut h);
        for number in [small.middle.x, small.middle.y] {
            number.to_bits().hash(&mut h);
        }
        small.scale.to_bits().hash(&mut h);
        let key = h.finish();
        if key == self.made_from {
            return;
        }
        let mut mesh = Mesh::default();
        let bodies = session.view().job().stock[slot.stock].sheet.bodies.len();
        for body in (0..bodies).filter_map(|i| pictures.body(slot.stock, i)) {
            mesh.append(body.fill(|p| small.to_screen(p), c.metal_edge.gamma_multiply(0.55)));
        }
        let laid = session.view().layout(slot);
        for p in laid.into_iter().flat_map(|l| &l.placements) {
            if let Some(picture) = pictures.part(p.part) {
                mesh.append(picture.fill(placed(small, p.pose), c.strong));
            }
        }
        (self.mesh, self.made_from) = (Arc::new(mesh), key);
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use eframe::egui::pos2;
    use oddment_core::shape::Bounds;

    #[test]
    fn pressing_the_small_sheet_finds_the_point() {
        let sheet = Bounds::of([Point::new(0.0, 0.0), Point::new(2000.0, 1000.0)]);
        let rect = Rect::from_min_max(pos2(100.0, 100.0), pos2(340.0, 220.0));
        let small = View::fit(sheet, rect);
        let at = small.to_sheet(rect.left_bottom());
        assert!(at.distance(Point::new(0.0, 0.0)) < 1e-3, "{at:?}");
    }
}
