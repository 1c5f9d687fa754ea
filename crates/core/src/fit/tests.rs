use super::*;
use crate::distances::EdgeDistance;
use crate::job::Stop;
use crate::shape::{Bounds, Loop, Region, Space};
use crate::sheet::EdgeFacts;

fn rectangle<S: Space>(x: f64, y: f64, width: f64, height: f64) -> Loop<S> {
    Loop::rectangle(Point::new(x, y), Point::new(x + width, y + height)).unwrap()
}

fn circle<S: Space>(x: f64, y: f64, radius: f64) -> Loop<S> {
    Loop::circle(Point::new(x, y), radius).unwrap()
}

fn part(outer: Loop<PartSpace>, holes: Vec<Loop<PartSpace>>) -> Part {
    Part::new("part", Region::new(outer, holes))
}

fn sheet(outer: Loop<SheetSpace>, cutouts: Vec<Loop<SheetSpace>>) -> Sheet {
    Sheet::new("sheet", &[Region::new(outer, cutouts)], EdgeFacts::default())
}

/// A rule that asks for `mm` from everything.
fn apart(mm: f64) -> Clearances {
    Clearances { web: mm, sensing: mm, edge: EdgeDistance::all(mm), ..Clearances::NONE }
}

/// Asks, and holds a pose found against the check.
fn ask(sheet: &Sheet, part: &Part, clearances: &Clearances) -> Answer {
    let budget = Budget { steps: Some(300_000), time_up: &|| false, stop: Stop::default() };
    let answer = fit(sheet, part, clearances, RESOLUTION, &budget);
    let job = Job {
        stock: vec![Stock { sheet: sheet.clone(), count: 1 }],
        wanted: vec![Wanted { part: part.clone(), count: Count::Exactly(1) }],
        clearances: *clearances,
        starts: None,
    };
    if answer.verdict == Verdict::Fits {
        let plan = alone(answer.pose.expect("a pose where it fits"));
        assert!(check(&job, plan).is_clear());
    }
    answer
}

fn expect(sheet: &Sheet, part: &Part, clearances: &Clearances, verdict: Verdict) {
    let answer = ask(sheet, part, clearances);
    assert_eq!(answer.verdict, verdict, "{answer:?}");
}

use Verdict::{CannotFit, Fits};

#[test]
fn a_part_as_large_as_the_sheet_fits_and_a_larger_one_does_not() {
    let sheet = sheet(rectangle(0.0, 0.0, 200.0, 100.0), vec![]);
    let own = |grown: f64| part(rectangle(-30.0, 7.0, 190.0 + grown, 90.0 + grown), vec![]);
    expect(&sheet, &own(0.0), &apart(5.0), Fits);
    expect(&sheet, &own(-1.0), &apart(5.0), Fits);
    expect(&sheet, &own(0.05), &apart(5.0), CannotFit);
    let touching = |grown: f64| part(rectangle(0.0, 0.0, 200.0 + grown, 100.0 + grown), vec![]);
    expect(&sheet, &touching(0.0), &Clearances::NONE, Fits);
    expect(&sheet, &touching(0.05), &Clearances::NONE, CannotFit);
}

#[test]
fn a_bar_fits_a_square_by_its_diagonal_if_it_may_turn() {
    let sheet = sheet(rectangle(0.0, 0.0, 100.0, 100.0), vec![]);
    // Corner to corner there is room for a length of 100·√2 less the width.
    let length = 100.0 * 2.0_f64.sqrt() - 4.0;
    let bar = |grown: f64| part(rectangle(0.0, 0.0, length + grown, 4.0), vec![]);
    expect(&sheet, &bar(0.0), &Clearances::NONE, Fits);
    expect(&sheet, &bar(0.02), &Clearances::NONE, CannotFit);
    let mut square_on = bar(0.0);
    square_on.turning = Turning::steps(PI / 2.0);
    expect(&sheet, &square_on, &Clearances::NONE, CannotFit);
}

#[test]
fn a_ring_fits_round_an_old_cut_out() {
    let crowded = |r: f64| sheet(rectangle(0.0, 0.0, 104.0, 104.0), vec![circle(52.0, 52.0, r)]);
    let ring = part(circle(3.0, 4.0, 50.0), vec![circle(3.0, 4.0, 40.0)]);
    expect(&crowded(38.0), &ring, &apart(2.0), Fits);
    expect(&crowded(38.01), &ring, &apart(2.0), CannotFit);
}

#[test]
fn a_disc_fits_a_round_island() {
    let metal = [
        Region::new(rectangle(0.0, 0.0, 300.0, 200.0), vec![circle(150.0, 100.0, 80.0)]),
        Region::new(circle(150.0, 100.0, 70.0), vec![]),
    ];
    let sheet = Sheet::new("sheet", &metal, EdgeFacts::default());
    expect(&sheet, &part(circle(0.0, 0.0, 68.0), vec![]), &apart(2.0), Fits);
    expect(&sheet, &part(circle(0.0, 0.0, 68.01), vec![]), &apart(2.0), CannotFit);
}

/// Holds the region against the check at many positions: clear within it, not clear beyond it.
fn compare_region(sheet: &Sheet, part: &Part, turn: f64, flipped: bool, clearances: &Clearances) {
    const BOUND: f64 = 0.05;
    let face = (turn, flipped);
    let region = fit_region(sheet, part, face, clearances, BOUND, &Stop::default()).unwrap();
    let job = Job {
        stock: vec![Stock { sheet: sheet.clone(), count: 1 }],
        wanted: vec![Wanted { part: part.clone(), count: Count::Exactly(1) }],
        clearances: *clearances,
        starts: None,
    };
    let rims: Vec<_> = region.iter().map(Region::edge_set).collect();
    let mut random = fastrand::Rng::with_seed(1);
    let bounds = sheet.bounds().grown(10.0);
    let (mut inside, mut outside) = (0, 0);
    for n in 0..600 {
        let mut p = Point::new(
            bounds.min.x + random.f64() * bounds.width(),
            bounds.min.y + random.f64() * bounds.height(),
        );
        if n % 2 == 0 && !rims.is_empty() {
            // Half of them close to the region's rim.
            let rim = &rims[random.usize(..rims.len())];
            let edge = rim.edges()[random.usize(..rim.edges().len())];
            let off = crate::shape::Vector::at_angle(random.f64() * 6.3) * (6.0 * BOUND);
            p = edge.at(random.f64()) + off * random.f64();
        }
        let within = region.iter().any(|r| r.contains(p));
        let off = rims.iter().map(|r| r.distance_to(p)).fold(f64::INFINITY, f64::min);
        let clear = check(&job, alone(Pose::new(p.to_vector(), turn, flipped))).is_clear();
        if within {
            inside += 1;
            let report = check(&job, alone(Pose::new(p.to_vector(), turn, flipped)));
            assert!(
                clear || off < 1e-3,
                "{p:?} lies {off} mm in the region, but is not clear: {:?}",
                report.report().tightest
            );
        } else if off > 2.0 * BOUND {
            outside += 1;
            assert!(!clear, "{p:?} lies {off} mm off the region, but is clear");
        }
    }
    assert!(inside > 30 && outside > 30, "{inside} inside, {outside} outside: too few to tell");
}

fn pocketed() -> Sheet {
    let slot = Loop::new(
        [(60.0, 15.0, 0.0), (90.0, 15.0, 1.0), (90.0, 21.0, 0.0), (60.0, 21.0, 1.0)]
            .map(|(x, y, bulge)| crate::shape::Vertex { point: Point::new(x, y), bulge }),
    )
    .unwrap();
    let corner = Loop::polygon(
        [(20.0, 60.0), (50.0, 60.0), (50.0, 64.0), (24.0, 64.0), (24.0, 90.0), (20.0, 90.0)]
            .map(|(x, y)| Point::new(x, y)),
    )
    .unwrap();
    let cutouts = vec![
        circle(30.0, 25.0, 6.0),
        circle(120.0, 70.0, 10.0),
        rectangle(100.0, 20.0, 12.0, 9.0),
        slot,
        corner,
    ];
    let mut sheet = sheet(rectangle(0.0, 0.0, 150.0, 100.0), cutouts);
    sheet.bodies[0].outer = crate::sheet::Contour::with_facts(
        sheet.bodies[0].outer.shape().clone(),
        [0.0, 1.5, 0.0, 3.0]
            .map(|give_or_take| EdgeFacts { give_or_take, ..EdgeFacts::default() })
            .to_vec(),
    )
    .unwrap();
    sheet
}

fn bracket() -> Part {
    let outer = Loop::new(
        [
            (0.0, 0.0, 0.0),
            (40.0, 0.0, 1.0),
            (40.0, 10.0, 0.0),
            (12.0, 10.0, 0.0),
            (12.0, 30.0, 0.4),
            (0.0, 30.0, 0.0),
        ]
        .map(|(x, y, bulge)| crate::shape::Vertex { point: Point::new(x, y), bulge }),
    )
    .unwrap();
    Part { flip: true, ..part(outer, vec![circle(6.0, 6.0, 3.0)]) }
}

#[test]
fn the_region_of_positions_agrees_with_the_check() {
    for (turn, flipped, mm) in [(0.0, false, 2.0), (0.7, false, 0.0), (2.5, true, 1.0)] {
        compare_region(&pocketed(), &bracket(), turn, flipped, &apart(mm));
    }
}

#[test]
fn the_region_lets_old_cut_outs_lie_in_holes_of_the_part() {
    let frame = part(
        rectangle(-30.0, -30.0, 60.0, 60.0),
        vec![rectangle(-26.0, -26.0, 45.0, 45.0), circle(21.0, 21.0, 4.0)],
    );
    let tri =
        Loop::polygon([(70.0, 60.0), (84.0, 62.0), (75.0, 76.0)].map(|(x, y)| Point::new(x, y)));
    for cutout in [circle(75.0, 65.0, 8.0), rectangle(70.0, 60.0, 12.0, 9.0), tri.unwrap()] {
        let sheet = sheet(rectangle(0.0, 0.0, 150.0, 130.0), vec![cutout]);
        compare_region(&sheet, &frame, 0.4, false, &apart(1.5));
    }
}

#[test]
fn the_region_takes_in_islands() {
    let metal = [
        Region::new(rectangle(0.0, 0.0, 300.0, 200.0), vec![circle(150.0, 100.0, 80.0)]),
        Region::new(rectangle(110.0, 60.0, 80.0, 70.0), vec![]),
    ];
    let sheet = Sheet::new("sheet", &metal, EdgeFacts::default());
    compare_region(&sheet, &bracket(), 1.0, false, &apart(2.0));
}

/// A sheet full of cut-outs, each moved up to a part laid in it until `mm` are left between them.
fn closed_in(random: &mut fastrand::Rng, part: &Part, mm: f64) -> Sheet {
    let turn = random.f64() * 6.0;
    let pose: Pose<PartSpace, SheetSpace> =
        Pose::new(crate::shape::Vector::new(100.0, 70.0), turn, false);
    let laid = part.region.edge_set().placed(&pose);
    let outer = rectangle(0.0, 0.0, 200.0, 140.0);
    let mut cutouts = Vec::new();
    for _ in 0..150 {
        let size = 1.0 + 8.0 * random.f64();
        let shape: Loop<SheetSpace> =
            if random.bool() { circle(0.0, 0.0, size) } else { rectangle(0.0, 0.0, size, 3.0) };
        let at = crate::shape::Vector::new(random.f64() * 180.0, random.f64() * 120.0);
        let mut shape = shape.placed(&Pose::new(at, random.f64() * 6.0, false));
        let edges = Region::new(shape.clone(), vec![]).edge_set();
        let Some(gap) = laid.spare(&edges, f64::INFINITY) else { continue };
        if gap.distance <= mm {
            continue;
        }
        if gap.distance < 30.0 {
            let by = (gap.from - gap.to) * (1.0 - mm / gap.distance);
            shape = shape.placed(&Pose::shifted(by));
        }
        let bounds = shape.bounds().grown(1.0);
        if Bounds::of([outer.vertices()[0].point, outer.vertices()[2].point])
            .contains_bounds(&bounds)
        {
            cutouts.push(shape);
        }
    }
    sheet(outer, cutouts)
}

#[test]
fn a_part_that_was_closed_in_all_round_is_found() {
    let mut random = fastrand::Rng::with_seed(11);
    for mm in [0.0, 0.5, 2.0] {
        for _ in 0..3 {
            let sheet = closed_in(&mut random, &bracket(), mm);
            expect(&sheet, &bracket(), &apart(mm), Fits);
        }
    }
}

#[test]
fn the_answer_is_the_same_on_any_number_of_threads() {
    let mut random = fastrand::Rng::with_seed(5);
    let sheet = closed_in(&mut random, &bracket(), 1.0);
    let on = |threads: usize| {
        let pool = rayon::ThreadPoolBuilder::new().num_threads(threads).build().unwrap();
        let answer = pool.install(|| ask(&sheet, &bracket(), &apart(1.2)));
        (answer.verdict, answer.pose, answer.steps)
    };
    assert_eq!(on(1), on(3));
}

#[test]
fn a_stopped_search_proves_nothing() {
    let sheet = sheet(rectangle(0.0, 0.0, 1000.0, 50.0), vec![]);
    let stop = Stop::default();
    stop.raise();
    let budget = Budget { steps: None, time_up: &|| false, stop };
    let part = part(rectangle(0.0, 0.0, 100.0, 50.05), vec![]);
    let answer = fit(&sheet, &part, &Clearances::NONE, RESOLUTION, &budget);
    assert_eq!(answer.verdict, Verdict::Undecided);
    assert!(answer.shortfall().is_some_and(|s| s > 0.02), "{answer:?}");
}

#[test]
fn many_sheets_get_the_answers_that_each_gets_alone() {
    let sheets = [
        sheet(rectangle(0.0, 0.0, 60.0, 60.0), vec![]),
        sheet(rectangle(0.0, 0.0, 60.0, 60.0), vec![circle(30.0, 30.0, 20.0)]),
        sheet(rectangle(0.0, 0.0, 20.0, 20.0), vec![]),
    ];
    let budget = Budget { steps: Some(100_000), time_up: &|| false, stop: Stop::default() };
    let sheets: Vec<&Sheet> = sheets.iter().collect();
    let answers = room_on(&sheets, &bracket(), &apart(1.0), RESOLUTION, &budget);
    let verdicts: Vec<Verdict> = answers.iter().map(|a| a.verdict).collect();
    assert_eq!(verdicts, [Fits, CannotFit, CannotFit]);
}

#[test]
fn what_of_a_shortfall_is_give_or_take_is_told() {
    let facts = EdgeFacts { give_or_take: 2.0, ..EdgeFacts::default() };
    let metal = Region::new(rectangle(0.0, 0.0, 100.0, 60.0), vec![]);
    let sheet = Sheet::new("sheet", &[metal], facts);
    let answer = ask(&sheet, &part(rectangle(0.0, 0.0, 97.2, 57.2), vec![]), &apart(0.0));
    assert_eq!(answer.verdict, CannotFit);
    assert_eq!(answer.uncertain, 2.0);
    assert!((answer.shortfall().unwrap() - 0.6).abs() < 1e-3, "{answer:?}");
}

#[test]
fn what_tables_tell_of_room_holds_wherever_it_is_looked_up() {
    let metal = [
        Region::new(
            Loop::polygon(
                [(0.0, 0.0), (300.0, 0.0), (300.0, 120.0), (140.0, 200.0), (0.0, 200.0)]
                    .map(|(x, y)| Point::new(x, y)),
            )
            .unwrap(),
            vec![circle(80.0, 90.0, 60.0), rectangle(180.0, 20.0, 70.0, 50.0)],
        ),
        Region::new(circle(80.0, 90.0, 30.0), vec![circle(85.0, 90.0, 8.0)]),
    ];
    let mut sheet = Sheet::new("sheet", &metal, EdgeFacts::default());
    sheet.no_go.push(crate::sheet::NoGo {
        name: "clamp".into(),
        shape: rectangle(20.0, 160.0, 90.0, 60.0),
        clearance: 3.0,
        stands_up: true,
    });
    let mut random = fastrand::Rng::with_seed(5);
    for clearances in [Clearances::NONE, apart(4.0), Clearances::STARTING] {
        let field = Field::new(&sheet, &clearances);
        for n in 0..4000 {
            let p = Point::new(320.0 * random.f64() - 10.0, 230.0 * random.f64() - 10.0);
            let room = field.room(p).value;
            let blur = [0.1, 1.0, 5.0, 20.0][n % 4];
            let (low, high) = field.room_between(p, blur);
            assert!(low <= room + 1e-9 && room <= high + 1e-9, "{p:?}: {low} {room} {high}");
            assert!(room >= -field.deepest(p) - 1e-9, "{p:?}: {room} {}", field.deepest(p));
        }
    }
}
