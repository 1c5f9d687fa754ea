//! The rack in and out of files. What a file is, is told by the ending of its name.

use std::path::Path;

use oddment_files::drawing::ReadOptions;
use oddment_files::file::{read_text, read_text_up_to};
use oddment_files::outputs::put_with;
use oddment_rack::exchange::{DrawnSheets, LONGEST_EVERYTHING, NotTaken, drawn_sheets};
use oddment_rack::facts::Facts;
use oddment_rack::{Shop, ShopFault};

/// What was taken in.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct TakenIn {
    /// Labels of sheets that were not there.
    pub added: Vec<String>,
    /// Labels of sheets of which something else is known now.
    pub changed: Vec<String>,
    /// How many sheets are as they were.
    pub alike: usize,
    /// Drawings that could not be taken in.
    pub not_taken: Vec<NotTaken>,
}

/// Drawings that were not taken in and are told of with their reasons, at most.
const MOST_TOLD: usize = 12;

impl TakenIn {
    /// “12 added, 3 changed, 40 as they were.”
    pub fn counts(&self) -> String {
        let (added, changed) = (self.added.len(), self.changed.len());
        format!("{added} added, {changed} changed, {} as they were.", self.alike)
    }

    /// The same, and what was not taken, with why.
    pub fn words(&self) -> String {
        let mut words = self.counts();
        for NotTaken { path, why } in self.not_taken.iter().take(MOST_TOLD) {
            let name = path.file_name().unwrap_or_default().to_string_lossy();
            words += &format!("\nNot taken: {name}, {why}.");
        }
        if self.not_taken.len() > MOST_TOLD {
            words += &format!("\nNor {} more.", self.not_taken.len() - MOST_TOLD);
        }
        words
    }
}

/// Writes the list (.csv), everything (.json) or one sheet (.dxf: the one with the label, or else with
/// the label that the file is named by).
///
/// # Errors
/// Where the name ends otherwise, there is no such sheet, or it can't be written.
pub fn export(shop: &Shop, file: &Path, label: Option<&str>) -> Result<(), ShopFault> {
    let stem = file.file_stem().unwrap_or_default().to_string_lossy();
    let text = match ending(file).as_str() {
        "csv" => Some(shop.list_csv()?),
        "dxf" => Some(shop.dxf_of(label.unwrap_or(&stem))?),
        "json" => None,
        _ => {
            return Err(ShopFault::refused(
                "the name must end with .csv (the list), .json (everything) or .dxf (a sheet)",
            ));
        }
    };
    let written = put_with(file, |to| match text {
        Some(text) => to.write_all(text.as_bytes()),
        None => shop.write_everything(to),
    });
    written.map_err(|why| ShopFault::refused(format!("{} can’t be written: {why}", file.display())))
}

/// Takes in a list, everything, a drawing or a folder of drawings; of sheets from drawings these facts
/// are known.
///
/// # Errors
/// Where it can't be read or is wrong; then nothing was taken. Drawings that can't be read are told in
/// what was taken in.
pub fn import(
    shop: &mut Shop,
    path: &Path,
    facts: Option<&Facts>,
    options: &ReadOptions,
) -> Result<TakenIn, ShopFault> {
    let unread = |why: oddment_files::file::FileFault| ShopFault::refused(why.to_string());
    match ending(path).as_str() {
        _ if is_drawn(path) => {
            let facts = facts.ok_or_else(|| {
                ShopFault::refused(
                    "drawings do not say what they are made of; give --material and --thickness",
                )
            })?;
            let drawn = drawn_sheets(path, facts, options, &mut |_, _| true)?;
            take_drawn(shop, drawn.unwrap_or_default())
        }
        "json" => {
            let text = read_text_up_to(path, LONGEST_EVERYTHING).map_err(unread)?;
            Ok(TakenIn { added: shop.take_everything(&text)?, ..TakenIn::default() })
        }
        _ => {
            let done = shop.take_list(&read_text(path).map_err(unread)?)?;
            let (added, changed, alike) = (done.added, done.changed, done.alike);
            Ok(TakenIn { added, changed, alike, not_taken: Vec::new() })
        }
    }
}

/// Takes in sheets that were drawn.
pub(super) fn take_drawn(shop: &mut Shop, drawn: DrawnSheets) -> Result<TakenIn, ShopFault> {
    let not_taken = drawn.not_taken.clone();
    Ok(TakenIn { added: shop.take_drawings(drawn)?, not_taken, ..TakenIn::default() })
}

/// Whether a file or folder is to be read as drawings.
pub(super) fn is_drawn(path: &Path) -> bool {
    path.is_dir() || !matches!(ending(path).as_str(), "csv" | "txt" | "tsv" | "json")
}

/// The ending of a file's name, in small letters.
fn ending(path: &Path) -> String {
    path.extension().unwrap_or_default().to_string_lossy().to_lowercase()
}
