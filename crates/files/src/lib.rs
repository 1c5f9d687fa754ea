//! Drawings, jobs, plans and pictures in and out of files.
