//! A problem made ready: equal things merged, lengths and costs in their largest common unit,
//! longest parts and dearest bars first.

use super::{Cut, Kind, Problem, Solved};

/// A problem made ready.
#[derive(Debug)]
pub(super) struct Order {
    /// Longest first, no two alike, none longer than every bar.
    pub(super) kinds: Vec<Kind>,
    /// No two alike, none too short for every part; `count` is at most the number of parts.
    pub(super) bars: Vec<Stock>,
    /// What it costs to leave a part of no kind out of the bars that are had without limit: more
    /// than any plan.
    pub(super) dear: i64,
    /// By kind, the problem's kinds and how many of each.
    kind_sources: Vec<Vec<(usize, usize)>>,
    /// By bar, the problem's bars and how many of each.
    bar_sources: Vec<Vec<(usize, usize)>>,
    /// How many of each of the problem's kinds are longer than every bar.
    hopeless: Vec<usize>,
    cost_unit: i64,
}

/// Bars that are alike.
#[derive(Clone, Copy, Debug)]
pub(super) struct Stock {
    pub(super) room: i64,
    pub(super) count: usize,
    pub(super) unlimited: bool,
    pub(super) cost: i64,
}

/// One bar and its parts, in an order's own numbers.
#[derive(Clone, Debug)]
pub(super) struct Laid {
    pub(super) bar: usize,
    pub(super) kinds: Vec<usize>,
}

/// Bars cut, and parts without a place, by kind.
#[derive(Clone, Debug, Default)]
pub(super) struct Layout {
    pub(super) laid: Vec<Laid>,
    pub(super) missing: Vec<usize>,
}

impl Order {
    pub(super) fn of(problem: &Problem) -> Self {
        let longest = problem.bars.iter().filter(|b| b.count != Some(0)).map(|b| b.room).max();
        let fits = |kind: &Kind| longest.is_some_and(|room| kind.length <= room);
        let hopeless = problem.kinds.iter().map(|k| if fits(k) { 0 } else { k.count }).collect();
        let mut kinds: Vec<(Kind, Vec<(usize, usize)>)> = Vec::new();
        for (i, kind) in problem.kinds.iter().enumerate().filter(|(_, k)| fits(k) && k.count > 0) {
            match kinds.iter_mut().find(|(k, _)| k.length == kind.length) {
                Some((known, sources)) => {
                    known.count += kind.count;
                    sources.push((i, kind.count));
                }
                None => kinds.push((*kind, vec![(i, kind.count)])),
            }
        }
        kinds.sort_by_key(|(k, _)| std::cmp::Reverse(k.length));
        let unit = kinds.iter().fold(0, |unit, (k, _)| gcd(unit, k.length)).max(1);
        let total: usize = kinds.iter().map(|(k, _)| k.count).sum();
        let shortest = kinds.last().map_or(i64::MAX, |(k, _)| k.length);

        let cost_unit = problem.bars.iter().fold(0, |unit, b| gcd(unit, b.cost)).max(1);
        let mut bars: Vec<(Stock, Vec<(usize, usize)>)> = Vec::new();
        for (i, bar) in problem.bars.iter().enumerate() {
            let count = bar.count.unwrap_or(total).min(total);
            if bar.room < shortest || count == 0 {
                continue;
            }
            let stock = Stock {
                room: bar.room / unit,
                count,
                unlimited: bar.count.is_none_or(|n| n >= total),
                cost: bar.cost / cost_unit,
            };
            let alike = |s: &Stock| s.room == stock.room && s.cost == stock.cost;
            match bars.iter_mut().find(|(s, _)| alike(s)) {
                Some((known, sources)) => {
                    known.count = (known.count + count).min(total);
                    known.unlimited |= known.count == total;
                    sources.push((i, count));
                }
                None => bars.push((stock, vec![(i, count)])),
            }
        }
        bars.sort_by_key(|(s, _)| std::cmp::Reverse((s.room, s.cost)));
        for (kind, _) in &mut kinds {
            kind.length /= unit;
        }
        let dearest = bars.iter().map(|(s, _)| s.cost).max().unwrap_or(0);
        let (kinds, kind_sources) = kinds.into_iter().unzip();
        let (bars, bar_sources): (Vec<Stock>, _) = bars.into_iter().unzip();
        let dear = dearest * total as i64 + 1;
        Self { kinds, bars, dear, kind_sources, bar_sources, hopeless, cost_unit }
    }

    /// What it costs to leave so many parts, `length` long together, to a bar of their own, had
    /// without limit; where there is none, to leave them out.
    pub(super) fn cost_alone(&self, length: i64, parts: usize) -> i64 {
        self.bar_alone(length).map_or(self.dear * parts as i64, |bar| self.bars[bar].cost)
    }

    /// The cheapest bar had without limit that takes a part of `length`.
    pub(super) fn bar_alone(&self, length: i64) -> Option<usize> {
        let open = (0..self.bars.len())
            .filter(|b| self.bars[*b].unlimited && self.bars[*b].room >= length);
        open.min_by_key(|b| self.bars[*b].cost)
    }

    /// What the length of all parts costs at least, in the bars that give most length for their
    /// cost.
    pub(super) fn material_bound(&self) -> i64 {
        let mut bars: Vec<&Stock> = self.bars.iter().collect();
        let dear = |bar: &Stock| bar.cost as f64 / bar.room as f64;
        bars.sort_by(|a, b| dear(a).total_cmp(&dear(b)));
        let mut left: i64 = self.kinds.iter().map(|k| k.length * k.count as i64).sum();
        let mut cost = 0_i128;
        for bar in bars {
            let (room, count, price) = (bar.room as i128, bar.count as i128, bar.cost as i128);
            if left as i128 > room * count {
                left -= (room * count) as i64;
                cost += price * count;
            } else {
                let part = left as i128 * price;
                return (cost + (part + room - 1) / room) as i64;
            }
        }
        0
    }

    /// What a layout costs; each part without a place costs more than any plan.
    pub(super) fn cost(&self, layout: &Layout) -> i64 {
        let missing: usize = layout.missing.iter().sum();
        layout.laid.iter().map(|l| self.bars[l.bar].cost).sum::<i64>() + self.dear * missing as i64
    }

    /// Length taken up.
    pub(super) fn taken(&self, laid: &Laid) -> i64 {
        laid.kinds.iter().map(|k| self.kinds[*k].length).sum()
    }

    /// In the problem's own numbers and units.
    pub(super) fn solved(&self, layout: &Layout, lower_bound: i64, steps: u64) -> Solved {
        let mut kinds: Vec<_> = self.kind_sources.clone();
        let mut bars: Vec<_> = self.bar_sources.clone();
        let cuts = layout.laid.iter().filter_map(|laid| {
            let bar = take(&mut bars[laid.bar])?;
            let kinds = laid.kinds.iter().filter_map(|k| take(&mut kinds[*k])).collect();
            Some(Cut { bar, kinds })
        });
        let cuts = cuts.collect();
        let mut missing = self.hopeless.clone();
        for (kind, count) in layout.missing.iter().enumerate() {
            for _ in 0..*count {
                if let Some(source) = take(&mut kinds[kind]) {
                    missing[source] += 1;
                }
            }
        }
        let cost = self.cost(layout);
        let short = layout.missing.iter().sum::<usize>() as i64;
        let proven = lower_bound >= cost;
        Solved {
            cuts,
            missing,
            cost: (cost - self.dear * short) * self.cost_unit,
            lower_bound: (lower_bound - self.dear * short).max(0) * self.cost_unit,
            proven,
            steps,
        }
    }
}

/// Takes one of what is left.
fn take(sources: &mut Vec<(usize, usize)>) -> Option<usize> {
    let (source, left) = sources.last_mut()?;
    let source = *source;
    *left -= 1;
    if *left == 0 {
        sources.pop();
    }
    Some(source)
}

fn gcd(a: i64, b: i64) -> i64 {
    if b == 0 { a } else { gcd(b, a % b) }
}
