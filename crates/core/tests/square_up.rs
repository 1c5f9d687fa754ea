//! Squaring up, by synthetic measurements with known truth.
#![cfg(test)]

use fastrand::Rng;
use oddment_core::check::{Basis, Fault, Party, check, check_laid};
use oddment_core::distances::{Clearances, EdgeDistance};
use oddment_core::machine::Bed;
use oddment_core::part::Part;
use oddment_core::plan::{Count, Job, Layout, Placement, Plan, Stock, Wanted};
use oddment_core::shape::{BedSpace, Loop, Point, Pose, Region, SheetSpace, Space, Vector};
use oddment_core::sheet::{EdgeFacts, EdgeKind, Sheet};
use oddment_core::square_up::{
    Clamp, Explanation, Feature, Fit, How, Measured, SquaredUp, Verdict, What, features, fit,
    judge, sharper, worth_measuring,
};

const POINTER: f64 = 0.5;

fn rectangle<S: Space>(x: f64, y: f64, w: f64, h: f64) -> Loop<S> {
    Loop::rectangle(Point::new(x, y), Point::new(x + w, y + h)).unwrap()
}

/// An L of 1000 × 600 with a round hole and a square cut-out.
fn offcut(give_or_take: f64) -> Sheet {
    let outer = Loop::polygon(
        [(0.0, 0.0), (1000.0, 0.0), (1000.0, 400.0), (650.0, 400.0), (650.0, 600.0), (0.0, 600.0)]
            .map(|(x, y)| Point::new(x, y)),
    );
    let holes = vec![
        Loop::circle(Point::new(820.0, 310.0), 9.0).unwrap(),
        rectangle(120.0, 380.0, 80.0, 80.0),
    ];
    let facts = EdgeFacts { kind: EdgeKind::Mill, give_or_take };
    Sheet::new("offcut", &[Region::new(outer.unwrap(), holes)], facts)
}

fn feature(sheet: &Sheet, x: f64, y: f64, is_point: bool) -> Feature {
    let near = |f: &Feature| f.distance(Point::new(x, y));
    let all = features(sheet).into_iter().filter(|f| f.is_point() == is_point);
    let found = all.min_by(|a, b| near(a).total_cmp(&near(b))).unwrap();
    assert!(near(&found) < 1e-6, "nothing there to measure");
    found
}

fn normal(rng: &mut Rng) -> f64 {
    let (u, v) = (1.0 - rng.f64(), rng.f64());
    (-2.0 * u.ln()).sqrt() * (std::f64::consts::TAU * v).cos()
}

/// What would be measured of these places (corners, middles, or anywhere along an edge) of a sheet that
/// lies so: off by the pointer's and the record's give or take, which are two standard deviations.
fn measured(
    sheet: &Sheet,
    places: &[(f64, f64, bool)],
    lies: &Pose<SheetSpace, BedSpace>,
    noise: f64,
    rng: &mut Rng,
) -> Vec<Measured> {
    let one = |&(x, y, is_point): &(f64, f64, bool)| {
        let feature = feature(sheet, x, y, is_point);
        let deviation = noise * POINTER.hypot(feature.give_or_take) / 2.0;
        let off = Vector::new(normal(rng), normal(rng)) * deviation;
        Measured { feature, at: lies.apply(Point::new(x, y)) + off, give_or_take: POINTER }
    };
    places.iter().map(one).collect()
}

fn some_pose(rng: &mut Rng) -> Pose<SheetSpace, BedSpace> {
    let turn = (rng.f64() - 0.5) * 0.4;
    Pose::new(Vector::new(rng.f64() * 900.0, rng.f64() * 500.0), turn, false)
}

/// Whether every point of the sheet lies within its lay of where the fit has it.
fn holds(fit: &Fit, lies: &Pose<SheetSpace, BedSpace>) -> bool {
    let grid = (0..=10).flat_map(|i| (0..=6).map(move |j| (i, j)));
    grid.map(|(i, j)| Point::new(f64::from(i) * 100.0, f64::from(j) * 100.0))
        .all(|p: Point<SheetSpace>| fit.pose.apply(p).distance(lies.apply(p)) <= fit.lay.at(p))
}

const CORNERS: [(f64, f64, bool); 4] =
    [(0.0, 0.0, true), (1000.0, 0.0, true), (1000.0, 400.0, true), (0.0, 600.0, true)];
const MIXED: [(f64, f64, bool); 5] = [
    (200.0, 0.0, false),
    (900.0, 0.0, false),
    (0.0, 300.0, false),
    (820.0, 310.0, true),
    (650.0, 500.0, false),
];

#[test]
fn the_pose_is_recovered_within_the_lay_that_remains_in_95_of_100_trials() {
    for (places, name) in [(&CORNERS[..2], "two"), (&CORNERS, "four"), (&MIXED, "mixed")] {
        let mut rng = Rng::with_seed(8);
        let sheet = offcut(1.0);
        let mut held = 0;
        for _ in 0..1000 {
            let lies = some_pose(&mut rng);
            let fit = fit(&measured(&sheet, places, &lies, 1.0, &mut rng)).unwrap();
            held += usize::from(holds(&fit, &lies));
        }
        println!("{name}: held in {held} of 1000");
        assert!(held >= 950, "{name}: {held}");
    }
}

#[test]
fn without_noise_the_pose_is_exact_and_the_lay_grows_away_from_what_was_measured() {
    let mut rng = Rng::with_seed(1);
    let sheet = offcut(0.0);
    for places in [&CORNERS[..2], &CORNERS, &MIXED] {
        let lies = some_pose(&mut rng);
        let fit = fit(&measured(&sheet, places, &lies, 0.0, &mut rng)).unwrap();
        assert!((fit.pose.turn - lies.turn).abs() < 1e-9);
        assert!((fit.pose.shift - lies.shift).length() < 1e-6);
        assert!(fit.residuals.iter().all(|r| r.off.length() < 1e-6));
    }
    // By hand: two points 1000 apart, each good to 0.25 in x and y. In the middle the lay is
    // 2.7955 · 0.25/√2; at one of them the turn adds (0.25/√2)² once more.
    let lies = Pose::new(Vector::new(10.0, 20.0), 0.1, false);
    let fit = fit(&measured(&sheet, &CORNERS[..2], &lies, 0.0, &mut rng)).unwrap();
    let [middle, end, far] =
        [500.0, 1000.0, 2000.0].map(|x| fit.lay.at(Point::<SheetSpace>::new(x, 0.0)));
    let one = 0.25 / 2f64.sqrt();
    assert!((middle - 2.7955 * one).abs() < 1e-6, "{middle}");
    assert!((end - 2.7955 * one * 2f64.sqrt()).abs() < 1e-6, "{end}");
    assert!((far - 2.7955 * one * 10f64.sqrt()).abs() < 1e-6, "{far}");
}

#[test]
fn what_is_left_open_is_said() {
    let sheet = offcut(0.5);
    let mut rng = Rng::with_seed(2);
    let lies = some_pose(&mut rng);
    let verdict = |places: &[(f64, f64, bool)]| {
        let measured = measured(&sheet, places, &lies, 0.0, &mut Rng::with_seed(1));
        judge(&sheet, &measured, &[]).verdict
    };
    assert!(matches!(verdict(&[]), Verdict::Open(_)));
    assert!(matches!(verdict(&CORNERS[..1]), Verdict::Open(_)));
    let one_edge = [(100.0, 0.0, false), (500.0, 0.0, false), (900.0, 0.0, false)];
    assert!(matches!(verdict(&one_edge), Verdict::Open(_)));
    assert_eq!(verdict(&MIXED[..3]), Verdict::Untested);
    assert_eq!(verdict(&CORNERS[..2]), Verdict::Fine);
}

/// One of four or six measurements is off by 6 to 600 mm: it is named and counts for nothing, what is left over is
/// told of it too, and the pose is as sure as it says. Of three it is named, and left to a person.
#[test]
fn a_bad_measurement_is_outvoted() {
    let sheet = offcut(0.5);
    let mut rng = Rng::with_seed(3);
    let six = [&CORNERS[..], &[(820.0, 310.0, true), (200.0, 380.0, true)]].concat();
    for places in [&six[..4], &six] {
        let (mut outvoted, mut held, mut named, n) = (0, 0, 0, places.len());
        for trial in 0..1000 {
            let lies = some_pose(&mut rng);
            let bad = trial % n;
            let mut all = measured(&sheet, places, &lies, 1.0, &mut rng);
            let off = Vector::at_angle(rng.f64() * 6.3) * 6.0 * 100_f64.powf(rng.f64());
            all[bad].at = all[bad].at + off;
            let judged = judge(&sheet, &all, &[]);
            if judged.verdict == Verdict::Outvoted(bad) {
                outvoted += 1;
                let fit = judged.relied_on().unwrap();
                assert_eq!((fit.residuals.len(), judged.counted(&all).len()), (n, n - 1));
                assert!((fit.residuals[bad].off - off).length() < 5.0, "{off:?}");
                held += usize::from(holds(fit, &lies));
            }
            let three = judge(&sheet, &[all[bad], all[(bad + 1) % n], all[(bad + 2) % n]], &[]);
            assert!(!matches!(three.verdict, Verdict::Outvoted(_)));
            named += usize::from(matches!(
                three.verdict,
                Verdict::TooLarge(found) if matches!(found.first(), Some(Explanation::Bad(0, _)))
            ));
        }
        println!(
            "a bad one of {n} outvoted in {outvoted} of 1000, held in {held}; of three named in {named}"
        );
        assert!(outvoted >= 950 && held * 100 >= outvoted * 95, "{n}: {outvoted} {held}");
    }
}

/// On another sheet than the planned one, alike but for its hole, or its hole and its notch: nothing is relied on,
/// with or without a bad measurement besides.
#[test]
fn another_sheet_is_not_relied_on_for_one_bad_measurement() {
    let mut rng = Rng::with_seed(6);
    let sheet = offcut(1.0);
    let places = [&CORNERS[..], &[(820.0, 310.0, true), (650.0, 400.0, true)]].concat();
    let mut relied_on = 0;
    for trial in 0..500 {
        let lies = some_pose(&mut rng);
        let mut all = measured(&sheet, &places, &lies, 1.0, &mut rng);
        // They lie 12 mm elsewhere, each its own way.
        let elsewhere = |m: &mut Measured, rng: &mut Rng, mm: f64| {
            m.at = m.at + Vector::at_angle(rng.f64() * 6.3) * mm;
        };
        elsewhere(&mut all[4], &mut rng, 12.0);
        if trial % 3 > 0 {
            elsewhere(&mut all[5], &mut rng, 12.0);
        }
        if trial % 3 == 1 {
            elsewhere(&mut all[trial % 4], &mut rng, 30.0);
        }
        relied_on += usize::from(judge(&sheet, &all, &[]).relied_on().is_some());
    }
    println!("another sheet with bad measurements relied on in {relied_on} of 500");
    assert!(relied_on <= 5, "{relied_on}");
}

#[test]
fn a_turned_or_flipped_sheet_is_told() {
    // Measured as if it lay as recorded: at the corners of its box and at the hole's place.
    let sheet = offcut(0.5);
    let mut rng = Rng::with_seed(4);
    // The sheet without its notch, so that the corners alone say nothing.
    let outer = rectangle(0.0, 0.0, 1000.0, 600.0);
    let hole = Loop::circle(Point::new(820.0, 310.0), 9.0).unwrap();
    let far = Loop::circle(Point::new(150.0, 80.0), 9.0).unwrap();
    let facts = EdgeFacts { kind: EdgeKind::Mill, give_or_take: 0.5 };
    let plain = Sheet::new("plain", &[Region::new(outer, vec![hole, far])], facts);
    let corners = [(0.0, 0.0), (1000.0, 0.0), (1000.0, 600.0), (0.0, 600.0)];
    for (flipped, quarters) in [(false, 2), (true, 0), (true, 2)] {
        let how = How { quarters, flipped };
        let about = Pose::<SheetSpace, SheetSpace>::new(
            Vector::default(),
            f64::from(quarters) * std::f64::consts::FRAC_PI_2,
            flipped,
        );
        let middle = Point::<SheetSpace>::new(500.0, 300.0);
        let shift = middle - about.apply(middle);
        let about = Pose::<SheetSpace, SheetSpace>::new(shift, about.turn, flipped);
        let mut told = 0;
        for _ in 0..100 {
            let lies = some_pose(&mut rng);
            let mut all = Vec::new();
            // The operator takes what lies at the lower left for the lower left corner, and so on.
            for (x, y) in corners {
                let feature = feature(&plain, x, y, true);
                let noise = Vector::new(normal(&mut rng), normal(&mut rng)) * 0.3;
                let at = lies.apply(Point::new(x, y)) + noise;
                all.push(Measured { feature, at, give_or_take: POINTER });
            }
            let taken_for = feature(&plain, 820.0, 310.0, true);
            let really = about.apply(Point::new(820.0, 310.0));
            let at = lies.apply(really) + Vector::new(normal(&mut rng), normal(&mut rng)) * 0.3;
            all.push(Measured { feature: taken_for, at, give_or_take: POINTER });
            let Verdict::TooLarge(explained) = judge(&plain, &all, &[]).verdict else { continue };
            told += usize::from(
                matches!(explained.first(), Some(Explanation::Otherwise(is, ..)) if *is == how),
            );
        }
        println!("{how:?} told in {told} of 100");
        assert!(told >= 95, "{how:?}: {told}");
    }
    // Four corners of a rectangle say nothing of how it lies, and that is said with what would.
    let lies = some_pose(&mut rng);
    let places = corners.map(|(x, y)| (x, y, true));
    let judged = judge(&plain, &measured(&plain, &places, &lies, 0.5, &mut rng), &[]);
    assert_eq!(judged.verdict, Verdict::Fine);
    assert!(judged.doubts.iter().any(|d| d.how == How { quarters: 2, flipped: false }));
    assert!(judged.doubts.iter().all(|d| matches!(d.tell.what, What::Middle(..))));
    // The notched sheet leaves no doubt, once its notch was measured.
    let places = [CORNERS[0], CORNERS[1], CORNERS[2], (650.0, 400.0, true)];
    let judged = judge(&sheet, &measured(&sheet, &places, &lies, 0.5, &mut rng), &[]);
    assert!(judged.verdict == Verdict::Fine && judged.doubts.is_empty());
}

/// One corner of three hit in place of another: that is likelier than a sheet with its other face up, of which
/// another corner was hit by mistake too.
#[test]
fn a_corner_taken_for_another_is_told() {
    let sheet = offcut(0.5);
    let mut rng = Rng::with_seed(12);
    let places = [CORNERS[0], CORNERS[1], CORNERS[3]];
    let mut told = 0;
    for _ in 0..100 {
        let lies = some_pose(&mut rng);
        let mut all = measured(&sheet, &places, &lies, 0.5, &mut rng);
        all[0].feature = feature(&sheet, 1000.0, 400.0, true);
        let Verdict::TooLarge(explained) = judge(&sheet, &all, &[]).verdict else { continue };
        told += usize::from(matches!(
            explained.first(),
            Some(Explanation::Otherwise(How::AS_TAKEN, taken, _))
                if taken[0].feature == feature(&sheet, 0.0, 0.0, true)
        ));
        let said: Vec<How> = explained
            .iter()
            .filter_map(|e| match e {
                Explanation::Otherwise(how, ..) if *how != How::AS_TAKEN => Some(*how),
                _ => None,
            })
            .collect();
        assert!((1..said.len()).all(|n| !said[..n].contains(&said[n])), "{said:?}");
    }
    println!("a corner taken for another told in {told} of 100");
    assert!(told >= 95, "{told}");
}

/// A rectangle with one wide round cut-out: its corners can't tell a half turn from none, a place on the cut-out
/// can; and what was measured already never does.
#[test]
fn what_corners_leave_open_is_told_by_a_place_that_lies_otherwise() {
    let outer = rectangle(0.0, 0.0, 1000.0, 600.0);
    let hole = Loop::circle(Point::new(250.0, 200.0), 60.0).unwrap();
    let facts = EdgeFacts { kind: EdgeKind::Mill, give_or_take: 0.5 };
    let sheet = Sheet::new("plain", &[Region::new(outer, vec![hole])], facts);
    let mut rng = Rng::with_seed(9);
    let lies = some_pose(&mut rng);
    let corners =
        [(0.0, 0.0, true), (1000.0, 600.0, true), (0.0, 600.0, true), (1000.0, 0.0, true)];
    for count in [2, 3, 4] {
        let all = measured(&sheet, &corners[..count], &lies, 0.5, &mut rng);
        let judged = judge(&sheet, &all, &[]);
        assert_eq!(judged.verdict, Verdict::Fine);
        let half_turn = How { quarters: 2, flipped: false };
        let told = judged.doubts.iter().find(|d| d.how == half_turn).unwrap();
        assert!(told.tell.distance(Point::new(250.0, 200.0)) < 61.0, "{told:?}");
        for doubt in &judged.doubts {
            assert!(all.iter().all(|m| m.feature != doubt.tell), "{doubt:?}");
            assert!(doubt.how != How::AS_TAKEN, "{doubt:?}");
        }
        // Measured there it is known: the sheet lies as taken.
        let there =
            Measured { feature: told.tell, at: lies.apply(told.tell.at()), give_or_take: POINTER };
        let judged = judge(&sheet, &[all, vec![there]].concat(), &[]);
        assert_eq!(judged.verdict, Verdict::Fine);
        assert!(judged.doubts.iter().all(|d| d.how != half_turn), "{:?}", judged.doubts);
    }
}

#[test]
fn another_sheet_is_told_from_the_right_one() {
    let mut rng = Rng::with_seed(5);
    let planned = offcut(1.0);
    let (mut missed, mut named, mut false_alarms) = (0, 0, 0);
    for _ in 0..500 {
        // Alike but for a notch that is 10 mm elsewhere, and a hole that is 12 mm off.
        let mut points = [
            (0.0, 0.0),
            (1000.0, 0.0),
            (1000.0, 400.0),
            (640.0, 400.0),
            (640.0, 600.0),
            (0.0, 600.0),
        ]
        .map(|(x, y)| Point::new(x, y));
        points[3].x -= rng.f64() * 5.0;
        points[4].x = points[3].x;
        let holes = vec![Loop::circle(Point::new(832.0, 310.0), 9.0).unwrap()];
        let facts = EdgeFacts { kind: EdgeKind::Mill, give_or_take: 1.0 };
        let region = Region::new(Loop::polygon(points).unwrap(), holes);
        let other = Sheet::new("other", &[region], facts);
        let lies = some_pose(&mut rng);
        let at = |x: f64| points[3].x + (x - 650.0);
        let on_other = [CORNERS[0], CORNERS[1], (at(650.0), 400.0, true), (832.0, 310.0, true)];
        let on_planned = [CORNERS[0], CORNERS[1], (650.0, 400.0, true), (820.0, 310.0, true)];
        let mut all = measured(&other, &on_other, &lies, 1.0, &mut rng);
        for (m, place) in all.iter_mut().zip(on_planned) {
            m.feature = feature(&planned, place.0, place.1, place.2);
        }
        match judge(&planned, &all, &[other]).verdict {
            Verdict::TooLarge(explained) => {
                named += usize::from(
                    explained.iter().any(|e| matches!(e, Explanation::OtherSheet(0, _))),
                );
            }
            _ => missed += 1,
        }
        // Nor is it relied on where nobody knows which other sheet it is.
        missed += usize::from(judge(&planned, &all, &[]).relied_on().is_some());
        let right = measured(&planned, &on_planned, &lies, 1.0, &mut rng);
        false_alarms += usize::from(judge(&planned, &right, &[]).verdict != Verdict::Fine);
    }
    println!("another sheet: missed {missed}, named {named}, false alarms {false_alarms}, of 500");
    assert!(missed <= 5 && named >= 480 && false_alarms <= 15);
}

const RULE: Clearances = Clearances {
    kerf: 1.0,
    web: 2.0,
    edge: EdgeDistance::all(5.0),
    sensing: 2.0,
    lay: 4.0,
    common: false,
};

/// A plate of 100 × 50 with its lower left corner there on the offcut.
fn planned(x: f64, y: f64, give_or_take: f64) -> (Job, Plan) {
    let region = Region::new(rectangle(0.0, 0.0, 100.0, 50.0), Vec::new());
    let wanted = Wanted { part: Part::new("plate", region), count: Count::Exactly(1) };
    let stock = vec![Stock { sheet: offcut(give_or_take), count: 1 }];
    let job = Job { stock, wanted: vec![wanted], clearances: RULE, starts: None };
    let pose = Pose::shifted(Vector::new(x, y));
    let placements = vec![Placement { part: 0, copy: 1, pose, locked: false }];
    (job, Plan { layouts: vec![Layout { stock: 0, placements }] })
}

fn squared_up(give_or_take: f64, lies: &Pose<SheetSpace, BedSpace>) -> SquaredUp {
    let sheet = offcut(give_or_take);
    let all = measured(&sheet, &CORNERS, lies, 0.0, &mut Rng::with_seed(1));
    SquaredUp::new(judge(&sheet, &all, &[]).relied_on().unwrap()).unwrap()
}

#[test]
fn a_sheet_turned_by_two_degrees_is_checked_again_with_its_clamps() {
    let (job, plan) = planned(30.0, 30.0, 0.0);
    assert!(check(&job, plan.clone()).is_clear());
    let turn = 2f64.to_radians();
    let lies = Pose::new(Vector::new(100.0, 50.0), turn, false);
    let mut laid = squared_up(0.0, &lies);
    let verdict = |laid: &SquaredUp| check_laid(&job, plan.clone(), vec![Some(laid.clone())]);
    assert!(verdict(&laid).is_clear());
    assert_eq!(verdict(&laid).basis(), Basis::SquaredUp);
    laid.ticked = true;
    assert_eq!(verdict(&laid).basis(), Basis::Laid);
    // The plate's lower side is y = 30 on the sheet. By hand: on the bed it crosses x = 180, the clamp's
    // left side, at y = 50 + s·sin 2° + 30·cos 2° with s = (80 + 30·sin 2°)/cos 2°, rising to the right.
    // The clamp's upper left corner is nearest to it; k/2 + 10 = 10.5 is asked, and no lay.
    let (sin, cos) = turn.sin_cos();
    let side = 50.0 + (80.0 + 30.0 * sin) / cos * sin + 30.0 * cos;
    let below = |distance: f64| Clamp {
        name: "clamp 1".into(),
        shape: rectangle(180.0, side - distance / cos - 20.0, 100.0, 20.0),
        clearance: 10.0,
    };
    laid.clamps = vec![below(10.6)];
    let checked = verdict(&laid);
    assert!(checked.is_clear(), "{:?}", checked.report());
    laid.clamps = vec![below(10.4)];
    let checked = verdict(&laid);
    let Some(Fault::Short(short)) = checked.report().faults.first() else { panic!("not seen") };
    assert_eq!(short.other, Party::NoGo(0));
    assert!((short.required - 10.5).abs() < 1e-9);
    assert!((short.gap.distance - 10.4).abs() < 1e-6, "{short:?}");
    // Turned as planned the side would run at y = 80, and this clamp be 2.8 mm nearer to it.
    let mut straight = squared_up(0.0, &Pose::new(Vector::new(100.0, 50.0), 0.0, false));
    straight.clamps = vec![below(10.6)];
    assert!(!verdict(&straight).is_clear());
}

#[test]
fn the_lay_that_remains_stands_in_for_the_planned_one() {
    // 5 + 1 + the lay: with 4 planned 10 are asked, squared up 5 + 1 + 0.7 or less.
    let (job, plan) = planned(8.0, 100.0, 0.0);
    assert!(!check(&job, plan.clone()).is_clear());
    let lies = Pose::new(Vector::new(100.0, 50.0), 0.02, false);
    let laid = squared_up(0.0, &lies);
    let checked = check_laid(&job, plan, vec![Some(laid.clone())]);
    assert!(checked.is_clear(), "{:?}", checked.report());
    let tightest = checked.report().tightest.as_ref().unwrap();
    let lay = tightest.required - 6.0;
    let least = laid.lay().at(Point::new(0.0, 125.0));
    assert!(lay >= least && lay <= laid.lay().at(Point::new(0.0, 0.0)).max(least) + 0.06);
}

#[test]
fn the_head_stays_within_its_reach() {
    let (job, plan) = planned(30.0, 30.0, 0.0);
    let lies = Pose::new(Vector::new(-29.0, 50.0), 0.0, false);
    let mut laid = squared_up(0.0, &lies);
    laid.bed = Some(Bed { width: 3050.0, height: 1550.0 });
    // The plate's left side is at x = 1, the beam's centre at 0.5.
    let at = |laid: &SquaredUp| check_laid(&job, plan.clone(), vec![Some(laid.clone())]);
    assert!(at(&laid).is_clear());
    let mut laid = squared_up(0.0, &Pose::new(Vector::new(-29.6, 50.0), 0.0, false));
    laid.bed = Some(Bed { width: 3050.0, height: 1550.0 });
    let checked = at(&laid);
    assert!(matches!(&checked.report().faults[..], [Fault::Short(m)] if m.other == Party::NoGo(0)));
}

#[test]
fn measuring_sharpens_the_record_and_the_edge_worth_it_is_named() {
    // Recorded ±3 (a photograph), measured at six corners with the pointer.
    let sheet = offcut(3.0);
    let mut rng = Rng::with_seed(6);
    let lies = some_pose(&mut rng);
    let places = [
        CORNERS[0],
        CORNERS[1],
        CORNERS[2],
        CORNERS[3],
        (650.0, 400.0, true),
        (650.0, 600.0, true),
    ];
    let all = measured(&sheet, &places, &lies, 0.0, &mut rng);
    let fit = fit(&all).unwrap();
    let found = sharper(&sheet, &all, &fit);
    for s in &found {
        assert!(s.is < s.was && s.contour == 0, "{s:?}");
        assert!(s.is >= POINTER);
    }
    assert!(!found.is_empty());
    // Surer of its edges than three points can say: nothing is made less sure by measuring roughly.
    let sheet = offcut(1.0);
    let lies = some_pose(&mut rng);
    let three = measured(&sheet, &CORNERS[..3], &lies, 0.0, &mut rng);
    assert!(sharper(&sheet, &three, &oddment_core::square_up::fit(&three).unwrap()).is_empty());
    // 2.0 give or take: 5 + 1 + 4 + 2 = 12 asked, 11.4 there: 0.6 short.
    let (job, plan) = planned(11.4, 100.0, 2.0);
    let checked = check(&job, plan);
    let worth = worth_measuring(&job, &checked);
    assert_eq!(worth.len(), 1);
    assert!((worth[0].short - 0.6).abs() < 1e-9 && worth[0].give_or_take == 2.0);
    // 2.6 short is more than measuring could bring.
    let (job, plan) = planned(9.4, 100.0, 2.0);
    assert!(worth_measuring(&job, &check(&job, plan)).is_empty());
}
