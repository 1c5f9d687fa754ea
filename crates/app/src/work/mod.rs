//! Long work on a plan, on a thread of its own: it tells its best so far, and stops when asked.

mod fill;
mod shorten;

use std::sync::Arc;
use std::sync::atomic::{AtomicU64, Ordering};
use std::sync::mpsc::{Receiver, TryRecvError, channel};
use std::time::{Duration, Instant};

use oddment_core::bars::{BarPlan, CutList};
use oddment_core::job::{Budget, Stop};
use oddment_core::plan::Plan;
use oddment_core::shape::Vector;
use oddment_files::job_file::SourcedJob;

use crate::background::background;
use crate::bars::{BarWay, all_ways};
use crate::session::Wake;

/// What is worked on.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Task {
    /// Placing the order's parts around what is locked.
    Fill,
    /// Bringing what is not locked on one layout of the plan together toward an edge of its sheet.
    Shorten {
        /// Which of the plan's layouts.
        layout: usize,
        /// Unit vector along x or y toward the edge.
        way: Vector,
    },
}

impl Task {
    /// The act that undo names.
    pub fn name(self) -> &'static str {
        match self {
            Self::Fill => "Fill",
            Self::Shorten { .. } => "Shorten",
        }
    }
}

/// Work that is running. Dropping it stops it.
#[derive(Debug)]
pub struct Work<T = Plan> {
    news: Receiver<T>,
    stop: Stop,
    started: Instant,
    limit: Duration,
    ends: Arc<AtomicU64>,
    best: Option<T>,
    found: Option<Instant>,
}

/// Starts to work on `plan` for at most `limit`. `wake` is called whenever there is something new
/// to see.
///
/// # Errors
/// What the system said when it gave no thread.
pub fn start(
    task: Task,
    job: Arc<SourcedJob>,
    plan: Plan,
    limit: Duration,
    wake: Wake,
) -> std::io::Result<Work> {
    Work::run(task.name(), limit, wake, move |clock, tell| match task {
        Task::Fill => fill::fill(&job.job, &plan, clock, tell),
        Task::Shorten { layout, way } => {
            shorten::shorten(&job.job, &plan, layout, way, clock, tell)
        }
    })
}

/// Starts to plan a sound list of bars for at most `limit`.
///
/// # Errors
/// What the system said when it gave no thread.
pub fn start_bars(
    list: Arc<CutList>,
    limit: Duration,
    wake: Wake,
) -> std::io::Result<Work<BarPlan>> {
    Work::run("Fill bars", limit, wake, move |clock, tell| {
        clock.until(limit, |budget| list.plan(budget, &mut |plan| tell(plan))).unwrap_or_default()
    })
}

/// Starts to plan a sound list in several ways for at most `limit`.
///
/// # Errors
/// What the system said when it gave no thread.
pub fn start_bar_ways(
    list: Arc<CutList>,
    limit: Duration,
    wake: Wake,
) -> std::io::Result<Work<Vec<BarWay>>> {
    Work::run("ways to cut bars", limit, wake, move |clock, tell| all_ways(&list, clock, tell))
}

impl<T: Clone + Send + 'static> Work<T> {
    /// Runs `work` on a thread of its own; it tells its best so far, and gives its best in the end.
    pub(crate) fn run(
        name: &str,
        limit: Duration,
        wake: Wake,
        work: impl FnOnce(&Clock, &mut (dyn FnMut(&T) + Send)) -> T + Send + 'static,
    ) -> std::io::Result<Self> {
        let (send, news) = channel();
        let (stop, started) = (Stop::default(), Instant::now());
        let ends = Arc::new(AtomicU64::new(UNKNOWN));
        let clock = Clock { started, limit, ends: ends.clone(), stop: stop.clone() };
        let work = move || {
            let mut tell = |best: &T| {
                // Nobody listening means that the work was replaced; it is being stopped.
                let _ = send.send(best.clone());
                wake();
            };
            let end = work(&clock, &mut tell);
            tell(&end);
            drop(send);
            wake();
        };
        background(name.to_lowercase(), work)?;
        Ok(Self { news, stop, started, limit, ends, best: None, found: None })
    }

    /// Takes in what is new. Returns whether the work has ended.
    pub fn poll(&mut self) -> bool {
        loop {
            match self.news.try_recv() {
                Ok(best) => (self.best, self.found) = (Some(best), Some(Instant::now())),
                Err(TryRecvError::Empty) => return false,
                // Also when the thread panicked: what it had found stands.
                Err(TryRecvError::Disconnected) => return true,
            }
        }
    }

    /// The best so far.
    pub fn best(&self) -> Option<&T> {
        self.best.as_ref()
    }

    /// Time since the best so far was found.
    pub fn unchanged(&self) -> Option<Duration> {
        self.found.map(|found| found.elapsed())
    }

    /// How long it will still take by what it says itself; `None` where it can't tell.
    pub fn estimate(&self) -> Option<Duration> {
        let ends = self.ends.load(Ordering::Relaxed);
        (ends != UNKNOWN).then(|| Duration::from_millis(ends).saturating_sub(self.elapsed()))
    }

    /// Time since it started.
    pub fn elapsed(&self) -> Duration {
        self.started.elapsed()
    }

    /// How long it may take.
    pub fn limit(&self) -> Duration {
        self.limit
    }
}

impl<T> Drop for Work<T> {
    fn drop(&mut self) {
        self.stop.raise();
    }
}

/// Who hears of better plans.
type Tell<'a> = dyn FnMut(&Plan) + Send + 'a;

/// How long work may take, and whether it is to end early.
pub(crate) struct Clock {
    started: Instant,
    limit: Duration,
    /// When (ms after the start) the work expects to end.
    ends: Arc<AtomicU64>,
    stop: Stop,
}

/// No work can tell when it ends.
const UNKNOWN: u64 = u64::MAX;

impl Clock {
    /// The work expects to take so much longer, if nothing unforeseen comes; no longer than it may.
    pub(crate) fn expect(&self, longer: Duration) {
        let ends = (self.started.elapsed() + longer).min(self.limit);
        self.ends.store(ends.as_millis() as u64, Ordering::Relaxed);
    }

    /// Whether the work is to end.
    pub(crate) fn is_over(&self) -> bool {
        self.stop.raised() || self.started.elapsed() >= self.limit
    }

    /// What is raised when it is to end early.
    pub(crate) fn stop(&self) -> &Stop {
        &self.stop
    }

    /// How long it may take in all.
    pub(crate) fn limit(&self) -> Duration {
        self.limit
    }

    /// Does a share of the work that may last until `end` after the start.
    pub(crate) fn until<T>(&self, end: Duration, work: impl FnOnce(&Budget<'_>) -> T) -> T {
        let end = end.min(self.limit);
        let time_up = || self.started.elapsed() >= end;
        work(&Budget { steps: None, time_up: &time_up, stop: self.stop.clone() })
    }
}

#[cfg(test)]
impl Clock {
    /// So many seconds from now.
    pub(crate) fn of_seconds(seconds: u64) -> Self {
        let limit = Duration::from_secs(seconds);
        let ends = Arc::new(AtomicU64::new(UNKNOWN));
        Self { started: Instant::now(), limit, ends, stop: Stop::default() }
    }
}
