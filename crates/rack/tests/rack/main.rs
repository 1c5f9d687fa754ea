//! The shop file as people use it, interrupt it and damage it.
#![cfg(test)]

mod bars;
mod common;
mod damaged;
mod exchanging;
mod finding;
mod interrupted;
mod meanwhile;
mod opening;
mod recording;
mod undoing;
mod values;
mod walking;
