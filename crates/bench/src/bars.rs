//! Cutting of bars: the academic one-dimensional sets of the outside corpus (where ODDMENT_CORPUS
//! names it), and orders of our own from remnants and full lengths.

use std::collections::BTreeMap;
use std::path::PathBuf;
use std::time::{Duration, Instant};

use oddment_core::bars::solve::{Bar, Kind, Problem, Solved, solve};
use oddment_core::bars::{CutList, Leftovers, Stock, Wanted};
use oddment_core::job::{Budget, Stop};
use serde::Deserialize;

use crate::report::Table;

/// Seconds that each problem may take.
const SECONDS: u64 = 10;

/// Figures for every problem, and how many of them were proven.
pub(crate) fn run() -> Table {
    let mut table = Table::new();
    let mut problems = academic();
    problems.extend((1..=10).map(|seed| (format!("30 lengths, 40 remnants, {seed}"), shop(seed))));
    let mut proven = 0;
    for (name, problem) in &problems {
        let (solved, seconds) = timed(problem);
        proven += usize::from(solved.proven);
        let gap = (solved.cost - solved.lower_bound) as f64 / solved.lower_bound.max(1) as f64;
        table.add(format!("{name}: gap"), 100.0 * gap, "%", None);
        table.add(format!("{name}: time"), seconds, "s", Some(SECONDS as f64));
    }
    table.add("proven", 100.0 * proven as f64 / problems.len().max(1) as f64, "%", None);
    for seed in 1..=5 {
        let list = with_leftovers(seed);
        let begun = Instant::now();
        let time_up = || begun.elapsed() >= Duration::from_secs(SECONDS);
        let budget = Budget { steps: None, time_up: &time_up, stop: Stop::default() };
        let plan = list.plan(&budget, &mut |_| {}).unwrap_or_default();
        let gap = 100.0 * (plan.cost - plan.lower_bound) / plan.lower_bound.max(1e-9);
        let name = format!("the same with leftovers, {seed}");
        table.add(format!("{name}: gap"), gap, "%", Some(0.5));
        table.add(
            format!("{name}: time"),
            begun.elapsed().as_secs_f64(),
            "s",
            Some(SECONDS as f64),
        );
    }
    table.add("stop, once asked, at worst", longest_stop(), "s", Some(0.1));
    table
}

/// The longest that planning went on after it was asked to stop, seconds.
fn longest_stop() -> f64 {
    let list = with_leftovers(1);
    let mut longest: f64 = 0.0;
    for after in [1, 5, 20, 50, 100, 200, 500, 1000, 2000, 4000] {
        let (stop, list) = (Stop::default(), &list);
        let asked = std::thread::scope(|scope| {
            let of_thread = stop.clone();
            let planning = scope.spawn(move || {
                let budget = Budget { steps: None, time_up: &|| false, stop: of_thread };
                list.plan(&budget, &mut |_| {}).is_ok()
            });
            std::thread::sleep(Duration::from_millis(after));
            let asked = Instant::now();
            stop.raise();
            let _ = planning.join();
            asked.elapsed().as_secs_f64()
        });
        longest = longest.max(asked);
    }
    longest
}

/// The order of [`shop`] as a list: bars cost money and handling, and leftovers are credited.
fn with_leftovers(seed: u64) -> CutList {
    let Problem { kinds, bars } = shop(seed);
    let bar = |bar: &Bar| Stock {
        length: bar.room() as f64 + 80.0,
        count: bar.count,
        cost: Some((bar.room() as f64 + 80.0) * 0.0028),
        handling: 3.3,
        ..Stock::default()
    };
    let part = |kind: &Kind| Wanted {
        length: kind.length as f64 - 3.0,
        count: kind.count,
        ..Wanted::default()
    };
    CutList {
        kerf: 3.0,
        grips: [0.0, 80.0],
        stock: bars.iter().map(bar).collect(),
        parts: kinds.iter().map(part).collect(),
        leftovers: Some(Leftovers { credit: 1.96, scrap: 0.46, bring_back: 2.0 }),
        ..CutList::default()
    }
}

fn timed(problem: &Problem) -> (Solved, f64) {
    let begun = Instant::now();
    let time_up = || begun.elapsed() >= Duration::from_secs(SECONDS);
    let budget = Budget { steps: None, time_up: &time_up, stop: Stop::default() };
    let solved = solve(problem, &budget, &mut |_| {});
    (solved, begun.elapsed().as_secs_f64())
}

#[derive(Deserialize)]
struct Corpus {
    sets: BTreeMap<String, BTreeMap<String, Instance>>,
}

#[derive(Deserialize)]
struct Instance {
    stock_length: i64,
    items: Vec<(i64, usize)>,
}

/// The sets of the outside corpus; none where it is not there.
fn academic() -> Vec<(String, Problem)> {
    let Some(folder) = std::env::var_os("ODDMENT_CORPUS").map(PathBuf::from) else {
        return Vec::new();
    };
    let text = std::fs::read(folder.join("bench/bars/one_d.json")).unwrap_or_default();
    let Ok(corpus) = serde_json::from_slice::<Corpus>(&text) else { return Vec::new() };
    let mut problems = Vec::new();
    for (set, instances) in corpus.sets {
        for (name, instance) in instances {
            let kinds = instance
                .items
                .iter()
                .map(|(length, count)| Kind { length: *length, count: *count });
            let bar = Bar::plain(instance.stock_length, None, 1);
            let name = format!("{set} {}", name.split_whitespace().collect::<Vec<_>>().join(" "));
            problems.push((name, Problem { kinds: kinds.collect(), bars: vec![bar] }));
        }
    }
    problems
}

/// 200 parts of 30 lengths, with 40 remnants and two full lengths; a bar costs its length.
fn shop(seed: u64) -> Problem {
    let mut random = fastrand::Rng::with_seed(seed);
    let (kerf, grips) = (3, 80);
    let mut kinds: Vec<Kind> =
        (0..30).map(|_| Kind { length: random.i64(150..2500) + kerf, count: 1 }).collect();
    for _ in 30..200 {
        let kind = random.usize(0..30);
        kinds[kind].count += 1;
    }
    let bar = |length: i64, count| Bar::plain(length - grips + kerf, count, length);
    let mut bars: Vec<Bar> = (0..40).map(|_| bar(random.i64(600..5000), Some(1))).collect();
    bars.extend([bar(6000, None), bar(7500, None)]);
    Problem { kinds, bars }
}
