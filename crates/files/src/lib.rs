//! Drawings, jobs, plans and pictures in and out of files.

pub mod account_words;
pub mod bars;
pub mod comparison;
pub mod cut_data;
pub mod drawing;
pub mod dxf_out;
pub mod file;
pub mod job_file;
mod json;
pub mod labels;
pub mod outputs;
pub mod picture;
pub mod plan_file;
pub mod policies;
pub mod setup_sheet;
mod shape_json;
pub mod sound;
pub mod strip_file;
#[cfg(test)]
mod test_jobs;
pub mod values;
pub mod words;
