//! The plan as a file: what was wanted, what lies where, and what the check says of it.

mod read;
mod write;

pub use read::read_plan;
pub use write::{write_check, write_plan, write_work};

/// How a plan came about.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct RunFacts {
    /// Seconds of search.
    pub seconds: f64,
    /// Steps of search.
    pub steps: u64,
    /// Seed of the random choices.
    pub seed: u64,
}

#[cfg(test)]
mod tests;
