//! Where a part lies as the machine is told: the numbers to type where a part's own drawing is run.

pub use crate::machine::Zero;
use crate::shape::{BedSpace, PartSpace, Point, Pose, Region, SheetSpace, Vector};

/// Where on the sheet the zero of a part's drawing lies. A machine that turns jobs (`turns`) takes
/// the drawing as it is and its box before the turn; one that only shifts is given the drawing turned
/// already. `None` where the first pierce is asked for and there is none.
pub fn zero_point(
    region: &Region<PartSpace>,
    pose: &Pose<PartSpace, SheetSpace>,
    zero: Zero,
    first_pierce: Option<Point<SheetSpace>>,
    turns: bool,
) -> Option<Point<SheetSpace>> {
    match zero {
        Zero::DrawingOrigin => Some(pose.apply(Point::origin())),
        Zero::FirstPierce => first_pierce,
        Zero::BoxCorner if turns => {
            // Mirrored first, as it is then run; turned about its corner by the machine.
            let mirrored = Pose::<PartSpace, PartSpace>::new(Vector::default(), 0.0, pose.flipped);
            let turned = Pose::<PartSpace, SheetSpace>::new(pose.shift, pose.turn, false);
            Some(turned.apply(region.placed(&mirrored).bounds().min))
        }
        Zero::BoxCorner => Some(region.placed(pose).bounds().min),
    }
}

/// The offset (mm) to type for a zero at `at`, from the datum corner, on a sheet that lies on the
/// bed as `lies` says: along the bed's axes.
pub fn offset_to_type(
    at: Point<SheetSpace>,
    datum: Point<SheetSpace>,
    lies: &Pose<SheetSpace, BedSpace>,
) -> Vector {
    lies.apply(at) - lies.apply(datum)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::shape::Loop;
    use std::f64::consts::FRAC_PI_2;

    fn plate() -> Region<PartSpace> {
        let outer = Loop::rectangle(Point::new(10.0, 5.0), Point::new(50.0, 25.0)).unwrap();
        Region::new(outer, Vec::new())
    }

    #[track_caller]
    fn check(zero: Zero, turns: bool, flipped: bool, x: f64, y: f64) {
        let pose = Pose::new(Vector::new(300.0, 200.0), FRAC_PI_2, flipped);
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
    fn a_sheet_laid_askew_gives_offsets_along_the_bed() {
        let lies = Pose::new(Vector::new(1000.0, 500.0), FRAC_PI_2, false);
        let offset = offset_to_type(Point::new(30.0, 10.0), Point::new(10.0, 10.0), &lies);
        assert!((offset.x).abs() < 1e-9 && (offset.y - 20.0).abs() < 1e-9);
    }
}
