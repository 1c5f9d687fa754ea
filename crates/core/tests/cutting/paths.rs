//! The beam's centre runs half a kerf off, on the waste side.

use oddment_core::cutting::path::{beam_path, run_from};
use oddment_core::shape::{Edge, Loop, PartSpace, Point, Pose, Region, Vertex};
use proptest::prelude::*;

use crate::strategies::{blob, edge_set, pose, region, samples};

fn rectangle(w: f64, h: f64) -> Loop<PartSpace> {
    Loop::rectangle(Point::origin(), Point::new(w, h)).unwrap()
}

/// Every point of the path is half a kerf off, but past corners, where it is farther; it never
/// lies in the metal, and its length is that of the contour moved, `longer` mm.
#[track_caller]
fn check(contour: &Loop<PartSpace>, half: f64, loops: usize, longer: f64) {
    let path = beam_path(contour, half);
    assert!(path.exact);
    assert_eq!(path.loops.len(), loops);
    let length: f64 = path.loops.iter().map(Loop::perimeter).sum();
    assert!((length - contour.perimeter() - longer).abs() < 1e-6, "{length}");
}

#[test]
fn sharp_outer_corners_are_kept() {
    // Each corner adds half a kerf on both of its sides.
    check(&rectangle(40.0, 30.0), 0.5, 1, 8.0 * 0.5);
    let path = beam_path(&rectangle(40.0, 30.0), 0.5);
    assert_eq!(path.loops[0].vertices().len(), 4, "{path:?}");
}

#[test]
fn holes_shrink_and_narrow_ones_leave_nothing() {
    let hole = |w: f64, h: f64| rectangle(w, h).reversed();
    check(&hole(40.0, 30.0), 0.5, 1, -8.0 * 0.5);
    check(&hole(40.0, 0.9), 0.5, 0, -81.8);
    let circle = Loop::circle(Point::origin(), 5.0).unwrap();
    let turn = std::f64::consts::TAU;
    check(&circle, 0.25, 1, turn * 0.25);
    check(&circle.reversed(), 0.25, 1, -turn * 0.25);
}

#[test]
fn a_hole_with_a_narrow_neck_is_cut_in_two() {
    let neck = [
        (0.0, 0.0),
        (10.0, 0.0),
        (10.0, 4.8),
        (20.0, 4.8),
        (20.0, 0.0),
        (30.0, 0.0),
        (30.0, 10.0),
        (20.0, 10.0),
        (20.0, 5.2),
        (10.0, 5.2),
        (10.0, 10.0),
        (0.0, 10.0),
    ];
    let hole = Loop::<PartSpace>::polygon(neck.map(|(x, y)| Point::new(x, y))).unwrap().reversed();
    assert_eq!(beam_path(&hole, 0.5).loops.len(), 2);
    assert_eq!(beam_path(&hole, 0.1).loops.len(), 1);
}

#[test]
fn very_acute_corners_are_rounded_not_run_far_past() {
    let needle = Loop::<PartSpace>::polygon(
        [(0.0, 0.0), (60.0, 0.0), (0.0, 6.0)].map(|(x, y)| Point::new(x, y)),
    );
    let path = beam_path(&needle.unwrap(), 0.5);
    let reach = path.loops[0].bounds();
    assert!(reach.max.x < 60.0 + 4.0 * 0.5, "{reach:?}");
}

#[test]
fn hardly_bent_corners_are_corners_too() {
    let points = [(0.0, 0.0), (20.0, -0.03), (40.0, 0.0), (40.0, 30.0), (0.0, 30.0)];
    let bent = Loop::<PartSpace>::polygon(points.map(|(x, y)| Point::new(x, y))).unwrap();
    let path = beam_path(&bent, 0.5);
    assert_eq!(path.loops[0].vertices().len(), 5);
    let own = edge_set(&bent);
    for at in path.loops[0].edges().flat_map(|e| samples(&e, 20)) {
        assert!(own.distance_to(at) > 0.5 - 1e-6);
    }
}

#[test]
fn rounded_ends_stay_arcs() {
    let slot = [(0.0, 0.0, 0.0), (20.0, 0.0, 1.0), (20.0, 8.0, 0.0), (0.0, 8.0, 1.0)]
        .map(|(x, y, bulge)| Vertex { point: Point::new(x, y), bulge });
    let slot = Loop::<PartSpace>::new(slot).unwrap();
    let path = beam_path(&slot, 0.5);
    let arcs = path.loops[0].edges().filter(|e| matches!(e, Edge::Arc { .. })).count();
    assert_eq!((arcs, path.loops[0].vertices().len()), (2, 4));
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(200))]

    #[test]
    fn the_path_lies_half_a_kerf_off_on_the_waste_side(
        region in region::<PartSpace>(60.0),
        pose in pose::<PartSpace, PartSpace>(200.0),
        half in 0.05..0.8f64,
    ) {
        let region: Region<PartSpace> = region.placed(&pose);
        for contour in region.loops() {
            let own = edge_set(contour);
            let path = beam_path(contour, half);
            for l in &path.loops {
                prop_assert_eq!(l.signed_area() > 0.0, contour.signed_area() > 0.0);
                for edge in l.edges() {
                    for at in samples(&edge, 8) {
                        let off = own.distance_to(at);
                        prop_assert!(off >= half - 2e-3, "{} off at {:?}", off, at);
                        if path.exact {
                            prop_assert!(off >= half - 1e-4, "{} off at {:?}", off, at);
                            // Only past a corner is it farther off.
                            let corner = contour.vertices().iter().any(|v| {
                                v.point.distance(at) <= 4.0 * half + 1e-6
                            });
                            prop_assert!(off <= half + 1e-4 || corner, "{} off at {:?}", off, at);
                        }
                        prop_assert!(!region.contains(at));
                    }
                }
            }
        }
    }

    #[test]
    fn mirroring_and_turning_move_the_path_along(
        contour in blob::<PartSpace>(60.0),
        pose in pose::<PartSpace, PartSpace>(200.0),
    ) {
        let contour = contour.directed(true);
        let path = beam_path(&contour, 0.3);
        let moved = beam_path(&contour.placed(&pose).directed(true), 0.3);
        let area = |loops: &[Loop<PartSpace>]| loops.iter().map(Loop::area).sum::<f64>();
        prop_assert_eq!(path.loops.len(), moved.loops.len());
        prop_assert!((area(&path.loops) - area(&moved.loops)).abs() < 1e-3);
    }

    #[test]
    fn a_run_is_the_whole_path_from_there_to_there(
        contour in blob::<PartSpace>(60.0),
        share in 0.0..1.0f64,
        edge in 0usize..9,
    ) {
        let edges: Vec<_> = contour.edges().collect();
        let at = edges[edge % edges.len()].at(share);
        let run = run_from(&contour, at);
        let length: f64 = run.iter().map(Edge::length).sum();
        prop_assert!((length - contour.perimeter()).abs() < 1e-5);
        prop_assert!(run[0].from().distance(at) < 1e-5);
        prop_assert!(run[run.len() - 1].to().distance(at) < 1e-5);
        for pair in run.windows(2) {
            prop_assert!(pair[0].to().distance(pair[1].from()) < 1e-6);
        }
        let _: Pose<PartSpace, PartSpace> = Pose::identity();
    }
}
