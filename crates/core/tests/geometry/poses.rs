//! Poses undo and follow each other.

use oddment_core::shape::{BedSpace, PartSpace, Point, Pose, SheetSpace};
use proptest::prelude::*;

use crate::strategies::pose;

proptest! {
    #[test]
    fn the_inverse_brings_every_point_back(
        pose in pose::<PartSpace, SheetSpace>(1e4),
        x in -1e4..1e4,
        y in -1e4..1e4,
    ) {
        let p = Point::<PartSpace>::new(x, y);
        prop_assert!(pose.inverse().apply(pose.apply(p)).distance(p) < 1e-9);
        let q = Point::<SheetSpace>::new(x, y);
        prop_assert!(pose.apply(pose.inverse().apply(q)).distance(q) < 1e-9);
    }

    #[test]
    fn one_pose_after_another_is_both_in_turn(
        first in pose::<PartSpace, SheetSpace>(1e4),
        second in pose::<SheetSpace, BedSpace>(1e4),
        x in -1e4..1e4,
        y in -1e4..1e4,
    ) {
        let p = Point::<PartSpace>::new(x, y);
        let both = second.after(&first).apply(p);
        prop_assert!(both.distance(second.apply(first.apply(p))) < 1e-8);
    }

    #[test]
    fn distances_are_kept(
        pose in pose::<PartSpace, SheetSpace>(1e3),
        a in (-1e3..1e3, -1e3..1e3),
        b in (-1e3..1e3, -1e3..1e3),
    ) {
        let (a, b) = (Point::<PartSpace>::new(a.0, a.1), Point::new(b.0, b.1));
        let moved = pose.apply(a).distance(pose.apply(b));
        prop_assert!((moved - a.distance(b)).abs() < 1e-9);
    }
}

#[test]
fn quarter_turns_are_exact() {
    let turned = |quarters: f64, flipped| {
        let turn = quarters * std::f64::consts::FRAC_PI_2;
        let pose = Pose::<PartSpace, SheetSpace>::new(Default::default(), turn, flipped);
        let p = pose.apply(Point::new(0.1, 0.3));
        (p.x, p.y)
    };
    assert_eq!(turned(1.0, false), (-0.3, 0.1));
    assert_eq!(turned(2.0, false), (-0.1, -0.3));
    assert_eq!(turned(-1.0, false), (0.3, -0.1));
    assert_eq!(turned(4.0, true), (-0.1, 0.3));
    assert_eq!(turned(5.0, true), (-0.3, -0.1));
}
