//! Acts on the order and on what is known of the sheets.

use oddment_core::part::Part;
use oddment_core::plan::Count;

use super::Session;
use crate::sheet_facts::SheetFacts;

/// Most of a part that can be wanted.
pub const MOST_WANTED: usize = 10_000;

impl Session {
    /// An order with nothing on it; the sheets stay, with nothing laid.
    pub(super) fn new_order(&mut self) {
        self.hand = None;
        self.file = None;
        self.change("New order", |open| {
            for part in (0..open.job().wanted.len()).rev() {
                open.remove_part(part);
            }
            open.title = "New order".into();
        });
    }

    pub(super) fn name_order(&mut self, name: &str) {
        if name.is_empty() {
            self.refuse("An order has a name");
        } else if name != self.open.title {
            let name = name.to_owned();
            self.change(format!("Call the order {name}"), |open| open.title = name);
        }
    }

    pub(super) fn set_count(&mut self, part: usize, count: Count) {
        if matches!(count, Count::Exactly(0)) {
            let name = self.part_name(part);
            self.refuse(format!("To want no {name}, take it off the order"));
            return;
        }
        let count = match count {
            Count::Exactly(n) => Count::Exactly(n.min(MOST_WANTED)),
            Count::Max => Count::Max,
        };
        if self.open.job().wanted.get(part).is_some_and(|w| w.count != count) {
            let name = match count {
                Count::Exactly(n) => format!("Want {n} of {}", self.part_name(part)),
                Count::Max => format!("Want as many {} as go in", self.part_name(part)),
            };
            self.change(name, |open| {
                if let Some(w) = open.job_mut().job.wanted.get_mut(part) {
                    w.count = count;
                }
            });
        }
    }

    /// Changes what is known of a part of the order, as one act.
    pub(super) fn change_part(
        &mut self,
        part: usize,
        name: String,
        change: impl FnOnce(&mut Part),
    ) {
        let Some(now) = self.open.job().wanted.get(part).map(|w| &w.part) else { return };
        let mut changed = now.clone();
        change(&mut changed);
        if changed != *now {
            self.change(name, |open| {
                if let Some(w) = open.job_mut().job.wanted.get_mut(part) {
                    w.part = changed;
                }
            });
        }
    }

    pub(super) fn set_grain(&mut self, part: usize, grain: Option<f64>) {
        let name = format!("Change the grain of {}", self.part_name(part));
        self.change_part(part, name, |p| p.grain = grain);
        let none = self.open.job().stock.iter().all(|s| s.sheet.grain.is_none());
        if grain.is_some() && none {
            self.notice =
                Some("No sheet here says how its grain runs; press the sheet's name".into());
        }
    }

    /// What is known of the sheet that is shown; a plain sheet to start from where there is none.
    pub fn sheet_facts(&self) -> SheetFacts {
        let known = self.slot().map(|s| {
            SheetFacts::of(&self.open.job().stock[s.stock], &self.open.sourced.sheets[s.stock])
        });
        known.unwrap_or(SheetFacts {
            name: "plain sheet".into(),
            size: Some((2500.0, 1250.0)),
            made_of: None,
            grain: None,
            count: 1,
        })
    }

    pub(super) fn plain_sheet(&mut self, facts: &SheetFacts) {
        match facts.plain() {
            Ok((stock, origin)) => self.new_sheet(stock, origin),
            Err(why) => self.refuse(why),
        }
    }

    /// Changes what is known of the sheet that is shown; what lies on it stays. Where there is none the
    /// facts make one.
    pub(super) fn set_sheet(&mut self, facts: &SheetFacts) {
        let Some(slot) = self.slot() else { return self.plain_sheet(facts) };
        let plain = match facts.size.map(|_| facts.plain()) {
            Some(Err(why)) => {
                self.refuse(why);
                return;
            }
            Some(Ok(plain)) => Some(plain),
            None => None,
        };
        let facts = facts.clone();
        self.change_by_values(format!("Change the sheet {}", facts.name), |open| {
            let sourced = open.job_mut();
            let stock = &mut sourced.job.stock[slot.stock];
            if let Some((new, origin)) = plain {
                stock.sheet.bodies = new.sheet.bodies;
                sourced.sheets[slot.stock] = origin;
            }
            stock.sheet.name = facts.name;
            stock.sheet.made_of = facts.made_of;
            stock.sheet.grain = facts.grain;
            stock.count = facts.count.max(1);
        });
    }
}
