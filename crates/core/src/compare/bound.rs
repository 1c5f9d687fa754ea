//! What no way can cost less than: proven from weights, charges and lengths alone.
//!
//! A sheet of `m` kg that is charged `w` and gives `p` kg of parts leaves at most `m − p` kg. What goes
//! back is credited with no more than `s` (the share of the price) a kilogram and with `s/price · w` in
//! all; the rest brings scrap. So its net cost is convex in `p`, and its cost for a kilogram of parts is
//! least at a corner. Filling the order's weight from the cheapest such kilograms bounds every way, as
//! does the cheapest of one sheet or the two cheapest of several.

use super::account::{charge, handling, set_up};
use super::policies::Policy;
use super::question::Question;
use crate::cutting::path::beam_path;

/// The bound, in what ways are ranked by: money, or kilograms where prices are missing.
pub(super) fn lower_bound(question: &Question) -> f64 {
    let Some(made_of) = question.candidates.iter().find_map(|c| c.sheet.made_of.as_ref()) else {
        return 0.0;
    };
    let area: f64 = question.wanted.iter().map(|w| w.part.region.area() * w.count as f64).sum();
    // Stand-ins may be lighter: the lightest counts.
    let lightest = question.candidates.iter().filter_map(|c| c.sheet.made_of.as_ref());
    let lightest = lightest.map(|m| m.weight(area)).fold(made_of.weight(area), f64::min);
    let costs: Vec<Net> = question
        .candidates
        .iter()
        .flat_map(|c| std::iter::repeat_n(Net::of(question, c), c.count.min(MOST_ALIKE)))
        .collect();
    cutting(question) + metal(&costs, lightest)
}

/// More sheets alike than this change no bound.
const MOST_ALIKE: usize = 50;

/// What a sheet costs, by the weight of the parts that it gives.
#[derive(Clone, Copy)]
struct Net {
    kg: f64,
    fixed: f64,
    charged: f64,
    /// Credited for a kilogram that goes back, at most.
    back: f64,
    /// Credited for all that goes back, at most.
    most_back: f64,
    scrap: f64,
}

impl Net {
    fn of(question: &Question, c: &super::Candidate) -> Self {
        let share = question.policies.get(Policy::CreditShare);
        if !question.is_priced() {
            let kg = c.kg();
            return Self { kg, fixed: 0.0, charged: kg, back: share, most_back: kg, scrap: 0.0 };
        }
        let set_up =
            question.cut.as_ref().map_or(0.0, |(_, f)| set_up(&question.policies, f).amount());
        let by_hand: f64 = handling(c, &question.policies).iter().map(super::Item::amount).sum();
        let charged = charge(c).map_or(0.0, |item| item.amount());
        Self {
            kg: c.kg(),
            fixed: by_hand + set_up,
            charged,
            back: share * c.keeping.price.max(c.keeping.scrap),
            most_back: share * charged,
            scrap: c.keeping.scrap,
        }
    }

    /// Cost where it gives `p` kg of parts, at least.
    fn at(&self, p: f64) -> f64 {
        let left = (self.kg - p).max(0.0);
        let credit = if self.back > self.scrap {
            let back = if self.back > 0.0 { left.min(self.most_back / self.back) } else { 0.0 };
            self.back * back + self.scrap * (left - back)
        } else {
            self.scrap * left
        };
        self.fixed + self.charged - credit
    }

    /// The least cost of a kilogram of parts, where it gives up to `most` kg.
    fn least_per_kg(&self, most: f64) -> f64 {
        let corner = if self.back > 0.0 { self.kg - self.most_back / self.back } else { 0.0 };
        let tries = [most, corner].into_iter().filter(|p| *p > 0.0 && *p <= most);
        tries.map(|p| self.at(p) / p).fold(f64::INFINITY, f64::min)
    }
}

fn metal(sheets: &[Net], wanted: f64) -> f64 {
    // A kilogram given costs at least what it can't be credited with any more.
    let slope = sheets.iter().map(|s| s.scrap.min(s.back)).fold(f64::INFINITY, f64::min);
    let paid: f64 = sheets.iter().map(|s| s.at(0.0).min(0.0)).sum();
    if paid < 0.0 {
        // Sheets recorded as worth less than their scrap: nothing better is proven.
        return paid + slope * wanted;
    }
    let mut by_kg: Vec<(f64, f64)> = sheets
        .iter()
        .filter(|s| s.kg > 0.0)
        .map(|s| (s.least_per_kg(s.kg.min(wanted)), s.kg.min(wanted)))
        .collect();
    by_kg.sort_by(|a, b| a.0.total_cmp(&b.0));
    let (mut left, mut fractional) = (wanted, 0.0);
    for (cost, kg) in by_kg {
        let taken = kg.min(left);
        fractional += taken * cost;
        left -= taken;
    }
    let alone = sheets.iter().filter(|s| s.kg >= wanted).map(|s| s.at(wanted));
    let alone = alone.fold(f64::INFINITY, f64::min);
    let mut empty: Vec<f64> = sheets.iter().map(|s| s.at(0.0)).collect();
    empty.sort_by(f64::total_cmp);
    let several = match empty[..] {
        [a, b, ..] if slope.is_finite() => a + b + slope * wanted,
        _ => f64::INFINITY,
    };
    let whole = alone.min(several);
    if whole.is_finite() { fractional.max(whole) } else { fractional }
}

/// What the machine takes at least: every contour at full feed, and a pierce for each. A tab saves
/// less than the pierce after it takes.
fn cutting(question: &Question) -> f64 {
    let Some((_, facts)) = question.cut.as_ref().filter(|_| question.is_priced()) else {
        return 0.0;
    };
    let feed = &facts.feed;
    let half = question.clearances.beam();
    let of = |w: &super::Want| {
        let paths = w.part.region.loops().flat_map(|l| beam_path(l, half).loops);
        let seconds: f64 = paths.map(|l| l.perimeter() / feed.speed + feed.pierce_seconds).sum();
        let pierces = w.part.region.loops().count() as f64;
        let money = facts.honest(seconds).0 / 3600.0 * feed.per_hour + pierces * feed.per_pierce;
        money * w.count as f64
    };
    question.wanted.iter().map(of).sum()
}
