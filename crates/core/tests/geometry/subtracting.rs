//! Metal less cuts, point by point.

use oddment_core::shape::{Loop, Point, Region, SheetSpace, grow_loop, subtract};
use proptest::prelude::*;

use crate::strategies::{P, pose, region};

fn rectangle(x: f64, y: f64, width: f64, height: f64) -> Region<SheetSpace> {
    let l = Loop::rectangle(Point::new(x, y), Point::new(x + width, y + height)).unwrap();
    Region::new(l, Vec::new())
}

/// What is left covers a point exactly where the metal does and the cut does not.
fn holds(metal: &Region<SheetSpace>, cut: &Region<SheetSpace>, left: &[Region<SheetSpace>]) {
    let (m, c) = (metal.edge_set(), cut.edge_set());
    let bounds = metal.bounds().union(cut.bounds()).grown(1.0);
    for i in 0..1600 {
        let share = |k: usize| (k as f64 + 0.411) / 40.0;
        let p = P::new(
            bounds.min.x + bounds.width() * share(i % 40),
            bounds.min.y + bounds.height() * share(i / 40),
        );
        if m.distance_to(p) < 1e-3 || c.distance_to(p) < 1e-3 {
            continue;
        }
        let wanted = m.covers(p) && !c.covers(p);
        let count = left.iter().filter(|r| r.contains(p)).count();
        assert_eq!(count, usize::from(wanted), "{p:?}");
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(200))]

    #[test]
    fn what_is_left_is_the_metal_without_the_cut(
        metal in region::<SheetSpace>(100.0),
        cut in region::<SheetSpace>(70.0),
        pose in pose::<SheetSpace, SheetSpace>(60.0),
    ) {
        let cut = cut.placed(&pose);
        if let Some(left) = subtract(&metal, &cut) {
            holds(&metal, &cut, &left);
        } else {
            // Crossings at nearly no angle may be given up, and nothing else.
            prop_assert!(metal.edge_set().boundary_gap(&cut.edge_set(), 1e-3).is_some());
        }
    }
}

#[track_caller]
fn check(metal: &Region<SheetSpace>, cut: &Region<SheetSpace>, areas: &[f64]) {
    let left = subtract(metal, cut).unwrap();
    let found: Vec<f64> = left.iter().map(Region::area).collect();
    assert_eq!(found.len(), areas.len(), "{found:?}");
    for (found, area) in found.iter().zip(areas) {
        assert!((found - area).abs() < 1e-6, "{found} for {area}");
    }
}

#[test]
fn a_slot_from_edge_to_edge_parts_the_metal() {
    let sheet = rectangle(0.0, 0.0, 100.0, 50.0);
    check(&sheet, &rectangle(59.0, -10.0, 1.0, 70.0), &[2950.0, 2000.0]);
    // Flush with the edge, on the line of the edge, and one that takes all.
    check(&sheet, &rectangle(59.0, 0.0, 1.0, 50.0), &[2950.0, 2000.0]);
    check(&sheet, &rectangle(0.0, 0.0, 1.0, 50.0), &[4950.0]);
    check(&sheet, &rectangle(-1.0, 0.0, 1.0, 50.0), &[5000.0]);
    check(&sheet, &rectangle(-1.0, -1.0, 200.0, 70.0), &[]);
    check(&sheet, &sheet, &[]);
    check(&sheet, &rectangle(200.0, 0.0, 5.0, 5.0), &[5000.0]);
}

#[test]
fn cuts_that_meet_at_a_corner_part_the_metal() {
    let sheet = rectangle(0.0, 0.0, 100.0, 100.0);
    let left = subtract(&sheet, &rectangle(0.0, 0.0, 50.0, 50.0)).unwrap();
    check(&left[0], &rectangle(50.0, 50.0, 50.0, 50.0), &[2500.0, 2500.0]);
}

#[test]
fn holes_stay_with_the_piece_they_lie_in() {
    let hole = |x| Loop::circle(Point::new(x, 25.0), 5.0).unwrap();
    let outer = rectangle(0.0, 0.0, 100.0, 50.0).outer().clone();
    let sheet = Region::new(outer, vec![hole(20.0), hole(80.0)]);
    let gone = 25.0 * std::f64::consts::PI;
    check(&sheet, &rectangle(45.0, -1.0, 10.0, 52.0), &[2250.0 - gone, 2250.0 - gone]);
    // Through one of the holes.
    check(&sheet, &rectangle(75.0, -1.0, 10.0, 52.0), &[75.0 * 50.0 - gone, 15.0 * 50.0]);
}

#[test]
fn a_grown_part_leaves_its_outline_as_a_cut_out_of_lines_and_arcs() {
    let sheet = rectangle(0.0, 0.0, 100.0, 50.0);
    let part = Loop::rectangle(P::new(20.0, 20.0), P::new(40.0, 30.0)).unwrap();
    let cut = grow_loop(&part, 0.5).unwrap();
    let left = subtract(&sheet, &cut).unwrap();
    assert_eq!(left[0].holes().len(), 1);
    assert_eq!(left[0].holes()[0].vertices().len(), 8);
    assert!((left[0].area() + cut.area() - 5000.0).abs() < 1e-9);
}
