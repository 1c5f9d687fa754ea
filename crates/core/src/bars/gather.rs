//! What is left of the bars, gathered into few long remnants without a change of cost.

use super::solve::{Cut, Problem};

/// Rounds of moving parts at most; each makes the remnants more unequal.
const ROUNDS: usize = 200;
/// Pairs of parts compared at most: some hundredths of a second.
const MOST_PAIRS: usize = 10_000_000;

/// Moves parts between bars, and swaps them, wherever that lengthens what is left of the bar with
/// more left over.
pub(super) fn gather(problem: &Problem, cuts: &mut [Cut]) {
    let length = |kind: usize| problem.kinds[kind].length;
    let mut pairs = 0;
    for _ in 0..ROUNDS {
        let mut left: Vec<i64> = cuts
            .iter()
            .map(|cut| {
                problem.bars[cut.bar].room() - cut.kinds.iter().map(|k| length(*k)).sum::<i64>()
            })
            .collect();
        let mut order: Vec<usize> = (0..cuts.len()).collect();
        order.sort_by_key(|bar| (std::cmp::Reverse(left[*bar]), *bar));
        let mut moved = false;
        for (i, from) in order.iter().enumerate() {
            for into in &order[i + 1..] {
                pairs += cuts[*from].kinds.len() * cuts[*into].kinds.len();
                if pairs > MOST_PAIRS {
                    return;
                }
                moved |= pass_on(&length, cuts, &mut left, *from, *into);
            }
        }
        if !moved {
            return;
        }
    }
}

/// Moves what makes the bar `from`, with more left over, longer at the cost of `into`: a part, or
/// the swap of one for a shorter one. Says whether anything was moved.
fn pass_on(
    length: &impl Fn(usize) -> i64,
    cuts: &mut [Cut],
    left: &mut [i64],
    from: usize,
    into: usize,
) -> bool {
    if left[into] == 0 || left[from] < left[into] {
        return false;
    }
    let mut best: Option<(i64, usize, Option<usize>)> = None;
    for (i, long) in cuts[from].kinds.iter().enumerate() {
        let alone = cuts[from].kinds.len() > 1 && length(*long) <= left[into];
        if alone && best.is_none_or(|(gain, _, _)| length(*long) > gain) {
            best = Some((length(*long), i, None));
        }
        for (j, short) in cuts[into].kinds.iter().enumerate() {
            let gain = length(*long) - length(*short);
            if gain > 0 && gain <= left[into] && best.is_none_or(|(most, _, _)| gain > most) {
                best = Some((gain, i, Some(j)));
            }
        }
    }
    let Some((gain, i, swap)) = best else { return false };
    match swap {
        Some(j) => {
            let (long, short) = (cuts[from].kinds[i], cuts[into].kinds[j]);
            cuts[from].kinds[i] = short;
            cuts[into].kinds[j] = long;
        }
        None => {
            let long = cuts[from].kinds.swap_remove(i);
            cuts[into].kinds.push(long);
        }
    }
    left[from] += gain;
    left[into] -= gain;
    true
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::bars::solve::{Bar, Kind};

    #[test]
    fn what_is_left_is_gathered() {
        let kinds = [40, 30, 20, 10].map(|length| Kind { length, count: 2 }).to_vec();
        let problem = Problem { kinds, bars: vec![Bar::plain(100, None, 1)] };
        let cut = |kinds: &[usize]| Cut { bar: 0, kinds: kinds.to_vec() };
        // 10, 20 and 10 are left over: 40 together, which one bar can have.
        let mut cuts = [cut(&[0, 1, 2]), cut(&[0, 1, 3]), cut(&[2, 3])];
        let sum = |cut: &Cut| cut.kinds.iter().map(|k| problem.kinds[*k].length).sum::<i64>();
        gather(&problem, &mut cuts);
        let mut sums: Vec<i64> = cuts.iter().map(sum).collect();
        sums.sort_unstable();
        assert_eq!(sums.iter().sum::<i64>(), 200);
        assert!(sums[1] + sums[2] >= 190, "{sums:?}");
        let mut all: Vec<usize> = cuts.iter().flat_map(|c| c.kinds.clone()).collect();
        all.sort_unstable();
        assert_eq!(all, [0, 0, 1, 1, 2, 2, 3, 3]);
    }
}
