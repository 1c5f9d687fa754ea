//! The commands, run as `main` runs them, with their streams caught.

#[cfg(test)]
mod common;
mod hostile;
mod steps;
