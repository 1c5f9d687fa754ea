//! What a person does with the program, without a window or a command line.
//!
//! [`session::Session`] holds everything that is open. Whoever shows it reads from it and hands it
//! acts ([`act::Act`]); nothing else changes it.

pub mod act;
pub mod any_place;
pub mod autosave;
mod background;
pub mod bars;
pub mod capture;
pub mod compare;
pub mod exchange;
pub mod hand;
pub mod history;
pub mod judging;
pub mod keep;
pub mod lay;
pub mod open_job;
pub mod place;
pub mod rack;
pub mod room;
pub mod sample_shop;
pub mod session;
pub mod settings;
pub mod sheet_facts;
pub mod shop;
pub mod square_up;
pub mod start;
#[cfg(test)]
mod trial;
pub mod where_it_fits;
pub mod words;
pub mod work;
