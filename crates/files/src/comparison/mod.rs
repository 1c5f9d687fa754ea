//! A comparison of ways as files: a table for spreadsheets, and pages to print.

mod paper;
mod table;

pub use paper::{Told, comparison_pages, comparison_pdf};
pub use table::comparison_table;
