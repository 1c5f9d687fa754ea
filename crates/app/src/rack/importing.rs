//! Drawings read for the rack, on a thread of their own, so that the shop file is free meanwhile.

use std::path::PathBuf;
use std::sync::Arc;
use std::sync::atomic::{AtomicUsize, Ordering};

use oddment_core::job::Stop;
use oddment_files::drawing::ReadOptions;
use oddment_rack::exchange::drawn_sheets;
use oddment_rack::facts::Facts;

use super::exchange::take_drawn;
use super::keeper::{Jobs, News, failed};
use crate::background::background;
use crate::session::Wake;

/// Drawings that are being read. Dropping it stops that.
pub struct Importing {
    path: PathBuf,
    progress: Arc<(AtomicUsize, AtomicUsize)>,
    stop: Stop,
}

impl Importing {
    /// Begins; `work` is given what was read, or why there is nothing to take in.
    ///
    /// # Errors
    /// Where the system gives no thread.
    pub(super) fn start(
        path: PathBuf,
        facts: Facts,
        work: Jobs,
        wake: Wake,
    ) -> std::io::Result<Self> {
        let (progress, stop) = (Arc::<(AtomicUsize, AtomicUsize)>::default(), Stop::default());
        let (telling, stopped, from) = (progress.clone(), stop.clone(), path.clone());
        background("read drawings", move || {
            let read = drawn_sheets(&from, &facts, &ReadOptions::default(), &mut |done, of| {
                telling.0.store(done, Ordering::Relaxed);
                telling.1.store(of, Ordering::Relaxed);
                wake();
                !stopped.raised()
            });
            // Where the shop file was closed meanwhile nothing is taken in.
            work.give(move |shop| {
                let taken = match read {
                    Ok(Some(drawn)) => take_drawn(shop, drawn).map(|taken| match taken.added[..] {
                        [] if !taken.not_taken.is_empty() => News::Failed(taken.words()),
                        _ => News::Said(taken.words()),
                    }),
                    Ok(None) => {
                        Ok(News::Said("Stopped: none of the drawings was taken in.".to_owned()))
                    }
                    Err(why) => Err(why),
                };
                News::TookIn(Box::new(taken.unwrap_or_else(failed)))
            });
        })?;
        Ok(Self { path, progress, stop })
    }

    /// Asks it to end; then nothing is taken in.
    pub(super) fn end(&self) {
        self.stop.raise();
    }

    /// “remnants: 12 of 400 drawings read”.
    pub fn words(&self) -> String {
        let count = |n: &AtomicUsize| n.load(Ordering::Relaxed);
        let name = self.path.file_name().unwrap_or_default().to_string_lossy();
        let (done, of) = (count(&self.progress.0), count(&self.progress.1));
        if self.stop.raised() {
            format!("{name}: stopping")
        } else if done < of || of == 0 {
            format!("{name}: {done} of {of} drawings read")
        } else {
            format!("{name}: {of} drawings are being taken in")
        }
    }
}

impl Drop for Importing {
    fn drop(&mut self) {
        self.stop.raise();
    }
}
