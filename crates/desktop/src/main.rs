//! The one program: its window, or without one its commands.

use std::process::ExitCode;

fn main() -> ExitCode {
    if let Some(code) = oddment_commands::run(std::env::args_os()) {
        return code;
    }
    match oddment_window::open() {
        Ok(()) => ExitCode::SUCCESS,
        Err(why) => {
            eprintln!(
                "error: oddment: no window can be opened here: {}; `oddment demo` does the main job \
                 without one, and `oddment --help` lists what else does",
                in_words(&why)
            );
            ExitCode::from(2)
        }
    }
}

/// Why there is no window, in words that help.
fn in_words(why: &eframe::Error) -> String {
    match why {
        eframe::Error::WinitEventLoop(what) => format!("no display answers ({what})"),
        other => other.to_string(),
    }
}
