//! The distance of two edges, and of two boundaries, against dense sampling.

use oddment_core::shape::{SheetSpace, edge_gap};
use proptest::prelude::*;

use crate::strategies::{edge, pose, region, sampled_gap};

fn any_size() -> impl Strategy<Value = f64> {
    prop_oneof![Just(0.01), Just(10.0), Just(1e4)]
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(400))]

    #[test]
    fn two_edges_are_as_near_as_their_nearest_samples(
        (size, a, b) in any_size().prop_flat_map(|s| (Just(s), edge(s), edge(s))),
    ) {
        let gap = edge_gap(&a, &b);
        let (sampled, error) = sampled_gap(&a, &b, 200);
        let noise = 1e-9 * size;
        prop_assert!(gap.distance <= sampled + noise, "{gap:?}, sampled {sampled}");
        prop_assert!(gap.distance >= sampled - error - noise, "{gap:?}, sampled {sampled}");
        prop_assert!((gap.from.distance(gap.to) - gap.distance).abs() <= noise);
        prop_assert!(a.nearest(gap.from).distance(gap.from) <= noise);
        prop_assert!(b.nearest(gap.to).distance(gap.to) <= 10.0 * noise, "{gap:?}");
    }

    #[test]
    fn it_does_not_matter_which_edge_comes_first(a in edge(10.0), b in edge(10.0)) {
        let (ab, ba) = (edge_gap(&a, &b).distance, edge_gap(&b, &a).distance);
        prop_assert!((ab - ba).abs() <= 1e-8, "{ab} and {ba}");
        let turned = edge_gap(&a.reversed(), &b).distance;
        prop_assert!((ab - turned).abs() <= 1e-8, "{ab} and {turned}");
    }
}

proptest! {
    #[test]
    fn boundaries_are_as_near_as_their_nearest_edges(
        a in region::<SheetSpace>(100.0),
        b in region::<SheetSpace>(100.0),
        pose in pose(120.0),
        limit in prop_oneof![Just(f64::INFINITY), 0.0..100.0],
    ) {
        let (a, b) = (a.edge_set(), b.edge_set().placed::<SheetSpace>(&pose));
        let brute = a
            .edges()
            .iter()
            .flat_map(|e| b.edges().iter().map(|f| edge_gap(e, f).distance))
            .fold(f64::INFINITY, f64::min);
        let gap = a.boundary_gap(&b, limit);
        for gap in [gap, b.boundary_gap(&a, limit)] {
            match gap {
                Some(gap) => prop_assert!((gap.distance - brute).abs() < 1e-9, "{gap:?} {brute}"),
                None => prop_assert!(brute > limit - 1e-9, "{brute}"),
            }
        }
        let spot = pose.apply(oddment_core::shape::Point::origin());
        let brute = a
            .edges()
            .iter()
            .map(|e| e.nearest(spot).distance(spot))
            .fold(f64::INFINITY, f64::min);
        prop_assert_eq!(a.distance_to(spot), brute);
    }
}
