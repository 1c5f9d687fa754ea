//! Measurements on one edge against many points of it.

use oddment_core::shape::Edge;
use proptest::prelude::*;

use crate::strategies::{P, edge, samples};

const PIECES: usize = 400;

fn any_size() -> impl Strategy<Value = f64> {
    prop_oneof![Just(0.01), Just(1.0), Just(100.0), Just(1e4)]
}

proptest! {
    #[test]
    fn nearest_is_on_the_edge_and_no_sample_is_nearer(
        (size, edge) in any_size().prop_flat_map(|s| (Just(s), edge(s))),
        x in -3.0..3.0,
        y in -3.0..3.0,
    ) {
        let p = P::new(x * size, y * size);
        let near = edge.nearest(p);
        let sampled =
            samples(&edge, PIECES).iter().map(|q| q.distance(p)).fold(f64::INFINITY, f64::min);
        let step = edge.length() / PIECES as f64;
        prop_assert!(near.distance(p) <= sampled + 1e-9 * size);
        prop_assert!(near.distance(p) >= sampled - 0.5 * step - 1e-9 * size);
        prop_assert!(edge.at(edge.share_at(near)).distance(near) <= 1e-9 * size);
        prop_assert!(edge.nearest(near).distance(near) <= 1e-9 * size);
    }

    #[test]
    fn shares_and_points_answer_each_other(
        (size, edge) in any_size().prop_flat_map(|s| (Just(s), edge(s))),
        share in 0.0..=1.0,
    ) {
        let at = edge.at(share);
        prop_assert!((edge.share_at(at) - share).abs() * edge.length() <= 1e-9 * size);
        prop_assert!(edge.at(0.0).distance(edge.from()) <= 1e-9 * size);
        prop_assert!(edge.at(1.0).distance(edge.to()) <= 1e-9 * size);
        prop_assert!(edge.at(share).distance(edge.reversed().at(1.0 - share)) <= 1e-9 * size);
    }

    #[test]
    fn a_part_of_an_edge_lies_on_it(
        (size, edge) in any_size().prop_flat_map(|s| (Just(s), edge(s))),
        start in 0.0..0.9f64,
        length in 0.01..0.1f64,
        share in 0.0..=1.0,
    ) {
        let part = edge.between(start, start + length);
        let expected = edge.at(start + length * share);
        prop_assert!(part.at(share).distance(expected) <= 1e-7 * size);
        prop_assert!((part.length() - length * edge.length()).abs() <= 1e-7 * size);
    }

    #[test]
    fn the_box_is_just_large_enough(
        (size, edge) in any_size().prop_flat_map(|s| (Just(s), edge(s))),
    ) {
        let bounds = edge.bounds();
        let points = samples(&edge, PIECES);
        prop_assert!(points.iter().all(|p| bounds.grown(1e-9 * size).contains(*p)));
        let step = edge.length() / PIECES as f64;
        let touches = |f: &dyn Fn(&P) -> f64| points.iter().any(|p| f(p) <= step);
        prop_assert!(touches(&|p| p.x - bounds.min.x) && touches(&|p| bounds.max.x - p.x));
        prop_assert!(touches(&|p| p.y - bounds.min.y) && touches(&|p| bounds.max.y - p.y));
    }

    #[test]
    fn the_direction_is_that_of_travel(
        (size, edge) in any_size().prop_flat_map(|s| (Just(s), edge(s))),
        share in 0.01..0.99,
    ) {
        let travel = edge.at(share + 1e-4) - edge.at(share - 1e-4);
        let along = travel.dot(edge.direction(share));
        prop_assert!((along - 2e-4 * edge.length()).abs() <= 1e-6 * edge.length() + 1e-9 * size);
    }

    #[test]
    fn the_bulge_is_kept(edge in edge(10.0)) {
        let again = Edge::new(edge.from(), edge.to(), edge.bulge());
        prop_assert!((again.bulge() - edge.bulge()).abs() <= 1e-9 * (1.0 + edge.bulge().abs()));
    }
}
