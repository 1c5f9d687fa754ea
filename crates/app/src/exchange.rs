//! Drawings and plans in and out, each on a thread of its own.

use std::collections::HashSet;
use std::path::{Path, PathBuf};
use std::sync::Arc;
use std::sync::mpsc::{Receiver, Sender, channel};

use oddment_core::bars::clear;
use oddment_core::check::CheckedPlan;
use oddment_core::part::Part;
use oddment_core::plan::{Count, Plan, Stock, Wanted};
use oddment_core::units::LengthUnit;
use oddment_files::bars::{bars_sheet, write_bar_plan};
use oddment_files::drawing::{Drawing, Found, Problem, ReadOptions, read_drawing};
use oddment_files::job_file::{
    GivenClearances, Origin, SourcedJob, parts_from_drawing, read_job, sheet_from_drawing,
};
use oddment_files::outputs::{Besides, Choices, put, write_outputs};
use oddment_files::plan_file::{read_plan, write_work};
use oddment_files::setup_sheet::Paper;
use oddment_files::values::Values;
use oddment_files::words::counted;

use crate::bars::{BarOrder, PlannedBars, open_bars};
use crate::keep::write_whole;
use crate::open_job::OpenJob;
use crate::session::Wake;
use crate::words::joined;

/// What a file is read for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum ReadAs {
    /// Its regions are parts of the order.
    Parts,
    /// Its regions are the metal of a sheet.
    Sheet,
}

/// A drawing that was read, or why it was not.
#[derive(Clone, Debug)]
pub struct ReadDrawing {
    /// Where it is.
    pub path: PathBuf,
    /// What it was read for.
    pub read_as: ReadAs,
    /// How it was read.
    pub options: ReadOptions,
    /// Names of the parts that it added to the order.
    pub added: Vec<String>,
    /// What was found, or the sentence why nothing was.
    pub found: Result<Drawing, String>,
}

impl ReadDrawing {
    /// Its file name.
    pub fn name(&self) -> String {
        self.path.file_name().unwrap_or_default().to_string_lossy().into_owned()
    }

    /// What its numbers mean, in words.
    pub fn units_in_words(&self) -> Option<String> {
        let units = &self.found.as_ref().ok()?.units;
        let sure = if units.assumed { "taken to be in" } else { "read in" };
        let name = if units.name == "in" { "inches" } else { &units.name };
        Some(format!("{sure} {name}"))
    }

    /// How many pieces there are and how large the largest is.
    pub fn pieces_in_words(&self, unit: LengthUnit) -> Option<String> {
        let taken: Vec<_> = self.taken().collect();
        let Some(largest) = taken.first().map(|found| found.region.bounds()) else {
            return self.found.as_ref().ok().map(|_| "no piece yet".to_owned());
        };
        let size = format!("{} × {}", unit.show(largest.width()), unit.show(largest.height()));
        Some(match taken.len() {
            1 => format!("1 piece, {size} {unit}"),
            n => format!("{n} pieces, the largest {size} {unit}"),
        })
    }

    /// What a person should know, in words; the second is whether it must be settled.
    pub fn problems_in_words(&self) -> Vec<(String, bool)> {
        match &self.found {
            Ok(drawing) => {
                let waits = drawing.regions.len() - self.taken().count();
                let waits = (waits > 0).then(|| {
                    let what = counted(waits, "contour lies", "contours lie");
                    (format!("{what} within an open outline: not taken until that is closed"), true)
                });
                let told = drawing.problems.iter().map(|p| (problem(p), p.must_settle));
                waits.into_iter().chain(told).collect()
            }
            Err(why) => vec![(why.clone(), true)],
        }
    }

    /// Whether a person has to settle anything of it.
    pub fn must_settle(&self) -> bool {
        self.problems_in_words().iter().any(|(_, must)| *must)
    }

    /// What of it is taken: what lies within an outline that is open may be a hole of that, and waits until
    /// a person has closed it.
    fn taken(&self) -> impl Iterator<Item = &Found> {
        self.found.iter().flat_map(|d| &d.regions).filter(|found| !found.in_open)
    }

    /// The parts in it, each wanted once, with where they came from.
    pub fn parts(&self) -> Vec<(Part, Origin)> {
        let Ok(drawing) = &self.found else { return Vec::new() };
        let parts = parts_from_drawing(&self.path, drawing).into_iter().zip(&drawing.regions);
        let taken = parts.filter(|(_, found)| !found.in_open);
        taken.map(|((part, origin), _)| (part, self.origin(origin))).collect()
    }

    /// The sheet in it; none while an outline is open that may be its edge.
    pub fn sheet(&self) -> Option<(Stock, Origin)> {
        let drawing = self.found.as_ref().ok()?;
        if drawing.regions.iter().any(|found| found.in_open) {
            return None;
        }
        let (sheet, origin) = sheet_from_drawing(&self.path, drawing);
        Some((Stock { sheet, count: 1 }, self.origin(origin)))
    }

    /// A shape that nobody would read from the drawing again without being asked is kept itself.
    fn origin(&self, drawn: Origin) -> Origin {
        let as_usual = ReadOptions { units: self.options.units, ..ReadOptions::default() };
        if self.options == as_usual { drawn } else { Origin::Outline }
    }
}

fn problem(p: &Problem) -> String {
    let mut text = p.what.clone();
    if let Some(at) = p.at {
        text += &format!(" at {:.1}, {:.1}", at.x + 0.0, at.y + 0.0);
    }
    if let Some(layer) = &p.layer {
        text += &format!(" on layer {layer}");
    }
    if p.done.is_empty() { text } else { format!("{text}: {}", p.done) }
}

/// A name for a part that no other part of the job has.
pub fn free_name(job: &SourcedJob, name: &str) -> String {
    let taken = |n: &str| job.job.wanted.iter().any(|w| w.part.name == n);
    if !taken(name) {
        return name.to_owned();
    }
    (2..).map(|i| format!("{name} ({i})")).find(|n| !taken(n)).unwrap_or_default()
}

/// Adds what a drawing holds to the order, each part wanted once. Returns the names given.
pub fn add_parts(job: &mut SourcedJob, read: &ReadDrawing) -> Vec<String> {
    let mut names = Vec::new();
    for (mut part, origin) in read.parts() {
        part.name = free_name(job, &part.name);
        names.push(part.name.clone());
        job.add_part(Wanted { part, count: Count::Exactly(1) }, origin);
    }
    names
}

/// What a thread brought back.
#[derive(Debug)]
pub enum Finished {
    /// Drawings were read.
    Read(Vec<ReadDrawing>),
    /// A plan or job was opened, or the sentences why not.
    Opened(Result<Box<OpenJob>, Vec<String>>, PathBuf),
    /// The plan was saved, or the sentence why not.
    Saved(Result<PathBuf, String>),
    /// An order to be cut together with the one that is open, or the sentences why not.
    Order(Result<Box<OpenJob>, Vec<String>>, PathBuf),
    /// Files were written, or the sentence why not.
    Written(Result<Vec<PathBuf>, String>),
    /// An order of bars was opened, or the sentences why not.
    OpenedBars(Result<Box<BarOrder>, Vec<String>>, PathBuf),
    /// A table of parts was read as text, or the sentence why not.
    Table(Result<String, String>),
    /// The plan's files were written, or the sentence why not.
    Exported(Result<Vec<PathBuf>, String>),
}

/// The threads that read and write, and what they bring back.
pub struct Exchange {
    send: Sender<Finished>,
    finished: Receiver<Finished>,
    running: usize,
    wake: Wake,
}

impl Exchange {
    /// Nothing is running yet.
    pub fn new(wake: Wake) -> Self {
        let (send, finished) = channel();
        Self { send, finished, running: 0, wake }
    }

    /// Whether anything is being read or written.
    pub fn is_busy(&self) -> bool {
        self.running > 0
    }

    /// The next thing that has finished.
    pub fn take(&mut self) -> Option<Finished> {
        let finished = self.finished.try_recv().ok()?;
        self.running = self.running.saturating_sub(1);
        Some(finished)
    }

    /// Reads drawings.
    ///
    /// # Errors
    /// A sentence where the system gave no thread.
    pub fn read(
        &mut self,
        paths: Vec<PathBuf>,
        read_as: ReadAs,
        options: ReadOptions,
    ) -> Result<(), String> {
        self.run("read drawings", move || {
            let one = |path: PathBuf| {
                let found = read_one(&path, &options);
                let (options, added) = (options.clone(), Vec::new());
                ReadDrawing { path, read_as, options, added, found }
            };
            Finished::Read(paths.into_iter().map(one).collect())
        })
    }

    /// Opens a plan, a job or an order of bars; bars with a label that is `in_rack` are the rack's.
    ///
    /// # Errors
    /// A sentence where the system gave no thread.
    pub fn open(&mut self, path: PathBuf, in_rack: HashSet<String>) -> Result<(), String> {
        self.run("open", move || {
            let text = match text_of(&path) {
                Ok(text) => text,
                Err(why) => return Finished::Opened(Err(why), path),
            };
            match open_bars(&text, title_of(&path), |label| in_rack.contains(label)) {
                Some(order) => Finished::OpenedBars(order.map(Box::new), path),
                None => Finished::Opened(open_text(&path, &text).map(Box::new), path),
            }
        })
    }

    /// Reads a table of parts, to be looked at before it is taken.
    ///
    /// # Errors
    /// A sentence where the system gave no thread.
    pub fn table(&mut self, path: PathBuf) -> Result<(), String> {
        self.run("read a table", move || {
            let text =
                std::fs::read(&path).map(|bytes| String::from_utf8_lossy(&bytes).into_owned());
            let about = |why| format!("{} cannot be read: {why}", path.display());
            Finished::Table(text.map_err(about))
        })
    }

    /// Writes the set-up sheet and the plan of a clear plan for bars into a folder.
    ///
    /// # Errors
    /// A sentence where the system gave no thread.
    pub fn export_bars(
        &mut self,
        folder: PathBuf,
        title: String,
        planned: Arc<PlannedBars>,
        unit: LengthUnit,
    ) -> Result<(), String> {
        self.run("export", move || Finished::Exported(write_bars(&folder, &title, &planned, unit)))
    }

    /// Opens the order of a plan or a job.
    ///
    /// # Errors
    /// A sentence where the system gave no thread.
    pub fn open_order(&mut self, path: PathBuf) -> Result<(), String> {
        self.run("open order", move || Finished::Order(open(&path).map(Box::new), path))
    }

    /// Writes files.
    ///
    /// # Errors
    /// A sentence where the system gave no thread.
    pub fn write(
        &mut self,
        name: &str,
        write: impl FnOnce() -> Result<Vec<PathBuf>, String> + Send + 'static,
    ) -> Result<(), String> {
        self.run(name, move || Finished::Written(write()))
    }

    /// Saves the open work.
    ///
    /// # Errors
    /// A sentence where the system gave no thread.
    pub fn save(&mut self, path: PathBuf, text: String) -> Result<(), String> {
        self.run("save", move || {
            Finished::Saved(match write_whole(&path, &text) {
                Ok(()) => Ok(path),
                Err(why) => Err(format!("{} could not be saved: {why}", path.display())),
            })
        })
    }

    /// Writes the plan's files into a folder.
    ///
    /// # Errors
    /// A sentence where the system gave no thread.
    pub fn export(
        &mut self,
        folder: PathBuf,
        (job, checked): (Arc<SourcedJob>, CheckedPlan),
        values: Arc<Values>,
        choices: Choices,
        besides: Besides,
    ) -> Result<(), String> {
        self.run("export", move || {
            let written = write_outputs(&folder, &job, &checked, &values, &choices, &besides);
            Finished::Exported(written.map_err(|fault| fault.to_string()))
        })
    }

    fn run(
        &mut self,
        name: &str,
        work: impl FnOnce() -> Finished + Send + 'static,
    ) -> Result<(), String> {
        let (send, wake) = (self.send.clone(), self.wake.clone());
        std::thread::Builder::new()
            .name(name.into())
            .spawn(move || {
                // Nobody listening means that the program is ending.
                let _ = send.send(work());
                wake();
            })
            .map_err(|why| format!("the system gave no thread: {why}"))?;
        self.running += 1;
        Ok(())
    }
}

fn read_one(path: &Path, options: &ReadOptions) -> Result<Drawing, String> {
    if path.is_dir() {
        return Err("this is a folder; choose the drawings in it".to_owned());
    }
    let bytes = std::fs::read(path).map_err(|why| format!("it cannot be read: {why}"))?;
    let name = path.file_name().unwrap_or_default().to_string_lossy();
    read_drawing(&name, &bytes, options).map_err(|fault| fault.to_string())
}

/// Writes what belongs to a plan for bars.
fn write_bars(
    folder: &Path,
    title: &str,
    planned: &PlannedBars,
    unit: LengthUnit,
) -> Result<Vec<PathBuf>, String> {
    let PlannedBars { list, plan, .. } = planned;
    let checked = clear(list, plan).map_err(|faults| joined(&faults))?;
    let pdf = bars_sheet(&checked, Paper::A4, unit).map_err(|why| why.to_string())?;
    let refused = |path: &Path, why| format!("{} can’t be written: {why}", path.display());
    std::fs::create_dir_all(folder).map_err(|why| refused(folder, why))?;
    let files = [
        (folder.join("bars.pdf"), pdf),
        (folder.join("bars.json"), write_bar_plan(title, list, plan).into_bytes()),
    ];
    for (path, content) in &files {
        put(path, content).map_err(|why| refused(path, why))?;
    }
    Ok(files.into_iter().map(|(path, _)| path).collect())
}

fn text_of(path: &Path) -> Result<String, Vec<String>> {
    let about = |why| vec![format!("{} cannot be read: {why}", path.display())];
    std::fs::read_to_string(path).map_err(about)
}

/// Opens a plan or a job.
fn open(path: &Path) -> Result<OpenJob, Vec<String>> {
    open_text(path, &text_of(path)?)
}

fn title_of(path: &Path) -> String {
    path.file_stem().unwrap_or_default().to_string_lossy().into_owned()
}

/// Opens a plan, or a job whose locked parts are its plan so far, that was read from `path`.
///
/// # Errors
/// All problems, in sentences.
fn open_text(path: &Path, text: &str) -> Result<OpenJob, Vec<String>> {
    let in_words = |faults: Vec<oddment_files::job_file::JobFault>| {
        faults.iter().map(ToString::to_string).collect::<Vec<_>>()
    };
    let is_job = serde_json::from_str::<serde_json::Value>(text)
        .is_ok_and(|v| v.get("format").and_then(|f| f.as_str()) == Some("oddment-job"));
    let (sourced, plan) = if is_job {
        let sourced = read_job(path, None, GivenClearances::default()).map_err(in_words)?;
        let plan = sourced.locked.clone();
        (sourced, plan)
    } else {
        // The drawings are where the plan says, or beside the plan.
        let where_it_says = read_plan(text, None);
        where_it_says
            .or_else(|faults| read_plan(text, path.parent()).map_err(|_| in_words(faults)))?
    };
    Ok(opened(title_of(path), sourced, plan))
}

fn opened(title: String, sourced: SourcedJob, mut plan: Plan) -> OpenJob {
    plan.layouts.retain(|l| !l.placements.is_empty());
    OpenJob { title, sourced: Arc::new(sourced), plan }
}

/// The open work as text: its shapes with it, so that it can be opened without the drawings.
pub fn work_as_text(open: &OpenJob, checked: &CheckedPlan) -> String {
    let mut sourced = SourcedJob::clone(&open.sourced);
    let held = |origin: &mut Origin| {
        if matches!(origin, Origin::Drawing { .. }) {
            *origin = Origin::Outline;
        }
    };
    sourced.parts.iter_mut().chain(&mut sourced.sheets).for_each(held);
    write_work(&sourced, checked)
}

/// Reads what [`work_as_text`] wrote.
///
/// # Errors
/// All problems, in sentences.
pub fn work_from_text(title: String, text: &str) -> Result<OpenJob, Vec<String>> {
    let (sourced, plan) = read_plan(text, None)
        .map_err(|faults| faults.iter().map(ToString::to_string).collect::<Vec<_>>())?;
    Ok(opened(title, sourced, plan))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::start::first_job;
    use oddment_core::check::check;
    use oddment_core::shape::{Pose, Vector};

    #[test]
    fn work_comes_back_whole_even_when_nothing_is_laid() {
        let open = first_job().unwrap();
        let checked = check(open.job(), open.plan.clone());
        let back = work_from_text(open.title.clone(), &work_as_text(&open, &checked)).unwrap();
        assert_eq!(back.job(), open.job());
        assert_eq!(back.plan, open.plan);
    }

    #[test]
    fn work_comes_back_with_what_is_laid_and_locked() {
        let mut open = first_job().unwrap();
        let slot = open.slots()[0];
        let pose = Pose::new(Vector::new(500.25, 200.5), 0.3, false);
        let placement = oddment_core::plan::Placement { part: 1, copy: 0, pose, locked: true };
        open.lay(slot, placement);
        let checked = check(open.job(), open.plan.clone());
        let back = work_from_text("t".into(), &work_as_text(&open, &checked)).unwrap();
        let (was, is) = (open.plan.layouts[0].placements[0], back.plan.layouts[0].placements[0]);
        assert!(is.locked && is.copy == was.copy && is.pose.shift == was.pose.shift);
        assert!((is.pose.turn - was.pose.turn).abs() < 1e-12);
    }

    #[test]
    fn names_of_parts_stay_unique() {
        let open = first_job().unwrap();
        let first = &open.job().wanted[0].part.name;
        assert_eq!(free_name(&open.sourced, first), format!("{first} (2)"));
        assert_eq!(free_name(&open.sourced, "new"), "new");
    }

    #[test]
    fn what_is_no_drawing_is_said_in_a_sentence() {
        let path = std::env::temp_dir().join(format!("oddment-none-{}.dxf", std::process::id()));
        std::fs::write(&path, "nothing of the kind").unwrap();
        let why = read_one(&path, &ReadOptions::default()).unwrap_err();
        assert!(why.contains("neither"), "{why}");
        std::fs::remove_file(&path).unwrap();
        assert!(read_one(&path, &ReadOptions::default()).unwrap_err().contains("cannot be read"));
    }
}
