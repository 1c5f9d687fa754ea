//! Where a part lies as the machine is told: the numbers to type where a part's own drawing is run.

pub use crate::machine::Zero;
use crate::shape::{PartSpace, Point, Pose, Region, Space, Vector};

/// Where the zero of a part's drawing lies, the part lying at `pose`: seen on the bed, whose axes are
/// the machine's. A machine that turns jobs (`turns`) takes the drawing as it is and its box before
/// the turn; one that only shifts is given the drawing turned already. `None` where the first pierce
/// is asked for and there is none.
pub fn zero_point<S: Space>(
    region: &Region<PartSpace>,
    pose: &Pose<PartSpace, S>,
    zero: Zero,
    first_pierce: Option<Point<S>>,
    turns: bool,
) -> Option<Point<S>> {
    match zero {
        Zero::DrawingOrigin => Some(pose.apply(Point::origin())),
        Zero::FirstPierce => first_pierce,
        Zero::BoxCorner if turns => {
            // Mirrored first, as it is then run; turned about its corner by the machine.
            let mirrored = Pose::<PartSpace, PartSpace>::new(Vector::default(), 0.0, pose.flipped);
            let turned = Pose::<PartSpace, S>::new(pose.shift, pose.turn, false);
            Some(turned.apply(region.placed(&mirrored).bounds().min))
        }
        Zero::BoxCorner => Some(region.placed(pose).bounds().min),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::shape::{BedSpace, Loop, SheetSpace};
    use std::f64::consts::FRAC_PI_2;

    fn plate() -> Region<PartSpace> {
        let outer = Loop::rectangle(Point::new(10.0, 5.0), Point::new(50.0, 25.0)).unwrap();
        Region::new(outer, Vec::new())
    }

    #[track_caller]
    fn check(zero: Zero, turns: bool, flipped: bool, x: f64, y: f64) {
        let pose = Pose::<_, SheetSpace>::new(Vector::new(300.0, 200.0), FRAC_PI_2, flipped);
        let pierce = Some(Point::new(1.0, 2.0));
        let at = zero_point(&plate(), &pose, zero, pierce, turns).unwrap();
        assert!(at.distance(Point::new(x, y)) < 1e-9, "{at:?}");
    }

    #[test]
    fn what_the_machine_takes_as_zero_lies_where_worked_out_by_hand() {
        check(Zero::DrawingOrigin, false, false, 300.0, 200.0);
        check(Zero::FirstPierce, false, false, 1.0, 2.0);
        // A quarter turn takes (x, y) to (−y, x): the box is from (275, 210) to (295, 250).
        check(Zero::BoxCorner, false, false, 275.0, 210.0);
        check(Zero::BoxCorner, true, false, 295.0, 210.0);
        // Mirrored, the box is from −50 to −10 before the turn.
        check(Zero::BoxCorner, true, true, 295.0, 150.0);
        check(Zero::BoxCorner, false, true, 275.0, 150.0);
    }

    #[test]
    fn on_a_sheet_laid_askew_the_box_is_along_the_bed() {
        let pose = Pose::<PartSpace, SheetSpace>::new(Vector::new(300.0, 200.0), 0.0, false);
        let lies = Pose::<SheetSpace, BedSpace>::new(Vector::new(1000.0, 500.0), FRAC_PI_2, false);
        let zero = |turns| {
            let on_bed = lies.after(&pose);
            zero_point(&plate(), &on_bed, Zero::BoxCorner, None, turns).unwrap()
        };
        // On the sheet the box is from (310, 205) to (350, 225), on the bed from (775, 810) to (795, 850).
        assert!(zero(false).distance(Point::new(775.0, 810.0)) < 1e-9, "{:?}", zero(false));
        // Its drawing's lower left corner, turned with the sheet.
        assert!(zero(true).distance(Point::new(795.0, 810.0)) < 1e-9, "{:?}", zero(true));
    }
}
