//! How to cut a list: which bars, what from each, and where along it.

use crate::job::Budget;

use super::arrange::{Piece, arrange};
use super::cut_list::{CutList, CutListFault, ROUNDING, Stock};
use super::gather::gather;
use super::leftovers::SAME_COST;
use super::solve::{Bar, Charge, Cut, Kind, Problem, Solved, solve};

/// Units of length in a millimetre while solving: a millionth, so that inches divide without rest.
const PER_MM: f64 = 1e6;
/// Units of cost in one: a ten-thousandth.
const PER_COST: f64 = 1e4;
/// Rounds spent on having both ends of every part sawn where that costs nothing.
const SQUARING_STEPS: u64 = 400;

/// One bar, and the parts cut from it in order from the datum end.
#[derive(Clone, Debug, PartialEq)]
pub struct CutBar {
    /// Which line of the stock it is of.
    pub stock: usize,
    /// The parts.
    pub pieces: Vec<Piece>,
}

/// How to cut a list.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct BarPlan {
    /// The bars that are cut, in the order in which they are.
    pub bars: Vec<CutBar>,
    /// Of each line of the parts, how many have no place.
    pub missing: Vec<usize>,
    /// What the bars cost, with what is left of them where that counts.
    pub cost: f64,
    /// No way to cut what can be cut costs less.
    pub lower_bound: f64,
    /// No plan costs less, or leaves fewer parts out.
    pub proven: bool,
    /// Units of search work done.
    pub steps: u64,
}

/// How much of a bar a part is taken to need.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Need {
    /// Its length and a cut. Both ends of every part are sawn where `sawn`.
    Whole { sawn: bool },
    /// The same less half of what each mitre saves where it nests against another.
    Nested,
}

impl CutList {
    /// Cuts the list at least cost within `budget`; `better` is told of each better plan as it is
    /// found. Among plans of equal cost, what is left of the bars is gathered into few long
    /// remnants, and both ends of every part are sawn, also at a bar’s own ends.
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
        // A later attempt may begin with plans that are no better than those already told, and what
        // it proves holds for its own needs only.
        let mut told: Option<(usize, f64)> = None;
        let mut attempt = |need: Need, steps: u64, most: Option<u64>, bound: Option<f64>| {
            let most = match (budget.steps, most) {
                (Some(all), Some(most)) => Some(all.saturating_sub(steps).min(most)),
                (Some(all), None) => Some(all.saturating_sub(steps)),
                (None, most) => most,
            };
            let budget = Budget { steps: most, stop: budget.stop.clone(), ..*budget };
            let problem = self.problem(need);
            let mut solved = solve(&problem, &budget, &mut |found| {
                let Some(mut plan) = self.bar_plan(found) else { return };
                if let Some(bound) = bound {
                    let complete = plan.missing.iter().all(|n| *n == 0);
                    plan.lower_bound = if complete { bound.min(plan.cost) } else { 0.0 };
                    plan.proven = complete && self.costs_no_more(plan.cost, bound);
                }
                let key = (plan.missing.iter().sum(), plan.cost);
                if told.is_none_or(|told| key < told || key == told && plan.proven) {
                    told = Some(key);
                    better(&plan);
                }
            });
            self.gathered(&problem, &mut solved);
            solved
        };
        if self.nests() {
            // What mitres save depends on their neighbours: half of it for each end is the most
            // there can be, so that this cost is a bound, and a plan if the parts can be laid so.
            let nested = attempt(Need::Nested, 0, None, None);
            let plan = self.bar_plan(&nested);
            let bound = nested.lower_bound as f64 / PER_COST;
            let whole = match &plan {
                Some(plan) if plan.proven => return Ok(plan.clone()),
                _ => attempt(Need::Whole { sawn: false }, nested.steps, None, Some(bound)),
            };
            let steps = nested.steps + whole.steps;
            let whole = self.bar_plan(&whole).unwrap_or_default();
            let key = |plan: &BarPlan| (plan.missing.iter().sum::<usize>(), plan.cost);
            let best = plan.filter(|plan| key(plan) <= key(&whole)).unwrap_or(whole);
            let complete = best.missing.iter().all(|n| *n == 0);
            let lower_bound = if complete { bound.min(best.cost) } else { 0.0 };
            let none_missing = nested.missing.iter().all(|n| *n == 0);
            let proven = complete && none_missing && self.costs_no_more(best.cost, bound);
            return Ok(BarPlan { lower_bound, proven, steps, ..best });
        }
        let solved = attempt(Need::Whole { sawn: false }, 0, None, None);
        let mut plan = self.bar_plan(&solved).unwrap_or_default();
        if self.kerf > 0.0 && self.lost().contains(&0.0) {
            let sawn = attempt(
                Need::Whole { sawn: true },
                solved.steps,
                Some(SQUARING_STEPS),
                Some(plan.lower_bound),
            );
            if let Some(BarPlan { bars, missing, cost, .. }) = self.bar_plan(&sawn)
                && missing.iter().sum::<usize>() <= plan.missing.iter().sum()
                && (missing.iter().sum::<usize>() < plan.missing.iter().sum()
                    || self.costs_no_more(cost, plan.cost))
            {
                // Where the first search was not done, this may even cost less.
                let proven = plan.proven
                    || missing.iter().all(|n| *n == 0)
                        && self.costs_no_more(cost, plan.lower_bound);
                let lower_bound = plan.lower_bound.min(cost);
                plan = BarPlan { bars, missing, cost, lower_bound, proven, ..plan };
            }
            plan.steps += sawn.steps;
        }
        Ok(plan)
    }

    /// Whether a cost is no more than another, as far as costs are told apart.
    fn costs_no_more(&self, cost: f64, than: f64) -> bool {
        cost <= than + if self.leftovers.is_some() { SAME_COST } else { 0.0 }
    }

    /// Gathers what is left of the bars where that costs nothing.
    fn gathered(&self, problem: &Problem, solved: &mut Solved) {
        let mut cuts = solved.cuts.clone();
        gather(problem, &mut cuts);
        if self.leftovers.is_some() {
            let gathered = self.bar_plan(&Solved { cuts: cuts.clone(), ..solved.clone() });
            let costs = |plan: Option<BarPlan>| plan.map_or(f64::INFINITY, |plan| plan.cost);
            if costs(gathered) > costs(self.bar_plan(solved)) + ROUNDING {
                return;
            }
        }
        solved.cuts = cuts;
    }

    /// Whether what a part takes up depends on its neighbours: mitres may nest, and their cuts are of
    /// different widths.
    fn nests(&self) -> bool {
        (self.height() > 0.0 || self.kerf > 0.0)
            && self.parts.iter().any(|part| part.ends.iter().any(|end| *end > 0.0))
    }

    /// The widest that a cut is along the bar.
    fn widest_cut(&self) -> f64 {
        let steepest = self.parts.iter().flat_map(|part| part.ends).fold(0.0, f64::max);
        self.kerf / steepest.cos()
    }

    /// The list in whole numbers.
    fn problem(&self, need: Need) -> Problem {
        let unit = |mm: f64| (mm * PER_MM).round() as i64;
        let cut = unit(match need {
            Need::Whole { .. } => self.widest_cut(),
            Need::Nested => self.kerf,
        });
        let end =
            |lost: &f64| if *lost > 0.0 || need == (Need::Whole { sawn: true }) { 1 } else { 0 };
        let lost = self.lost();
        let cuts: i64 = lost.iter().map(end).sum();
        let lost = lost.iter().map(|lost| unit(*lost)).sum::<i64>() + cut * (cuts - 1);
        let cuts_at = self.lost().map(|lost| end(&lost) as f64 * cut as f64 / PER_MM);
        let bars = self.stock.iter().map(|bar| {
            let room = unit(bar.sure_length()) - lost;
            let charges = self.charges(bar, room, bar.length - self.lost()[0] - cuts_at[0]);
            Bar { count: if self.loads(bar) { bar.count } else { Some(0) }, charges }
        });
        let kinds = self.parts.iter().map(|part| {
            let saved: f64 = match need {
                Need::Whole { .. } => 0.0,
                Need::Nested => part.slopes(self.height()).iter().sum::<f64>() / 2.0,
            };
            Kind { length: unit(part.length - saved) + cut, count: part.count }
        });
        Problem { kinds: kinds.collect(), bars: bars.collect() }
    }

    /// The ways to charge a bar with so much `room`: as one of which nothing goes back, and as one of which
    /// enough is left to. `left` is how much (mm) were left of it if its parts took up nothing.
    fn charges(&self, bar: &Stock, room: i64, left: f64) -> Vec<Charge> {
        let cost = |money: f64| (money * PER_COST).round() as i64;
        let Some(leftovers) = &self.leftovers else {
            return vec![Charge { room, cost: cost(bar.cost()), rate: 0.0 }];
        };
        let [credit, scrap] = self.worth(bar);
        let rate = |per_mm: f64| per_mm * PER_COST / PER_MM;
        // The last cut of a bar without a far grip may run out of it: then it takes up nothing.
        let beyond = if self.lost()[1] > 0.0 { 0.0 } else { self.kerf };
        let mut charges = vec![Charge {
            room,
            cost: cost((bar.cost() - scrap * (left + beyond)).max(0.0)),
            rate: rate(scrap),
        }];
        let back = ((left - self.keeps_from()) * PER_MM).floor();
        if back >= 0.0 {
            let money = bar.cost() + leftovers.bring_back - credit * left;
            let room = room.min(back as i64);
            charges.push(Charge { room, cost: cost(money.max(0.0)), rate: rate(credit) });
        }
        charges
    }

    /// The plan, with the parts laid along their bars; `None` where they do not go in after all.
    fn bar_plan(&self, solved: &Solved) -> Option<BarPlan> {
        let bar = |cut: &Cut| {
            let pieces = arrange(self, &cut.kinds);
            let end = pieces.last().map_or(0.0, |piece| piece.end(self));
            let tail = self.tail(pieces.last());
            let slack = ROUNDING * (pieces.len() + 3) as f64;
            let fits = end + tail <= self.stock[cut.bar].sure_length() + slack;
            fits.then_some(CutBar { stock: cut.bar, pieces })
        };
        let mut bars = solved.cuts.iter().map(bar).collect::<Option<Vec<CutBar>>>()?;
        let urgency = |bar: &CutBar| {
            bar.pieces.iter().map(|p| self.parts[p.part].priority).max().unwrap_or(0)
        };
        let parts = |bar: &CutBar| bar.pieces.iter().map(|p| p.part).collect::<Vec<_>>();
        bars.sort_by(|a, b| {
            let length = |bar: &CutBar| self.stock[bar.stock].length;
            let by_length = length(b).total_cmp(&length(a));
            let by_content = || (a.stock, parts(a)).cmp(&(b.stock, parts(b)));
            urgency(b).cmp(&urgency(a)).then(by_length).then_with(by_content)
        });
        let cost: f64 = bars.iter().map(|bar| self.account_of(bar).total()).sum();
        let bound = solved.lower_bound as f64 / PER_COST;
        // By the solver's count a bar is charged in the cheapest way, which it may not be by the rule.
        let proven = solved.proven && (self.leftovers.is_none() || self.costs_no_more(cost, bound));
        let lower_bound = if proven { cost } else { bound.min(cost) };
        let (missing, steps) = (solved.missing.clone(), solved.steps);
        Some(BarPlan { bars, missing, cost, lower_bound, proven, steps })
    }
}
