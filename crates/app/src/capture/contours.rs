//! The contours that were offered, and what a hand does with them.

use std::sync::Arc;

use oddment_core::capture::trace::Form;
use oddment_core::shape::{Loop, LoopFault, Point, Pose, SheetSpace, Vertex};
use oddment_core::sheet::EdgeKind;
use oddment_photo::{Calibrated, Offered, Target, snapped, traced};

use super::{Capture, CaptureAct, Known, Said, Seen, Tracing};

/// How near (pixels) to an edge that is seen a hand is drawn to it.
const NEAR: f64 = 12.0;
/// What a hand that is not drawn to an edge is off, pixels.
const BY_HAND: f64 = 2.0;

/// What is known of one edge of a contour.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct EdgeSaid {
    /// How it was made.
    pub kind: EdgeKind,
    /// How far (mm) it may be off, where somebody knows better than the picture.
    pub give_or_take: Option<f64>,
}

/// An edge of the sheet: offered by the program or traced by hand.
#[derive(Clone, Debug, PartialEq)]
pub struct Contour {
    /// Its lines and arcs.
    pub offered: Offered,
    /// Whether it is the outer edge.
    pub outer: bool,
    /// Whether it is one of the sheet's.
    pub kept: bool,
    /// Whether a hand traced it or moved something of it.
    pub by_hand: bool,
    /// What is known of each of its edges.
    pub edges: Vec<EdgeSaid>,
}

impl Contour {
    fn new(offered: Offered, outer: bool, kind: EdgeKind) -> Self {
        let said = EdgeSaid { kind, give_or_take: None };
        let edges = vec![said; offered.shape.vertices().len()];
        Self { offered, outer, kept: true, by_hand: false, edges }
    }

    /// Its middle and radius, where it is a circle.
    pub fn circle(&self) -> Option<(Point<SheetSpace>, f64)> {
        self.offered.shape.as_circle()
    }

    /// The longer side of its box, mm.
    pub fn size(&self) -> f64 {
        let bounds = self.offered.shape.bounds();
        bounds.width().max(bounds.height())
    }

    /// Whether its edge is seen where it is, and not only put there by hand.
    pub fn is_seen(&self) -> bool {
        self.offered.contrast > 0.0
    }

    /// The same with another shape, moved by a hand that may be `off` mm: nobody has seen an edge there.
    fn moved(
        &mut self,
        shape: Result<Loop<SheetSpace>, LoopFault>,
        off: f64,
    ) -> Result<(), String> {
        self.offered.shape = shape.map_err(|why| why.to_string())?;
        let count = self.offered.shape.vertices().len();
        if count != self.edges.len() {
            self.edges = vec![self.edges[0]; count];
        }
        (self.offered.off, self.offered.contrast) = (self.offered.off.max(off), 0.0);
        self.by_hand = true;
        Ok(())
    }
}

impl Said {
    /// The contours that were found, in place of those found before; what was done by hand stays.
    pub(super) fn take_in(&mut self, seen: Arc<Seen>) {
        let mut by_hand = std::mem::take(&mut self.contours);
        by_hand.retain(|c| c.by_hand);
        if let Some(before) = &self.seen {
            // What the hand traced lies where it was seen.
            let carried =
                |shape: &Loop<SheetSpace>| seen_anew(shape, &before.found.calibrated, &seen);
            by_hand.retain_mut(|c| {
                carried(&c.offered.shape).map(|shape| c.offered.shape = shape).is_some()
            });
            self.unseen = self.unseen.iter().filter_map(carried).collect();
        } else if let Known::Page(target) = self.known {
            self.unseen.extend(paper_of(&target));
        }
        let found = &seen.found;
        let has_outer = by_hand.iter().any(|c| c.outer);
        let outer = found.outline.iter().filter(|_| !has_outer);
        self.contours = outer.map(|o| Contour::new(o.clone(), true, self.outer)).collect();
        let apart = |o: &&Offered| {
            let middle = o.shape.bounds().centre();
            by_hand.iter().all(|c| c.outer || !c.offered.shape.encloses(middle))
        };
        let holes = found.holes.iter().filter(apart);
        self.contours.extend(holes.map(|o| Contour::new(o.clone(), false, EdgeKind::OwnCut)));
        self.contours.extend(by_hand);
        self.contours.sort_by_key(|c| !c.outer);
        self.seen = Some(seen);
    }
}

/// The page itself: it hides the metal under it.
fn paper_of(target: &Target) -> Option<Loop<SheetSpace>> {
    let ([w, h], [mx, my]) = (target.size(), target.margins());
    Loop::rectangle(Point::new(-mx, -my), Point::new(w + mx, h + my)).ok()
}

/// A shape where another camera sees it.
fn seen_anew(
    shape: &Loop<SheetSpace>,
    before: &Calibrated,
    seen: &Seen,
) -> Option<Loop<SheetSpace>> {
    let now = &seen.found.calibrated.camera;
    let vertex = |v: &Vertex<SheetSpace>| {
        let point = now.to_sheet(before.camera.to_picture(v.point)?)?;
        Some(Vertex { point, ..*v })
    };
    Loop::new(shape.vertices().iter().map(vertex).collect::<Option<Vec<_>>>()?).ok()
}

impl Capture {
    pub(super) fn contour_act(&mut self, act: CaptureAct) {
        let by_hand = self.by_hand();
        let done = match act {
            CaptureAct::Keep(n, kept) => self.with(n, |c| {
                c.kept = kept;
                Ok(())
            }),
            CaptureAct::KeepSmaller(than, kept) => {
                self.say(|said| {
                    let small = |c: &&mut Contour| !c.outer && c.size() < than;
                    said.contours.iter_mut().filter(small).for_each(|c| c.kept = kept);
                });
                Ok(())
            }
            CaptureAct::MoveCorner(n, corner, to, freely) => {
                let to = if freely { to } else { self.drawn_to_edge(to) };
                self.with(n, |c| {
                    let vertices = c.offered.shape.vertices().iter().enumerate();
                    let moved = vertices.map(|(i, v)| Vertex {
                        point: if i == corner { to } else { v.point },
                        ..*v
                    });
                    let shape = Loop::new(moved.collect::<Vec<_>>());
                    c.moved(shape, by_hand)
                })
            }
            CaptureAct::MoveContour(n, by) => {
                self.with(n, |c| c.moved(Ok(c.offered.shape.placed(&Pose::shifted(by))), by_hand))
            }
            CaptureAct::Resize(n, radius) => self.with(n, |c| match c.circle() {
                Some((centre, _)) => c.moved(Loop::circle(centre, radius), by_hand),
                None => Ok(()),
            }),
            CaptureAct::Edge(n, edge, known) => self.with(n, |c| {
                if let Some(e) = c.edges.get_mut(edge) {
                    *e = known;
                }
                Ok(())
            }),
            CaptureAct::Trace(what, pressed, freely) => self.trace(what, &pressed, freely),
            _ => Ok(()),
        };
        if let Err(why) = done {
            self.problem = Some(why);
        }
    }

    /// Changes one contour.
    fn with(
        &mut self,
        n: usize,
        change: impl FnOnce(&mut Contour) -> Result<(), String>,
    ) -> Result<(), String> {
        let Some(mut contour) = self.said.contours.get(n).cloned() else { return Ok(()) };
        change(&mut contour)?;
        self.say(|said| said.contours[n] = contour);
        Ok(())
    }

    /// What a hand is off, mm.
    fn by_hand(&self) -> f64 {
        let pixel = || {
            let calibrated = &self.seen()?.found.calibrated;
            let [w, h] = calibrated.reference.size();
            calibrated.camera.pixel(Point::new(0.5 * w, 0.5 * h))
        };
        BY_HAND * pixel().unwrap_or(1.0)
    }

    /// The edge that is seen near a place; the place where there is none.
    pub fn drawn_to_edge(&self, at: Point<SheetSpace>) -> Point<SheetSpace> {
        let edge = || {
            let (photo, seen) = (self.photo()?, self.seen()?);
            let calibrated = &seen.found.calibrated;
            snapped(photo, calibrated, at, NEAR * calibrated.camera.pixel(at)?)
        };
        edge().unwrap_or(at)
    }

    fn trace(
        &mut self,
        what: Tracing,
        pressed: &[Point<SheetSpace>],
        freely: bool,
    ) -> Result<(), String> {
        let (Some(photo), Some(seen)) = (self.photo(), self.seen()) else { return Ok(()) };
        let calibrated = &seen.found.calibrated;
        let straight = || Loop::polygon(pressed.iter().copied()).map_err(|why| why.to_string());
        if what == Tracing::Unseen {
            let hidden = straight()?;
            self.say(|said| said.unseen.push(hidden));
            return Ok(());
        }
        let off = self.by_hand();
        let as_pressed = || {
            let shape = straight()?.directed(true);
            Ok(Offered { form: Form::Polygon, shape, off, contrast: 0.0 })
        };
        let offered = match traced(photo, calibrated, pressed) {
            Some(offered) if !freely => offered,
            _ => as_pressed().map_err(|why: String| why)?,
        };
        let outer = what == Tracing::Outer;
        let kind = if outer { self.said.outer } else { EdgeKind::OwnCut };
        let contour = Contour { by_hand: true, ..Contour::new(offered, outer, kind) };
        self.say(|said| {
            said.contours.retain(|c| !(outer && c.outer));
            said.contours.insert(if outer { 0 } else { said.contours.len() }, contour);
        });
        Ok(())
    }
}
