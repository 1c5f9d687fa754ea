//! All files of one plan, none of them ever half-written.

use std::collections::BTreeMap;
use std::fs;
use std::io::{self, BufWriter, Write};
use std::path::{Path, PathBuf};

use oddment_core::check::CheckedPlan;
use oddment_core::cutting::skeleton::LastCuts;
use oddment_core::cutting::{Cut, CutFacts, plan_cut};
use oddment_core::plan::{Job, Layout};
use oddment_core::shape::{Pose, Region, SheetSpace};
use oddment_core::units::LengthUnit;

use crate::dxf_out::{CutLines, cut_dxf, cut_svg, layout_dxf, single_dxf};
use crate::job_file::SourcedJob;
use crate::picture::{NoPdf, png, sheet_picture};
use crate::plan_file::{RunFacts, write_plan};
use crate::setup_sheet::{Carried, Paper, setup_sheet, traveller};
use crate::values::Values;

/// Pixels per point of the picture.
const PIXELS: f64 = 1.5;

/// Why a plan's files were not all written.
#[derive(Debug, thiserror::Error)]
pub enum OutputFault {
    /// A file can't be written.
    #[error("{}: it can't be written: {why}; check that the folder may be written to and has room", path.display())]
    File {
        /// Which.
        path: PathBuf,
        /// Why.
        why: io::Error,
    },
    /// The set-up sheet did not come about.
    #[error(transparent)]
    Pdf(#[from] NoPdf),
}

/// What files are written, and how.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Choices {
    /// The unit of drawings and papers.
    pub unit: LengthUnit,
    /// The paper of set-up sheet and traveller.
    pub paper: Paper,
    /// Which lines the drawing of the cut has.
    pub lines: CutLines,
    /// Whether each part's own drawing is written as it lies, for a machine that runs them one by one
    /// and can't turn them.
    pub singles: bool,
}

impl Default for Choices {
    fn default() -> Self {
        let (unit, paper, lines) = (LengthUnit::Mm, Paper::A4, CutLines::BeamCentre);
        Self { unit, paper, lines, singles: false }
    }
}

/// What is known of a plan besides.
#[derive(Clone, Debug, Default)]
pub struct Besides {
    /// What goes with its parts.
    pub carried: Carried,
    /// How the search went.
    pub run: RunFacts,
}

/// Writes `plan.json`, `nest.dxf` (all sheets side by side), `picture.png` and `sheet.pdf` (the
/// set-up sheet) into `folder`, and where the sheets' metal is known `cut.dxf` and `cut.svg` (the
/// beam's centre line with lead-ins and tabs, or as drawn; one for each sheet), `traveller.pdf`, and
/// where they are asked for `single-….dxf`. The folder is made if it is not
/// there. Each file is written beside its place and then moved there. A plan that is not clear gets
/// no drawing for the machine, and one that lay there is taken away: it would belong to another plan.
/// `values` are those the cut is worked out with. Returns what was written.
///
/// # Errors
/// [`OutputFault`]; files that were there before stay whole.
pub fn write_outputs(
    folder: &Path,
    job: &SourcedJob,
    checked: &CheckedPlan,
    values: &Values,
    choices: &Choices,
    besides: &Besides,
) -> Result<Vec<PathBuf>, OutputFault> {
    let cuts = cuts_of(job, checked, values);
    let Choices { unit, paper, lines, singles } = *choices;
    let sheet = setup_sheet(&job.job, checked, &cuts, &values.limits(), paper, unit)?;
    let with_bed = checked.with_bed(&job.job);
    let picture = png(&sheet_picture(&with_bed, checked), PIXELS);
    let mut files: Vec<(String, Option<Vec<u8>>)> = vec![
        ("nest.dxf".into(), layout_dxf(job, checked).ok().map(String::into_bytes)),
        ("picture.png".into(), picture),
        ("sheet.pdf".into(), Some(sheet)),
    ];
    for (layout, cut) in cuts.iter().enumerate() {
        let lies = checked.squared_up(layout).map_or_else(Pose::identity, |s| {
            let stock = checked.plan().layouts[layout].stock;
            s.drawing(job.job.stock[stock].sheet.bounds().min)
        });
        let name = if cuts.len() == 1 { "cut".into() } else { format!("cut-{}", layout + 1) };
        let dxf = cut_dxf(&with_bed, checked, layout, cut, lines, lies, unit);
        let svg = cut_svg(&with_bed, checked, layout, cut, lines, lies, unit);
        files.push((format!("{name}.dxf"), dxf.ok().map(String::into_bytes)));
        files.push((format!("{name}.svg"), svg.ok().map(String::into_bytes)));
    }
    if singles {
        files.extend(singles_of(&job.job, checked, unit));
    }
    if !cuts.is_empty() {
        let pages = traveller(&job.job, checked, &cuts, &besides.carried, paper, unit)?;
        files.push(("traveller.pdf".into(), Some(pages)));
    }
    // Last: where it is, the others are.
    files.push(("plan.json".into(), Some(write_plan(job, checked, besides.run).into_bytes())));
    fs::create_dir_all(folder)
        .map_err(|why| OutputFault::File { path: folder.to_path_buf(), why })?;
    let mut written = Vec::new();
    for (name, content) in files {
        let path = folder.join(&name);
        match content {
            Some(content) => {
                put(&path, &content)
                    .map_err(|why| OutputFault::File { path: path.clone(), why })?;
                written.push(path);
            }
            None => match fs::remove_file(&path) {
                Err(why) if why.kind() != io::ErrorKind::NotFound => {
                    return Err(OutputFault::File { path, why });
                }
                _ => {}
            },
        }
    }
    Ok(written)
}

/// Each part's own drawing as it lies on the bed, once for each way it lies.
fn singles_of(
    job: &Job,
    checked: &CheckedPlan,
    unit: LengthUnit,
) -> BTreeMap<String, Option<Vec<u8>>> {
    let mut files = BTreeMap::new();
    for (n, layout) in checked.plan().layouts.iter().enumerate().filter(|(_, l)| l.is_known(job)) {
        let lies = checked.squared_up(n).map_or(0.0, |s| s.pose().turn);
        for p in &layout.placements {
            let part = &job.wanted[p.part].part;
            let turn = (p.pose.turn + lies).to_degrees().rem_euclid(360.0);
            let letter = |c: char| if c.is_alphanumeric() { c } else { '-' };
            let name: String = part.name.chars().map(letter).collect();
            let flipped = if p.pose.flipped { "-flipped" } else { "" };
            let name = format!("single-{name}-turned-{turn:.3}{flipped}.dxf");
            files.entry(name).or_insert_with(|| {
                let drawn = || single_dxf(part, turn.to_radians(), p.pose.flipped, unit);
                checked.is_clear().then(|| drawn().into_bytes())
            });
        }
    }
    files
}

/// The cuts of a plan's layouts; none where one can't be told, see [`cut_of`].
pub fn cuts_of(sourced: &SourcedJob, checked: &CheckedPlan, values: &Values) -> Vec<Cut> {
    (0..checked.plan().layouts.len())
        .map(|layout| cut_of(sourced, checked, layout, values))
        .collect::<Option<Vec<Cut>>>()
        .unwrap_or_default()
}

/// What the crop line and cutting up the skeleton take out of a layout's sheet, by the values in force.
pub fn last_cuts_of(
    sourced: &SourcedJob,
    layout: &Layout,
    values: &Values,
) -> Vec<Region<SheetSpace>> {
    let job = &sourced.job;
    let metal = job.stock[layout.stock].sheet.made_of.as_ref();
    let cutting = metal.and_then(|m| values.cutting(&sourced.cut, m));
    cutting.map_or_else(Vec::new, |(rule, facts)| {
        let pierce = job.starts.unwrap_or(rule).pierce;
        LastCuts::new(job, layout, &facts, pierce).slots(job.clearances.kerf)
    })
}

/// The cut of one layout of a plan as the plan wishes it; `None` where its metal is not known, or is
/// thicker than the values reach.
pub fn cut_of(
    sourced: &SourcedJob,
    checked: &CheckedPlan,
    layout: usize,
    values: &Values,
) -> Option<Cut> {
    let (job, n) = (&sourced.job, layout);
    let layout = checked.plan().layouts.get(n).filter(|layout| layout.is_known(job))?;
    let metal = job.stock[layout.stock].sheet.made_of.as_ref()?;
    let (rule, facts) = values.cutting(&sourced.cut, metal)?;
    let by_hand = &sourced.cut.by_hand;
    Some(match checked.squared_up(n) {
        Some(s) => {
            let facts = CutFacts { lies: s.pose(), ..facts };
            plan_cut(&s.as_laid(job, layout.stock), layout, &rule, &facts, by_hand)
        }
        None => plan_cut(job, layout, &rule, &facts, by_hand),
    })
}

/// Writes a file so that at any moment the old one or the new one is there.
///
/// # Errors
/// What the system said.
pub fn put(path: &Path, content: &[u8]) -> io::Result<()> {
    put_with(path, |file| file.write_all(content))
}

/// The same of a file that is written piece by piece.
///
/// # Errors
/// What the system or `write` said.
pub fn put_with(
    path: &Path,
    write: impl FnOnce(&mut dyn Write) -> io::Result<()>,
) -> io::Result<()> {
    let mut beside = path.as_os_str().to_owned();
    beside.push(format!(".{}.part", std::process::id()));
    let beside = PathBuf::from(beside);
    let written = fs::File::create(&beside).map(BufWriter::new).and_then(|mut file| {
        write(&mut file)?;
        file.flush()
    });
    let result = written.and_then(|()| fs::rename(&beside, path));
    if result.is_err() {
        // The file may not be there at all; the first error is the one to tell of.
        let _ = fs::remove_file(&beside);
    }
    result
}

#[cfg(test)]
mod tests {
    use oddment_core::check::check;

    use super::*;
    use crate::test_jobs::{bracket_job, two_brackets};

    fn fresh_folder(name: &str) -> PathBuf {
        let folder = std::env::temp_dir().join(format!("oddment-{name}-{}", std::process::id()));
        let _ = fs::remove_dir_all(&folder);
        folder
    }

    fn names(folder: &Path) -> Vec<String> {
        let entries = fs::read_dir(folder).unwrap();
        let mut names: Vec<String> =
            entries.map(|e| e.unwrap().file_name().to_string_lossy().into_owned()).collect();
        names.sort();
        names
    }

    fn write(
        folder: &Path,
        job: &SourcedJob,
        checked: &CheckedPlan,
        choices: &Choices,
    ) -> Result<Vec<PathBuf>, OutputFault> {
        write_outputs(folder, job, checked, Values::starting(), choices, &Besides::default())
    }

    #[test]
    fn drawings_of_single_parts_are_written_once_for_each_way_they_lie() {
        let folder = fresh_folder("singles");
        let job = bracket_job();
        let mut plan = two_brackets();
        plan.layouts[0].placements[1].pose.turn = 0.0;
        plan.layouts[0].placements[0].pose.turn = 0.0;
        let checked = check(&job.job, plan);
        assert!(checked.is_clear());
        write(&folder, &job, &checked, &Choices { singles: true, ..Choices::default() }).unwrap();
        let singles: Vec<String> =
            names(&folder).into_iter().filter(|n| n.starts_with("single-")).collect();
        assert_eq!(singles.len(), 1, "{singles:?}");
        fs::remove_dir_all(&folder).unwrap();
    }

    #[test]
    fn all_files_are_written_and_none_is_left_beside_them() {
        let folder = fresh_folder("outputs");
        let job = bracket_job();
        let checked = check(&job.job, two_brackets());
        let written = write(&folder, &job, &checked, &Choices::default()).unwrap();
        assert_eq!(written.len(), 4);
        assert_eq!(names(&folder), ["nest.dxf", "picture.png", "plan.json", "sheet.pdf"]);
        let mut faulty = two_brackets();
        faulty.layouts[0].placements[0].pose.shift.x = 0.0;
        let checked = check(&job.job, faulty);
        write(&folder, &job, &checked, &Choices::default()).unwrap();
        // The drawing of the plan before would not be this plan's.
        assert_eq!(names(&folder), ["picture.png", "plan.json", "sheet.pdf"]);
        fs::remove_dir_all(&folder).unwrap();
    }

    #[test]
    fn a_folder_that_is_none_is_told_of() {
        let folder = fresh_folder("no-folder");
        fs::write(&folder, "a file").unwrap();
        let job = bracket_job();
        let checked = check(&job.job, two_brackets());
        let fault = write(&folder, &job, &checked, &Choices::default()).unwrap_err();
        assert!(fault.to_string().contains("can't be written"), "{fault}");
        fs::remove_file(&folder).unwrap();
    }
}
