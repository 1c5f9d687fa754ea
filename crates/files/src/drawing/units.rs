//! What the numbers of a drawing mean.

use oddment_core::shape::Bounds;
use oddment_core::units::{LengthUnit, MM_PER_INCH};

use super::curve::Drawn;
use super::{Problem, Units, short_words};

/// What a file says about its units.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) enum Claim {
    /// Nothing.
    Silent,
    /// A unit, with the millimetres in it.
    Unit(&'static str, f64),
    /// Pixels of a screen, with the millimetres that one stands for by the standard.
    Pixels(f64),
}

/// A drawing's longer side (mm) is believable between these: nothing that is cut from sheet and
/// put into a plan is smaller, no sheet in a small shop is larger.
const BELIEVABLE: std::ops::RangeInclusive<f64> = 3.0..=4000.0;

/// A drawing without a unit is in inches where its longer side is fewer units than this: parts of
/// under 10 mm are rarer than parts drawn in inches without saying so.
const INCHES_BELOW: f64 = 10.0;

/// The units to read with, and what to say if they had to be guessed.
pub(super) fn decide(
    claim: &Claim,
    bounds: &Bounds<Drawn>,
    given: Option<LengthUnit>,
) -> (Units, Option<Problem>) {
    if let Some(unit) = given {
        let mm_per_unit = unit.in_mm();
        return (Units { name: unit.to_string(), mm_per_unit, assumed: false }, None);
    }
    let side = if bounds.is_empty() { 0.0 } else { bounds.width().max(bounds.height()) };
    let size = |mm: f64| {
        format!(
            "{} × {} mm",
            short_words(bounds.width() * mm, 2),
            short_words(bounds.height() * mm, 2)
        )
    };
    let guessed = |name: &str, mm: f64, what: String, must_settle: bool| {
        let units = Units { name: name.to_owned(), mm_per_unit: mm, assumed: true };
        let done = format!("read in {name}: {}; give the units if that is wrong", size(mm));
        (units, Some(Problem { what, at: None, layer: None, done, must_settle }))
    };
    match *claim {
        Claim::Silent if side < INCHES_BELOW && BELIEVABLE.contains(&(side * MM_PER_INCH)) => {
            let what =
                format!("the drawing states no unit, and in mm it would be only {}", size(1.0));
            guessed("in", MM_PER_INCH, what, true)
        }
        Claim::Silent => guessed(
            "mm",
            1.0,
            format!("the drawing states no unit; in inches it would be {}", size(MM_PER_INCH)),
            false,
        ),
        Claim::Pixels(mm) => guessed(
            "px",
            mm,
            "the drawing gives its size in pixels, which programs take for different lengths"
                .to_owned(),
            true,
        ),
        Claim::Unit(name, mm) => {
            let obeyed = Units { name: name.to_owned(), mm_per_unit: mm, assumed: false };
            if side == 0.0 || BELIEVABLE.contains(&(side * mm)) {
                return (obeyed, None);
            }
            let what = format!("the drawing says its unit is {name}, which makes it {}", size(mm));
            let others = [("mm", 1.0), ("in", MM_PER_INCH)];
            match others.into_iter().find(|(_, mm)| BELIEVABLE.contains(&(side * mm))) {
                Some((name, mm)) => guessed(name, mm, what, true),
                None => {
                    let done = "taken as it says".to_owned();
                    let problem = Problem { what, at: None, layer: None, done, must_settle: true };
                    (obeyed, Some(problem))
                }
            }
        }
    }
}
