//! Which bars to cut, and what from each, at least cost: close to exact, with a proven bound.
//!
//! The method, in the order in which it is tried:
//! 1. Greedy plans ([`greedy`]): the bar that is used best, again and again.
//! 2. A bound by pattern generation (Gilmore and Gomory 1961): a linear program over ways to cut a
//!    bar ([`relax`]), to which the most valuable way of the moment ([`knapsack`]) is added until
//!    none would better it. The bound itself is Lagrange's, worked out in whole numbers from the
//!    program's prices, so that rounding in the program cannot make it wrong.
//! 3. The program's fractions rounded down, and the rest solved as an order of its own.
//! 4. Branching ([`tree`]): either some bar carries these two parts together, and they are joined
//!    into one, or none does, and they are rivals from here on (after Ryan and Foster 1981).
//!
//! Lengths and costs are whole numbers here, in any unit; the kerf is part of a length and of a
//! bar's room.

mod greedy;
mod knapsack;
mod order;
mod relax;
mod rivals;
mod simplex;
mod tree;

#[cfg(test)]
mod tests;

use crate::job::Budget;

use order::Order;
use tree::Tree;

/// What is to be cut, and from what.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Problem {
    /// The parts.
    pub kinds: Vec<Kind>,
    /// The bars.
    pub bars: Vec<Bar>,
}

/// Parts of one length.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Kind {
    /// What one takes up of a bar; more than 0.
    pub length: i64,
    /// How many are wanted.
    pub count: usize,
}

/// Bars that are alike.
#[derive(Clone, Debug, PartialEq)]
pub struct Bar {
    /// How many there are; `None` for as many as are wanted.
    pub count: Option<usize>,
    /// The ways in which one can be charged, of which the cheapest that takes its parts counts.
    pub charges: Vec<Charge>,
}

/// What a bar costs.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Charge {
    /// What the parts cut from it may take up together.
    pub room: i64,
    /// What one costs; not negative.
    pub cost: i64,
    /// What each unit of length costs besides that parts take up; not negative.
    pub rate: f64,
}

impl Bar {
    /// Bars that cost the same whatever is cut from them.
    pub fn plain(room: i64, count: Option<usize>, cost: i64) -> Self {
        Self { count, charges: vec![Charge { room, cost, rate: 0.0 }] }
    }

    /// What the parts cut from one may take up together.
    pub fn room(&self) -> i64 {
        self.charges.iter().map(|charge| charge.room).max().unwrap_or(0)
    }
}

/// One bar, and the parts cut from it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Cut {
    /// Which of the problem's bars.
    pub bar: usize,
    /// Which of the problem's kinds, once for each part.
    pub kinds: Vec<usize>,
}

/// What was found.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Solved {
    /// The bars that are cut.
    pub cuts: Vec<Cut>,
    /// Of each kind, how many have no place; all 0 unless the bars do not suffice.
    pub missing: Vec<usize>,
    /// What the bars cost together.
    pub cost: i64,
    /// No way to cut all that the bars suffice for costs less. Where parts are missing and that is
    /// not proven unavoidable, 0.
    pub lower_bound: i64,
    /// Nothing costs less, and no fewer parts can be missing.
    pub proven: bool,
    /// Rounds of pattern generation done.
    pub steps: u64,
}

/// Cuts the order at least cost, within `budget`; `better` is told each better plan as it is found.
/// The same problem and steps give the same answer.
pub fn solve(problem: &Problem, budget: &Budget<'_>, better: &mut dyn FnMut(&Solved)) -> Solved {
    let order = Order::of(problem);
    let mut tree = Tree::new(&order, budget, better);
    tree.run();
    tree.solved()
}
