//! The one program: its window, or without one its commands.

fn main() {}
