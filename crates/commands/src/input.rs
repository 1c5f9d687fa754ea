//! Reads the files a command is given.

use std::path::Path;

use oddment_core::units::LengthUnit;
use oddment_files::drawing::{Drawing, ReadOptions};
use oddment_files::file::{read_bytes, read_text};
use oddment_files::job_file::load_drawing;

use crate::refusal::Refusal;

/// Reads a drawing; `units` go before what it says itself.
pub(crate) fn drawing(path: &Path, units: Option<LengthUnit>) -> Result<Drawing, Refusal> {
    let options = ReadOptions { units, ..ReadOptions::default() };
    load_drawing(path, &options).map_err(|fault| Refusal::about(path.display(), fault))
}

/// The whole of a file.
pub(crate) fn bytes(path: &Path) -> Result<Vec<u8>, Refusal> {
    read_bytes(path).map_err(|fault| Refusal::about(path.display(), fault))
}

/// The whole of a text file.
pub(crate) fn text(path: &Path) -> Result<String, Refusal> {
    read_text(path).map_err(|fault| Refusal::about(path.display(), fault))
}
