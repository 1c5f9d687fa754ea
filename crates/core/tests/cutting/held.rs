//! What may tip or fall through, the tabs that hold it, and what else would keep it.

use std::collections::BTreeMap;

use oddment_core::cutting::steady::{Offer, Unsteady, unsteady};
use oddment_core::cutting::support::Rest;
use oddment_core::cutting::tabs::{Gap, along_at, place_tabs, point_at, without};
use oddment_core::cutting::warnings::Concern;
use oddment_core::cutting::{ByHand, CutFacts, PassKind, plan_cut};
use oddment_core::distances::StartRule;
use oddment_core::part::Part;
use oddment_core::plan::{Job, Layout, Placement};
use oddment_core::shape::{Edge, Loop, PartSpace, Point, Pose, Region, SheetSpace, Vector};
use oddment_core::sheet::Metal;
use proptest::prelude::*;

use crate::cuts::{KERF, cut, facts, job, laid, plate, rectangle};
use crate::strategies::region;

#[test]
fn one_tab_alone_keeps_nothing_from_tipping() {
    let bar = Part::new("bar", Region::new(rectangle(0.0, 0.0, 70.0, 400.0), vec![]));
    let job = job(vec![bar], vec![]);
    let placements = vec![laid(0, 1, 500.0, 100.0, 0.0)];
    let with = |tabs: &[(f64, f64)]| {
        let at = tabs.iter().map(|(x, y)| Point::new(*x, *y)).collect();
        let by_hand = ByHand { tabs: BTreeMap::from([((0, 1, 0), at)]), ..ByHand::default() };
        let cut = cut(&job, placements.clone(), &facts(), &by_hand);
        let told = cut.warnings.iter().any(|w| w.concern == Concern::FallsThrough);
        (cut.passes[0].tabs.len(), cut.passes[0].held, told)
    };
    assert_eq!(with(&[(70.0, 200.0), (0.0, 200.0)]), (2, true, false));
    assert_eq!(with(&[(70.0, 200.0)]), (1, false, true));
    // Two at one end: the rest hangs from them.
    assert_eq!(with(&[(20.0, 0.0), (50.0, 0.0)]), (2, false, true));
    // Three round the middle.
    assert_eq!(with(&[(35.0, 0.0), (70.0, 300.0), (0.0, 300.0)]), (3, true, false));
}

#[test]
fn what_may_tip_is_offered_another_angle_tabs_and_a_shift_where_teeth_are_known() {
    // 70 mm wide along the slats it falls between them; across them it lies flat.
    let bar = Part::new("bar", Region::new(rectangle(0.0, 0.0, 70.0, 400.0), vec![]));
    let job = job(vec![bar], vec![]);
    let mut facts = facts();
    facts.tabs = false;
    let rule = StartRule::STARTING;
    let offers = |facts: &CutFacts, placements: Vec<Placement>| {
        let layout = Layout { stock: 0, placements };
        let cut = plan_cut(&job, &layout, &rule, facts, &ByHand::default());
        unsteady(&job, &layout, &rule, facts, &cut)
    };
    let alone = offers(&facts, vec![laid(0, 1, 500.0, 100.0, 0.0)]);
    let [Unsteady { placed, contour: 0, rest: Rest::FallsThrough, held: false, offers: found }] =
        &alone[..]
    else {
        panic!("{alone:?}")
    };
    assert_eq!(*placed, [0]);
    let [Offer::Tabs(tabs), Offer::Turn(by, moves)] = &found[..] else { panic!("{found:?}") };
    assert!(tabs[0].1.len() >= 2 && by.abs() > 0.2);
    // Turned about its middle it is clear, and stays flat then.
    let turned = Placement { pose: moves[0].1, ..laid(0, 1, 0.0, 0.0, 0.0) };
    let middle = turned.pose.apply(job.wanted[0].part.region.centroid());
    assert!(middle.distance(Point::new(535.0, 300.0)) < 1e-9);
    assert_eq!(offers(&facts, vec![turned]), []);
    // Five side by side with no room to turn.
    let row = |n: usize| laid(0, n + 1, 300.0 + 75.0 * n as f64, 100.0, 0.0);
    let crowd = offers(&facts, (0..5).map(row).collect());
    let turned = crowd[0].offers.iter().find_map(|o| match o {
        Offer::Turn(_, moves) => Some(moves.len()),
        _ => None,
    });
    assert_eq!(crowd[0].placed.len(), 5);
    assert!(turned.is_none_or(|n| n < 5), "{turned:?}");
    // With a slat right beside it, it is shifted onto that and the next: 75 mm apart under 100.
    let plate = Part::new("plate", Region::new(rectangle(0.0, 0.0, 100.0, 100.0), vec![]));
    let job = self::job(vec![plate], vec![]);
    facts.machine.slats.tooth = Some(Point::new(550.0, 100.0));
    let layout = Layout { stock: 0, placements: vec![laid(0, 1, 500.0, 100.0, 0.0)] };
    let cut = plan_cut(&job, &layout, &rule, &facts, &ByHand::default());
    assert_eq!(cut.rests[0].rest, Rest::MayTip);
    let found = unsteady(&job, &layout, &rule, &facts, &cut);
    let shift = found[0].offers.iter().find_map(|o| match o {
        Offer::Shift(by, moves) => Some((*by, moves[0].1)),
        _ => None,
    });
    let (by, pose) = shift.expect("a shift");
    assert!((27.0..38.0).contains(&by), "{by}");
    let layout =
        Layout { stock: 0, placements: vec![Placement { pose, ..laid(0, 1, 0.0, 0.0, 0.0) }] };
    let cut = plan_cut(&job, &layout, &rule, &facts, &ByHand::default());
    assert_eq!(cut.rests[0].rest, Rest::Flat);
}

#[test]
fn small_parts_are_held_by_tabs_large_ones_are_not() {
    let tag = Part::new("tag", Region::new(rectangle(0.0, 0.0, 40.0, 30.0), vec![]));
    let job = job(vec![plate(), tag], vec![]);
    let placements = vec![laid(0, 1, 100.0, 100.0, 0.0), laid(1, 1, 600.0, 100.0, 0.4)];
    let cut = cut(&job, placements.clone(), &facts(), &ByHand::default());
    let outline = |placed: usize| {
        cut.passes.iter().find(|p| p.placed == Some(placed) && p.kind == PassKind::Outline).unwrap()
    };
    assert_eq!(outline(0).tabs.len(), 0);
    assert!(outline(1).tabs.len() >= 2);
    for tab in &outline(1).tabs {
        assert!((tab.gap - 0.8).abs() < 1e-12, "a tab and a kerf");
    }
    assert!(cut.freed_by(cut.seconds) == [0], "what is held is not free");
    assert!(cut.warnings.is_empty(), "{:?}", cut.warnings);

    // Without tabs it falls, and that is told when it comes free.
    let mut none = facts();
    none.tabs = false;
    let cut = self::cut(&job, placements.clone(), &none, &ByHand::default());
    let fall = cut.warnings.iter().find(|w| w.concern == Concern::FallsThrough).unwrap();
    assert_eq!(fall.placed, Some(1));
    let pass =
        cut.passes.iter().position(|p| p.placed == Some(1) && p.kind == PassKind::Outline).unwrap();
    assert!((fall.seconds - cut.times(pass).1).abs() < 1e-9);

    // By hand: one tab in the middle of a side.
    let by_hand = ByHand {
        tabs: BTreeMap::from([((1, 1, 0), vec![Point::new(20.0, 0.0)])]),
        ..ByHand::default()
    };
    let cut = self::cut(&job, placements, &facts(), &by_hand);
    let pass =
        cut.passes.iter().find(|p| p.placed == Some(1) && p.kind == PassKind::Outline).unwrap();
    assert_eq!(pass.tabs.len(), 1);
    let at = point_at(&pass.run, pass.tabs[0].along);
    let wanted = Pose::<PartSpace, SheetSpace>::new(Vector::new(600.0, 100.0), 0.4, false)
        .apply(Point::new(20.0, 0.0));
    assert!(at.distance(wanted) < 0.5 * KERF + 1e-6);
}

#[test]
fn heavy_slugs_that_would_tip_are_held_too() {
    // A slug of 130 × 130 mm tips on slats 75 mm apart; of 20 mm steel it weighs 2.7 kg.
    let frame =
        Region::new(rectangle(0.0, 0.0, 300.0, 300.0), vec![rectangle(80.0, 80.0, 130.0, 130.0)]);
    let mut job = job(vec![Part::new("frame", frame)], vec![]);
    let hole_tabs = |job: &Job| {
        let cut = cut(job, vec![laid(0, 1, 50.0, 50.0, 0.0)], &facts(), &ByHand::default());
        cut.passes.iter().find(|p| p.kind == PassKind::Hole).unwrap().tabs.len()
    };
    assert_eq!(hole_tabs(&job), 0);
    job.stock[0].sheet.made_of =
        Some(Metal { material: "S235".into(), thickness: 20.0, density: 7850.0 });
    assert!(hole_tabs(&job) >= 2);
}

#[test]
fn slugs_that_may_tip_are_told_of_and_offered_what_would_keep_them() {
    // Two slugs: 130 × 130 mm tips on slats 75 mm apart, a disc of 20 mm is gone between them.
    let disc = Loop::circle(Point::new(250.0, 250.0), 10.0).unwrap();
    let outer = rectangle(0.0, 0.0, 300.0, 300.0);
    let frame = Region::new(outer, vec![rectangle(40.0, 40.0, 130.0, 130.0), disc]);
    let job = job(vec![Part::new("frame", frame)], vec![]);
    let rule = StartRule::STARTING;
    let mut facts = facts();
    let found = |facts: &CutFacts, by_hand: &ByHand| {
        let layout = Layout { stock: 0, placements: vec![laid(0, 1, 50.0, 50.0, 0.0)] };
        let cut = plan_cut(&job, &layout, &rule, facts, by_hand);
        let told = cut.warnings.iter().filter(|w| w.concern == Concern::SlugMayTip);
        let told: Vec<usize> = told.map(|w| w.contour).collect();
        (told, unsteady(&job, &layout, &rule, facts, &cut))
    };
    let (told, groups) = found(&facts, &ByHand::default());
    assert_eq!(told, [1]);
    let [Unsteady { contour: 1, rest: Rest::MayTip, held: false, offers, .. }] = &groups[..] else {
        panic!("{groups:?}")
    };
    // No angle keeps so small a square flat; tabs do.
    let [Offer::Tabs(tabs)] = &offers[..] else { panic!("{offers:?}") };
    let by_hand =
        ByHand { tabs: BTreeMap::from([((0, 1, 1), tabs[0].1.clone())]), ..ByHand::default() };
    let (told, groups) = found(&facts, &by_hand);
    assert!(told.is_empty() && groups.iter().all(|g| g.held), "{groups:?}");
    // Where a slat is known to stand under its middle, the plate is shifted until two hold the slug, and
    // the plate lies flat there too. A tooth stands under the disc as well then.
    facts.machine.slats.tooth = Some(Point::new(155.0, 100.0));
    let (told, groups) = found(&facts, &ByHand::default());
    assert_eq!(told.len(), 2);
    let square = groups.iter().find(|g| g.contour == 1).unwrap();
    let shift = square.offers.iter().find_map(|o| match o {
        Offer::Shift(by, _) => Some(*by),
        _ => None,
    });
    assert!(shift.is_some_and(|by| by > 0.0 && by < 38.0), "{groups:?}");
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(80))]

    #[test]
    fn tabs_are_spread_and_the_rest_is_cut(
        shape in region::<SheetSpace>(120.0),
        gap in 0.3..2.0f64,
    ) {
        let run: Vec<_> = shape.outer().edges().collect();
        let tabs = place_tabs(&run, gap, shape.centroid(), true, &[]);
        let total: f64 = run.iter().map(Edge::length).sum();
        let left: f64 = without(&run, tabs.iter().copied().map(Gap::from).collect()).iter().flatten().map(Edge::length).sum();
        prop_assert!((left + gap * tabs.len() as f64 - total).abs() < 1e-3);
        for tab in &tabs {
            let at = point_at(&run, tab.along);
            prop_assert!((along_at(&run, at) - tab.along).abs() < 1e-3);
            // Off the start and off every inside corner.
            prop_assert!(tab.along.min(total - tab.along) >= 3.0);
            let edges: Vec<_> = shape.outer().edges().collect();
            for (i, edge) in edges.iter().enumerate() {
                let next = edges[(i + 1) % edges.len()];
                let (a, b) = (edge.direction(1.0), next.direction(0.0));
                if a.cross(b).atan2(a.dot(b)) < -0.2 {
                    prop_assert!(at.distance(edge.to()) > 0.5 * gap);
                }
            }
        }
    }
}
