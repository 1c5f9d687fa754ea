//! The open work, saved as it changes, and there again at the next start, whatever happened.

use std::collections::BTreeSet;
use std::path::{Path, PathBuf};
use std::sync::mpsc::{Receiver, Sender, channel};
use std::thread::JoinHandle;

use oddment_core::check::CheckedPlan;
use serde::{Deserialize, Serialize};

use crate::exchange::{work_as_text, work_from_text};
use crate::keep::write_whole;
use crate::open_job::OpenJob;

/// The sheets of open work that a rack has.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct OfRack {
    /// The shop file.
    pub file: PathBuf,
    /// Name of the shop.
    pub shop: String,
    /// Labels of the sheets.
    pub sheets: BTreeSet<String>,
}

/// Work as it is kept.
#[derive(Serialize, Deserialize)]
struct Kept {
    title: String,
    /// Where it was saved last.
    file: Option<PathBuf>,
    #[serde(default)]
    of_rack: Option<OfRack>,
    work: String,
}

/// Work that was open before.
#[derive(Debug)]
pub struct Restored {
    /// The job and its plan.
    pub open: OpenJob,
    /// Where it was saved last.
    pub file: Option<PathBuf>,
    /// Its sheets that a rack has.
    pub of_rack: Option<OfRack>,
}

/// Makes the text of a state, on the thread that writes it.
type MakeText = Box<dyn FnOnce() -> serde_json::Result<String> + Send>;

/// A thread that writes the newest state it was given. Dropping it waits until that is written.
pub struct Autosave {
    send: Option<Sender<MakeText>>,
    thread: Option<JoinHandle<()>>,
}

impl Autosave {
    /// Keeps work in `path`.
    ///
    /// # Errors
    /// What the system said when it gave no thread.
    pub fn to(path: PathBuf) -> std::io::Result<Self> {
        let (send, news) = channel();
        let thread = std::thread::Builder::new()
            .name("autosave".into())
            .spawn(move || keep_writing(&path, &news))?;
        Ok(Self { send: Some(send), thread: Some(thread) })
    }

    /// Writes the open job soon.
    pub fn save(
        &self,
        open: &OpenJob,
        checked: &CheckedPlan,
        file: Option<&Path>,
        of_rack: Option<OfRack>,
    ) {
        let (open, checked, file) = (open.clone(), checked.clone(), file.map(Path::to_path_buf));
        self.save_text(move || {
            let work = work_as_text(&open, &checked);
            serde_json::to_string(&Kept { title: open.title, file, of_rack, work })
        });
    }

    /// Writes the text that this makes soon; what was given before and not written yet is skipped.
    pub fn save_text(&self, text: impl FnOnce() -> serde_json::Result<String> + Send + 'static) {
        if let Some(send) = &self.send {
            // The thread ends only after this sender.
            let _ = send.send(Box::new(text));
        }
    }
}

impl Drop for Autosave {
    fn drop(&mut self) {
        self.send = None;
        if let Some(thread) = self.thread.take() {
            // A panic there has been reported already; what was written last is whole.
            let _ = thread.join();
        }
    }
}

fn keep_writing(path: &Path, news: &Receiver<MakeText>) {
    while let Ok(mut newest) = news.recv() {
        while let Ok(newer) = news.try_recv() {
            newest = newer;
        }
        let written =
            newest().map_err(std::io::Error::from).and_then(|text| write_whole(path, &text));
        if let Err(why) = written {
            eprintln!("warning: {}: the open work could not be kept: {why}", path.display());
        }
    }
}

/// The work kept in `path`, if there is any.
///
/// # Errors
/// A sentence where something is there that cannot be read; it is moved aside, not lost.
pub fn restore(path: &Path) -> Result<Option<Restored>, String> {
    let Ok(text) = std::fs::read_to_string(path) else { return Ok(None) };
    let read =
        serde_json::from_str::<Kept>(&text).map_err(|why| vec![why.to_string()]).and_then(|kept| {
            let open = work_from_text(kept.title, &kept.work)?;
            Ok(Restored { open, file: kept.file, of_rack: kept.of_rack })
        });
    read.map(Some).map_err(|why| {
        let aside = put_aside(path);
        format!(
            "the work from before cannot be read ({}); it lies in {}",
            why.first().map_or("", String::as_str),
            aside.display()
        )
    })
}

/// Moves a file that cannot be read aside; where it lies then.
pub(crate) fn put_aside(path: &Path) -> PathBuf {
    let aside = path.with_extension("unread.json");
    // Where even this fails the file stays, and is written over by the next change.
    let _ = std::fs::rename(path, &aside);
    aside
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::start::first_job;
    use oddment_core::check::check;

    #[test]
    fn the_newest_state_is_there_at_the_next_start() {
        let folder = std::env::temp_dir().join(format!("oddment-kept-{}", std::process::id()));
        let path = folder.join("open-work.json");
        assert!(restore(&path).unwrap().is_none());
        let mut open = first_job().unwrap();
        let of_rack = OfRack {
            file: "/shop.oddment".into(),
            shop: "shop".into(),
            sheets: BTreeSet::from(["S3-041".to_owned()]),
        };
        let autosave = Autosave::to(path.clone()).unwrap();
        for title in ["first", "second", "third"] {
            open.title = title.into();
            let checked = check(open.job(), open.plan.clone());
            autosave.save(&open, &checked, Some(Path::new("/a.json")), Some(of_rack.clone()));
        }
        drop(autosave);
        let back = restore(&path).unwrap().unwrap();
        assert_eq!(
            (back.open.title.as_str(), back.file),
            ("third", Some(PathBuf::from("/a.json")))
        );
        assert_eq!((back.open.job(), back.of_rack), (open.job(), Some(of_rack)));
        std::fs::write(&path, "{\"title\": 1}").unwrap();
        assert!(restore(&path).unwrap_err().contains("unread"));
        assert!(restore(&path).unwrap().is_none());
        std::fs::remove_dir_all(folder).unwrap();
    }
}
