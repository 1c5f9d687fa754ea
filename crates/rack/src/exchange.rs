//! The rack in and out of other files: a list for spreadsheets, everything as JSON, a sheet as DXF.

mod everything;
mod list;

use std::fs;
use std::path::{Path, PathBuf};

use oddment_core::sheet::{EdgeFacts, EdgeKind};
use oddment_files::drawing::{ENDINGS, ReadOptions, read_drawing};
use oddment_files::dxf_out::sheet_dxf;
use oddment_files::job_file::sheet_from_drawing;

use crate::drawings::Drawn;
use crate::facts::Facts;
use crate::fault::ShopFault;
use crate::outline::{EdgeNote, Outline, Source};
use crate::sheets::{NewSheet, add_in, counted_facts, say_added};
use crate::shop::{Act, Shop};

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

    /// Adds the sheets that drawings show, labelled with their files' names where that can be a label and
    /// is free, and else with the shop's next. The drawings are kept with their sheets. All of it in one
    /// event, or none.
    ///
    /// # Errors
    /// Where what is known of the sheets can't be, or nothing can be written.
    pub fn take_drawings(&mut self, drawn: DrawnSheets) -> Result<Vec<String>, ShopFault> {
        let materials = self.materials()?;
        self.change("add", |act| {
            let counted = counted_facts(drawn.sheets.iter().map(|(_, new)| &new.facts));
            let mut labels = Vec::with_capacity(drawn.sheets.len());
            for (name, mut sheet) in drawn.sheets {
                sheet.label = is_free(act, &name)?.then_some(name);
                labels.extend(add_in(act, &materials, vec![sheet])?);
            }
            say_added(act, &labels, &counted);
            Ok(labels)
        })
    }
}

/// Whether a new sheet may have this label.
fn is_free(act: &Act<'_>, label: &str) -> Result<bool, ShopFault> {
    if crate::label::checked(label).is_err() {
        return Ok(false);
    }
    match act.state(label) {
        Ok(_) => Ok(false),
        Err(ShopFault::NoSheet(_)) => Ok(true),
        Err(other) => Err(other),
    }
}

/// The sheets that drawings show, to be taken in.
#[derive(Clone, Debug, Default)]
pub struct DrawnSheets {
    /// What the sheet is called after its file, and the sheet.
    sheets: Vec<(String, NewSheet)>,
    /// Drawings that can't be read.
    pub not_taken: Vec<NotTaken>,
}

/// Reads a drawing, or those of a folder, as sheets of which these facts are known. `go_on` hears how many
/// are read of how many, and says whether to go on; where it does not there are none.
///
/// # Errors
/// Where the folder can't be read.
pub fn drawn_sheets(
    path: &Path,
    facts: &Facts,
    options: &ReadOptions,
    go_on: &mut dyn FnMut(usize, usize) -> bool,
) -> Result<Option<DrawnSheets>, ShopFault> {
    let files = drawings(path)?;
    let of = files.len();
    let mut drawn = DrawnSheets::default();
    for (read, file) in files.into_iter().enumerate() {
        if !go_on(read, of) {
            return Ok(None);
        }
        match drawn_sheet(&file, facts, options) {
            Ok(sheet) => drawn.sheets.push(sheet),
            Err(why) => drawn.not_taken.push(NotTaken { path: file, why }),
        }
    }
    Ok(go_on(of, of).then_some(drawn))
}

/// The sheet that a drawing shows and what it is called, or why it can't be one.
fn drawn_sheet(
    file: &Path,
    facts: &Facts,
    options: &ReadOptions,
) -> Result<(String, NewSheet), String> {
    let drawn = Drawn::read(file).map_err(|why| why.to_string())?;
    let drawing = read_drawing(drawn.name(), drawn.content(), options);
    let drawing = drawing.map_err(|why| why.to_string())?;
    let (sheet, _) = sheet_from_drawing(file, &drawing);
    let bounds = sheet.bounds();
    let source = Source::Drawing;
    let give_or_take = source.give_or_take(bounds.width().max(bounds.height()));
    let edge = EdgeFacts { kind: EdgeKind::Mill, give_or_take };
    let regions: Vec<_> = sheet.bodies.iter().map(|b| b.region()).collect();
    let outline = Outline::uniform(&regions, EdgeNote { facts: edge, source });
    match outline.problem() {
        Some(why) => Err(why),
        None => {
            let (facts, drawing) = (facts.clone(), Some(drawn));
            Ok((sheet.name, NewSheet { label: None, facts, outline, drawing }))
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
            .is_some_and(|e| ENDINGS.iter().any(|known| e.eq_ignore_ascii_case(known)));
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
