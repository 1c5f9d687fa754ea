//! Plans that the packer makes: always clear, the same for the same seed, around what is locked.
#![cfg(test)]

use std::f64::consts::FRAC_PI_2;

use oddment_core::check::check;
use oddment_core::cutting::common::shared;
use oddment_core::distances::{Clearances, EdgeDistance, StartRule};
use oddment_core::job::{Budget, Stop};
use oddment_core::packer::{Packed, Settings, Strip, pack, shorten};
use oddment_core::part::{Part, Turning};
use oddment_core::plan::{Count, Job, Layout, Placement, Plan, Stock, Wanted};
use oddment_core::shape::{Loop, PartSpace, Point, Pose, Region, SheetSpace, Vector, Vertex};
use oddment_core::sheet::{EdgeFacts, Sheet};
use proptest::prelude::*;

const CLEARANCES: Clearances = Clearances {
    kerf: 0.3,
    web: 2.0,
    edge: EdgeDistance::all(5.0),
    sensing: 2.0,
    lay: 0.0,
    common: false,
};

fn rectangle<S: oddment_core::shape::Space>(width: f64, height: f64) -> Loop<S> {
    Loop::rectangle(Point::origin(), Point::new(width, height)).unwrap()
}

/// A bracket with a rounded shoulder and a bolt hole.
fn bracket(width: f64, height: f64) -> Part {
    let corner = |x, y, bulge| Vertex { point: Point::new(x, y), bulge };
    let outer = Loop::new([
        corner(0.0, 0.0, 0.0),
        corner(width, 0.0, 0.0),
        corner(width, height * 0.4, 0.3),
        corner(width * 0.4, height, 0.0),
        corner(0.0, height, -0.2),
    ]);
    let hole = Loop::circle(Point::new(width * 0.55, height * 0.25), width.min(height) * 0.08);
    Part::new("bracket", Region::new(outer.unwrap(), vec![hole.unwrap()]))
}

/// A sheet with a row of old round cut-outs.
fn offcut(holes: usize) -> Sheet {
    let round = (0..holes).map(|i| {
        let at = Point::new(60.0 + 90.0 * (i % 5) as f64, 60.0 + 100.0 * (i / 5) as f64);
        Loop::circle(at, 12.0 + i as f64).unwrap()
    });
    let metal: Region<SheetSpace> = Region::new(rectangle(500.0, 300.0), round.collect());
    Sheet::new("offcut", &[metal], EdgeFacts { give_or_take: 0.5, ..EdgeFacts::default() })
}

fn job(sheet: Sheet, sheets: usize, wanted: Vec<(Part, Count)>) -> Job {
    Job {
        stock: vec![Stock { sheet, count: sheets }],
        wanted: wanted.into_iter().map(|(part, count)| Wanted { part, count }).collect(),
        clearances: CLEARANCES,
        starts: None,
    }
}

fn packed(job: &Job, start: &Plan, seed: u64, threads: usize, steps: u64) -> Packed {
    let budget = Budget { steps: Some(steps), time_up: &|| false, stop: Stop::default() };
    let mut heard = Vec::new();
    let made = pack(job, start, Settings { seed, threads }, &budget, &mut |p| {
        heard.push(p.plan.clone());
    });
    for plan in heard.into_iter().chain([made.plan.clone()]) {
        let checked = check(job, plan);
        assert!(checked.is_clear(), "{:?}", checked.report().faults);
    }
    made
}

#[test]
fn an_order_goes_into_an_offcut() {
    let job = job(offcut(10), 1, vec![(bracket(60.0, 50.0), Count::Exactly(6))]);
    let made = packed(&job, &Plan::default(), 1, 0, 400);
    assert_eq!(made.plan.placed(0), 6);
}

#[test]
fn the_same_plan_on_any_number_of_threads() {
    let job = job(offcut(8), 1, vec![(bracket(70.0, 60.0), Count::Exactly(5))]);
    let one = packed(&job, &Plan::default(), 7, 1, 300);
    let two = packed(&job, &Plan::default(), 7, 2, 300);
    assert_eq!(one.plan, two.plan);
    assert_eq!(one.steps, two.steps);
}

#[test]
fn locked_parts_stay_where_they_are() {
    let job = job(offcut(4), 1, vec![(bracket(60.0, 50.0), Count::Exactly(5))]);
    let pose = Pose::new(Vector::new(200.0, 200.0), 0.3, false);
    let locked = Placement { part: 0, copy: 3, pose, locked: true };
    let start = Plan { layouts: vec![Layout { stock: 0, placements: vec![locked] }] };
    let made = packed(&job, &start, 2, 0, 200);
    assert!(made.plan.placements().any(|p| *p == locked));
    assert_eq!(made.plan.placed(0), 5);
}

#[test]
fn round_parts_are_laid_as_drawn_beside_a_locked_one_that_is_turned() {
    let round = |r| Loop::circle(Point::new(40.0, 10.0), r).unwrap();
    let washer = Part::new("washer", Region::new(round(20.0), vec![round(11.0)]));
    let job = job(offcut(8), 1, vec![(washer, Count::Exactly(24))]);
    let pose = Pose::new(Vector::new(400.0, 200.0), 0.3, false);
    let locked = Placement { part: 0, copy: 3, pose, locked: true };
    let start = Plan { layouts: vec![Layout { stock: 0, placements: vec![locked] }] };
    let made = packed(&job, &start, 2, 0, 400);
    assert!(made.plan.placements().any(|p| *p == locked));
    assert_eq!(made.plan.placed(0), 24);
    assert!(made.plan.placements().all(|p| *p == locked || p.pose.turn == 0.0));
}

#[test]
fn what_does_not_go_on_one_sheet_goes_on_the_next() {
    let job = job(offcut(0), 3, vec![(bracket(180.0, 130.0), Count::Exactly(12))]);
    let made = packed(&job, &Plan::default(), 3, 0, 2_000);
    assert_eq!(made.plan.placed(0), 12);
    assert!(made.plan.layouts.len() <= 3);
}

#[test]
fn as_many_as_go_in() {
    let job = job(offcut(0), 1, vec![(bracket(100.0, 100.0), Count::Max)]);
    let made = packed(&job, &Plan::default(), 3, 0, 400);
    assert!(made.plan.placed(0) >= 8, "{}", made.plan.placed(0));
}

#[test]
fn parts_with_room_lie_square_to_the_sheet() {
    let sizes = [(60.0, 50.0), (70.0, 40.0), (45.0, 80.0), (90.0, 35.0)];
    let wanted = sizes.map(|(width, height)| (bracket(width, height), Count::Exactly(2)));
    let job = job(offcut(4), 1, wanted.to_vec());
    let odd = |placement: &&Placement| {
        let quarters = placement.pose.turn / FRAC_PI_2;
        (quarters - quarters.round()).abs() > 1e-9
    };
    let made = [1, 2, 3].map(|seed| packed(&job, &Plan::default(), seed, 0, 3_000).plan);
    assert!(made.iter().all(|plan| plan.is_complete(&job)));
    let counts = made.map(|plan| plan.placements().filter(odd).count());
    assert!(counts.iter().sum::<usize>() <= 3, "at odd angles: {counts:?} of 8 each");
}

fn with_starts(job: Job) -> Job {
    Job { starts: Some(StartRule::STARTING), ..job }
}

fn block(width: f64, height: f64) -> Part {
    let shape = Region::new(rectangle::<PartSpace>(width, height), Vec::new());
    Part {
        turning: Turning::Only(vec![0.0, 1.5 * std::f64::consts::PI]),
        ..Part::new("block", shape)
    }
}

#[test]
fn blocks_move_apart_so_that_every_contour_can_be_started() {
    // Side by side with 1.3 mm between them they fill the sheet, but for a strip in which there is
    // room to start two rows of them.
    let clearances = Clearances { web: 0.7, edge: EdgeDistance::all(1.0), ..CLEARANCES };
    let metal = Region::new(rectangle(310.0, 208.0), Vec::new());
    let sheet = Sheet::new("plate", &[metal], EdgeFacts::default());
    let job = job(sheet, 1, vec![(block(100.0, 100.0), Count::Exactly(6))]);
    let job = with_starts(Job { clearances, ..job });
    let made = packed(&job, &Plan::default(), 1, 0, 4_000);
    assert_eq!(made.plan.placed(0), 6);
}

#[test]
fn rows_leave_room_for_starts() {
    let metal = Region::new(rectangle(600.0, 400.0), Vec::new());
    let sheet = Sheet::new("plate", &[metal], EdgeFacts::default());
    let job = with_starts(job(sheet, 1, vec![(bracket(60.0, 50.0), Count::Max)]));
    let made = packed(&job, &Plan::default(), 1, 0, 300);
    assert!(made.plan.placed(0) >= 40, "{}", made.plan.placed(0));
}

#[test]
fn a_part_that_is_too_big_is_left_out() {
    let big = Part::new("big", Region::new(rectangle(600.0, 20.0), Vec::new()));
    let wanted = vec![(big, Count::Exactly(1)), (bracket(60.0, 50.0), Count::Exactly(1))];
    let made = packed(&job(offcut(0), 1, wanted), &Plan::default(), 3, 0, 200);
    assert_eq!((made.plan.placed(0), made.plan.placed(1)), (0, 1));
}

/// How far right the parts of a plan's first sheet reach, mm.
fn reach(job: &Job, plan: &Plan) -> f64 {
    let right =
        |p: &Placement| job.wanted[p.part].part.region.outer().placed(&p.pose).bounds().max.x;
    plan.layouts[0].placements.iter().map(right).fold(0.0, f64::max)
}

#[test]
fn a_part_with_no_place_does_not_leave_the_others_in_a_heap() {
    let metal = |holes| Region::new(rectangle(2500.0, 1250.0), holes);
    // Wherever a large part lay on this one, it would lie over an old cut-out.
    let holes =
        (1..10).flat_map(|i| (1..5).map(move |j| (250.0 * f64::from(i), 250.0 * f64::from(j))));
    let holes = holes.map(|(x, y)| Loop::circle(Point::new(x, y), 2.0).unwrap()).collect();
    let small: Vec<Part> = (0..40)
        .map(|k| bracket(50.0 + 7.0 * f64::from(k % 9), 40.0 + 9.0 * f64::from(k % 7)))
        .collect();
    let boxed = |p: &Part| {
        let bounds = p.region.bounds().grown(3.0);
        bounds.width() * bounds.height()
    };
    let boxes: f64 = small.iter().map(boxed).sum();
    for (name, holes, size, steps) in
        [("plain", Vec::new(), 1260.0, 4_000), ("drilled", holes, 400.0, 4_000)]
    {
        let sheet = Sheet::new(name, &[metal(holes)], EdgeFacts::default());
        let large = Part::new("large", Region::new(rectangle(size, size), Vec::new()));
        let wanted = small.iter().cloned().chain([large]).map(|p| (p, Count::Exactly(1)));
        let job = job(sheet, 1, wanted.collect());
        let plan = packed(&job, &Plan::default(), 1, 2, steps).plan;
        assert_eq!((plan.placements().count(), plan.placed(40)), (40, 0));
        let reach = reach(&job, &plan);
        // As long as a column of all boxes would be; a heap is more than three times as long.
        assert!(reach < 2.0 * boxes / 1250.0, "{name}: reaches {reach} mm");
    }
}

#[test]
fn parts_that_may_not_turn_are_not_turned() {
    let mut part = bracket(60.0, 50.0);
    part.turning = Turning::none();
    let made =
        packed(&job(offcut(6), 1, vec![(part, Count::Exactly(4))]), &Plan::default(), 5, 0, 300);
    assert_eq!(made.plan.placed(0), 4);
    assert!(made.plan.placements().all(|p| p.pose.turn == 0.0));
}

#[test]
fn a_strip_is_shortened_on_the_threads_asked_for() {
    for threads in [1, 3] {
        let strip =
            Strip { width: 100.0, parts: vec![(bracket(60.0, 50.0), 4)], clearances: CLEARANCES };
        let budget = Budget { steps: Some(200), time_up: &|| false, stop: Stop::default() };
        let mut ran_on = Vec::new();
        let settings = Settings { seed: 1, threads };
        shorten(&strip, settings, &budget, &mut |_| ran_on.push(rayon::current_num_threads()))
            .unwrap();
        assert!(!ran_on.is_empty() && ran_on.iter().all(|n| *n == threads), "{ran_on:?}");
    }
}

#[test]
fn squares_fill_a_strip_side_by_side() {
    let square: Region<PartSpace> = Region::new(rectangle(10.0, 10.0), Vec::new());
    let mut part = Part::new("square", square);
    part.turning = Turning::none();
    let strip = Strip { width: 31.0, parts: vec![(part, 9)], clearances: Clearances::NONE };
    let budget = Budget { steps: Some(1_500), time_up: &|| false, stop: Stop::default() };
    let made = shorten(&strip, Settings { seed: 1, threads: 0 }, &budget, &mut |_| {}).unwrap();
    assert_eq!(made.placements.len(), 9);
    assert!(made.length < 30.01, "{}", made.length);
}

fn polygon(corners: &[[f64; 2]]) -> Part {
    let outline = Loop::polygon(corners.iter().map(|[x, y]| Point::new(*x, *y)));
    Part::new("piece", Region::new(outline.unwrap(), Vec::new()))
}

#[test]
fn rows_of_triangles_leave_no_metal_over() {
    let gusset = polygon(&[[0.0, 0.0], [100.0, 0.0], [0.0, 60.0]]);
    let plate: Region<SheetSpace> = Region::new(rectangle(1000.0, 600.0), Vec::new());
    let sheet = Sheet::new("plate", &[plate], EdgeFacts::default());
    let mut job = job(sheet, 1, vec![(gusset, Count::Max)]);
    job.clearances = Clearances::NONE;
    let made = packed(&job, &Plan::default(), 1, 0, 100);
    assert_eq!(made.plan.placed(0), 200);
}

/// A rectangle of 300 × 200 sawn along crooked lines.
fn sawn() -> Vec<Part> {
    let pieces: [&[[f64; 2]]; 6] = [
        &[[0.0, 0.0], [90.0, 0.0], [110.0, 60.0], [80.0, 110.0], [0.0, 95.0]],
        &[[90.0, 0.0], [210.0, 0.0], [190.0, 80.0], [110.0, 60.0]],
        &[[210.0, 0.0], [300.0, 0.0], [300.0, 120.0], [220.0, 105.0], [190.0, 80.0]],
        &[[0.0, 95.0], [80.0, 110.0], [100.0, 200.0], [0.0, 200.0]],
        &[
            [80.0, 110.0],
            [110.0, 60.0],
            [190.0, 80.0],
            [220.0, 105.0],
            [185.0, 200.0],
            [100.0, 200.0],
        ],
        &[[220.0, 105.0], [300.0, 120.0], [300.0, 200.0], [185.0, 200.0]],
    ];
    pieces.into_iter().map(polygon).collect()
}

#[test]
fn what_was_sawn_from_a_plate_goes_back_into_it_at_any_turn() {
    // Half a millimetre more all round than the pieces take.
    let plate: Region<SheetSpace> = Region::new(rectangle(301.0, 201.0), Vec::new());
    let sheet = Sheet::new("plate", &[plate], EdgeFacts::default());
    let wanted = sawn().into_iter().map(|part| (part, Count::Exactly(1))).collect();
    let mut job = job(sheet, 1, wanted);
    job.clearances = Clearances::NONE;
    let made = packed(&job, &Plan::default(), 2, 0, 60_000);
    assert!(made.plan.is_complete(&job), "{} placed", made.plan.placements().count());
}

#[test]
fn what_was_sawn_from_a_strip_tiles_it() {
    let parts = sawn().into_iter().map(|part| (Part { turning: Turning::none(), ..part }, 1));
    let strip = Strip { width: 200.0, parts: parts.collect(), clearances: Clearances::NONE };
    let budget = Budget { steps: Some(30_000), time_up: &|| false, stop: Stop::default() };
    let made = shorten(&strip, Settings { seed: 1, threads: 0 }, &budget, &mut |_| {}).unwrap();
    assert!(made.length < 300.001, "{}", made.length);
}

#[test]
fn nothing_leaves_the_metal_by_a_hair_where_no_distance_is_asked() {
    let lying: Loop<SheetSpace> = Loop::polygon(
        [(0.0, 0.0), (300.0, 0.0), (300.0, 100.0), (120.0, 220.0), (0.0, 220.0)]
            .map(|(x, y)| Point::new(x, y)),
    )
    .unwrap();
    let round = |k: i32| {
        let angle = std::f64::consts::TAU * f64::from(k) / 40.0;
        Point::new(150.0 + 45.0 * angle.cos(), 110.0 + 38.0 * angle.sin())
    };
    let cut_out: Loop<SheetSpace> = Loop::polygon((0..40).map(round)).unwrap();
    let bare = (rectangle(300.0, 220.0), Vec::new());
    let cut = (rectangle(300.0, 220.0), vec![cut_out]);
    for (outline, cut_outs) in [bare, (lying, Vec::new()), cut] {
        let metal = Region::new(outline, cut_outs);
        let sheet = Sheet::new("sheet", std::slice::from_ref(&metal), EdgeFacts::default());
        let mut part = polygon(&[[3.0, 5.0], [61.0, 11.0], [37.0, 52.0], [9.0, 40.0]]);
        part.turning = Turning::steps(std::f64::consts::PI / 12.0);
        let mut job = job(sheet, 1, vec![(part, Count::Max)]);
        job.clearances = Clearances::NONE;
        let rows = packed(&job, &Plan::default(), 1, 0, 400).plan;
        assert!(rows.placed(0) > 8);
        job.wanted[0].count = Count::Exactly(7);
        let few = (1..9).map(|seed| packed(&job, &Plan::default(), seed, 0, 400).plan);
        let plans: Vec<Plan> = few.chain([rows]).collect();
        for placement in plans.iter().flat_map(Plan::placements) {
            let laid = job.wanted[0].part.region.outer().placed(&placement.pose);
            assert!(laid.vertices().iter().all(|v| metal.contains(v.point)), "{placement:?}");
            let part = Region::new(laid, Vec::new());
            let mut corners = metal.holes().iter().flat_map(Loop::vertices);
            assert!(!corners.any(|v| part.contains(v.point)), "{placement:?}");
        }
    }
}

#[test]
fn an_order_for_several_sheets_takes_the_fewest() {
    let blocks = vec![
        (polygon(&[[0.0, 0.0], [200.0, 0.0], [200.0, 190.0], [0.0, 190.0]]), Count::Exactly(4)),
        (polygon(&[[0.0, 0.0], [90.0, 0.0], [90.0, 190.0], [0.0, 190.0]]), Count::Exactly(4)),
    ];
    let plate: Region<SheetSpace> = Region::new(rectangle(300.0, 400.0), Vec::new());
    let sheet = Sheet::new("plate", &[plate], EdgeFacts::default());
    let mut job = job(sheet, 4, blocks);
    job.clearances = Clearances::NONE;
    let made = packed(&job, &Plan::default(), 1, 0, 5_000);
    assert!(made.plan.is_complete(&job));
    assert_eq!(made.plan.layouts.len(), 2);
}

/// A plate of 300 mm sawn in five, from a point inside to five on its edge.
fn fan(k: u32) -> Vec<Part> {
    let around = |t: f64| match t.rem_euclid(4.0) {
        t if t < 1.0 => [300.0 * t, 0.0],
        t if t < 2.0 => [300.0, 300.0 * (t - 1.0)],
        t if t < 3.0 => [300.0 * (3.0 - t), 300.0],
        t => [0.0, 300.0 * (4.0 - t)],
    };
    let k = f64::from(k);
    let middle = [90.0 + 15.0 * k, 220.0 - 18.0 * k];
    let ends: Vec<f64> = [0.2, 0.9, 1.7, 2.6, 3.3]
        .iter()
        .enumerate()
        .map(|(i, t)| t + 0.07 * k * (1.0 + i as f64 % 3.0))
        .collect();
    let piece = |i: usize| {
        let (from, to) = (ends[i], if i == 4 { ends[0] + 4.0 } else { ends[i + 1] });
        let corners = (from.floor() as u32 + 1..).map(f64::from).take_while(|t| *t < to);
        let edge = std::iter::once(from).chain(corners).chain([to]).map(around);
        let part = polygon(&edge.chain([middle]).collect::<Vec<_>>());
        Part { turning: Turning::none(), ..part }
    };
    (0..5).map(piece).collect()
}

#[test]
fn what_was_sawn_from_several_sheets_goes_back_into_as_many() {
    let pieces = (0..6).flat_map(fan).map(|part| (part, Count::Exactly(1))).collect();
    let plate: Region<SheetSpace> = Region::new(rectangle(300.0, 300.0), Vec::new());
    let sheet = Sheet::new("plate", &[plate], EdgeFacts::default());
    let mut job = job(sheet, 9, pieces);
    job.clearances = Clearances::NONE;
    let made = packed(&job, &Plan::default(), 1, 0, 100_000);
    assert!(made.plan.is_complete(&job));
    assert_eq!(made.plan.layouts.len(), 6);
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(16))]

    #[test]
    fn whatever_is_laid_can_be_started(
        sizes in prop::collection::vec((20.0..120.0, 20.0..90.0), 1..5),
        holes in 0_usize..10,
        web in 0.5..4.0,
        seed in 0_u64..100,
    ) {
        let wanted = sizes.into_iter().map(|(w, h)| (bracket(w, h), Count::Exactly(3))).collect();
        let job = job(offcut(holes), 1, wanted);
        let job = with_starts(Job { clearances: Clearances { web, ..CLEARANCES }, ..job });
        packed(&job, &Plan::default(), seed, 0, 200);
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(12))]

    #[test]
    fn any_small_job_gives_a_clear_plan(
        seed in 0_u64..1000,
        holes in 0_usize..10,
        width in 30.0..120.0_f64,
        height in 30.0..120.0_f64,
        count in 1_usize..12,
    ) {
        let job = job(offcut(holes), 1, vec![(bracket(width, height), Count::Exactly(count))]);
        let made = packed(&job, &Plan::default(), seed, 0, 150);
        prop_assert!(made.plan.placed(0) <= count);
    }
}

/// The pairs of placed parts that share a cut.
fn sharing(job: &Job, plan: &Plan) -> Vec<[Placement; 2]> {
    let outline = |p: &Placement| -> Vec<_> {
        let outer = job.wanted[p.part].part.region.outer();
        outer.placed::<SheetSpace>(&p.pose).edges().collect()
    };
    let of = |l: &Layout| {
        let pairs = l.placements.iter().enumerate();
        let pairs = pairs.flat_map(|(n, a)| l.placements[..n].iter().map(move |b| [*a, *b]));
        let share = |[a, b]: &[Placement; 2]| {
            !shared(&outline(a), &outline(b), job.clearances.kerf).is_empty()
        };
        pairs.filter(share).collect::<Vec<_>>()
    };
    plan.layouts.iter().flat_map(of).collect()
}

fn with_common_cuts(mut job: Job) -> Job {
    job.clearances.common = true;
    job.starts = Some(StartRule::STARTING);
    job
}

#[track_caller]
fn check_common(wanted: Vec<(Part, Count)>, at_least: usize) {
    let job = with_common_cuts(job(offcut(0), 1, wanted));
    let found = packed(&job, &Plan::default(), 1, 0, 1200);
    let checked = check(&job, found.plan.clone());
    assert!(checked.is_clear(), "{:?}", checked.report());
    assert!(found.plan.is_complete(&job));
    assert!(found.plan.placements().all(|p| !p.locked));
    let pairs = sharing(&job, &found.plan).len();
    assert!(pairs >= at_least, "{pairs} pairs share a cut");
}

#[test]
fn where_cuts_may_be_shared_copies_are_laid_in_strips() {
    let plate = |w: f64, h: f64| Part::new("plate", Region::new(rectangle(w, h), vec![]));
    // A strip of six, as long as a row of six.
    check_common(vec![(plate(100.0, 40.0), Count::Exactly(6))], 5);
    // Where strips bring nothing all is laid the same.
    check_common(
        vec![(plate(90.0, 50.0), Count::Exactly(3)), (bracket(80.0, 60.0), Count::Exactly(2))],
        0,
    );
    // Only as drawn.
    let mut as_drawn = plate(80.0, 50.0);
    as_drawn.turning = Turning::none();
    check_common(vec![(as_drawn, Count::Exactly(4))], 3);
    // Gussets in pairs along their long side, one of them turned by half a turn.
    let corners = [(0.0, 0.0), (120.0, 0.0), (0.0, 90.0)].map(|(x, y)| Point::new(x, y));
    let gusset = Region::new(Loop::polygon(corners).unwrap(), vec![]);
    check_common(vec![(Part::new("gusset", gusset), Count::Exactly(6))], 3);
    // Discs share none, and are laid all the same.
    let disc = Region::new(Loop::circle(Point::new(0.0, 0.0), 30.0).unwrap(), vec![]);
    check_common(vec![(Part::new("disc", disc), Count::Exactly(4))], 0);
}

#[test]
fn shared_cuts_leave_room_for_more() {
    // 3.8 mm from the edges 292.4 mm are left for plates of 48 mm: five with 8.6 mm between them, or
    // six where they share cuts.
    let plate = Part::new("plate", Region::new(rectangle(450.0, 48.0), vec![]));
    let mut job = job(offcut(0), 1, vec![(plate, Count::Max)]);
    job.clearances.web = 8.0;
    job.clearances.edge = EdgeDistance::all(3.0);
    let apart = packed(&job, &Plan::default(), 1, 0, 400).plan.placements().count();
    let joined = with_common_cuts(job);
    let plan = packed(&joined, &Plan::default(), 1, 0, 400).plan;
    assert!(check(&joined, plan.clone()).is_clear());
    assert_eq!((apart, plan.placements().count()), (5, 6));
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(12))]

    /// Whatever is laid with common cuts is clear, no less than without, and takes no more length.
    #[test]
    fn with_common_cuts_plans_are_clear(
        sizes in proptest::collection::vec((20.0..150.0f64, 15.0..90.0f64, 1..9usize), 1..4),
        holes in 0..6usize,
        seed in any::<u64>(),
    ) {
        let plate = |(w, h, n): (f64, f64, usize)| {
            (Part::new(format!("{w} {h}"), Region::new(rectangle(w, h), vec![])), Count::Exactly(n))
        };
        let wanted: Vec<_> = sizes.into_iter().map(plate).collect();
        let job = with_common_cuts(job(offcut(holes), 1, wanted));
        let mut apart = job.clone();
        apart.clearances.common = false;
        // Half of the steps is for either way.
        let without = measured(&job, &packed(&apart, &Plan::default(), seed, 0, 60).plan);
        let found = packed(&job, &Plan::default(), seed, 0, 120);
        let checked = check(&job, found.plan.clone());
        prop_assert!(checked.is_clear(), "{:?}", checked.report());
        prop_assert!(found.plan.placements().all(|p| !p.locked));
        let with = measured(&job, &found.plan);
        let as_much = (with.0 - without.0).abs() < 1e-6;
        prop_assert!(with.0 > without.0 || as_much && with.1 <= without.1 + 0.06, "{with:?} {without:?}");
    }
}

/// The area that a plan lays, mm², and the length it takes, mm, with a millimetre for each part that
/// lies askew.
fn measured(job: &Job, plan: &Plan) -> (f64, f64) {
    let region = |p: &Placement| &job.wanted[p.part].part.region;
    let area = plan.placements().map(|p| region(p).area()).sum();
    let right = |p: &Placement| region(p).outer().placed::<SheetSpace>(&p.pose).bounds().max.x;
    let reach = plan.placements().map(right).fold(0.0, f64::max);
    let askew = plan.placements().filter(|p| !is_square(p.pose.turn)).count();
    (area, reach + askew as f64)
}

fn is_square(turn: f64) -> bool {
    let off = turn.rem_euclid(FRAC_PI_2);
    off.min(FRAC_PI_2 - off) < 1e-9
}

#[test]
fn strips_lie_square_and_take_no_more_length_than_rows() {
    let plate = |w: f64, h: f64| Part::new("plate", Region::new(rectangle(w, h), vec![]));
    for wanted in [
        vec![(plate(110.0, 38.0), Count::Exactly(7)), (plate(52.0, 31.0), Count::Exactly(9))],
        vec![(plate(96.0, 70.0), Count::Exactly(5)), (bracket(80.0, 60.0), Count::Exactly(4))],
        vec![(plate(290.0, 20.0), Count::Exactly(3)), (plate(33.0, 33.0), Count::Exactly(20))],
    ] {
        let common = with_common_cuts(job(offcut(0), 1, wanted));
        let mut apart = common.clone();
        apart.clearances.common = false;
        // Half of the steps is for either way.
        let plain = measured(&apart, &packed(&apart, &Plan::default(), 3, 0, 700).plan);
        let plan = packed(&common, &Plan::default(), 3, 0, 1400).plan;
        let joined = measured(&common, &plan);
        assert!(joined.0 >= plain.0 - 1e-6 && joined.1 <= plain.1 + 0.06, "{joined:?} {plain:?}");
        let strips = sharing(&common, &plan);
        assert!(strips.iter().flatten().all(|p| is_square(p.pose.turn)), "askew");
    }
}
