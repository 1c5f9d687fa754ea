//! Acts on files: what was read, opened, saved and exported.

use std::path::{Path, PathBuf};

use oddment_core::plan::{Placement, Stock};
use oddment_core::shape::{Point, SheetSpace};
use oddment_files::drawing::ReadOptions;
use oddment_files::job_file::Origin;
use oddment_files::outputs::Besides;

use super::Session;
use super::laying::ANYWHERE;
use crate::exchange::{Finished, ReadAs, ReadDrawing, add_parts, work_as_text};
use crate::hand::Hand;
use crate::open_job::{OpenJob, SheetSlot};
use crate::place::Place;

impl Session {
    /// Opens something else in place of what is open, as an act that can be taken back.
    pub(super) fn replace(&mut self, open: OpenJob, file: Option<PathBuf>) {
        self.work = None;
        self.preview = None;
        self.hand = None;
        self.file = file;
        self.shown = 0;
        let name = format!("Open {}", open.title);
        self.change(name, |now| *now = open);
    }

    /// A sheet in place of the sheets there are; nothing is laid on it yet.
    pub(super) fn new_sheet(&mut self, mut stock: Stock, origin: Origin) {
        if stock.sheet.made_of.is_none() {
            // What people plan for stays what they plan for until they say otherwise.
            stock.sheet.made_of =
                self.open.job().stock.first().and_then(|s| s.sheet.made_of.clone());
        }
        self.change_by_values(format!("Take the sheet {}", stock.sheet.name), |open| {
            open.plan.layouts.clear();
            let sourced = open.job_mut();
            sourced.job.stock.clear();
            sourced.sheets.clear();
            sourced.add_sheet(stock, origin);
        });
        self.show(0);
    }

    /// Reads drawings for the first time.
    pub(super) fn read(&mut self, files: Vec<PathBuf>, read_as: ReadAs) {
        self.dropped_at = None;
        let started = self.exchange.read(files, read_as, ReadOptions::default());
        self.started(started);
    }

    /// Whoever works on has read what was said of drawings that left nothing to settle.
    pub(super) fn put_report_away(&mut self) {
        if !self.report.iter().any(ReadDrawing::must_settle) {
            self.close_report();
        }
    }

    /// Puts away what was said of drawings, to be asked for again from the slip.
    pub(super) fn close_report(&mut self) {
        self.problems.clear();
        for drawing in std::mem::take(&mut self.report) {
            self.read_before.retain(|before| before.path != drawing.path);
            self.read_before.push(drawing);
        }
    }

    /// Whether what was said of the drawing of a part was put away and can be told again.
    pub fn can_tell_again(&self, part: usize) -> bool {
        self.drawing_put_away(part).is_some()
    }

    fn drawing_put_away(&self, part: usize) -> Option<usize> {
        let name = &self.open.job().wanted.get(part)?.part.name;
        self.read_before.iter().position(|drawing| drawing.added.contains(name))
    }

    /// Tells again how the drawing of a part was read.
    pub(super) fn tell_again(&mut self, part: usize) {
        if let Some(drawing) = self.drawing_put_away(part) {
            let drawing = self.read_before.remove(drawing);
            self.report.push(drawing);
        }
    }

    /// Paths are typed too, so that only of a file that was read or written the folder is known to be
    /// one.
    pub(super) fn remember_folder_of(&mut self, file: &Path) {
        let Some(folder) = file.parent() else { return };
        if self.settings.folder.as_deref() != Some(folder) {
            let folder = folder.to_path_buf();
            self.set(|s| s.folder = Some(folder));
        }
    }

    pub(super) fn save(&mut self, file: PathBuf) {
        self.keep_best();
        let file = if file.extension().is_some() { file } else { file.with_extension("json") };
        let text = work_as_text(&self.open, &self.checked);
        let started = self.exchange.save(file, text);
        self.started(started);
    }

    /// Writes the files of the plan into a folder.
    pub(super) fn export(&mut self, folder: PathBuf) {
        if let Some(why) = self.why_barred() {
            self.refuse(why);
            return;
        }
        let besides = Besides { carried: self.carried(), ..Besides::default() };
        let job = (self.open.sourced.clone(), self.checked.clone());
        let choices = self.settings.export.choices();
        let started = self.exchange.export(folder, job, self.values().clone(), choices, besides);
        self.started(started);
    }

    pub(super) fn started(&mut self, started: Result<(), String>) {
        self.problems.clear();
        if let Err(why) = started {
            self.refuse(why);
        }
    }

    pub(super) fn take_in(&mut self, finished: Finished) {
        match finished {
            Finished::Read(drawings) => self.take_drawings(drawings),
            Finished::Opened(Ok(open), file) => {
                self.remember_folder_of(&file);
                self.replace(*open, Some(file));
                self.notice = Some(format!("{} is open", self.open.title));
            }
            Finished::Opened(Err(problems), file) => {
                self.problems = problems;
                self.problems.insert(0, format!("{} was not opened:", file.display()));
            }
            Finished::OpenedBars(Ok(order), file) => {
                self.remember_folder_of(&file);
                self.notice = Some(format!("{} is open", order.title));
                self.bars.replace(*order, Some(file));
                self.set(|s| s.place = Place::Bars);
            }
            Finished::OpenedBars(Err(problems), file) => {
                self.problems = problems;
                self.problems.insert(0, format!("{} was not opened:", file.display()));
            }
            Finished::Table(Ok(text)) => {
                self.bars.table = Some(text);
                self.set(|s| s.place = Place::Bars);
            }
            Finished::Saved(Ok(file)) => {
                self.remember_folder_of(&file);
                self.notice = Some(format!("Saved as {}", file.display()));
                if self.settings.place == Place::Bars {
                    self.bars.saved(file);
                } else {
                    self.file = Some(file);
                    self.keep_work();
                }
            }
            Finished::Order(Ok(open), _) => self.add_order(*open),
            Finished::Order(Err(problems), file) => {
                let why = problems.first().map_or("", String::as_str);
                self.refuse(format!("{} was not added: {why}", file.display()));
            }
            Finished::Written(Ok(files)) => self.say_written(&files),
            Finished::Written(Err(why)) => self.refuse(why),
            Finished::Exported(Ok(files)) => {
                self.say_written(&files);
                if self.settings.place != Place::Bars && !self.checked.is_clear() {
                    self.problems = vec![
                        "No drawing for the machine was written: the plan is not clear.".into(),
                    ];
                }
            }
            Finished::Saved(Err(why))
            | Finished::Exported(Err(why))
            | Finished::Table(Err(why)) => {
                self.problems = vec![why];
            }
        }
    }

    fn say_written(&mut self, files: &[PathBuf]) {
        files.iter().take(1).for_each(|file| self.remember_folder_of(file));
        self.notice = Some(written(files));
    }

    /// Adds drawings that were read to the order, or takes the sheet from one. What a drawing that is
    /// read again added before is taken out.
    pub(super) fn take_drawings(&mut self, mut drawings: Vec<ReadDrawing>) {
        self.keep_best();
        if let Some(read) = drawings.iter().find(|d| d.found.is_ok()) {
            self.remember_folder_of(&read.path);
        }
        let again = |r: &ReadDrawing| drawings.iter().any(|d| d.path == r.path);
        let before: Vec<String> =
            self.report.iter().filter(|r| again(r)).flat_map(|r| r.added.clone()).collect();
        let names = drawings.iter().map(ReadDrawing::name).collect::<Vec<_>>().join(", ");
        let take_out = |open: &mut OpenJob| {
            for name in &before {
                let part = open.job().wanted.iter().position(|w| w.part.name == *name);
                part.into_iter().for_each(|p| open.remove_part(p));
            }
        };
        let sheet =
            drawings.iter().filter(|d| d.read_as == ReadAs::Sheet).find_map(ReadDrawing::sheet);
        if let Some((stock, origin)) = sheet {
            if !before.is_empty() {
                self.change(format!("Take {names} off the order"), take_out);
            }
            self.new_sheet(stock, origin);
        } else if drawings.iter().all(|d| d.read_as == ReadAs::Parts)
            && (!before.is_empty() || drawings.iter().any(|d| !d.parts().is_empty()))
        {
            let at = self.dropped_at.take().zip(self.slot());
            let mut open = self.open.clone();
            take_out(&mut open);
            for drawing in &mut drawings {
                drawing.added = add_parts(open.job_mut(), drawing);
            }
            if let Some((at, slot)) = at {
                let added = drawings.iter().flat_map(|d| &d.added);
                self.lay_at(&mut open, slot, added, at);
            }
            self.change(format!("Add {names}"), |now| *now = open);
        }
        for new in drawings {
            self.read_before.retain(|before| before.path != new.path);
            match self.report.iter_mut().find(|r| r.path == new.path) {
                Some(old) => *old = new,
                None => self.report.push(new),
            }
        }
    }

    /// Lays one of each of these parts where it was dropped, or at the nearest clear place of the sheet as it
    /// lies, until one finds none: it and the rest stay on the slip.
    fn lay_at<'a>(
        &self,
        open: &mut OpenJob,
        slot: SheetSlot,
        names: impl Iterator<Item = &'a String>,
        at: Point<SheetSpace>,
    ) {
        let stock = slot.stock;
        for name in names.take(20) {
            let Some(part) = open.job().wanted.iter().position(|w| w.part.name == *name) else {
                continue;
            };
            let slot = open.slots().into_iter().find(|s| s.stock == stock).unwrap_or(slot);
            let mut hand = Hand::take(&self.as_it_lies(open), slot, part, 0.0, at);
            let pose =
                hand.snug(ANYWHERE).then(|| hand.held().next().map(|(_, pose)| pose)).flatten();
            let Some(pose) = pose else { return };
            open.lay(slot, Placement { part, copy: 0, pose, locked: false });
        }
    }

    pub(super) fn keep_work(&self) {
        if let Some(autosave) = &self.autosave {
            autosave.save(&self.open, &self.checked, self.file.as_deref(), self.of_rack());
        }
    }
}

/// “plan.json, nest.dxf written to /home/ann/front racks”.
fn written(files: &[PathBuf]) -> String {
    let name = |file: &PathBuf| Some(file.file_name()?.to_string_lossy().into_owned());
    let names: Vec<String> = files.iter().filter_map(name).collect();
    let folder = files.first().and_then(|f| f.parent()).unwrap_or(Path::new(""));
    format!("{} written to {}", names.join(", "), folder.display())
}
