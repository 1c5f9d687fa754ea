//! Grown and shrunk regions, point by point.

use oddment_core::shape::{
    EdgeSet, Loop, Pose, Region, SheetSpace, Side, Vector, Vertex, grow_loop, hull, offset,
};
use proptest::prelude::*;

use crate::strategies::{P, blob, edge_set, pose, region};

/// How deep a point lies in a shape, negative outside.
fn depth(shape: &EdgeSet<SheetSpace>, p: P) -> f64 {
    if shape.covers(p) { shape.distance_to(p) } else { -shape.distance_to(p) }
}

/// Points all over a shape and round it, and more of them about the given depth.
fn points(shape: &EdgeSet<SheetSpace>, about: f64) -> Vec<P> {
    let bounds = shape.bounds().grown(about.abs() + 5.0);
    let grid = (0..900).map(|i| {
        let share = |k: usize| (k as f64 + 0.37) / 30.0;
        P::new(
            bounds.min.x + bounds.width() * share(i % 30),
            bounds.min.y + bounds.height() * share(i / 30),
        )
    });
    let beside = shape.edges().iter().flat_map(|e| {
        (0..=24).flat_map(|i| {
            let share = f64::from(i) / 24.0;
            [-0.2, -0.02, -0.002, -1e-4, 0.0, 1e-4, 0.002, 0.02, 0.2]
                .map(|off| e.at(share) + e.direction(share).left() * (about + off))
        })
    });
    grid.chain(beside).collect()
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(100))]

    #[test]
    fn offsets_err_to_the_side_asked_for_and_by_no_more_than_the_bound(
        region in region::<SheetSpace>(100.0),
        pose in pose::<SheetSpace, SheetSpace>(1e4),
        by in prop_oneof![0.1..30.0, -12.0..-0.1f64, Just(0.0)],
        bound in prop_oneof![Just(0.001), Just(0.05), Just(0.5)],
    ) {
        let region = region.placed(&pose);
        let shape = region.edge_set();
        for side in [Side::Outward, Side::Inward] {
            let found = offset(&region, by, bound, side);
            let (surely, at_most) = match side {
                Side::Outward => (-by, -by - bound),
                Side::Inward => (-by + bound, -by),
            };
            for p in points(&shape, -by) {
                let depth = depth(&shape, p);
                let covered = found.iter().any(|r| r.contains(p));
                prop_assert!(covered || depth < surely + 1e-7, "{side:?}: {p:?} at {depth} is missing");
                prop_assert!(!covered || depth > at_most - 1e-7, "{side:?}: {p:?} at {depth} is too much");
            }
        }
    }

    #[test]
    fn a_grown_loop_has_exactly_the_points_within_the_distance(
        l in blob::<SheetSpace>(100.0),
        pose in pose::<SheetSpace, SheetSpace>(1e4),
        by in prop_oneof![0.1..3.0, 3.0..40.0],
    ) {
        let l = l.placed(&pose);
        let shape = edge_set(&l);
        let grown = grow_loop(&l, by);
        prop_assert!(grown.is_some());
        let grown = grown.unwrap();
        for p in points(&shape, -by).into_iter().chain(points(&shape, by)) {
            let depth = depth(&shape, p);
            prop_assert!(grown.contains(p) || depth < -by + 5e-4, "{p:?} at {depth} is missing");
            prop_assert!(!grown.contains(p) || depth > -by - 5e-4, "{p:?} at {depth} is too much");
        }
    }

    #[test]
    fn a_hull_turns_left_and_holds_its_points(
        points in proptest::collection::vec((-9..9i32, -9..9i32), 3..40),
    ) {
        let points: Vec<P> =
            points.iter().map(|(x, y)| P::new(f64::from(*x), f64::from(*y))).collect();
        let hull = hull(&points);
        prop_assume!(hull.len() >= 3);
        let n = hull.len();
        for (i, a) in hull.iter().enumerate() {
            let (b, c) = (hull[(i + 1) % n], hull[(i + 2) % n]);
            prop_assert!((b - *a).cross(c - b) > 0.0);
            prop_assert!(points.iter().all(|p| (b - *a).cross(*p - *a) >= 0.0));
            prop_assert!(points.contains(a));
        }
    }
}

fn only(l: &Loop<SheetSpace>, by: f64) -> Loop<SheetSpace> {
    let grown = grow_loop(l, by).unwrap();
    assert!(grown.holes().is_empty());
    grown.outer().clone()
}

#[test]
fn squares_and_circles_grow_as_they_should() {
    let square = Loop::rectangle(P::origin(), P::new(10.0, 10.0)).unwrap();
    let grown = only(&square, 2.0);
    assert_eq!(grown.vertices().len(), 8);
    let area = 100.0 + 4.0 * 20.0 + std::f64::consts::PI * 4.0;
    assert!((grown.area() - area).abs() < 1e-9);
    let circle = Loop::circle(P::new(3.0, 4.0), 5.0).unwrap();
    let grown = only(&circle, 0.4);
    assert!((grown.area() - std::f64::consts::PI * 5.4 * 5.4).abs() < 1e-9);
    assert_eq!(grown.vertices().len(), 2);
    // The direction of the loop does not matter.
    assert_eq!(only(&square.reversed(), 2.0).area(), only(&square, 2.0).area());
}

#[test]
fn arcs_that_meet_at_nearly_no_angle_leave_no_stubs() {
    for off in [0.0, 1e-9, 1e-7, 1e-6, 1e-5, 1e-4, 1e-3, 1e-2, 0.1] {
        for off in [off, -off, 1.37 * off, -1.37 * off, 4.4 * off] {
            // Two quarter circles of the lower half, the first a little flatter or rounder.
            let quarter = (std::f64::consts::PI / 8.0).tan();
            let v = |x: f64, y: f64, bulge: f64| Vertex { point: P::new(x, y), bulge };
            let half = [v(-50.0, 0.0, quarter + off), v(0.0, -50.0, quarter), v(50.0, 0.0, 0.0)];
            let half = Loop::new(half).unwrap();
            for by in [0.1, 2.0, 30.0] {
                let grown = only(&half, by);
                let expected = half.area() + half.perimeter() * by + std::f64::consts::PI * by * by;
                // A dent in the outline takes some of that away; ends within 1e-4 are one.
                let less = expected - grown.area();
                let noise = 1e-4 * grown.perimeter();
                let most = 4.0 * off.abs() * by * by + noise;
                assert!((-noise..most).contains(&less), "{off} {by} {less}");
            }
        }
    }
}

#[test]
fn a_narrow_mouth_closes_and_leaves_a_pocket() {
    // A square of 40 with a room of 20 × 20 in it, open through a mouth 2 wide.
    let corners = [
        (0.0, 0.0),
        (40.0, 0.0),
        (40.0, 40.0),
        (21.0, 40.0),
        (21.0, 30.0),
        (30.0, 30.0),
        (30.0, 10.0),
        (10.0, 10.0),
        (10.0, 30.0),
        (19.0, 30.0),
        (19.0, 40.0),
        (0.0, 40.0),
    ];
    let l = Loop::polygon(corners.map(|(x, y)| P::new(x, y))).unwrap();
    let grown = grow_loop(&l, 1.5).unwrap();
    assert_eq!(grown.holes().len(), 1);
    // At the mouth, where its two corners are 1 away from the middle, the pocket is a little taller
    // than the room less 1.5 all round.
    let pocket = grown.holes()[0].area();
    assert!((pocket - 17.0 * 17.0).abs() < 1.5 && pocket > 17.0 * 17.0, "{pocket}");
    // Grown by so much, the pocket fills up.
    assert!(grow_loop(&l, 10.5).unwrap().holes().is_empty());
    // A mouth of just twice the distance is a matter of taste, but no accident.
    if let Some(at_the_limit) = grow_loop(&l, 1.0) {
        assert!(at_the_limit.area() > l.area());
    }
}

#[test]
fn what_shrinks_away_leaves_nothing() {
    let square = Region::new(Loop::rectangle(P::origin(), P::new(10.0, 10.0)).unwrap(), vec![]);
    assert!(offset(&square, -5.1, 0.01, Side::Outward).is_empty());
    assert_eq!(offset(&square, -4.9, 0.01, Side::Outward).len(), 1);
    assert!(offset(&square, f64::NAN, 0.01, Side::Outward).is_empty());
    assert!(offset(&square, f64::NEG_INFINITY, 0.01, Side::Outward).is_empty());
    // A dumb-bell falls apart.
    let bell = [
        (0.0, 0.0),
        (10.0, 0.0),
        (10.0, 4.0),
        (20.0, 4.0),
        (20.0, 0.0),
        (30.0, 0.0),
        (30.0, 10.0),
        (20.0, 10.0),
        (20.0, 6.0),
        (10.0, 6.0),
        (10.0, 10.0),
        (0.0, 10.0),
    ];
    let bell = Region::new(Loop::polygon(bell.map(|(x, y)| P::new(x, y))).unwrap(), vec![]);
    assert_eq!(offset(&bell, -1.5, 0.01, Side::Inward).len(), 2);
    let shift = Pose::<SheetSpace, SheetSpace>::shifted(Vector::new(1e6, 1e6));
    assert_eq!(offset(&bell.placed(&shift), -1.5, 0.01, Side::Inward).len(), 2);
}
