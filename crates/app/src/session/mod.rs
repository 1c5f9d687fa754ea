//! Everything that is open, and the one place where acts are carried out.

mod align;
mod bars;
mod compare;
mod files;
mod lay;
mod laying;
mod order;
mod rack;
mod shop;
#[cfg(test)]
mod tests;
mod work;

use std::path::{Path, PathBuf};
use std::sync::Arc;

use oddment_core::check::{CheckedPlan, Near, check};
use oddment_core::shape::{PartSpace, Point, Pose, SheetSpace};

use crate::act::Act;
use crate::any_place::AnyPlace;
use crate::autosave::{Autosave, restore};
use crate::bars::Bars;
use crate::exchange::{Exchange, ReadAs, ReadDrawing};
use crate::hand::Hand;
use crate::history::History;
use crate::keep::Keep;
use crate::open_job::{Copy, OpenJob, SheetSlot};
use crate::place::Place;
use crate::rack::Desk;
use crate::settings::Settings;
use crate::start::sample_order;
use crate::where_it_fits::{WhereItFits, Working};
use crate::work::{Task, Work};

pub use compare::{Compare, OtherOrder};
pub use lay::PointerList;
pub use work::AtWork;

/// What only the one who shows the session can do.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Ask {
    /// Show the whole sheet.
    FitView,
    /// Look closer.
    ZoomIn,
    /// Look from further away.
    ZoomOut,
    /// Show the list of all acts.
    FindAct,
    /// Ask how everything is to look.
    Look,
    /// Ask for drawings.
    PickDrawings,
    /// Ask for the drawing of a sheet.
    PickSheet,
    /// Ask what is known of the sheet.
    SheetFacts,
    /// Ask for the distances to keep.
    Distances,
    /// Ask what became of each part of a cut.
    RecordParts,
    /// Ask for a plan to open.
    PickPlan,
    /// Ask where to save the plan.
    PickSave,
    /// Ask how to export.
    Export,
    /// Ask for a folder to export to.
    PickFolder,
    /// Ask for a folder to write the ways compared into.
    PickFolderForWays,
    /// Ask for an order to be cut together with the one that is open.
    PickOrder,
}

/// Wakes whoever shows the session when something has changed by itself.
pub type Wake = Arc<dyn Fn() + Send + Sync>;

/// Everything that is open.
pub struct Session {
    open: OpenJob,
    checked: CheckedPlan,
    history: History<OpenJob>,
    selected: Vec<Copy>,
    near: Vec<Near>,
    shown: usize,
    hand: Option<Hand>,
    fits: Option<WhereItFits>,
    looking: Option<Working>,
    any_place: Option<AnyPlace>,
    closest: Option<(usize, Pose<PartSpace, SheetSpace>)>,
    work: Option<(Task, Work)>,
    refused: Vec<String>,
    preview: Option<OpenJob>,
    settings: Settings,
    in_force: shop::InForce,
    keep: Option<Keep>,
    autosave: Option<Autosave>,
    exchange: Exchange,
    bars: Bars,
    rack: Option<Desk>,
    compare: compare::Compare,
    report: Vec<ReadDrawing>,
    dropped_at: Option<Point<SheetSpace>>,
    file: Option<PathBuf>,
    problems: Vec<String>,
    notice: Option<String>,
    revision: u64,
    wake: Wake,
}

impl Session {
    /// Opens the work from before if `keep` has any, else `first`. Settings and the open work are
    /// kept in `keep`, where there is one.
    pub fn new(first: OpenJob, keep: Option<Keep>, wake: Wake) -> Self {
        let settings = keep.as_ref().map(|k| Settings::read(&k.settings)).unwrap_or_default();
        let (restored, mut notice) = match keep.as_ref().map(|k| restore(&k.work)) {
            Some(Ok(restored)) => (restored, None),
            Some(Err(why)) => (None, Some(why)),
            None => (None, None),
        };
        let (open, file) = match restored {
            Some(restored) => {
                notice = Some("The work from before is open again".into());
                (restored.open, restored.file)
            }
            None => (first, None),
        };
        let autosave = keep.as_ref().and_then(|k| match Autosave::to(k.work.clone()) {
            Ok(autosave) => Some(autosave),
            Err(why) => {
                notice = Some(format!("The open work is not kept: {why}"));
                None
            }
        });
        let checked = check(open.job(), open.plan.clone());
        let (bars, about_bars) = Bars::open(keep.as_ref(), wake.clone());
        notice = about_bars.or(notice);
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
            selected: Vec::new(),
            near: Vec::new(),
            shown: 0,
            hand: None,
            fits: None,
            looking: None,
            any_place: None,
            closest: None,
            work: None,
            refused: Vec::new(),
            preview: None,
            settings,
            in_force: shop::InForce::starting(),
            keep,
            autosave,
            exchange: Exchange::new(wake.clone()),
            bars,
            rack,
            compare: compare::Compare::default(),
            report: Vec::new(),
            dropped_at: None,
            file,
            problems: Vec::new(),
            notice,
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

    /// The best pose found of a part that has no place, to be shown.
    pub fn closest(&self) -> Option<(usize, Pose<PartSpace, SheetSpace>)> {
        self.closest
    }

    /// Settings.
    pub fn settings(&self) -> &Settings {
        &self.settings
    }

    /// The last thing the person should know, in words.
    pub fn notice(&self) -> Option<&str> {
        self.notice.as_deref()
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
        self.poll_compare();
        while let Some(finished) = self.exchange.take() {
            self.take_in(finished);
        }
        if let Some(answer) = self.looking.as_ref().and_then(Working::answer) {
            self.looking = None;
            self.fits = Some(answer);
        }
        self.take_any_place();
        self.notice = self.bars.poll().or(self.notice.take());
        let Some((task, work)) = &mut self.work else { return };
        let before = work.best().cloned();
        let ended = work.poll();
        if work.best() != before.as_ref()
            && let Some(plan) = work.best()
        {
            self.preview = Some(OpenJob { plan: plan.clone(), ..self.open.clone() });
            self.revision += 1;
        }
        if ended {
            let task = *task;
            self.keep_best();
            if task == Task::Fill && self.notice.is_some() {
                self.look_for_missing();
            }
        }
    }

    /// Carries out an act. What only the one who shows the session can do is returned.
    pub fn apply(&mut self, act: Act) -> Option<Ask> {
        self.notice = None;
        self.closest = None;
        if matches!(act, Act::Take(..) | Act::PickUp(_) | Act::PlaceOne(_) | Act::Fill) {
            self.put_report_away();
        }
        match act {
            Act::FitView => return Some(Ask::FitView),
            Act::ZoomIn => return Some(Ask::ZoomIn),
            Act::ZoomOut => return Some(Ask::ZoomOut),
            Act::FindAct => return Some(Ask::FindAct),
            Act::Look => return Some(Ask::Look),
            Act::Go(place) => self.set(|s| s.place = place),
            Act::Compare(act) => return self.compare_act(act),
            Act::Bars(act) => self.bars_act(act),
            Act::Rack(act) => self.rack_act(act),
            Act::Shop(act) => self.shop_act(act),
            Act::Lay(act) => self.lay_act(act),
            Act::AddDrawings => return Some(Ask::PickDrawings),
            Act::PickSheet => return Some(Ask::PickSheet),
            Act::SheetFacts => return Some(Ask::SheetFacts),
            Act::Distances => return Some(Ask::Distances),
            Act::RecordParts if self.settings.place == Place::Bars => {
                self.notice = self.bars.keep_best();
                if self.can_record_bars() {
                    return Some(Ask::RecordParts);
                }
                self.notice = Some("Nothing is planned yet, so there is nothing to record".into());
            }
            Act::RecordParts if self.can_record() => {
                self.keep_best();
                self.hand = None;
                return Some(Ask::RecordParts);
            }
            Act::RecordParts => {
                self.notice = Some("Nothing lies here that could be recorded".into());
            }
            Act::Open => return Some(Ask::PickPlan),
            Act::SaveAs => return Some(Ask::PickSave),
            Act::Export if self.settings.place == Place::Bars => return Some(Ask::PickFolder),
            Act::Export => return Some(Ask::Export),
            Act::ExportInto => return Some(Ask::PickFolder),
            Act::SetExport(export) => self.set(|s| s.export = export),
            Act::Save => match self.file_here().map(Path::to_path_buf) {
                Some(file) => self.save_here(file),
                None => return Some(Ask::PickSave),
            },
            Act::SaveFile(file) => self.save_here(file),
            Act::ExportTo(folder) if self.settings.place == Place::Bars => self.export_bars(folder),
            Act::ExportTo(folder) => {
                self.keep_best();
                self.remember_folder(&folder);
                self.export(folder);
            }
            Act::OpenFile(file) => {
                self.remember_folder(file.parent().unwrap_or(&file));
                let in_rack = self.rack.as_ref().map(Desk::labels).unwrap_or_default();
                let started = self.exchange.open(file, in_rack);
                self.started(started);
            }
            Act::TakeFiles(files, at) => {
                let ends = |file: &PathBuf, endings: &[&str]| {
                    let ending = file.extension().unwrap_or_default();
                    endings.iter().any(|e| ending.eq_ignore_ascii_case(e))
                };
                if let Some(table) = files.iter().find(|f| ends(f, &["csv", "txt", "tsv"])) {
                    let started = self.exchange.table(table.clone());
                    self.started(started);
                    return None;
                }
                let (plans, drawings): (Vec<_>, Vec<_>) =
                    files.into_iter().partition(|f| ends(f, &["json"]));
                if let Some(plan) = plans.into_iter().next_back() {
                    return self.apply(Act::OpenFile(plan));
                }
                self.read(drawings, ReadAs::Parts);
                self.dropped_at = at;
            }
            Act::Read(files, read_as) => self.read(files, read_as),
            Act::ReadAgain(file, read_as, options) => {
                let started = self.exchange.read(vec![file], read_as, options);
                self.started(started);
            }
            Act::CloseReport => {
                self.report.clear();
                self.problems.clear();
            }
            Act::ToggleTheme => self.set(|s| s.dark = !s.dark),
            Act::ToggleUnit => self.set(|s| s.inch = !s.inch),
            Act::Larger => self.set(|s| s.size_percent = (s.size_percent + 10).min(200)),
            Act::Smaller => self.set(|s| s.size_percent = (s.size_percent - 10).max(80)),
            Act::SetFillSeconds(seconds) => self.set(|s| s.fill_seconds = seconds.clamp(1, 3600)),
            Act::ToggleTargets => self.set(|s| s.large_targets = !s.large_targets),
            Act::HideHint => self.set(|s| s.hint_read = true),
            Act::SetNudge(mm) => {
                if mm > 0.0 && mm <= 1000.0 {
                    self.set(|s| s.nudge = mm);
                }
            }
            Act::SetLoadable(loadable) if loadable != self.settings.loadable => {
                self.set(|s| s.loadable = loadable);
                self.compare_again("What the machine loads was changed: compared again.");
            }
            Act::SetLoadable(_) => {}
            Act::ShowSheet(i) => self.show(i),
            Act::NextSheet => self.show(self.shown + 1),
            Act::PreviousSheet => self.show(self.shown.saturating_sub(1)),
            Act::Select(copies) => self.select(copies),
            Act::SelectAlike => {
                let alike = |p: &oddment_core::plan::Placement| {
                    self.selected.iter().any(|c| c.part == p.part)
                };
                let all = self.slot().and_then(|s| self.open.layout(s));
                let all = all.map(|l| {
                    l.placements.iter().filter(|p| alike(p)).map(Copy::of).collect::<Vec<_>>()
                });
                self.select(all.unwrap_or_default());
            }
            Act::SelectNone => {
                if self.hand.take().is_none() {
                    self.select(Vec::new());
                }
                self.measure();
            }
            Act::SelectAll => {
                let all = self.slot().and_then(|s| self.open.layout(s));
                let all = all.map(|l| l.placements.iter().map(Copy::of).collect());
                self.select(all.unwrap_or_default());
            }
            Act::Fill => self.fill(),
            Act::Shorten(way) => {
                self.keep_best();
                self.shorten(way);
            }
            Act::StopFill => self.stop_work(),
            Act::KeepBest => {
                self.keep_best();
                self.notice = self.bars.keep_best().or(self.notice.take());
            }
            Act::Follow(shift, freely) => {
                if let Some(hand) = &mut self.hand {
                    hand.follow(shift, freely);
                }
                self.measure();
            }
            Act::LetGo => {
                self.hand = None;
                self.measure();
            }
            other => {
                // Whatever changes the plan changes the best so far of a running fill.
                self.keep_best();
                self.change_plan(other);
            }
        }
        None
    }

    fn change_plan(&mut self, act: Act) {
        match act {
            Act::Undo => self.step(true),
            Act::Redo => self.step(false),
            Act::Turn(by) => self.turn_by(by),
            Act::TurnTo(angle) => self.turn_to(angle),
            Act::Mirror => self.mirror(),
            Act::Lock => self.lock(),
            Act::PutBack => self.put_back(),
            Act::Snug => self.snug(),
            Act::AlignToEdge => self.align(false),
            Act::AlignToGrain => self.align(true),
            Act::Duplicate => self.duplicate(),
            Act::Push(way) => self.with_selected("Push", |hand| {
                hand.push(way);
                Ok(())
            }),
            Act::Nudge(way) => {
                let step = way * self.settings.nudge;
                self.with_selected("Nudge", |hand| {
                    hand.follow(step, false);
                    Ok(())
                });
            }
            Act::MoveTo(corner) => {
                let datum = self.datum();
                let Some(box_corner) = self.selected_corner() else { return };
                let shift = datum + corner - box_corner;
                self.with_selected("Move", |hand| {
                    hand.follow(shift, true);
                    Ok(())
                });
            }
            Act::PickUp(copies) => self.pick_up(copies),
            Act::Take(part, at) => self.take(part, at),
            Act::PutDown => self.put_down(),
            Act::PlaceOne(part) => self.place_one(part),
            Act::SetCount(part, count) => self.set_count(part, count),
            Act::SetTurning(part, turning) => {
                let name = format!("Change how {} may turn", self.part_name(part));
                self.change_part(part, name, |p| p.turning = turning);
            }
            Act::SetFlip(part, flip) => {
                let name = format!("Change how {} may lie", self.part_name(part));
                self.change_part(part, name, |p| p.flip = flip);
            }
            Act::SetGrain(part, grain) => self.set_grain(part, grain),
            Act::SetPriority(part, priority) => {
                let name = format!("Change when {} is laid", self.part_name(part));
                self.change_part(part, name, |p| p.priority = priority);
            }
            Act::SetMadeFrom(part, made_from) => {
                let name = format!("Change the metal of {}", self.part_name(part));
                self.change_part(part, name, |p| p.made_from = made_from);
            }
            Act::RemovePart(part) if part < self.open.job().wanted.len() => {
                let name = format!("Take {} off the order", self.part_name(part));
                self.change(name, |open| open.remove_part(part));
            }
            Act::SetSheet(facts) => self.set_sheet(&facts),
            Act::PlainSheet(facts) => self.plain_sheet(&facts),
            Act::SetClearances(clearances) => {
                self.change("Change the distances", |open| {
                    open.job_mut().job.clearances = clearances
                });
            }
            Act::CutByHand(by_hand) => self.change("Move starts and tabs", |open| {
                open.job_mut().cut.by_hand = *by_hand;
            }),
            Act::OpenSample(order) => match sample_order(order) {
                Ok(Some(open)) => self.replace(self.by_this_shop(open), None),
                Ok(None) => {}
                Err(why) => self.notice = Some(why.to_string()),
            },
            Act::ClearSheet => self.change("Clear the sheets", |open| open.take_off(|p| !p.locked)),
            _ => {}
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
            self.history.undo(&mut self.open)
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
                Hand::pick_up(&self.open, slot, &self.selected)
                    .map(|h| h.nearest())
                    .unwrap_or_default()
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
            self.looking =
                Working::start(&self.open, slot, &self.selected, wanted, self.wake.clone());
        }
    }

    fn set(&mut self, change: impl FnOnce(&mut Settings)) {
        change(&mut self.settings);
        if let Some(keep) = &self.keep
            && let Err(fault) = self.settings.write(&keep.settings)
        {
            self.notice = Some(format!("Settings could not be kept: {fault}"));
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
