//! A search with the clock beside it.

use std::time::Instant;

use oddment_core::check::check;
use oddment_core::job::{Budget, Stop};
use oddment_core::packer::{Settings, pack};
use oddment_core::plan::{Job, Plan};

/// What a search found and when.
pub(crate) struct Timed {
    /// The first plan heard of, and the seconds until then.
    pub(crate) first: Option<(f64, Plan)>,
    /// Seconds until all was placed.
    pub(crate) complete: Option<f64>,
    /// The plan at the end.
    pub(crate) plan: Plan,
    /// Seconds in all.
    pub(crate) seconds: f64,
    /// Faults that the check finds in it.
    pub(crate) faults: usize,
}

/// Packs a job for so many seconds.
pub(crate) fn packed(job: &Job, seconds: f64, seed: u64) -> Timed {
    let begun = Instant::now();
    let time_up = || begun.elapsed().as_secs_f64() > seconds;
    let budget = Budget { steps: None, time_up: &time_up, stop: Stop::default() };
    let (mut first, mut complete) = (None, None);
    let packed =
        pack(job, &Plan::default(), Settings { seed, threads: 0 }, &budget, &mut |progress| {
            let now = begun.elapsed().as_secs_f64();
            first.get_or_insert_with(|| (now, progress.plan.clone()));
            if progress.plan.is_complete(job) {
                complete.get_or_insert(now);
            }
        });
    let seconds = begun.elapsed().as_secs_f64();
    let faults = check(job, packed.plan.clone()).report().faults.len();
    Timed { first, complete, plan: packed.plan, seconds, faults }
}
