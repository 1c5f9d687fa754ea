//! Plans made quickly: the bar that is used best, again and again.

use std::collections::BTreeMap;

use super::knapsack::{Knapsack, Piece};
use super::order::{Laid, Layout, Order};
use super::rivals::Rivals;

/// How much more a long part is worth than short ones of the same length together: what a part is
/// worth is its length to this power.
pub(super) const LEANINGS: [f64; 4] = [1.0, 1.05, 1.2, 1.5];

/// Past so many kinds of part, tables take too long, and parts go where they first fit.
const MANY_KINDS: usize = 400;

/// Lays `wanted` parts (by kind) on the bars `left` (by group); in a `hurry`, where they first fit.
pub(super) fn fill(
    order: &Order,
    mut wanted: Vec<usize>,
    mut left: Vec<usize>,
    leaning: f64,
    hurry: &dyn Fn() -> bool,
) -> Layout {
    let many = wanted.iter().filter(|n| **n > 0).count() > MANY_KINDS;
    let group = |bar: usize| order.bars[bar].group;
    let mut laid = Vec::new();
    while !many
        && !hurry()
        && let Some((bar, kinds)) = best_use(order, &wanted, &left, leaning)
    {
        // As often as it can be done.
        let often = kinds.iter().map(|(k, n)| wanted[*k] / n).min().unwrap_or(0);
        let often = often.min(left[group(bar)]);
        left[group(bar)] -= often;
        for (kind, n) in &kinds {
            wanted[*kind] -= n * often;
        }
        let kinds: Vec<usize> = kinds.iter().flat_map(|(k, n)| vec![*k; *n]).collect();
        laid.extend(vec![Laid { bar, kinds }; often]);
    }
    let mut layout = Layout { laid, missing: wanted };
    first_fit(order, &mut layout, &mut left);
    use_cheaper_bars(order, &mut layout, left);
    layout
}

/// The bar that gives most for its cost, and what to cut from it.
fn best_use(
    order: &Order,
    wanted: &[usize],
    left: &[usize],
    leaning: f64,
) -> Option<(usize, Vec<(usize, usize)>)> {
    let kinds: Vec<usize> = (0..wanted.len()).filter(|k| wanted[*k] > 0).collect();
    let bars = (0..order.bars.len()).filter(|b| left[order.bars[*b].group] > 0);
    let bars: Vec<usize> = bars.collect();
    let longest = bars.iter().map(|b| order.bars[*b].room).max()?;
    let scale = 1e6 / (order.kinds[*kinds.first()?].length as f64).powf(leaning);
    let pieces: Vec<Piece> = kinds
        .iter()
        .map(|k| {
            let length = order.kinds[*k].length;
            let value = ((length as f64).powf(leaning) * scale).ceil() as i64;
            Piece { length, most: wanted[*k], value }
        })
        .collect();
    let rivals = Rivals::none(pieces.len());
    let knapsack = Knapsack::new(&pieces, &rivals, longest);
    let uses = bars.iter().filter_map(|bar| {
        let picked = knapsack.best(order.bars[*bar].room, 0).picked?;
        let value: i64 = picked.iter().map(|(k, n)| pieces[*k].value * *n as i64).sum();
        let carried = picked.iter().flat_map(|(k, n)| std::iter::repeat_n(&kinds[*k], *n));
        let cost = order.bars[*bar].cost + order.share(*bar, carried);
        Some((value as f64 / (cost as f64 + 1e-9), *bar, picked))
    });
    let (_, bar, picked) =
        uses.reduce(|best, other| if other.0 > best.0 { other } else { best })?;
    Some((bar, picked.into_iter().map(|(k, n)| (kinds[k], n)).collect()))
}

/// Lays what is missing, longest first, each part onto the fullest bar that still takes it, or a
/// new one: the cheapest for its length.
fn first_fit(order: &Order, layout: &mut Layout, left: &mut [usize]) {
    let mut open: BTreeMap<i64, Vec<usize>> = BTreeMap::new();
    for (kind, missing) in layout.missing.iter_mut().enumerate() {
        let length = order.kinds[kind].length;
        while *missing > 0 {
            let room = open.range(length..).next().map(|(room, _)| *room);
            let (room, at) = match room.and_then(|room| Some((room, open.get_mut(&room)?.pop()?))) {
                Some((room, at)) => {
                    if open.get(&room).is_some_and(Vec::is_empty) {
                        open.remove(&room);
                    }
                    (room, at)
                }
                None => {
                    let bars = &order.bars;
                    let takes = |b: &usize| left[bars[*b].group] > 0 && bars[*b].room >= length;
                    let dear = |b: &usize| bars[*b].full as f64 / bars[*b].room as f64;
                    let open = (0..bars.len()).filter(takes);
                    let Some(bar) = open.min_by(|a, b| dear(a).total_cmp(&dear(b))) else { break };
                    left[bars[bar].group] -= 1;
                    layout.laid.push(Laid { bar, kinds: Vec::new() });
                    (order.bars[bar].room, layout.laid.len() - 1)
                }
            };
            layout.laid[at].kinds.push(kind);
            *missing -= 1;
            open.entry(room - length).or_default().push(at);
        }
    }
}

/// Cuts what is cut from each bar from a cheaper one, where one of those `left` takes it, or charges it
/// in a cheaper way.
pub(super) fn use_cheaper_bars(order: &Order, layout: &mut Layout, mut left: Vec<usize>) {
    for laid in &mut layout.laid {
        let taken = order.taken(laid);
        let here = order.bars[laid.bar].group;
        let cost = |b: usize| order.bars[b].cost + order.share(b, &laid.kinds);
        let takes = |b: &usize| {
            let bar = &order.bars[*b];
            (left[bar.group] > 0 || bar.group == here) && bar.room >= taken
        };
        let Some(bar) = (0..order.bars.len()).filter(takes).min_by_key(|b| cost(*b)) else {
            continue;
        };
        if cost(bar) < cost(laid.bar) {
            left[here] += 1;
            left[order.bars[bar].group] -= 1;
            laid.bar = bar;
        }
    }
}
