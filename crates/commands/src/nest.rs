//! `oddment nest`: parts onto sheets.

use std::path::Path;

use oddment_core::check::{CheckedPlan, Fault, Party, check};
use oddment_core::fit::{RESOLUTION, Verdict, fit};
use oddment_core::job::Budget;
use oddment_core::packer::{Progress, Settings, pack};
use oddment_core::plan::{Count, Job, Layout, Placement, Plan, Stock, Wanted};
use oddment_core::units::LengthUnit;
use oddment_files::job_file::SourcedJob;
use oddment_files::outputs::{Besides, write_outputs};
use oddment_files::plan_file::{RunFacts, write_plan};
use oddment_files::setup_sheet::Carried;
use oddment_files::words::{counted, fault_words, measure_words, parts_words};

use crate::Outcome;
use crate::args::{NestArgs, SearchArgs};
use crate::console::Console;
use crate::cut_on::CutOn;
use crate::job::{self, Reading};
use crate::rack_sheets;
use crate::refusal::Refusal;
use crate::search::{Limits, within};

pub(crate) fn run(args: &NestArgs, console: &mut Console<'_>) -> Result<Outcome, Refusal> {
    let cut_on = CutOn::new(&args.cut, console)?;
    let reading = Reading {
        clearances: args.clearances,
        turning: &args.turning,
        units: args.units.unit(),
        shop: cut_on.shop.as_ref(),
    };
    let mut job = match &args.job {
        Some(path) => job::from_file(path, &reading)?,
        None => job::from_flags(&args.sheet, &args.part, &reading)?,
    };
    cut_on.apply(&mut job, &args.cut, args.clearances, args.job.is_some())?;
    let order = args.cut.order.clone().unwrap_or_default();
    if let Some(shop) = &cut_on.shop {
        rack_sheets::leave_out_uncertified(&mut job, shop, &order, console)?;
    }
    job::tell_notes(&job, console);
    // Before the search, so that nobody waits for a plan that has no place to go.
    if let Some(dir) = &args.out {
        prepare(dir)?;
    }
    let (plan, facts) = search(&job, args.search, console);
    if let Some(dir) = &args.out {
        let heats = cut_on.shop.as_ref().map(|shop| rack_sheets::heats(&job, shop));
        let carried = Carried { order, heats: heats.unwrap_or_default() };
        let besides = Besides { carried, run: facts };
        write_outputs(dir, &job, &plan, &cut_on.values, &args.export.choices(), &besides)
            .map_err(|fault| Refusal::about(dir.display(), fault))?;
    }
    console.print(args.json.wanted, &write_plan(&job, &plan, facts))?;
    tell(&job.job, &plan, console);
    if let Some(shop) = &cut_on.shop {
        rack_sheets::warn(&job, &plan, shop, console);
    }
    Ok(Outcome::of(plan.is_clear() && plan.plan().is_complete(&job.job)))
}

/// Searches for a plan and checks it.
pub(crate) fn search(
    job: &SourcedJob,
    args: SearchArgs,
    console: &mut Console<'_>,
) -> (CheckedPlan, RunFacts) {
    let threads = args.threads.unwrap_or(0);
    let settings = Settings { seed: args.seed, threads };
    let (packed, seconds) = within(Limits::from(args), console, |budget, meter| {
        let early = || meter.half_gone() || (budget.time_up)();
        let half = Budget { steps: budget.steps, time_up: &early, stop: budget.stop.clone() };
        let place = only_place(job, &half);
        let mut shown = |progress: Progress<'_>| {
            meter.found(summary(&job.job, progress.plan), progress.steps);
        };
        let mut packed = pack(&job.job, &job.locked, settings, budget, &mut shown);
        if packed.plan.placements().next().is_none() {
            packed.plan = place.unwrap_or_default();
        }
        packed
    });
    let facts = RunFacts { seconds, steps: packed.steps, seed: args.seed };
    (cleared(&job.job, packed.plan), facts)
}

/// A place for one of the part, where only one kind is wanted. A search can miss a place that is
/// only just there; this does not.
fn only_place(job: &SourcedJob, budget: &Budget<'_>) -> Option<Plan> {
    let Job { stock, wanted, clearances, .. } = &job.job;
    let [Wanted { part, .. }] = &wanted[..] else { return None };
    if job.locked.placements().next().is_some() {
        return None;
    }
    stock.iter().enumerate().find_map(|(stock, Stock { sheet, .. })| {
        let answer = fit(sheet, part, clearances, RESOLUTION, budget);
        let pose = answer.pose.filter(|_| answer.verdict == Verdict::Fits)?;
        let placements = vec![Placement { part: 0, copy: 1, pose, locked: false }];
        Some(Plan { layouts: vec![Layout { stock, placements }] })
    })
}

/// The plan without what the check finds fault with: what can't be shown to lie clear is not laid.
/// What is locked stays, at fault or not.
fn cleared(job: &Job, plan: Plan) -> CheckedPlan {
    let mut checked = check(job, plan);
    while let Some((layout, placed)) = loose_at_fault(&checked) {
        let mut plan = checked.plan().clone();
        plan.layouts[layout].placements.remove(placed);
        checked = check(job, plan);
    }
    checked
}

/// A placement that has part in a fault and is not locked: its layout and its place there.
fn loose_at_fault(checked: &CheckedPlan) -> Option<(usize, usize)> {
    let loose = |layout: usize, placed: usize| {
        let placement = checked.plan().layouts.get(layout)?.placements.get(placed)?;
        (!placement.locked).then_some((layout, placed))
    };
    checked.report().faults.iter().find_map(|fault| match fault {
        Fault::Short(m) => loose(m.layout, m.placed).or(match m.other {
            Party::Placed(other) => loose(m.layout, other),
            Party::SheetEdge | Party::CutOut(..) | Party::NoGo(_) => None,
        }),
        Fault::Turned { layout, placed }
        | Fault::WrongMetal { layout, placed }
        | Fault::NoStart { layout, placed, .. } => loose(*layout, *placed),
        _ => None,
    })
}

/// Makes sure that a folder is there and can be written to.
pub(crate) fn prepare(dir: &Path) -> Result<(), Refusal> {
    let refuse = |sentence: String| Refusal::about(dir.display(), sentence);
    if dir.exists() && !dir.is_dir() {
        return Err(refuse("this is a file; name a folder to write into".to_owned()));
    }
    std::fs::create_dir_all(dir)
        .and_then(|()| {
            let trial = dir.join(".oddment-trial");
            std::fs::write(&trial, [])?;
            std::fs::remove_file(&trial)
        })
        .map_err(|error| refuse(format!("can't be written to ({error}); name another folder")))
}

/// Tells a person what became of the job.
pub(crate) fn tell(job: &Job, checked: &CheckedPlan, console: &mut Console<'_>) {
    let plan = checked.plan();
    console.say(format_args!("{}.", summary(job, plan)));
    for (i, wanted) in job.wanted.iter().enumerate() {
        let placed = plan.placed(i);
        match wanted.count {
            Count::Exactly(n) if placed < n => {
                console.say(format_args!("  {}: {placed} of {n} placed", wanted.part.name));
            }
            Count::Max => console.say(format_args!("  {}: {placed} placed", wanted.part.name)),
            Count::Exactly(_) => {}
        }
    }
    for layout in plan.layouts.iter().filter(|l| !l.placements.is_empty() && l.is_known(job)) {
        console.say(format_args!(
            "  {}: {} on it, yield {:.1} %",
            job.stock[layout.stock].sheet.name,
            parts_words(layout.placements.len()),
            100.0 * layout.yield_of(job),
        ));
    }
    tell_check(job, checked, console);
}

/// Tells a person what the check says.
pub(crate) fn tell_check(job: &Job, checked: &CheckedPlan, console: &mut Console<'_>) {
    let (plan, report) = (checked.plan(), checked.report());
    for fault in &report.faults {
        console.say(fault_words(job, plan, fault, LengthUnit::Mm));
    }
    if plan.placements().next().is_none() {
        return;
    }
    let verdict = if checked.is_clear() {
        format!("Clear {}", checked.basis().words())
    } else {
        "Not clear".to_owned()
    };
    match &report.tightest {
        Some(tightest) => {
            let tightest = measure_words(job, plan, tightest, LengthUnit::Mm);
            console.say(format_args!("{verdict}. Tightest: {tightest}."));
        }
        None => console.say(format_args!("{verdict}.")),
    }
}

/// “12 of 14 parts placed on 1 sheet”.
fn summary(job: &Job, plan: &Plan) -> String {
    let placed = plan.placements().count();
    let wanted: Option<usize> = job
        .wanted
        .iter()
        .map(|w| match w.count {
            Count::Exactly(n) => Some(n),
            Count::Max => None,
        })
        .sum();
    let of = wanted.map_or_else(String::new, |n| format!(" of {n}"));
    let sheets = plan.layouts.iter().filter(|l| !l.placements.is_empty()).count();
    format!("{placed}{of} parts placed on {}", counted(sheets, "sheet", "sheets"))
}
