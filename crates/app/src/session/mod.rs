//! Everything that is open. Acts are carried out in `acting`, and nowhere else.

mod acting;
mod align;
mod ask;
mod bars;
mod capture;
mod compare;
mod files;
mod lay;
mod laying;
mod order;
mod outlook;
mod rack;
mod recorded;
mod shop;
mod standing;
#[cfg(test)]
mod stepping_tests;
#[cfg(test)]
mod tests;
mod work;

use std::fs::File;
use std::path::{Path, PathBuf};
use std::sync::Arc;

use oddment_core::check::{CheckedPlan, Near, check};
use oddment_core::shape::{PartSpace, Point, Pose, SheetSpace};
use oddment_core::square_up::Measured;

use crate::any_place::AnyPlace;
use crate::autosave::{Autosave, restore};
use crate::bars::Bars;
use crate::capture::Capture;
use crate::exchange::{Exchange, ReadDrawing};
use crate::hand::Hand;
use crate::history::History;
use crate::judging::Judging;
use crate::keep::{Keep, hold};
use crate::open_job::{Copy, OpenJob, SheetSlot};
use crate::rack::Desk;
use crate::settings::Settings;
use crate::where_it_fits::{WhereItFits, Working};
use crate::work::{Task, Work};

pub use ask::Ask;
pub use compare::{Compare, OtherOrder};
pub use lay::PointerList;
pub use order::MOST_WANTED;
pub(crate) use outlook::OutlookOf;
pub use standing::{Bar, Barred};
pub use work::AtWork;

/// Wakes whoever shows the session when something has changed by itself.
pub type Wake = Arc<dyn Fn() + Send + Sync>;

/// Everything that is open.
pub struct Session {
    open: OpenJob,
    checked: CheckedPlan,
    history: History<OpenJob>,
    /// Cuts recorded in the rack that are not taken back, newest last.
    recorded: Vec<recorded::RecordedCut>,
    /// The same of bars.
    recorded_bars: Vec<recorded::RecordedCut>,
    selected: Vec<Copy>,
    near: Vec<Near>,
    shown: usize,
    hand: Option<Hand>,
    fits: Option<WhereItFits>,
    looking: Option<Working>,
    any_place: Option<AnyPlace>,
    /// What a fill said that the search for any place goes on from.
    filled: Option<String>,
    closest: Option<(usize, Pose<PartSpace, SheetSpace>)>,
    work: Option<(Task, Work)>,
    refused: Vec<String>,
    preview: Option<OpenJob>,
    settings: Settings,
    in_force: shop::InForce,
    keep: Option<Keep>,
    autosave: Option<Autosave>,
    /// That no other window keeps its work in the same file; it goes after what writes that.
    _held: Option<File>,
    exchange: Exchange,
    bars: Bars,
    rack: Option<Desk>,
    capture: Option<Capture>,
    judging: Option<Judging>,
    /// Measurements of which one was left out without being asked.
    outvoted: Vec<Measured>,
    /// Revision, sheet shown, revision of the rack and shapes known that it was last looked at for.
    judging_of: Option<(u64, usize, u64, usize)>,
    compare: compare::Compare,
    standing: standing::Standing,
    report: Vec<ReadDrawing>,
    /// Drawings of which what was said is put away.
    read_before: Vec<ReadDrawing>,
    dropped_at: Option<Point<SheetSpace>>,
    file: Option<PathBuf>,
    problems: Vec<String>,
    notice: Option<String>,
    refusal: Option<String>,
    revision: u64,
    wake: Wake,
}

impl Session {
    /// Opens the work from before if `keep` has any, else `first`. Settings and the open work are
    /// kept in `keep`, where there is one.
    pub fn new(first: OpenJob, keep: Option<Keep>, wake: Wake) -> Self {
        let settings = keep.as_ref().map(|k| Settings::read(&k.settings)).unwrap_or_default();
        // Of two windows the one that came first keeps the open work; the other begins with its own.
        let held = keep.as_ref().map(|k| hold(&k.work));
        let is_second = matches!(held, Some(Ok(None)));
        let kept = keep.as_ref().filter(|_| !is_second);
        let (restored, mut notice) = match kept.map(|k| restore(&k.work)) {
            Some(Ok(restored)) => (restored, None),
            Some(Err(why)) => (None, Some(why)),
            None => (None, None),
        };
        let (open, file, of_rack) = match restored {
            Some(restored) => {
                notice = Some("The work from before is open again".into());
                (restored.open, restored.file, restored.of_rack)
            }
            None => (first, None, None),
        };
        let autosave = kept.and_then(|k| match Autosave::to(k.work.clone()) {
            Ok(autosave) => Some(autosave),
            Err(why) => {
                notice = Some(format!("The open work is not kept: {why}"));
                None
            }
        });
        let checked = check(open.job(), open.plan.clone());
        let (bars, about_bars) = Bars::open(kept, wake.clone());
        notice = about_bars.or(notice);
        if is_second {
            let says =
                "Another window keeps the open work: what is done here is kept once it is saved";
            notice = Some(says.into());
        }
        let rack = keep.as_ref().and_then(|k| match Desk::open(k.clone(), wake.clone()) {
            Ok(desk) => Some(desk),
            Err(why) => {
                notice = Some(format!("The rack can't be opened: {why}"));
                None
            }
        });
        let mut session = Self {
            open,
            checked,
            history: History::default(),
            recorded: Vec::new(),
            recorded_bars: Vec::new(),
            selected: Vec::new(),
            near: Vec::new(),
            shown: 0,
            hand: None,
            fits: None,
            looking: None,
            any_place: None,
            filled: None,
            closest: None,
            work: None,
            refused: Vec::new(),
            preview: None,
            settings,
            in_force: shop::InForce::starting(),
            keep,
            autosave,
            _held: held.and_then(Result::ok).flatten(),
            exchange: Exchange::new(wake.clone()),
            bars,
            rack,
            capture: None,
            judging: None,
            outvoted: Vec::new(),
            judging_of: None,
            compare: compare::Compare::default(),
            standing: standing::Standing::restored(of_rack),
            report: Vec::new(),
            read_before: Vec::new(),
            dropped_at: None,
            file,
            problems: Vec::new(),
            notice,
            refusal: None,
            revision: 0,
            wake,
        };
        session.checked = session.check_open();
        session
    }

    /// What is to be seen: the open job, or while it is being filled the best so far.
    pub fn view(&self) -> &OpenJob {
        self.preview.as_ref().unwrap_or(&self.open)
    }

    /// Changes whenever [`Self::view`] does.
    pub fn revision(&self) -> u64 {
        self.revision
    }

    /// The check of the open job's plan.
    pub fn checked(&self) -> &CheckedPlan {
        &self.checked
    }

    /// The selected copies.
    pub fn selected(&self) -> &[Copy] {
        &self.selected
    }

    /// What is nearest to what is in the hand, or else to what is selected; the nearest first.
    pub fn near(&self) -> &[Near] {
        &self.near
    }

    /// What is in the hand.
    pub fn hand(&self) -> Option<&Hand> {
        self.hand.as_ref()
    }

    /// Where the middle of what is in the hand may lie, once that is known.
    pub fn where_it_fits(&self) -> Option<&WhereItFits> {
        self.fits.as_ref()
    }

    /// The best pose found of a part that has no place, or none yet, to be shown.
    pub fn closest(&self) -> Option<(usize, Pose<PartSpace, SheetSpace>)> {
        let searched = self.any_place.as_ref();
        searched.and_then(|s| Some((s.part, s.closest()?.1))).or(self.closest)
    }

    /// Whether [`Self::view`] shows the best so far of work that goes on.
    pub fn is_previewed(&self) -> bool {
        self.preview.is_some()
    }

    /// Settings.
    pub fn settings(&self) -> &Settings {
        &self.settings
    }

    /// The last thing the person should know, in words.
    pub fn notice(&self) -> Option<&str> {
        self.notice.as_deref()
    }

    /// Why what was to be done last was not done, in words.
    pub fn refusal(&self) -> Option<&str> {
        self.refusal.as_deref()
    }

    /// Says why something is not done.
    fn refuse(&mut self, why: impl Into<String>) {
        self.refusal = Some(why.into());
    }

    /// The drawings that were read last, with what there is to say about them.
    pub fn report(&self) -> &[ReadDrawing] {
        &self.report
    }

    /// Why the last file could not be opened or written, in sentences.
    pub fn problems(&self) -> &[String] {
        &self.problems
    }

    /// Where the plan was saved last.
    pub fn file(&self) -> Option<&Path> {
        self.file.as_deref()
    }

    /// Whether anything is being read or written.
    pub fn is_busy(&self) -> bool {
        self.exchange.is_busy()
    }

    /// Names of the acts that undo and redo would carry out.
    pub fn undoes_and_redoes(&self) -> (Option<&str>, Option<&str>) {
        (self.history.undoes(), self.history.redoes())
    }

    /// The name of the record of a cut that undo would take back, while the person is told of it.
    pub fn recorded_just_now(&self) -> Option<&str> {
        self.notice.as_ref()?;
        let cut = self.recorded.last()?;
        self.history.undoes().filter(|undoes| *undoes == cut.name)
    }

    /// The sheet that is shown; none when the job has none.
    pub fn slot(&self) -> Option<SheetSlot> {
        self.view().slots().get(self.shown).copied()
    }

    /// Which of the sheets is shown, and how many there are.
    pub fn shown(&self) -> (usize, usize) {
        (self.shown, self.view().slots().len())
    }

    /// Takes in what has happened by itself. Called before anything is shown.
    pub fn poll(&mut self) {
        self.poll_rack();
        self.poll_standing();
        self.poll_outlook();
        self.poll_compare();
        self.capture.iter_mut().for_each(Capture::poll);
        self.poll_judging();
        while let Some(finished) = self.exchange.take() {
            self.take_in(finished);
        }
        if let Some(answer) = self.looking.as_ref().and_then(Working::answer) {
            self.looking = None;
            self.fits = Some(answer);
        }
        self.take_any_place();
        self.notice = self.bars.poll().or(self.notice.take());
        let least = self.least_laid();
        let Some((task, work)) = &mut self.work else { return };
        let before = work.best().cloned();
        let ended = work.poll();
        if work.best() != before.as_ref()
            && let Some(plan) = work.best().filter(|p| self.open.metal_laid(p) >= least)
        {
            self.preview = Some(OpenJob { plan: plan.clone(), ..self.open.clone() });
            self.revision += 1;
        }
        if ended {
            let task = *task;
            self.end_work(true);
            if task == Task::Fill && self.notice.is_some() {
                self.look_for_missing();
            }
        }
    }

    /// Changes the open job as one act that can be taken back.
    fn change(&mut self, name: impl Into<String>, change: impl FnOnce(&mut OpenJob)) {
        let before = self.open.clone();
        change(&mut self.open);
        self.history.record(name, before);
        self.changed();
    }

    fn step(&mut self, back: bool) {
        self.hand = None;
        let name = if back {
            let Some(of_cut) = self.take_back_cut(false) else { return };
            let name = self.history.undo(&mut self.open);
            if of_cut {
                // To be done again it must be recorded again.
                self.history.forget_undone();
            }
            name
        } else {
            self.history.redo(&mut self.open)
        };
        self.notice = name.map(|n| format!("{}: {n}", if back { "Undone" } else { "Done again" }));
        self.changed();
    }

    /// Brings everything that follows from the open job up to date.
    fn changed(&mut self) {
        self.revision += 1;
        // What was being looked for on the sheet as it was is looked for no more.
        self.any_place = None;
        self.renew_values();
        self.checked = self.check_open();
        let open = &self.open;
        self.selected.retain(|c| open.find(*c).is_some());
        self.shown = self.shown.min(self.open.slots().len().saturating_sub(1));
        self.keep_work();
        self.measure();
    }

    /// Measures what is nearest to what is in the hand or selected.
    fn measure(&mut self) {
        self.near = match (&self.hand, self.slot()) {
            (Some(hand), _) => hand.nearest(),
            (None, Some(slot)) if (1..=8).contains(&self.selected.len()) => {
                self.hand_of(slot, &self.selected).map(|h| h.nearest()).unwrap_or_default()
            }
            _ => Vec::new(),
        };
        self.look_where_it_fits();
    }

    /// Has the places for what is in the hand worked out, unless they are or are being.
    fn look_where_it_fits(&mut self) {
        const MOST: usize = 12;
        let wanted = self.hand.as_ref().map(Hand::wanted).filter(|w| w.len() <= MOST);
        if self.fits.as_ref().map(|f| &f.wanted) != wanted.as_ref() {
            self.fits = None;
        }
        if self.looking.as_ref().map(|l| &l.wanted) != wanted.as_ref() {
            self.looking = None;
        }
        if let (Some(wanted), None, None, Some(slot)) =
            (wanted, &self.fits, &self.looking, self.slot())
        {
            let open = self.as_it_lies(&self.open);
            self.looking = Working::start(&open, slot, &self.selected, wanted, self.wake.clone());
        }
    }

    fn set(&mut self, change: impl FnOnce(&mut Settings)) {
        change(&mut self.settings);
        if let Some(keep) = &self.keep
            && let Err(fault) = self.settings.write(&keep.settings)
        {
            self.refuse(format!("Settings could not be kept: {fault}"));
        }
    }

    fn show(&mut self, slot: usize) {
        let last = self.view().slots().len().saturating_sub(1);
        self.shown = slot.min(last);
        self.selected.clear();
        self.hand = None;
        self.measure();
        self.revision += 1;
    }

    fn select(&mut self, copies: Vec<Copy>) {
        self.selected = copies;
        // Whatever lies on another sheet is shown.
        if let Some(layout) = self.selected.first().and_then(|c| self.open.find(*c)).map(|f| f.0)
            && let Some(i) = self.open.slots().iter().position(|s| s.layout == Some(layout))
            && i != self.shown
        {
            self.shown = i;
            self.revision += 1;
        }
        self.measure();
    }

    /// Selects the laid part that comes next on the sheet that is shown, from left to right and then from
    /// the bottom up; the one before, where not `on`.
    fn select_next(&mut self, on: bool) {
        let shown = self.slot().and_then(|s| self.open.layout(s));
        let Some(layout) = shown.filter(|l| !l.placements.is_empty()) else {
            self.refuse("Nothing lies on this sheet");
            return;
        };
        let wanted = &self.open.job().wanted;
        let mut laid: Vec<_> = layout
            .placements
            .iter()
            .map(|p| (wanted[p.part].part.region.placed(&p.pose).bounds().min, Copy::of(p)))
            .collect();
        laid.sort_by(|(a, one), (b, other)| {
            a.x.total_cmp(&b.x).then(a.y.total_cmp(&b.y)).then(one.cmp(other))
        });
        let now = self.selected.last().and_then(|c| laid.iter().position(|(_, copy)| copy == c));
        let next = match (now, on) {
            (Some(now), true) => (now + 1) % laid.len(),
            (Some(now), false) => (now + laid.len() - 1) % laid.len(),
            (None, true) => 0,
            (None, false) => laid.len() - 1,
        };
        let next = laid.get(next).map(|(_, copy)| *copy);
        self.select(next.into_iter().collect());
    }

    fn part_name(&self, part: usize) -> String {
        self.open.job().wanted.get(part).map_or_else(|| "part".into(), |w| w.part.name.clone())
    }

    fn names(&self, copies: &[Copy]) -> String {
        match copies {
            [one] => self.open.name_of(*one),
            many => format!("{} parts", many.len()),
        }
    }

    /// The datum corner of the sheet that is shown.
    pub fn datum(&self) -> Point<SheetSpace> {
        self.slot().map_or(Point::origin(), |s| self.open.job().stock[s.stock].sheet.bounds().min)
    }

    /// The lower left corner of the box around what is selected or in the hand.
    pub fn selected_corner(&self) -> Option<Point<SheetSpace>> {
        let corner = |poses: &mut dyn Iterator<Item = (usize, oddment_core::shape::Pose<_, _>)>| {
            poses
                .map(|(part, pose)| self.open.job().wanted[part].part.region.placed(&pose).bounds())
                .reduce(oddment_core::shape::Bounds::union)
                .map(|b| b.min)
        };
        match &self.hand {
            Some(hand) => corner(&mut hand.held().map(|(h, pose)| (h.part, pose))),
            None => corner(
                &mut self
                    .selected
                    .iter()
                    .filter_map(|c| self.open.find(*c))
                    .map(|(_, p)| (p.part, p.pose)),
            ),
        }
    }
}
