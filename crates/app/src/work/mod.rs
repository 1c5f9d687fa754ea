//! Long work on a plan, on a thread of its own: it tells its best so far, and stops when asked.

mod fill;
mod shorten;

use std::sync::Arc;
use std::sync::mpsc::{Receiver, TryRecvError, channel};
use std::time::{Duration, Instant};

use oddment_core::bars::{BarPlan, CutList};
use oddment_core::job::{Budget, Stop};
use oddment_core::plan::Plan;
use oddment_core::shape::Vector;
use oddment_files::job_file::SourcedJob;

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
    best: Option<T>,
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
        let clock = Clock { started, limit, stop: stop.clone() };
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
        std::thread::Builder::new().name(name.to_lowercase()).spawn(work)?;
        Ok(Self { news, stop, started, limit, best: None })
    }

    /// Takes in what is new. Returns whether the work has ended.
    pub fn poll(&mut self) -> bool {
        loop {
            match self.news.try_recv() {
                Ok(best) => self.best = Some(best),
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
    stop: Stop,
}

impl Clock {
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
        Self { started: Instant::now(), limit, stop: Stop::default() }
    }
}
