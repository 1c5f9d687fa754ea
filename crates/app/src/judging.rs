//! What measurements on the bed say, worked out on a thread of its own: where they do not fit, other ways in
//! which the sheet may lie and other sheets of the rack are tried.

use std::sync::Arc;
use std::time::Duration;

use oddment_core::sheet::Sheet;
use oddment_core::square_up::{Judgement, Measured, judge};

use crate::session::Wake;
use crate::work::Work;

/// It ends by itself, long before.
const LIMIT: Duration = Duration::from_secs(600);

/// What measurements say.
#[derive(Debug)]
pub struct Judged {
    /// What was measured.
    pub measured: Vec<Measured>,
    /// What is to be thought of it.
    pub judgement: Judgement,
    /// Labels of the sheets that were tried besides.
    pub rivals: Vec<String>,
}

/// What is asked.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Asked {
    pub(crate) sheet: Sheet,
    pub(crate) measured: Vec<Measured>,
    /// Sheets that may lie there instead.
    pub(crate) rivals: Vec<Sheet>,
}

/// A judgement, under way or done.
#[derive(Debug)]
pub(crate) struct Judging {
    asked: Asked,
    work: Option<Work<Option<Arc<Judged>>>>,
    judged: Option<Arc<Judged>>,
}

impl Judging {
    /// Begins.
    ///
    /// # Errors
    /// Where the system gives no thread.
    pub(crate) fn start(asked: Asked, wake: Wake) -> std::io::Result<Self> {
        let Asked { sheet, measured, rivals } = asked.clone();
        let work = Work::run("judge measurements", LIMIT, wake, move |_, _| {
            let judgement = judge(&sheet, &measured, &rivals);
            let rivals = rivals.into_iter().map(|r| r.name).collect();
            Some(Arc::new(Judged { measured, judgement, rivals }))
        })?;
        Ok(Self { asked, work: Some(work), judged: None })
    }

    /// Takes in the answer, once it has come.
    pub(crate) fn poll(&mut self) {
        let Some(work) = &mut self.work else { return };
        if work.poll() {
            self.judged = work.best().cloned().flatten();
            self.work = None;
        }
    }

    /// Whether it is about this.
    pub(crate) fn is_of(&self, asked: &Asked) -> bool {
        self.asked == *asked
    }

    /// The answer; `None` until it has come.
    pub(crate) fn judged(&self) -> Option<&Arc<Judged>> {
        self.judged.as_ref()
    }
}
