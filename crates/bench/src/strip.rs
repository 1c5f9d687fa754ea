//! Strips of the academic corpus: how much of the shortest strip found is covered.

use std::error::Error;
use std::fs;
use std::time::Instant;

use oddment_core::distances::Clearances;
use oddment_core::job::{Budget, Stop};
use oddment_core::packer::{Settings, shorten};
use oddment_files::strip_file::StripFile;

use crate::puzzle::{corpus, folder_of};
use crate::report::Table;

const SEEDS: u64 = 5;

/// Mean densities of a widely quoted method of 2013, where it has any.
const WANTED: [(&str, f64); 7] = [
    ("albano", 87.5),
    ("dighe1", 100.0),
    ("fu", 90.7),
    ("jakobs1", 88.9),
    ("marques", 89.4),
    ("shapes0", 67.3),
    ("swim", 74.5),
];

/// A minute for each seed.
pub(crate) fn minute() -> Table {
    run(60.0)
}

/// Ten minutes for each seed.
pub(crate) fn ten_minutes() -> Table {
    run(600.0)
}

fn run(seconds: f64) -> Table {
    let mut table = Table::new();
    if let Err(fault) = measure(&mut table, seconds) {
        eprintln!("error: {fault}");
    }
    table
}

fn measure(table: &mut Table, seconds: f64) -> Result<(), Box<dyn Error>> {
    let Some(folder) = corpus("strip") else { return Ok(()) };
    for path in folder_of(&folder)? {
        let file: StripFile = serde_json::from_slice(&fs::read(path)?)?;
        let strip = file.strip(Clearances::NONE).map_err(|faults| faults.join("; "))?;
        let area: f64 = strip.parts.iter().map(|(p, n)| p.region.area() * *n as f64).sum();
        let mut found = Vec::new();
        for seed in 1..=SEEDS {
            let begun = Instant::now();
            let time_up = || begun.elapsed().as_secs_f64() > seconds;
            let budget = Budget { steps: None, time_up: &time_up, stop: Stop::default() };
            let settings = Settings { seed, threads: 0 };
            let shortest = shorten(&strip, settings, &budget, &mut |_| {})?;
            let density = 100.0 * area / (strip.width * shortest.length);
            eprintln!("{}, seed {seed}: {density:.2} %", file.name);
            found.push(density);
        }
        let mean = found.iter().sum::<f64>() / found.len() as f64;
        match WANTED.iter().find(|(name, _)| *name == file.name) {
            Some((_, wanted)) => table.reach(format!("{}: mean", file.name), mean, "%", *wanted),
            None => table.add(format!("{}: mean", file.name), mean, "%", None),
        }
        let best = found.into_iter().fold(0.0, f64::max);
        table.add(format!("{}: best of {SEEDS}", file.name), best, "%", None);
    }
    Ok(())
}
