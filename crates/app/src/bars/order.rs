//! An order of bars: what is wanted, what it is cut from, and the plan.

use std::sync::Arc;

use oddment_core::bars::{BarFault, BarPlan, CutList, Stock, check};
use oddment_files::bars::{Beside, read_cut_list};

/// The sample shop's order of bars, and the bars it has.
const SAMPLE: &str = include_str!("../../../../shared/frame_tubes.json");

/// What is wanted, and what it may be cut from.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct BarOrder {
    /// What the order is called.
    pub title: String,
    /// The parts, the profile, the machine, and the bars that are typed: full lengths that can be
    /// bought.
    pub list: CutList,
    /// Whether it is cut from bars of the rack too.
    pub from_rack: bool,
    /// The plan, if one was made since the order changed last.
    pub planned: Option<Arc<PlannedBars>>,
}

impl BarOrder {
    /// As many of each part as are wanted, in all.
    pub fn wanted(&self) -> usize {
        self.list.parts.iter().map(|part| part.count).sum()
    }

    /// The order once so many parts of each line are made: the others are still wanted.
    pub(crate) fn when_made(&self, made: &[usize]) -> Self {
        let mut order = self.clone();
        if order.planned.take().is_none() {
            return order;
        }
        for (part, made) in order.list.parts.iter_mut().zip(made) {
            part.count = part.count.saturating_sub(*made);
        }
        order.list.parts.retain(|part| part.count > 0);
        order
    }
}

/// A plan with the list that it is for, in which the bars of the rack stand too.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct PlannedBars {
    /// The list.
    pub list: Arc<CutList>,
    /// The plan.
    pub plan: BarPlan,
    /// What the check finds wrong with it.
    pub faults: Vec<BarFault>,
}

impl PlannedBars {
    /// A plan, checked.
    pub fn new(list: Arc<CutList>, plan: BarPlan) -> Self {
        let faults = check(&list, &plan);
        Self { list, plan, faults }
    }

    /// How many of a part's line are cut.
    pub fn cut(&self, part: usize) -> usize {
        let wanted = self.list.parts.get(part).map_or(0, |part| part.count);
        wanted - self.plan.missing.get(part).copied().unwrap_or(wanted).min(wanted)
    }

    /// “6 bars, cost 120.5; nothing costs less”.
    pub fn in_words(&self) -> String {
        let BarPlan { bars, cost, lower_bound, proven, missing, .. } = &self.plan;
        let cost_in_words = |cost: f64| (cost * 100.0).round() / 100.0;
        let sure = if *proven {
            "nothing costs less".to_owned()
        } else {
            format!(
                "nothing costs less than {} ({:.1} % less)",
                cost_in_words(*lower_bound),
                100.0 * (cost - lower_bound) / cost.max(1e-9)
            )
        };
        let bars = match bars.len() {
            1 => "1 bar".to_owned(),
            n => format!("{n} bars"),
        };
        let missing: usize = missing.iter().sum();
        let lacks =
            if missing > 0 { format!("{missing} parts have no bar; ") } else { String::new() };
        format!("{lacks}{bars}, cost {}; {sure}", cost_in_words(*cost))
    }
}

/// What the sample list says: the order and the full lengths that can be bought, and the bars that the
/// rack has.
fn sample() -> (CutList, Vec<Stock>) {
    // A test reads it.
    let mut list = read_cut_list(SAMPLE, Beside::default()).unwrap_or_default().list;
    let (rack, bought) = list.stock.into_iter().partition(|bar| !bar.name.is_empty());
    list.stock = bought;
    (list, rack)
}

/// The sample shop's order of bars.
pub fn sample_bars() -> BarOrder {
    let list = sample().0;
    BarOrder { title: "Frame tubes".into(), list, from_rack: true, planned: None }
}

/// The bars of the sample shop's rack, with the list whose profile and material they are of.
pub(crate) fn sample_rack_bars() -> (CutList, Vec<Stock>) {
    sample()
}

#[cfg(test)]
mod tests {
    use super::*;
    use oddment_core::bars::clear;
    use oddment_core::job::{Budget, Stop};
    use oddment_rack::record::Outcome;

    use crate::bars::BarsSaid;

    #[test]
    fn the_sample_order_goes_into_its_bars() {
        let (list, mut rack) = sample();
        // Worth little more than scrap, as the rack has it.
        rack.iter_mut().for_each(|bar| bar.cost = Some(1.0));
        assert!(list.profile.is_some() && !rack.is_empty() && !list.stock.is_empty());
        let whole = CutList { stock: list.stock.iter().chain(&rack).cloned().collect(), ..list };
        assert_eq!(whole.faults(), []);
        let budget = Budget { steps: Some(100), time_up: &|| false, stop: Stop::default() };
        let plan = whole.plan(&budget, &mut |_| {}).unwrap();
        assert!(clear(&whole, &plan).is_ok() && plan.missing.iter().all(|n| *n == 0));
        // Remnants of the rack are worth cutting.
        assert!(plan.bars.iter().any(|bar| !whole.stock[bar.stock].name.is_empty()));
        let planned = PlannedBars::new(Arc::new(whole), plan);
        let mut order = BarOrder { planned: Some(Arc::new(planned)), ..sample_bars() };
        assert!(order.wanted() > 0);
        let planned = order.planned.clone().unwrap();
        let mut said = BarsSaid::default();
        assert!(order.when_made(&said.made(&planned)).wanted() == 0);
        said.say_all(0, planned.plan.bars[0].pieces.len(), &Outcome::NeverStarted);
        order = order.when_made(&said.made(&planned));
        assert_eq!(order.wanted(), planned.plan.bars[0].pieces.len());
        assert!(order.planned.is_none());
    }
}
