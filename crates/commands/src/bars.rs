//! `oddment bars`: which bars to cut, and what from each.

use oddment_core::bars::{BarPlan, CutList, check};
use oddment_files::cut_list::read_cut_list;
use serde::Serialize;

use crate::Outcome;
use crate::args::BarsArgs;
use crate::console::Console;
use crate::input;
use crate::refusal::Refusal;
use crate::search::{Limits, within};

#[derive(Serialize)]
struct Document {
    bars: Vec<BarSaid>,
    cost: f64,
    lower_bound: f64,
    proven: bool,
    missing: Vec<MissingSaid>,
    seconds: f64,
    steps: u64,
}

#[derive(Serialize)]
struct BarSaid {
    length: f64,
    cuts: Vec<f64>,
    /// Which entry of the list's stock it is of, from 0.
    stock: usize,
    cost: f64,
}

#[derive(Serialize)]
struct MissingSaid {
    length: f64,
    count: usize,
}

pub(crate) fn run(args: &BarsArgs, console: &mut Console<'_>) -> Result<Outcome, Refusal> {
    let name = args.list.display();
    let read = read_cut_list(&input::text(&args.list)?).map_err(|f| Refusal::each(&name, &f))?;
    for place in &read.unknown {
        console.say(format_args!("note: {name}: {place} means nothing here and is left out"));
    }
    let list = read.list;
    let limits = Limits::new(args.seconds, args.steps);
    let (planned, seconds) = within(limits, console, |budget, meter| {
        list.plan(budget, &mut |plan| meter.found(in_words(plan), plan.steps))
    });
    let plan = planned.map_err(|faults| Refusal::each(&name, &faults))?;
    let faults = check(&list, &plan);
    if !faults.is_empty() {
        return Err(Refusal::each(
            "oddment: a fault of the program itself, please report it",
            &faults,
        ));
    }
    let document = document(&list, &plan, seconds);
    console.json(args.json.wanted, &document)?;
    for (i, bar) in document.bars.iter().enumerate() {
        console.say(format_args!("bar {}, {} mm: {}", i + 1, bar.length, cuts_in_words(&bar.cuts)));
    }
    for MissingSaid { length, count } in &document.missing {
        console.say(format_args!("no bar is left for {count} of {length} mm"));
    }
    console.say(format_args!("{}, in {seconds:.1} s and {} steps.", in_words(&plan), plan.steps));
    console.say(
        "Check each bar's length and straightness before you cut, clamp by the saw's or tube \
         cutter's manual, and never hold short ends by hand.",
    );
    Ok(Outcome::of(document.missing.is_empty()))
}

fn document(list: &CutList, plan: &BarPlan, seconds: f64) -> Document {
    let bars = plan.bars.iter().map(|bar| BarSaid {
        length: list.stock[bar.stock].length,
        cuts: bar.parts.iter().map(|part| list.parts[*part].length).collect(),
        stock: bar.stock,
        cost: list.stock[bar.stock].cost(),
    });
    let missing = list.parts.iter().zip(&plan.missing).filter(|(_, count)| **count > 0);
    Document {
        bars: bars.collect(),
        cost: plan.cost,
        lower_bound: plan.lower_bound,
        proven: plan.proven,
        missing: missing.map(|(part, n)| MissingSaid { length: part.length, count: *n }).collect(),
        seconds,
        steps: plan.steps,
    }
}

fn in_words(plan: &BarPlan) -> String {
    let sure = if plan.proven {
        "nothing costs less".to_owned()
    } else {
        format!("no plan costs less than {}", plan.lower_bound)
    };
    format!("{} bars, cost {}; {sure}", plan.bars.len(), plan.cost)
}

/// Lengths in order, equal ones together: `712 ×3, 600.075`.
fn cuts_in_words(cuts: &[f64]) -> String {
    let runs = cuts.chunk_by(|a, b| a == b).map(|run| match run.len() {
        1 => run[0].to_string(),
        n => format!("{} ×{n}", run[0]),
    });
    runs.collect::<Vec<_>>().join(", ")
}
