//! What is measured on a loop does not depend on how it is written down or where it lies.

use oddment_core::shape::{
    Bounds, Loop, LoopFault, PartSpace, Point, Pose, SheetSpace, Vector, Vertex,
};
use proptest::prelude::*;

use crate::strategies::{P, blob, pose, region, samples};

fn restarted(l: &Loop<SheetSpace>, by: usize) -> Loop<SheetSpace> {
    let mut vertices = l.vertices().to_vec();
    vertices.rotate_left(by % l.vertices().len());
    Loop::new(vertices).unwrap()
}

/// Area and centroid by Green's theorem on very many chords.
fn summed(l: &Loop<SheetSpace>) -> (f64, P) {
    let points: Vec<P> = l.edges().flat_map(|e| samples(&e, 2000).into_iter().take(2000)).collect();
    let (mut area, mut moment) = (0.0, Vector::default());
    for (p, q) in points.iter().zip(points.iter().cycle().skip(1)) {
        let triangle = 0.5 * p.to_vector().cross(q.to_vector());
        area += triangle;
        moment += (p.to_vector() + q.to_vector()) * (triangle / 3.0);
    }
    (area, P::origin() + moment * (1.0 / area))
}

/// The winding number by adding up the angle along the loop.
fn wound(l: &Loop<SheetSpace>, at: P) -> i32 {
    let points: Vec<P> = l.edges().flat_map(|e| samples(&e, 500).into_iter().take(500)).collect();
    let turned: f64 = points
        .iter()
        .zip(points.iter().cycle().skip(1))
        .map(|(p, q)| (*p - at).cross(*q - at).atan2((*p - at).dot(*q - at)))
        .sum();
    (turned / std::f64::consts::TAU).round() as i32
}

proptest! {
    #[test]
    fn area_and_centroid_are_those_of_many_chords(l in blob::<SheetSpace>(100.0)) {
        let (area, centroid) = summed(&l);
        prop_assert!((l.signed_area() - area).abs() < 1e-2);
        prop_assert!(l.centroid().distance(centroid) < 1e-3);
    }

    #[test]
    fn turning_mirroring_and_shifting_change_nothing(
        l in blob::<PartSpace>(100.0),
        pose in pose::<PartSpace, SheetSpace>(1e6),
    ) {
        let placed = l.placed(&pose);
        prop_assert!((placed.area() - l.area()).abs() < 1e-5);
        prop_assert!((placed.perimeter() - l.perimeter()).abs() < 1e-6);
        prop_assert!(placed.centroid().distance(pose.apply(l.centroid())) < 1e-6);
        prop_assert_eq!(placed.signed_area() > 0.0, (l.signed_area() > 0.0) != pose.flipped);
        let bounds = placed.bounds().grown(1e-6);
        let mut points = l.edges().flat_map(|e| samples(&e, 20));
        prop_assert!(points.all(|p| bounds.contains(pose.apply(p))));
    }

    #[test]
    fn start_and_direction_do_not_matter(l in blob::<SheetSpace>(100.0), by in 0..8usize) {
        for other in [restarted(&l, by), l.reversed(), restarted(&l, by).reversed()] {
            prop_assert!((other.area() - l.area()).abs() < 1e-9);
            prop_assert!(other.centroid().distance(l.centroid()) < 1e-9);
            prop_assert!((other.perimeter() - l.perimeter()).abs() < 1e-9);
            prop_assert!(other.bounds().min.distance(l.bounds().min) < 1e-9);
            prop_assert!(other.bounds().max.distance(l.bounds().max) < 1e-9);
        }
        prop_assert!((l.reversed().signed_area() + l.signed_area()).abs() < 1e-9);
        prop_assert!(l.clone().directed(false).signed_area() < 0.0);
        prop_assert_eq!(l.reversed().reversed(), l);
    }

    #[test]
    fn winding_is_the_angle_run_through(
        l in blob::<SheetSpace>(100.0),
        pose in pose::<SheetSpace, SheetSpace>(1e3),
        x in -60.0..60.0,
        y in -60.0..60.0,
    ) {
        let placed = l.placed(&pose);
        let at = pose.apply(P::new(x, y));
        let near = placed
            .edges()
            .map(|e| e.nearest(at).distance(at))
            .fold(f64::INFINITY, f64::min);
        prop_assume!(near > 0.5);
        prop_assert_eq!(placed.winding(at), wound(&placed, at));
    }

    #[test]
    fn winding_does_not_stumble_level_with_corners(l in blob::<SheetSpace>(100.0), i in 0..8usize) {
        // Beside each vertex and each far end of an arc, exactly level with it.
        let points: Vec<P> = l.edges().flat_map(|e| {
            let b = e.bounds();
            [e.from(), b.min, b.max, b.centre()]
        }).collect();
        let level = points[i % points.len()];
        for x in [-70.0, -30.0, -1.0, 0.0, 1.0, 30.0, 70.0] {
            let at = P::new(x, level.y);
            let near = l.edges().map(|e| e.nearest(at).distance(at)).fold(f64::INFINITY, f64::min);
            if near > 0.5 {
                prop_assert_eq!(l.winding(at), wound(&l, at), "at {:?}", at);
            }
        }
    }

    #[test]
    fn the_metal_is_the_outline_less_the_holes(region in region::<SheetSpace>(100.0)) {
        let holes: f64 = region.holes().iter().map(Loop::area).sum();
        prop_assert!((region.area() - (region.outer().area() - holes)).abs() < 1e-9);
        let lever = region.outer().centroid().to_vector() * region.outer().area();
        let lever = region
            .holes()
            .iter()
            .fold(lever, |sum, h| sum - h.centroid().to_vector() * h.area());
        let centroid = P::origin() + lever * (1.0 / region.area());
        prop_assert!(region.centroid().distance(centroid) < 1e-8);
    }
}

#[test]
fn a_circle_of_two_halves() {
    for (radius, far) in [(0.01, 0.0), (1.0, 1e6), (1e4, -1e6)] {
        let circle = Loop::circle(P::new(far, 2.0 * far), radius).unwrap();
        let area = std::f64::consts::PI * radius * radius;
        assert!((circle.signed_area() - area).abs() < 1e-9 * area);
        assert!(circle.centroid().distance(P::new(far, 2.0 * far)) < 1e-9 * (radius + far.abs()));
        assert!((circle.bounds().width() - 2.0 * radius).abs() < 1e-9 * (radius + far.abs()));
        assert!(circle.encloses(P::new(far, 2.0 * far)));
    }
}

#[test]
fn what_is_no_loop_is_refused() {
    let v = |x: f64, y: f64, bulge: f64| Vertex { point: P::new(x, y), bulge };
    let fault = |vertices: &[Vertex<SheetSpace>]| Loop::new(vertices.iter().copied()).unwrap_err();
    assert_eq!(fault(&[]), LoopFault::TooFewEdges);
    assert_eq!(fault(&[v(1.0, 1.0, 1.0)]), LoopFault::TooFewEdges);
    assert_eq!(fault(&[v(0.0, 0.0, 0.0), v(1.0, 0.0, 0.0)]), LoopFault::TooFewEdges);
    assert_eq!(fault(&[v(0.0, 0.0, 0.0), v(f64::NAN, 0.0, 0.0)]), LoopFault::NotFinite(1));
    assert_eq!(fault(&[v(0.0, 0.0, f64::INFINITY)]), LoopFault::NotFinite(0));
    let line = [v(0.0, 0.0, 0.0), v(1.0, 0.0, 0.0), v(2.0, 0.0, 0.0)];
    assert_eq!(fault(&line), LoopFault::NoArea);
    assert_eq!(fault(&[v(0.0, 0.0, 0.5), v(1.0, 0.0, -0.5)]), LoopFault::NoArea);
    let far = [v(0.0, 0.0, 0.0), v(1e10, 0.0, 0.0), v(0.0, 1.0, 0.0)];
    assert_eq!(fault(&far), LoopFault::TooFar);
    // A bulge without measure makes a circle without measure.
    assert!(Loop::new([v(0.0, 0.0, 1e300), v(1.0, 0.0, 0.0)]).is_err());
    assert!(Loop::new([v(0.0, 0.0, 1e15), v(1.0, 0.0, 0.0)]).is_err());
    assert!(Loop::<SheetSpace>::circle(P::origin(), 0.0).is_err());
    assert!(Loop::<SheetSpace>::circle(P::origin(), f64::NAN).is_err());
}

#[test]
fn points_said_twice_count_once() {
    let v = |x: f64, y: f64| Vertex { point: P::new(x, y), bulge: 0.0 };
    let square = [v(0.0, 0.0), v(0.0, 0.0), v(5.0, 0.0), v(5.0, 5.0), v(0.0, 5.0), v(0.0, 0.0)];
    let square = Loop::new(square).unwrap();
    assert_eq!(square.vertices().len(), 4);
    assert_eq!(square.signed_area(), 25.0);
}

#[test]
fn an_empty_box_adds_nothing() {
    let one = Bounds::of([P::new(1.0, 2.0), P::new(3.0, 5.0)]);
    assert_eq!(one.union(Bounds::EMPTY), one);
    assert_eq!(Bounds::EMPTY.union(one), one);
    assert!(Bounds::<SheetSpace>::EMPTY.is_empty());
    let pose = Pose::<SheetSpace, SheetSpace>::shifted(Vector::new(1.0, 1.0));
    assert_eq!(pose.apply(Point::origin()), P::new(1.0, 1.0));
}
