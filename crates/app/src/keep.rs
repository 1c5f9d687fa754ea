//! Where the program keeps things, and how it writes them so that nothing is half-written.

use std::fs::{File, TryLockError};
use std::io::Write;
use std::path::{Path, PathBuf};

/// The files kept for this person on this machine.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Keep {
    /// Settings.
    pub settings: PathBuf,
    /// The work that is open, saved as it changes.
    pub work: PathBuf,
    /// The order of bars that is open.
    pub bars: PathBuf,
    /// The shop file, where no other was named: the sample shop's.
    pub shop: PathBuf,
    /// Names the shop file that was used last.
    pub last_shop: PathBuf,
}

impl Keep {
    /// In the folders the system has for it; `None` where it has none.
    pub fn of_this_person() -> Option<Self> {
        let folders = directories::ProjectDirs::from("", "", "oddment")?;
        Some(Self {
            settings: folders.config_dir().join("settings.json"),
            work: folders.data_local_dir().join("open-work.json"),
            bars: folders.data_local_dir().join("open-bars.json"),
            shop: folders.data_local_dir().join("sample-shop.oddment"),
            last_shop: folders.data_local_dir().join("last-shop.txt"),
        })
    }

    /// All in one folder.
    pub fn in_folder(folder: &Path) -> Self {
        Self {
            settings: folder.join("settings.json"),
            work: folder.join("open-work.json"),
            bars: folder.join("open-bars.json"),
            shop: folder.join("sample-shop.oddment"),
            last_shop: folder.join("last-shop.txt"),
        }
    }
}

/// Holds the work that is kept in a file until what is returned goes: `None` where another window holds
/// it. However a program ends, the system lets go of it.
///
/// # Errors
/// What the system said of the file beside it.
pub fn hold(work: &Path) -> std::io::Result<Option<File>> {
    if let Some(folder) = work.parent() {
        std::fs::create_dir_all(folder)?;
    }
    let beside = File::create(work.with_extension("held"))?;
    Ok(match beside.try_lock() {
        Err(TryLockError::WouldBlock) => None,
        // Where the folder knows no locks there is nothing to go by.
        Ok(()) | Err(TryLockError::Error(_)) => Some(beside),
    })
}

/// Writes a file so that at every moment either the old or the new one is there, whole.
///
/// # Errors
/// What the system said.
pub fn write_whole(file: &Path, text: &str) -> std::io::Result<()> {
    if let Some(folder) = file.parent() {
        std::fs::create_dir_all(folder)?;
    }
    let beside = file.with_extension("part");
    let mut part = File::create(&beside)?;
    part.write_all(text.as_bytes())?;
    part.sync_all()?;
    std::fs::rename(&beside, file)
}
