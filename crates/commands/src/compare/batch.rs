//! The orders that are compared: one, or several together.

use std::path::Path;

use oddment_app::exchange::free_name;
use oddment_core::compare::Want;
use oddment_core::part::Part;
use oddment_core::plan::Count;
use oddment_files::job_file::SourcedJob;
use oddment_rack::when;

use super::args::CompareArgs;
use crate::job::{self, Reading};
use crate::refusal::Refusal;

/// Seconds of a day.
const DAY: i64 = 86_400;

/// Orders as one job, and of each of its parts which order it is of.
pub(super) struct Batch {
    pub(super) order: SourcedJob,
    /// Names of the orders.
    pub(super) names: Vec<String>,
    of: Vec<usize>,
    /// Days since 1970.
    due: Vec<Option<i64>>,
}

impl Batch {
    pub(super) fn of(args: &CompareArgs) -> Result<Self, Refusal> {
        let reading = Reading {
            clearances: args.clearances,
            turning: &args.turning,
            units: args.units.unit(),
            shop: None,
        };
        let order = match &args.job {
            Some(path) => job::order_from_file(path, &reading)?,
            None => job::from_flags(&[], &args.part, &reading)?,
        };
        let name = args.order.clone().or_else(|| args.job.as_deref().map(stem));
        let mut batch = Self {
            of: vec![0; order.job.wanted.len()],
            order,
            names: vec![name.unwrap_or_else(|| "order".into())],
            due: vec![args.due.as_deref().map(|text| day("--due", text)).transpose()?],
        };
        for text in &args.with {
            let text = text.to_string_lossy();
            let (file, due) = match text.rsplit_once('=') {
                Some((file, due)) => (Path::new(file), Some(day("--with", due)?)),
                None => (Path::new(&*text), None),
            };
            let other = job::order_from_file(file, &reading)?;
            let index = batch.names.len();
            for (mut wanted, origin) in other.job.wanted.into_iter().zip(other.parts) {
                wanted.part.name = free_name(&batch.order, &wanted.part.name);
                batch.order.add_part(wanted, origin);
                batch.of.push(index);
            }
            batch.names.push(stem(file));
            batch.due.push(due);
        }
        match batch.order.job.wanted.iter().find(|w| w.count == Count::Max) {
            Some(w) => Err(Refusal::about(
                &w.part.name,
                "as many as go in can't be compared; say how many are wanted",
            )),
            None => Ok(batch),
        }
    }

    /// What is wanted.
    pub(super) fn wanted(&self) -> Vec<Want> {
        let want = |(w, of): (&oddment_core::plan::Wanted, &usize)| {
            let Count::Exactly(count) = w.count else { return None };
            // The material asked for, or what stands in for it, goes before what a part says.
            let part = Part { made_from: None, ..w.part.clone() };
            Some(Want { part, count, order: *of, due: self.due[*of] })
        };
        self.order.job.wanted.iter().zip(&self.of).filter_map(want).collect()
    }
}

fn stem(path: &Path) -> String {
    path.file_stem().unwrap_or_default().to_string_lossy().into_owned()
}

fn day(flag: &str, text: &str) -> Result<i64, Refusal> {
    let at = when::end_of_day(text);
    at.map(|at| at.div_euclid(DAY))
        .ok_or_else(|| Refusal::about(flag, format!("{text} is no day; write it as 2026-03-09")))
}
