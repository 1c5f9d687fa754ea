use proptest::prelude::*;

use super::*;
use crate::job::Stop;

fn within(problem: &Problem, steps: u64) -> Solved {
    let budget = Budget { steps: Some(steps), time_up: &|| false, stop: Stop::default() };
    let solved = solve(problem, &budget, &mut |_| {});
    check(problem, &solved);
    solved
}

/// What parts of these lengths cost on a bar, charged in the cheapest way; `None` where they do not go in.
fn charged(bar: &Bar, lengths: &[i64]) -> Option<i64> {
    let taken: i64 = lengths.iter().sum();
    let cost = |charge: &Charge| {
        let share = |length: &i64| (charge.rate * *length as f64).round() as i64;
        charge.cost + lengths.iter().map(share).sum::<i64>()
    };
    bar.charges.iter().filter(|charge| charge.room >= taken).map(cost).min()
}

/// Every part is cut or said to be missing, from bars there are, and goes in.
fn check(problem: &Problem, solved: &Solved) {
    let mut wanted: Vec<usize> = problem.kinds.iter().map(|k| k.count).collect();
    let mut used = vec![0; problem.bars.len()];
    let mut cost = 0;
    for cut in &solved.cuts {
        used[cut.bar] += 1;
        let lengths: Vec<i64> = cut.kinds.iter().map(|k| problem.kinds[*k].length).collect();
        cost += charged(&problem.bars[cut.bar], &lengths).unwrap();
        for kind in &cut.kinds {
            wanted[*kind] -= 1;
        }
    }
    for (bar, used) in problem.bars.iter().zip(used) {
        assert!(bar.count.is_none_or(|count| used <= count));
    }
    assert_eq!(wanted, solved.missing);
    assert_eq!(cost, solved.cost);
    assert!(solved.lower_bound <= solved.cost);
    if solved.proven {
        assert_eq!(solved.lower_bound, solved.cost);
    }
}

/// The fewest parts missing and the least cost, by trying everything: the parts one by one, each
/// into every bar in use, a new one of every sort, or none.
fn by_trying(problem: &Problem) -> (usize, i64) {
    let parts: Vec<i64> =
        problem.kinds.iter().flat_map(|k| std::iter::repeat_n(k.length, k.count)).collect();
    let mut left: Vec<usize> =
        problem.bars.iter().map(|b| b.count.unwrap_or(parts.len())).collect();
    let mut best = (usize::MAX, i64::MAX);
    place(problem, &parts, &mut left, &mut Vec::new(), 0, &mut best);
    best
}

/// `open` is what lies on each bar in use.
fn place(
    problem: &Problem,
    parts: &[i64],
    left: &mut Vec<usize>,
    open: &mut Vec<(usize, Vec<i64>)>,
    missing: usize,
    best: &mut (usize, i64),
) {
    // More parts never cost less.
    let costs = open.iter().map(|(bar, on)| charged(&problem.bars[*bar], on));
    let Some(cost) = costs.sum::<Option<i64>>() else { return };
    if (missing, cost) >= *best {
        return;
    }
    let Some((length, rest)) = parts.split_first() else {
        *best = (missing, cost);
        return;
    };
    for i in 0..open.len() {
        if !open[..i].contains(&open[i]) {
            open[i].1.push(*length);
            place(problem, rest, left, open, missing, best);
            open[i].1.pop();
        }
    }
    for b in 0..problem.bars.len() {
        if left[b] > 0 {
            left[b] -= 1;
            open.push((b, vec![*length]));
            place(problem, rest, left, open, missing, best);
            open.pop();
            left[b] += 1;
        }
    }
    place(problem, rest, left, open, missing + 1, best);
}

/// What the second charge of a bar leaves of it, its cost and its rate.
type Second = (i64, i64, f64);

/// Small orders; where `charged`, some bars are charged in a second way, which leaves some of the bar and
/// costs less at first.
fn small(charged: bool) -> impl Strategy<Value = Problem> {
    let kinds = prop::collection::vec((3_i64..40, 1_usize..3), 1..5);
    let second = prop::option::of((1_i64..25, 0_i64..50, prop::sample::select(vec![0.25, 0.4])));
    let first = (20_i64..60, prop::option::of(0_usize..4), 0_i64..60);
    let bars = prop::collection::vec((first, second), 1..4);
    let rate = prop::sample::select(if charged { vec![0.0, 0.1] } else { vec![0.0] });
    let unit = prop::sample::select(vec![1_i64, 1000, 7919]);
    (kinds, bars, rate, unit).prop_map(move |(kinds, bars, rate, unit)| {
        let kinds = kinds.into_iter();
        let bar = move |((room, count, cost), second): ((i64, _, i64), Option<Second>)| {
            let room = room * unit + unit / 3;
            let mut charges = vec![Charge { room, cost, rate: rate / unit as f64 }];
            if let Some((left, cost, rate)) = second.filter(|_| charged) {
                charges.push(Charge { room: room - left * unit, cost, rate: rate / unit as f64 });
            }
            Bar { count, charges }
        };
        Problem {
            kinds: kinds.map(|(length, count)| Kind { length: length * unit, count }).collect(),
            bars: bars.into_iter().map(bar).collect(),
        }
    })
}

proptest! {
    #[test]
    fn small_orders_cost_no_more_than_by_trying(problem in small(false)) {
        let (missing, cost) = by_trying(&problem);
        let solved = within(&problem, 2_000);
        prop_assert!(solved.lower_bound <= cost || missing > 0);
        if solved.proven {
            prop_assert_eq!(solved.missing.iter().sum::<usize>(), missing);
            prop_assert_eq!(solved.cost, cost);
        }
        // Whatever is not proven is not far off.
        prop_assert_eq!(solved.missing.iter().sum::<usize>(), missing);
        prop_assert_eq!(solved.cost, cost);
    }

    #[test]
    fn bars_charged_in_two_ways_are_never_said_to_cost_too_little_or_proven_wrongly(
        problem in small(true),
    ) {
        let (missing, cost) = by_trying(&problem);
        let solved = within(&problem, 2_000);
        let found = (solved.missing.iter().sum::<usize>(), solved.cost);
        prop_assert!(found >= (missing, cost));
        prop_assert!(solved.lower_bound <= cost || missing > 0 || found.0 > 0);
        // Which part lies on a bar of which charge is not branched on: not everything is proven.
        prop_assert!(!solved.proven || found == (missing, cost));
    }
}

#[test]
fn what_costs_more_on_a_bar_than_it_is_worth_is_not_carried_again_and_again() {
    let kinds = [(14, 1), (9, 1), (36, 1), (10, 2)];
    let kinds = kinds.map(|(length, count)| Kind { length, count }).to_vec();
    let charges = vec![Charge { room: 45, cost: 0, rate: 0.1 }];
    let solved = within(&Problem { kinds, bars: vec![Bar { count: Some(1), charges }] }, 2_000);
    assert_eq!((solved.missing, solved.proven), (vec![0, 0, 1, 0], true));
    let kinds = [(210, 3), (30, 1), (60, 2)];
    let kinds = kinds.map(|(length, count)| Kind { length, count }).to_vec();
    let charges = vec![Charge { room: 213, cost: 10, rate: 0.01 }];
    let solved = within(&Problem { kinds, bars: vec![Bar { count: Some(3), charges }] }, 2_000);
    assert_eq!((solved.missing, solved.proven), (vec![1, 0, 0], true));
}

#[test]
fn a_short_bar_is_not_taken_where_two_parts_share_a_long_one() {
    let kinds = [17, 39, 17].map(|length| Kind { length, count: 1 }).to_vec();
    let bars = vec![Bar::plain(20, Some(1), 1), Bar::plain(39, None, 3)];
    let solved = within(&Problem { kinds, bars }, 2_000);
    assert_eq!((solved.cost, solved.proven), (6, true));
}

#[test]
fn of_ways_to_cut_as_many_the_cheapest_is_found_where_bars_do_not_suffice() {
    let kinds = [(25, 2), (30, 2), (15, 2)].map(|(length, count)| Kind { length, count }).to_vec();
    let bars = vec![Bar::plain(30, Some(1), 0), Bar::plain(20, Some(1), 1)];
    let solved = within(&Problem { kinds, bars }, 2_000);
    assert_eq!((solved.missing.iter().sum::<usize>(), solved.cost), (4, 0));
}

#[test]
fn a_part_carried_more_often_than_it_is_wanted_is_laid_as_often_as_that() {
    let kinds = [(7, 2), (34, 2), (5, 2)].map(|(length, count)| Kind { length, count }).to_vec();
    let bars = vec![Bar::plain(51, Some(2), 37), Bar::plain(34, Some(1), 1)];
    let solved = within(&Problem { kinds, bars }, 2_000);
    assert_eq!((solved.cost, solved.proven), (74, true));
}

/// Bars sawn at random into parts, so that filling every bar to its end is the one way.
fn sawn(random: &mut fastrand::Rng, bars: usize, room: i64, pieces: usize) -> Problem {
    let mut kinds = Vec::new();
    for _ in 0..bars {
        let mut ends: Vec<i64> = (1..pieces).map(|_| random.i64(1..room)).collect();
        ends.extend([0, room]);
        ends.sort_unstable();
        ends.dedup();
        kinds.extend(ends.windows(2).map(|e| Kind { length: e[1] - e[0], count: 1 }));
    }
    Problem { kinds, bars: vec![Bar::plain(room, None, 1)] }
}

#[test]
fn bars_sawn_apart_go_together_again() {
    let mut random = fastrand::Rng::with_seed(3);
    for (bars, room, pieces) in
        [(5, 100, 3), (12, 1000, 4), (25, 150, 3), (15, 997, 3), (40, 1000, 3)]
    {
        let problem = sawn(&mut random, bars, room, pieces);
        let solved = within(&problem, 20_000);
        assert_eq!((solved.cost, solved.proven), (bars as i64, true), "{bars} {room} {pieces}");
    }
}

#[test]
fn an_order_whose_bound_is_one_bar_short_is_proven_all_the_same() {
    // Three bars' worth of length to the last unit, but no bar can be filled to its end: 51 + 49
    // does not come up, as all lengths are even and the bar is odd.
    let kinds = [(34, 2), (32, 2), (30, 2), (28, 1), (26, 1), (24, 1)];
    let kinds = kinds.map(|(length, count)| Kind { length, count }).to_vec();
    let problem = Problem { kinds, bars: vec![Bar::plain(91, None, 1)] };
    let (_, cost) = by_trying(&problem);
    let solved = within(&problem, 20_000);
    assert_eq!((solved.cost, solved.proven), (cost, true));
}

#[test]
fn too_few_bars_leave_as_few_parts_out_as_can_be() {
    let problem = Problem {
        kinds: vec![Kind { length: 60, count: 3 }, Kind { length: 500, count: 1 }],
        bars: vec![Bar::plain(125, Some(1), 5)],
    };
    let solved = within(&problem, 1_000);
    assert_eq!(solved.missing, [1, 1]);
    assert_eq!(solved.cost, 5);
}

#[test]
fn the_same_steps_give_the_same_plan() {
    let problem = sawn(&mut fastrand::Rng::with_seed(9), 30, 1000, 4);
    assert_eq!(within(&problem, 40), within(&problem, 40));
}

#[test]
fn lengths_finer_than_the_table_are_solved_all_the_same() {
    let mut random = fastrand::Rng::with_seed(4);
    let mut kinds: Vec<Kind> =
        (0..24).map(|_| Kind { length: random.i64(2_000_003..3_500_000), count: 1 }).collect();
    kinds.push(Kind { length: 9_999_999, count: 1 });
    let problem = Problem { kinds, bars: vec![Bar::plain(10_000_000, None, 1)] };
    let solved = within(&problem, 2_000);
    assert!(solved.proven, "{solved:?}");
}

#[test]
fn a_budget_of_nothing_still_gives_a_whole_plan() {
    let problem = sawn(&mut fastrand::Rng::with_seed(5), 300, 6000, 6);
    let stop = Stop::default();
    stop.raise();
    let budget = Budget { steps: None, time_up: &|| true, stop };
    let solved = solve(&problem, &budget, &mut |_| {});
    check(&problem, &solved);
    assert!(solved.missing.iter().all(|n| *n == 0));
    // Length alone asks for that many.
    assert!(solved.lower_bound >= 300, "{}", solved.lower_bound);
}
