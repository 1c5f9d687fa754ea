//! The independent test of a plan for bars. It shares with the solver what a list says, and
//! nothing of how plans are made.

use super::cut_list::{BarPlan, CutList, ROUNDING};

/// What is wrong with a plan.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum BarFault {
    /// Parts, cuts and grips do not go into the bar.
    #[error("bar {bar}: parts, cuts and grips take {taken:.3} mm, the bar is {length:.3} mm long")]
    TooShort {
        /// Which bar of the plan, from 1.
        bar: usize,
        /// What is taken, mm.
        taken: f64,
        /// What there is, mm.
        length: f64,
    },
    /// A bar or part the list does not have.
    #[error("bar {bar}: it names a bar or part that the list does not have")]
    Unknown {
        /// Which bar of the plan, from 1.
        bar: usize,
    },
    /// A bar from which nothing is cut.
    #[error("bar {bar}: nothing is cut from it")]
    Empty {
        /// Which bar of the plan, from 1.
        bar: usize,
    },
    /// More bars of a line than there are.
    #[error("stock line {line}: {used} are used, there are {there}")]
    TooFewBars {
        /// Which line, from 1.
        line: usize,
        /// How many are used.
        used: usize,
        /// How many there are.
        there: usize,
    },
    /// Not as many parts of a line as the plan and the list say.
    #[error(
        "part line {line}: {cut} are cut and {missing} said to be missing, {wanted} are wanted"
    )]
    Miscounted {
        /// Which line, from 1.
        line: usize,
        /// How many are cut.
        cut: usize,
        /// How many are said to be missing.
        missing: usize,
        /// How many are wanted.
        wanted: usize,
    },
    /// The cost is not that of the bars.
    #[error("the plan is said to cost {said}, its bars cost {cost}")]
    Cost {
        /// What the plan says.
        said: f64,
        /// What its bars cost.
        cost: f64,
    },
}

/// All that is wrong with a plan for a list.
pub fn check(list: &CutList, plan: &BarPlan) -> Vec<BarFault> {
    let mut faults = Vec::new();
    let mut used = vec![0; list.stock.len()];
    let mut cut = vec![0; list.parts.len()];
    let mut cost = 0.0;
    for (i, bar) in plan.bars.iter().enumerate() {
        let number = i + 1;
        let known = bar.stock < list.stock.len() && bar.parts.iter().all(|p| *p < list.parts.len());
        if !known {
            faults.push(BarFault::Unknown { bar: number });
            continue;
        }
        if bar.parts.is_empty() {
            faults.push(BarFault::Empty { bar: number });
        }
        used[bar.stock] += 1;
        cost += list.stock[bar.stock].cost();
        // Along the bar: the near grip and its cut, part after part with a cut between, the far
        // grip and its cut.
        let mut taken = 0.0;
        for grip in list.grips {
            if grip > 0.0 {
                taken += grip + list.kerf;
            }
        }
        for (n, part) in bar.parts.iter().enumerate() {
            cut[*part] += 1;
            taken += list.parts[*part].length + if n > 0 { list.kerf } else { 0.0 };
        }
        let length = list.stock[bar.stock].length;
        if taken > length + ROUNDING * (bar.parts.len() + 3) as f64 {
            faults.push(BarFault::TooShort { bar: number, taken, length });
        }
    }
    for (i, (stock, used)) in list.stock.iter().zip(&used).enumerate() {
        if let Some(there) = stock.count.filter(|there| used > there) {
            faults.push(BarFault::TooFewBars { line: i + 1, used: *used, there });
        }
    }
    for (i, (part, cut)) in list.parts.iter().zip(&cut).enumerate() {
        let missing = plan.missing.get(i).copied().unwrap_or(0);
        if cut + missing != part.count {
            let (line, cut, wanted) = (i + 1, *cut, part.count);
            faults.push(BarFault::Miscounted { line, cut, missing, wanted });
        }
    }
    if (cost - plan.cost).abs() > 1e-6 * (1.0 + cost) {
        faults.push(BarFault::Cost { said: plan.cost, cost });
    }
    faults
}
