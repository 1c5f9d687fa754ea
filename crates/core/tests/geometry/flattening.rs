//! Polygons in place of curves lie on the side asked for and within the bound.

use oddment_core::shape::{Loop, SheetSpace, Side, flatten, flatten_region};
use proptest::prelude::*;

use crate::strategies::{P, blob, edge_set, region, samples};

fn polygon(points: &[P]) -> Loop<SheetSpace> {
    Loop::polygon(points.iter().copied()).unwrap()
}

/// The farthest that any sample of `of` lies from `from`'s boundary.
fn farthest(of: &Loop<SheetSpace>, from: &Loop<SheetSpace>) -> f64 {
    let target = edge_set(from);
    of.edges().flat_map(|e| samples(&e, 40)).map(|p| target.distance_to(p)).fold(0.0, f64::max)
}

/// Points close beside a loop, on both sides.
fn beside(l: &Loop<SheetSpace>, by: f64) -> impl Iterator<Item = P> {
    l.edges().flat_map(move |e| {
        (0..40).flat_map(move |i| {
            let share = (f64::from(i) + 0.5) / 40.0;
            let left = e.direction(share).left() * by;
            [e.at(share) + left, e.at(share) - left]
        })
    })
}

proptest! {
    #[test]
    fn the_outward_polygon_holds_the_loop_and_the_loop_the_inward_one(
        l in blob::<SheetSpace>(100.0),
        clockwise in any::<bool>(),
        bound in prop_oneof![Just(1e-3), Just(0.05), Just(1.0)],
    ) {
        let l = l.directed(!clockwise);
        let outer = polygon(&flatten(&l, bound, Side::Outward));
        let inner = polygon(&flatten(&l, bound, Side::Inward));
        let noise = 1e-9;
        let turn = l.signed_area().signum() as i32;
        for p in [1e-6, 0.3 * bound, bound].into_iter().flat_map(|by| beside(&l, by)) {
            let [outer, l, inner] = [&outer, &l, &inner].map(|x| x.winding(p) * turn > 0);
            prop_assert!(outer || !l, "outward at {p:?}");
            prop_assert!(l || !inner, "inward at {p:?}");
        }
        for p in [&outer, &inner] {
            prop_assert!(farthest(p, &l) <= bound + noise);
            prop_assert!(farthest(&l, p) <= bound + noise);
            prop_assert_eq!(p.signed_area() > 0.0, l.signed_area() > 0.0);
        }
        prop_assert!(inner.area() <= l.area() + noise && l.area() <= outer.area() + noise);
        prop_assert!(outer.area() - inner.area() <= 2.0 * bound * outer.perimeter() + noise);
    }

    #[test]
    fn an_outward_region_has_holes_no_larger(region in region::<SheetSpace>(100.0)) {
        let outward = flatten_region(&region, 0.05, Side::Outward);
        let inward = flatten_region(&region, 0.05, Side::Inward);
        for (i, hole) in region.holes().iter().enumerate() {
            prop_assert!(polygon(&outward[i + 1]).area() <= hole.area() + 1e-9);
            prop_assert!(polygon(&inward[i + 1]).area() >= hole.area() - 1e-9);
        }
    }
}

#[test]
fn circles_of_all_sizes() {
    for radius in [0.01, 1.0, 100.0, 1e4, 1e8] {
        for bound in [1e-3, 0.1] {
            let circle = Loop::circle(P::new(1.0, 2.0), radius).unwrap();
            for side in [Side::Outward, Side::Inward] {
                let points = flatten(&circle, bound, side);
                assert!(points.len() >= 8 && points.len() < 3_000_000);
                for p in points {
                    let off = p.distance(P::new(1.0, 2.0)) - radius;
                    let off = if side == Side::Outward { off } else { -off };
                    assert!((-1e-15 * radius - 1e-12..=bound + 1e-7).contains(&off), "{off}");
                }
            }
        }
    }
}

#[test]
fn a_bound_of_nothing_still_ends() {
    let circle = Loop::circle(P::origin(), 10.0).unwrap();
    for bound in [0.0, -1.0, f64::NAN] {
        assert!(flatten(&circle, bound, Side::Outward).len() < 100_000);
    }
}
