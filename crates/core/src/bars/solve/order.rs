//! A problem made ready: equal things merged, lengths and costs in their largest common unit,
//! longest parts and dearest bars first.

use super::{Bar, Charge, Cut, Kind, Problem, Solved};

/// Things of the problem that are alike, and how many of each.
type Sources = Vec<(usize, usize)>;

/// A problem made ready.
#[derive(Debug)]
pub(super) struct Order {
    /// Longest first, no two alike, none longer than every bar.
    pub(super) kinds: Vec<Kind>,
    /// The bars, once for each way of charging them. None is too short for every part.
    pub(super) bars: Vec<Stock>,
    /// How many of each bar there are, however they are charged. No two are alike.
    pub(super) groups: Vec<Group>,
    /// By rate, what a part of each kind costs besides its bar.
    shares: Vec<Vec<i64>>,
    /// What it costs to leave a part of no kind out of the bars that are had without limit: more
    /// than any plan.
    pub(super) dear: i64,
    /// By kind, the problem's kinds and how many of each.
    kind_sources: Vec<Sources>,
    /// By group, the problem's bars and how many of each.
    bar_sources: Vec<Sources>,
    /// How many of each of the problem's kinds are longer than every bar.
    hopeless: Vec<usize>,
    cost_unit: i64,
}

/// Bars that are alike, charged in one way.
#[derive(Clone, Copy, Debug)]
pub(super) struct Stock {
    pub(super) room: i64,
    /// What one costs without its parts' shares, and filled to its end.
    pub(super) cost: i64,
    pub(super) full: i64,
    /// Which rate.
    pub(super) rate: usize,
    pub(super) group: usize,
}

/// How many there are of bars that are alike; at most the number of parts.
#[derive(Clone, Copy, Debug)]
pub(super) struct Group {
    pub(super) count: usize,
    pub(super) unlimited: bool,
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
        let longest = problem.bars.iter().filter(|b| b.count != Some(0)).map(Bar::room).max();
        let fits = |kind: &Kind| longest.is_some_and(|room| kind.length <= room);
        let hopeless = problem.kinds.iter().map(|k| if fits(k) { 0 } else { k.count }).collect();
        let mut kinds: Vec<(Kind, Sources)> = Vec::new();
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

        let charges = || problem.bars.iter().flat_map(|bar| &bar.charges);
        let mut rates: Vec<f64> = charges().map(|charge| charge.rate).collect();
        rates.sort_by(f64::total_cmp);
        rates.dedup();
        let share = |rate: f64, length: i64| (rate * length as f64).round() as i64;
        let shares = rates.iter().map(|r| kinds.iter().map(|(k, _)| share(*r, k.length)).collect());
        let mut shares: Vec<Vec<i64>> = shares.collect();
        let costs = charges().map(|charge| charge.cost).chain(shares.iter().flatten().copied());
        let cost_unit = costs.fold(0, gcd).max(1);
        shares.iter_mut().flatten().for_each(|share| *share /= cost_unit);

        let mut groups: Vec<(Group, Vec<Charge>, Sources)> = Vec::new();
        for (i, bar) in problem.bars.iter().enumerate() {
            let count = bar.count.unwrap_or(total).min(total);
            let charges = bar.charges.iter().filter(|charge| charge.room >= shortest);
            let charges: Vec<Charge> =
                charges.map(|charge| Charge { room: charge.room / unit, ..*charge }).collect();
            if charges.is_empty() || count == 0 {
                continue;
            }
            match groups.iter_mut().find(|(_, known, _)| *known == charges) {
                Some((known, _, sources)) => {
                    known.count = (known.count + count).min(total);
                    known.unlimited |= bar.count.is_none() || known.count == total;
                    sources.push((i, count));
                }
                None => {
                    let unlimited = bar.count.is_none_or(|n| n >= total);
                    groups.push((Group { count, unlimited }, charges, vec![(i, count)]));
                }
            }
        }
        let stock = |group: usize, charge: &Charge| Stock {
            room: charge.room,
            cost: charge.cost / cost_unit,
            full: (charge.cost + (charge.rate * (charge.room * unit) as f64) as i64) / cost_unit,
            rate: rates.partition_point(|rate| *rate < charge.rate),
            group,
        };
        let (stock, all) = (&stock, groups.iter().enumerate());
        let mut bars: Vec<Stock> =
            all.flat_map(|(g, (_, charges, _))| charges.iter().map(move |c| stock(g, c))).collect();
        bars.sort_by_key(|s| std::cmp::Reverse((s.room, s.cost)));
        for (kind, _) in &mut kinds {
            kind.length /= unit;
        }
        let dearest = bars.iter().map(|s| s.full).max().unwrap_or(0);
        let (kinds, kind_sources) = kinds.into_iter().unzip();
        let bar_sources = groups.iter().map(|(_, _, sources)| sources.clone()).collect();
        let groups = groups.into_iter().map(|(group, _, _)| group).collect();
        // Each share is rounded by itself.
        let dear = (dearest + 1) * total as i64 + 1;
        Self { kinds, bars, groups, shares, dear, kind_sources, bar_sources, hopeless, cost_unit }
    }

    /// How many of each group there are.
    pub(super) fn counts(&self) -> Vec<usize> {
        self.groups.iter().map(|group| group.count).collect()
    }

    /// What parts of these kinds cost on a bar besides the bar.
    pub(super) fn share<'k>(&self, bar: usize, kinds: impl IntoIterator<Item = &'k usize>) -> i64 {
        let shares = &self.shares[self.bars[bar].rate];
        kinds.into_iter().map(|kind| shares[*kind]).sum()
    }

    /// How many rates there are.
    pub(super) fn rates(&self) -> usize {
        self.shares.len()
    }

    /// What parts of these kinds cost together at a rate.
    pub(super) fn share_at(&self, rate: usize, kinds: &[usize]) -> i64 {
        kinds.iter().map(|kind| self.shares[rate][*kind]).sum()
    }

    /// What it costs to leave these parts, `length` long together, to a bar of their own, had without
    /// limit; where there is none, to leave them out.
    pub(super) fn cost_alone(&self, length: i64, kinds: &[usize]) -> i64 {
        let bar = self.bar_alone(length, kinds);
        bar.map_or(self.dear * kinds.len() as i64, |b| self.bars[b].cost + self.share(b, kinds))
    }

    /// The cheapest bar had without limit that takes these parts, `length` long together.
    pub(super) fn bar_alone(&self, length: i64, kinds: &[usize]) -> Option<usize> {
        let takes = |bar: &Stock| self.groups[bar.group].unlimited && bar.room >= length;
        let open = (0..self.bars.len()).filter(|b| takes(&self.bars[*b]));
        open.min_by_key(|b| self.bars[*b].cost + self.share(*b, kinds))
    }

    /// What the length of all parts costs at least, in the bars that give most length for their
    /// cost.
    pub(super) fn material_bound(&self) -> i64 {
        let mut bars: Vec<&Stock> = self.bars.iter().collect();
        let dear = |bar: &Stock| bar.full as f64 / bar.room as f64;
        bars.sort_by(|a, b| dear(a).total_cmp(&dear(b)));
        // Shares are rounded part by part.
        let plain = self.shares.iter().flatten().all(|share| *share == 0);
        let parts = self.kinds.iter().map(|kind| kind.count as i128).sum::<i128>();
        let rounding = if plain { 0 } else { parts };
        let mut left: i64 = self.kinds.iter().map(|k| k.length * k.count as i64).sum();
        let mut cost = 0_i128;
        for bar in bars {
            let count = self.groups[bar.group].count as i128;
            let (room, price) = (bar.room as i128, bar.full as i128);
            if left as i128 > room * count {
                left -= (room * count) as i64;
                cost += price * count;
            } else {
                let part = left as i128 * price;
                return (cost + (part + room - 1) / room - rounding).max(0) as i64;
            }
        }
        0
    }

    /// What a layout costs; each part without a place costs more than any plan.
    pub(super) fn cost(&self, layout: &Layout) -> i64 {
        let missing: usize = layout.missing.iter().sum();
        let bar = |l: &Laid| self.bars[l.bar].cost + self.share(l.bar, &l.kinds);
        layout.laid.iter().map(bar).sum::<i64>() + self.dear * missing as i64
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
            let bar = take(&mut bars[self.bars[laid.bar].group])?;
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
fn take(sources: &mut Sources) -> Option<usize> {
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
