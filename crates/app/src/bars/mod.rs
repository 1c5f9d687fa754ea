//! Bars: the open order of tube, bar and profile, its plan, and what is done with both.

mod kept;
mod order;
mod profiles;
mod said;
mod ways;

use std::path::PathBuf;
use std::sync::Arc;
use std::time::Duration;

use oddment_core::bars::{BarPlan, CutList};

use crate::autosave::Autosave;
use crate::history::History;
use crate::keep::Keep;
use crate::session::{AtWork, Wake};
use crate::work::{Work, start_bar_ways, start_bars};

pub use kept::open_bars;
pub(crate) use order::sample_rack_bars;
pub use order::{BarOrder, PlannedBars, sample_bars};
pub use profiles::{find_profile, known_profiles};
pub use said::BarsSaid;
pub use ways::BarWay;
pub(crate) use ways::all_ways;

/// What can be done with the order of bars.
#[derive(Clone, Debug, PartialEq)]
pub enum BarsAct {
    /// The order is so from now on; the act has this name.
    Change(String, Box<BarOrder>),
    /// Plan what is cut from which bar.
    Fill,
    /// Plan the order in several ways, to compare.
    Compare,
    /// Look at the way of this name.
    ChooseWay(&'static str),
    /// Take the way that is looked at.
    TakeWay,
    /// Record that the bars were cut, and what became of them.
    Record(Box<BarsSaid>),
    /// Take back the last act.
    Undo,
    /// Do again what was taken back.
    Redo,
    /// Begin an order of the same profile on the same machine.
    New,
    /// Open the sample shop's order.
    OpenSample,
    /// The table that was read from a file was looked at.
    TableSeen,
}

/// Ways that are compared.
struct Ways {
    work: Work<Vec<BarWay>>,
    running: bool,
    /// The one that is looked at; the best where none was chosen.
    chosen: Option<&'static str>,
}

/// The open order of bars.
pub struct Bars {
    order: BarOrder,
    history: History<BarOrder>,
    work: Option<(Arc<CutList>, Work<BarPlan>)>,
    preview: Option<Arc<PlannedBars>>,
    ways: Option<Ways>,
    file: Option<PathBuf>,
    autosave: Option<Autosave>,
    pub(crate) table: Option<String>,
    wake: Wake,
}

impl Bars {
    /// Opens the order from before if `keep` has any, else the sample shop's. What there is to tell
    /// of it comes second.
    pub(crate) fn open(keep: Option<&Keep>, wake: Wake) -> (Self, Option<String>) {
        let (restored, mut notice) = match keep.map(|k| kept::restore(&k.bars)) {
            Some(Ok(restored)) => (restored, None),
            Some(Err(why)) => (None, Some(why)),
            None => (None, None),
        };
        let (order, file) = restored.unwrap_or_else(|| (sample_bars(), None));
        let autosave = keep.and_then(|k| match Autosave::to(k.bars.clone()) {
            Ok(autosave) => Some(autosave),
            Err(why) => {
                notice = Some(format!("The order of bars is not kept: {why}"));
                None
            }
        });
        let bars = Self {
            order,
            history: History::default(),
            work: None,
            preview: None,
            ways: None,
            file,
            autosave,
            table: None,
            wake,
        };
        (bars, notice)
    }

    /// The order.
    pub fn order(&self) -> &BarOrder {
        &self.order
    }

    /// The plan that is to be seen: the one that was made, or while it is being made the best so far.
    pub fn shown(&self) -> Option<&PlannedBars> {
        match &self.work {
            Some(_) => self.preview.as_deref(),
            None => self.order.planned.as_deref(),
        }
    }

    /// A table of parts that was read from a file and not looked at yet.
    pub fn table(&self) -> Option<&str> {
        self.table.as_deref()
    }

    /// Names of the acts that undo and redo would carry out.
    pub fn undoes_and_redoes(&self) -> (Option<&str>, Option<&str>) {
        (self.history.undoes(), self.history.redoes())
    }

    /// Where the order was saved last.
    pub fn file(&self) -> Option<&PathBuf> {
        self.file.as_ref()
    }

    /// The planning that is going on.
    pub fn at_work(&self) -> Option<AtWork> {
        let (_, work) = self.work.as_ref()?;
        let says = self.preview.as_deref().map_or_else(|| "planning".into(), PlannedBars::in_words);
        Some(AtWork {
            says,
            elapsed: work.elapsed(),
            limit: work.limit(),
            estimate: work.estimate(),
            unchanged: work.unchanged(),
            share: None,
            keep: self.preview.is_some().then_some("Keep this"),
        })
    }

    /// The ways found so far, the best first, once they were asked for.
    pub fn ways(&self) -> Option<Vec<&BarWay>> {
        let ways = self.ways.as_ref()?;
        let mut found: Vec<&BarWay> = ways.work.best().into_iter().flatten().collect();
        found.sort_by(|a, b| {
            let (a, b) = (a.rank(), b.rank());
            a.0.cmp(&b.0).then(a.1.total_cmp(&b.1))
        });
        Some(found)
    }

    /// Whether ways are still being looked for.
    pub fn is_comparing(&self) -> bool {
        self.ways.as_ref().is_some_and(|ways| ways.running)
    }

    /// The way that is looked at.
    pub fn chosen_way(&self) -> Option<&BarWay> {
        let chosen = self.ways.as_ref()?.chosen;
        let ways = self.ways()?;
        let named = ways.iter().find(|way| Some(way.name) == chosen);
        named.or(ways.first()).copied()
    }

    /// Plans the list in several ways.
    pub(crate) fn compare(&mut self, list: CutList, limit: Duration) -> Result<(), String> {
        let work = start_bar_ways(Arc::new(list), limit, self.wake.clone());
        let work = work.map_err(|why| format!("The work could not be started: {why}"))?;
        self.ways = Some(Ways { work, running: true, chosen: None });
        Ok(())
    }

    /// Looks at a way.
    pub(crate) fn choose_way(&mut self, name: &'static str) {
        if let Some(ways) = &mut self.ways {
            ways.chosen = Some(name);
        }
    }

    /// Takes the way that is looked at in place of the plan; whether there is one.
    pub(crate) fn take_way(&mut self) -> bool {
        let Some(BarWay { name, found: Ok(planned) }) = self.chosen_way().cloned() else {
            return false;
        };
        let order = BarOrder { planned: Some(planned), ..self.order.clone() };
        self.change(format!("Take {name}"), order);
        true
    }

    /// Whether a plan is being made.
    pub(crate) fn is_at_work(&self) -> bool {
        self.work.is_some()
    }

    /// Plans a sound list: that of the order with the bars of the rack.
    pub(crate) fn start(&mut self, list: CutList, limit: Duration) -> Result<(), String> {
        let list = Arc::new(list);
        self.preview = None;
        // Work that is still running is replaced: the latest request wins.
        self.work = None;
        let work = start_bars(list.clone(), limit, self.wake.clone())
            .map_err(|why| format!("The work could not be started: {why}"))?;
        self.work = Some((list, work));
        Ok(())
    }

    /// Takes in what has been found; what there is to tell when the work has ended.
    pub(crate) fn poll(&mut self) -> Option<String> {
        if let Some(ways) = &mut self.ways {
            ways.running &= !ways.work.poll();
        }
        let (list, work) = self.work.as_mut()?;
        let ended = work.poll();
        if let Some(best) = work.best()
            && self.preview.as_ref().is_none_or(|seen| seen.plan != *best)
        {
            self.preview = Some(Arc::new(PlannedBars::new(list.clone(), best.clone())));
        }
        if ended { self.keep_best() } else { None }
    }

    /// Ends the work and keeps its best so far.
    pub(crate) fn keep_best(&mut self) -> Option<String> {
        self.work.take()?;
        let planned = self.preview.take()?;
        let said = planned.in_words();
        let order = BarOrder { planned: Some(planned), ..self.order.clone() };
        self.change("Fill the bars".into(), order);
        Some(said)
    }

    /// Ends the work; the plan is as it was.
    pub(crate) fn stop(&mut self) -> bool {
        self.preview = None;
        self.work.take().is_some()
    }

    /// Changes the order as one act that can be taken back. A plan for another list is none any more.
    pub(crate) fn change(&mut self, name: String, mut order: BarOrder) {
        self.stop();
        let same = order.list == self.order.list && order.from_rack == self.order.from_rack;
        if !same && order.planned == self.order.planned {
            order.planned = None;
        }
        if order == self.order {
            return;
        }
        if !same {
            self.ways = None;
        }
        let before = std::mem::replace(&mut self.order, order);
        self.history.record(name, before);
        self.keep();
    }

    /// Opens another order in place of this one.
    pub(crate) fn replace(&mut self, order: BarOrder, file: Option<PathBuf>) {
        self.change(format!("Open {}", order.title), order);
        self.file = file;
        self.keep();
    }

    /// Takes back the last act, or does it again; its name.
    pub(crate) fn step(&mut self, back: bool) -> Option<String> {
        self.stop();
        self.ways = None;
        let name = if back {
            self.history.undo(&mut self.order)
        } else {
            self.history.redo(&mut self.order)
        };
        self.keep();
        name
    }

    /// What was undone can't be done again.
    pub(crate) fn forget_undone(&mut self) {
        self.history.forget_undone();
    }

    /// It was saved here.
    pub(crate) fn saved(&mut self, file: PathBuf) {
        self.file = Some(file);
        self.keep();
    }

    fn keep(&self) {
        if let Some(autosave) = &self.autosave {
            let (order, file) = (self.order.clone(), self.file.clone());
            autosave.save_text(move || kept::as_text(&order, file));
        }
    }
}
