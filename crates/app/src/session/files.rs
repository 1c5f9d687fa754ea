//! Acts on files: what was read, opened, saved and exported.

use std::path::{Path, PathBuf};

use oddment_core::plan::Stock;
use oddment_files::job_file::{Origin, sheet_rectangle};

use super::Session;
use crate::exchange::{Finished, ReadAs, ReadDrawing, add_parts, work_as_text};
use crate::open_job::OpenJob;

impl Session {
    /// Opens something else in place of what is open, as an act that can be taken back.
    pub(super) fn replace(&mut self, open: OpenJob, file: Option<PathBuf>) {
        self.filling = None;
        self.preview = None;
        self.hand = None;
        self.file = file;
        self.shown = 0;
        let name = format!("Open {}", open.title);
        self.change(name, |now| *now = open);
    }

    pub(super) fn plain_sheet(&mut self, width: f64, height: f64) {
        match sheet_rectangle("plain sheet", width, height) {
            Ok((sheet, origin)) if width <= 20_000.0 && height <= 20_000.0 => {
                self.new_sheet(Stock { sheet, count: 1 }, origin);
            }
            _ => self.notice = Some("A sheet has sides of up to 20 m".into()),
        }
    }

    /// A sheet in place of the sheets there are; nothing is laid on it yet.
    pub(super) fn new_sheet(&mut self, mut stock: Stock, origin: Origin) {
        if stock.sheet.made_of.is_none() {
            // What people plan for stays what they plan for until they say otherwise.
            stock.sheet.made_of =
                self.open.job().stock.first().and_then(|s| s.sheet.made_of.clone());
        }
        self.change(format!("Take the sheet {}", stock.sheet.name), |open| {
            open.plan.layouts.clear();
            let sourced = open.job_mut();
            sourced.job.stock.clear();
            sourced.sheets.clear();
            sourced.add_sheet(stock, origin);
        });
    }

    pub(super) fn remember_folder(&mut self, folder: &Path) {
        if self.settings.folder.as_deref() != Some(folder) {
            let folder = folder.to_path_buf();
            self.set(|s| s.folder = Some(folder));
        }
    }

    pub(super) fn save(&mut self, file: PathBuf) {
        self.keep_best();
        let file = if file.extension().is_some() { file } else { file.with_extension("json") };
        self.remember_folder(file.parent().unwrap_or(&file));
        let text = work_as_text(&self.open, &self.checked);
        let started = self.exchange.save(file, text);
        self.started(started);
    }

    pub(super) fn started(&mut self, started: Result<(), String>) {
        self.problems.clear();
        if let Err(why) = started {
            self.notice = Some(why);
        }
    }

    pub(super) fn take_in(&mut self, finished: Finished) {
        match finished {
            Finished::Read(drawings) => self.take_drawings(drawings),
            Finished::Opened(Ok(open), file) => {
                self.replace(*open, Some(file));
                self.notice = Some(format!("{} is open", self.open.title));
            }
            Finished::Opened(Err(problems), file) => {
                self.problems = problems;
                self.problems.insert(0, format!("{} was not opened:", file.display()));
            }
            Finished::Saved(Ok(file)) => {
                self.notice = Some(format!("Saved as {}", file.display()));
                self.file = Some(file);
                self.keep_work();
            }
            Finished::Exported(Ok(files)) => {
                let names: Vec<_> = files
                    .iter()
                    .filter_map(|f| f.file_name())
                    .map(|n| n.to_string_lossy().into_owned())
                    .collect();
                let folder = files.first().and_then(|f| f.parent()).unwrap_or(Path::new(""));
                self.notice = Some(format!("{} written to {}", names.join(", "), folder.display()));
                if !self.checked.is_clear() {
                    self.problems = vec![
                        "No drawing for the machine was written: the plan is not clear.".into(),
                    ];
                }
            }
            Finished::Saved(Err(why)) | Finished::Exported(Err(why)) => self.problems = vec![why],
        }
    }

    /// Adds drawings that were read to the order, or takes the sheet from one. What the same
    /// drawings added before is taken out again.
    pub(super) fn take_drawings(&mut self, drawings: Vec<ReadDrawing>) {
        self.keep_best();
        let before: Vec<String> = std::mem::take(&mut self.added);
        let names: Vec<String> = drawings.iter().map(ReadDrawing::name).collect();
        let mut added = Vec::new();
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
                self.change(format!("Take {} off the order", names.join(", ")), take_out);
            }
            self.new_sheet(stock, origin);
        } else if drawings.iter().any(|d| d.found.is_ok()) {
            self.change(format!("Add {}", names.join(", ")), |open| {
                take_out(open);
                for drawing in &drawings {
                    added.extend(add_parts(open.job_mut(), drawing));
                }
            });
        }
        self.added = added;
        self.report = drawings;
    }

    pub(super) fn keep_work(&self) {
        if let Some(autosave) = &self.autosave {
            autosave.save(&self.open, &self.checked, self.file.as_deref());
        }
    }
}
