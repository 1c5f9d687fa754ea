//! Properties of the shapes, the distances between them, and the check.
#![cfg(test)]

mod checks;
mod edges;
mod flattening;
mod gaps;
mod leftovers;
mod loops;
mod offsets;
mod poses;
mod spares;
mod subtracting;

mod strategies;
