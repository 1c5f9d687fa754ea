//! Whole cuts: times, marks, moves and warnings, on plans with holes, slots and old cut-outs.

use std::collections::BTreeMap;

use oddment_core::check::check as check_plan;
use oddment_core::cutting::legs::{Doing, Leg};
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
pub(crate) const CLEARANCES: Clearances = Clearances {
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

pub(crate) fn plate() -> Part {
    let hole = Loop::circle(Point::new(60.0, 50.0), 20.0).unwrap();
    Part::new("plate", Region::new(rectangle(0.0, 0.0, 300.0, 200.0), vec![hole]))
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

pub(crate) fn two_plates(old: Vec<Loop<SheetSpace>>) -> (Job, Vec<Placement>) {
    (job(vec![plate()], old), vec![laid(0, 1, 20.0, 20.0, 0.0), laid(0, 2, 340.0, 60.0, 0.0)])
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
}
