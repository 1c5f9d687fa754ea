//! The sign of the room between two shapes: positive apart, nothing where they only touch,
//! negative where interiors meet.

use std::f64::consts::TAU;

use oddment_core::shape::{EdgeSet, Loop, PartSpace, Point, Pose, Region, SheetSpace, Vector};
use proptest::prelude::*;

use crate::strategies::{P, edge_set, pose, region};

type Set = EdgeSet<SheetSpace>;

fn room(a: &Set, b: &Set) -> f64 {
    a.spare(b, f64::INFINITY).expect("some distance").distance
}

/// The same both ways round, under any turn, mirror and shift, and with any limit.
#[track_caller]
fn check(a: &Set, b: &Set, expected: impl Fn(f64) -> bool) {
    let carry = [
        Pose::identity(),
        Pose::new(Vector::new(1234.5, -987.6), 0.7, false),
        Pose::new(Vector::new(-31.0, 8.25), 2.0, true),
        Pose::new(Vector::new(1e5, 1e5), TAU / 4.0, true),
    ];
    for pose in carry {
        let (a, b) = (a.placed::<SheetSpace>(&pose), b.placed::<SheetSpace>(&pose));
        for (a, b) in [(&a, &b), (&b, &a)] {
            let found = room(a, b);
            assert!(expected(found), "{found} under {pose:?}");
            for limit in [0.0, 0.001, found - 1e-6, found + 1e-6] {
                let limited = a.spare(b, limit).map(|g| g.distance);
                if found < limit - 1e-7 {
                    assert!(limited.is_some_and(expected_near(found)), "{limited:?} {found}");
                } else if found > limit + 1e-7 {
                    assert_eq!(limited, None, "limit {limit}, {found}");
                }
            }
        }
    }
}

fn expected_near(found: f64) -> impl Fn(f64) -> bool {
    move |d| (d - found).abs() < 1e-7
}

fn about(distance: f64) -> impl Fn(f64) -> bool {
    move |found| (found - distance).abs() < 1e-6
}

fn overlap(found: f64) -> bool {
    found < -0.005
}

fn rectangle(x: f64, y: f64, w: f64, h: f64) -> Set {
    edge_set(&Loop::rectangle(P::new(x, y), P::new(x + w, y + h)).unwrap())
}

fn disc(x: f64, y: f64, r: f64) -> Set {
    edge_set(&Loop::circle(P::new(x, y), r).unwrap())
}

fn washer(r: f64, hole: f64) -> Set {
    let circle = |r| Loop::circle(P::origin(), r).unwrap();
    Region::new(circle(r), vec![circle(hole)]).edge_set()
}

#[test]
fn apart_and_touching() {
    let square = rectangle(0.0, 0.0, 10.0, 10.0);
    check(&square, &rectangle(13.0, 14.0, 5.0, 5.0), about(5.0));
    check(&square, &rectangle(10.0, 2.0, 5.0, 5.0), about(0.0));
    check(&square, &rectangle(10.0, 0.0, 10.0, 10.0), about(0.0));
    check(&square, &rectangle(10.0, 10.0, 5.0, 5.0), about(0.0));
    check(&square, &disc(15.0, 5.0, 5.0), about(0.0));
    check(&square, &disc(16.0, 5.0, 5.0), about(1.0));
    check(&disc(0.0, 0.0, 3.0), &disc(7.0, 0.0, 4.0), about(0.0));
}

#[test]
fn overlapping_by_a_hundredth() {
    let square = rectangle(0.0, 0.0, 10.0, 10.0);
    check(&square, &rectangle(9.99, 2.0, 5.0, 5.0), about(-0.01));
    check(&square, &rectangle(9.99, 0.0, 10.0, 10.0), about(-0.01));
    check(&square, &rectangle(9.99, 9.99, 5.0, 5.0), about(-0.01));
    check(&square, &disc(14.99, 5.0, 5.0), about(-0.01));
    check(&disc(0.0, 0.0, 3.0), &disc(6.99, 0.0, 4.0), about(-0.01));
    check(&washer(20.0, 10.0), &disc(0.01, 0.0, 10.0), about(-0.01));
}

#[test]
fn one_within_the_other() {
    let big = rectangle(0.0, 0.0, 100.0, 100.0);
    check(&big, &rectangle(40.0, 40.0, 20.0, 20.0), about(-40.0));
    check(&big, &disc(50.0, 50.0, 10.0), overlap);
    check(&big, &rectangle(0.0, 40.0, 20.0, 20.0), overlap);
    check(&big, &rectangle(0.0, 0.0, 20.0, 20.0), overlap);
    check(&big, &rectangle(1e-6, 1e-6, 100.0 - 2e-6, 100.0 - 2e-6), overlap);
}

#[test]
fn one_in_a_hole_of_the_other() {
    check(&washer(20.0, 10.0), &disc(0.0, 0.0, 7.0), about(3.0));
    check(&washer(20.0, 10.0), &disc(3.0, 0.0, 7.0), about(0.0));
    check(&washer(20.0, 10.0), &disc(0.0, 0.0, 10.0), about(0.0));
    check(&washer(20.0, 10.0), &washer(9.0, 4.0), about(1.0));
    check(&washer(20.0, 10.0), &disc(0.0, 0.0, 12.0), overlap);
    check(&washer(20.0, 10.0), &disc(0.0, 0.0, 20.0), overlap);
    check(&washer(20.0, 10.0), &disc(0.0, 0.0, 25.0), overlap);
}

#[test]
fn the_same_shape_twice() {
    for shape in [rectangle(0.0, 0.0, 10.0, 10.0), disc(0.0, 0.0, 5.0), washer(20.0, 10.0)] {
        check(&shape, &shape, overlap);
        for off in [1e-8, 1e-6, 1e-4, 0.002] {
            let moved = Pose::shifted(Vector::new(off, 0.7 * off));
            check(&shape, &shape.placed(&moved), |found| found < -0.0014);
        }
    }
    // Turned and mirrored onto itself.
    let disc = disc(0.0, 0.0, 5.0);
    let turned = Pose::<SheetSpace, SheetSpace>::new(Vector::default(), 1.0, true);
    check(&disc, &disc.placed(&turned), overlap);
}

#[test]
fn a_shared_edge_on_the_same_side_and_on_the_other() {
    let long = rectangle(0.0, 0.0, 100.0, 10.0);
    check(&long, &rectangle(20.0, 0.0, 10.0, 30.0), overlap);
    check(&long, &rectangle(20.0, -5.0, 10.0, 5.0), about(0.0));
    check(&long, &rectangle(20.0, 10.0, 10.0, 5.0), about(0.0));
    check(&long, &rectangle(-20.0, 0.0, 200.0, 30.0), overlap);
    check(&long, &rectangle(-20.0, -30.0, 200.0, 30.0), about(0.0));
    // A plus of two bars: no corner of either lies in the other.
    check(&rectangle(-50.0, -1.0, 100.0, 2.0), &rectangle(-1.0, -50.0, 2.0, 100.0), overlap);
}

#[test]
fn all_that_lies_outside() {
    let outside = rectangle(0.0, 0.0, 100.0, 100.0).complement();
    check(&outside, &rectangle(10.0, 20.0, 30.0, 30.0), about(10.0));
    check(&outside, &rectangle(0.0, 20.0, 30.0, 30.0), about(0.0));
    check(&outside, &rectangle(0.0, 0.0, 100.0, 100.0), about(0.0));
    check(&outside, &rectangle(-0.01, 20.0, 30.0, 30.0), about(-0.01));
    check(&outside, &rectangle(-30.0, 20.0, 30.0, 30.0), overlap);
    check(&outside, &rectangle(-50.0, 20.0, 30.0, 30.0), overlap);
    check(&outside, &rectangle(-50.0, -50.0, 200.0, 200.0), overlap);
    check(&outside, &disc(50.0, 50.0, 50.0), about(0.0));
    check(&outside, &disc(50.0, 50.0, 50.01), about(-0.01));
}

/// Points within both shapes by at least `depth` mm, on a grid.
fn shared_points(a: &Set, b: &Set, depth: f64) -> Vec<P> {
    let (p, q) = (a.bounds(), b.bounds());
    let min = P::new(p.min.x.max(q.min.x), p.min.y.max(q.min.y));
    let max = P::new(p.max.x.min(q.max.x), p.max.y.min(q.max.y));
    let n = 24;
    (0..n * n)
        .map(|i| {
            let at = |k: usize| (k as f64 + 0.5) / f64::from(n as u32);
            Point::new(min.x + (max.x - min.x) * at(i % n), min.y + (max.y - min.y) * at(i / n))
        })
        .filter(|p| max.x > min.x && max.y > min.y && a.covers(*p) && b.covers(*p))
        .filter(|p| a.distance_to(*p) > depth && b.distance_to(*p) > depth)
        .collect()
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(400))]

    #[test]
    fn room_is_negative_exactly_where_interiors_meet(
        a in region::<PartSpace>(100.0),
        b in region::<PartSpace>(100.0),
        first in pose::<PartSpace, SheetSpace>(30.0),
        second in pose::<PartSpace, SheetSpace>(60.0),
    ) {
        let (a, b) = (a.edge_set().placed(&first), b.edge_set().placed(&second));
        let gap = a.spare(&b, f64::INFINITY).unwrap();
        if !shared_points(&a, &b, 0.02).is_empty() {
            prop_assert!(gap.distance < -0.005, "{gap:?}");
        }
        if gap.distance < 0.0 {
            // The point named lies so deep in both, or so deep in one and on the rim of the other.
            let depth = |s: &Set| if s.covers(gap.from) { s.distance_to(gap.from) } else { 0.0 };
            let (least, most) = (depth(&a).min(depth(&b)), depth(&a).max(depth(&b)));
            let on_rim = a.distance_to(gap.from).min(b.distance_to(gap.from)) < 1e-9;
            let deep = -gap.distance - 1e-9;
            prop_assert!(least >= deep || (on_rim && most >= deep), "{gap:?}");
        } else {
            prop_assert_eq!(Some(gap), a.boundary_gap(&b, f64::INFINITY));
        }
        let other_way = b.spare(&a, f64::INFINITY).unwrap();
        prop_assert!((gap.distance - other_way.distance).abs() < 1e-7);
        let carry = Pose::<SheetSpace, SheetSpace>::new(Vector::new(1e4, -1e4), 1.0, true);
        let carried = a.placed(&carry).spare(&b.placed(&carry), f64::INFINITY).unwrap();
        prop_assert!((gap.distance - carried.distance).abs() < 1e-6, "{gap:?} {carried:?}");
    }

    #[test]
    fn a_shape_and_all_outside_it_only_touch(
        a in region::<PartSpace>(100.0),
        pose in pose::<PartSpace, SheetSpace>(60.0),
        small in region::<SheetSpace>(20.0),
        shift in (-70.0..70.0, -70.0..70.0),
    ) {
        let set = a.edge_set().placed(&pose);
        prop_assert!(room(&set, &set.clone().complement()).abs() < 1e-6);
        if !shared_points(&set, &set, 0.02).is_empty() {
            prop_assert!(room(&set, &set) < -0.005);
        }
        // A small one lies in the shape, or outside, or it meets both.
        let small = small
            .edge_set()
            .placed::<SheetSpace>(&Pose::shifted(Vector::new(shift.0, shift.1) + pose.shift));
        let overlaps = |other: &Set| room(&small, other) < -1e-6;
        prop_assert!(overlaps(&set) || overlaps(&set.clone().complement()));
    }
}
