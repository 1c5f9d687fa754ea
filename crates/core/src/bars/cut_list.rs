//! A cut list: what a saw or tube cutter is to cut, from what, and what it takes to cut it.

use crate::job::Budget;

use super::solve::{Bar, Cut, Kind, Problem, Solved, solve};

/// Units of length in a millimetre while solving: a millionth, so that inches divide without rest.
const PER_MM: f64 = 1e6;
/// Units of cost in one: a ten-thousandth.
const PER_COST: f64 = 1e4;
/// How far (mm) lengths may seem to be over through the rounding of decimal numbers.
pub(super) const ROUNDING: f64 = 1e-6;

/// The longest length (mm) and highest cost that are taken for meant.
const LONGEST: f64 = 1e6;
/// As many parts as can be planned.
const MOST_PARTS: usize = 10_000;
/// Rounds spent on having both ends of every part sawn where that costs nothing.
const SQUARING_STEPS: u64 = 400;

/// What is to be cut from what. Lengths are mm along the bar.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct CutList {
    /// The width of every cut.
    pub kerf: f64,
    /// What stays in the machine and is lost, at the datum end and at the far end.
    pub grips: [f64; 2],
    /// Full lengths and remnants.
    pub stock: Vec<Stock>,
    /// The parts.
    pub parts: Vec<Wanted>,
}

/// Bars of one length.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Stock {
    /// The length.
    pub length: f64,
    /// How many there are; `None` for as many as are wanted.
    pub count: Option<usize>,
    /// What one costs; its length where nothing is said.
    pub cost: Option<f64>,
}

impl Stock {
    /// What one costs.
    pub fn cost(&self) -> f64 {
        self.cost.unwrap_or(self.length)
    }
}

/// Parts of one length.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Wanted {
    /// The finished length.
    pub length: f64,
    /// How many.
    pub count: usize,
}

/// What is wrong with a cut list.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum CutListFault {
    /// A kerf or grip that is none.
    #[error("{0} is {1} mm; give a length of 0 or more")]
    NotAWidth(&'static str, f64),
    /// A length that is none.
    #[error(
        "{line} has the length {length} mm; give one that is more than 0 and at most a kilometre"
    )]
    NotALength {
        /// Which line.
        line: Line,
        /// What it says.
        length: f64,
    },
    /// A cost that is none.
    #[error("{0} costs {1}; give a cost from 0 to a million, or none to count its length")]
    NotACost(Line, f64),
    /// A part longer than what is left of every bar beside the grips.
    #[error(
        "{line} is {length} mm long, but the longest bar gives {longest} mm beside the grips and \
         their cuts; shorten it, or add a longer bar"
    )]
    TooLong {
        /// Which line.
        line: Line,
        /// The part's length.
        length: f64,
        /// What the longest bar gives.
        longest: f64,
    },
    /// No parts.
    #[error("no parts are wanted; list at least one with a count of 1 or more")]
    NoParts,
    /// No bars.
    #[error("there is no bar to cut from; list at least one")]
    NoStock,
    /// Too many parts.
    #[error("more than {MOST_PARTS} parts are wanted; plan them in several lists")]
    TooMany,
}

/// A line of a cut list, counted from 1.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Line {
    /// A bar.
    Stock(usize),
    /// A part.
    Part(usize),
}

impl std::fmt::Display for Line {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Self::Stock(line) => write!(f, "stock line {line}"),
            Self::Part(line) => write!(f, "part line {line}"),
        }
    }
}

/// One bar, and the parts cut from it in order from the datum end.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct CutBar {
    /// Which line of the stock it is of.
    pub stock: usize,
    /// Which line of the parts each part is of.
    pub parts: Vec<usize>,
}

/// How to cut a list.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct BarPlan {
    /// The bars that are cut.
    pub bars: Vec<CutBar>,
    /// Of each line of the parts, how many have no place.
    pub missing: Vec<usize>,
    /// What the bars cost.
    pub cost: f64,
    /// No way to cut what can be cut costs less.
    pub lower_bound: f64,
    /// No plan costs less, or leaves fewer parts out.
    pub proven: bool,
    /// Units of search work done.
    pub steps: u64,
}

impl CutList {
    /// All that is wrong with it.
    pub fn faults(&self) -> Vec<CutListFault> {
        let mut faults = Vec::new();
        let width = |mm: f64| (0.0..=LONGEST).contains(&mm);
        let length = |mm: f64| mm > ROUNDING && mm <= LONGEST;
        for (what, mm) in
            [("kerf", self.kerf), ("the near grip", self.grips[0]), ("the far grip", self.grips[1])]
        {
            if !width(mm) {
                faults.push(CutListFault::NotAWidth(what, mm));
            }
        }
        for (i, bar) in self.stock.iter().enumerate() {
            let line = Line::Stock(i + 1);
            if !length(bar.length) {
                faults.push(CutListFault::NotALength { line, length: bar.length });
            }
            if let Some(cost) = bar.cost.filter(|cost| !(0.0..=1e6).contains(cost)) {
                faults.push(CutListFault::NotACost(line, cost));
            }
        }
        let whole = faults.is_empty();
        let there = self.stock.iter().filter(|bar| bar.count != Some(0));
        let longest = there.map(|bar| self.room(bar.length, 1)).reduce(f64::max);
        for (i, part) in self.parts.iter().enumerate() {
            let line = Line::Part(i + 1);
            if !length(part.length) {
                faults.push(CutListFault::NotALength { line, length: part.length });
            } else if let Some(longest) = longest.filter(|l| whole && part.length > l + ROUNDING) {
                let longest = longest.max(0.0);
                faults.push(CutListFault::TooLong { line, length: part.length, longest });
            }
        }
        match self.parts.iter().fold(0, |n: usize, part| n.saturating_add(part.count)) {
            0 => faults.push(CutListFault::NoParts),
            n if n > MOST_PARTS => faults.push(CutListFault::TooMany),
            _ => {}
        }
        if self.stock.iter().all(|bar| bar.count == Some(0)) {
            faults.push(CutListFault::NoStock);
        }
        faults
    }

    /// Cuts that a bar with so many parts takes at least: one between each two, and one more at
    /// each end where a grip is lost. Where none is, the bar's end is the part's end.
    pub fn cuts(&self, parts: usize) -> usize {
        let grips = self.grips.iter().filter(|grip| **grip > 0.0).count();
        parts.saturating_sub(1) + grips
    }

    /// What so many parts cut from a bar of `length` may be long together.
    pub fn room(&self, length: f64, parts: usize) -> f64 {
        length - self.grips[0] - self.grips[1] - self.kerf * self.cuts(parts) as f64
    }

    /// Cuts the list at least cost within `budget`; `better` is told of each better plan as it is
    /// found. Where it costs no more, both ends of every part are sawn, also at a bar's own ends.
    ///
    /// # Errors
    /// All that is wrong with the list.
    pub fn plan(
        &self,
        budget: &Budget<'_>,
        better: &mut dyn FnMut(&BarPlan),
    ) -> Result<BarPlan, Vec<CutListFault>> {
        let faults = self.faults();
        if !faults.is_empty() {
            return Err(faults);
        }
        let problem = self.problem(self.cuts(1));
        let solved = solve(&problem, budget, &mut |found| better(&self.bar_plan(found)));
        let mut plan = self.bar_plan(&solved);
        if self.kerf > 0.0 && self.cuts(1) < 2 {
            let steps = solved.steps + SQUARING_STEPS;
            let steps = budget.steps.map_or(steps, |most| most.min(steps)) - solved.steps;
            let budget = Budget { steps: Some(steps), stop: budget.stop.clone(), ..*budget };
            let squared = solve(&self.problem(2), &budget, &mut |_| {});
            if (squared.missing.iter().sum::<usize>(), squared.cost)
                <= (solved.missing.iter().sum(), solved.cost)
            {
                let BarPlan { bars, missing, .. } = self.bar_plan(&squared);
                plan = BarPlan { bars, missing, ..plan };
            }
            plan.steps += squared.steps;
        }
        Ok(plan)
    }

    /// The list in whole numbers, with so many cuts in a bar of one part.
    fn problem(&self, cuts: usize) -> Problem {
        let unit = |mm: f64| (mm * PER_MM).round() as i64;
        let lost =
            self.grips.iter().map(|g| unit(*g)).sum::<i64>() + unit(self.kerf) * (cuts as i64 - 1);
        let bars = self.stock.iter().map(|bar| Bar {
            room: unit(bar.length) - lost,
            count: bar.count,
            cost: (bar.cost() * PER_COST).round() as i64,
        });
        let kinds = self
            .parts
            .iter()
            .map(|part| Kind { length: unit(part.length) + unit(self.kerf), count: part.count });
        Problem { kinds: kinds.collect(), bars: bars.collect() }
    }

    fn bar_plan(&self, solved: &Solved) -> BarPlan {
        let bar = |cut: &Cut| {
            let mut parts = cut.kinds.clone();
            parts.sort_by(|a, b| {
                self.parts[*b].length.total_cmp(&self.parts[*a].length).then(a.cmp(b))
            });
            CutBar { stock: cut.bar, parts }
        };
        let mut bars: Vec<CutBar> = solved.cuts.iter().map(bar).collect();
        bars.sort_by(|a, b| {
            let length = |bar: &CutBar| self.stock[bar.stock].length;
            length(b)
                .total_cmp(&length(a))
                .then_with(|| (a.stock, &a.parts).cmp(&(b.stock, &b.parts)))
        });
        let cost = bars.iter().map(|bar| self.stock[bar.stock].cost()).sum();
        let bound = if solved.proven { cost } else { solved.lower_bound as f64 / PER_COST };
        BarPlan {
            bars,
            missing: solved.missing.clone(),
            cost,
            lower_bound: bound.min(cost),
            proven: solved.proven,
            steps: solved.steps,
        }
    }
}
