use super::*;
use crate::distances::EdgeDistance;
use crate::job::Stop;
use crate::shape::{Loop, Region, Space};
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
