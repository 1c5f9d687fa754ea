use proptest::prelude::*;

use super::profile::{Profile, Section};
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
        stock: stock.iter().map(|l| Stock { length: *l, ..Stock::default() }).collect(),
        parts: parts
            .iter()
            .map(|(length, count)| Wanted { length: *length, count: *count, ..Wanted::default() })
            .collect(),
        ..CutList::default()
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
        let length: f64 = bar.pieces.iter().map(|p| parts[p.part].0).sum();
        assert!(length + 4.0 * (bar.pieces.len() + 1) as f64 <= 6010.0, "{bar:?}");
    }
}

#[test]
fn a_cheaper_plan_with_sawn_ends_is_told_with_its_own_cost() {
    // So few steps that the search for sawn ends finds more than the one before it.
    let parts = [
        (204.85962720504057, 1),
        (379.75595536985423, 2),
        (339.33877651054024, 5),
        (227.9478043687873, 5),
        (197.70637549238904, 3),
        (357.80090929948074, 4),
        (385.4079447069899, 3),
        (388.8655023545969, 2),
        (156.6340609717406, 5),
        (351.26664450969986, 3),
        (162.52396532633543, 5),
    ];
    let stock = [4831.207353548111, 6579.515296663745, 2809.3617785265255];
    planned(&list(0.2, [35.0, 0.0], &stock, &parts), 30);
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
    assert!(faults(&|p| p.bars[0].pieces[0].at -= 1.0).contains("part 1 lies from 12.000"));
    assert!(faults(&|p| p.bars[0].pieces[1].at -= 1.0).contains("between parts 1 and 2 are 2.000"));
    assert!(
        faults(&|p| p.bars[0].pieces[1].at += 10.0).contains("can be used from 13.000 to 1000")
    );
    assert!(faults(&|p| p.bars[0].pieces[0].reversed = true).contains("is turned"));
    assert!(faults(&|p| p.bars[0].stock = 7).contains("does not have"));
    assert!(faults(&|p| p.bars[0].pieces.truncate(1)).contains("are wanted"));
    assert!(faults(&|p| p.missing[0] = 1).contains("part line 1"));
    assert!(faults(&|p| p.cost += 1.0).contains("is said to cost"));
    let mut few = given.clone();
    few.stock[0].count = Some(0);
    assert!(check(&few, &plan).iter().any(|f| matches!(f, BarFault::TooFewBars { .. })));
    few.machine.longest_load = Some(900.0);
    assert!(check(&few, &plan).iter().any(|f| matches!(f, BarFault::CantBeLoaded { .. })));
}

fn square_tube() -> Profile {
    let section = Section::RectangularTube { width: 40.0, height: 40.0, wall: 2.0, corner: 3.0 };
    Profile { name: "40 × 40 × 2".to_owned(), section, density: profile::STEEL, seam: None }
}

/// Frame sides of 1,000 mm with both ends at 45°, of a tube 40 mm high.
fn frame(bar: f64, count: usize) -> CutList {
    let mut frame = list(0.0, [0.0, 0.0], &[bar], &[(1000.0, count)]);
    frame.profile = Some(square_tube());
    frame.parts[0].ends = [std::f64::consts::FRAC_PI_4; 2];
    frame
}

#[test]
fn mitres_nest_where_the_section_and_seam_allow() {
    // Each of three junctions saves the 40 mm that the mitres run across.
    let four = frame(4000.0 - 3.0 * 40.0, 4);
    let plan = planned(&four, 100);
    assert_eq!((plan.bars.len(), plan.proven), (1, true));
    let over: Vec<bool> = plan.bars[0].pieces.iter().map(|p| p.turned_over).collect();
    assert!(over.windows(2).all(|pair| pair[0] != pair[1]), "every other is turned: {over:?}");
    assert_eq!(planned(&CutList { fixed_turn: true, ..four.clone() }, 100).bars.len(), 2);
    // With its seam at the front a part is turned over and end for end, with it on top it is not.
    for (seam, bars) in [(Face::Front, 1), (Face::Top, 2)] {
        let mut seamed = four.clone();
        seamed.profile = Some(Profile { seam: Some(seam), ..square_tube() });
        assert_eq!(planned(&seamed, 100).bars.len(), bars, "{seam:?}");
    }
    let kerf = CutList { kerf: 2.0, ..four.clone() };
    assert_eq!(planned(&kerf, 100).bars.len(), 2);
    // The cut runs across at 45°, so that it is wider along the bar.
    let mut wider = kerf;
    wider.stock[0].length += 3.0 * 2.0 * 2.0_f64.sqrt();
    assert_eq!(planned(&wider, 100).bars.len(), 1);
    // Parts whose ends are parallel follow each other as they are.
    let mut parallel = frame(4000.0 - 3.0 * 40.0, 4);
    parallel.parts[0].ends_turn = std::f64::consts::PI;
    parallel.fixed_turn = true;
    assert_eq!(planned(&parallel, 100).bars.len(), 1);
    parallel.parts[0].ends_turn = 1.0;
    assert_eq!(planned(&parallel, 100).bars.len(), 2);
}

#[test]
fn leftovers_are_credited_and_brought_back_where_that_pays() {
    // A remnant of 2 m and a full length of 6 m, both at 3 a metre; to bring one to the saw costs 1.
    let mut given = list(0.0, [0.0, 0.0], &[6000.0, 2000.0], &[(1900.0, 1)]);
    for bar in &mut given.stock {
        (bar.cost, bar.handling) = (Some(bar.length * 0.003), 1.0);
    }
    given.stock[1].count = Some(1);
    given.leftovers = Some(Leftovers { credit: 2.1, scrap: 0.3, bring_back: 1.8 });
    // 1.8 is won on a metre: that is where it pays. The remnant's 100 mm are scrap: 6 + 1 − 0.03.
    assert!((given.keeps_from() - 1000.0).abs() < 1e-9);
    let plan = planned(&given, 100);
    assert!(plan.proven && (plan.cost - 6.97).abs() < 1e-9, "{plan:?}");
    // Without the remnant 4.1 m go back: 18 + 1 + 1.8 − 4.1 × 2.1.
    given.stock.pop();
    let plan = planned(&given, 100);
    assert!(plan.proven && (plan.cost - (20.8 - 8.61)).abs() < 1e-9, "{plan:?}");
    let account = given.account(&plan);
    assert!((account.goes_back + 8.61).abs() < 1e-9 && (account.handling - 2.8).abs() < 1e-9);
    assert!(given.setup(&plan.bars[0]).kept);
    // Nothing is won on scrap.
    given.leftovers = Some(Leftovers { credit: 0.3, scrap: 0.3, bring_back: 1.8 });
    assert!(!given.setup(&planned(&given, 100).bars[0]).kept);
}

#[test]
fn a_setup_says_where_and_how_long() {
    let mut given = list(2.0, [50.0, 100.0], &[3000.0], &[(1000.0, 1), (600.0, 1), (40.0, 1)]);
    given.profile = Some(square_tube());
    given.stock[0].give_or_take = 5.0;
    given.parts[0].holes.push(Hole { at: 100.0, size: 12.0, face: "top".to_owned(), cope: false });
    let plan = planned(&given, 100);
    let setup = given.setup(&plan.bars[0]);
    let cuts: Vec<f64> = setup.cuts.iter().map(|cut| cut.at).collect();
    assert_eq!(cuts, [50.0, 1052.0, 1654.0, 1696.0]);
    assert_eq!(setup.left, (1698.0, 3000.0));
    assert!(setup.kept);
    assert_eq!(setup.seconds, 60.0 + 4.0 * 20.0 + 10.0);
    let said: Vec<String> = setup.warnings.iter().map(ToString::to_string).collect();
    assert_eq!(said.len(), 2, "{said:?}");
    assert!(said[0].contains("part 3 is 40.0 mm long"));
    assert!(said[1].contains("measure it first"));
    // 2.36 kg/m: 6 m of the tube sag by less than 12 mm, 12 m by more than 24.
    let tube = square_tube();
    let sag = |length: f64| tube.support(length, None).unwrap().sag;
    assert!(sag(6000.0) < 12.0, "{}", sag(6000.0));
    assert!(sag(12_000.0) > 24.0);
    let hole = &setup.holes[0];
    let first = plan.bars[0].pieces.iter().find(|piece| piece.part == 0).unwrap();
    assert_eq!((hole.at, hole.face, hole.piece), (first.at + 100.0, Some(Face::Top), 0));
}

#[test]
fn bars_the_machine_does_not_take_are_left_alone() {
    let mut given = list(0.0, [0.0, 0.0], &[6000.0, 3000.0], &[(900.0, 6)]);
    given.machine.longest_load = Some(4000.0);
    let plan = planned(&given, 100);
    assert!(plan.bars.iter().all(|bar| bar.stock == 1));
    given.machine.longest_load = Some(1000.0);
    assert_eq!(given.faults(), [CutListFault::NoStock]);
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
            stock: stock.into_iter().map(|(length, count)| Stock { length, count, ..Stock::default() }).collect(),
            parts: parts.into_iter().map(|(length, count)| Wanted { length, count, ..Wanted::default() }).collect(),
            ..CutList::default()
        };
        let plan = planned(&list, 30);
        prop_assert!(plan.lower_bound <= plan.cost);
    }
}

proptest! {
    #[test]
    fn plans_with_leftovers_pass_the_check_and_keep_to_their_bound(
        kerf in prop::sample::select(vec![0.0, 2.4]),
        grips in prop::array::uniform2(prop::sample::select(vec![0.0, 35.0])),
        stock in prop::collection::vec((900.0..7000.0, prop::option::of(1_usize..3), 0.0..0.004), 1..6),
        parts in prop::collection::vec((120.0..800.0, 1_usize..5), 1..8),
        credit in 0.0..3.0,
        bring_back in prop::sample::select(vec![0.0, 1.5]),
    ) {
        let mut list = list(kerf, grips, &[], &[]);
        list.stock = stock
            .into_iter()
            .map(|(length, count, dear)| Stock {
                length, count, cost: Some(length * dear), handling: 2.0, ..Stock::default()
            })
            .collect();
        list.parts =
            parts.into_iter().map(|(length, count)| Wanted { length, count, ..Wanted::default() }).collect();
        list.leftovers = Some(Leftovers { credit, scrap: 0.4, bring_back });
        let plan = planned(&list, 60);
        prop_assert!(plan.lower_bound <= plan.cost + 0.005);
        prop_assert!((list.account(&plan).total() - plan.cost).abs() < 1e-9);
    }
}

proptest! {
    #[test]
    fn mitred_plans_pass_the_check(
        kerf in prop::sample::select(vec![0.0, 2.4]),
        grip in prop::sample::select(vec![0.0, 35.0]),
        fixed_turn in any::<bool>(),
        angle_section in any::<bool>(),
        seam in prop::sample::select(vec![None, Some(Face::Top), Some(Face::Back)]),
        parts in prop::collection::vec(
            (
                120.0..900.0,
                1_usize..5,
                prop::sample::select(vec![0.0_f64, 22.5, 45.0]),
                prop::sample::select(vec![0.0_f64, 45.0]),
                prop::sample::select(vec![0.0_f64, 90.0, 180.0]),
            ),
            1..8,
        ),
    ) {
        let mut list = list(kerf, [grip, 0.0], &[2000.0, 3000.0], &[]);
        list.fixed_turn = fixed_turn;
        let section = Section::Angle { width: 50.0, height: 30.0, thickness: 3.0 };
        let tube = Profile { seam, ..square_tube() };
        list.profile = Some(if angle_section { Profile { section, ..tube } } else { tube });
        list.parts = parts
            .into_iter()
            .map(|(length, count, near, far, turn)| Wanted {
                length,
                count,
                ends: [near.to_radians(), far.to_radians()],
                ends_turn: turn.to_radians(),
                ..Wanted::default()
            })
            .collect();
        let plan = planned(&list, 60);
        prop_assert!(plan.lower_bound <= plan.cost);
        for bar in &plan.bars {
            let setup = list.setup(bar);
            prop_assert!(setup.cuts.windows(2).all(|pair| pair[0].at <= pair[1].at + 100.0));
            prop_assert!(setup.left.0 <= setup.left.1);
        }
    }
}
