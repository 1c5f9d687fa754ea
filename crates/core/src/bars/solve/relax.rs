//! The bound at a node of the tree, by pattern generation.

use std::sync::Arc;

use crate::job::Budget;

use super::knapsack::{Knapsack, Picked, Piece};
use super::order::{Laid, Order};
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
        order.cost_alone(self.length, self.kinds.len())
    }
}

/// Fractions of a value unit: enough that rounding prices down costs a bound nothing that shows,
/// and that sums over a bar stay within 62 bits.
pub(super) fn value_scale(order: &Order) -> i64 {
    let total = order.kinds.iter().map(|k| k.count as i64).sum::<i64>().max(1);
    let dearest = order.bars.iter().map(|b| b.cost).max().unwrap_or(1).max(1);
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
    let laid: i64 = node.laid.iter().map(|l| order.bars[l.bar].cost).sum();
    while !budget.spent(*steps) {
        *steps += 1;
        program.simplex.optimise(&|| budget.stop.raised());
        let (bound, grew) = program.price(order, node, scale);
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
    /// Rows on how many of a bar are used: at most, at least.
    at_most: Vec<Option<usize>>,
    at_least: Vec<Option<usize>>,
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
        for (bar, (fewest, most)) in node.used.iter().enumerate() {
            let limited = !order.bars[bar].unlimited || *most < order.bars[bar].count;
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
        let mut program = Self {
            simplex,
            lots,
            at_most,
            at_least,
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
        for row in [self.at_most[pattern.bar], self.at_least[pattern.bar]].into_iter().flatten() {
            entries.push((row, 1.0));
        }
        let cost = order.bars[pattern.bar].cost as f64;
        self.columns.push(self.simplex.add(Column { cost, entries }));
        self.patterns.push(pattern);
    }

    /// The bound that the program's prices prove (rounded up, without the bars decided on), and
    /// whether patterns were found that better the program.
    ///
    /// For any prices of the lots, not negative and at most what leaving the lot alone costs, a
    /// plan costs at least their sum over all lots plus, for each bar used, its cost less the most
    /// that its content can be worth.
    fn price(&mut self, order: &Order, node: &Node, scale: i64) -> (i64, bool) {
        let prices = self.simplex.prices();
        let mut sum = 0_i128;
        let mut pieces = Vec::new();
        for (row, lot) in self.lots.iter().enumerate() {
            let Lot { length, count, .. } = node.lots[*lot];
            let most = node.lots[*lot].cost_alone(order) * scale;
            let value = ((prices[row] * scale as f64).floor().max(0.0) as i64).min(most);
            sum += i128::from(value) * count as i128;
            pieces.push(Piece { length, most: self.most[row], value });
        }
        let open = (0..node.used.len()).filter(|b| node.used[*b].1 > 0);
        let open: Vec<usize> = open.collect();
        let longest = open.iter().map(|b| order.bars[*b].room).max().unwrap_or(0);
        let knapsack = Knapsack::new(&pieces, &self.rivals, longest);
        let mut found = Vec::new();
        for bar in open {
            let cost = order.bars[bar].cost;
            let rows = [self.at_most[bar], self.at_least[bar]];
            let rent: f64 = rows.into_iter().flatten().map(|row| prices[row]).sum();
            let slack = 1e-9 * (cost as f64 + 1.0);
            let above = ((cost as f64 - rent + slack) * scale as f64).ceil() as i64;
            let best = knapsack.best(order.bars[bar].room, above);
            let (fewest, most) = node.used[bar];
            let each = i128::from(cost) * i128::from(scale) - i128::from(best.at_most);
            sum += each * if each > 0 { fewest as i128 } else { most as i128 };
            if let Some(picked) = best.picked {
                let others = knapsack.others(order.bars[bar].room, above, &picked);
                for picked in std::iter::once(picked).chain(others) {
                    let picked = picked.into_iter().map(|(row, n)| (self.lots[row], n)).collect();
                    found.push(Pattern { bar, picked });
                }
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
