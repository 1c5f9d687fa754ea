//! Drawings, jobs, plans and pictures in and out of files.

pub mod cut_data;
pub mod drawing;
pub mod dxf_out;
pub mod job_file;
mod json;
pub mod picture;
pub mod plan_file;
mod shape_json;
mod sound;
pub mod words;
