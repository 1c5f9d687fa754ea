//! Puzzles of the corpus: a sheet, parts, and clearances.

use std::error::Error;
use std::fs;
use std::path::{Path, PathBuf};

use oddment_core::distances::{Clearances, EdgeDistance};
use oddment_core::part::Part;
use oddment_core::sheet::Sheet;
use oddment_files::drawing::ReadOptions;
use oddment_files::job_file::{load_drawing, parts_from_drawing, sheet_from_drawing};

/// One puzzle.
pub(crate) struct Puzzle {
    pub(crate) sheet: Sheet,
    pub(crate) parts: Vec<Part>,
    pub(crate) clearances: Clearances,
}

impl Puzzle {
    /// Reads `job.json`, `sheet.dxf` and the drawings of the parts in a folder.
    pub(crate) fn load(folder: &Path) -> Result<Self, Box<dyn Error>> {
        let job: serde_json::Value =
            serde_json::from_str(&fs::read_to_string(folder.join("job.json"))?)?;
        let length = |name: &str| job["clearances"][name].as_f64().unwrap_or(0.0);
        let clearances = Clearances {
            kerf: length("kerf"),
            web: length("web"),
            edge: EdgeDistance::all(length("edge")),
            sensing: length("web"),
            lay: 0.0,
            common: false,
        };
        let options = ReadOptions::default();
        let path = folder.join("sheet.dxf");
        let (sheet, _) = sheet_from_drawing(&path, &load_drawing(&path, &options)?);
        let mut parts = Vec::new();
        for path in folder_of(folder)? {
            let name = path.file_name().unwrap_or_default().to_string_lossy();
            if name.starts_with("part-") {
                let drawing = load_drawing(&path, &options)?;
                parts.extend(parts_from_drawing(&path, &drawing).into_iter().map(|(p, _)| p));
            }
        }
        Ok(Self { sheet, parts, clearances })
    }
}

/// What lies in a folder, by name.
pub(crate) fn folder_of(folder: &Path) -> std::io::Result<Vec<PathBuf>> {
    let mut paths: Vec<PathBuf> =
        fs::read_dir(folder)?.map(|entry| entry.map(|e| e.path())).collect::<Result<_, _>>()?;
    paths.sort();
    Ok(paths)
}

/// A folder of the corpus that ODDMENT_CORPUS names; says so where there is none.
pub(crate) fn corpus(inner: &str) -> Option<PathBuf> {
    let found = std::env::var_os("ODDMENT_CORPUS").map(|c| Path::new(&c).join("bench").join(inner));
    if found.is_none() {
        eprintln!("{inner}: left out; ODDMENT_CORPUS names no folder");
    }
    found
}
