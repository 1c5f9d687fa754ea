//! Acceptance tests: the built program, used as people and scripts use it.
//!
//! The modules are marked as tests for the lints, which forbid unwrapping elsewhere.

#[cfg(test)]
mod demo;
#[cfg(test)]
mod hostile;
#[cfg(test)]
mod outside;
#[cfg(test)]
mod plans;
#[cfg(test)]
mod program;
