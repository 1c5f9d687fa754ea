//! The commands, run as `main` runs them, with their streams caught.

mod bars;
mod capture;
#[cfg(test)]
mod common;
mod compare;
mod hostile;
mod rack;
#[cfg(test)]
mod square;
mod steps;
