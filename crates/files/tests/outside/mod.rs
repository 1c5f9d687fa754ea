//! Programs outside of this one that judge what it writes.

use std::process::Command;

/// Whether ODDMENT_CORPUS is named and Python has these modules, such as “ezdxf, shapely”.
pub(crate) fn judges(modules: &str) -> bool {
    let python = Command::new("python3").args(["-c", &format!("import {modules}")]).output();
    std::env::var_os("ODDMENT_CORPUS").is_some() && python.is_ok_and(|p| p.status.success())
}
