//! The rack in and out of other files: a list for spreadsheets, everything as JSON, a sheet as DXF.

mod everything;
mod list;

use std::fs;
use std::path::{Path, PathBuf};

use oddment_core::sheet::{EdgeFacts, EdgeKind};
use oddment_files::drawing::ReadOptions;
use oddment_files::dxf_out::sheet_dxf;
use oddment_files::job_file::{load_drawing, sheet_from_drawing};

use crate::facts::Facts;
use crate::fault::ShopFault;
use crate::outline::{EdgeNote, Outline, Source};
use crate::sheets::NewSheet;
use crate::shop::Shop;

pub use everything::LONGEST_EVERYTHING;
pub use list::ListDone;

/// No folder of drawings is larger.
const MOST_DRAWINGS: usize = 10_000;

/// A drawing that was not taken in, and why.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct NotTaken {
    /// The drawing.
    pub path: PathBuf,
    /// Why, in a sentence.
    pub why: String,
}

impl Shop {
    /// One sheet as a DXF that reads back as the same metal.
    ///
    /// # Errors
    /// Where there is no such sheet, or it can't be read.
    pub fn dxf_of(&self, label: &str) -> Result<String, ShopFault> {
        Ok(sheet_dxf(&self.sheet(label)?.sheet()))
    }

    /// Adds a sheet for each drawing of a folder (or for the one drawing), labelled with its file's
    /// name where that can be a label and is free, and else with the shop's next. The drawings
    /// themselves are kept too. Those that can't be read are told, and the others added.
    ///
    /// # Errors
    /// Where the folder can't be read, what is known of the sheets can't be, or nothing can be written.
    pub fn import_drawings(
        &mut self,
        path: &Path,
        facts: &Facts,
        options: &ReadOptions,
    ) -> Result<(Vec<String>, Vec<NotTaken>), ShopFault> {
        let (mut sheets, mut not_taken, mut kept) = (Vec::new(), Vec::new(), Vec::new());
        for file in drawings(path)? {
            let drawing = match load_drawing(&file, options) {
                Ok(drawing) => drawing,
                Err(why) => {
                    not_taken.push(NotTaken { path: file, why: why.to_string() });
                    continue;
                }
            };
            let (sheet, _) = sheet_from_drawing(&file, &drawing);
            let bounds = sheet.bounds();
            let source = Source::Drawing;
            let give_or_take = source.give_or_take(bounds.width().max(bounds.height()));
            let edge = EdgeFacts { kind: EdgeKind::Mill, give_or_take };
            let regions: Vec<_> = sheet.bodies.iter().map(|b| b.region()).collect();
            let outline = Outline::uniform(&regions, EdgeNote { facts: edge, source });
            if let Some(why) = outline.problem() {
                not_taken.push(NotTaken { path: file, why });
                continue;
            }
            let label = self.is_free(&sheet.name)?.then_some(sheet.name);
            sheets.push(NewSheet { label, facts: facts.clone(), outline });
            kept.push(file);
        }
        let labels = self.add_all(sheets)?;
        for file in kept {
            if let Ok(content) = fs::read(&file) {
                let name = file.file_name().unwrap_or_default().to_string_lossy();
                self.keep_drawing(&name, &content)?;
            }
        }
        Ok((labels, not_taken))
    }

    /// Whether a new sheet may have this label.
    fn is_free(&self, label: &str) -> Result<bool, ShopFault> {
        if crate::label::checked(label).is_err() {
            return Ok(false);
        }
        match self.state_number(label) {
            Ok(_) => Ok(false),
            Err(ShopFault::NoSheet(_)) => Ok(true),
            Err(other) => Err(other),
        }
    }
}

/// The drawings in a folder, by name; the drawing itself where it is one.
fn drawings(path: &Path) -> Result<Vec<PathBuf>, ShopFault> {
    if !path.is_dir() {
        return Ok(vec![path.to_path_buf()]);
    }
    let failed = |why: std::io::Error| {
        ShopFault::refused(format!("the folder can't be read ({why}); check who may read it"))
    };
    let mut files = Vec::new();
    for entry in fs::read_dir(path).map_err(failed)? {
        let file = entry.map_err(failed)?.path();
        let is_drawing = file
            .extension()
            .is_some_and(|e| e.eq_ignore_ascii_case("dxf") || e.eq_ignore_ascii_case("svg"));
        if is_drawing && file.is_file() {
            files.push(file);
        }
    }
    if files.is_empty() || files.len() > MOST_DRAWINGS {
        return Err(ShopFault::refused(format!(
            "the folder holds {} drawings (DXF or SVG); name one with 1 to {MOST_DRAWINGS}",
            files.len()
        )));
    }
    files.sort();
    Ok(files)
}
