//! Where acts are carried out.

use std::path::Path;

use oddment_files::drawing::ENDINGS;

use super::{Ask, Session};
use crate::act::Act;
use crate::capture::CaptureAct;
use crate::exchange::ReadAs;
use crate::open_job::Copy;
use crate::place::Place;
use crate::rack::{Desk, RackAct};
use crate::start::sample_order;

impl Session {
    /// Carries out an act. What only the one who shows the session can do is returned.
    pub fn apply(&mut self, act: Act) -> Option<Ask> {
        if !matches!(&act, Act::Rack(act) if act.only_reads()) {
            (self.notice, self.refusal) = (None, None);
            self.rack.iter_mut().for_each(Desk::forget_refusal);
        }
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
            Act::Go(place) => {
                // What was said of one place is no news in another.
                self.rack.iter_mut().for_each(Desk::say_no_more);
                self.set(|s| s.place = place);
            }
            Act::Compare(act) => return self.compare_act(act),
            Act::Bars(act) => self.bars_act(act),
            // While a sheet is captured, Ctrl Z is about that.
            Act::Rack(RackAct::Undo(None)) if self.capture.is_some() => {
                return self.capture_act(CaptureAct::Undo);
            }
            Act::Rack(act) => return self.rack_act(act),
            Act::Capture(act) => return self.capture_act(act),
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
                self.refuse("Nothing is planned yet, so there is nothing to record");
            }
            Act::RecordParts if self.can_record() => {
                self.keep_best();
                self.hand = None;
                return Some(Ask::RecordParts);
            }
            Act::RecordParts => {
                self.refuse("Nothing lies here that could be recorded");
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
                self.export(folder);
            }
            Act::OpenFile(file) if ends(&file, &ENDINGS) => self.read(vec![file], ReadAs::Parts),
            Act::OpenFile(file) => {
                let in_rack = self.rack.as_ref().map(Desk::labels).unwrap_or_default();
                let started = self.exchange.open(file, in_rack);
                self.started(started);
            }
            Act::TakeFiles(files, at) => {
                if let Some(table) = files.iter().find(|f| ends(f, &["csv", "txt", "tsv"])) {
                    let started = self.exchange.table(table.clone());
                    self.started(started);
                    return None;
                }
                let (plans, drawings): (Vec<_>, Vec<_>) =
                    files.into_iter().partition(|f| ends(f, PLAN));
                if let Some(plan) = plans.into_iter().next_back() {
                    return self.apply(Act::OpenFile(plan));
                }
                self.read(drawings, ReadAs::Parts);
                self.dropped_at = at;
            }
            // A plan cut elsewhere brings its sheet along.
            Act::Read(files, ReadAs::Sheet) if files.iter().any(|f| ends(f, PLAN)) => {
                let plan = files.into_iter().find(|f| ends(f, PLAN))?;
                return self.apply(Act::OpenFile(plan));
            }
            Act::Read(files, read_as) => self.read(files, read_as),
            Act::ReadAgain(file, read_as, options) => {
                let started = self.exchange.read(vec![file], read_as, options);
                self.started(started);
            }
            Act::CloseReport => self.close_report(),
            Act::TellAgain(part) => self.tell_again(part),
            Act::ToggleTheme => self.set(|s| s.dark = !s.dark),
            Act::ToggleUnit => self.set(|s| s.inch = !s.inch),
            Act::SetSize(percent) => self.set(|s| s.set_size(percent)),
            Act::Larger => self.set(|s| s.set_size(s.size_percent + 10)),
            Act::Smaller => self.set(|s| s.set_size(s.size_percent - 10)),
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
            act if act.is_of_selected() && self.selected.is_empty() && self.hand.is_none() => {
                self.refuse("Nothing is selected: press a part, or N for the next one");
            }
            Act::SelectNext(on) => self.select_next(on),
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
                let told = !self.report.is_empty() || !self.problems.is_empty();
                match self.hand.take() {
                    Some(_) => {}
                    None if told => self.close_report(),
                    None => self.select(Vec::new()),
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
                self.keep_closest();
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
            Act::ShareCut => self.share_cut(),
            Act::LayAt(poses, name) => self.change(name, |open| {
                for (copy, pose) in poses {
                    if let Some(placement) = open.find_mut(copy) {
                        placement.pose = pose;
                    }
                }
            }),
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
                Err(why) => self.refuse(why.to_string()),
            },
            Act::NewOrder => self.new_order(),
            Act::NameOrder(name) => self.name_order(name.trim()),
            Act::ClearSheet => self.change("Clear the sheets", |open| open.take_off(|p| !p.locked)),
            _ => {}
        }
    }
}

/// How the name of a plan ends.
const PLAN: &[&str] = &["json"];

fn ends(file: &Path, endings: &[&str]) -> bool {
    let ending = file.extension().unwrap_or_default();
    endings.iter().any(|e| ending.eq_ignore_ascii_case(e))
}
