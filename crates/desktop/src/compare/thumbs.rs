//! Ways as small pictures: their sheets beside each other with what is cut from them.

use std::collections::HashMap;
use std::sync::Arc;

use eframe::egui::{Align2, Painter, Pos2, Rect, Stroke, pos2};
use oddment_app::compare::Posed;
use oddment_core::compare::Way;
use oddment_core::shape::{PartSpace, Point};

use crate::rack::silhouette::{Scale, Silhouette, draw};
use crate::sheet::pictures::Picture;
use crate::theme::{self, Colours};

/// How far (mm) polygons may leave curves that are drawn so small.
const BOUND: f64 = 1.5;
/// Pixels between sheets.
const BETWEEN: f32 = 12.0;
/// More sheets are only counted.
const MOST: usize = 4;

/// Pictures of the sheets and parts of a question.
#[derive(Default)]
pub(super) struct Thumbs {
    of: Option<Arc<Posed>>,
    sheets: HashMap<usize, Silhouette>,
    parts: HashMap<usize, Picture<PartSpace>>,
}

impl Thumbs {
    /// Forgets what is of another question.
    pub(super) fn renew(&mut self, posed: &Arc<Posed>) {
        if !self.of.as_ref().is_some_and(|of| Arc::ptr_eq(of, posed)) {
            *self = Self { of: Some(posed.clone()), ..Self::default() };
        }
    }

    /// Draws a way into `room`.
    pub(super) fn draw(&mut self, painter: &Painter, c: &Colours, way: &Way, room: Rect) {
        let Some(posed) = self.of.clone() else { return };
        let shown = way.sheets.len().min(MOST);
        for sheet in &way.sheets[..shown] {
            let made = || Silhouette::of_sheet(&posed.question.candidates[sheet.candidate].sheet);
            self.sheets.entry(sheet.candidate).or_insert_with(made);
        }
        let bounds: Vec<_> =
            way.sheets[..shown].iter().map(|s| self.sheets[&s.candidate].bounds()).collect();
        let wide: f32 = bounds.iter().map(|b| b.width() as f32).sum();
        let high = bounds.iter().map(|b| b.height() as f32).fold(1.0, f32::max);
        let more = way.sheets.len() - shown;
        let gaps = BETWEEN * (shown - 1) as f32 + if more > 0 { 70.0 } else { 0.0 };
        let per_mm = ((room.width() - gaps) / wide.max(1.0)).min(room.height() / high);
        let mut left = room.left();
        for (i, sheet) in way.sheets[..shown].iter().enumerate() {
            let place = Rect::from_min_max(pos2(left, room.top()), room.max);
            let silhouette = &self.sheets[&sheet.candidate];
            draw(painter, c, silhouette, &Scale::per_mm(per_mm), false, place);
            let corner = bounds[i].min;
            let to_screen = |p: Point<oddment_core::shape::SheetSpace>| -> Pos2 {
                pos2(
                    left + (p.x - corner.x) as f32 * per_mm,
                    room.bottom() - (p.y - corner.y) as f32 * per_mm,
                )
            };
            for p in &way.checked.plan().layouts[i].placements {
                let region = &posed.question.wanted[p.part].part.region;
                let part = self.parts.entry(p.part).or_insert_with(|| Picture::of(region, BOUND));
                let placed = |q: Point<PartSpace>| to_screen(p.pose.apply(q));
                painter.add(part.fill(placed, c.paper));
                let ink = Stroke::new(1.0, c.ink);
                painter.extend(part.lines(placed, ink, Stroke::new(0.7, c.ink)));
            }
            left += bounds[i].width() as f32 * per_mm + BETWEEN;
        }
        if more > 0 {
            let text = format!("{more} more");
            let at = pos2(left, room.bottom());
            painter.text(at, Align2::LEFT_BOTTOM, text, theme::small(), c.quiet);
        }
    }
}
