//! A fill at work on a thread of its own.

use std::sync::Arc;
use std::sync::mpsc::{Receiver, TryRecvError, channel};
use std::time::{Duration, Instant};

use oddment_core::job::{Budget, Stop};
use oddment_core::packer::{Settings, pack};
use oddment_core::plan::Plan;
use oddment_files::job_file::SourcedJob;

/// A fill that is running. Dropping it stops it.
#[derive(Debug)]
pub struct Filling {
    news: Receiver<Plan>,
    stop: Stop,
    started: Instant,
    limit: Duration,
    best: Option<Plan>,
}

impl Filling {
    /// Starts to place the parts of `job` around what is locked in `plan`, for at most `limit`.
    /// `wake` is called whenever there is something new to see.
    ///
    /// # Errors
    /// What the system said when it gave no thread.
    pub fn start(
        job: Arc<SourcedJob>,
        plan: Plan,
        limit: Duration,
        wake: impl Fn() + Send + Sync + 'static,
    ) -> Result<Self, std::io::Error> {
        let (send, news) = channel();
        let (stop, started) = (Stop::default(), Instant::now());
        let stopped = stop.clone();
        let work = move || {
            let budget =
                Budget { steps: None, time_up: &|| started.elapsed() >= limit, stop: stopped };
            let settings = Settings { seed: 1, threads: 0 };
            let packed = pack(&job.job, &plan, settings, &budget, &mut |progress| {
                // Nobody listening means that the fill was replaced; it is being stopped.
                let _ = send.send(progress.plan.clone());
                wake();
            });
            let _ = send.send(packed.plan);
            drop(send);
            wake();
        };
        std::thread::Builder::new().name("fill".into()).spawn(work)?;
        Ok(Self { news, stop, started, limit, best: None })
    }

    /// Takes in what is new. Returns whether the fill has ended.
    pub fn poll(&mut self) -> bool {
        loop {
            match self.news.try_recv() {
                Ok(plan) => self.best = Some(plan),
                Err(TryRecvError::Empty) => return false,
                // Also when the thread panicked: what it had found stands.
                Err(TryRecvError::Disconnected) => return true,
            }
        }
    }

    /// The best plan so far.
    pub fn best(&self) -> Option<&Plan> {
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

impl Drop for Filling {
    fn drop(&mut self) {
        self.stop.raise();
    }
}
