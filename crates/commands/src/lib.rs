//! The program without its window: one command does one step and ends.
//!
//! [`run`] is for `main`; [`run_in`] does the same with the streams handed in. What a person reads
//! goes to standard error, the JSON of `--json` alone to standard output. The exit code says how it
//! went: 0 done and the answer is yes, 1 done and the answer is no, 2 the input can't be used.

mod args;
mod bars;
mod capture;
mod check;
mod compare;
mod console;
mod cut_on;
mod demo;
mod fit;
mod given;
mod input;
mod job;
mod nest;
mod rack;
mod rack_sheets;
mod read;
mod refusal;
mod search;
mod shorten;
mod square;

use std::ffi::OsString;
use std::io::{self, IsTerminal};
use std::panic::{self, AssertUnwindSafe};
use std::process::ExitCode;
use std::sync::{Arc, Mutex};

use clap::Parser;
use oddment_app::keep::Keep;
use oddment_core::job::Stop;

use args::{Command, CommandLine};
pub use console::Console;
use refusal::Refusal;

/// How a command ended.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Outcome {
    /// Done, and the answer is yes.
    Yes,
    /// Done, and the answer is no.
    No,
    /// The input can't be used; nothing was written.
    Refused,
}

impl Outcome {
    fn of(yes: bool) -> Self {
        if yes { Self::Yes } else { Self::No }
    }

    /// The exit code that says so.
    pub const fn code(self) -> u8 {
        match self {
            Self::Yes => 0,
            Self::No => 1,
            Self::Refused => 2,
        }
    }
}

/// Runs the command in the program's arguments (the program's own name first). `None` where there
/// is no command: then the window is wanted.
pub fn run(args: impl IntoIterator<Item = OsString>) -> Option<ExitCode> {
    let (mut out, mut err) = (io::stdout(), io::stderr());
    let live = err.is_terminal();
    let keep = Keep::of_this_person();
    let mut console = Console { out: &mut out, err: &mut err, live, stop: Stop::default(), keep };
    run_in(args, &mut console).map(|outcome| ExitCode::from(outcome.code()))
}

/// As [`run`], reading from and writing to `console`.
pub fn run_in(
    args: impl IntoIterator<Item = OsString>,
    console: &mut Console<'_>,
) -> Option<Outcome> {
    let command = match CommandLine::try_parse_from(args) {
        Ok(line) => line.command?,
        Err(error) => return Some(console.usage(&error)),
    };
    let done = guarded(|| match &command {
        Command::Read(args) => read::run(args, console),
        Command::Nest(args) => nest::run(args, console),
        Command::Fit(args) => fit::run(args, console),
        Command::Shorten(args) => shorten::run(args, console),
        Command::Bars(args) => bars::run(args, console),
        Command::Capture(args) => capture::run(args, console),
        Command::Check(args) => check::run(args, console),
        Command::Compare(args) => compare::run(args, console),
        Command::Square(args) => square::run(args, console),
        Command::Rack(args) => rack::run(&args.command, console),
        Command::Demo(args) => demo::run(args, console),
    });
    Some(done.unwrap_or_else(|refusal| {
        console.refuse(&refusal);
        Outcome::Refused
    }))
}

/// Runs a command; should it panic after all, says so in a sentence instead of a backtrace.
fn guarded(command: impl FnOnce() -> Result<Outcome, Refusal>) -> Result<Outcome, Refusal> {
    let place = Arc::new(Mutex::new(String::new()));
    let note = Arc::clone(&place);
    let usual = panic::take_hook();
    panic::set_hook(Box::new(move |info| {
        if let (Ok(mut place), Some(at)) = (note.lock(), info.location()) {
            *place = format!("{}, line {}", at.file(), at.line());
        }
    }));
    let done = panic::catch_unwind(AssertUnwindSafe(command));
    panic::set_hook(usual);
    done.unwrap_or_else(|_| {
        let place = place.lock().map(|p| p.clone()).unwrap_or_default();
        Err(Refusal::about(
            "oddment",
            format!("a fault of the program itself ({place}); please report it with the files that led to it"),
        ))
    })
}
