//! The sheet that was captured.

use oddment_core::capture::points::{POINTER, Pointing};
use oddment_core::capture::rows::read_rows;
use oddment_core::capture::{Captured, Residual, Rim};
use oddment_core::shape::LoopFault;
use oddment_core::units::LengthUnit;
use oddment_files::sound::unsound;
use oddment_photo::Stated;
use oddment_rack::outline::Outline;

use super::{Capture, Contour, Seen};
use crate::words::joined;

/// A sheet ready for the rack.
pub struct Made {
    /// Its edges.
    pub outline: Outline,
    /// How large it is and how well it is known, in words.
    pub says: String,
    /// How far each measurement is off what was made of all of them.
    pub residuals: Vec<Residual>,
}

impl Made {
    /// The sheet of what was measured.
    ///
    /// # Errors
    /// Why it is none, in sentences.
    pub fn of(captured: &Captured, unit: LengthUnit) -> Result<Self, String> {
        let metal = captured.metal().map_err(|f| joined(&f))?;
        let outline = Outline::of_captured(&metal);
        if let Some(problem) = outline.regions().iter().find_map(unsound) {
            return Err(problem.to_string());
        }
        let bounds = outline.bounds();
        let known = captured.outer.known().iter().map(|k| k.facts.give_or_take);
        let surest = unit.show(known.fold(f64::INFINITY, f64::min));
        let least = unit.show(captured.outer.give_or_take());
        let off = if surest == least { least } else { format!("{surest} to {least}") };
        let mut says = format!(
            "{} × {} {unit}; outer edges give or take {off}.",
            unit.show(bounds.width()),
            unit.show(bounds.height()),
        );
        let worst = captured.residuals.iter().max_by(|a, b| a.off.abs().total_cmp(&b.off.abs()));
        if let Some(worst) = worst.filter(|r| r.off.abs() > POINTER) {
            says +=
                &format!(" {} is {} off: measure it again?", worst.of, unit.show(worst.off.abs()));
        }
        Ok(Self { outline, says, residuals: captured.residuals.clone() })
    }
}

impl Capture {
    /// What was captured, at the datum corner; `thickness` (mm) is how far a lower rim may be taken for the
    /// upper one.
    ///
    /// # Errors
    /// What is missing or wrong, in sentences.
    pub fn captured(&self, thickness: f64, unit: LengthUnit) -> Result<Captured, String> {
        let said = self.said();
        let seen = self.seen().ok_or("Look for the sheet in the photograph first")?;
        let kept = |outer: bool| said.contours.iter().filter(move |c| c.kept && c.outer == outer);
        let outer = kept(true).next().ok_or("There is no outer edge yet: trace it")?;
        let rim = |c: &Contour| self.rim(seen, c, thickness);
        let no_loop = |why: LoopFault| why.to_string();
        let captured = Captured {
            outer: rim(outer).map_err(no_loop)?,
            cutouts: kept(false).map(rim).collect::<Result<_, _>>().map_err(no_loop)?,
            unknown: said.unseen.clone(),
            residuals: Vec::new(),
        };
        let captured = captured.at_datum();
        if said.points.trim().is_empty() {
            return Ok(captured);
        }
        let rings = read_rows(&said.points, unit).map_err(|f| joined(&f))?;
        let how = Pointing { outer: said.outer, ..Pointing::default() };
        captured.sharpened(&rings, how).map_err(|f| joined(&f))
    }

    /// A contour as an edge of metal, with what the picture or a person knows of its parts.
    ///
    /// # Errors
    /// Where it encloses nothing.
    pub fn rim(&self, seen: &Seen, contour: &Contour, thickness: f64) -> Result<Rim, LoopFault> {
        Ok(self.seen_rim(seen, contour, thickness)?.knowing(|i, known| {
            let Some(edge) = contour.edges.get(i) else { return };
            known.facts.kind = edge.kind;
            if let Some(give_or_take) = edge.give_or_take {
                known.facts.give_or_take = give_or_take;
            }
        }))
    }

    /// The same with what the picture alone knows of its parts.
    ///
    /// # Errors
    /// Where it encloses nothing.
    pub fn seen_rim(
        &self,
        seen: &Seen,
        contour: &Contour,
        thickness: f64,
    ) -> Result<Rim, LoopFault> {
        let stated = self.stated(thickness);
        seen.found.calibrated.rim(&contour.offered, stated.outer, &stated)
    }

    /// How much (mm) of the outer edge's give or take is that bow and thickness are seen at a slant, at most.
    pub fn at_a_slant(&self, thickness: f64) -> f64 {
        let (Some(seen), stated) = (self.seen(), self.stated(thickness)) else { return 0.0 };
        let outer = self.said().contours.iter().filter(|c| c.kept && c.outer);
        let corners = outer.flat_map(|c| c.offered.shape.vertices());
        let each = corners.map(|v| seen.found.calibrated.at_a_slant(v.point, &stated));
        each.fold(0.0, f64::max)
    }

    fn stated(&self, thickness: f64) -> Stated {
        Stated { outer: self.said().outer, bow: self.said().bow, thickness }
    }
}
