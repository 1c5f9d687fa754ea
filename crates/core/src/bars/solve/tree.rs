//! The search over decisions, and what it has found so far.

use std::cmp::Reverse;
use std::collections::BTreeMap;
use std::sync::Arc;

use crate::job::Budget;

use super::Solved;
use super::greedy::{self, LEANINGS};
use super::order::{Laid, Layout, Order};
use super::relax::{Lot, Node, Pattern, Relaxed, WHOLE, relax};

/// Rounds of pattern generation that an order rounded down may take before the whole is searched.
const ROUNDED_STEPS: u64 = 3_000;

/// Past so many kinds of part the linear program would take too long.
const MOST_KINDS: usize = 1_000;
/// After a dead end the search turns to the decision made last, and every so many times to the node
/// that promises most: the least bound, then the fewest turns.
const NEAR_TURNS: u64 = 8;

/// Bound, turns, depth, and when it was made, the latest first.
type Rank = (i64, usize, usize, Reverse<u64>);

/// The search.
pub(super) struct Tree<'a> {
    order: &'a Order,
    budget: &'a Budget<'a>,
    better: &'a mut dyn FnMut(&Solved),
    best: Layout,
    best_cost: i64,
    /// No plan at all costs less.
    lower: i64,
    steps: u64,
}

/// A decision.
#[derive(Clone, Copy, Debug)]
enum Decision {
    /// Whether some bar carries both lots.
    Pair(usize, usize),
    /// Whether at most so many of a bar are used, or more; and whether more looks better.
    Bars(usize, usize, bool),
}

impl<'a> Tree<'a> {
    pub(super) fn new(
        order: &'a Order,
        budget: &'a Budget<'a>,
        better: &'a mut dyn FnMut(&Solved),
    ) -> Self {
        let missing: Vec<usize> = order.kinds.iter().map(|k| k.count).collect();
        let best = Layout { laid: Vec::new(), missing };
        let best_cost = order.cost(&best);
        Self { order, budget, better, best, best_cost, lower: 0, steps: 0 }
    }

    pub(super) fn solved(&self) -> Solved {
        self.order.solved(&self.best, self.lower.min(self.best_cost), self.steps)
    }

    pub(super) fn run(&mut self) {
        self.lower = self.order.material_bound();
        let wanted = self.best.missing.clone();
        let stock = self.order.counts();
        for leaning in LEANINGS {
            let hurry = || self.budget.spent(self.steps);
            let layout = greedy::fill(self.order, wanted.clone(), stock.clone(), leaning, &hurry);
            self.offer(layout);
            if self.budget.spent(self.steps) {
                break;
            }
        }
        if self.proven() || self.order.kinds.len() > MOST_KINDS {
            return;
        }
        let mut root = self.root(wanted, Arc::default());
        root.patterns = Arc::new(self.patterns_of_best());
        let relaxed = relax(self.order, &mut root, self.best_cost, &mut self.steps, self.budget);
        self.lower = self.lower.max(root.bound);
        let Some(relaxed) = relaxed else { return };
        for held_back in [0, 1] {
            if self.proven() || self.budget.spent(self.steps) {
                return;
            }
            self.search_rounded(&root, &relaxed, held_back);
        }
        if !self.proven() {
            let until = u64::MAX;
            if let Some(open) = self.search(root, until) {
                self.lower = self.lower.max(open.min(self.best_cost));
            }
        }
    }

    fn proven(&self) -> bool {
        self.lower >= self.best_cost
    }

    /// A node with nothing decided but the bars laid.
    fn root(&self, wanted: Vec<usize>, laid: Arc<Vec<Laid>>) -> Node {
        let lots = wanted.iter().enumerate();
        let lots = lots.map(|(kind, count)| Lot {
            length: self.order.kinds[kind].length,
            count: *count,
            kinds: vec![kind],
        });
        let mut left = self.order.counts();
        for l in laid.iter() {
            left[self.order.bars[l.bar].group] -= 1;
        }
        let used = self.order.bars.iter().map(|bar| (0, left[bar.group])).collect();
        Node {
            laid,
            lots: lots.collect(),
            rivals: Vec::new(),
            left,
            used,
            patterns: Arc::default(),
            bound: 0,
            turns: 0,
            depth: 0,
        }
    }

    fn patterns_of_best(&self) -> Vec<Pattern> {
        let patterns = self.best.laid.iter().map(|laid| {
            let mut counts = BTreeMap::new();
            for kind in &laid.kinds {
                *counts.entry(*kind).or_insert(0) += 1;
            }
            Pattern { bar: laid.bar, picked: counts.into_iter().collect() }
        });
        let mut patterns: Vec<Pattern> = patterns.collect();
        patterns.sort();
        patterns.dedup();
        patterns
    }

    /// Lays each pattern as often as it is wholly used (less `held_back`), and searches for the
    /// rest.
    fn search_rounded(&mut self, root: &Node, relaxed: &Relaxed, held_back: usize) {
        let mut wanted: Vec<usize> = root.lots.iter().map(|l| l.count).collect();
        let mut left = self.order.counts();
        let mut laid = Vec::new();
        for (pattern, level) in &relaxed.used {
            let often = ((level + WHOLE).floor() as usize).saturating_sub(held_back);
            let group = self.order.bars[pattern.bar].group;
            for _ in 0..often.min(left[group]) {
                left[group] -= 1;
                let kinds = taken(&pattern.picked, &mut wanted);
                laid.push(Laid { bar: pattern.bar, kinds });
            }
        }
        if laid.is_empty() {
            return;
        }
        let mut node = self.root(wanted, Arc::new(laid));
        let counts: Vec<usize> = node.lots.iter().map(|l| l.count).collect();
        let fitted = relaxed.patterns.iter().cloned().map(|mut pattern| {
            pattern.picked.iter_mut().for_each(|(lot, n)| *n = counts[*lot].min(*n));
            pattern.picked.retain(|(_, n)| *n > 0);
            pattern
        });
        node.patterns = tidy(fitted.collect());
        node.bound = root.bound;
        let until = self.steps + ROUNDED_STEPS;
        self.search(node, until);
    }

    /// Searches below a node until nothing better can be there, or for so many steps; returns the
    /// least bound of what is left, if anything is left.
    fn search(&mut self, node: Node, until: u64) -> Option<i64> {
        let floor = node.bound;
        let mut open: BTreeMap<Rank, Node> = BTreeMap::new();
        let mut latest: Vec<Rank> = Vec::new();
        let mut number = 0;
        let mut dead_ends: u64 = 0;
        let mut next = Some(node);
        let mut unresolved: Option<i64> = None;
        loop {
            if self.best_cost <= floor.max(self.lower) {
                return Some(self.best_cost);
            }
            let node = next.take().or_else(|| {
                dead_ends += 1;
                let near = (!dead_ends.is_multiple_of(NEAR_TURNS)).then(|| {
                    std::iter::from_fn(|| latest.pop()).find_map(|rank| open.remove(&rank))
                });
                near.flatten().or_else(|| open.pop_first().map(|(_, node)| node))
            });
            let Some(mut node) = node else {
                return Some(unresolved.unwrap_or(self.best_cost));
            };
            if node.bound >= self.best_cost {
                continue;
            }
            let relaxed =
                relax(self.order, &mut node, self.best_cost, &mut self.steps, self.budget);
            let Some(relaxed) = relaxed else { continue };
            if self.budget.spent(self.steps) || self.steps >= until {
                let left = open.values().map(|n| n.bound).chain([node.bound]).chain(unresolved);
                return left.min();
            }
            self.offer_rounded(&node, &relaxed, false);
            if node.bound >= self.best_cost {
                continue;
            }
            let Some(decision) = self.decision(&node, &relaxed) else {
                // Nothing is fractional: what no pattern carries lies alone.
                self.offer_rounded(&node, &relaxed, true);
                if node.bound >= self.best_cost {
                    continue;
                }
                unresolved = Some(unresolved.map_or(node.bound, |u| u.min(node.bound)));
                continue;
            };
            let (first, second) = self.children(&node, relaxed, decision);
            next = Some(first);
            number += 1;
            let rank = (second.bound, second.turns, second.depth, Reverse(number));
            latest.push(rank);
            open.insert(rank, second);
        }
    }

    /// Takes a layout if it is better than the best so far.
    fn offer(&mut self, mut layout: Layout) {
        let mut left = self.order.counts();
        for laid in &layout.laid {
            left[self.order.bars[laid.bar].group] -= 1;
        }
        greedy::use_cheaper_bars(self.order, &mut layout, left);
        let cost = self.order.cost(&layout);
        if cost < self.best_cost {
            self.best_cost = cost;
            self.best = layout;
            let solved = self.solved();
            (self.better)(&solved);
        }
    }

    /// Lays the patterns most used, each as often as it goes, and the rest greedily, or each lot on a
    /// bar of its own, as the program has it.
    fn offer_rounded(&mut self, node: &Node, relaxed: &Relaxed, alone: bool) {
        let mut wanted: Vec<usize> = node.lots.iter().map(|l| l.count).collect();
        let mut left = self.order.counts();
        let mut laid: Vec<Laid> = node.laid.to_vec();
        let group = |bar: usize| self.order.bars[bar].group;
        for l in &laid {
            left[group(l.bar)] -= 1;
        }
        let mut used: Vec<&(Pattern, f64)> = relaxed.used.iter().collect();
        used.sort_by(|a, b| b.1.fract().total_cmp(&a.1.fract()));
        // The program may carry a lot more often than it is wanted: what is wanted of it is laid.
        let mut lay = |pattern: &Pattern, often: usize, in_part: bool| {
            for _ in 0..often {
                let mut picked = pattern.picked.iter();
                let some = picked.clone().any(|(lot, _)| wanted[*lot] > 0);
                let all = picked.all(|(lot, n)| wanted[*lot] >= *n);
                if (all || (in_part && some)) && left[group(pattern.bar)] > 0 {
                    left[group(pattern.bar)] -= 1;
                    let lots = taken(&pattern.picked, &mut wanted);
                    let kinds = lots.iter().flat_map(|l| node.lots[*l].kinds.clone()).collect();
                    laid.push(Laid { bar: pattern.bar, kinds });
                }
            }
        };
        for (pattern, level) in &used {
            lay(pattern, (level + WHOLE).floor() as usize, true);
        }
        for (pattern, _) in used.iter().filter(|(_, level)| (level + WHOLE).fract() > 0.3) {
            lay(pattern, 1, false);
        }
        let lots = node.lots.iter().enumerate().filter(|(_, lot)| alone || lot.kinds.len() > 1);
        for (i, lot) in lots {
            if let Some(bar) = self.order.bar_alone(lot.length, &lot.kinds) {
                let often = wanted[i].min(left[group(bar)]);
                left[group(bar)] -= often;
                wanted[i] -= often;
                laid.extend((0..often).map(|_| Laid { bar, kinds: lot.kinds.clone() }));
            }
        }
        let mut rest = vec![0; self.order.kinds.len()];
        for (lot, count) in node.lots.iter().zip(&wanted) {
            for kind in &lot.kinds {
                rest[*kind] += count;
            }
        }
        let hurry = || self.budget.spent(self.steps);
        let filled = greedy::fill(self.order, rest, left, LEANINGS[1], &hurry);
        laid.extend(filled.laid);
        self.offer(Layout { laid, missing: filled.missing });
    }

    /// What to decide next.
    fn decision(&self, node: &Node, relaxed: &Relaxed) -> Option<Decision> {
        let fraction = |x: f64| (x + WHOLE).fract() > 2.0 * WHOLE;
        if node.used.len() > 1 {
            let mut used = vec![0.0; node.used.len()];
            for (pattern, level) in &relaxed.used {
                used[pattern.bar] += level;
            }
            let halfness = |b: &usize| (used[*b].fract() - 0.5).abs();
            let split = (0..used.len()).filter(|b| fraction(used[*b]));
            if let Some(bar) = split.max_by(|a, b| halfness(a).total_cmp(&halfness(b))) {
                return Some(Decision::Bars(bar, used[bar] as usize, used[bar].fract() > 0.5));
            }
        }
        let mut pairs: BTreeMap<(usize, usize), f64> = BTreeMap::new();
        for (pattern, level) in relaxed.used.iter().filter(|(_, level)| fraction(*level)) {
            for (i, (a, n)) in pattern.picked.iter().enumerate() {
                if *n > 1 {
                    *pairs.entry((*a, *a)).or_default() += level;
                }
                for (b, _) in &pattern.picked[i + 1..] {
                    *pairs.entry((*a.min(b), *a.max(b))).or_default() += level;
                }
            }
        }
        let together = |(a, b): (usize, usize)| node.lots[a].length + node.lots[b].length;
        let score = |(pair, level): (&(usize, usize), &f64)| {
            let near = if fraction(*level) { level.fract() } else { 0.0 };
            ((near * 20.0).round() as i64, together(*pair))
        };
        pairs.iter().max_by_key(|p| score(*p)).map(|((a, b), _)| Decision::Pair(*a, *b))
    }

    /// The two sides of a decision, the one that looks better first.
    fn children(&self, node: &Node, relaxed: Relaxed, decision: Decision) -> (Node, Node) {
        let patterns = Arc::new(relaxed.patterns);
        let child = Node { patterns: Arc::clone(&patterns), depth: node.depth + 1, ..node.clone() };
        let mut first = child.clone();
        let mut second = Node { turns: node.turns + 1, ..child };
        match decision {
            Decision::Bars(bar, at_most, more) => {
                let (fewer, beyond) =
                    if more { (&mut second, &mut first) } else { (&mut first, &mut second) };
                fewer.used[bar].1 = at_most;
                beyond.used[bar].0 = at_most + 1;
            }
            Decision::Pair(a, b) => {
                first.join(a, b);
                second.part(a, b);
            }
        }
        (first, second)
    }
}

impl Node {
    /// From here on one of each comes from the same bar.
    fn join(&mut self, a: usize, b: usize) {
        let length = self.lots[a].length + self.lots[b].length;
        let kinds = [self.lots[a].kinds.as_slice(), &self.lots[b].kinds].concat();
        self.lots[a].count -= 1;
        self.lots[b].count -= 1;
        let joined = self.lots.len();
        self.lots.push(Lot { length, count: 1, kinds });
        let inherited: Vec<(usize, usize)> = self
            .rivals
            .iter()
            .flat_map(|(c, d)| [(*c, *d), (*d, *c)])
            .filter(|(c, _)| *c == a || *c == b)
            .map(|(_, d)| (d, joined))
            .collect();
        self.rivals.extend(inherited);
        let patterns = self.patterns.iter().flat_map(|p| {
            let mut fewer = p.clone();
            let has = |l: usize| p.picked.iter().find(|(lot, _)| *lot == l).map_or(0, |(_, n)| *n);
            let both = if a == b { has(a) > 1 } else { has(a) > 0 && has(b) > 0 };
            let with = both.then(|| {
                let mut with = p.clone();
                for lot in [a, b] {
                    with.take(lot);
                }
                with.picked.push((joined, 1));
                with
            });
            fewer.at_most(a, self.lots[a].count);
            fewer.at_most(b, self.lots[b].count);
            [with, Some(fewer)].into_iter().flatten()
        });
        self.patterns = tidy(patterns.collect());
    }

    /// From here on no bar carries both.
    fn part(&mut self, a: usize, b: usize) {
        self.rivals.push((a, b));
        let patterns = self.patterns.iter().flat_map(|p| {
            if a == b {
                let mut one = p.clone();
                one.at_most(a, 1);
                return vec![one];
            }
            let has = |l: usize| p.picked.iter().any(|(lot, _)| *lot == l);
            if !(has(a) && has(b)) {
                return vec![p.clone()];
            }
            let without = |lot: usize| {
                let mut less = p.clone();
                less.at_most(lot, 0);
                less
            };
            vec![without(a), without(b)]
        });
        self.patterns = tidy(patterns.collect());
    }
}

impl Pattern {
    fn take(&mut self, lot: usize) {
        for (l, n) in &mut self.picked {
            if *l == lot {
                *n -= 1;
            }
        }
        self.picked.retain(|(_, n)| *n > 0);
    }

    fn at_most(&mut self, lot: usize, most: usize) {
        for (l, n) in &mut self.picked {
            if *l == lot {
                *n = (*n).min(most);
            }
        }
        self.picked.retain(|(_, n)| *n > 0);
    }
}

/// Without what is there twice.
fn tidy(mut patterns: Vec<Pattern>) -> Arc<Vec<Pattern>> {
    for pattern in &mut patterns {
        pattern.picked.sort_unstable();
    }
    patterns.sort();
    patterns.dedup();
    Arc::new(patterns)
}

/// Takes what is picked off what is wanted, as far as it is there; returns each lot taken.
fn taken(picked: &[(usize, usize)], wanted: &mut [usize]) -> Vec<usize> {
    let mut lots = Vec::new();
    for (lot, n) in picked {
        let n = wanted[*lot].min(*n);
        wanted[*lot] -= n;
        lots.extend(vec![*lot; n]);
    }
    lots
}
