//! Ways of cutting an order of bars beside each other: compared before one is taken.

use std::sync::Arc;

use oddment_core::bars::{CutList, Stock};

use super::PlannedBars;
use crate::words::joined;
use crate::work::Clock;

/// A way of cutting the order.
#[derive(Clone, Debug, PartialEq)]
pub struct BarWay {
    /// What is different about it.
    pub name: &'static str,
    /// Its plan, or the sentence why there is none.
    pub found: Result<Arc<PlannedBars>, String>,
}

impl BarWay {
    /// Those that leave fewest parts out first, the cheapest of them first of all.
    pub(super) fn rank(&self) -> (usize, f64) {
        self.found
            .as_ref()
            .map_or((usize::MAX, 0.0), |found| (found.plan.missing.iter().sum(), found.plan.cost))
    }
}

/// How a way differs from the one that costs least.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Differs {
    Nothing,
    NotOfRack,
    OfRack,
    Fewest,
}

const WAYS: [(&str, Differs); 4] = [
    ("at least cost", Differs::Nothing),
    ("full lengths alone", Differs::NotOfRack),
    ("the rack’s bars alone", Differs::OfRack),
    ("as few bars as possible", Differs::Fewest),
];

/// Bars of the rack are named by their labels and there once.
fn is_of_rack(bar: &Stock) -> bool {
    bar.count.is_some() && !bar.name.trim().is_empty()
}

/// Plans the list in each way, with as much time for each.
pub(crate) fn all_ways(
    list: &CutList,
    clock: &Clock,
    tell: &mut (dyn FnMut(&Vec<BarWay>) + Send),
) -> Vec<BarWay> {
    let mut ways = Vec::new();
    for (i, (name, differs)) in WAYS.into_iter().enumerate() {
        if clock.is_over() {
            break;
        }
        let wanted = |bar: &&Stock| match differs {
            Differs::NotOfRack => !is_of_rack(bar),
            Differs::OfRack => is_of_rack(bar),
            Differs::Nothing | Differs::Fewest => true,
        };
        let stock: Vec<Stock> = list.stock.iter().filter(wanted).cloned().collect();
        let list = CutList { stock, ..list.clone() };
        let end = clock.limit().mul_f64((i + 1) as f64 / WAYS.len() as f64);
        ways.push(BarWay { name, found: planned(list, differs == Differs::Fewest, clock, end) });
        tell(&ways);
    }
    ways
}

fn planned(
    list: CutList,
    fewest: bool,
    clock: &Clock,
    end: std::time::Duration,
) -> Result<Arc<PlannedBars>, String> {
    let mut asked = list.clone();
    if fewest {
        for bar in &mut asked.stock {
            (bar.cost, bar.handling) = (Some(1.0), 0.0);
        }
        asked.leftovers = None;
    }
    let plan = clock.until(end, |budget| asked.plan(budget, &mut |_| {}));
    let mut plan = plan.map_err(|faults| joined(&faults))?;
    if fewest {
        // Counted in money like the others; nothing is proven of that.
        plan.cost = list.account(&plan).total();
        (plan.lower_bound, plan.proven) = (0.0, false);
    }
    Ok(Arc::new(PlannedBars::new(Arc::new(list), plan)))
}

#[cfg(test)]
mod tests {
    use super::*;
    use oddment_core::bars::Wanted;

    #[test]
    fn each_way_keeps_to_its_bars() {
        let rack = |name: &str, length: f64| Stock {
            name: name.into(),
            length,
            count: Some(1),
            cost: Some(1.0),
            ..Stock::default()
        };
        let full = Stock { length: 3000.0, cost: Some(10.0), ..Stock::default() };
        let list = CutList {
            stock: vec![full, rack("a", 1000.0), rack("b", 1000.0)],
            parts: vec![Wanted { length: 900.0, count: 3, ..Wanted::default() }],
            ..CutList::default()
        };
        let ways = all_ways(&list, &Clock::of_seconds(3), &mut |_| {});
        let found = |i: usize| ways[i].found.as_ref().unwrap();
        assert!(ways.iter().all(|way| way.found.as_ref().is_ok_and(|p| p.faults.is_empty())));
        assert_eq!((found(0).plan.bars.len(), found(0).plan.cost), (1, 10.0));
        assert_eq!((found(1).plan.bars.len(), found(1).plan.cost), (1, 10.0));
        // Two of three go into the rack's bars.
        assert_eq!((found(2).plan.bars.len(), found(2).plan.missing[0]), (2, 1));
        assert_eq!((found(3).plan.bars.len(), found(3).plan.cost), (1, 10.0));
        assert!(ways[2].rank() > ways[1].rank());
    }
}
