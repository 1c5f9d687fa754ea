//! Properties of the shapes, the distances between them, and the check.
#![cfg(test)]

mod checks;
mod edges;
mod flattening;
mod gaps;
mod loops;
mod poses;
mod spares;

mod strategies;
