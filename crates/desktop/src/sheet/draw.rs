//! The sheet and what lies on it, drawn.

use std::collections::BTreeSet;
use std::hash::{DefaultHasher, Hash, Hasher};
use std::sync::Arc;

use eframe::egui::{Align2, Color32, Mesh, Painter, Pos2, Rect, Shape, Stroke, epaint, pos2, vec2};
use oddment_app::open_job::{Copy, SheetSlot};
use oddment_app::session::Session;
use oddment_app::where_it_fits::WhereItFits;
use oddment_app::words;
use oddment_core::part::MarkKind;
use oddment_core::plan::Placement;
use oddment_core::shape::{PartSpace, Pose, SheetSpace, Side, flatten, flatten_region};

use super::pictures::{self, Picture, Pictures, hatch, placed};
use super::view::View;
use crate::theme::{self, Colours};

/// What is drawn, and where.
pub(crate) struct Scene<'a> {
    pub(crate) c: &'a Colours,
    pub(crate) session: &'a Session,
    pub(crate) slot: SheetSlot,
    pub(crate) view: View,
    pub(crate) area: Rect,
    /// What of it no card covers.
    pub(crate) free: Rect,
}

/// How a part looks.
#[derive(Clone, Copy)]
struct Look {
    fill: Color32,
    line: Stroke,
    holes: Stroke,
}

/// The dots and rims of where something fits, made only when they change.
#[derive(Default)]
pub(crate) struct Field {
    made_from: u64,
    dots: Arc<Mesh>,
    rims: Vec<Shape>,
}

/// Everything that stays as it is while a part is dragged, as one mesh that is made only when it
/// changes.
#[derive(Default)]
pub(crate) struct Layer {
    made_from: u64,
    mesh: Arc<Mesh>,
}

impl Layer {
    /// Draws the layer, made anew where it has to be.
    pub(crate) fn draw(&mut self, painter: &Painter, scene: &Scene<'_>, pictures: &mut Pictures) {
        pictures.renew(&scene.session.view().sourced, scene.view.scale);
        let key = scene.key(painter.pixels_per_point());
        if key != self.made_from {
            let mut shapes = Vec::new();
            scene.metal(pictures, &mut shapes);
            scene.zones(&mut shapes);
            scene.resting_parts(pictures, &mut shapes);
            let (atlas, discs) = painter.fonts(|f| (f.font_image_size(), Vec::new()));
            let options = epaint::TessellationOptions::default();
            let mut tessellator =
                epaint::Tessellator::new(painter.pixels_per_point(), options, atlas, discs);
            let mut mesh = Mesh::default();
            for shape in shapes {
                tessellator.tessellate_shape(shape, &mut mesh);
            }
            self.mesh = Arc::new(mesh);
            self.made_from = key;
        }
        painter.add(Shape::Mesh(self.mesh.clone()));
    }
}

impl Scene<'_> {
    /// Changes whenever the resting layer looks different.
    fn key(&self, pixels_per_point: f32) -> u64 {
        let mut h = DefaultHasher::new();
        self.session.revision().hash(&mut h);
        self.session.shown().hash(&mut h);
        self.session.settings().dark.hash(&mut h);
        self.session.selected().hash(&mut h);
        self.session.hand().is_some().hash(&mut h);
        pixels_per_point.to_bits().hash(&mut h);
        self.hash_view(&mut h);
        h.finish()
    }

    pub(super) fn placements(&self) -> &[Placement] {
        self.session.view().layout(self.slot).map_or(&[], |l| &l.placements)
    }

    pub(super) fn is_lively(&self, p: &Placement) -> bool {
        self.session.selected().contains(&Copy::of(p))
    }

    /// The metal, and the old cut-outs hatched.
    fn metal(&self, pictures: &mut Pictures, out: &mut Vec<Shape>) {
        let to_screen = |p| self.view.to_screen(p);
        let sheet = &self.session.view().job().stock[self.slot.stock].sheet;
        // Islands in cut-outs come after the metal around them.
        let mut order: Vec<usize> = (0..sheet.bodies.len()).collect();
        order.sort_by(|a, b| {
            let area = |i: &usize| sheet.bodies[*i].outer.shape().area();
            area(b).total_cmp(&area(a))
        });
        for i in order {
            let Some(picture) = pictures.body(self.slot.stock, i) else { continue };
            out.push(Shape::Mesh(picture.fill(to_screen, self.c.metal).into()));
            let line = Stroke::new(1.0, self.c.metal_edge.gamma_multiply(0.55));
            for hole in picture.loops.iter().skip(1) {
                let hole: Vec<Pos2> = hole.iter().map(|p| to_screen(*p)).collect();
                out.extend(
                    hatch(&[hole], 7.0, false).into_iter().map(|l| Shape::line_segment(l, line)),
                );
            }
            let edge = Stroke::new(1.5, self.c.metal_edge);
            out.extend(picture.lines(to_screen, edge, Stroke::new(1.0, self.c.metal_edge)));
        }
    }

    /// How the grain runs, in the corner across from the datum.
    fn grain(&self, painter: &Painter) {
        let sheet = &self.session.view().job().stock[self.slot.stock].sheet;
        let Some(grain) = sheet.grain else { return };
        let corner = self.view.to_screen(sheet.bounds().max);
        let middle = corner + vec2(-34.0, 30.0);
        let way = vec2(grain.cos() as f32, -(grain.sin() as f32));
        let line = Stroke::new(1.5, self.c.metal_edge);
        for end in [way, -way] {
            painter.arrow(middle, end * 20.0, line);
        }
        let (font, ground) = (theme::small(), self.c.metal.gamma_multiply(0.85));
        let below = middle + vec2(0.0, 12.0 + 16.0 * way.y.abs());
        theme::tag(painter, below, Align2::CENTER_CENTER, "grain", font, self.c.metal_edge, ground);
    }

    /// No-go zones, cross-hatched.
    fn zones(&self, out: &mut Vec<Shape>) {
        let sheet = &self.session.view().job().stock[self.slot.stock].sheet;
        for zone in &sheet.no_go {
            let bound = 0.25 / self.view.scale;
            let rim: Vec<Pos2> = flatten(&zone.shape, bound, Side::Outward)
                .into_iter()
                .map(|p| self.view.to_screen(p))
                .collect();
            let line = Stroke::new(1.0, self.c.metal_edge);
            for falling in [false, true] {
                let lines = hatch(std::slice::from_ref(&rim), 6.0, falling);
                out.extend(lines.into_iter().map(|l| Shape::line_segment(l, line)));
            }
            out.push(Shape::closed_line(rim, Stroke::new(1.5, self.c.metal_edge)));
        }
    }

    /// The laid parts that are neither selected nor in the hand.
    fn resting_parts(&self, pictures: &mut Pictures, out: &mut Vec<Shape>) {
        let faulty = self.faulty();
        for p in self.placements().iter().filter(|p| !self.is_lively(p)) {
            self.laid(p, pictures, &faulty, out);
        }
    }

    /// The laid parts that are where they may not be. The check knows nothing of what is in the hand or
    /// only a proposal.
    fn faulty(&self) -> BTreeSet<Copy> {
        if self.session.hand().is_some() || self.session.is_previewed() {
            return BTreeSet::new();
        }
        words::faulty(self.session.view(), self.session.checked())
    }

    /// A laid part that is not in the hand.
    fn laid(
        &self,
        p: &Placement,
        pictures: &mut Pictures,
        faulty: &BTreeSet<Copy>,
        out: &mut Vec<Shape>,
    ) {
        let Some(picture) = pictures.part(p.part) else { return };
        let mut look = self.look(p.locked, self.is_lively(p));
        let is_faulty = faulty.contains(&Copy::of(p));
        if is_faulty {
            look.line = Stroke::NONE;
        }
        self.part(&picture, p.pose, look, out);
        if is_faulty {
            out.extend(self.dashed(&picture, p.pose));
        }
        if p.locked {
            lock(self.lock_at(&picture, p.pose), self.c.ink, out);
        }
    }

    fn look(&self, locked: bool, selected: bool) -> Look {
        let ink = self.c.ink;
        Look {
            fill: if selected { self.c.selected } else { self.c.paper },
            line: Stroke::new(if locked { 3.0 } else { 1.5 }, ink),
            holes: Stroke::new(1.0, ink),
        }
    }

    fn part(
        &self,
        picture: &Picture<PartSpace>,
        pose: Pose<PartSpace, SheetSpace>,
        look: Look,
        out: &mut Vec<Shape>,
    ) {
        let to_screen = placed(self.view, pose);
        out.push(Shape::Mesh(picture.fill(to_screen, look.fill).into()));
        out.extend(picture.lines(to_screen, look.line, look.holes));
        out.extend(picture.marks.iter().flat_map(|mark| {
            let points: Vec<Pos2> = mark.points.iter().map(|p| to_screen(*p)).collect();
            match mark.kind {
                MarkKind::Engrave => vec![Shape::line(points, look.holes)],
                MarkKind::Bend => Shape::dashed_line(&points, look.holes, 7.0, 4.0),
            }
        }));
    }

    /// Middle of the lock, beside the number.
    fn lock_at(&self, picture: &Picture<PartSpace>, pose: Pose<PartSpace, SheetSpace>) -> Pos2 {
        placed(self.view, pose)(picture.label) + vec2(0.0, -15.0)
    }

    /// What changes while a part is dragged: numbers, the selected parts, what is in the hand, and
    /// the distances.
    pub(crate) fn draw_lively(
        &self,
        painter: &Painter,
        pictures: &mut Pictures,
        field: &mut Field,
    ) {
        for p in self.placements().iter().filter(|p| !self.is_lively(p)) {
            if let Some(picture) = pictures.part(p.part) {
                self.number(painter, &picture, p.pose, p.copy);
            }
        }
        let hand = self.session.hand();
        self.grain(painter);
        self.where_it_fits(painter, field);
        let (mut shapes, faulty) = (Vec::new(), self.faulty());
        for p in self.placements().iter().filter(|p| self.is_lively(p)) {
            let Some(picture) = pictures.part(p.part) else { continue };
            if hand.is_some_and(|h| h.holds(Copy::of(p))) {
                // Where it was picked up: an outline.
                let faint = Stroke::new(1.0, self.c.metal_edge);
                shapes.extend(picture.lines(placed(self.view, p.pose), faint, faint));
                continue;
            }
            self.laid(p, pictures, &faulty, &mut shapes);
        }
        painter.extend(shapes);
        if let Some(hand) = hand {
            for (held, pose) in hand.held() {
                let Some(picture) = pictures.part(held.part) else { continue };
                let mut shapes = Vec::new();
                let mut look = self.look(false, true);
                if !hand.is_clear() {
                    look.line = Stroke::NONE;
                }
                self.part(&picture, pose, look, &mut shapes);
                if !hand.is_clear() {
                    shapes.extend(self.dashed(&picture, pose));
                }
                painter.extend(shapes);
                if let Some(copy) = held.copy {
                    self.number(painter, &picture, pose, copy.number);
                }
            }
        } else {
            for p in self.placements().iter().filter(|p| self.is_lively(p)) {
                if let Some(picture) = pictures.part(p.part) {
                    self.number(painter, &picture, p.pose, p.copy);
                }
            }
        }
        if let Some((part, pose)) = self.session.closest()
            && let Some(picture) = pictures.part(part)
        {
            painter.extend(self.dashed(&picture, pose));
        }
        self.dimensions(painter);
    }

    /// A part that is where it may not be: a dashed outline.
    fn dashed(
        &self,
        picture: &Picture<PartSpace>,
        pose: Pose<PartSpace, SheetSpace>,
    ) -> Vec<Shape> {
        let to_screen = placed(self.view, pose);
        let line = Stroke::new(2.5, self.c.short);
        let rims = picture.loops.iter().map(|l| {
            let mut rim: Vec<Pos2> = l.iter().map(|p| to_screen(*p)).collect();
            rim.extend(rim.first().copied());
            rim
        });
        rims.flat_map(|rim| Shape::dashed_line(&rim, line, 8.0, 5.0)).collect()
    }

    /// Where the middle of what is in the hand may lie: a dotted field with a dashed rim.
    fn where_it_fits(&self, painter: &Painter, field: &mut Field) {
        let Some(fits) = self.session.where_it_fits() else { return };
        let key = self.field_key(fits);
        if field.made_from != key {
            *field = Field { made_from: key, ..self.field(fits) };
        }
        painter.add(Shape::Mesh(field.dots.clone()));
        painter.extend(field.rims.iter().cloned());
        if let Some(hand) = self.session.hand() {
            // The point that the field is about.
            let at = self.view.to_screen(hand.middle());
            painter.circle_stroke(at, 4.0, Stroke::new(1.5, self.c.fits));
        }
    }

    fn field(&self, fits: &WhereItFits) -> Field {
        let rims: Vec<Vec<Pos2>> = fits
            .regions
            .iter()
            .flat_map(|r| flatten_region(r, 0.3 / self.view.scale, Side::Outward))
            .map(|l| l.into_iter().map(|p| self.view.to_screen(p)).collect())
            .collect();
        let mut dots = Mesh::default();
        for at in pictures::dots(&rims, self.area, 9.0) {
            dots.add_colored_rect(Rect::from_center_size(at, vec2(2.2, 2.2)), self.c.fits);
        }
        let line = Stroke::new(1.5, self.c.fits);
        let dashed = rims.into_iter().flat_map(|mut rim| {
            rim.extend(rim.first().copied());
            Shape::dashed_line(&rim, line, 6.0, 4.0)
        });
        Field { made_from: 0, rims: dashed.collect(), dots: dots.into() }
    }

    /// Changes whenever the field looks different.
    fn field_key(&self, fits: &WhereItFits) -> u64 {
        let mut h = DefaultHasher::new();
        self.session.revision().hash(&mut h);
        self.session.settings().dark.hash(&mut h);
        fits.regions.len().hash(&mut h);
        for wanted in &fits.wanted {
            (wanted.part, wanted.flipped, wanted.turn.to_bits()).hash(&mut h);
            (wanted.from_middle.x.to_bits(), wanted.from_middle.y.to_bits()).hash(&mut h);
        }
        self.hash_view(&mut h);
        h.finish()
    }

    fn hash_view(&self, h: &mut DefaultHasher) {
        for number in [self.view.scale, self.view.centre.x, self.view.centre.y] {
            number.to_bits().hash(h);
        }
        let (middle, area) = (self.view.middle, self.area);
        for number in [middle.x, middle.y, area.right(), area.bottom()] {
            number.to_bits().hash(h);
        }
    }

    fn number(
        &self,
        painter: &Painter,
        picture: &Picture<PartSpace>,
        pose: Pose<PartSpace, SheetSpace>,
        number: usize,
    ) {
        let at = placed(self.view, pose)(picture.label);
        let size = self.view.length(picture.size());
        if size > 14.0 && self.area.contains(at) {
            let font = if size > 26.0 { theme::strong() } else { theme::small_strong() };
            painter.text(at, Align2::CENTER_CENTER, number.to_string(), font, self.c.ink);
        }
    }
}

/// A small lock.
fn lock(at: Pos2, colour: Color32, out: &mut Vec<Shape>) {
    let body = Rect::from_center_size(at + vec2(0.0, 2.0), vec2(10.0, 7.5));
    out.push(Shape::rect_filled(body, 1.5, colour));
    let shackle: Vec<Pos2> = (0..=10)
        .map(|i| {
            let angle = std::f32::consts::PI * i as f32 / 10.0;
            pos2(at.x - 3.2 * angle.cos(), body.top() - 0.5 - 4.2 * angle.sin())
        })
        .collect();
    out.push(Shape::line(shackle, Stroke::new(1.8, colour)));
}
