//! Sheets sawn into parts: how many of the parts find their way back in 20 s.

use std::error::Error;

use oddment_core::plan::{Count, Job, Stock, Wanted};

use crate::puzzle::{Puzzle, corpus, folder_of};
use crate::report::Table;
use crate::timed::packed;

/// Seconds for each puzzle.
const SECONDS: f64 = 20.0;

/// The puzzles of the corpus.
pub(crate) fn run() -> Table {
    let mut table = Table::new();
    if let Err(fault) = measure(&mut table) {
        eprintln!("error: {fault}");
    }
    table
}

fn measure(table: &mut Table) -> Result<(), Box<dyn Error>> {
    let Some(folder) = corpus("jigsaw") else { return Ok(()) };
    let (mut solved, mut count) = (0_i32, 0_i32);
    for folder in folder_of(&folder)? {
        let Puzzle { sheet, parts, clearances } = Puzzle::load(&folder)?;
        let name = folder.file_name().unwrap_or_default().to_string_lossy().into_owned();
        let wanted = parts.into_iter().map(|part| Wanted { part, count: Count::Exactly(1) });
        let job = Job {
            stock: vec![Stock { sheet, count: 1 }],
            wanted: wanted.collect(),
            clearances,
            starts: None,
        };
        let found = packed(&job, SECONDS, 1);
        let placed = found.plan.placements().count() as f64 / job.wanted.len() as f64;
        table.add(format!("{name}: placed"), 100.0 * placed, "%", None);
        if let Some(seconds) = found.complete {
            table.add(format!("{name}: all placed after"), seconds, "s", None);
        }
        table.add(format!("{name}: faults"), found.faults as f64, "", Some(0.0));
        count += 1;
        solved += i32::from(found.complete.is_some());
    }
    table.reach("solved", 100.0 * f64::from(solved) / f64::from(count), "%", 75.0);
    Ok(())
}
