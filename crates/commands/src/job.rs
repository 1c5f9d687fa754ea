//! The job that a command line asks for.

use std::collections::HashSet;
use std::ffi::OsString;
use std::path::{Path, PathBuf};

use oddment_core::distances::StartRule;
use oddment_core::part::Part;
use oddment_core::plan::{Count, Stock, Wanted};
use oddment_core::sheet::Sheet;
use oddment_core::units::LengthUnit;
use oddment_files::drawing::Drawing;
use oddment_files::job_file::{
    DrawingNote, GivenClearances, JobFault, MOST_COPIES, Origin, SourcedJob, parts_from_drawing,
    read_job, read_order, sheet_from_drawing, sheet_rectangle,
};
use oddment_rack::Shop;

use crate::args::{ClearanceArgs, TurningArgs};
use crate::console::Console;
use crate::given::{self, GivenSheet};
use crate::input;
use crate::refusal::Refusal;

/// How what is typed is to be read.
#[derive(Clone)]
pub(crate) struct Reading<'a> {
    pub(crate) clearances: ClearanceArgs,
    pub(crate) turning: &'a TurningArgs,
    pub(crate) units: Option<LengthUnit>,
    /// The shop file whose sheets may be meant by their labels.
    pub(crate) shop: Option<&'a Shop>,
}

/// The job of these sheets and parts, as typed.
///
/// # Errors
/// All that is wrong with any of them.
pub(crate) fn from_flags(
    sheets: &[OsString],
    parts: &[OsString],
    reading: &Reading<'_>,
) -> Result<SourcedJob, Refusal> {
    let mut job = SourcedJob::new(GivenClearances::from(reading.clearances).complete());
    job.job.starts = reading.clearances.starts(None);
    let mut refusal = Refusal::default();
    for typed in sheets {
        if let Some(sheet) = reading.shop.and_then(|shop| of_rack(shop, typed)) {
            job.add_sheet(Stock { sheet, count: 1 }, Origin::Outline);
            continue;
        }
        match given::sheet(typed) {
            Ok((given, count)) => {
                if let Err(fault) = add_sheet(&mut job, &given, count, reading) {
                    refusal.add(fault);
                }
            }
            Err(sentence) => refusal.add(Refusal::about(typed.display(), sentence)),
        }
    }
    let mut wanted: Vec<(PathBuf, Count)> = Vec::new();
    for typed in parts {
        match given::part(typed) {
            Ok((path, count)) => want(&mut wanted, path, count),
            Err(sentence) => refusal.add(Refusal::about(typed.display(), sentence)),
        }
    }
    for (path, count) in wanted {
        match input::drawing(&path, reading.units) {
            Ok(drawing) => {
                note(&mut job, &path, &drawing);
                for (mut part, origin) in parts_from_drawing(&path, &drawing) {
                    turn(&mut part, reading.turning);
                    job.add_part(Wanted { part, count }, origin);
                }
            }
            Err(fault) => refusal.add(fault),
        }
    }
    distinguish(job.job.stock.iter_mut().map(|s| &mut s.sheet.name));
    distinguish(job.job.wanted.iter_mut().map(|w| &mut w.part.name));
    refusal.or(job)
}

/// The one part in a drawing.
///
/// # Errors
/// Where it can't be read, or has several.
pub(crate) fn one_part(
    path: &Path,
    reading: &Reading<'_>,
    console: &mut Console<'_>,
) -> Result<Part, Refusal> {
    let sourced = from_flags(&[], &[path.into()], reading)?;
    tell_notes(&sourced, console);
    let mut wanted = sourced.job.wanted;
    if wanted.len() != 1 {
        let sentence = format!(
            "there are {} parts in this drawing, and one is asked about; save it in a drawing of its \
             own",
            wanted.len()
        );
        return Err(Refusal::about(path.display(), sentence));
    }
    Ok(wanted.remove(0).part)
}

/// The job in a job file; what is typed beside it goes before what it says.
///
/// # Errors
/// All that is wrong with it.
pub(crate) fn from_file(path: &Path, reading: &Reading<'_>) -> Result<SourcedJob, Refusal> {
    let job = read_job(path, reading.units, reading.clearances.into());
    as_typed(job, path, reading)
}

/// What is wanted by a job file, whose sheets may be left out; what is typed beside it goes before
/// what it says.
///
/// # Errors
/// All that is wrong with it.
pub(crate) fn order_from_file(path: &Path, reading: &Reading<'_>) -> Result<SourcedJob, Refusal> {
    let job = read_order(path, reading.units, reading.clearances.into());
    as_typed(job, path, reading)
}

fn as_typed(
    job: Result<SourcedJob, Vec<JobFault>>,
    path: &Path,
    reading: &Reading<'_>,
) -> Result<SourcedJob, Refusal> {
    let mut job = job.map_err(|faults| Refusal::each(path.display(), &faults))?;
    job.job.starts = reading.clearances.starts(job.job.starts);
    for wanted in &mut job.job.wanted {
        turn(&mut wanted.part, reading.turning);
    }
    Ok(job)
}

/// Says what is for a person to settle in the drawings of a job before anything is cut.
pub(crate) fn tell_notes(job: &SourcedJob, console: &mut Console<'_>) {
    for DrawingNote { path, problem } in job.notes.iter().filter(|n| n.problem.must_settle) {
        let at = problem.at.map_or_else(String::new, |p| format!(" at ({:.2}, {:.2})", p.x, p.y));
        console.say(format_args!("{}: {}{at}: {}", path.display(), problem.what, problem.done));
    }
}

/// The rack's sheet that is here with what is typed as its label, unless a file is named so.
fn of_rack(shop: &Shop, typed: &OsString) -> Option<Sheet> {
    let label = typed.to_str().filter(|label| !Path::new(label).exists())?;
    let sheet = shop.sheet(label).ok()?;
    let facts = &sheet.entry.facts;
    (facts.whereabouts.is_here() && facts.bar.is_none()).then(|| sheet.sheet())
}

/// Adds a sheet as typed.
fn add_sheet(
    job: &mut SourcedJob,
    given: &GivenSheet,
    count: usize,
    reading: &Reading<'_>,
) -> Result<(), Refusal> {
    let (sheet, origin) = match given {
        GivenSheet::Drawing(path) => {
            let drawing = input::drawing(path, reading.units)?;
            note(job, path, &drawing);
            sheet_from_drawing(path, &drawing)
        }
        GivenSheet::Rectangle(width, height) => {
            let name = format!("{width}x{height}");
            sheet_rectangle(&name, *width, *height).map_err(|fault| Refusal::about(&name, fault))?
        }
    };
    job.add_sheet(Stock { sheet, count }, origin);
    Ok(())
}

/// Adds to what is wanted; a drawing given twice is wanted as often as both say.
fn want(wanted: &mut Vec<(PathBuf, Count)>, path: PathBuf, count: Count) {
    let real = |path: &Path| path.canonicalize().unwrap_or_else(|_| path.to_owned());
    match wanted.iter_mut().find(|(other, _)| real(other) == real(&path)) {
        Some((_, Count::Exactly(most))) if let Count::Exactly(more) = count => {
            *most = (*most + more).min(MOST_COPIES);
        }
        Some((_, known)) => *known = Count::Max,
        None => wanted.push((path, count)),
    }
}

/// Keeps what a person should know of a drawing.
fn note(job: &mut SourcedJob, path: &Path, drawing: &Drawing) {
    let notes = drawing
        .problems
        .iter()
        .map(|problem| DrawingNote { path: path.to_owned(), problem: problem.clone() });
    job.notes.extend(notes);
}

/// Lets the part lie as is typed, where something is.
fn turn(part: &mut Part, turning: &TurningArgs) {
    if let Some(turn) = &turning.turn {
        part.turning = turn.clone();
    }
    part.flip |= turning.flip;
}

/// Gives every name that an earlier one bears already a number of its own.
fn distinguish<'a>(names: impl Iterator<Item = &'a mut String>) {
    let mut names: Vec<&mut String> = names.collect();
    let mut used: HashSet<String> = names.iter().map(|n| (**n).clone()).collect();
    let mut seen = HashSet::new();
    for name in &mut names {
        if seen.contains(*name) {
            let fresh = (2..).map(|n| format!("{name} ({n})")).find(|n| !used.contains(n));
            **name = fresh.unwrap_or_default();
            used.insert((**name).clone());
        }
        seen.insert((**name).clone());
    }
}

impl ClearanceArgs {
    /// What starts need, as typed; what is not typed is as in `given` or, without it, as it stands
    /// where a shop has not said otherwise.
    pub(crate) fn starts(self, given: Option<StartRule>) -> Option<StartRule> {
        if !self.starts.unwrap_or(given.is_some()) {
            return None;
        }
        let rule = given.unwrap_or(StartRule::STARTING);
        let pierce = self.pierce.unwrap_or(rule.pierce);
        // Holes narrower than the distance typed have no start.
        let small_hole = self.pierce.unwrap_or(rule.small_hole);
        let least_lead = self.lead.unwrap_or(rule.least_lead);
        let lead = self.lead.map_or(rule.lead, |least| least.max(rule.lead));
        Some(StartRule { pierce, small_hole, least_lead, lead, ..rule })
    }
}

impl From<ClearanceArgs> for GivenClearances {
    fn from(args: ClearanceArgs) -> Self {
        Self {
            kerf: args.kerf,
            web: args.web,
            edge: args.edge.map(oddment_core::distances::EdgeDistance::all),
            sensing: args.sensing,
            lay: args.lay,
            common: None,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[track_caller]
    fn check_distinguished(names: &[&str], expected: &[&str]) {
        let mut names: Vec<String> = names.iter().map(|&n| n.to_owned()).collect();
        distinguish(names.iter_mut());
        assert_eq!(names, expected);
    }

    #[test]
    fn no_two_bear_the_same_name() {
        check_distinguished(&["a", "b"], &["a", "b"]);
        check_distinguished(&["a", "a", "a"], &["a", "a (2)", "a (3)"]);
        check_distinguished(&["a", "a", "a (2)"], &["a", "a (3)", "a (2)"]);
    }

    #[test]
    fn a_part_given_twice_is_wanted_as_often_as_both_say() {
        let mut wanted = Vec::new();
        for (name, count) in [("a", 2), ("b", 1), ("./a", 3)] {
            want(&mut wanted, name.into(), Count::Exactly(count));
        }
        assert_eq!(wanted.len(), 3, "files that are not there are not the same file");
        want(&mut wanted, "a".into(), Count::Exactly(3));
        assert_eq!(wanted[0], ("a".into(), Count::Exactly(5)));
        want(&mut wanted, "a".into(), Count::Max);
        assert_eq!(wanted[0], ("a".into(), Count::Max));
    }
}
