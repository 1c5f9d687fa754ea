//! A part's own drawing as it lies, for a machine that runs it by itself and can't turn it.

use oddment_core::part::Part;
use oddment_core::shape::{Pose, SheetSpace, Vector};
use oddment_core::units::LengthUnit;

use super::writer::Writer;
use super::{BEND, CUT_INNER, CUT_OUTER, MARK, draw_part};

/// A part's drawing mirrored where it is `flipped` and then turned by `turn` radians about its own zero
/// point, in `unit`. What is to be cut lies on `CUT_INNER` and `CUT_OUTER`, engraving on `MARK`, bend
/// lines on `BEND`.
pub fn single_dxf(part: &Part, turn: f64, flipped: bool, unit: LengthUnit) -> String {
    let mut writer = Writer::new(&[CUT_OUTER, CUT_INNER, MARK, BEND], unit);
    draw_part(&mut writer, part, &Pose::<_, SheetSpace>::new(Vector::default(), turn, flipped));
    writer.finish()
}
