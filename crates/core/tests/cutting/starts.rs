//! Every contour has a start in waste metal, or is said to have none.

use oddment_core::check::{Fault, Scene, check as check_plan};
use oddment_core::cutting::starts::{Offered, Start, choices, find_starts};
use oddment_core::distances::{Clearances, EdgeDistance, LeadForm, StartRule};
use oddment_core::part::Part;
use oddment_core::plan::{Count, Job, Layout, Placement, Plan, Stock, Wanted};
use oddment_core::shape::{
    Edge, EdgeSet, Loop, PartSpace, Point, Pose, Region, SheetSpace, Vector, Vertex,
};
use oddment_core::sheet::{EdgeFacts, NoGo, Sheet};
use proptest::prelude::*;

use crate::strategies::region;

const CLEARANCES: Clearances = Clearances {
    kerf: 0.2,
    web: 1.0,
    edge: EdgeDistance::all(1.0),
    sensing: 1.0,
    lay: 0.25,
    common: false,
};
const RULE: StartRule = StartRule::STARTING;

fn rectangle<S: oddment_core::shape::Space>(x: f64, y: f64, w: f64, h: f64) -> Loop<S> {
    Loop::rectangle(Point::new(x, y), Point::new(x + w, y + h)).unwrap()
}

fn sheet(w: f64, h: f64, holes: Vec<Loop<SheetSpace>>) -> Sheet {
    let metal = Region::new(rectangle(0.0, 0.0, w, h), holes);
    Sheet::new("S", &[metal], EdgeFacts::default())
}

fn job(sheet: Sheet, parts: Vec<Region<PartSpace>>, rule: StartRule) -> Job {
    let wanted = parts.into_iter().enumerate().map(|(i, region)| {
        let part = Part { flip: true, ..Part::new(format!("P{i}"), region) };
        Wanted { part, count: Count::Max }
    });
    Job {
        stock: vec![Stock { sheet, count: 1 }],
        wanted: wanted.collect(),
        clearances: CLEARANCES,
        starts: Some(rule),
    }
}

fn laid(part: usize, copy: usize, x: f64, y: f64) -> Placement {
    Placement { part, copy, pose: Pose::shifted(Vector::new(x, y)), locked: false }
}

/// Which contours (place in the list, contour) the check finds no start for; all else is clear.
fn missing(job: &Job, placements: Vec<Placement>) -> Vec<(usize, usize)> {
    let layout = Layout { stock: 0, placements };
    let checked = check_plan(job, Plan { layouts: vec![layout.clone()] });
    verify(job, &layout);
    let faults = checked.report().faults.iter().map(|f| match f {
        Fault::NoStart { placed, contour, .. } => (*placed, *contour),
        other => panic!("{other:?}"),
    });
    faults.collect()
}

/// Measures every start that was found by dense points, with nothing of what found it but the
/// distance of a point from an edge.
fn verify(job: &Job, layout: &Layout) {
    let rule = job.starts.unwrap();
    let (kerf, lay) = (job.clearances.kerf, job.clearances.lay);
    let starts = find_starts(job, layout, &Scene::new(job, layout));
    let sheet = &job.stock[0].sheet;
    let metal = sheet.bodies[0].region();
    let placed: Vec<Region<SheetSpace>> =
        layout.placements.iter().map(|p| job.wanted[p.part].part.region.placed(&p.pose)).collect();
    let all: Vec<(usize, usize, &Start<SheetSpace>)> = starts
        .of
        .iter()
        .enumerate()
        .flat_map(|(i, of)| {
            of.iter().enumerate().filter_map(move |(c, s)| s.as_ref().map(|s| (i, c, s)))
        })
        .collect();
    for (i, contour, start) in &all {
        let points: Vec<_> =
            start.lead.iter().flat_map(|e| (0..=40).map(|n| e.at(f64::from(n) / 40.0))).collect();
        assert_eq!(points[0], start.pierce);
        for p in &points {
            assert!(
                metal.contains(*p) && metal.edge_set().distance_to(*p) > 0.5 * kerf + lay - 2e-3
            );
            for (j, other) in placed.iter().enumerate() {
                assert!(!other.contains(*p), "in metal that is kept");
                let least = if j == *i { 0.5 * kerf } else { 1.5 * kerf };
                assert!(other.edge_set().distance_to(*p) > least - 2e-3);
            }
            for zone in &sheet.no_go {
                let rim = EdgeSet::new([zone.shape.edges().collect()]);
                assert!(!zone.shape.encloses(*p));
                assert!(rim.distance_to(*p) > 0.5 * kerf + zone.clearance + lay - 2e-3);
            }
        }
        assert!(metal.edge_set().distance_to(start.pierce) > rule.pierce + lay - 2e-3);
        let small = rule.small_hole.min(rule.pierce);
        for (j, other) in placed.iter().enumerate() {
            let least = if j == *i && *contour > 0 { small } else { rule.pierce };
            assert!(other.edge_set().distance_to(start.pierce) > least - 2e-3);
        }
        let own = placed[*i].loops().nth(*contour).unwrap();
        assert_eq!(own.encloses(start.pierce), *contour > 0, "a hole starts inside it");
        let off = EdgeSet::new([own.edges().collect()]).distance_to(start.joins());
        assert!(off < 4.0 * 0.5 * kerf + 1e-6, "the lead-in ends on the path");
        for (k, d, other) in &all {
            if (k, d) != (i, contour) {
                let rim = EdgeSet::new([other.lead.clone()]);
                assert!(points.iter().all(|p| rim.distance_to(*p) > 2.0 * kerf - 1e-6));
            }
        }
    }
}

#[test]
fn a_part_with_room_around_it_starts_outside_a_corner() {
    let hole = Loop::circle(Point::new(20.0, 15.0), 5.0).unwrap();
    let plate = Region::new(rectangle(0.0, 0.0, 40.0, 30.0), vec![hole]);
    let job = job(sheet(100.0, 80.0, vec![]), vec![plate], RULE);
    assert_eq!(missing(&job, vec![laid(0, 1, 20.0, 20.0)]), []);
    let layout = Layout { stock: 0, placements: vec![laid(0, 1, 20.0, 20.0)] };
    let found = find_starts(&job, &layout, &Scene::new(&job, &layout));
    let start = found.of[0][0].as_ref().unwrap();
    let corners = [(20.0, 20.0), (60.0, 20.0), (60.0, 50.0), (20.0, 50.0)];
    let nearest = corners.map(|(x, y)| start.joins().distance(Point::new(x, y)));
    assert!(nearest.iter().any(|d| *d < 0.15), "{start:?}");
}

/// A plate with rounded corners and a relief, 2 mm wide, in its upper side: the relief's own corners
/// are the only sharp ones.
#[test]
fn no_outline_starts_beside_a_relief_where_there_is_a_side_without() {
    const ROUND: f64 = 0.41421356237309503;
    let corners = [
        (5.0, 0.0, 0.0),
        (95.0, 0.0, ROUND),
        (100.0, 5.0, 0.0),
        (100.0, 55.0, ROUND),
        (95.0, 60.0, 0.0),
        (51.0, 60.0, 0.0),
        (51.0, 56.0, 0.0),
        (49.0, 56.0, 0.0),
        (49.0, 60.0, 0.0),
        (5.0, 60.0, ROUND),
        (0.0, 55.0, 0.0),
        (0.0, 5.0, ROUND),
    ];
    let vertices = corners.map(|(x, y, bulge)| Vertex { point: Point::new(x, y), bulge });
    let plate = Region::new(Loop::new(vertices).unwrap(), vec![]);
    for clockwise_outside in [false, true] {
        let rule = StartRule { clockwise_outside, ..RULE };
        let best = &choices(&plate, &CLEARANCES, &rule, false)[0][0];
        let joins = best.joins();
        assert!(joins.distance(Point::new(50.0, 60.0)) > 10.0, "{best:?}");
        // On a straight side, not on a round corner.
        assert!((10.0..90.0).contains(&joins.x) || (10.0..50.0).contains(&joins.y), "{best:?}");
    }
}

#[test]
fn small_holes_start_in_their_middle_and_too_small_ones_do_not() {
    let with_hole = |r: f64| {
        let hole = Loop::circle(Point::new(20.0, 15.0), r).unwrap();
        Region::new(rectangle(0.0, 0.0, 40.0, 30.0), vec![hole])
    };
    let open = |r: f64, rule: StartRule| {
        missing(
            &job(sheet(100.0, 80.0, vec![]), vec![with_hole(r)], rule),
            vec![laid(0, 1, 20.0, 20.0)],
        )
    };
    assert_eq!(open(1.51, RULE), []);
    assert_eq!(open(1.45, RULE), [(0, 1)]);
    assert_eq!(open(1.45, StartRule { small_hole: 1.2, ..RULE }), []);
    assert_eq!(open(1.15, StartRule { small_hole: 1.2, ..RULE }), [(0, 1)]);
}

#[test]
fn a_part_that_fills_its_strip_of_metal_has_no_start() {
    let plate = Region::new(rectangle(0.0, 0.0, 40.0, 30.0), vec![]);
    let tight = job(sheet(43.0, 33.0, vec![]), vec![plate.clone()], RULE);
    assert_eq!(missing(&tight, vec![laid(0, 1, 1.5, 1.5)]), [(0, 0)]);
    // 1.5 + 1.5 + 0.25 of the lay, for a pierce between the part and the edge.
    let roomy = job(sheet(44.9, 33.0, vec![]), vec![plate], RULE);
    assert_eq!(missing(&roomy, vec![laid(0, 1, 1.5, 1.5)]), []);
}

#[test]
fn old_cut_outs_and_clamps_are_no_metal_to_start_in() {
    let plate = || Region::new(rectangle(0.0, 0.0, 40.0, 30.0), vec![]);
    let wide = |holes| sheet(46.0, 33.0, holes);
    let open = |sheet: Sheet| missing(&job(sheet, vec![plate()], RULE), vec![laid(0, 1, 1.5, 1.5)]);
    assert_eq!(open(wide(vec![])), []);
    assert_eq!(open(wide(vec![rectangle(43.0, 2.0, 2.0, 29.0)])), [(0, 0)]);
    let mut clamped = wide(vec![]);
    let shape = rectangle(44.5, 1.0, 1.0, 31.0);
    clamped.no_go.push(NoGo { name: "clamp".into(), shape, clearance: 2.0, stands_up: true });
    assert_eq!(open(clamped), [(0, 0)]);
}

#[test]
fn parts_so_near_each_other_that_no_pierce_goes_between_start_elsewhere_or_not_at_all() {
    let bar = || Region::new(rectangle(0.0, 0.0, 40.0, 10.0), vec![]);
    let of = |sheet: Sheet, count: usize| {
        let placements = (0..count).map(|i| laid(0, i + 1, 1.5, 1.5 + 11.4 * i as f64)).collect();
        missing(&job(sheet, vec![bar()], RULE), placements)
    };
    // The bars' ends reach almost to the edges; only above the last there is room.
    assert_eq!(of(sheet(43.0, 37.0, vec![]), 3), [(0, 0), (1, 0), (2, 0)]);
    assert_eq!(of(sheet(43.0, 43.0, vec![]), 3), [(0, 0), (1, 0)]);
    assert_eq!(of(sheet(50.0, 37.0, vec![]), 3), []);
}

#[test]
fn where_the_job_leaves_starts_to_the_machine_none_is_asked_for() {
    let plate = Region::new(rectangle(0.0, 0.0, 40.0, 30.0), vec![]);
    let mut tight = job(sheet(43.0, 33.0, vec![]), vec![plate], RULE);
    tight.starts = None;
    let layout = Layout { stock: 0, placements: vec![laid(0, 1, 1.5, 1.5)] };
    assert!(check_plan(&tight, Plan { layouts: vec![layout] }).is_clear());
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(120))]

    /// Random parts on a grid, some so near each other that starts meet.
    #[test]
    fn starts_that_are_found_keep_every_distance(
        parts in proptest::collection::vec(region::<PartSpace>(30.0), 3),
        turns in proptest::collection::vec((0.0..6.3f64, any::<bool>()), 6),
        pitch in 28.0..36.0f64,
        clockwise in any::<bool>(),
    ) {
        let rule = StartRule { clockwise_outside: clockwise, ..RULE };
        let hole = Loop::circle(Point::new(40.0, 40.0), 6.0).unwrap();
        let job = job(sheet(140.0, 100.0, vec![hole]), parts, rule);
        let placements = turns.iter().enumerate().map(|(i, (turn, flipped))| {
            let at = Vector::new(20.0 + pitch * (i % 3) as f64, 20.0 + pitch * (i / 3) as f64);
            Placement { part: i % 3, copy: i / 3 + 1, pose: Pose::new(at, *turn, *flipped), locked: false }
        });
        verify(&job, &Layout { stock: 0, placements: placements.collect() });
    }
}

proptest! {
    /// What is kept from one asking to the next belongs to that part, kerf, rule and face alone.
    #[test]
    fn what_a_part_allows_is_the_same_when_asked_again(
        part in region::<PartSpace>(30.0),
        other in region::<PartSpace>(30.0),
        changes in proptest::collection::vec((any::<bool>(), 0..7usize, any::<bool>()), 6),
    ) {
        for (of_other, what, flipped) in changes {
            let part = if of_other { &other } else { &part };
            let mut job = job(sheet(100.0, 100.0, vec![]), vec![part.clone()], RULE);
            let rule = job.starts.as_mut().unwrap();
            match what {
                0 => job.clearances.kerf = 0.6,
                1 => rule.pierce = 2.5,
                2 => rule.lead = 5.0,
                3 => rule.clockwise_outside = !rule.clockwise_outside,
                4 => rule.form = LeadForm::Arc,
                5 => rule.least_lead = 0.5,
                _ => {}
            }
            let rule = job.starts.unwrap();
            for _ in 0..2 {
                let offered = Offered::new(&job).unwrap();
                prop_assert_eq!(
                    offered.of(0, flipped),
                    &choices(part, &job.clearances, &rule, flipped)
                );
            }
        }
    }
}

#[test]
fn arcs_run_onto_the_path_along_it() {
    // A disc and a round hole have no corner to run in along.
    let hole = Loop::circle(Point::new(40.0, 40.0), 25.0).unwrap();
    let disc = Region::new(Loop::circle(Point::new(40.0, 40.0), 40.0).unwrap(), vec![hole]);
    for clockwise_outside in [false, true] {
        let rule = StartRule { form: LeadForm::Arc, clockwise_outside, ..RULE };
        for (contour, offered) in choices(&disc, &CLEARANCES, &rule, false).iter().enumerate() {
            let best = &offered[0];
            let last = best.lead.last().unwrap();
            assert!(matches!(last, Edge::Arc { .. }), "{best:?}");
            let joins = best.joins();
            let out = joins - Point::new(40.0, 40.0);
            assert!(out.dot(last.direction(1.0)).abs() < 1e-6, "not along the path");
            // On the side of the waste, and far enough from what is kept.
            let off = best.pierce.distance(Point::new(40.0, 40.0));
            let spare = if contour == 0 { off - 40.0 } else { 25.0 - off };
            assert!(spare >= rule.pierce - 1e-3, "{spare}");
            let length: f64 = best.lead.iter().map(Edge::length).sum();
            assert!(length >= rule.least_lead - 1e-9);
        }
    }
}

/// How a plate so far from the left edge of a sheet starts from that, if it does.
fn from_left_edge(off: f64, rule: StartRule, no_go: bool) -> Option<Start<SheetSpace>> {
    let mut sheet = sheet(900.0, 600.0, vec![]);
    if no_go {
        let shape = rectangle(-50.0, 0.0, 47.0, 600.0);
        sheet.no_go.push(NoGo { name: "clamp".into(), shape, clearance: 5.0, stands_up: true });
    }
    let plate = Region::new(rectangle(0.0, 0.0, 100.0, 60.0), vec![]);
    let job = job(sheet, vec![plate], rule);
    let layout = Layout { stock: 0, placements: vec![laid(0, 1, off, 200.0)] };
    let starts = find_starts(&job, &layout, &Scene::new(&job, &layout));
    let start = starts.of[0][0].clone().unwrap();
    start.from_edge.then_some(start)
}

#[test]
fn outlines_start_from_an_old_edge_that_is_near_where_the_process_allows_it() {
    let edge = StartRule { from_edge: true, ..RULE };
    let start = from_left_edge(6.0, edge, false).unwrap();
    // Beside the sheet, by the lay and half a kerf at least, and straight in.
    assert!(start.pierce.x < -(CLEARANCES.lay + 0.5 * CLEARANCES.kerf), "{start:?}");
    assert!((start.joins().x - (6.0 - 0.5 * CLEARANCES.kerf)).abs() < 1e-6);
    assert_eq!(from_left_edge(6.0, RULE, false), None);
    // Too far, or into a clamp.
    assert_eq!(from_left_edge(60.0, edge, false), None);
    assert_eq!(from_left_edge(6.0, edge, true), None);
}
