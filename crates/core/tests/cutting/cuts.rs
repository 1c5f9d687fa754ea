//! Whole cuts: tabs, times, warnings, on plans with holes, slots and old cut-outs.

use std::collections::BTreeMap;

use oddment_core::check::check as check_plan;
use oddment_core::cutting::legs::{Doing, Leg};
use oddment_core::cutting::skeleton::{Across, LastCuts, Skeleton};
use oddment_core::cutting::steady::{Offer, Unsteady, unsteady};
use oddment_core::cutting::support::Rest;
use oddment_core::cutting::tabs::{Gap, along_at, place_tabs, point_at, without};
use oddment_core::cutting::warnings::Concern;
use oddment_core::cutting::{ByHand, Cut, CutFacts, Feed, OrderRules, PassKind, plan_cut};
use oddment_core::distances::{Clearances, EdgeDistance, StartRule};
use oddment_core::machine::{Bed, Machine, Motion};
use oddment_core::part::{Mark, MarkKind, Part};
use oddment_core::plan::{Count, Job, Layout, Placement, Plan, Stock, Wanted};
use oddment_core::shape::{
    Edge, EdgeSet, Loop, PartSpace, Point, Pose, Region, SheetSpace, Space, Vector,
};
use oddment_core::sheet::{EdgeFacts, Metal, Sheet};
use proptest::prelude::*;

use crate::strategies::{edge_set, region, samples};

pub(crate) const KERF: f64 = 0.3;
const CLEARANCES: Clearances = Clearances {
    kerf: KERF,
    web: 3.0,
    edge: EdgeDistance::all(5.0),
    sensing: 3.0,
    lay: 0.0,
    common: false,
};

pub(crate) fn rectangle<S: Space>(x: f64, y: f64, w: f64, h: f64) -> Loop<S> {
    Loop::rectangle(Point::new(x, y), Point::new(x + w, y + h)).unwrap()
}

pub(crate) fn facts() -> CutFacts {
    CutFacts {
        machine: Machine {
            name: "test".into(),
            bed: Bed { width: 3000.0, height: 1500.0 },
            motion: Motion {
                acceleration: 1000.0,
                rapid: 500.0,
                corner_jump: 20.0,
                lift_seconds: 1.0,
                touch_off_seconds: 0.5,
            },
            ..Machine::starting()
        },
        feed: Feed {
            gas: "oxygen".into(),
            speed: 60.0,
            small_speed: 30.0,
            small_below: 9.0,
            mark_speed: 100.0,
            pierce_seconds: 0.5,
            per_hour: 72.0,
            per_pierce: 0.1,
        },
        lies: Pose::identity(),
        lead_out: 0.0,
        order: OrderRules::default(),
        tab: 0.5,
        tabs: true,
        heavy: 2.0,
        least_hole: 3.0,
        least_web: 3.0,
        senses: true,
        learnt: None,
    }
}

pub(crate) fn job(parts: Vec<Part>, holes: Vec<Loop<SheetSpace>>) -> Job {
    let metal = Region::new(rectangle(0.0, 0.0, 1200.0, 700.0), holes);
    let mut sheet = Sheet::new("S", &[metal], EdgeFacts::default());
    sheet.made_of = Some(Metal { material: "S235".into(), thickness: 3.0, density: 7850.0 });
    let wanted = parts.into_iter().map(|part| Wanted { part, count: Count::Max });
    Job {
        stock: vec![Stock { sheet, count: 1 }],
        wanted: wanted.collect(),
        clearances: CLEARANCES,
        starts: Some(StartRule::STARTING),
    }
}

pub(crate) fn laid(part: usize, copy: usize, x: f64, y: f64, turn: f64) -> Placement {
    Placement { part, copy, pose: Pose::new(Vector::new(x, y), turn, false), locked: false }
}

pub(crate) fn cut(
    job: &Job,
    placements: Vec<Placement>,
    facts: &CutFacts,
    by_hand: &ByHand,
) -> Cut {
    let layout = Layout { stock: 0, placements };
    let cut = plan_cut(job, &layout, &StartRule::STARTING, facts, by_hand);
    adds_up(&cut);
    cut
}

/// Legs follow each other in place and time, and lengths and pierces are theirs.
fn adds_up(cut: &Cut) {
    for pair in cut.legs.windows(2) {
        assert!((pair[0].begins + pair[0].seconds - pair[1].begins).abs() < 1e-9);
        assert!(pair[0].edge.to().distance(pair[1].edge.from()) < 1e-5);
    }
    let of = |doing: Doing| cut.legs.iter().filter(move |l| l.doing == doing);
    assert_eq!(of(Doing::Piercing).count(), cut.pierces);
    let engraved = |pass: usize| cut.passes[pass].kind == PassKind::Mark;
    let length: f64 =
        of(Doing::Cutting).filter(|l| !engraved(l.pass)).map(|l| l.edge.length()).sum();
    assert!((length - cut.length).abs() < 1e-6);
    let last = cut.legs.last().map_or(0.0, |l| l.begins + l.seconds);
    assert!((last - cut.seconds).abs() < 1e-9);
    assert!(
        cut.warnings.iter().all(|w| (0.0..=cut.seconds).contains(&w.seconds)),
        "{:?}",
        cut.warnings
    );
    // At any moment the head is on the leg of that moment.
    for n in 0..50 {
        let moment = cut.at(cut.seconds * f64::from(n) / 49.0).unwrap();
        assert!(cut.legs[moment.leg].edge.nearest(moment.head).distance(moment.head) < 1e-6);
    }
}

fn plate() -> Part {
    let hole = Loop::circle(Point::new(60.0, 50.0), 20.0).unwrap();
    Part::new("plate", Region::new(rectangle(0.0, 0.0, 300.0, 200.0), vec![hole]))
}

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
fn a_plate_takes_as_long_as_worked_out_by_hand() {
    let mut facts = facts();
    facts.tabs = false;
    let cut = cut(
        &job(vec![plate()], vec![]),
        vec![laid(0, 1, 100.0, 100.0, 0.0)],
        &facts,
        &ByHand::default(),
    );
    assert_eq!(
        cut.passes.iter().map(|p| p.kind).collect::<Vec<_>>(),
        [PassKind::Hole, PassKind::Outline]
    );
    let [hole, outline] = &cut.passes[..] else { panic!("{cut:?}") };
    // The hole: lead-in of 3 mm, then a circle of radius 19.85, 60 mm/s all along, but for the turn
    // from the lead-in, straight at the rim, where 20 mm/s change at once.
    let circle = std::f64::consts::TAU * (20.0 - KERF / 2.0);
    let length: f64 = hole.pieces()[0].iter().map(Edge::length).sum();
    assert!((length - circle - 3.0).abs() < 1e-6, "{length}");
    // The outline: corners kept, lead-in along the first side.
    let round = 2.0 * (300.0 + KERF + 200.0 + KERF);
    let length: f64 = outline.pieces()[0].iter().map(Edge::length).sum();
    assert!((length - round - 3.0).abs() < 1e-6, "{length}");
    // From rest with 1000 mm/s² to 60 mm/s and down to 20/√2 at each of three corners, no turn
    // between lead-in and first side.
    let v = 20.0 / 2f64.sqrt();
    let leg = |length: f64, from: f64, to: f64| {
        let changing = (2.0 * 3600.0 - from * from - to * to) / 2000.0;
        (120.0 - from - to) / 1000.0 + (length - changing) / 60.0
    };
    let cutting: f64 = cut.legs[outline.legs.clone()]
        .iter()
        .filter(|l| l.doing == Doing::Cutting)
        .map(|l| l.seconds)
        .sum();
    let sides = outline.run.iter().map(Edge::length).collect::<Vec<_>>();
    let expected = leg(3.0 + sides[0], 0.0, v)
        + leg(sides[1], v, v)
        + leg(sides[2], v, v)
        + leg(sides[3], v, 0.0);
    assert!((cutting - expected).abs() < 1e-6, "{cutting} s, not {expected}");
    assert_eq!(cut.pierces, 2);
    assert!((cut.money - cut.seconds / 3600.0 * 72.0 - 0.2).abs() < 1e-9);
    assert_eq!(facts.honest(100.0), (100.0, 0.25));
    facts.learnt = Some(1.2);
    assert_eq!(facts.honest(100.0), (120.0, 0.10));
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

#[test]
fn marks_come_first_and_bend_lines_never() {
    let mut part = plate();
    let line = |y: f64| vec![Edge::new(Point::new(100.0, y), Point::new(200.0, y), 0.0)];
    part.marks.push(Mark { kind: MarkKind::Bend, edges: line(50.0) });
    part.marks.push(Mark { kind: MarkKind::Engrave, edges: line(150.0) });
    let cut = cut(
        &job(vec![part], vec![]),
        vec![laid(0, 1, 100.0, 100.0, 0.0)],
        &facts(),
        &ByHand::default(),
    );
    assert_eq!(cut.passes[0].kind, PassKind::Mark);
    assert_eq!(cut.passes.iter().filter(|p| p.kind == PassKind::Mark).count(), 1);
    assert_eq!(cut.passes[0].run[0].from().y, 250.0);
    assert_eq!(cut.pierces, 2, "engraving does not pierce");
}

#[test]
fn what_is_wrong_is_told_at_its_place() {
    let told = |job: &Job, x: f64, facts: &CutFacts, by_hand: &ByHand| -> Vec<Concern> {
        let cut = cut(job, vec![laid(0, 1, x, 100.0, 0.0)], facts, by_hand);
        cut.warnings.iter().map(|w| w.concern).collect()
    };
    let none = ByHand::default();
    assert_eq!(told(&job(vec![plate()], vec![]), 100.0, &facts(), &none), []);
    // A start over an old cut-out.
    let old = || vec![rectangle(450.0, 100.0, 100.0, 200.0)];
    let mut by_hand = ByHand::default();
    let (pierce, on_path) = (Point::new(380.0, 100.0), Point::new(300.15, 100.0));
    let lead = vec![Edge::Line { from: pierce, to: on_path }];
    let start = oddment_core::cutting::starts::Start { pierce, lead, from_edge: false };
    by_hand.starts.insert((0, 1, 0), start);
    let found = told(&job(vec![plate()], old()), 100.0, &facts(), &by_hand);
    assert!(found.contains(&Concern::BadStart), "{found:?}");
    // Too small a hole, with too little left to the edge.
    let hole = Loop::circle(Point::new(60.0, 2.6), 1.4).unwrap();
    let part = Part::new("p", Region::new(rectangle(0.0, 0.0, 300.0, 200.0), vec![hole]));
    let found = told(&job(vec![part], vec![]), 100.0, &facts(), &none);
    for concern in [Concern::NoStart, Concern::SmallHole, Concern::ThinWeb] {
        assert!(found.contains(&concern), "{found:?}");
    }
    // A bed that is too small.
    let mut small = facts();
    small.machine.bed.width = 350.0;
    assert!(told(&job(vec![plate()], vec![]), 100.0, &small, &none).contains(&Concern::OutsideBed));
    // A lead-in beside an old edge.
    let near = told(
        &job(vec![plate()], vec![rectangle(404.0, 100.0, 100.0, 200.0)]),
        100.0,
        &facts(),
        &none,
    );
    assert!(!near.contains(&Concern::NoStart), "{near:?}");
}

#[test]
fn low_moves_do_not_cross_what_is_free() {
    let mut plate = plate();
    let line = vec![Edge::new(Point::new(100.0, 50.0), Point::new(200.0, 50.0), 0.0)];
    plate.marks.push(Mark { kind: MarkKind::Engrave, edges: line });
    let parts = vec![
        laid(0, 1, 20.0, 20.0, 0.0),
        laid(0, 2, 340.0, 20.0, 0.0),
        laid(0, 3, 660.0, 20.0, 0.0),
    ];
    // The first of them lies on the way from the datum corner to the first mark.
    let old = [rectangle(6.0, 3.5, 6.0, 4.0), rectangle(400.0, 400.0, 100.0, 100.0)];
    let cut = cut(&job(vec![plate], old.to_vec()), parts, &facts(), &ByHand::default());
    let mut free: Vec<EdgeSet<SheetSpace>> = old.iter().map(edge_set).collect();
    for pass in &cut.passes {
        let low = |l: &&Leg| l.doing == Doing::Moving { lifted: false };
        for way in cut.legs[pass.legs.clone()].iter().filter(low) {
            for at in samples(&way.edge, 100) {
                assert!(free.iter().all(|f| !f.covers(at)), "a low move crosses what is free");
            }
        }
        if let (PassKind::Outline, Some(placed)) = (pass.kind, pass.placed) {
            let x = [20.0, 340.0, 660.0][placed];
            free.push(edge_set(&rectangle(x, 20.0, 300.0, 200.0)));
        }
    }
}

fn two_plates(old: Vec<Loop<SheetSpace>>) -> (Job, Vec<Placement>) {
    (job(vec![plate()], old), vec![laid(0, 1, 20.0, 20.0, 0.0), laid(0, 2, 340.0, 60.0, 0.0)])
}

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

#[test]
fn no_tab_put_by_hand_cuts_a_lead_in_loose_from_its_contour() {
    let job = job(vec![plate()], vec![]);
    let laid = vec![laid(0, 1, 100.0, 100.0, 0.0)];
    let facts = CutFacts { tabs: false, ..facts() };
    let start = cut(&job, laid.clone(), &facts, &ByHand::default()).passes[1].run[0].from();
    let wanted = start - Vector::new(100.0, 100.0);
    let by_hand = ByHand {
        tabs: BTreeMap::from([((0, 1, 0), vec![Point::new(wanted.x, wanted.y)])]),
        ..ByHand::default()
    };
    let pass = cut(&job, laid, &facts, &by_hand).passes[1].clone();
    assert_eq!(pass.tabs.len(), 1);
    let first = &pass.pieces()[0];
    let on_run = first.iter().any(|e| e.from().distance(start) < 1e-6 && e.length() > 0.3);
    assert!(on_run, "the lead-in goes on along the contour: {first:?}");
    for pair in first.windows(2) {
        assert!(pair[0].to().distance(pair[1].from()) < 1e-5);
    }
}

#[test]
fn no_start_chosen_by_hand_goes_to_the_beam_where_it_is_not_clear() {
    // Chosen in the room beside the plate; then a second plate is laid there.
    let job = job(vec![plate()], vec![]);
    let pierce = Point::new(303.0, 100.0);
    let lead = vec![Edge::Line { from: pierce, to: Point::new(300.0 + 0.5 * KERF, 100.0) }];
    let start = oddment_core::cutting::starts::Start { pierce, lead, from_edge: false };
    let by_hand = ByHand { starts: BTreeMap::from([((0, 1, 0), start)]), ..ByHand::default() };
    let outline = |placements: Vec<Placement>| {
        let cut = cut(&job, placements, &facts(), &by_hand);
        let is_it =
            |p: &&oddment_core::cutting::Pass| p.placed == Some(0) && p.kind == PassKind::Outline;
        let start = cut.passes.iter().find(is_it).unwrap().start.clone().unwrap();
        (start.pierce, cut.warnings.iter().any(|w| w.concern == Concern::BadStart))
    };
    let (alone, told) = outline(vec![laid(0, 1, 100.0, 100.0, 0.0)]);
    assert!(alone.distance(Point::new(403.0, 200.0)) < 1e-6 && !told);
    let beside = vec![laid(0, 1, 100.0, 100.0, 0.0), laid(0, 2, 403.7, 100.0, 0.0)];
    let (crowded, told) = outline(beside);
    assert!(crowded.distance(Point::new(403.0, 200.0)) > 1.0 && told, "{crowded:?}");
}

#[test]
fn the_beam_leaves_back_along_its_lead_in() {
    let job = job(vec![plate()], vec![]);
    let facts = CutFacts { lead_out: 1.0, tabs: false, ..facts() };
    let cut = cut(&job, vec![laid(0, 1, 100.0, 100.0, 0.0)], &facts, &ByHand::default());
    for pass in &cut.passes {
        let start = pass.start.as_ref().unwrap();
        let end = pass.pieces().last().and_then(|p| p.last().map(Edge::to)).unwrap();
        assert!((end.distance(start.joins()) - 1.0).abs() < 1e-5);
        assert!((end.distance(start.pierce) - 2.0).abs() < 1e-5, "3 mm of lead-in, 1 mm back");
    }
}

#[test]
fn slugs_that_may_tip_are_not_crossed_low() {
    // Slugs of 130 × 130 mm tip on slats 75 mm apart: the way from hole to hole leads round them.
    let holes =
        (0..3).map(|n| rectangle(20.0 + 160.0 * f64::from(n), 20.0, 130.0, 130.0)).collect();
    let strip = Part::new("strip", Region::new(rectangle(0.0, 0.0, 500.0, 170.0), holes));
    let job = job(vec![strip.clone()], vec![]);
    let cut = cut(&job, vec![laid(0, 1, 50.0, 50.0, 0.0)], &facts(), &ByHand::default());
    let mut free: Vec<EdgeSet<SheetSpace>> = Vec::new();
    let mut looked_at = 0;
    for pass in &cut.passes {
        for leg in cut.legs[pass.legs.clone()]
            .iter()
            .filter(|l| l.doing == Doing::Moving { lifted: false })
        {
            for at in samples(&leg.edge, 60) {
                looked_at += free.len();
                assert!(free.iter().all(|f| !f.covers(at)), "crosses a slug at {at:?}");
            }
        }
        if pass.kind == PassKind::Hole {
            let pose = Pose::<PartSpace, SheetSpace>::new(Vector::new(50.0, 50.0), 0.0, false);
            // The head comes from the slug's very edge.
            let slug = strip.region.holes()[pass.contour - 1].placed(&pose).bounds().grown(-0.5);
            free.push(edge_set(&Loop::rectangle(slug.min, slug.max).unwrap()));
        }
    }
    assert!(looked_at > 0);
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

    /// No start and no tab touches an outline that is kept, and what is cut with its tabs is the
    /// whole path.
    #[test]
    fn cuts_of_random_plans_leave_what_is_kept_alone(
        shapes in proptest::collection::vec(region::<PartSpace>(70.0), 2),
        turns in proptest::collection::vec(0.0..6.3f64, 4),
        clockwise in any::<bool>(),
        lead_out in 0.0..5.0f64,
    ) {
        let parts = shapes.into_iter().enumerate().map(|(i, r)| Part::new(format!("P{i}"), r));
        let mut job = job(parts.collect(), vec![rectangle(300.0, 300.0, 200.0, 50.0)]);
        job.starts = Some(StartRule { clockwise_outside: clockwise, ..StartRule::STARTING });
        let placements: Vec<Placement> = turns.iter().enumerate().map(|(i, turn)| {
            laid(i % 2, i / 2 + 1, 100.0 + 110.0 * i as f64, 100.0, *turn)
        }).collect();
        let plan = Plan { layouts: vec![Layout { stock: 0, placements: placements.clone() }] };
        let checked = check_plan(&job, plan);
        let facts = CutFacts { lead_out, ..facts() };
        let cut = cut(&job, placements.clone(), &facts, &ByHand::default());
        let without: Vec<_> = cut.warnings.iter().filter(|w| w.concern == Concern::NoStart).collect();
        prop_assert_eq!(checked.is_clear(), without.is_empty());
        let regions: Vec<Region<SheetSpace>> =
            placements.iter().map(|p| job.wanted[p.part].part.region.placed(&p.pose)).collect();
        let kept: Vec<EdgeSet<SheetSpace>> = regions.iter().map(Region::edge_set).collect();
        for pass in &cut.passes {
            let round: f64 = pass.run.iter().map(Edge::length).sum();
            let pieces = pass.pieces();
            let lead: f64 = pass.start.iter().flat_map(|s| &s.lead).map(Edge::length).sum();
            let cut_length: f64 = pieces.iter().flatten().map(Edge::length).sum();
            let gaps: f64 = pass.tabs.iter().map(|t| t.gap).sum();
            let out: f64 = pass.out.iter().map(Edge::length).sum();
            prop_assert!((out - lead_out.min(lead)).abs() < 1e-3);
            prop_assert!((cut_length - lead - round + gaps - out).abs() < 1e-3);
            // Along the run the metal that is kept lies on the side that the direction says.
            let area: f64 = Loop::new(pass.run.iter().map(|e| oddment_core::shape::Vertex {
                point: e.from(), bulge: e.bulge(),
            })).unwrap().signed_area();
            prop_assert_eq!(area < 0.0, clockwise == (pass.kind == PassKind::Outline));
            for at in pieces.iter().flatten().flat_map(|e| samples(e, 6)) {
                for (region, edges) in regions.iter().zip(&kept) {
                    prop_assert!(!region.contains(at));
                    prop_assert!(edges.distance_to(at) > 0.5 * KERF - 3e-3);
                }
            }
        }
    }

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
