//! Reads a job file.

use std::collections::HashSet;
use std::path::Path;

use oddment_core::plan::{Layout, Placement, Plan};
use oddment_core::units::LengthUnit;

use super::entries::{read_clearances, read_part, read_pose, read_sheet, read_starts};
use super::{Drawings, GivenClearances, JobFault, SourcedJob, read_wishes};
use crate::file::read_text;
use crate::json::{Faults, Node, document};

/// More entries than any list of a job has.
const MOST_ENTRIES: usize = 10_000;

/// Reads the job file at `path`; see [`parse_job`].
///
/// # Errors
/// All problems found.
pub fn read_job(
    path: &Path,
    units: Option<LengthUnit>,
    flags: GivenClearances,
) -> Result<SourcedJob, Vec<JobFault>> {
    read(path, units, flags, Sheets::Needed)
}

/// The same of a file that may leave its sheets out: what is wanted, whatever it is cut from.
///
/// # Errors
/// All problems found.
pub fn read_order(
    path: &Path,
    units: Option<LengthUnit>,
    flags: GivenClearances,
) -> Result<SourcedJob, Vec<JobFault>> {
    read(path, units, flags, Sheets::MayBeLeftOut)
}

fn read(
    path: &Path,
    units: Option<LengthUnit>,
    flags: GivenClearances,
    sheets: Sheets,
) -> Result<SourcedJob, Vec<JobFault>> {
    let text = read_text(path).map_err(|fault| vec![JobFault::of_file(&fault)])?;
    parse(&text, path.parent().unwrap_or(Path::new(".")), units, flags, sheets)
}

/// Whether a file must have sheets.
#[derive(Clone, Copy, PartialEq)]
enum Sheets {
    Needed,
    MayBeLeftOut,
}

/// Reads a job from its text; paths in it are relative to `folder`. `units` go before what its
/// drawings say of theirs, `flags` before what it says of clearances.
///
/// # Errors
/// All problems found.
pub fn parse_job(
    text: &str,
    folder: &Path,
    units: Option<LengthUnit>,
    flags: GivenClearances,
) -> Result<SourcedJob, Vec<JobFault>> {
    parse(text, folder, units, flags, Sheets::Needed)
}

fn parse(
    text: &str,
    folder: &Path,
    units: Option<LengthUnit>,
    flags: GivenClearances,
    sheets: Sheets,
) -> Result<SourcedJob, Vec<JobFault>> {
    let value = document(text, "oddment-job").map_err(|fault| vec![fault])?;
    let mut faults = Faults::default();
    let root = Node::root(&value);
    root.only_keys(
        &["format", "version", "units", "clearances", "starts", "sheets", "parts", "locked", "cut"],
        &mut faults,
    );
    let given = root.get("clearances").map(|c| read_clearances(&c, &mut faults));
    let mut job = SourcedJob::new(flags.or(given.unwrap_or_default()).complete());
    job.job.starts = read_starts(&root, &mut faults);
    let mut drawings = Drawings::relative_to(folder, units);
    let mut names = HashSet::new();
    let left_out = sheets == Sheets::MayBeLeftOut && root.get("sheets").is_none();
    let sheets = if left_out { Vec::new() } else { entries(&root, "sheets", &mut faults) };
    for node in sheets {
        node.only_keys(
            &[
                "name",
                "count",
                "source",
                "mm_per_unit",
                "rectangle",
                "outline",
                "holes",
                "curves",
                "bodies",
                "give_or_take",
                "edge_facts",
                "grain_deg",
                "no_go",
                "made_of",
            ],
            &mut faults,
        );
        if let Some((stock, origin)) = read_sheet(&node, "name", &mut drawings, &mut faults) {
            unique(&mut names, &stock.sheet.name, &node, &mut faults);
            job.add_sheet(stock, origin);
        }
    }
    names.clear();
    for node in entries(&root, "parts", &mut faults) {
        node.only_keys(
            &[
                "name",
                "count",
                "source",
                "mm_per_unit",
                "region",
                "outline",
                "holes",
                "curves",
                "marks",
                "turn",
                "flip",
                "grain_deg",
                "made_from",
                "priority",
            ],
            &mut faults,
        );
        if let Some((wanted, origin)) = read_part(&node, "name", &mut drawings, &mut faults) {
            unique(&mut names, &wanted.part.name, &node, &mut faults);
            job.add_part(wanted, origin);
        }
    }
    // Names can only be looked up where all that bears a name was read.
    if faults.0.is_empty() {
        job.locked = read_locked(&root, &job, &mut faults);
        job.cut = read_wishes(&root, &job.job.wanted, &mut faults);
    }
    job.notes = drawings.notes();
    faults.or(Some(job))
}

/// The entries of a list that must have some.
fn entries<'a>(root: &Node<'a>, key: &str, faults: &mut Faults) -> Vec<Node<'a>> {
    let Some(list) = root.must(key, faults) else { return Vec::new() };
    let mut entries = list.list(faults);
    if list.is_list() && entries.is_empty() {
        faults.add(key, "the list is empty", "put at least one in");
    }
    if entries.len() > MOST_ENTRIES {
        let what = format!("the list has more than {MOST_ENTRIES} entries");
        faults.add(key, what, "split the job");
        entries.clear();
    }
    entries
}

fn unique(names: &mut HashSet<String>, name: &str, node: &Node<'_>, faults: &mut Faults) {
    if !names.insert(name.to_owned()) {
        faults.add(node.place(), format!("the name “{name}” is used twice"), "rename one");
    }
}

/// The locked placements, sheet by sheet in the order of the job's sheets. Parts are numbered in
/// the order of the list.
fn read_locked(root: &Node<'_>, job: &SourcedJob, faults: &mut Faults) -> Plan {
    let mut plan = Plan {
        layouts: (0..job.job.stock.len())
            .map(|stock| Layout { stock, placements: Vec::new() })
            .collect(),
    };
    let mut copies = vec![0; job.job.wanted.len()];
    for node in root.list_of("locked", faults) {
        node.only_keys(&["part", "sheet", "x", "y", "turn_deg", "flipped"], faults);
        let name = |key: &str, faults: &mut Faults| {
            node.must(key, faults).and_then(|n| n.text(faults)).unwrap_or_default()
        };
        let (part, sheet) = (name("part", faults), name("sheet", faults));
        let part = job.job.wanted.iter().position(|w| w.part.name == part);
        let sheet = job.job.stock.iter().position(|s| s.sheet.name == sheet);
        for (key, found) in [("part", part), ("sheet", sheet)] {
            if found.is_none() {
                let what = format!("no {key} of the job has this name");
                faults.add(node.place_of(key), what, "use a name from the lists above");
            }
        }
        let pose = read_pose(&node, faults);
        if let (Some(part), Some(sheet), Some(pose)) = (part, sheet, pose) {
            copies[part] += 1;
            let placement = Placement { part, copy: copies[part], pose, locked: true };
            plan.layouts[sheet].placements.push(placement);
        }
    }
    plan.layouts.retain(|l| !l.placements.is_empty());
    plan
}
