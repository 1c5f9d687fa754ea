//! The order of bars: planned, recorded in the rack, saved and exported.

use std::path::{Path, PathBuf};
use std::time::Duration;

use oddment_core::bars::{CutList, clear};
use oddment_files::bars::write_bar_plan;
use oddment_rack::bars::{bars_among, charge_by_policies};
use oddment_rack::record::{BarRecording, Recorded};

use super::Session;
use crate::bars::{BarOrder, Bars, BarsAct, BarsSaid, PlannedBars, sample_bars};
use crate::place::Place;
use crate::rack::Desk;
use crate::words::joined;

impl Session {
    /// The order of bars.
    pub fn bars(&self) -> &Bars {
        &self.bars
    }

    /// Whether the plan for bars can be recorded as cut: there is one, it is clear, and there is a rack.
    pub fn can_record_bars(&self) -> bool {
        let planned = self.bars.order().planned.as_ref();
        self.rack.is_some()
            && planned.is_some_and(|p| p.faults.is_empty() && !p.plan.bars.is_empty())
    }

    pub(super) fn bars_act(&mut self, act: BarsAct) {
        match act {
            BarsAct::Change(name, order) => {
                self.keep_profile(order.list.profile.as_ref());
                self.bars.change(name, *order);
            }
            BarsAct::Fill => self.fill_bars(),
            BarsAct::Compare => {
                let limit = Duration::from_secs(u64::from(self.settings.fill_seconds));
                let list = self.sound_bar_list();
                self.refusal = list.and_then(|list| self.bars.compare(list, limit)).err();
                self.set(|s| s.place = Place::BarWays);
            }
            BarsAct::ChooseWay(name) => self.bars.choose_way(name),
            BarsAct::TakeWay => {
                if self.bars.take_way() {
                    self.set(|s| s.place = Place::Bars);
                }
            }
            // Pressed twice, as happens in gloves.
            BarsAct::Record(_) if self.rack.as_ref().is_some_and(Desk::is_recording) => {}
            BarsAct::Record(said) => self.record_bars(&said),
            BarsAct::Undo | BarsAct::Redo => {
                let back = act == BarsAct::Undo;
                let of_cut = if back { self.take_back_cut(true) } else { Some(false) };
                let Some(of_cut) = of_cut else { return };
                let name = self.bars.step(back);
                if of_cut {
                    // To be done again it must be recorded again.
                    self.bars.forget_undone();
                }
                let done = if back { "Undone" } else { "Done again" };
                self.notice = name.map(|name| format!("{done}: {name}"));
            }
            BarsAct::New => {
                let mut order = BarOrder { planned: None, ..self.bars.order().clone() };
                order.title = "New order".into();
                order.list.parts.clear();
                self.bars.replace(order, None);
            }
            BarsAct::TableSeen => self.bars.table = None,
            BarsAct::OpenSample => self.bars.replace(sample_bars(), None),
        }
    }

    /// The list with the bars that the rack has for it, and what is wrong with it, in a sentence.
    pub fn bars_at_hand(&self) -> (CutList, Option<String>) {
        let BarOrder { title, list, from_rack, .. } = self.bars.order();
        let mut list = list.clone();
        if let Some(rack) = &self.rack {
            let listing = rack.listing();
            if *from_rack {
                match bars_among(&listing.sheets, &listing.materials, &list, Some(title)) {
                    Ok(bars) => list.stock.extend(bars),
                    Err(why) => return (list, Some(why.to_string())),
                }
            }
            charge_by_policies(&mut list, &listing.materials, self.values().policies());
        }
        let faults = list.faults();
        let fault = (!faults.is_empty()).then(|| joined(&faults));
        (list, fault)
    }

    /// The same list, where nothing is wrong with it.
    fn sound_bar_list(&self) -> Result<CutList, String> {
        let (list, fault) = self.bars_at_hand();
        fault.map_or(Ok(list), Err)
    }

    fn fill_bars(&mut self) {
        let limit = Duration::from_secs(u64::from(self.settings.fill_seconds));
        let started = self.sound_bar_list().and_then(|list| self.bars.start(list, limit));
        self.refusal = started.err();
    }

    fn record_bars(&mut self, cut: &BarsSaid) {
        let said = self.bars.keep_best();
        let order = self.bars.order();
        let Some(planned) = order.planned.clone() else {
            self.refuse("Nothing is planned yet, so there is nothing to record");
            return;
        };
        let recording = BarRecording {
            order: Some(order.title.clone()),
            plan: write_bar_plan(&order.title, &planned.list, &planned.plan),
            ..cut.recording(&planned)
        };
        self.notice = said;
        match &mut self.rack {
            Some(rack) => rack.record_bars(planned.clone(), recording, cut.made(&planned)),
            None => self.refuse("There is no rack here"),
        }
    }

    /// What was made is wanted no more; `made` says how many of each line.
    pub(super) fn bars_recorded(&mut self, recorded: &[Recorded], made: &[usize]) {
        let unit = self.settings.unit();
        let words: Vec<String> = recorded.iter().map(|r| r.words(unit)).collect();
        self.notice = Some(words.join(" "));
        // All of it is one event.
        if let Some(cut) = recorded.iter().find(|cut| cut.event > 0) {
            let order = self.bars.order().when_made(made);
            let name = "Record the cut of bars";
            self.bars_are_recorded(name, cut.event);
            self.bars.change(name.into(), order);
        }
    }

    /// Takes a bar of the rack to the order: bars of its profile and material are cut from now on.
    /// `false` where the label is of no bar.
    pub(super) fn take_bar(&mut self, label: &str) -> bool {
        let entry = self.rack.as_ref().and_then(|rack| {
            rack.listing().sheets.iter().find(|e| e.label == label && e.facts.bar.is_some())
        });
        let Some(entry) = entry else { return false };
        let profile =
            entry.facts.bar.as_ref().and_then(|bar| bar.profile.profile(entry.facts.density));
        let mut order = BarOrder { from_rack: true, ..self.bars.order().clone() };
        if order.list.profile != profile {
            // Full lengths of another profile are not those of this one.
            order.list.stock.clear();
        }
        order.list.profile = profile;
        order.list.material.clone_from(&entry.facts.material);
        self.bars.change(format!("Cut bars like {label}"), order);
        self.set(|s| s.place = Place::Bars);
        true
    }

    /// Saves the plan of the place that is shown.
    pub(super) fn save_here(&mut self, file: PathBuf) {
        match self.settings.place {
            Place::Bars => self.save_bars(file),
            _ => self.save(file),
        }
    }

    fn save_bars(&mut self, file: PathBuf) {
        self.notice = self.bars.keep_best();
        let order = self.bars.order();
        let empty = PlannedBars::default();
        let (list, plan) = match &order.planned {
            Some(planned) => (&*planned.list, &planned.plan),
            None => (&order.list, &empty.plan),
        };
        let text = write_bar_plan(&order.title, list, plan);
        let file = if file.extension().is_some() { file } else { file.with_extension("json") };
        let started = self.exchange.save(file, text);
        self.started(started);
    }

    pub(super) fn export_bars(&mut self, folder: PathBuf) {
        self.notice = self.bars.keep_best();
        let order = self.bars.order();
        let Some(planned) = order.planned.clone() else {
            self.refuse("Nothing is planned yet, so there is nothing to print");
            return;
        };
        if let Err(faults) = clear(&planned.list, &planned.plan) {
            self.problems = vec![joined(&faults)];
            return;
        }
        let unit = self.settings.unit();
        let started = self.exchange.export_bars(folder, order.title.clone(), planned, unit);
        self.started(started);
    }

    /// Where the plan of the place that is shown was saved last.
    pub(super) fn file_here(&self) -> Option<&Path> {
        match self.settings.place {
            Place::Bars => self.bars.file().map(PathBuf::as_path),
            _ => self.file.as_deref(),
        }
    }
}
