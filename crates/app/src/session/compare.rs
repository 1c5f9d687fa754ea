//! Ways of cutting the order beside each other: asked, looked at, taken.

use std::path::PathBuf;
use std::sync::Arc;
use std::time::Duration;

use oddment_core::compare::{Question, Source, Want, Way};
use oddment_core::part::{MadeFrom, Part};
use oddment_core::plan::Count;
use oddment_core::sheet::Metal;
use oddment_files::account_words::way_title;
use oddment_files::comparison::{Told, comparison_pdf, comparison_table};
use oddment_files::job_file::{CutWishes, Origin, SourcedJob};
use oddment_files::outputs::put;
use oddment_files::values::Values;
use oddment_rack::find::Loadable;

use super::{Ask, Session};
use crate::compare::{Asked, CompareAct, Comparing, Wishes, why};
use crate::open_job::OpenJob;
use crate::place::Place;
use crate::start::sample_order;

/// How long a comparison may take.
const LIMIT: Duration = Duration::from_secs(60);

/// An order that is cut together with the one on the slip.
#[derive(Clone, Debug)]
pub struct OtherOrder {
    /// The order; its sheets do not count.
    pub open: OpenJob,
    /// When it is due, in days since 1970.
    pub due: Option<i64>,
}

/// What there is of comparing.
#[derive(Default)]
pub struct Compare {
    wishes: Wishes,
    others: Vec<OtherOrder>,
    due: Option<i64>,
    running: Option<Comparing>,
    batch: Option<Arc<Batch>>,
    chosen: Option<Vec<usize>>,
    again: Option<String>,
    /// Revision of the rack that was compared with last.
    seen: u64,
}

/// The orders that are compared, as one job without sheets.
struct Batch {
    /// What was on the slip.
    slip: Arc<SourcedJob>,
    /// Which of its parts are compared; they come first.
    from_slip: Vec<usize>,
    title: String,
    /// What is wanted, as the question has it.
    wanted: SourcedJob,
    names: Vec<String>,
}

impl Compare {
    /// How it is to be compared.
    pub fn wishes(&self) -> &Wishes {
        &self.wishes
    }

    /// The orders that are cut together with the one on the slip.
    pub fn others(&self) -> &[OtherOrder] {
        &self.others
    }

    /// When an order is due, in days since 1970: the one on the slip, or the so manieth after it.
    pub fn due(&self, order: usize) -> Option<i64> {
        match order {
            0 => self.due,
            n => self.others.get(n - 1).and_then(|o| o.due),
        }
    }

    /// The comparison, under way or done.
    pub fn running(&self) -> Option<&Comparing> {
        self.running.as_ref()
    }

    /// Names of the orders that are compared.
    pub fn names(&self) -> &[String] {
        self.batch.as_ref().map_or(&[], |b| &b.names)
    }

    /// The way that is looked at: the one chosen, or else the best.
    pub fn chosen(&self) -> Option<&Way> {
        self.running.as_ref()?.way(self.chosen.as_deref())
    }

    /// Why it was compared again.
    pub fn again(&self) -> Option<&str> {
        self.again.as_deref()
    }
}

impl Session {
    /// What there is of comparing.
    pub fn compare(&self) -> &Compare {
        &self.compare
    }

    /// The metals that parts of the orders say they are made from, or else that of the sheet that is
    /// open.
    pub fn metals_wanted(&self) -> Vec<MadeFrom> {
        let mut metals: Vec<MadeFrom> = Vec::new();
        let others = self.compare.others.iter().flat_map(|o| &o.open.job().wanted);
        for wanted in self.open.job().wanted.iter().chain(others) {
            if let Some(of) = &wanted.part.made_from
                && !metals.iter().any(|m| of.suits(&metal_of(m)))
            {
                metals.push(of.clone());
            }
        }
        if metals.is_empty() {
            let sheet = self.open.job().stock.iter().find_map(|s| s.sheet.made_of.as_ref());
            let made_from =
                |m: &Metal| MadeFrom { material: m.material.clone(), thickness: m.thickness };
            metals.extend(sheet.map(made_from));
        }
        metals
    }

    /// The metal that is compared.
    pub fn metal_compared(&self) -> Option<MadeFrom> {
        self.compare.wishes.metal.clone().or_else(|| self.metals_wanted().into_iter().next())
    }

    /// What of the orders can't be compared, in words.
    pub fn left_out(&self) -> Option<String> {
        let metal = metal_of(&self.metal_compared()?);
        let (mut other, mut most) = (0, 0);
        let others = self.compare.others.iter().flat_map(|o| &o.open.job().wanted);
        for wanted in self.open.job().wanted.iter().chain(others) {
            match wanted.count {
                Count::Exactly(n) if !wanted.part.may_be_of(Some(&metal)) => other += n,
                Count::Max => most += 1,
                Count::Exactly(_) => {}
            }
        }
        let mut words = Vec::new();
        if other > 0 {
            words.push(format!("{other} parts of another metal are left out"));
        }
        if most > 0 {
            words.push(format!("{most} of which as many as go in are wanted are left out"));
        }
        (!words.is_empty()).then(|| words.join("; "))
    }

    /// Whether the order, or how it is cut, is no longer what was compared.
    pub fn is_compared_no_more(&self) -> bool {
        let Some(batch) = &self.compare.batch else { return false };
        let (was, now) = (&*batch.slip, &*self.open.sourced);
        let same_cut = |a: &CutWishes, b: &CutWishes| {
            (&a.machine, &a.gas, &a.tried) == (&b.machine, &b.gas, &b.tried)
        };
        let same = Arc::ptr_eq(&batch.slip, &self.open.sourced)
            || (was.job.wanted == now.job.wanted
                && was.job.clearances == now.job.clearances
                && was.job.starts == now.job.starts
                && same_cut(&was.cut, &now.cut));
        !same
    }

    pub(super) fn compare_act(&mut self, act: CompareAct) -> Option<Ask> {
        match act {
            CompareAct::Begin => {
                self.compare.again = None;
                self.begin_comparing();
            }
            CompareAct::Stop => {
                if let Some(running) = &self.compare.running {
                    running.end();
                }
            }
            CompareAct::SearchOn => match &mut self.compare.running {
                Some(resting) if resting.could_go_on() => resting.search_on(),
                _ => self.refuse("There is nothing to search on for"),
            },
            CompareAct::Wish(wishes) => {
                if wishes != self.compare.wishes {
                    self.compare.wishes = wishes;
                    self.compare_again("");
                }
            }
            CompareAct::Choose(key) => self.compare.chosen = Some(key),
            CompareAct::Take => self.take_way(),
            CompareAct::Hold => self.hold_way(),
            CompareAct::Export if self.compare.chosen().is_some() => {
                return Some(Ask::PickFolderForWays);
            }
            CompareAct::Export => self.refuse("There is nothing to write yet"),
            CompareAct::ExportTo(folder) => self.write_ways(folder),
            CompareAct::AddOrder => return Some(Ask::PickOrder),
            CompareAct::AddOrderFrom(file) => {
                let started = self.exchange.open_order(file);
                self.started(started);
            }
            CompareAct::AddSample(order) => match sample_order(order) {
                Ok(Some(open)) => self.add_order(open),
                Ok(None) => {}
                Err(why) => self.refuse(why.to_string()),
            },
            CompareAct::RemoveOrder(n) if n < self.compare.others.len() => {
                self.compare.others.remove(n);
                self.compare_again("");
            }
            CompareAct::RemoveOrder(_) => {}
            CompareAct::Due(order, due) => {
                match order {
                    0 => self.compare.due = due,
                    n => {
                        if let Some(other) = self.compare.others.get_mut(n - 1) {
                            other.due = due;
                        }
                    }
                }
                self.compare_again("");
            }
        }
        None
    }

    pub(super) fn add_order(&mut self, open: OpenJob) {
        self.compare.others.push(OtherOrder { open, due: None });
        self.compare_again("");
    }

    /// Compares again where it was compared before.
    pub(super) fn compare_again(&mut self, why: &str) {
        if self.compare.running.is_some() {
            self.compare.again = (!why.is_empty()).then(|| why.to_owned());
            self.begin_comparing();
        }
    }

    fn begin_comparing(&mut self) {
        let path = self.rack.as_ref().and_then(|r| r.shop().1).map(PathBuf::from);
        let Some(path) = path else {
            self.refuse("There is no rack here to compare with");
            return;
        };
        let Some(metal) = self.metal_compared() else {
            self.refuse("Say first which metal the order is made from");
            return;
        };
        let values = self.values().clone();
        let (asked, batch) = self.asked(&metal, &values);
        if asked.wanted.is_empty() {
            self.refuse("Nothing of the order can be compared");
            return;
        }
        self.compare.chosen = None;
        self.compare.seen = self.rack.as_ref().map_or(0, |r| r.revision());
        match Comparing::start(&path, values, asked, LIMIT, self.wake.clone()) {
            // One that is still running is replaced, which stops it: the latest request wins.
            Ok(running) => {
                self.compare.running = Some(running);
                self.compare.batch = Some(Arc::new(batch));
            }
            Err(why) => self.refuse(format!("It could not be started: {why}")),
        }
    }

    /// The question to the rack, and the orders that it is about.
    fn asked(&self, metal: &MadeFrom, values: &Values) -> (Asked, Batch) {
        let slip = &self.open.sourced;
        let of_metal = metal_of(metal);
        let mut from_slip = Vec::new();
        let mut wanted = SourcedJob::new(slip.job.clearances);
        let mut wants = Vec::new();
        let mut names = vec![self.open.title.clone()];
        let slip_order = (slip.as_ref(), self.compare.due);
        let others = self.compare.others.iter().map(|o| (o.open.sourced.as_ref(), o.due));
        names.extend(self.compare.others.iter().map(|o| o.open.title.clone()));
        for (order, (sourced, due)) in std::iter::once(slip_order).chain(others).enumerate() {
            for (i, (w, origin)) in sourced.job.wanted.iter().zip(&sourced.parts).enumerate() {
                let Count::Exactly(count) = w.count else { continue };
                if !w.part.may_be_of(Some(&of_metal)) {
                    continue;
                }
                if order == 0 {
                    from_slip.push(i);
                }
                let mut named = w.clone();
                named.part.name = crate::exchange::free_name(&wanted, &w.part.name);
                // The metal that is asked for, or what stands in for it, goes before what a part says.
                let part = Part { made_from: None, ..named.part.clone() };
                wants.push(Want { part, count, order, due });
                wanted.add_part(named, origin.clone());
            }
        }
        let machine = values.machine(slip.cut.machine.as_deref());
        let of_sheet = slip.job.stock.iter().find_map(|s| s.sheet.made_of.as_ref());
        let same = of_sheet.is_none_or(|m| metal.suits(m));
        let usual = values.clearances(slip.cut.machine.as_deref(), metal.thickness);
        let clearances = usual.filter(|_| !same).unwrap_or(slip.job.clearances);
        let (wishes, loadable) = (&self.compare.wishes, self.settings.loadable);
        let sizes = values.fresh_sizes().iter().copied();
        let asked = Asked {
            wanted: wants,
            material: metal.material.clone(),
            thickness: metal.thickness,
            stand_ins: wishes.stand_ins,
            order: Some(names.join(" + ")),
            certificate: names.iter().any(|name| self.asks_certificate(name)),
            loadable: Loadable {
                bed: loadable.bed.or_else(|| machine.map(|m| [m.bed.width, m.bed.height])),
                ..loadable
            },
            fresh: Some(sizes.filter(|s| !wishes.without.contains(s)).collect()),
            clearances,
            starts: slip.job.starts,
            cut: CutWishes { by_hand: Default::default(), ..slip.cut.clone() },
        };
        wanted.job.clearances = clearances;
        let title = names.join(" + ");
        (asked, Batch { slip: slip.clone(), from_slip, title, wanted, names })
    }

    /// Takes in what the comparison has found, and compares again where a sheet, a price or a value has
    /// changed meanwhile.
    pub(super) fn poll_compare(&mut self) {
        let values = self.values().clone();
        let Some(running) = &mut self.compare.running else { return };
        running.poll();
        if self.settings.place != Place::Compare {
            return;
        }
        let (Some(posed), Some(rack)) = (running.posed().cloned(), &self.rack) else { return };
        let other_values = !Arc::ptr_eq(running.values(), &values) && *running.values() != values;
        let mut why = None;
        if rack.revision() != self.compare.seen {
            self.compare.seen = rack.revision();
            let listing = rack.listing();
            let changed = posed.changed(&listing.sheets, &listing.materials);
            if !changed.is_empty() {
                why = Some(format!("{} changed meanwhile: compared again.", listed(&changed)));
            } else if posed.repriced(&listing.materials) {
                why = Some("The material’s prices or keep rule changed: compared again.".into());
            } else if posed.asked().certificate
                != self.compare.names().iter().any(|name| self.asks_certificate(name))
            {
                why = Some("What is asked of certificates changed: compared again.".into());
            }
        }
        if other_values {
            why.get_or_insert("The shop’s values changed: compared again.".into());
        }
        if let Some(why) = why {
            self.compare_again(&why);
        }
    }

    /// Opens the way that is looked at: its sheets and its plan, with the order, for which its sheets of the
    /// rack are held from now on.
    fn take_way(&mut self) {
        if self.is_compared_no_more() {
            self.refuse("The order has changed since: compare again");
            return;
        }
        let posed = self.compare.running().and_then(|r| r.posed());
        let (Some(posed), Some(way), Some(batch)) =
            (posed, self.compare.chosen(), &self.compare.batch)
        else {
            self.refuse("There is no way to take yet");
            return;
        };
        let mut open = opened(way, batch, &self.open);
        let name = way_title(&posed.question, way);
        let of_rack = way.sheets_of(&posed.question, Source::ToBuy) < way.sheets.len();
        let several = batch.names.len() > 1;
        self.keep_best();
        self.hand = None;
        self.shown = 0;
        open.title = if several { open.title } else { self.open.title.clone() };
        if of_rack {
            self.hold_way();
        }
        self.change(format!("Take the way: {name}"), |now| *now = open);
        if several {
            // They are on the slip now.
            self.compare.others.clear();
            self.compare.running = None;
        } else if let Some(batch) = self.compare.batch.as_mut().and_then(Arc::get_mut) {
            batch.slip = self.open.sourced.clone();
            batch.from_slip = (0..batch.from_slip.len()).collect();
        }
        self.set(|s| s.place = Place::Sheet);
        self.notice = Some(format!("The sheets and the plan of this way: {name}"));
    }

    /// Holds the sheets of the rack of the way that is looked at, for the orders that are compared.
    fn hold_way(&mut self) {
        let posed = self.compare.running().and_then(|r| r.posed().cloned());
        let (Some(posed), Some(way), Some(batch)) =
            (posed, self.compare.chosen(), &self.compare.batch)
        else {
            self.refuse("There is no way to hold sheets for yet");
            return;
        };
        let used: Vec<usize> = way.sheets.iter().map(|s| s.candidate).collect();
        if let Some(rack) = &mut self.rack {
            rack.hold_all(posed, used, batch.title.clone());
        }
    }

    /// Writes the comparison as a table and to print.
    fn write_ways(&mut self, folder: PathBuf) {
        let running = self.compare.running.as_ref();
        let (Some(posed), Some(found), Some(batch)) = (
            running.and_then(|r| r.posed().cloned()),
            running.and_then(|r| r.found().cloned()),
            self.compare.batch.clone(),
        ) else {
            return;
        };
        let currency = self.rack.as_ref().map_or("", |r| r.currency()).to_owned();
        let unit = self.settings.unit();
        let started = self.exchange.write("export ways", move || {
            let question: &Question = &posed.question;
            let title = batch.title.replace(['/', '\\'], "-");
            let told = Told {
                title: batch.title.clone(),
                orders: batch.names.clone(),
                metal: format!("{} mm {}", posed.asked().thickness, posed.asked().material),
                currency,
                why: why(question, &found),
            };
            let table = folder.join(format!("{title} ways.csv"));
            let paper = folder.join(format!("{title} ways.pdf"));
            let pdf = comparison_pdf(question, &found, &told, unit).map_err(|w| w.to_string())?;
            std::fs::create_dir_all(&folder).map_err(|w| format!("{}: {w}", folder.display()))?;
            let text = comparison_table(question, &found, &told.currency);
            put(&table, text.as_bytes()).map_err(|w| w.to_string())?;
            put(&paper, &pdf).map_err(|w| w.to_string())?;
            Ok(vec![table, paper])
        });
        self.started(started);
    }
}

/// “S3-041, S3-044 and 2 more”.
pub(super) fn listed(labels: &[String]) -> String {
    match labels {
        [first, second, rest @ ..] if !rest.is_empty() => {
            format!("{first}, {second} and {} more", rest.len())
        }
        few => few.join(" and "),
    }
}

fn metal_of(made_from: &MadeFrom) -> Metal {
    let (material, thickness) = (made_from.material.clone(), made_from.thickness);
    Metal { material, thickness, density: 0.0 }
}

/// A way as an open job: what was compared first, as the way has it, and after it what was left out.
fn opened(way: &Way, batch: &Batch, now: &OpenJob) -> OpenJob {
    let slip = &now.sourced;
    let mut sourced = batch.wanted.clone();
    for stock in &way.job.stock {
        sourced.add_sheet(stock.clone(), Origin::Outline);
    }
    for (i, (w, origin)) in slip.job.wanted.iter().zip(&slip.parts).enumerate() {
        if !batch.from_slip.contains(&i) {
            let mut left = w.clone();
            left.part.name = crate::exchange::free_name(&sourced, &w.part.name);
            sourced.add_part(left, origin.clone());
        }
    }
    sourced.job.starts = slip.job.starts;
    sourced.cut = CutWishes { by_hand: Default::default(), ..slip.cut.clone() };
    let plan = way.checked.plan().clone();
    // What stands in for the metal was allowed for this cut.
    for layout in &plan.layouts {
        for p in &layout.placements {
            let metal = sourced.job.stock[layout.stock].sheet.made_of.clone();
            let part = &mut sourced.job.wanted[p.part].part;
            if !part.may_be_of(metal.as_ref()) {
                part.made_from = None;
            }
        }
    }
    OpenJob { title: batch.title.clone(), sourced: Arc::new(sourced), plan }
}
