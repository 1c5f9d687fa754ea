//! The benchmark runner.

fn main() {}
