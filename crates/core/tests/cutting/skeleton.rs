//! The last cuts: the crop line and the skeleton cut up.

use oddment_core::cutting::skeleton::{Across, LastCuts, Skeleton};
use oddment_core::cutting::warnings::Concern;
use oddment_core::cutting::{ByHand, Cut, CutFacts, OrderRules, PassKind};
use oddment_core::distances::StartRule;
use oddment_core::part::Part;
use oddment_core::plan::{Job, Layout};
use oddment_core::shape::{Edge, EdgeSet, Loop, PartSpace, Point, Region, SheetSpace};
use proptest::prelude::*;

use crate::cuts::{CLEARANCES, KERF, cut, facts, job, laid, rectangle, two_plates};
use crate::strategies::{edge_set, region, samples};

/// Where cuts of a kind run, end to end.
fn strokes(cut: &Cut, kind: PassKind) -> Vec<Edge<SheetSpace>> {
    cut.passes.iter().filter(|p| p.kind == kind).flat_map(|p| p.run.clone()).collect()
}

#[test]
fn the_strip_beside_the_parts_is_cropped_off_after_them() {
    // 1200 × 700 with parts up to x = 640 and y = 260: right of them are 560 × 700, above them
    // 1200 × 440, which is more. A hole of 100 mm lies on the line.
    let past = KERF + 3.0 + KERF / 2.0;
    let hole = Loop::circle(Point::new(900.0, 260.0 + past), 50.0).unwrap();
    let (job, placements) = two_plates(vec![hole]);
    let mut facts = facts();
    facts.order.crop_least = 400.0;
    let cut = cut(&job, placements.clone(), &facts, &ByHand::default());
    let crop = strokes(&cut, PassKind::Crop);
    // Two pieces of metal, each from its middle to both ends.
    let ends: Vec<(f64, f64)> = crop.iter().map(|e| (e.from().x, e.to().x)).collect();
    let expected = [(425.0, 0.0), (425.0, 850.0), (1075.0, 950.0), (1075.0, 1200.0)];
    for ((from, to), (a, b)) in ends.iter().zip(expected) {
        assert!((from - a).abs() < 1e-3 && (to - b).abs() < 1e-3, "{ends:?}");
    }
    assert_eq!(ends.len(), 4);
    assert!(crop.iter().all(|e| (e.from().y - 260.0 - past).abs() < 1e-5));
    let first = cut.passes.iter().position(|p| p.kind == PassKind::Crop).unwrap();
    assert!(cut.passes[..first].iter().all(|p| p.placed.is_some()), "parts come first");
    assert_eq!(cut.pierces, 4 + 4);
    // A head that does not sense begins at the edge, once.
    let plain = CutFacts { senses: false, ..facts.clone() };
    assert_eq!(
        strokes(&self::cut(&job, placements.clone(), &plain, &ByHand::default()), PassKind::Crop)
            .len(),
        2
    );
    // A clamp on that line: the line beside them is taken; one on both: none.
    let mut clamped = job.clone();
    let clamp = |x, y| oddment_core::sheet::NoGo {
        name: "clamp".into(),
        shape: rectangle(x, y, 40.0, 40.0),
        clearance: 10.0,
        stands_up: true,
    };
    clamped.stock[0].sheet.no_go.push(clamp(0.0, 240.0));
    let crop_of = |job: &Job| {
        strokes(&self::cut(job, placements.clone(), &facts, &ByHand::default()), PassKind::Crop)
    };
    assert!(crop_of(&clamped).iter().all(|e| (e.from().x - 640.0 - past).abs() < 1e-5));
    clamped.stock[0].sheet.no_go.push(clamp(630.0, 660.0));
    assert_eq!(crop_of(&clamped), []);
    // Nothing is cropped off that is narrower than asked.
    facts.order.crop_least = 600.0;
    assert_eq!(
        strokes(&self::cut(&job, placements, &facts, &ByHand::default()), PassKind::Crop),
        []
    );
}

#[test]
fn the_skeleton_is_cut_up_last_and_only_through_metal() {
    let (job, placements) = two_plates(vec![]);
    let mut facts = facts();
    facts.order = OrderRules { crop_least: 400.0, cut_up: 350.0, ..OrderRules::default() };
    facts.senses = false;
    let cut = cut(&job, placements.clone(), &facts, &ByHand::default());
    // Below the crop line 1200 × 263.45 are left: three upright cuts, at 300, 600 and 900.
    let up = strokes(&cut, PassKind::CutUp);
    let places: Vec<(f64, f64, f64)> =
        up.iter().map(|e| (e.from().x.round(), e.from().y, e.to().y)).collect();
    let (k, top) = (KERF, 260.0 + 1.5 * KERF + 3.0);
    let expected = [
        (300.0, 0.0, 20.0 - k),
        // Begun beside the crop line, not beside the plate.
        (300.0, top, 220.0 + k),
        (600.0, 0.0, 60.0 - k),
        (600.0, top, 260.0 + k),
        (900.0, 0.0, top),
    ];
    assert_eq!(places.len(), expected.len(), "{places:?}");
    for (found, wanted) in places.iter().zip(expected) {
        let off =
            (found.0 - wanted.0).abs() + (found.1 - wanted.1).abs() + (found.2 - wanted.2).abs();
        assert!(off < 1e-3, "{found:?}, not {wanted:?}");
    }
    let kinds: Vec<PassKind> = cut.passes.iter().map(|p| p.kind).collect();
    let first = |kind| kinds.iter().position(|k| *k == kind).unwrap();
    assert!(first(PassKind::Crop) < first(PassKind::CutUp));
    assert!(kinds[first(PassKind::CutUp)..].iter().all(|k| *k == PassKind::CutUp), "last of all");
    // What is told of the ends at edges is told once of all these cuts.
    let locks = cut.warnings.iter().filter(|w| w.placed.is_none());
    assert!(locks.filter(|w| w.concern == Concern::LockHeight).count() <= 5);
    let layout = Layout { stock: 0, placements };
    let last = LastCuts::new(&job, &layout, &facts, StartRule::STARTING.pierce);
    let slots: f64 = last.slots(KERF).iter().map(Region::area).sum();
    let length = 1200.0 + up.iter().map(Edge::length).sum::<f64>();
    assert!((slots - KERF * (length + 6.0 * KERF)).abs() < 1e-3, "{slots}");
}

#[test]
fn no_web_between_parts_is_cut_up_where_a_pierce_would_mark_them() {
    // Two plates with 10 mm between them, cut across at x = 600: from the middle of the web, or not at
    // all where a pierce wants more than 5 mm on either side.
    let bar = Part::new("bar", Region::new(rectangle(0.0, 0.0, 1000.0, 100.0), vec![]));
    let job = job(vec![bar], vec![]);
    let placements = vec![laid(0, 1, 100.0, 100.0, 0.0), laid(0, 2, 100.0, 210.0, 0.0)];
    let layout = Layout { stock: 0, placements };
    let order = OrderRules { cut_up: 600.0, ..OrderRules::default() };
    for senses in [false, true] {
        let facts = CutFacts { order, senses, ..facts() };
        let web = |pierce| {
            let last = LastCuts::new(&job, &layout, &facts, pierce);
            let between = |y: f64| (200.0..210.0).contains(&y);
            let found = last.cut_up.iter().find(|c| between(c.whole.at(0.5).y));
            found.map(|c| c.whole.at(c.pierced).y)
        };
        assert!(web(5.0).is_some_and(|y| (y - 205.0).abs() < 1e-6), "{:?}", web(5.0));
        assert_eq!(web(5.1), None);
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(80))]

    /// Cuts through the skeleton keep off every part by a slot, and run in metal.
    #[test]
    fn cuts_through_the_skeleton_run_in_metal_and_off_the_parts(
        shapes in proptest::collection::vec(region::<PartSpace>(70.0), 2),
        turns in proptest::collection::vec(0.0..6.3f64, 4),
        longest in 120.0..400.0f64,
    ) {
        let parts = shapes.into_iter().enumerate().map(|(i, r)| Part::new(format!("P{i}"), r));
        let old = Loop::circle(Point::new(420.0, 350.0), 60.0).unwrap();
        let job = job(parts.collect(), vec![old.clone()]);
        let regions: Vec<Region<SheetSpace>> = turns.iter().enumerate().map(|(i, turn)| {
            job.wanted[i % 2].part.region.placed(&laid(0, 0, 100.0 + 180.0 * i as f64, 120.0, *turn).pose)
        }).collect();
        let skeleton = Skeleton::new(&job.stock[0].sheet, &regions, &CLEARANCES);
        let crop = skeleton.crop(50.0, 1.5);
        prop_assert!(matches!(crop, Some(Across::Y(_))));
        let mut all = skeleton.cut_up(crop, longest);
        all.extend(skeleton.strokes(crop.unwrap(), &job.stock[0].sheet.bounds()));
        prop_assert!(!all.is_empty());
        let kept: Vec<EdgeSet<SheetSpace>> = regions.iter().map(|r| edge_set(r.outer())).collect();
        let placements = turns.iter().enumerate().map(|(i, turn)| {
            laid(i % 2, i, 100.0 + 180.0 * i as f64, 120.0, *turn)
        });
        let layout = Layout { stock: 0, placements: placements.collect() };
        let order = OrderRules { crop_least: 50.0, cut_up: longest, ..OrderRules::default() };
        for senses in [false, true] {
            let last = LastCuts::new(&job, &layout, &CutFacts { order, senses, ..facts() }, 4.0);
            for cut in last.crop.iter().chain(&last.cut_up) {
                let pierce = cut.whole.at(cut.pierced);
                prop_assert!(kept.iter().all(|k| k.distance_to(pierce) >= 4.0 - 2e-3));
            }
        }
        let hole = edge_set(&old);
        for at in all.iter().flat_map(|e| samples(&e.between(0.001, 0.999), 40)) {
            prop_assert!(!hole.covers(at));
            prop_assert!((0.0..=1200.0).contains(&at.x) && (0.0..=700.0).contains(&at.y));
            for part in &kept {
                prop_assert!(!part.covers(at) && part.distance_to(at) >= KERF - 1e-6);
            }
        }
    }
}
