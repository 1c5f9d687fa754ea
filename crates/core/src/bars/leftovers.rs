//! What bars cost once what is left of them counts, and from which length it goes back to the rack.

use super::cut_list::{CutList, ROUNDING, Stock};
use super::plan::{BarPlan, CutBar};

/// Where leftovers count, plans that differ by less than this cost the same: sums are rounded part by
/// part.
pub(super) const SAME_COST: f64 = 0.005;

/// What leftovers are worth, and cost.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Leftovers {
    /// What a metre of one that goes back to the rack is credited with.
    pub credit: f64,
    /// What a metre of scrap brings.
    pub scrap: f64,
    /// What it costs to label one and bring it back.
    pub bring_back: f64,
}

/// What a plan costs, by what it is for. The sum is the plan's cost.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct BarsAccount {
    /// The bars.
    pub metal: f64,
    /// What scrap brings; not positive.
    pub scrap: f64,
    /// Bringing bars to the machine, and leftovers back.
    pub handling: f64,
    /// What is credited for leftovers that go back; not positive.
    pub goes_back: f64,
}

impl BarsAccount {
    /// The sum.
    pub fn total(&self) -> f64 {
        self.metal + self.scrap + self.handling + self.goes_back
    }
}

impl CutList {
    /// From which length what is left of a bar goes back to the rack. By money it does where it is worth
    /// as much more than scrap as it costs to bring it back.
    pub fn keeps_from(&self) -> f64 {
        let least = self.machine.keep_from.max(self.lost()[1]);
        match &self.leftovers {
            Some(Leftovers { credit, scrap, bring_back }) if *bring_back > 0.0 => {
                let gain = (credit - scrap) / 1000.0;
                if gain > 0.0 { least.max(bring_back / gain) } else { f64::INFINITY }
            }
            _ => least,
        }
    }

    /// What a millimetre that goes back is credited with, and what one of scrap brings: no more than the
    /// bar itself was charged.
    pub(super) fn worth(&self, bar: &Stock) -> [f64; 2] {
        let Some(Leftovers { credit, scrap, .. }) = self.leftovers else { return [0.0; 2] };
        let charged = (bar.cost() - bar.handling) / bar.length;
        [credit, scrap].map(|per_metre| (per_metre / 1000.0).min(charged))
    }

    /// What is left of a bar, from where to where: between the last part's cut and the far end.
    pub fn left(&self, bar: &CutBar) -> (f64, f64) {
        let length = self.stock[bar.stock].length;
        let from = bar.pieces.last().map_or(0.0, |last| {
            let cut = self.cut_along(last.ends(self)[1].angle);
            (last.end(self) + cut).min(length)
        });
        (from, length)
    }

    /// Whether what is left of a bar goes back to the rack.
    pub fn keeps(&self, bar: &CutBar) -> bool {
        let (from, to) = self.left(bar);
        to - from >= self.keeps_from() - ROUNDING
    }

    /// What a bar costs with what is cut from it.
    pub fn account_of(&self, bar: &CutBar) -> BarsAccount {
        let stock = &self.stock[bar.stock];
        let (from, to) = self.left(bar);
        let [credit, scrap] = self.worth(stock).map(|per_mm| per_mm * (to - from));
        let (metal, handling) = (stock.cost() - stock.handling, stock.handling);
        let back = self.leftovers.map_or(0.0, |leftovers| leftovers.bring_back);
        if self.keeps(bar) {
            BarsAccount { metal, scrap: 0.0, handling: handling + back, goes_back: 0.0 - credit }
        } else {
            BarsAccount { metal, scrap: 0.0 - scrap, handling, goes_back: 0.0 }
        }
    }

    /// What a plan costs, by what it is for.
    pub fn account(&self, plan: &BarPlan) -> BarsAccount {
        plan.bars.iter().map(|bar| self.account_of(bar)).fold(BarsAccount::default(), |a, b| {
            BarsAccount {
                metal: a.metal + b.metal,
                scrap: a.scrap + b.scrap,
                handling: a.handling + b.handling,
                goes_back: a.goes_back + b.goes_back,
            }
        })
    }
}
