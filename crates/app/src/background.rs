//! Threads that compute, and give way to the window where there are not enough cores for both.

use std::thread::Builder;

use thread_priority::{ThreadPriority, ThreadPriorityValue, set_current_thread_priority};

/// Of 0 to 99, where 50 is as usual: on Linux niceness 11, which threads that are begun from there
/// have too.
const LOW: u8 = 20;

/// Runs work on a thread of its own.
///
/// # Errors
/// What the system said when it gave no thread.
pub(crate) fn background(
    name: impl Into<String>,
    work: impl FnOnce() + Send + 'static,
) -> std::io::Result<()> {
    let low = ThreadPriorityValue::try_from(LOW).map(ThreadPriority::Crossplatform);
    let begin = move || {
        // Where the system refuses, the work is done all the same.
        let _ = low.map(set_current_thread_priority);
        work();
    };
    Builder::new().name(name.into()).spawn(begin)?;
    Ok(())
}

#[cfg(test)]
#[cfg(target_os = "linux")]
mod tests {
    use super::*;

    /// The niceness of the thread that asks.
    fn niceness() -> i32 {
        let stat = std::fs::read_to_string("/proc/thread-self/stat").unwrap();
        // After the name, which may hold anything, come the third field and the ones after it.
        let (_, rest) = stat.rsplit_once(')').unwrap();
        rest.split_whitespace().nth(16).unwrap().parse().unwrap()
    }

    #[test]
    fn work_in_the_background_gives_way() {
        let (send, heard) = std::sync::mpsc::channel();
        let tell = move || {
            let begun_there = std::thread::spawn(niceness).join();
            send.send((niceness(), begun_there.unwrap())).unwrap();
        };
        background("trial", tell).unwrap();
        let (own, begun_there) = heard.recv().unwrap();
        assert!(own >= 10 && begun_there == own, "{own}, {begun_there}");
    }
}
