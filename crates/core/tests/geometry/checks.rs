//! The check finds every planted fault and sees none where there is none.
//!
//! A part is moved toward something until its distance is exactly a chosen one; what the rule asks
//! for there is written out by hand.

use std::f64::consts::TAU;

use oddment_core::check::{Fault, Party, RESOLUTION, Report, Scene, check as check_plan};
use oddment_core::distances::{Clearances, EdgeDistance};
use oddment_core::part::Part;
use oddment_core::plan::{Count, Job, Layout, Placement, Plan, Stock, Wanted};
use oddment_core::shape::{
    Edge, EdgeSet, Loop, PartSpace, Point, Pose, Region, SheetSpace, Space, Vector,
};
use oddment_core::sheet::{Body, Contour, EdgeFacts, EdgeKind, NoGo, Sheet};
use proptest::prelude::*;

use crate::strategies::{P, blob, edge_set, region, samples};

const CLEARANCES: Clearances = Clearances {
    kerf: 1.2,
    web: 2.0,
    edge: EdgeDistance { own_cut: 3.0, sheared: 5.0, mill: 8.0 },
    sensing: 4.0,
    lay: 0.5,
    common: false,
};
const BETWEEN: f64 = 2.0 * 1.2 + 2.0;
const TO_CUTOUT: f64 = 1.2 + 4.0 + 0.5;

/// A part and its pose.
type Laid = (Region<PartSpace>, Pose<PartSpace, SheetSpace>);

fn report(sheet: &Sheet, clearances: Clearances, laid: &[Laid]) -> Report {
    let wanted = laid
        .iter()
        .map(|(region, _)| {
            let part = Part { flip: true, ..Part::new("part", region.clone()) };
            Wanted { part, count: Count::Exactly(1) }
        })
        .collect();
    let place =
        |(part, (_, pose)): (usize, &Laid)| Placement { part, copy: 1, pose: *pose, locked: false };
    let placements = laid.iter().enumerate().map(place).collect();
    let stock = vec![Stock { sheet: sheet.clone(), count: 1 }];
    let job = Job { stock, wanted, clearances, starts: None };
    let plan = Plan { layouts: vec![Layout { stock: 0, placements }] };
    let report = check_plan(&job, plan.clone()).report().clone();
    agrees_with_the_scene(&job, &plan.layouts[0], &report);
    report
}

/// Measuring one part at a time says the same as the whole check.
fn agrees_with_the_scene(job: &Job, layout: &Layout, report: &Report) {
    let scene = Scene::new(job, layout);
    let near = |i: usize| scene.tightest(&scene.laid()[i], |j| j != i);
    let tightest =
        (0..scene.laid().len()).filter_map(near).map(|n| n.spare()).fold(f64::INFINITY, f64::min);
    assert!((tightest - report.tightest.as_ref().unwrap().spare()).abs() < 1e-9);
    let found: usize = (0..scene.laid().len())
        .map(|i| scene.near(&scene.laid()[i], |j| j > i, -RESOLUTION).len())
        .sum();
    let short = report.faults.iter().filter(|f| matches!(f, Fault::Short(_))).count();
    assert_eq!(found, short);
}

/// How far a shape goes along `way` until it is `distance` from `target`: no farther at a time
/// than it is away.
fn approach(
    shape: &EdgeSet<SheetSpace>,
    target: &EdgeSet<SheetSpace>,
    way: Vector,
    distance: f64,
) -> Option<f64> {
    let mut gone = 0.0;
    for _ in 0..5000 {
        let moved = shape.placed::<SheetSpace>(&Pose::shifted(way * gone));
        let left = moved.boundary_gap(target, f64::INFINITY)?.distance - distance;
        if left < 1e-9 {
            return (left > -1e-8).then_some(gone);
        }
        gone += left;
    }
    None
}

/// Moves the last of `laid` toward `target` and looks at the check with distances about
/// `required`.
#[track_caller]
fn check(
    sheet: &Sheet,
    laid: &[Laid],
    way: Vector,
    target: &EdgeSet<SheetSpace>,
    party: impl Fn(&Party) -> bool,
    required: f64,
) {
    let (rest, last) = (&laid[..laid.len() - 1], laid.last().unwrap());
    let shape = last.0.edge_set().placed(&last.1);
    for (off, is_short) in
        [(0.5, false), (1e-6, false), (0.0, false), (-5e-4, false), (-0.002, true), (-0.01, true)]
    {
        let Some(gone) = approach(&shape, target, way, required + off) else { return };
        let pose = Pose::<SheetSpace, SheetSpace>::shifted(way * gone).after(&last.1);
        let moved: Vec<Laid> = rest.iter().cloned().chain([(last.0.clone(), pose)]).collect();
        let report = report(sheet, CLEARANCES, &moved);
        let tightest = report.tightest.as_ref().unwrap();
        assert!((tightest.spare() - off).abs() < 1e-6, "{off} from the limit: {tightest:?}");
        assert!((tightest.required - required).abs() < 1e-12, "{tightest:?}");
        assert!(party(&tightest.other), "{tightest:?}");
        assert_eq!(report.faults.len(), usize::from(is_short), "{off} from the limit: {report:?}");
        if let Some(Fault::Short(measure)) = report.faults.first() {
            assert_eq!(measure, tightest);
        }
    }
}

/// Whether a part of `size` mm, laid about the origin, lies well inside the loop.
fn has_room<S: Space>(l: &Loop<S>, size: f64) -> bool {
    l.encloses(Point::origin()) && edge_set(l).distance_to(Point::origin()) > 0.8 * size
}

fn rectangle(x: f64, y: f64, w: f64, h: f64) -> Loop<SheetSpace> {
    Loop::rectangle(P::new(x, y), P::new(x + w, y + h)).unwrap()
}

fn facts(kind: EdgeKind, give_or_take: f64) -> EdgeFacts {
    EdgeFacts { kind, give_or_take }
}

/// A large mill sheet with these cut-outs.
fn sheet(cutouts: Vec<Contour>) -> Sheet {
    let outer = Contour::uniform(rectangle(-1e4, -1e4, 2e4, 2e4), facts(EdgeKind::Mill, 0.0));
    let mut sheet = Sheet::new("test", &[], EdgeFacts::default());
    sheet.bodies.push(Body { outer, cutouts });
    sheet
}

fn at(x: f64, y: f64, turn: f64, flipped: bool) -> Pose<PartSpace, SheetSpace> {
    Pose::new(Vector::new(x, y), turn, flipped)
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(60))]

    #[test]
    fn another_part(
        a in region::<PartSpace>(100.0),
        b in region::<PartSpace>(100.0),
        turn in 0.0..TAU,
        flipped in any::<bool>(),
        y in -50.0..50.0,
    ) {
        let a = (a, at(0.0, 0.0, 0.3, false));
        let b = (b, at(-300.0, y, turn, flipped));
        let target = a.0.edge_set().placed(&a.1);
        let is_it = |p: &Party| *p == Party::Placed(1);
        check(&sheet(vec![]), &[a, b], Vector::new(1.0, 0.0), &target, is_it, BETWEEN);
    }

    #[test]
    fn the_hole_of_another_part(
        hole in blob::<PartSpace>(400.0),
        b in region::<PartSpace>(50.0),
        turn in 0.0..TAU,
        way in 0.0..TAU,
    ) {
        prop_assume!(has_room(&hole, 50.0));
        let ring = Region::new(Loop::circle(Point::origin(), 300.0).unwrap(), vec![hole.clone()]);
        let (a, b) = ((ring, at(0.0, 0.0, 1.0, true)), (b, at(0.0, 0.0, turn, false)));
        let target = edge_set(&hole).placed(&a.1);
        let is_it = |p: &Party| *p == Party::Placed(1);
        check(&sheet(vec![]), &[a, b], Vector::at_angle(way), &target, is_it, BETWEEN);
    }

    #[test]
    fn a_cutout(
        cutout in blob::<SheetSpace>(100.0),
        clockwise in any::<bool>(),
        part in region::<PartSpace>(100.0),
        give_or_take in 0.0..2.0,
        turn in 0.0..TAU,
        y in -50.0..50.0,
    ) {
        let cutout = cutout.directed(!clockwise);
        let target = edge_set(&cutout);
        let contour = Contour::uniform(cutout, facts(EdgeKind::OwnCut, give_or_take));
        let part = (part, at(-300.0, y, turn, false));
        let is_it = |p: &Party| matches!(p, Party::CutOut(0, _));
        let required = TO_CUTOUT + give_or_take;
        check(&sheet(vec![contour]), &[part], Vector::new(1.0, 0.0), &target, is_it, required);
    }

    #[test]
    fn the_sheets_edge(
        outline in blob::<SheetSpace>(1000.0),
        part in region::<PartSpace>(100.0),
        kind in prop_oneof![
            Just((EdgeKind::OwnCut, 3.0)), Just((EdgeKind::Sheared, 5.0)), Just((EdgeKind::Mill, 8.0))
        ],
        give_or_take in 0.0..2.0,
        turn in 0.0..TAU,
        way in 0.0..TAU,
    ) {
        prop_assume!(has_room(&outline, 100.0));
        let target = edge_set(&outline);
        let mut sheet = sheet(vec![]);
        sheet.bodies[0].outer = Contour::uniform(outline, facts(kind.0, give_or_take));
        let part = (part, at(0.0, 0.0, turn, true));
        let is_it = |p: &Party| *p == Party::SheetEdge;
        let required = 1.2 + kind.1 + give_or_take + 0.5;
        check(&sheet, &[part], Vector::at_angle(way), &target, is_it, required);
    }

    #[test]
    fn the_rim_of_an_island_of_metal(
        island in blob::<SheetSpace>(800.0),
        part in region::<PartSpace>(100.0),
        give_or_take in 0.0..2.0,
        way in 0.0..TAU,
        outside in any::<bool>(),
    ) {
        prop_assume!(has_room(&island, 100.0));
        // A cut-out all round the island, and another cut-out far away.
        let around = Loop::circle(P::origin(), 600.0).unwrap();
        let far = Loop::circle(P::new(3000.0, 0.0), 50.0).unwrap();
        let loose = facts(EdgeKind::OwnCut, 0.25);
        let mut sheet =
            sheet([far, around.clone()].map(|l| Contour::uniform(l, loose)).to_vec());
        let outer = Contour::uniform(island.clone(), facts(EdgeKind::Mill, give_or_take));
        sheet.bodies.push(Body { outer, cutouts: vec![] });
        let is_it = |p: &Party| matches!(p, Party::CutOut(1, _));
        let way = Vector::at_angle(way);
        if outside {
            let place = Pose::shifted(way * -1000.0);
            check(&sheet, &[(part, place)], way, &edge_set(&around), is_it, TO_CUTOUT + 0.25);
        } else {
            let required = TO_CUTOUT + give_or_take;
            check(&sheet, &[(part, at(0.0, 0.0, 0.0, false))], way, &edge_set(&island), is_it, required);
        }
    }

    #[test]
    fn a_no_go_zone(
        zone in blob::<SheetSpace>(100.0),
        part in region::<PartSpace>(100.0),
        clearance in 0.0..20.0,
        turn in 0.0..TAU,
        y in -50.0..50.0,
    ) {
        let target = edge_set(&zone);
        let mut sheet = sheet(vec![]);
        sheet.no_go.push(NoGo { name: "clamp".into(), shape: zone, clearance, stands_up: true });
        let part = (part, at(-300.0, y, turn, false));
        let is_it = |p: &Party| *p == Party::NoGo(0);
        let required = 0.6 + clearance + 0.5;
        check(&sheet, &[part], Vector::new(1.0, 0.0), &target, is_it, required);
    }

    #[test]
    fn what_lies_on_no_metal(
        part in region::<PartSpace>(60.0),
        x in -90.0..90.0,
        y in -90.0..90.0,
        turn in 0.0..TAU,
    ) {
        let cutout = Loop::circle(P::origin(), 200.0).unwrap();
        let sheet = sheet(vec![Contour::uniform(cutout, EdgeFacts::default())]);
        for (x, y) in [(x, y), (20_000.0 + x, y), (10_000.0 + x, y)] {
            let part = (part.clone(), at(x, y, turn, false));
            let faults = report(&sheet, Clearances::NONE, &[part]).faults;
            // Across the far edge some lie just inside it, if narrow and off the middle.
            prop_assert!(x > 9000.0 && x < 11_000.0 || faults.len() == 1, "{x}, {y}: {faults:?}");
        }
    }

    #[test]
    fn at_no_clearance_touching_is_clear_and_overlapping_is_not(
        a in region::<PartSpace>(100.0),
        b in region::<PartSpace>(100.0),
        turn in 0.0..TAU,
        flipped in any::<bool>(),
        y in -50.0..50.0,
    ) {
        let (a, b) = ((a, at(0.0, 0.0, 0.3, false)), (b, at(-300.0, y, turn, flipped)));
        let target = a.0.edge_set().placed(&a.1);
        let shape = b.0.edge_set().placed(&b.1);
        let way = Vector::new(1.0, 0.0);
        let Some(gone) = approach(&shape, &target, way, 0.0) else { return Ok(()) };
        let moved = |by: Vector| {
            Pose::<SheetSpace, SheetSpace>::shifted(by).after(&b.1)
        };
        let touching = report(&sheet(vec![]), Clearances::NONE, &[a.clone(), (b.0.clone(), moved(way * gone))]);
        prop_assert!(touching.is_clear(), "{touching:?}");
        let pose = moved(way * (gone + 0.01));
        let shape = b.0.edge_set().placed(&pose);
        let deep = |edges: &[Edge<SheetSpace>], other: &EdgeSet<SheetSpace>| {
            edges
                .iter()
                .flat_map(|e| samples(e, 200))
                .filter(|p| other.covers(*p))
                .map(|p| other.distance_to(p))
                .fold(0.0, f64::max)
        };
        let depth = deep(shape.edges(), &target).max(deep(target.edges(), &shape));
        let over = report(&sheet(vec![]), Clearances::NONE, &[a.clone(), (b.0.clone(), pose)]);
        prop_assert!(depth < 1.1 * RESOLUTION || !over.is_clear(), "{depth} {over:?}");
    }
}

#[test]
fn each_run_of_an_edge_asks_for_its_own_distance() {
    let outline = rectangle(0.0, 0.0, 1000.0, 600.0);
    let sides = [
        facts(EdgeKind::Mill, 0.0),
        facts(EdgeKind::Sheared, 1.0),
        facts(EdgeKind::OwnCut, 0.3),
        facts(EdgeKind::Mill, 2.0),
    ];
    let ways = [(0.0, -1.0), (1.0, 0.0), (0.0, 1.0), (-1.0, 0.0)];
    let metal = [8.0, 5.0, 3.0, 8.0];
    let mut sheet = sheet(vec![]);
    sheet.bodies[0].outer = Contour::with_facts(outline.clone(), sides.to_vec()).unwrap();
    for (i, edge) in outline.edges().enumerate() {
        let part = Region::new(Loop::circle(Point::origin(), 50.0).unwrap(), vec![]);
        let target = EdgeSet::new([vec![edge]]);
        let required = 1.2 + metal[i] + sides[i].give_or_take + 0.5;
        let is_it = |p: &Party| *p == Party::SheetEdge;
        let way = Vector::new(ways[i].0, ways[i].1);
        check(&sheet, &[(part, at(500.0, 300.0, 0.0, false))], way, &target, is_it, required);
    }
}

#[test]
fn of_two_short_distances_to_one_edge_the_worse_counts() {
    // In the corner of two sides: 0.0015 short of the one, 0.0006 of the other.
    let outline = rectangle(0.0, 0.0, 1000.0, 600.0);
    let part =
        || Region::new(Loop::rectangle(Point::origin(), Point::new(50.0, 50.0)).unwrap(), vec![]);
    for (dx, dy) in [(0.0015, 0.0006), (0.0006, 0.0015)] {
        let sides = [EdgeKind::Mill, EdgeKind::Mill, EdgeKind::Sheared, EdgeKind::Sheared]
            .map(|k| facts(k, 0.0));
        let mut sheet = sheet(vec![]);
        sheet.bodies[0].outer = Contour::with_facts(outline.clone(), sides.to_vec()).unwrap();
        let place = at(1.2 + 5.0 + 0.5 - dx, 1.2 + 8.0 + 0.5 - dy, 0.0, false);
        let report = report(&sheet, CLEARANCES, &[(part(), place)]);
        assert_eq!(report.faults.len(), 1);
        assert!((report.tightest.unwrap().spare() + 0.0015).abs() < 1e-9);
    }
}

#[test]
fn the_same_place_twice_is_no_place() {
    let plate =
        Region::new(Loop::rectangle(Point::origin(), Point::new(50.0, 30.0)).unwrap(), vec![]);
    for flipped in [false, true] {
        for off in [0.0, 1e-7, 1e-5, 1e-3] {
            let laid = [
                (plate.clone(), at(0.0, 0.0, 0.4, flipped)),
                (plate.clone(), at(off, off, 0.4, flipped)),
            ];
            assert_eq!(report(&sheet(vec![]), Clearances::NONE, &laid).faults.len(), 1);
        }
    }
}

#[test]
fn a_part_that_swallows_a_cutout_or_a_zone_is_told() {
    let part = || Region::new(Loop::circle(Point::origin(), 100.0).unwrap(), vec![]);
    let small = Loop::circle(P::origin(), 10.0).unwrap();
    let with_hole = sheet(vec![Contour::uniform(small.clone(), EdgeFacts::default())]);
    let mut with_zone = sheet(vec![]);
    with_zone.no_go.push(NoGo {
        name: "clamp".into(),
        shape: small,
        clearance: 5.0,
        stands_up: true,
    });
    for sheet in [with_hole, with_zone] {
        for clearances in [Clearances::NONE, CLEARANCES] {
            let report = report(&sheet, clearances, &[(part(), at(0.0, 0.0, 0.0, false))]);
            assert_eq!(report.faults.len(), 1, "{report:?}");
            assert!(report.tightest.unwrap().gap.distance < -80.0);
        }
    }
}

#[test]
fn counts_and_turns_and_strangers() {
    let plate =
        Region::new(Loop::rectangle(Point::origin(), Point::new(50.0, 30.0)).unwrap(), vec![]);
    let mut part = Part::new("plate", plate);
    part.turning = oddment_core::part::Turning::steps(TAU / 4.0);
    let job = Job {
        stock: vec![Stock { sheet: sheet(vec![]), count: 1 }],
        wanted: vec![Wanted { part, count: Count::Exactly(1) }],
        clearances: Clearances::NONE,
        starts: None,
    };
    let lay = |x: f64, turn: f64, copy| Placement {
        part: 0,
        copy,
        pose: at(x, 0.0, turn, false),
        locked: false,
    };
    let faults = |layouts: Vec<Layout>| check_plan(&job, Plan { layouts }).report().faults.clone();
    let one = |placements| vec![Layout { stock: 0, placements }];
    assert_eq!(faults(one(vec![lay(0.0, TAU / 4.0, 1)])), []);
    assert_eq!(faults(one(vec![lay(0.0, 0.1, 1)])), [Fault::Turned { layout: 0, placed: 0 }]);
    let flipped = Placement { pose: at(0.0, 0.0, 0.0, true), ..lay(0.0, 0.0, 1) };
    assert_eq!(faults(one(vec![flipped])), [Fault::Turned { layout: 0, placed: 0 }]);
    let twice = faults(one(vec![lay(0.0, 0.0, 1), lay(500.0, 0.0, 1)]));
    assert_eq!(
        twice,
        [Fault::TooMany { part: 0, laid: 2, wanted: 1 }, Fault::SameCopy { part: 0, copy: 1 }]
    );
    let empty = || Layout { stock: 0, placements: vec![] };
    let sheets = faults(vec![empty(), empty()]);
    assert_eq!(sheets, [Fault::TooFewSheets { stock: 0, used: 2, there: 1 }]);
    assert_eq!(
        faults(vec![Layout { stock: 7, placements: vec![] }]),
        [Fault::Unknown { layout: 0 }]
    );
    let stranger = Placement { part: 3, ..lay(0.0, 0.0, 1) };
    assert_eq!(faults(one(vec![stranger])), [Fault::Unknown { layout: 0 }]);
    assert_eq!(faults(one(vec![lay(f64::NAN, 0.0, 1)])), [Fault::Unknown { layout: 0 }]);
}
