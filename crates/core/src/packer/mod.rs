//! Makes plans. The seam: a job, what is locked, a budget and a stop go in; plans come out, better
//! and better.

mod compact;
mod contact;
mod convex;
mod field;
mod figure;
mod fill;
mod greedy;
mod ground;
mod guess;
mod joined;
mod laid;
mod lattice;
mod leads;
mod limits;
mod nofit;
mod pairs;
mod patterns;
mod relocate;
mod scene;
mod separate;
mod simpler;
mod strip;

use crate::job::Budget;
use crate::plan::{Job, Plan};

pub(crate) use guess::guess;
pub(crate) use patterns::Patterns;
pub use strip::{Shortened, Strip, StripFault, shorten};

/// Arcs become chords that leave them by at most this, mm; the distances grow by as much.
const ARC_BOUND: f64 = 0.005;

/// Searches that run side by side, whatever the number of threads: the result must not depend on it.
const LANES: usize = 2;

/// How a search is run. Same job, settings and steps: the same plan, on any number of threads.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Settings {
    /// Seed of the random choices.
    pub seed: u64,
    /// Threads to use; 0 for as many as there are cores.
    pub threads: usize,
}

/// The best plan so far and the work that went into it.
#[derive(Clone, Debug)]
pub struct Progress<'a> {
    /// The best plan so far.
    pub plan: &'a Plan,
    /// Steps of search done.
    pub steps: u64,
}

/// The plan found.
#[derive(Clone, Debug)]
pub struct Packed {
    /// The best plan found. Locked placements lie where they were.
    pub plan: Plan,
    /// Steps of search done.
    pub steps: u64,
}

/// Places as many of the wanted parts as it can on as few sheets as it can, around the locked
/// placements of `start` (what is not locked there is only a suggestion). `better` hears of every
/// better plan. Where the distances allow common cuts, copies are also laid so that they share them.
pub fn pack(
    job: &Job,
    start: &Plan,
    settings: Settings,
    budget: &Budget<'_>,
    better: &mut (dyn FnMut(Progress<'_>) + Send),
) -> Packed {
    let patterns = Patterns::default();
    let fill = match job.clearances.common_cut() {
        Some(_) => joined::fill_joined,
        None => fill::fill,
    };
    on_threads(settings.threads, || fill(job, start, settings.seed, budget, &patterns, better))
}

/// Places the parts on the caller's threads, with the row patterns that it has found before.
pub(crate) fn pack_with(patterns: &Patterns, job: &Job, seed: u64, budget: &Budget<'_>) -> Packed {
    fill::fill(job, &Plan::default(), seed, budget, patterns, &mut |_| {})
}

/// Runs `work` on so many threads; 0 for as many as there are cores. Where the system gives no
/// threads, on the caller's.
fn on_threads<T: Send>(threads: usize, work: impl FnOnce() -> T + Send) -> T {
    match rayon::ThreadPoolBuilder::new().num_threads(threads).build() {
        Ok(pool) => pool.install(work),
        Err(_) => work(),
    }
}
