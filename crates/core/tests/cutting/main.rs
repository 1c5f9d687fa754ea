//! From plan to cut: the path, starts, and what follows from them.
#![cfg(test)]

mod common;
mod cuts;
mod held;
mod orders;
mod paths;
mod skeleton;
mod starts;

#[path = "../geometry/strategies.rs"]
#[allow(dead_code, reason = "shared with the tests of shapes")]
mod strategies;
