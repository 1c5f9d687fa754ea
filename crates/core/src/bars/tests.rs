use proptest::prelude::*;

use super::*;
use crate::job::{Budget, Stop};

fn planned(list: &CutList, steps: u64) -> BarPlan {
    let budget = Budget { steps: Some(steps), time_up: &|| false, stop: Stop::default() };
    let plan = list.plan(&budget, &mut |_| {}).unwrap();
    assert_eq!(check(list, &plan), []);
    plan
}

fn list(kerf: f64, grips: [f64; 2], stock: &[f64], parts: &[(f64, usize)]) -> CutList {
    CutList {
        kerf,
        grips,
        stock: stock.iter().map(|l| Stock { length: *l, count: None, cost: None }).collect(),
        parts: parts
            .iter()
            .map(|(length, count)| Wanted { length: *length, count: *count })
            .collect(),
    }
}

#[test]
fn cuts_and_grips_count() {
    // Three parts and two cuts fill the bar; a grip with its cut does not go in beside them.
    let full = list(3.0, [0.0, 0.0], &[6000.0], &[(1998.0, 3)]);
    assert_eq!(planned(&full, 100).bars.len(), 1);
    let gripped = CutList { grips: [50.0, 0.0], ..full.clone() };
    assert_eq!(planned(&gripped, 100).bars.len(), 2);
    let just = list(3.0, [50.0, 80.0], &[6000.0], &[(2929.0, 1), (2932.0, 1)]);
    assert_eq!(planned(&just, 100).bars.len(), 1);
    let over = list(3.0, [50.0, 80.0], &[6000.0], &[(2930.0, 1), (2932.0, 1)]);
    assert_eq!(planned(&over, 100).bars.len(), 2);
}

#[test]
fn inches_fill_a_bar_to_its_end() {
    let inch = 25.4;
    let third =
        list(inch / 8.0, [0.0, 0.0], &[240.0 * inch], &[(79.0 * inch + inch * 11.0 / 12.0, 3)]);
    assert_eq!(planned(&third, 100).bars.len(), 1);
}

#[test]
fn ends_are_sawn_where_that_costs_nothing() {
    // One bar holds two of each beside three cuts, or the ends of two parts may be the bar's own.
    let parts = [(2000.0, 2), (1000.0, 2), (1990.0, 1)];
    let sawn = planned(&list(4.0, [0.0, 0.0], &[6010.0], &parts), 500);
    for bar in &sawn.bars {
        let length: f64 = bar.parts.iter().map(|p| parts[*p].0).sum();
        assert!(length + 4.0 * (bar.parts.len() + 1) as f64 <= 6010.0, "{bar:?}");
    }
}

#[test]
fn every_line_that_cannot_be_meant_is_named() {
    let mut bad = list(-1.0, [0.0, f64::NAN], &[6000.0, 0.0], &[(100.0, 0), (-5.0, 1)]);
    bad.stock[0].cost = Some(-2.0);
    let said: Vec<String> = bad.faults().iter().map(ToString::to_string).collect();
    let wanted = ["kerf is -1", "far grip", "stock line 1 costs -2", "stock line 2", "part line 2"];
    assert_eq!(said.len(), wanted.len(), "{said:?}");
    for words in wanted {
        assert!(said.iter().any(|s| s.contains(words)), "{words} in {said:?}");
    }
    let long = list(3.0, [100.0, 0.0], &[6000.0], &[(5950.0, 1), (5897.0, 1)]);
    assert_eq!(
        long.faults(),
        [CutListFault::TooLong { line: Line::Part(1), length: 5950.0, longest: 5897.0 }]
    );
    assert_eq!(list(0.0, [0.0; 2], &[1.0], &[]).faults(), [CutListFault::NoParts]);
    assert_eq!(list(0.0, [0.0; 2], &[], &[(1.0, 1)]).faults(), [CutListFault::NoStock]);
}

#[test]
fn the_check_finds_what_is_wrong() {
    let given = list(3.0, [10.0, 0.0], &[1000.0], &[(490.0, 2), (100.0, 2)]);
    let plan = planned(&given, 100);
    let faults = |change: &dyn Fn(&mut BarPlan)| {
        let mut changed = plan.clone();
        change(&mut changed);
        check(&given, &changed).iter().map(ToString::to_string).collect::<Vec<_>>().join("\n")
    };
    assert!(!faults(&|p| p.bars[0].parts = vec![0, 0]).contains("take"));
    assert!(faults(&|p| p.bars[0].parts = vec![0, 0, 1]).contains("take 1099.000 mm"));
    assert!(faults(&|p| p.bars[0].stock = 7).contains("does not have"));
    assert!(faults(&|p| p.bars[0].parts.truncate(1)).contains("are wanted"));
    assert!(faults(&|p| p.missing[0] = 1).contains("part line 1"));
    assert!(faults(&|p| p.cost += 1.0).contains("is said to cost"));
    let mut few = given.clone();
    few.stock[0].count = Some(0);
    assert!(check(&few, &plan).iter().any(|f| matches!(f, BarFault::TooFewBars { .. })));
}

proptest! {
    #[test]
    fn plans_pass_the_check(
        kerf in prop::sample::select(vec![0.0, 0.2, 2.4, 3.175]),
        grips in prop::array::uniform2(prop::sample::select(vec![0.0, 35.0])),
        stock in prop::collection::vec((500.0..7000.0, prop::option::of(1_usize..5)), 1..6),
        parts in prop::collection::vec((20.0..420.0, 1_usize..6), 1..12),
    ) {
        let list = CutList {
            kerf,
            grips,
            stock: stock.into_iter().map(|(length, count)| Stock { length, count, cost: None }).collect(),
            parts: parts.into_iter().map(|(length, count)| Wanted { length, count }).collect(),
        };
        let plan = planned(&list, 30);
        prop_assert!(plan.lower_bound <= plan.cost);
    }
}
