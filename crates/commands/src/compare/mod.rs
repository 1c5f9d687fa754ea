//! `oddment compare`: which sheets should this come from? Its contract is COMPARE.md beside this crate.

pub(crate) mod args;
mod said;
mod table;
mod tell;

use std::path::Path;
use std::time::Instant;

use oddment_app::compare::{Asked, Posed, pose};
use oddment_core::compare::{Comparison, Question, Want, Way, WayKind, compare, reason};
use oddment_core::cut_data::Process;
use oddment_core::fit::{RESOLUTION, Verdict, fit};
use oddment_core::job::{Budget, Stop};
use oddment_core::plan::{Count, Wanted};
use oddment_files::account_words::{reason_words, way_words};
use oddment_files::cut_data::starting_cut_data;
use oddment_files::job_file::{GivenClearances, Origin, SourcedJob};
use oddment_files::outputs::{put, write_outputs};
use oddment_files::plan_file::RunFacts;
use oddment_files::values::Values;
use oddment_rack::Shop;

use crate::Outcome;
use crate::console::Console;
use crate::job::{self, Reading};
use crate::nest;
use crate::rack;
use crate::refusal::Refusal;
use crate::search::{Limits, within};

use args::CompareArgs;
use said::{ComparisonSaid, NoPlaceSaid};

/// Seconds that are spent on proving by how much parts do not fit.
const PROOF: f64 = 2.0;

pub(crate) fn run(args: &CompareArgs, console: &mut Console<'_>) -> Result<Outcome, Refusal> {
    let order = order(args)?;
    job::tell_notes(&order, console);
    if let Some(dir) = &args.out {
        nest::prepare(dir)?;
    }
    let mut shop = rack::open(&args.shop, console)?;
    let asked = asked(args, &order)?;
    let posed = pose(&shop, &asked).map_err(|why| Refusal::about("--material", why))?;
    let question = &posed.question;
    let (found, seconds) = within(Limits::from(args.search), console, |budget, meter| {
        on_threads(args.search.threads, || {
            compare(question, args.search.seed, budget, &mut |now| {
                meter.found(tell::so_far(now), now.steps);
            })
        })
    });
    let (_, currency) = shop.name_and_currency().map_err(rack::about(&shop))?;
    let mut said = ComparisonSaid::new(question, &found);
    said.no_place = no_place(question, &found);
    said.why = why(question, &found);
    tell::tell(question, &found, &said, &currency, console);
    if let Some(file) = &args.csv {
        put(file, table::table(question, &found, &currency).as_bytes())
            .map_err(|why| Refusal::about(file.display(), why))?;
    }
    if let (Some(dir), Some(best)) = (&args.out, found.ways.first()) {
        let run = RunFacts { seconds, steps: found.steps, seed: args.search.seed };
        write(dir, &order, best, run)?;
    }
    if let (true, Some(name), Some(best)) = (args.hold, &args.order, found.best()) {
        said.held = hold(&mut shop, &posed, best, name)?;
    }
    (said.currency, said.seconds) = (currency, seconds);
    console.json(args.json.wanted, &said)?;
    Ok(Outcome::of(found.best().is_some()))
}

/// What is wanted, and where it came from.
fn order(args: &CompareArgs) -> Result<SourcedJob, Refusal> {
    let reading =
        Reading { clearances: args.clearances, turning: &args.turning, units: args.units.unit() };
    let order = match &args.job {
        Some(path) => job::from_file(path, &reading)?,
        None => job::from_flags(&[], &args.part, &reading)?,
    };
    match order.job.wanted.iter().find(|w| w.count == Count::Max) {
        Some(w) => Err(Refusal::about(
            &w.part.name,
            "as many as go in can't be compared; say how many are wanted",
        )),
        None => Ok(order),
    }
}

fn asked(args: &CompareArgs, order: &SourcedJob) -> Result<Asked, Refusal> {
    let starting = starting_cut_data().map_err(|why| Refusal::about("oddment", why))?;
    let of_thickness = starting.clearances(Process::FibreLaser, args.thickness);
    let given: GivenClearances = args.clearances.into();
    let clearances = match args.job {
        Some(_) => order.job.clearances,
        None => given.or(of_thickness.map(Into::into).unwrap_or_default()).complete(),
    };
    let want = |w: &Wanted| {
        let Count::Exactly(count) = w.count else { return None };
        // The material asked for, or what stands in for it, goes before what a part says.
        let part = oddment_core::part::Part { made_from: None, ..w.part.clone() };
        Some(Want { part, count, order: 0, due: None })
    };
    let fresh = (args.no_fresh || !args.fresh.is_empty()).then(|| args.fresh.clone());
    Ok(Asked {
        wanted: order.job.wanted.iter().filter_map(want).collect(),
        material: args.material.clone(),
        thickness: args.thickness,
        stand_ins: args.stand_ins,
        order: args.order.clone(),
        loadable: args.loadable.into(),
        fresh,
        clearances,
        starts: order.job.starts,
    })
}

fn on_threads<T: Send>(threads: Option<usize>, work: impl FnOnce() -> T + Send) -> T {
    match rayon::ThreadPoolBuilder::new().num_threads(threads.unwrap_or(0)).build() {
        Ok(pool) => pool.install(work),
        Err(_) => work(),
    }
}

/// Why the best way goes before fresh sheets, or else before the cheapest of another kind.
fn why(question: &Question, found: &Comparison) -> Option<String> {
    let best = found.best()?;
    let others = || found.ways.iter().filter(|w| w.is_complete() && w.kind != best.kind);
    let other = others().find(|w| w.kind == WayKind::FreshOnly).or_else(|| others().next())?;
    let reason = reason(question, best, other);
    Some(reason_words(&reason, way_words(other.kind), question.is_priced()))
}

/// The parts of which no way places any, and by how much the largest sheet is too small.
fn no_place(question: &Question, found: &Comparison) -> Vec<NoPlaceSaid> {
    let area = |c: &oddment_core::compare::Candidate| c.sheet.area();
    let largest = question.candidates.iter().max_by(|a, b| area(a).total_cmp(&area(b)));
    let Some(largest) = largest else { return Vec::new() };
    let nowhere = |i: &usize| {
        let wanted = question.wanted[*i].count;
        wanted > 0 && found.ways.iter().all(|w| w.missing[*i] == wanted)
    };
    let began = Instant::now();
    let time_up = || began.elapsed().as_secs_f64() > PROOF;
    let budget = Budget { steps: None, time_up: &time_up, stop: Stop::default() };
    let proof = |i: usize| {
        let part = &question.wanted[i].part;
        let answer = fit(&largest.sheet, part, &question.clearances, RESOLUTION, &budget);
        NoPlaceSaid {
            part: part.name.clone(),
            sheet: largest.sheet.name.clone(),
            proven: answer.verdict == Verdict::CannotFit,
            short_mm: answer.shortfall(),
        }
    };
    (0..question.wanted.len()).filter(nowhere).map(proof).collect()
}

/// Writes the plan of a way as `nest` does.
fn write(dir: &Path, order: &SourcedJob, way: &Way, run: RunFacts) -> Result<(), Refusal> {
    let sourced = SourcedJob {
        job: (*way.job).clone(),
        parts: order.parts.clone(),
        sheets: vec![Origin::Outline; way.job.stock.len()],
        ..SourcedJob::new(way.job.clearances)
    };
    write_outputs(dir, &sourced, &way.checked, run, Values::starting())
        .map(drop)
        .map_err(|why| Refusal::about(dir.display(), why))
}

/// Holds the rack's sheets of a way, unless they have changed since they were looked at.
fn hold(shop: &mut Shop, posed: &Posed, way: &Way, order: &str) -> Result<Vec<String>, Refusal> {
    let used = || way.sheets.iter().map(|s| s.candidate);
    let changed = posed.changed(shop, used()).map_err(rack::about(shop))?;
    if !changed.is_empty() {
        let names = changed.join(" and ");
        let sentence = format!("{names} changed meanwhile, so nothing was held; compare again");
        return Err(Refusal::about("--hold", sentence));
    }
    let mut held: Vec<String> = Vec::new();
    for (label, _) in used().filter_map(|c| posed.seen[c].as_ref()) {
        shop.hold(label, order, None).map_err(rack::about(shop))?;
        held.push(label.clone());
    }
    Ok(held)
}
