//! A sheet from what was found and accepted, each edge with its give or take.

use oddment_core::capture::{Captured, How, Known, Residual, Rim};
use oddment_core::shape::{Edge, Loop, LoopFault, Point, SheetSpace};
use oddment_core::sheet::{EdgeFacts, EdgeKind};

use crate::calibrate::{Calibrated, Reference};
use crate::camera::Mark;
use crate::find::Offered;

/// What the picture does not tell.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Stated {
    /// How the outer edge was made.
    pub outer: EdgeKind,
    /// How far (mm) the sheet bows up or down from flat between where it lies on.
    pub bow: f64,
    /// Thickness, mm: the lower rim of an edge may be taken for the upper one.
    pub thickness: f64,
}

/// Edges are seen to this share of a pixel.
const PIXEL: f64 = 0.5;

impl Calibrated {
    /// How far (mm) an edge may really lie from where the picture has it near a point: what the marks
    /// leave open, what is known not quite truly, the pixels, and what stands above or below the plane
    /// seen at a slant (a bow of b at an angle a from the vertical: b · tan a).
    pub fn unsure(&self, at: Point<SheetSpace>, stated: &Stated) -> f64 {
        let camera = &self.camera;
        let pixel = PIXEL * camera.pixel(at).unwrap_or(f64::INFINITY);
        let random = camera.unsure(at).hypot(pixel).hypot(self.reference.unsure(at));
        random + self.at_a_slant(at, stated)
    }

    /// How much (mm) of that is what stands above or below the plane, seen at a slant.
    pub fn at_a_slant(&self, at: Point<SheetSpace>, stated: &Stated) -> f64 {
        (stated.bow + stated.thickness) * self.camera.slant(at)
    }

    /// The sheet of an outline and what is cut out of it, in the coordinates of what was placed; `unknown`
    /// is metal that could not be seen.
    ///
    /// # Errors
    /// Where a contour encloses nothing.
    pub fn captured(
        &self,
        outline: &Offered,
        holes: &[Offered],
        unknown: Vec<Loop<SheetSpace>>,
        stated: &Stated,
    ) -> Result<Captured, LoopFault> {
        let cutouts = holes.iter().map(|h| self.rim(h, EdgeKind::OwnCut, stated));
        Ok(Captured {
            outer: self.rim(outline, stated.outer, stated)?,
            cutouts: cutouts.collect::<Result<_, _>>()?,
            unknown,
            residuals: self.residuals(),
        })
    }

    /// An edge that was found, each of its lines and arcs made so and with its give or take.
    ///
    /// # Errors
    /// Where it encloses nothing.
    pub fn rim(
        &self,
        offered: &Offered,
        kind: EdgeKind,
        stated: &Stated,
    ) -> Result<Rim, LoopFault> {
        let known = |edge: &Edge<SheetSpace>| {
            let places = [0.0, 0.5, 1.0].map(|share| self.unsure(edge.at(share), stated));
            let unsure = places.into_iter().fold(0.0, f64::max).hypot(offered.off);
            let give_or_take = (unsure * 100.0).ceil() / 100.0;
            Known { facts: EdgeFacts { kind, give_or_take }, how: How::Photo }
        };
        Rim::of_edges(offered.shape.edges().map(|e| (e, known(&e))).collect())
    }

    /// What each mark is off.
    fn residuals(&self) -> Vec<Residual> {
        let of = match self.reference {
            Reference::Target(_) => "mark",
            Reference::Rectangle { .. } => "side, place",
        };
        let said = self.marks.iter().enumerate().filter_map(|(i, mark)| {
            let (Mark::Point { seen, .. } | Mark::Side { seen, .. }) = mark;
            let at = self.camera.to_sheet(*seen)?;
            let off = self.camera.off_by(mark) * self.camera.pixel(at)?;
            Some(Residual { of: format!("{of} {}", i + 1), at, off })
        });
        said.collect()
    }
}
