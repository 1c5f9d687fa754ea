//! Why one way goes before another, in figures.

use super::account::ItemKind;
use super::policies::Policy;
use super::question::{Question, Source};
use super::ways::Way;

/// A remnant that has lain longer than this (days) is old.
const OLD: f64 = 365.0;

/// How a way differs from another.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Reason {
    /// By how much less it costs, in what ways are ranked by.
    pub saves: f64,
    /// Minutes by hand more (negative: fewer).
    pub by_hand: f64,
    /// Minutes at the machine more (negative: fewer).
    pub at_machine: f64,
    /// Remnants of which nothing goes back.
    pub uses_up: usize,
    /// Of those, how many have lain for more than a year.
    pub old: usize,
    /// Minutes that pulling a remnant would have to take for both to cost the same, where the other
    /// wins above.
    pub break_even: Option<f64>,
}

/// How `way` differs from `other`.
pub fn reason(question: &Question, way: &Way, other: &Way) -> Reason {
    let ((hand, machine), (other_hand, other_machine)) = (way.minutes(), other.minutes());
    let used_up = way.sheets.iter().filter(|s| {
        s.rest.kept.is_empty() && question.candidates[s.candidate].source == Source::Remnant
    });
    let used_up: Vec<_> = used_up.map(|s| &question.candidates[s.candidate]).collect();
    Reason {
        saves: other.score - way.score,
        by_hand: hand - other_hand,
        at_machine: machine - other_machine,
        uses_up: used_up.len(),
        old: used_up.iter().filter(|c| c.days.is_some_and(|d| d > OLD)).count(),
        break_even: break_even(question, way, other),
    }
}

/// Minutes of pulling a remnant at which both cost the same; `None` where more minutes never turn it.
fn break_even(question: &Question, way: &Way, other: &Way) -> Option<f64> {
    if !question.is_priced() || way.score > other.score {
        return None;
    }
    let rate = question.policies.get(Policy::Labour) / 60.0;
    // What each costs without pulling remnants, and by how much a minute of pulling raises that.
    let pulling = |way: &Way| {
        let remnant = |sheet: usize| {
            question.candidates[way.sheets[sheet].candidate].source == Source::Remnant
        };
        let pulls = way.account.items.iter();
        let pulls = pulls.filter(|i| i.kind == ItemKind::Pull && remnant(i.sheet));
        let (mut cost, mut slope) = (way.account.total(), 0.0);
        for item in pulls {
            cost -= item.amount();
            slope += if item.minutes > 0.0 { item.amount() / item.minutes } else { rate };
        }
        (cost, slope)
    };
    let ((cost, slope), (other_cost, other_slope)) = (pulling(way), pulling(other));
    let minutes = (other_cost - cost) / (slope - other_slope);
    (slope > other_slope && minutes.is_finite()).then_some(minutes)
}
