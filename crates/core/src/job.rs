//! What long work shares: how much it may do, how it is told to stop, what it tells meanwhile.

use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};

/// A flag that ends long work within 100 ms of being raised. Clones share the flag.
#[derive(Clone, Debug, Default)]
pub struct Stop(Arc<AtomicBool>);

impl Stop {
    /// Asks the work to end.
    pub fn raise(&self) {
        self.0.store(true, Ordering::Relaxed);
    }

    /// Whether the work should end.
    pub fn raised(&self) -> bool {
        self.0.load(Ordering::Relaxed)
    }
}

/// How much work may be done. The core knows no clock: whoever calls it says when time is up.
pub struct Budget<'a> {
    /// At most so many steps of search.
    pub steps: Option<u64>,
    /// Whether the time is up; asked between rounds of work, so that the work done in a round does
    /// not depend on the clock.
    pub time_up: &'a (dyn Fn() -> bool + Sync),
    /// Ends the work early; looked at within rounds too.
    pub stop: Stop,
}

impl Budget<'_> {
    /// Whether work that has done `steps` should end, asked between rounds.
    pub fn spent(&self, steps: u64) -> bool {
        self.steps.is_some_and(|most| steps >= most) || self.stop.raised() || (self.time_up)()
    }
}
