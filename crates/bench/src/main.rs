//! The benchmark runner: `cargo run --release -p oddment-bench -- [BENCHMARK …]` prints a table and
//! writes each benchmark's figures to `results/BENCHMARK.json` beside this crate, with the machine
//! they were measured on. Without a name it runs them all.

mod bars;
mod check;
mod compare;
mod copies;
mod drag;
mod fit;
mod jigsaw;
mod month;
mod offcut;
mod photo;
mod puzzle;
mod rack;
mod report;
mod sheets;
mod strip;
mod timed;

use std::process::ExitCode;

use report::Table;

/// Every benchmark by its name.
const BENCHMARKS: [(&str, Benchmark); 14] = [
    ("bars", bars::run),
    ("check", check::run),
    ("drag", drag::run),
    ("fit", fit::run),
    ("offcut", offcut::run),
    ("copies", copies::run),
    ("jigsaw", jigsaw::run),
    ("sheets", sheets::run),
    ("rack", rack::run),
    ("compare", compare::run),
    ("month", month::run),
    ("photo", photo::run),
    ("strip-60", strip::minute),
    ("strip-600", strip::ten_minutes),
];

/// Measures, and says what it measured.
type Benchmark = fn() -> Table;

fn main() -> ExitCode {
    let asked: Vec<String> = std::env::args().skip(1).collect();
    for name in &asked {
        if !BENCHMARKS.iter().any(|(known, _)| known == name) {
            let known: Vec<&str> = BENCHMARKS.iter().map(|(name, _)| *name).collect();
            eprintln!("error: there is no benchmark {name}; there are {}", known.join(", "));
            return ExitCode::from(2);
        }
    }
    for (name, run) in BENCHMARKS {
        if !asked.is_empty() && !asked.iter().any(|a| a == name) {
            continue;
        }
        let table = run();
        table.print(name);
        if let Err(fault) = table.save(name) {
            eprintln!("error: results of {name} not written: {fault}");
            return ExitCode::FAILURE;
        }
    }
    ExitCode::SUCCESS
}
