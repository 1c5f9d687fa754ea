//! Why the shop file can't be read or changed, in sentences that say what to do.

use std::path::PathBuf;

use rusqlite::ErrorCode;
use rusqlite::ffi::{SQLITE_READONLY_DBMOVED, SQLITE_READONLY_DIRECTORY};

/// Why something could not be done. Unless it says otherwise nothing was changed.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum ShopFault {
    /// It is not there.
    #[error(
        "there is no shop file here; check its name and that its drive is connected, or make one with `oddment rack new`"
    )]
    Missing,
    /// There is one already.
    #[error("there is a file of this name already; choose another name")]
    Exists,
    /// Another kind of file.
    #[error("this is no shop file of Oddment; name another")]
    NotAShop,
    /// Made by a newer program.
    #[error(
        "the shop file is of version {found} and this program knows versions up to {known}; use the newer program, the file was left as it is"
    )]
    Newer {
        /// Version of the file.
        found: i64,
        /// The newest version known here.
        known: i64,
    },
    /// What is in it is damaged.
    #[error("the shop file is damaged ({what}); {}", backup_words(.backup.as_ref()))]
    Damaged {
        /// What was found.
        what: String,
        /// The newest backup that is whole.
        backup: Option<PathBuf>,
    },
    /// Somebody else is writing.
    #[error(
        "{0} has the shop file and did not let go of it; nothing was changed, try again in a moment"
    )]
    Busy(String),
    /// No room.
    #[error("the disk is full: nothing was changed; make room and do it again")]
    DiskFull,
    /// It can't be written.
    #[error("the shop file can only be read ({0}); nothing was changed")]
    ReadOnly(String),
    /// It was moved or deleted while it was open.
    #[error(
        "the shop file was moved or deleted since it was opened; nothing was changed; put it back, or open it where it is now"
    )]
    Moved,
    /// The file or its folder can't be used.
    #[error("the shop file can't be used: {0}; check the folder and who may write there")]
    System(String),
    /// No sheet bears the label.
    #[error("no sheet in the rack is labelled {0}; `oddment rack list` shows those there are")]
    NoSheet(String),
    /// It was asked for something that must not be done; the sentence says why.
    #[error("{0}")]
    Refused(String),
}

impl ShopFault {
    /// A sentence why something is not done.
    pub fn refused(why: impl Into<String>) -> Self {
        Self::Refused(why.into())
    }

    /// Something in the file is not as it must be.
    pub(crate) fn damaged(what: impl Into<String>) -> Self {
        Self::Damaged { what: what.into(), backup: None }
    }
}

fn backup_words(backup: Option<&PathBuf>) -> String {
    match backup {
        Some(backup) => format!(
            "it can be read as far as it goes; the newest good backup is {}",
            backup.display()
        ),
        None => "it can be read as far as it goes; go on from a copy of your own".to_owned(),
    }
}

impl From<rusqlite::Error> for ShopFault {
    fn from(error: rusqlite::Error) -> Self {
        match error.sqlite_error_code() {
            Some(ErrorCode::DatabaseBusy | ErrorCode::DatabaseLocked) => {
                Self::Busy("another program".to_owned())
            }
            Some(ErrorCode::DiskFull) => Self::DiskFull,
            Some(ErrorCode::ReadOnly) => {
                let code = error.sqlite_error().map(|e| e.extended_code);
                match code {
                    Some(SQLITE_READONLY_DBMOVED) => Self::Moved,
                    // The journal lies beside the file.
                    Some(SQLITE_READONLY_DIRECTORY) => {
                        Self::ReadOnly("its folder may not be written".to_owned())
                    }
                    _ => Self::ReadOnly("the system does not let it".to_owned()),
                }
            }
            Some(ErrorCode::NotADatabase) => Self::NotAShop,
            Some(ErrorCode::CannotOpen | ErrorCode::PermissionDenied) => {
                Self::System(error.to_string())
            }
            Some(ErrorCode::SystemIoFailure) => Self::System(error.to_string()),
            _ => Self::damaged(error.to_string()),
        }
    }
}

impl From<serde_json::Error> for ShopFault {
    fn from(error: serde_json::Error) -> Self {
        Self::damaged(error.to_string())
    }
}
