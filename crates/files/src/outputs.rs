//! All files of one plan, none of them ever half-written.

use std::fs;
use std::io;
use std::path::{Path, PathBuf};

use oddment_core::check::CheckedPlan;
use oddment_core::units::LengthUnit;

use crate::dxf_out::layout_dxf;
use crate::job_file::SourcedJob;
use crate::picture::{NoPdf, png, sheet_picture};
use crate::plan_file::{RunFacts, write_plan};
use crate::setup_sheet::{Paper, setup_sheet};

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

/// Writes `plan.json`, `nest.dxf` (all sheets side by side), `picture.png` and `sheet.pdf` (the
/// set-up sheet) into `folder`, which is made if it is not there. Each file is written beside its
/// place and then moved there. A plan that is not clear gets no `nest.dxf`, and one that lay there
/// is taken away: it would belong to another plan. Returns what was written.
///
/// # Errors
/// [`OutputFault`]; files that were there before stay whole.
pub fn write_outputs(
    folder: &Path,
    job: &SourcedJob,
    checked: &CheckedPlan,
    run: RunFacts,
) -> Result<Vec<PathBuf>, OutputFault> {
    let sheet = setup_sheet(&job.job, checked, Paper::A4, LengthUnit::Mm)?;
    let picture = png(&sheet_picture(&job.job, checked), PIXELS);
    let files = [
        ("nest.dxf", layout_dxf(job, checked).ok().map(String::into_bytes)),
        ("picture.png", picture),
        ("sheet.pdf", Some(sheet)),
        // Last: where it is, the others are.
        ("plan.json", Some(write_plan(job, checked, run).into_bytes())),
    ];
    fs::create_dir_all(folder)
        .map_err(|why| OutputFault::File { path: folder.to_path_buf(), why })?;
    let mut written = Vec::new();
    for (name, content) in files {
        let path = folder.join(name);
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

/// Writes a file so that at any moment the old one or the new one is there.
fn put(path: &Path, content: &[u8]) -> io::Result<()> {
    let mut beside = path.as_os_str().to_owned();
    beside.push(format!(".{}.part", std::process::id()));
    let beside = PathBuf::from(beside);
    let result = fs::write(&beside, content).and_then(|()| fs::rename(&beside, path));
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

    #[test]
    fn all_files_are_written_and_none_is_left_beside_them() {
        let folder = fresh_folder("outputs");
        let job = bracket_job();
        let checked = check(&job.job, two_brackets());
        let written = write_outputs(&folder, &job, &checked, RunFacts::default()).unwrap();
        assert_eq!(written.len(), 4);
        assert_eq!(names(&folder), ["nest.dxf", "picture.png", "plan.json", "sheet.pdf"]);
        let mut faulty = two_brackets();
        faulty.layouts[0].placements[0].pose.shift.x = 0.0;
        let checked = check(&job.job, faulty);
        write_outputs(&folder, &job, &checked, RunFacts::default()).unwrap();
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
        let fault = write_outputs(&folder, &job, &checked, RunFacts::default()).unwrap_err();
        assert!(fault.to_string().contains("can't be written"), "{fault}");
        fs::remove_file(&folder).unwrap();
    }
}
