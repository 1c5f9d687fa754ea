//! The bound at a node of the tree, by pattern generation.

use std::sync::Arc;

use crate::job::Budget;

use super::knapsack::{Knapsack, Picked, Piece};
use super::order::{Laid, Order, Stock};
use super::rivals::Rivals;
use super::simplex::{Column, Simplex};

/// Parts that are cut from one bar together, wherever that is: one part, or several joined.
#[derive(Clone, Debug)]
pub(super) struct Lot {
    pub(super) length: i64,
    pub(super) count: usize,
    /// The parts, by the order's kinds.
    pub(super) kinds: Vec<usize>,
}

/// A way to cut a bar: which, and what lots.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(super) struct Pattern {
    pub(super) bar: usize,
    pub(super) picked: Picked,
}

/// What is left to be decided, and under which decisions.
#[derive(Clone, Debug)]
pub(super) struct Node {
    /// Bars decided on.
    pub(super) laid: Arc<Vec<Laid>>,
    pub(super) lots: Vec<Lot>,
    /// Lots of which no bar may carry both.
    pub(super) rivals: Vec<(usize, usize)>,
    /// Of each group of bars, how many are left.
    pub(super) left: Vec<usize>,
    /// Of each bar, the fewest and the most still to be used.
    pub(super) used: Vec<(usize, usize)>,
    /// Patterns worth starting from.
    pub(super) patterns: Arc<Vec<Pattern>>,
    /// No plan under these decisions costs less.
    pub(super) bound: i64,
    /// How often the search has turned from what looked best to come here, and how deep it is.
    pub(super) turns: usize,
    pub(super) depth: usize,
}

/// The relaxed node: fractions of patterns.
pub(super) struct Relaxed {
    pub(super) used: Vec<(Pattern, f64)>,
    /// Patterns worth starting from further down.
    pub(super) patterns: Vec<Pattern>,
}

/// How close to a whole number a fraction must be to be taken for it; well above the perturbation
/// of the linear program.
pub(super) const WHOLE: f64 = 1e-4;

impl Lot {
    /// What it costs to leave one of it to a bar of its own, or out.
    fn cost_alone(&self, order: &Order) -> i64 {
        order.cost_alone(self.length, &self.kinds)
    }
}

/// Fractions of a value unit: enough that rounding prices down costs a bound nothing that shows,
/// and that sums over a bar stay within 62 bits.
pub(super) fn value_scale(order: &Order) -> i64 {
    let total = order.kinds.iter().map(|k| k.count as i64).sum::<i64>().max(1);
    let dearest = order.bars.iter().map(|b| b.full).max().unwrap_or(1).max(1);
    let fine = (1_i64 << 40) / dearest;
    let room = (1_i64 << 61) / order.dear.saturating_mul(total).max(1);
    fine.min(room).max(1)
}

/// Raises the node's bound by pattern generation until it cannot rise any more, reaches `goal`, or
/// the budget is spent. `None` if it reached the goal: nothing below costs less than that.
pub(super) fn relax(
    order: &Order,
    node: &mut Node,
    goal: i64,
    steps: &mut u64,
    budget: &Budget<'_>,
) -> Option<Relaxed> {
    let mut program = Program::new(order, node);
    let scale = value_scale(order);
    let laid = node.laid.iter().map(|l| order.bars[l.bar].cost + order.share(l.bar, &l.kinds));
    let laid: i64 = laid.sum();
    while !budget.spent(*steps) {
        *steps += 1;
        program.simplex.optimise(&|| budget.stop.raised());
        let (bound, grew) = program.price(order, node, scale, &|| budget.stop.raised());
        node.bound = node.bound.max(laid + bound);
        if node.bound >= goal {
            return None;
        }
        // The relaxation costs no more than the program does now.
        let most = laid as f64 + (program.simplex.cost() - 1e-5).ceil();
        if !grew || most <= node.bound as f64 {
            break;
        }
    }
    Some(program.relaxed())
}

/// The linear program of a node.
struct Program {
    simplex: Simplex,
    /// Lots still wanted, longest first: the rows of the program.
    lots: Vec<usize>,
    /// Rows on how many of a group are used at most, and of a bar: at most, at least.
    of_group: Vec<Option<usize>>,
    at_most: Vec<Option<usize>>,
    at_least: Vec<Option<usize>>,
    /// By rate, what each lot costs besides its bar.
    shares: Vec<Vec<i64>>,
    rivals: Rivals,
    most: Vec<usize>,
    patterns: Vec<Pattern>,
    /// The program's column of each pattern.
    columns: Vec<usize>,
}

impl Program {
    fn new(order: &Order, node: &Node) -> Self {
        let mut lots: Vec<usize> =
            (0..node.lots.len()).filter(|l| node.lots[*l].count > 0).collect();
        lots.sort_by_key(|l| (std::cmp::Reverse(node.lots[*l].length), *l));
        let mut right: Vec<f64> = lots.iter().map(|l| node.lots[*l].count as f64).collect();
        let mut costs: Vec<f64> =
            lots.iter().map(|l| node.lots[*l].cost_alone(order) as f64).collect();
        let (mut at_most, mut at_least) = (Vec::new(), Vec::new());
        let mut row = |limit: usize, cost: f64| {
            right.push(limit as f64);
            costs.push(cost);
            right.len() - 1
        };
        let groups = order.groups.iter().zip(&node.left);
        let of_group =
            groups.map(|(group, left)| (!group.unlimited).then(|| row(*left, 0.0))).collect();
        for (bar, (fewest, most)) in node.used.iter().enumerate() {
            let limited = *most < node.left[order.bars[bar].group];
            at_most.push(limited.then(|| row(*most, 0.0)));
            at_least.push((*fewest > 0).then(|| row(*fewest, order.dear as f64)));
        }
        let mut simplex = Simplex::new(&right, &costs);
        for row in (0..lots.len()).chain(at_least.iter().flatten().copied()) {
            simplex.add(Column { cost: 0.0, entries: vec![(row, -1.0)] });
        }
        let mut rivals = Rivals::none(lots.len());
        let mut most: Vec<usize> = lots.iter().map(|l| node.lots[*l].count).collect();
        let at = |lot: &usize| lots.iter().position(|l| l == lot);
        for (a, b) in &node.rivals {
            match (at(a), at(b)) {
                (Some(a), Some(b)) if a == b => most[a] = 1,
                (Some(a), Some(b)) => rivals.add(a, b),
                _ => {}
            }
        }
        let share = |rate: usize| {
            node.lots.iter().map(|lot| order.share_at(rate, &lot.kinds)).collect::<Vec<_>>()
        };
        let mut program = Self {
            simplex,
            lots,
            of_group,
            at_most,
            at_least,
            shares: (0..order.rates()).map(share).collect(),
            rivals,
            most,
            patterns: Vec::new(),
            columns: Vec::new(),
        };
        for pattern in node.patterns.iter() {
            program.add(order, pattern.clone());
        }
        program
    }

    fn add(&mut self, order: &Order, pattern: Pattern) {
        let row = |lot: usize| self.lots.iter().position(|l| *l == lot);
        let mut entries: Vec<(usize, f64)> =
            pattern.picked.iter().filter_map(|(lot, n)| Some((row(*lot)?, *n as f64))).collect();
        entries.extend(self.rows_of(order, pattern.bar).map(|row| (row, 1.0)));
        let bar = &order.bars[pattern.bar];
        let share = |(lot, n): &(usize, usize)| self.shares[bar.rate][*lot] * *n as i64;
        let cost = bar.cost + pattern.picked.iter().map(share).sum::<i64>();
        self.columns.push(self.simplex.add(Column { cost: cost as f64, entries }));
        self.patterns.push(pattern);
    }

    /// The rows on how many of a bar are used.
    fn rows_of(&self, order: &Order, bar: usize) -> impl Iterator<Item = usize> + use<> {
        let group = self.of_group[order.bars[bar].group];
        [group, self.at_most[bar], self.at_least[bar]].into_iter().flatten()
    }

    /// The bound that the program's prices prove (rounded up, without the bars decided on), and
    /// whether patterns were found that better the program.
    ///
    /// For any prices of the lots, not negative and at most what leaving the lot alone costs, a
    /// plan costs at least their sum over all lots plus, for each bar used, its cost less the most
    /// that its content can be worth beyond what it costs itself there.
    fn price(
        &mut self,
        order: &Order,
        node: &Node,
        scale: i64,
        stopped: &dyn Fn() -> bool,
    ) -> (i64, bool) {
        let prices = self.simplex.prices();
        let mut sum = 0_i128;
        let mut values = Vec::new();
        for (row, lot) in self.lots.iter().enumerate() {
            let Lot { count, .. } = node.lots[*lot];
            let most = node.lots[*lot].cost_alone(order) * scale;
            let value = ((prices[row] * scale as f64).floor().max(0.0) as i64).min(most);
            sum += i128::from(value) * count as i128;
            values.push(value);
        }
        let open = (0..node.used.len()).filter(|b| node.used[*b].1 > 0);
        let open: Vec<usize> = open.collect();
        let longest = open.iter().map(|b| order.bars[*b].room).max().unwrap_or(0);
        // What a lot is worth at each rate.
        let pieces = |shares: &Vec<i64>| {
            let lots = self.lots.iter().enumerate();
            let piece = |(row, lot): (usize, &usize)| Piece {
                length: node.lots[*lot].length,
                most: self.most[row],
                value: (values[row] - shares[*lot] * scale).max(0),
            };
            lots.map(piece).collect::<Vec<_>>()
        };
        let pieces: Vec<Vec<Piece>> = self.shares.iter().map(pieces).collect();
        let at_rate = |pieces| Knapsack::new(pieces, &self.rivals, longest);
        let knapsacks: Vec<Knapsack> = pieces.iter().map(|pieces| at_rate(pieces)).collect();
        let mut found = Vec::new();
        // Of each group, what its bars give less than they cost, and how many of each there may be.
        let mut each_of: Vec<Vec<(i128, usize)>> = vec![Vec::new(); node.left.len()];
        let mut left = node.left.clone();
        for bar in open {
            // Where there are many bars a round takes longer than anybody waits; it proves nothing then.
            if stopped() {
                return (0, false);
            }
            let Stock { room, cost, full, rate, group } = order.bars[bar];
            let knapsack = &knapsacks[rate];
            let rent: f64 = self.rows_of(order, bar).map(|row| prices[row]).sum();
            let slack = 1e-9 * (full as f64 + 1.0);
            let above = ((cost as f64 - rent + slack) * scale as f64).ceil() as i64;
            let best = knapsack.best(room, above);
            let (fewest, most) = node.used[bar];
            let each = i128::from(cost) * i128::from(scale) - i128::from(best.at_most);
            sum += each * fewest as i128;
            left[group] = left[group].saturating_sub(fewest);
            each_of[group].push((each, most.saturating_sub(fewest)));
            if let Some(picked) = best.picked {
                let others = knapsack.others(room, above, &picked);
                // What is worth nothing is left off where it costs something.
                let pays = |(row, _): &(usize, usize)| {
                    pieces[rate][*row].value > 0 || self.shares[rate][self.lots[*row]] == 0
                };
                for picked in std::iter::once(picked).chain(others) {
                    let picked = picked.into_iter().filter(pays);
                    let picked = picked.map(|(row, n)| (self.lots[row], n)).collect();
                    found.push(Pattern { bar, picked });
                }
            }
        }
        for (each_of, mut left) in each_of.into_iter().zip(left) {
            let mut gains: Vec<_> = each_of.into_iter().filter(|(each, _)| *each < 0).collect();
            gains.sort_unstable();
            for (each, most) in gains {
                let n = most.min(left);
                left -= n;
                sum += each * n as i128;
            }
        }
        let grew = !found.is_empty();
        for pattern in found {
            self.add(order, pattern);
        }
        let scale = i128::from(scale);
        let bound = sum.div_euclid(scale) + i128::from(sum.rem_euclid(scale) > 0);
        (i64::try_from(bound).unwrap_or(0), grew)
    }

    fn relaxed(self) -> Relaxed {
        let mut pattern_of = std::collections::BTreeMap::new();
        for (pattern, column) in self.columns.iter().enumerate() {
            pattern_of.insert(*column, pattern);
        }
        let rows = self.lots.len();
        let mut used = Vec::new();
        let mut basic = vec![false; self.patterns.len()];
        for (column, level) in self.simplex.levels() {
            if let Some(pattern) = pattern_of.get(&column) {
                basic[*pattern] = true;
                if level > WHOLE {
                    used.push((self.patterns[*pattern].clone(), level));
                }
            }
        }
        // The basis first, then what comes nearest to it.
        let mut near: Vec<(bool, f64, usize)> = (0..self.patterns.len())
            .map(|p| (!basic[p], self.simplex.reduced_cost(self.columns[p]).max(0.0), p))
            .collect();
        near.sort_by(|a, b| a.0.cmp(&b.0).then(a.1.total_cmp(&b.1)));
        near.truncate(3 * rows + 50);
        let patterns = near.into_iter().map(|(_, _, p)| self.patterns[p].clone()).collect();
        Relaxed { used, patterns }
    }
}
