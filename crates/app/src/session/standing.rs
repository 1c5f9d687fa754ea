//! Whether the sheets of the open job are still as the rack has them: somebody else may have cut them, or
//! taken a cut back.

use std::collections::BTreeSet;

use oddment_rack::outline::SAME;
use oddment_rack::sheets::Entry;

use super::Session;
use super::compare::listed;
use crate::autosave::OfRack;
use crate::rack::RackAct;

/// A sheet that something is laid on, and that must not be cut so.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Barred {
    /// Its label.
    pub label: String,
    /// Why not.
    pub why: Bar,
}

/// Why a sheet must not be cut as planned.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Bar {
    /// The rack has it no more.
    Gone,
    /// It is no more as it was when it was taken from the rack.
    Changed,
    /// It is held like this for another order.
    Held(String),
    /// This order asks for a certificate, and the sheet lacks what is named second.
    Uncertified(String, &'static str),
}

impl Barred {
    /// Why, in words.
    pub fn words(&self) -> String {
        let label = &self.label;
        match &self.why {
            Bar::Gone => format!("{label} is in the rack no more"),
            Bar::Changed => format!("{label} has changed in the rack since it was taken"),
            Bar::Held(how) => format!("{label} is {how}"),
            Bar::Uncertified(order, lacks) => {
                format!("{order} asks for a certificate, and {label} has no {lacks}")
            }
        }
    }

    /// What is to be done about it, in words; a change can be taken over by itself.
    pub fn mend_words(&self) -> &'static str {
        match self.why {
            Bar::Gone => "lay its parts on another sheet",
            Bar::Changed => "take it again, and look at the check",
            Bar::Held(_) => "release it in the rack, or lay its parts on another sheet",
            Bar::Uncertified(..) => "lay its parts on one that has it, or put its facts right",
        }
    }
}

/// What is known of how the sheets of the open job stand to the rack.
#[derive(Debug, Default)]
pub(super) struct Standing {
    /// Revision, revision of the rack, its shapes known and its files opened that it was looked at for.
    of: Option<(u64, u64, usize, u64)>,
    /// Labels of sheets of the job that the rack had at some time.
    seen: BTreeSet<String>,
    barred: Vec<Barred>,
    /// What was kept of where its sheets are from, until a shop file is open.
    kept: Option<OfRack>,
}

impl Standing {
    /// Of work that was open before, with what was kept of where its sheets are from.
    pub(super) fn restored(kept: Option<OfRack>) -> Self {
        Self { kept, ..Self::default() }
    }
}

impl Session {
    /// The sheets that something is laid on and that must not be cut so.
    pub fn barred(&self) -> &[Barred] {
        &self.standing.barred
    }

    /// That the open order asks for a certificate which this sheet does not have.
    pub(super) fn lacks_certificate(&self, sheet: &Entry) -> Option<Barred> {
        let order = &self.open.title;
        let lacks = sheet.facts.lacks_for_certificate().filter(|_| self.asks_certificate(order))?;
        let why = Bar::Uncertified(order.clone(), lacks);
        Some(Barred { label: sheet.label.clone(), why })
    }

    /// That this sheet is held for another order than the open one.
    fn is_held_for_another(&self, sheet: &Entry) -> Option<Barred> {
        let hold = sheet.facts.held_for_another(Some(&self.open.title))?;
        Some(Barred { label: sheet.label.clone(), why: Bar::Held(hold.words()) })
    }

    /// The sheets of the open job that the rack has, or had.
    pub(super) fn of_rack(&self) -> Option<OfRack> {
        if self.standing.kept.is_some() {
            return self.standing.kept.clone();
        }
        let rack = self.rack.as_ref()?;
        let (shop, file) = rack.shop();
        let names = self.open.job().stock.iter().map(|s| &s.sheet.name);
        let sheets = names.filter(|n| rack.has(n) || self.standing.seen.contains(*n)).cloned();
        Some(OfRack { file: file?.to_owned(), shop: shop.to_owned(), sheets: sheets.collect() })
    }

    /// Work that was open before is matched to the shop file: it may be another than the one its sheets
    /// are from.
    fn match_kept(&mut self) {
        let Some(rack) = self.rack.as_ref().filter(|rack| rack.is_listed()) else { return };
        let Some(kept) = self.standing.kept.take() else { return };
        let is_other = rack.shop().1.is_some_and(|now| now != kept.file);
        self.standing.seen = kept.sheets;
        if is_other {
            self.put_away_sheets_of(&kept.shop);
        }
    }

    pub(super) fn poll_standing(&mut self) {
        let Some(rack) = &self.rack else { return };
        let files = rack.files_opened();
        let of = (self.revision, rack.revision(), rack.shapes_known(), files);
        if self.standing.of == Some(of) {
            return;
        }
        if self.standing.of.is_some_and(|before| before.3 != files) {
            self.standing.seen.clear();
        }
        self.standing.of = Some(of);
        self.match_kept();
        let Some(rack) = &self.rack else { return };
        let listing = rack.listing().clone();
        let (mut barred, mut unknown) = (Vec::new(), Vec::new());
        for (n, stock) in self.open.job().stock.iter().enumerate() {
            let label = &stock.sheet.name;
            let is_it = |e: &&Entry| e.label == *label && e.facts.whereabouts.is_here();
            let entry = listing.sheets.iter().find(is_it);
            if entry.is_some() {
                self.standing.seen.insert(label.clone());
            }
            if !self.open.plan.layouts.iter().any(|l| l.stock == n) {
                continue;
            }
            let why = match entry {
                None if self.standing.seen.contains(label) => Bar::Gone,
                None => continue,
                Some(entry) => {
                    barred.extend(self.lacks_certificate(entry));
                    barred.extend(self.is_held_for_another(entry));
                    match rack.shape(entry.shape) {
                        Some(now) if !now.is_same_metal(&stock.sheet.bodies, SAME) => Bar::Changed,
                        Some(_) => continue,
                        None => {
                            unknown.push(entry.shape);
                            continue;
                        }
                    }
                }
            };
            barred.push(Barred { label: label.clone(), why });
        }
        let unasked = rack.unasked(unknown.into_iter());
        if let Some(rack) = self.rack.as_mut().filter(|_| !unasked.is_empty()) {
            rack.act(RackAct::Shapes(unasked));
        }
        if self.standing.barred != barred {
            self.standing.barred = barred;
            self.revision += 1;
            self.standing.of = Some((self.revision, of.1, of.2, of.3));
        }
    }

    /// Another shop file is open in place of the one of this name: its sheets are put away, and what lay on
    /// them is wanted again.
    pub(super) fn put_away_sheets_of(&mut self, shop: &str) {
        let stock = self.open.job().stock.iter().enumerate();
        let of_it = stock.filter(|(_, s)| self.standing.seen.contains(&s.sheet.name));
        let (away, names): (Vec<usize>, Vec<String>) =
            of_it.map(|(n, s)| (n, s.sheet.name.clone())).unzip();
        if away.is_empty() {
            return;
        }
        self.keep_best();
        self.hand = None;
        let names = listed(&names);
        self.change(format!("Put {names} away"), |open| {
            away.into_iter().rev().for_each(|stock| open.remove_sheet(stock));
        });
        let says = format!(
            "{names} of {shop} is put away from the Sheet, with what was planned on it: there, Ctrl Z \
             brings it back."
        );
        if let Some(rack) = &mut self.rack {
            rack.say_besides(&says);
        }
        self.notice = Some(says);
    }

    /// Takes the sheet as the rack has it now; what lies on it stays where it is, for the check to judge.
    pub(super) fn take_again(&mut self, label: &str) {
        let Some(rack) = &self.rack else { return };
        let entry = rack.listing().sheets.iter().find(|e| e.label == label);
        let Some(sheet) = entry.and_then(|entry| rack.sheet(entry)) else { return };
        self.change(format!("Take {label} again"), |open| {
            let stock = &mut open.job_mut().job.stock;
            if let Some(known) = stock.iter_mut().find(|s| s.sheet.name == label) {
                known.sheet = sheet;
            }
        });
    }

    /// Why nothing may go to the machine, where a sheet must not be cut as planned.
    pub fn why_barred(&self) -> Option<String> {
        let first = self.standing.barred.first()?;
        Some(format!("Nothing is exported: {}; {}", first.words(), first.mend_words()))
    }
}
