//! Where a command's words go.

use std::error::Error;
use std::fmt::Display;
use std::io::Write;

use clap::error::{ContextKind, ContextValue, ErrorKind};
use oddment_app::keep::Keep;
use oddment_core::job::Stop;
use serde::Serialize;

use crate::Outcome;
use crate::refusal::Refusal;

/// The streams a command writes to, and the flag that ends its search early.
pub struct Console<'a> {
    /// What programs read.
    pub out: &'a mut (dyn Write + Send),
    /// What people read.
    pub err: &'a mut (dyn Write + Send),
    /// Whether somebody watches `err`, so that progress is worth showing.
    pub live: bool,
    /// Ends a search early.
    pub stop: Stop,
    /// Where this person's files are kept, such as the name of the shop file used last.
    pub keep: Option<Keep>,
}

impl Console<'_> {
    /// A line for people. Where nobody can read it, nothing is lost that matters.
    pub(crate) fn say(&mut self, line: impl Display) {
        let _ = writeln!(self.err, "{line}");
    }

    /// The one document for programs, if `wanted`.
    pub(crate) fn json(&mut self, wanted: bool, document: &impl Serialize) -> Result<(), Refusal> {
        if !wanted {
            return Ok(());
        }
        let text = serde_json::to_string_pretty(document).map_err(cannot_print)?;
        self.print(true, &text)
    }

    /// Text for programs, if `wanted`.
    pub(crate) fn print(&mut self, wanted: bool, text: &str) -> Result<(), Refusal> {
        if !wanted {
            return Ok(());
        }
        let ended = text.trim_end();
        writeln!(self.out, "{ended}").and_then(|()| self.out.flush()).map_err(cannot_print)
    }

    /// Says what is wrong with the input.
    pub(crate) fn refuse(&mut self, refusal: &Refusal) {
        for line in refusal.lines() {
            self.say(format_args!("error: {line}"));
        }
    }

    /// Says what is wrong with the command line, or prints the help asked for.
    pub(crate) fn usage(&mut self, error: &clap::Error) -> Outcome {
        if matches!(error.kind(), ErrorKind::DisplayHelp | ErrorKind::DisplayVersion) {
            let _ = write!(self.out, "{error}");
            return Outcome::Yes;
        }
        self.refuse(&usage_refusal(error));
        Outcome::Refused
    }
}

fn cannot_print(error: impl Display) -> Refusal {
    Refusal::about("standard output", format_args!("can't be written: {error}"))
}

/// A fault of the command line in the form of all others.
fn usage_refusal(error: &clap::Error) -> Refusal {
    // A value's own parser says the whole sentence.
    if let (ErrorKind::ValueValidation, Some(ContextValue::String(flag)), Some(cause)) =
        (error.kind(), error.get(ContextKind::InvalidArg), error.source())
    {
        let flag = flag.split_whitespace().next().unwrap_or_default();
        return Refusal::about(flag, cause);
    }
    let text = error.to_string();
    let kept: Vec<&str> = text
        .lines()
        .map(str::trim)
        .take_while(|line| !line.starts_with("Usage:") && !line.starts_with("For more"))
        .filter(|line| !line.is_empty())
        .collect();
    let what = kept.join(" ");
    let what = what.strip_prefix("error: ").unwrap_or(&what);
    Refusal::about("oddment", format_args!("{what}; --help after the command shows how it is used"))
}
