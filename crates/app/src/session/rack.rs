//! The rack and the open job: sheets taken from it, cuts recorded in it.

use std::f64::consts::FRAC_PI_2;

use oddment_core::bars::profile::{Profile, STEEL};
use oddment_core::part::Turning;
use oddment_core::plan::{Count, Stock, Wanted};
use oddment_files::bars::is_same_name;
use oddment_files::job_file::Origin;
use oddment_files::plan_file::{RunFacts, write_plan};
use oddment_files::setup_sheet::Carried;
use oddment_rack::facts::Facts;
use oddment_rack::fillers::Stocked;
use oddment_rack::orders::Order;
use oddment_rack::outline::{Outline, Source};
use oddment_rack::sheets::NewSheet;

use super::laying::ANYWHERE;
use super::{Ask, Session};
use crate::bars::known_profiles;
use crate::hand::Hand;
use crate::place::Place;
use crate::rack::fillers::part_of;
use crate::rack::{CutOfJob, CutSaid, Desk, Done, RackAct};

impl Session {
    /// The rack, where there is one.
    pub fn rack(&self) -> Option<&Desk> {
        self.rack.as_ref()
    }

    /// Whether what lies on the sheet that is shown can be recorded as cut: something lies there, and
    /// the rack has the sheet.
    pub fn can_record(&self) -> bool {
        let shown = self.slot().filter(|s| s.layout.is_some());
        shown.is_some_and(|slot| {
            let name = &self.view().job().stock[slot.stock].sheet.name;
            self.rack.as_ref().is_some_and(|rack| rack.has(name))
        })
    }

    pub(super) fn poll_rack(&mut self) {
        let unit = self.settings.unit();
        let done = self.rack.as_mut().map(|rack| rack.poll(unit)).unwrap_or_default();
        self.take_values();
        for done in done {
            match done {
                Done::Took(sheet) => {
                    self.keep_best();
                    self.new_sheet(Stock { sheet: sheet.sheet(), count: 1 }, Origin::Outline);
                    self.set(|s| s.place = Place::Sheet);
                    if let Some(lacks) = self.lacks_certificate(&sheet.entry) {
                        self.notice = Some(lacks.words());
                    }
                }
                Done::Recorded(recorded) => self.recorded(recorded),
                Done::OtherShop(before) => self.put_away_sheets_of(&before),
                Done::TakenBack(event) => self.taken_back(event),
                Done::BarsRecorded(recorded, made) => self.bars_recorded(&recorded, &made),
            }
        }
    }

    /// Whether the shop knows that an order asks for a certificate.
    pub fn asks_certificate(&self, order: &str) -> bool {
        let Some(rack) = &self.rack else { return false };
        let is_it = |o: &&Order| o.name.eq_ignore_ascii_case(order.trim());
        rack.listing().orders.iter().find(is_it).is_some_and(|order| order.certificate)
    }

    /// Keeps whether an order on the slip or beside it asks for a certificate; with what is wanted of it
    /// where the shop did not know it.
    fn ask_certificate(&mut self, name: &str, certificate: bool) {
        let others = self.compare.others().iter().map(|other| &other.open);
        let open = std::iter::once(&self.open).chain(others).find(|open| open.title == name);
        let line = |w: &Wanted| match w.count {
            Count::Exactly(n) => Some((w.part.name.clone(), n)),
            Count::Max => None,
        };
        let wanted = open.into_iter().flat_map(|open| &open.job().wanted);
        let order =
            Order { lines: wanted.filter_map(line).collect(), certificate, ..Order::named(name) };
        match &mut self.rack {
            Some(rack) => rack.ask_certificate(order),
            None => self.refuse("There is no rack here"),
        }
    }

    pub(super) fn rack_act(&mut self, act: RackAct) -> Option<Ask> {
        match act {
            RackAct::Ask(card) => return Some(Ask::OfRack(card)),
            RackAct::AskCertificate(order, asks) => self.ask_certificate(&order, asks),
            RackAct::PickExport(name) => return Some(Ask::PickExport(name)),
            RackAct::PickLabels(labels, stickers) => {
                return Some(Ask::PickLabels(labels, stickers));
            }
            RackAct::PickImport => return Some(Ask::PickImport),
            RackAct::PickDrawings(facts) => {
                if let Some(rack) = &mut self.rack {
                    rack.drawings_are(*facts);
                }
                return Some(Ask::PickDrawingsFolder);
            }
            RackAct::PickShop => return Some(Ask::PickShop),
            RackAct::PickNewShop => return Some(Ask::PickNewShop),
            // Pressed twice, as happens in gloves.
            RackAct::Record(_) if self.rack.as_ref().is_some_and(Desk::is_recording) => {}
            RackAct::Record(said) => {
                self.keep_best();
                self.hand = None;
                if let (Some(cut), Some(rack)) = (self.cut_shown(*said), &mut self.rack) {
                    rack.record(cut);
                }
            }
            RackAct::LayFillers => self.lay_fillers(),
            RackAct::AddShown => self.add_shown(),
            RackAct::TryCut(said) => {
                if let (Some(cut), Some(rack)) = (self.cut_shown(*said), &mut self.rack) {
                    rack.try_cut(cut);
                }
            }
            RackAct::Take(label) if self.take_bar(&label) => {}
            RackAct::TakeAgain(label) => self.take_again(&label),
            RackAct::Add(new) => {
                let bar = new.first().and_then(|first| first.facts.bar.as_ref());
                let profile = bar.and_then(|bar| bar.profile.profile(STEEL));
                let profile = profile.filter(|profile| !self.is_known(profile));
                match &mut self.rack {
                    Some(rack) => rack.add(new, profile),
                    None => self.refuse("There is no rack here"),
                }
            }
            other => {
                if let RackAct::Export(file, _) | RackAct::Import(file) | RackAct::Labels(.., file) =
                    &other
                    && file.parent().is_some_and(std::path::Path::is_dir)
                {
                    self.remember_folder_of(file);
                }
                match &mut self.rack {
                    Some(rack) => rack.act(other),
                    None => self.refuse("There is no rack here"),
                }
            }
        }
        None
    }

    /// Puts the sheet that is shown into the rack, as it was drawn.
    fn add_shown(&mut self) {
        let Some(slot) = self.slot() else { return };
        let sheet = &self.open.job().stock[slot.stock].sheet;
        let Some(metal) = &sheet.made_of else {
            self.refuse("Say what the sheet is made of first: press its name");
            return;
        };
        let facts = Facts {
            material: metal.material.clone(),
            thickness: metal.thickness,
            density: metal.density,
            grain_deg: sheet.grain.map(f64::to_degrees),
            ..Facts::default()
        };
        let outline = Outline::of_sheet(sheet, Source::Drawing);
        let new = NewSheet { label: Some(sheet.name.clone()), facts, outline, drawing: None };
        let (sourced, stock) = (self.open.sourced.clone(), slot.stock);
        match &mut self.rack {
            Some(rack) if rack.has(&sheet.name) => {
                let says = format!("{} is in the rack already", sheet.name);
                self.refuse(says);
            }
            Some(rack) => {
                rack.add_of_job(new, sourced, stock);
                self.notice = Some(format!("{} goes into the rack", sheet.name));
            }
            None => self.refuse("There is no rack here"),
        }
    }

    /// A profile that nobody knew is the shop's own from now on.
    pub(super) fn keep_profile(&mut self, profile: Option<&Profile>) {
        let Some(profile) = profile.filter(|profile| !self.is_known(profile)) else { return };
        if let Some(rack) = &mut self.rack {
            rack.keep_profile(profile.clone());
        }
    }

    /// Whether there is a profile of this name already.
    fn is_known(&self, profile: &Profile) -> bool {
        known_profiles(self).iter().any(|known| is_same_name(&known.name, &profile.name))
    }

    /// What goes with the parts of the open plan: the order, and heat numbers of sheets of the rack.
    pub(super) fn carried(&self) -> Carried {
        let sheets = self.rack.iter().flat_map(|rack| &rack.listing().sheets);
        let heats = sheets.map(|e| (e.label.clone(), e.facts.heat.clone()));
        Carried { order: self.open.title.clone(), heats: heats.collect() }
    }

    /// Filler parts that may be cut from the sheet that is shown, of which there is room for more in
    /// stock, and that the order does not ask for.
    pub fn fillers(&self) -> Vec<&Stocked> {
        let (Some(rack), Some(slot)) = (&self.rack, self.slot()) else { return Vec::new() };
        let job = self.open.job();
        let Some(metal) = &job.stock[slot.stock].sheet.made_of else { return Vec::new() };
        let listing = rack.listing();
        let asked = |name: &str| job.wanted.iter().any(|w| w.part.name.eq_ignore_ascii_case(name));
        listing
            .fillers
            .iter()
            .filter(|s| {
                s.room() > 0 && !asked(&s.filler.part) && s.goes_on(metal, &listing.materials)
            })
            .collect()
    }

    /// Asks for filler parts where the others leave room; of those that find none it is said.
    fn lay_fillers(&mut self) {
        self.keep_best();
        let fillers = self.fillers().into_iter();
        let wanted: Vec<Wanted> = fillers
            .filter_map(|s| {
                let count = Count::Exactly(s.room());
                Some(Wanted { part: part_of(&s.filler)?, count })
            })
            .collect();
        let (wanted, without): (Vec<_>, Vec<_>) =
            wanted.into_iter().partition(|wanted| self.has_room_for(wanted));
        let named = |all: &[Wanted]| {
            all.iter().map(|w| w.part.name.as_str()).collect::<Vec<_>>().join(", ")
        };
        let no_room = format!("no place was found for {}", named(&without));
        match (wanted.is_empty(), without.is_empty()) {
            (true, true) => {
                self.refuse("No filler part goes on this metal, or there are enough");
                return;
            }
            (true, false) => {
                self.refuse(format!("No filler part is asked for: {no_room}"));
                return;
            }
            _ => {}
        }
        let mut says =
            format!("{}: laid where there is room; lock what lies, and Fill", named(&wanted));
        if !without.is_empty() {
            says += &format!(" ({no_room})");
        }
        self.change("Ask for filler parts", |open| {
            for wanted in wanted {
                open.job_mut().add_part(wanted, Origin::Outline);
            }
        });
        self.notice = Some(says);
    }

    /// Whether one more part goes anywhere on the sheet that is shown beside what lies there, in one of the
    /// turns that it comes in.
    fn has_room_for(&self, wanted: &Wanted) -> bool {
        let Some(slot) = self.slot() else { return false };
        let mut open = self.as_it_lies(&self.open).into_owned();
        open.job_mut().add_part(wanted.clone(), Origin::Outline);
        let part = open.job().wanted.len() - 1;
        let sheet = &open.job().stock[slot.stock].sheet;
        let middle = sheet.bounds().centre();
        let turns = match wanted.part.turns(sheet.grain, false) {
            Turning::Free => vec![0.0, FRAC_PI_2],
            Turning::Only(angles) => angles,
        };
        turns.into_iter().any(|turn| Hand::take(&open, slot, part, turn, middle).snug(ANYWHERE))
    }

    /// The cut of the sheet that is shown, to be recorded; says why where there is none.
    pub(super) fn cut_shown(&mut self, said: CutSaid) -> Option<CutOfJob> {
        if self.rack.is_none() {
            self.refuse("There is no rack here");
            return None;
        }
        let Some(layout) = self.slot().and_then(|slot| slot.layout) else {
            self.refuse("Nothing lies on this sheet, so there is nothing to record");
            return None;
        };
        let plan = write_plan(&self.open.sourced, &self.checked, RunFacts::default());
        Some(CutOfJob {
            sourced: self.open.sourced.clone(),
            checked: self.checked.clone(),
            layout,
            said,
            unit: self.settings.unit(),
            order_and_plan: (self.open.title.clone(), plan),
            values: self.values().clone(),
        })
    }
}
