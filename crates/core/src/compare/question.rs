//! What is to be compared: the order, the sheets it may be cut from, what things cost.

use super::policies::Policies;
use crate::cutting::CutFacts;
use crate::distances::{Clearances, StartRule};
use crate::leftover::Keeping;
use crate::part::Part;
use crate::plan::{Count, Job, Stock, Wanted};
use crate::sheet::Sheet;

/// A part that is wanted.
#[derive(Clone, Debug, PartialEq)]
pub struct Want {
    /// The part.
    pub part: Part,
    /// How many.
    pub count: usize,
    /// Which of several orders it belongs to.
    pub order: usize,
    /// When its order is due, in days from any day that is the same for all; the sheets with what is
    /// due first are cut first.
    pub due: Option<i64>,
}

/// Where a sheet comes from.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Source {
    /// A remnant in the rack.
    Remnant,
    /// A whole sheet in the rack.
    InStock,
    /// A size that can be bought.
    ToBuy,
}

impl Source {
    /// Whether it has not been cut from yet.
    pub fn is_fresh(self) -> bool {
        self != Self::Remnant
    }
}

/// A sheet that comes into question: of the right metal, not held by others, within what the machine
/// loads.
#[derive(Clone, Debug, PartialEq)]
pub struct Candidate {
    /// The sheet; its metal is known.
    pub sheet: Sheet,
    /// How many there are alike.
    pub count: usize,
    /// Where it comes from.
    pub source: Source,
    /// Weight as weighed or reckoned, kg: what has to be lifted.
    pub weight: f64,
    /// What it is worth where the rack says so.
    pub value: Option<f64>,
    /// Price of its metal (0 where nobody has said), what scrap of it brings, which leftovers are kept.
    pub keeping: Keeping,
    /// Days that it has been lying in the rack.
    pub days: Option<f64>,
}

impl Candidate {
    /// Weight of its metal as reckoned, kg.
    pub fn kg(&self) -> f64 {
        self.sheet.made_of.as_ref().map_or(0.0, |m| m.weight(self.sheet.area()))
    }
}

/// Everything that a comparison is made from.
#[derive(Clone, Debug)]
pub struct Question {
    /// The order, or several together.
    pub wanted: Vec<Want>,
    /// The sheets.
    pub candidates: Vec<Candidate>,
    /// The lengths of the rule of distances.
    pub clearances: Clearances,
    /// What every contour needs to be started; `None` where starts are chosen at the machine.
    pub starts: Option<StartRule>,
    /// What cuts are worked out with; `None` where there are no cut data for the metal.
    pub cut: Option<(StartRule, CutFacts)>,
    /// What the shop has decided.
    pub policies: Policies,
}

impl Question {
    /// Whether every sheet's metal has a price. Where one has none, ways are ranked by metal.
    pub fn is_priced(&self) -> bool {
        self.candidates.iter().all(|c| c.keeping.price > 0.0)
    }

    /// A job of these stock with so many of each part.
    pub(super) fn job(&self, stock: Vec<Stock>, counts: &[usize]) -> Job {
        let wanted = self.wanted.iter().zip(counts);
        Job {
            stock,
            wanted: wanted
                .map(|(w, n)| Wanted { part: w.part.clone(), count: Count::Exactly(*n) })
                .collect(),
            clearances: self.clearances,
            starts: self.starts,
        }
    }

    /// How many of each part are wanted.
    pub(super) fn counts(&self) -> Vec<usize> {
        self.wanted.iter().map(|w| w.count).collect()
    }
}
