//! What a person does with the program, without a window or a command line.

pub mod sample_shop;
