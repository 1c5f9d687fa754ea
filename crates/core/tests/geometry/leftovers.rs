//! The largest circle and rectangle, against known ones and many tries.

use oddment_core::leftover::{largest_circle, largest_rectangle};
use oddment_core::shape::{Bounds, Loop, PartSpace, Region, SheetSpace};
use proptest::prelude::*;

use crate::strategies::{P, edge_set, pose, region};

fn depth(region: &Region<SheetSpace>, p: P) -> f64 {
    let away = region.edge_set().distance_to(p);
    if region.contains(p) { away } else { -away }
}

/// How far a rectangle reaches out of the metal, 0 or less inside.
fn sticks_out(region: &Region<SheetSpace>, b: &Bounds<SheetSpace>) -> f64 {
    let rectangle = edge_set(&Loop::rectangle(b.min, b.max).unwrap());
    let outside = region.edge_set().complement();
    -rectangle.spare(&outside, 1.0).map_or(1.0, |g| g.distance)
}

fn grid(bounds: Bounds<SheetSpace>, n: usize) -> Vec<P> {
    let at = |low: f64, size: f64, k: usize| low + size * (k as f64 + 0.5) / n as f64;
    (0..n * n)
        .map(|i| {
            P::new(
                at(bounds.min.x, bounds.width(), i % n),
                at(bounds.min.y, bounds.height(), i / n),
            )
        })
        .collect()
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(40))]

    #[test]
    fn no_point_lies_deeper_than_the_circles_middle(
        region in region::<PartSpace>(100.0),
        pose in pose::<PartSpace, SheetSpace>(1e3),
    ) {
        let region = region.placed(&pose);
        let found = largest_circle(&region, 0.01).unwrap();
        prop_assert!((depth(&region, found.centre) - found.radius).abs() < 1e-9);
        // In a ring all circles are nearly alike, and the search ends before it has told them apart.
        prop_assert!((0.0..=0.1).contains(&(found.at_most - found.radius)), "{found:?}");
        let deepest = grid(region.bounds(), 40)
            .into_iter()
            .map(|p| depth(&region, p))
            .fold(f64::NEG_INFINITY, f64::max);
        prop_assert!(deepest <= found.at_most);
    }

    #[test]
    fn no_upright_rectangle_of_many_is_larger(
        region in region::<PartSpace>(100.0),
        pose in pose::<PartSpace, SheetSpace>(1e3),
        tries in proptest::collection::vec((0..400usize, 0..400usize), 300),
    ) {
        let region = region.placed(&pose);
        let found = largest_rectangle(&region).unwrap();
        prop_assert!(sticks_out(&region, &found) < 1e-6, "{found:?}");
        let area = found.width() * found.height();
        let spots = grid(region.bounds(), 20);
        for (i, j) in tries {
            let tried = Bounds::of([spots[i], spots[j]]);
            if tried.width() > 0.0 && tried.height() > 0.0 && sticks_out(&region, &tried) < 0.0 {
                prop_assert!(tried.width() * tried.height() <= 1.01 * area, "{tried:?} {found:?}");
            }
        }
    }
}

fn polygon(corners: &[(f64, f64)]) -> Loop<SheetSpace> {
    Loop::polygon(corners.iter().map(|(x, y)| P::new(*x, *y))).unwrap()
}

#[track_caller]
fn check(region: &Region<SheetSpace>, radius: f64, area: f64) {
    let circle = largest_circle(region, 1e-4).unwrap();
    assert!((circle.radius - radius).abs() < 1e-3, "{circle:?}");
    let rectangle = largest_rectangle(region).unwrap();
    let found = rectangle.width() * rectangle.height();
    assert!((found - area).abs() < 2e-3 * area, "{rectangle:?} of {found}");
    assert!(found <= area * (1.0 + 1e-9));
}

#[test]
fn known_largest_ones() {
    let square = polygon(&[(0.0, 0.0), (10.0, 0.0), (10.0, 10.0), (0.0, 10.0)]);
    check(&Region::new(square, vec![]), 5.0, 100.0);
    // Inradius (a + b − c) / 2, and half of each leg.
    let triangle = polygon(&[(0.0, 0.0), (80.0, 0.0), (0.0, 60.0)]);
    check(&Region::new(triangle, vec![]), 20.0, 40.0 * 30.0);
    let disc = |r| Loop::circle(P::origin(), r).unwrap();
    check(&Region::new(disc(50.0), vec![]), 50.0, 2.0 * 50.0 * 50.0);
    check(&Region::new(disc(50.0), vec![disc(30.0)]), 10.0, {
        // Beside the hole: from x = 30 to the rim, w = 2·√(50² − x²), best at a root of the slope.
        let best = |x: f64| (x - 30.0) * 2.0 * (2500.0 - x * x).sqrt();
        (300..500).map(|i| best(f64::from(i) * 0.1)).fold(0.0, f64::max)
    });
    let angle = polygon(&[
        (0.0, 0.0),
        (100.0, 0.0),
        (100.0, 30.0),
        (40.0, 30.0),
        (40.0, 90.0),
        (0.0, 90.0),
    ]);
    let corner = |x: f64, y: f64| (x * x + y * y).sqrt();
    // Touching both outer sides and the inner corner: r = (40 − r, 30 − r) away.
    let r = (0..).map(|i| f64::from(i) * 1e-4).find(|r| corner(40.0 - r, 30.0 - r) <= *r).unwrap();
    check(&Region::new(angle, vec![]), r.max(20.0), 3600.0);
}

#[test]
fn a_sheet_with_a_row_of_holes() {
    let sheet = Loop::rectangle(P::origin(), P::new(1000.0, 500.0)).unwrap();
    let holes = (0..10)
        .map(|i| Loop::circle(P::new(50.0 + 100.0 * f64::from(i), 100.0), 40.0).unwrap())
        .collect();
    // Between two holes, (50² + (y − 100)²)½ − 40 below the middle at y, and 500 − y above it.
    check(&Region::new(sheet, holes), 500.0 - 279_100.0 / 880.0, 1000.0 * 360.0);
}

#[test]
fn a_slender_slanted_bar_has_a_largest_rectangle() {
    // A bar of 300 by 0.2 at 45 degrees: half of its width in each direction, for the rectangle
    // between its long sides, is the largest that the corners on both sides allow.
    let (long, wide) = (300.0_f64, 0.2_f64);
    let at = |u: f64, v: f64| ((u - v) * 0.5_f64.sqrt(), (u + v) * 0.5_f64.sqrt());
    let bar = polygon(&[at(0.0, 0.0), at(long, 0.0), at(long, wide), at(0.0, wide)]);
    check(&Region::new(bar, vec![]), 0.5 * wide, 0.5 * wide * wide);
}
