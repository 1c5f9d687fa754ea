//! Whole files from disk, with a sentence where one can't be read.

use std::fs::File;
use std::io::{self, Read};
use std::path::Path;

/// No drawing, job or plan is longer than this (bytes).
const LONGEST: u64 = 64 << 20;

/// Why a file can't be read. The sentences say what to do, and leave the name of the file to whoever
/// tells them.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum FileFault {
    /// It is not there.
    #[error("there is no such file; check its name and folder")]
    Missing,
    /// It is a folder.
    #[error("this is a folder; name a file in it")]
    Folder,
    /// It is a pipe, a device or the like.
    #[error("this is not an ordinary file; copy it to one")]
    Special,
    /// There is nothing in it.
    #[error("the file is empty; save it again")]
    Empty,
    /// It is longer than any of its kind may be, in bytes.
    #[error("the file is longer than {} MB; save only what is needed of it", .0 >> 20)]
    TooLong(u64),
    /// It holds bytes that are no text.
    #[error("this is no text; name a file that the program can have written")]
    NotText,
    /// The system says why.
    #[error("it can't be read ({0}); check who may read it")]
    Unreadable(String),
}

impl From<io::Error> for FileFault {
    fn from(error: io::Error) -> Self {
        match error.kind() {
            io::ErrorKind::NotFound => Self::Missing,
            _ => Self::Unreadable(error.to_string()),
        }
    }
}

/// All bytes of the file at `path`.
///
/// # Errors
/// See [`FileFault`].
pub fn read_bytes(path: &Path) -> Result<Vec<u8>, FileFault> {
    bytes_up_to(path, LONGEST)
}

fn bytes_up_to(path: &Path, longest: u64) -> Result<Vec<u8>, FileFault> {
    let kind = path.metadata()?;
    if kind.is_dir() {
        return Err(FileFault::Folder);
    }
    // A pipe or a device might never end.
    if !kind.is_file() {
        return Err(FileFault::Special);
    }
    let mut bytes = Vec::new();
    File::open(path)?.take(longest + 1).read_to_end(&mut bytes)?;
    match bytes.len() as u64 {
        0 => Err(FileFault::Empty),
        n if n > longest => Err(FileFault::TooLong(longest)),
        _ => Ok(bytes),
    }
}

/// The text of the file at `path`.
///
/// # Errors
/// See [`FileFault`].
pub fn read_text(path: &Path) -> Result<String, FileFault> {
    read_text_up_to(path, LONGEST)
}

/// The text of the file at `path`, which may be so many bytes long.
///
/// # Errors
/// See [`FileFault`].
pub fn read_text_up_to(path: &Path, longest: u64) -> Result<String, FileFault> {
    String::from_utf8(bytes_up_to(path, longest)?).map_err(|_| FileFault::NotText)
}
