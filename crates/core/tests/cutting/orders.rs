//! Contours are cut in an order that keeps its rules, whatever the plan.

use oddment_core::cutting::order::{Nest, Piece, cutting_order};
use oddment_core::shape::{Bounds, Loop, Point, Region, SheetSpace};
use proptest::prelude::*;

type P = Point<SheetSpace>;

const SHEET: Bounds<SheetSpace> = Bounds { min: P::new(0.0, 0.0), max: P::new(2000.0, 1000.0) };

/// A square frame with square holes in it, `inner` of which hold a frame again.
fn frame(at: P, size: f64, depth: usize, into: &mut Vec<Region<SheetSpace>>) {
    let square =
        |min: P, size: f64| Loop::rectangle(min, P::new(min.x + size, min.y + size)).unwrap();
    let hole = |n: usize| P::new(at.x + size * (0.05 + 0.48 * n as f64), at.y + 0.3 * size);
    let holes = (0..2).map(|n| square(hole(n), 0.42 * size)).collect();
    into.push(Region::new(square(at, size), holes));
    if depth > 0 {
        let min = hole(depth % 2);
        frame(P::new(min.x + 0.02 * size, min.y + 0.02 * size), 0.36 * size, depth - 1, into);
    }
}

fn check(regions: &[Region<SheetSpace>], tips: &[bool], held: Option<P>, apart: f64) {
    let pieces: Vec<Piece<'_>> = regions
        .iter()
        .zip(tips.iter().cycle())
        .map(|(region, may_tip)| Piece { region, may_tip: *may_tip, shares: &[] })
        .collect();
    let order = cutting_order(&pieces, &SHEET, held, apart);
    // Every contour once.
    let mut all: Vec<(usize, usize)> = regions
        .iter()
        .enumerate()
        .flat_map(|(i, r)| (0..=r.holes().len()).map(move |c| (i, c)))
        .collect();
    let mut sorted = order.clone();
    sorted.sort_unstable();
    all.sort_unstable();
    assert_eq!(sorted, all);
    let when = |c: (usize, usize)| order.iter().position(|o| *o == c).unwrap();
    let nest = Nest::new(&pieces);
    for (i, region) in regions.iter().enumerate() {
        for hole in 1..=region.holes().len() {
            assert!(when((i, hole)) < when((i, 0)), "holes before the outline");
        }
        if let Some((holder, hole)) = nest.holder[i] {
            assert!(regions[holder].holes()[hole - 1].encloses(region.bounds().centre()));
            assert!(when((i, 0)) < when((holder, hole)), "what lies in a hole before the hole");
        }
    }
    // Zone by zone from the free end, those that may tip last in their zone.
    let from_free_end = |i: usize| {
        let x = regions[i].bounds().centre().x;
        let far = held.is_none_or(|h| h.x <= 1000.0);
        ((if far { 2000.0 - x } else { x }) / 300.0) as i64
    };
    let outer: Vec<(i64, bool)> = order
        .iter()
        .filter(|(i, c)| *c == 0 && nest.holder[*i].is_none())
        .map(|(i, _)| (from_free_end(*i), pieces[*i].may_tip))
        .collect();
    assert!(outer.is_sorted(), "{outer:?}");
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(1000))]

    #[test]
    fn rules_hold_on_random_plans(
        frames in proptest::collection::vec((0.0..1.0f64, 0.0..1.0f64, 0..3usize), 1..14),
        tips in proptest::collection::vec(any::<bool>(), 1..6),
        held in proptest::option::of((0.0..2000.0f64, 0.0..1000.0f64)),
        apart in prop_oneof![Just(0.0), 10.0..500.0f64],
    ) {
        let mut regions = Vec::new();
        for (n, (x, y, depth)) in frames.iter().enumerate() {
            let (column, row) = ((n % 5) as f64, (n / 5) as f64);
            let at = P::new(column * 400.0 + x * 100.0, row * 330.0 + y * 20.0);
            frame(at, 290.0, *depth, &mut regions);
        }
        check(&regions, &tips, held.map(|(x, y)| P::new(x, y)), apart);
    }
}

#[test]
fn two_sheets_alike_are_cut_alike() {
    let mut regions = Vec::new();
    frame(P::new(100.0, 100.0), 290.0, 2, &mut regions);
    frame(P::new(900.0, 300.0), 290.0, 1, &mut regions);
    check(&regions, &[false], None, 0.0);
    let pieces: Vec<Piece<'_>> =
        regions.iter().map(|region| Piece { region, may_tip: false, shares: &[] }).collect();
    assert_eq!(
        cutting_order(&pieces, &SHEET, None, 0.0),
        cutting_order(&pieces, &SHEET, None, 0.0)
    );
}

#[test]
fn heat_spreads_where_there_is_somewhere_else_to_cut() {
    // A column of ten plates, 60 mm high and 10 mm apart, within one zone.
    let regions: Vec<Region<SheetSpace>> = (0..10)
        .map(|n| {
            let min = P::new(1800.0, 20.0 + 70.0 * f64::from(n));
            let outer = Loop::rectangle(min, P::new(min.x + 60.0, min.y + 60.0)).unwrap();
            Region::new(outer, Vec::new())
        })
        .collect();
    let pieces: Vec<Piece<'_>> =
        regions.iter().map(|region| Piece { region, may_tip: false, shares: &[] }).collect();
    let steps = |apart: f64| -> Vec<f64> {
        let order = cutting_order(&pieces, &SHEET, None, apart);
        let boxes: Vec<_> = order.iter().map(|(i, _)| regions[*i].bounds()).collect();
        boxes.windows(2).map(|pair| pair[0].distance(&pair[1])).collect()
    };
    assert!(steps(0.0).iter().all(|d| (d - 10.0).abs() < 1e-9), "next to each other");
    // With 100 mm between them at least one other is left out, until too few are left.
    let spread = steps(100.0);
    assert!(spread[..6].iter().all(|d| *d > 70.0), "{spread:?}");
}
