//! Runs a search within its bounds, shows how it gets on, and lets Ctrl-C end it early.

use std::io::Write;
use std::sync::mpsc::{self, RecvTimeoutError};
use std::sync::{Mutex, PoisonError};
use std::thread;
use std::time::{Duration, Instant};

use oddment_core::job::Budget;

use crate::args::SearchArgs;
use crate::console::Console;

/// Seconds that a search may take where nothing is said.
const SECONDS: f64 = 10.0;

/// Searches look at the clock between rounds. A round that runs on for so many seconds after the
/// time is up is ended by the stop flag.
const GRACE: f64 = 0.5;

/// Seconds between two showings of how it gets on.
const BETWEEN_SHOWINGS: f64 = 0.25;

/// What ends a search: so many seconds, so many steps, or whichever comes first.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Limits {
    seconds: Option<f64>,
    steps: Option<u64>,
}

impl Limits {
    pub(crate) fn new(seconds: Option<f64>, steps: Option<u64>) -> Self {
        let seconds = if steps.is_none() { seconds.or(Some(SECONDS)) } else { seconds };
        Self { seconds, steps }
    }

    /// Seconds left (an estimate where steps are counted) after `now` seconds, when `done` steps
    /// had been done after `then` seconds.
    fn seconds_left(&self, now: f64, done: u64, then: f64) -> Option<f64> {
        let by_clock = self.seconds.map(|most| most - now);
        let by_steps =
            self.steps.filter(|_| done > 0).map(|most| then * most as f64 / done as f64 - now);
        [by_clock, by_steps].into_iter().flatten().map(|s| s.max(0.0)).reduce(f64::min)
    }
}

impl From<SearchArgs> for Limits {
    fn from(args: SearchArgs) -> Self {
        Self::new(args.seconds, args.steps)
    }
}

/// Does `work` within `limits`; returns what it found and the seconds it took.
pub(crate) fn within<T>(
    limits: Limits,
    console: &mut Console<'_>,
    work: impl FnOnce(&Budget<'_>, &Meter<'_>) -> T,
) -> (T, f64) {
    // Fails only where a handler is set already, by whoever runs several commands in one process.
    let interrupted = console.stop.clone();
    let _ = ctrlc::set_handler(move || {
        if interrupted.raised() {
            std::process::exit(130);
        }
        interrupted.raise();
    });
    let stop = console.stop.clone();
    let began = Instant::now();
    let meter = Meter { limits, began, shown: Mutex::new(Shown::new(console)) };
    let time_up = || {
        meter.show(None);
        limits.seconds.is_some_and(|most| began.elapsed().as_secs_f64() >= most)
    };
    let budget = Budget { steps: limits.steps, time_up: &time_up, stop: stop.clone() };
    let found = thread::scope(|scope| {
        let (running, ended) = mpsc::channel::<()>();
        if let Some(most) = limits.seconds {
            let most = Duration::try_from_secs_f64(most + GRACE).unwrap_or(Duration::MAX);
            let late = move || {
                if ended.recv_timeout(most) == Err(RecvTimeoutError::Timeout) {
                    stop.raise();
                }
            };
            // Without the thread, the time is looked at between rounds alone.
            let _ = thread::Builder::new().name("deadline".to_owned()).spawn_scoped(scope, late);
        }
        let found = work(&budget, &meter);
        drop(running);
        found
    });
    let seconds = began.elapsed().as_secs_f64();
    meter.clear();
    (found, seconds)
}

/// Shows on one line how a search gets on.
pub(crate) struct Meter<'a> {
    limits: Limits,
    began: Instant,
    shown: Mutex<Shown<'a>>,
}

/// What stands on the line.
struct Shown<'a> {
    err: Option<Box<dyn Write + Send + 'a>>,
    best: String,
    /// Steps done when the best was found, and seconds gone by.
    found: (u64, f64),
    last: f64,
    width: usize,
}

impl<'a> Shown<'a> {
    fn new(console: &'a mut Console<'_>) -> Self {
        let err: Option<Box<dyn Write + Send>> =
            if console.live { Some(Box::new(&mut *console.err)) } else { None };
        Self { err, best: "looking".to_owned(), found: (0, 0.0), last: 0.0, width: 0 }
    }

    fn write(&mut self, line: &str) {
        let width = line.chars().count();
        if let Some(err) = &mut self.err {
            let _ = write!(err, "\r{line:<pad$}", pad = self.width).and_then(|()| err.flush());
        }
        self.width = width;
    }
}

impl Meter<'_> {
    /// Says what the best found so far is, after `steps`.
    pub(crate) fn found(&self, best: String, steps: u64) {
        self.show(Some((best, steps)));
    }

    /// Whether half the seconds are gone.
    pub(crate) fn half_gone(&self) -> bool {
        let gone = self.began.elapsed().as_secs_f64();
        self.limits.seconds.is_some_and(|most| gone >= most / 2.0)
    }

    fn show(&self, news: Option<(String, u64)>) {
        let now = self.began.elapsed().as_secs_f64();
        let mut shown = self.shown.lock().unwrap_or_else(PoisonError::into_inner);
        if let Some((best, steps)) = news {
            shown.best = best;
            shown.found = (steps, now);
        }
        if shown.err.is_none() || now - shown.last < BETWEEN_SHOWINGS {
            return;
        }
        shown.last = now;
        let (steps, then) = shown.found;
        let left = match self.limits.seconds_left(now, steps, then) {
            Some(left) => format!(", about {left:.0} s left"),
            None => String::new(),
        };
        let line = format!("{now:.0} s: {}{left} (Ctrl-C stops and keeps it)", shown.best);
        shown.write(&line);
    }

    fn clear(&self) {
        let mut shown = self.shown.lock().unwrap_or_else(PoisonError::into_inner);
        if shown.width > 0 {
            shown.write("");
            shown.write("\r");
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_sooner_limit_counts() {
        let left = |seconds, steps, now, done, then| {
            Limits::new(seconds, steps).seconds_left(now, done, then)
        };
        assert_eq!(left(None, None, 4.0, 0, 0.0), Some(6.0));
        assert_eq!(left(None, Some(100), 3.0, 50, 2.0), Some(1.0));
        assert_eq!(left(Some(20.0), Some(100), 3.0, 50, 2.0), Some(1.0));
        assert_eq!(left(Some(3.5), Some(100), 3.0, 50, 2.0), Some(0.5));
        assert_eq!(left(None, Some(100), 3.0, 0, 0.0), None);
        assert_eq!(left(Some(1.0), None, 3.0, 0, 0.0), Some(0.0));
    }
}
