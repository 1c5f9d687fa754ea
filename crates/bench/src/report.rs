//! Figures: measured, printed as a table, kept as JSON.

use std::path::Path;
use std::time::{Duration, Instant};
use std::{fs, io};

use serde::Serialize;

/// The figures of one benchmark.
#[derive(Serialize)]
pub(crate) struct Table {
    machine: Machine,
    rows: Vec<Row>,
}

#[derive(Serialize)]
struct Machine {
    system: &'static str,
    processor: String,
    cores: usize,
    optimised: bool,
}

#[derive(Serialize)]
struct Row {
    what: String,
    figure: f64,
    unit: &'static str,
    wanted: Option<Wanted>,
}

/// What a figure should be, where the goals say.
#[derive(Clone, Copy, Serialize)]
#[serde(rename_all = "snake_case")]
enum Wanted {
    AtMost(f64),
    AtLeast(f64),
}

impl Table {
    /// A table without figures.
    pub(crate) fn new() -> Self {
        Self { machine: Machine::here(), rows: Vec::new() }
    }

    /// Adds a figure; `wanted` is the most it should be, where DESIGN's goals say.
    pub(crate) fn add(
        &mut self,
        what: impl Into<String>,
        figure: f64,
        unit: &'static str,
        wanted: Option<f64>,
    ) {
        self.rows.push(Row { what: what.into(), figure, unit, wanted: wanted.map(Wanted::AtMost) });
    }

    /// Adds a figure that should be at least `wanted`.
    pub(crate) fn reach(
        &mut self,
        what: impl Into<String>,
        figure: f64,
        unit: &'static str,
        wanted: f64,
    ) {
        let wanted = Some(Wanted::AtLeast(wanted));
        self.rows.push(Row { what: what.into(), figure, unit, wanted });
    }

    /// Adds the median time of several runs of `work`, in milliseconds.
    pub(crate) fn time<T>(
        &mut self,
        what: impl Into<String>,
        wanted: Option<f64>,
        work: impl FnMut() -> T,
    ) {
        self.add(what, median_time(work).as_secs_f64() * 1e3, "ms", wanted);
    }

    /// Prints it for people.
    pub(crate) fn print(&self, name: &str) {
        let Machine { system, processor, cores, optimised } = &self.machine;
        let build = if *optimised { "" } else { ", not optimised" };
        println!("{name} ({processor}, {cores} cores, {system}{build})");
        let width = self.rows.iter().map(|r| r.what.chars().count()).max().unwrap_or(0);
        for Row { what, figure, unit, wanted } in &self.rows {
            let wanted = match wanted {
                Some(Wanted::AtMost(w)) => format!("  (wanted: at most {w} {unit})"),
                Some(Wanted::AtLeast(w)) => format!("  (wanted: at least {w} {unit})"),
                None => String::new(),
            };
            println!("  {what:width$}  {figure:>10.3} {unit}{wanted}");
        }
    }

    /// Writes it to the committed results.
    pub(crate) fn save(&self, name: &str) -> io::Result<()> {
        let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("results");
        fs::create_dir_all(&folder)?;
        let text = serde_json::to_string_pretty(self)? + "\n";
        fs::write(folder.join(name).with_extension("json"), text)
    }
}

impl Machine {
    fn here() -> Self {
        let processor = fs::read_to_string("/proc/cpuinfo")
            .ok()
            .and_then(|text| {
                let line = text.lines().find(|l| l.starts_with("model name"))?;
                line.split_once(':').map(|(_, name)| name.trim().to_owned())
            })
            .unwrap_or_else(|| std::env::consts::ARCH.to_owned());
        Self {
            system: std::env::consts::OS,
            processor,
            cores: std::thread::available_parallelism().map_or(1, usize::from),
            optimised: !cfg!(debug_assertions),
        }
    }
}

/// The median time of at least five runs and about a second of them.
fn median_time<T>(mut work: impl FnMut() -> T) -> Duration {
    let begun = Instant::now();
    let mut times = Vec::new();
    while times.len() < 5 || (begun.elapsed() < Duration::from_secs(1) && times.len() < 1000) {
        let start = Instant::now();
        std::hint::black_box(work());
        times.push(start.elapsed());
    }
    times.sort_unstable();
    times[times.len() / 2]
}
