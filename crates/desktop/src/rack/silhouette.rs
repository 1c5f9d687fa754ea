//! Sheets as silhouettes, all to one scale.

use std::collections::HashMap;
use std::sync::Arc;

use eframe::egui::{Align2, Painter, Pos2, Rect, Stroke, pos2, vec2};
use oddment_core::capture::Residual;
use oddment_core::capture::points::POINTER;
use oddment_core::shape::{Bounds, Point, SheetSpace};
use oddment_core::sheet::Sheet;
use oddment_core::units::LengthUnit;
use oddment_rack::outline::Outline;
use oddment_rack::sheets::Entry;

use crate::sheet::pictures::{Picture, hatch};
use crate::theme::{self, Colours};

/// How far (mm) polygons may leave curves: as little as shows where a sheet fills the window.
const BOUND: f64 = 0.3;

/// So many pictures are kept; more are made anew when they come into view.
const MOST_KEPT: usize = 400;

/// The highest picture on a card, as a share of its width.
const HIGHEST: f32 = 0.62;

/// A sheet made ready to be drawn.
pub(crate) struct Silhouette {
    pieces: Vec<Picture<SheetSpace>>,
    no_go: Vec<Vec<Point<SheetSpace>>>,
    bounds: Bounds<SheetSpace>,
}

/// Pictures of sheets by the number of their shape.
#[derive(Default)]
pub(super) struct Silhouettes(HashMap<i64, Arc<Silhouette>>);

impl Silhouettes {
    pub(super) fn of(&mut self, shape: i64, outline: &Outline) -> Arc<Silhouette> {
        if self.0.len() > MOST_KEPT && !self.0.contains_key(&shape) {
            self.0.clear();
        }
        let made = self.0.entry(shape).or_insert_with(|| Arc::new(Silhouette::of(outline)));
        made.clone()
    }
}

impl Silhouette {
    /// A sheet that need not be in the rack.
    pub(crate) fn of_sheet(sheet: &Sheet) -> Self {
        let corners =
            |z: &oddment_core::sheet::NoGo| z.shape.vertices().iter().map(|v| v.point).collect();
        Self {
            pieces: sheet.bodies.iter().map(|b| Picture::of(&b.region(), BOUND)).collect(),
            no_go: sheet.no_go.iter().map(corners).collect(),
            bounds: sheet.bounds(),
        }
    }

    /// A place of it, its lower left corner at that of `room`.
    fn to_screen(&self, [along, up]: [f32; 2], room: Rect, p: Point<SheetSpace>) -> Pos2 {
        let d = p - self.bounds.min;
        pos2(room.left() + d.x as f32 * along, room.bottom() - d.y as f32 * up)
    }

    /// The box round it.
    pub(crate) fn bounds(&self) -> Bounds<SheetSpace> {
        self.bounds
    }

    pub(super) fn of(outline: &Outline) -> Self {
        let corners = |l: &oddment_core::shape::Loop<SheetSpace>| {
            l.vertices().iter().map(|v| v.point).collect()
        };
        Self {
            pieces: outline.regions().iter().map(|r| Picture::of(r, BOUND)).collect(),
            no_go: outline.no_go.iter().map(|z| corners(&z.shape)).collect(),
            bounds: outline.bounds(),
        }
    }
}

/// No bar is drawn thinner (pixels).
const THINNEST_BAR: f32 = 8.0;

/// Pixels per millimetre, one for all sheets and one for the length of all bars, and the room that the
/// highest takes.
pub(crate) struct Scale {
    per_mm: f32,
    bars: f32,
    pub(crate) height: f32,
}

impl Scale {
    /// So many pixels per millimetre.
    pub(crate) fn per_mm(per_mm: f32) -> Self {
        Self { per_mm, bars: per_mm, height: 0.0 }
    }

    /// The scale at which all of the sheets go onto cards of this width.
    pub(super) fn of<'a>(sheets: impl Iterator<Item = &'a Entry>, card: f32) -> Self {
        let room = card - 2.0 * super::card::PAD;
        let (mut w, mut h, mut longest) = (1.0_f64, 1.0_f64, 1.0_f64);
        for entry in sheets {
            if entry.facts.bar.is_some() {
                longest = longest.max(entry.size[0]);
            } else {
                (w, h) = (w.max(entry.size[0]), h.max(entry.size[1]));
            }
        }
        let per_mm = (room / w as f32).min(HIGHEST * card / h as f32);
        Self { per_mm, bars: room / longest as f32, height: (h as f32 * per_mm).max(40.0) }
    }

    /// The scale at which one sheet fills a place.
    pub(super) fn filling(silhouette: &Silhouette, room: Rect) -> Self {
        let (w, h) = (silhouette.bounds.width() as f32, silhouette.bounds.height() as f32);
        let per_mm = (room.width() / w).min(room.height() / h);
        Self { per_mm, bars: per_mm, height: h * per_mm }
    }
}

/// Draws a sheet, its lower left corner at that of `room`; of a bar the length is to scale.
pub(crate) fn draw(
    painter: &Painter,
    c: &Colours,
    silhouette: &Silhouette,
    scale: &Scale,
    is_bar: bool,
    room: Rect,
) {
    let per_mm = if is_bar {
        let height = silhouette.bounds.height() as f32;
        [scale.bars, (THINNEST_BAR / height.max(1.0)).max(scale.bars)]
    } else {
        [scale.per_mm; 2]
    };
    let to_screen = |p| silhouette.to_screen(per_mm, room, p);
    let edge = Stroke::new(1.2, c.metal_edge);
    let fine = Stroke::new(0.8, c.metal_edge);
    for piece in &silhouette.pieces {
        painter.add(piece.fill(to_screen, c.metal));
        let holes: Vec<Vec<Pos2>> =
            piece.loops.iter().skip(1).map(|l| l.iter().map(|p| to_screen(*p)).collect()).collect();
        let hatching = Stroke::new(0.7, c.metal_edge.gamma_multiply(0.5));
        for line in hatch(&holes, 4.0, false) {
            painter.line_segment(line, hatching);
        }
        painter.extend(piece.lines(to_screen, edge, fine));
    }
    for zone in &silhouette.no_go {
        let rim: Vec<Pos2> = zone.iter().map(|p| to_screen(*p)).collect();
        for falling in [false, true] {
            for line in hatch(std::slice::from_ref(&rim), 5.0, falling) {
                painter.line_segment(line, Stroke::new(0.7, c.metal_edge));
            }
        }
    }
}

/// Where a drawn sheet was measured: each place with a ring, and with how far it is off where that is more than a
/// pointer may be.
pub(super) fn draw_measured(
    painter: &Painter,
    c: &Colours,
    silhouette: &Silhouette,
    scale: &Scale,
    room: Rect,
    residuals: &[Residual],
    unit: LengthUnit,
) {
    for residual in residuals {
        let at = silhouette.to_screen([scale.per_mm; 2], room, residual.at);
        let off = residual.off.abs();
        let ink = if off > POINTER { c.short } else { c.fits };
        painter.circle_stroke(at, 4.0, Stroke::new(1.5, ink));
        if off > POINTER {
            let at = at + vec2(7.0, -7.0);
            let align = Align2::LEFT_BOTTOM;
            theme::tag(painter, at, align, &unit.show(off), theme::small_strong(), c.short, c.card);
        }
    }
}
