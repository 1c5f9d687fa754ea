//! `oddment rack record` and `undo`.

use std::collections::HashMap;

use oddment_app::rack::starts_of;
use oddment_core::check::check;
use oddment_core::plan::{Job, Plan};
use oddment_core::units::LengthUnit;
use oddment_files::bars::is_bar_plan;
use oddment_files::outputs::{cut_of, last_cuts_of};
use oddment_files::plan_file::read_plan;
use oddment_rack::crop::{ForBin, Line};
use oddment_rack::drawings::Drawn;
use oddment_rack::record::{Keep, Outcome as PartOutcome, Reckoned, Recorded, Recording};
use serde::Serialize;

use super::args::{RecordArgs, UndoArgs};
use super::said::EventSaid;
use super::{about, open};
use crate::Outcome;
use crate::console::Console;
use crate::input;
use crate::refusal::Refusal;

#[derive(Serialize)]
struct RecordSaid {
    event: Option<i64>,
    sheets: Vec<RecordedSaid>,
}

#[derive(Serialize)]
struct RecordedSaid {
    sheet: String,
    recorded: bool,
    good: usize,
    not_made: Vec<NotMadeSaid>,
    kept: Vec<KeptSaid>,
    scrap_kg: f64,
    scrap_value: f64,
    heat: String,
    warnings: Vec<String>,
}

#[derive(Serialize)]
struct NotMadeSaid {
    part: String,
    copy: usize,
    outcome: PartOutcome,
}

#[derive(Serialize)]
struct KeptSaid {
    label: String,
    weight_kg: f64,
    value: f64,
}

/// Said before what a preview tells.
pub(super) const PREVIEW: &str = "Nothing is recorded; it would be:";

pub(super) fn record(args: &RecordArgs, console: &mut Console<'_>) -> Result<Outcome, Refusal> {
    let name = args.plan.display().to_string();
    let text = input::text(&args.plan)?;
    if is_bar_plan(&text) {
        return super::bars::record(args, &text, console);
    }
    let (sourced, plan) = read_plan(&text, args.drawings.as_deref())
        .map_err(|faults| Refusal::each(&name, &faults))?;
    let copies: Vec<(&str, usize)> = plan
        .placements()
        .map(|p| (sourced.job.wanted[p.part].part.name.as_str(), p.copy))
        .collect();
    let outcomes = outcomes(args, &copies)?;
    let labels = labels(args, &sourced.job, &plan);
    let recording = Recording {
        outcomes,
        on_bed: args.on_bed,
        minutes: args.minutes,
        reckoned: None,
        squared_up: args.squared_up,
        starts: HashMap::new(),
        also_gone: Vec::new(),
        heat_marked_at: args.heat_mark,
        order: args.order.clone(),
        certificate: args.certificate,
        keep: keep(args),
        anyway: args.anyway,
        unit: LengthUnit::Mm,
        plan: text,
        drawings: if args.preview { HashMap::new() } else { Drawn::of_parts(&sourced) },
    };
    let checked = check(&sourced.job, plan);
    let mut shop = open(&args.shop, console)?;
    let values = shop.working_values().map_err(about(&shop))?;
    let cuts: Vec<(usize, String, Recording)> = labels
        .into_iter()
        .enumerate()
        .map(|(layout, label)| {
            let layout_of = &checked.plan().layouts[layout];
            let sheet = &sourced.job.stock[layout_of.stock].sheet;
            let slot = |line: &Line| line.slot(&sheet.bounds(), sourced.job.clearances.kerf);
            let planned = (!args.no_last_cuts).then(|| last_cuts_of(&sourced, layout_of, &values));
            let typed = args.crop.iter().filter_map(slot);
            let also_gone = typed.chain(planned.into_iter().flatten()).collect();
            // Where the plan leaves starts to the machine, nobody knows where they were.
            let asks = sourced.job.starts.is_some();
            let cut = asks.then(|| cut_of(&sourced, &checked, layout, &values)).flatten();
            let starts = cut.map(|cut| starts_of(&sourced.job, layout_of, &cut));
            let starts = starts.unwrap_or_default();
            // Minutes are of one sheet: of several nobody knows how long each took.
            let timed = args.minutes.is_some() && checked.plan().layouts.len() == 1;
            let reckoned =
                timed.then(|| Reckoned::of(&sourced, &checked, layout, &values)).flatten();
            (layout, label, Recording { starts, also_gone, reckoned, ..recording.clone() })
        })
        .collect();
    if cuts.is_empty() {
        return Err(Refusal::about(&name, "the plan lays nothing, so there is nothing to record"));
    }
    let wrong = |fault| Refusal::about(&name, fault);
    let recorded = if args.preview {
        let previews = shop.preview(&sourced.job, &checked, &cuts).map_err(wrong)?;
        console.say(PREVIEW);
        for preview in &previews {
            if let Some(crop) = &preview.crop {
                console.say(crop.words());
            }
            if let Some(cut_up) = preview.for_bin.as_ref().and_then(ForBin::cut_up_words) {
                console.say(format_args!("for the bin, {cut_up}"));
            }
        }
        previews.into_iter().map(|p| p.recorded).collect()
    } else {
        shop.record(&sourced.job, &checked, &cuts).map_err(wrong)?
    };
    tell(recorded, args, console)
}

/// Which leftovers stay.
pub(super) fn keep(args: &RecordArgs) -> Keep {
    match (args.keep_all, args.keep_nothing) {
        (true, _) => Keep::All,
        (_, true) => Keep::Nothing,
        _ => Keep::ByRule,
    }
}

/// Tells what was recorded.
pub(super) fn tell(
    recorded: Vec<Recorded>,
    args: &RecordArgs,
    console: &mut Console<'_>,
) -> Result<Outcome, Refusal> {
    for one in &recorded {
        console.say(one.words(LengthUnit::Mm));
        for warning in &one.warnings {
            console.say(warning);
        }
        for (part, copy, outcome) in &one.not_made {
            let why = match outcome {
                PartOutcome::Scrap(why) => format!("scrap ({why})"),
                PartOutcome::HalfCut => "half cut".to_owned(),
                _ => "not begun".to_owned(),
            };
            console.say(format_args!("  back to the order: {part}#{copy}, {why}"));
        }
    }
    let event = recorded.iter().map(|r| r.event).find(|e| *e > 0);
    let sheets = recorded.into_iter().map(said).collect();
    console.json(args.json.wanted, &RecordSaid { event, sheets })?;
    Ok(Outcome::Yes)
}

fn said(one: Recorded) -> RecordedSaid {
    let not_made = one.not_made.into_iter();
    let kept = one.kept.into_iter();
    RecordedSaid {
        sheet: one.label,
        recorded: one.event > 0,
        good: one.good,
        not_made: not_made
            .map(|(part, copy, outcome)| NotMadeSaid { part, copy, outcome })
            .collect(),
        kept: kept.map(|k| KeptSaid { label: k.label, weight_kg: k.kg, value: k.value }).collect(),
        scrap_kg: one.scrap.0,
        scrap_value: one.scrap.1,
        heat: one.heat,
        warnings: one.warnings,
    }
}

/// The label in the rack of each sheet of the plan.
fn labels(args: &RecordArgs, job: &Job, plan: &Plan) -> Vec<String> {
    let mut given = args.sheet.clone();
    plan.layouts
        .iter()
        .map(|layout| {
            let name = &job.stock[layout.stock].sheet.name;
            match given.iter().position(|(from, _)| from == name) {
                Some(at) => given.remove(at).1,
                None => name.clone(),
            }
        })
        .collect()
}

/// What became of the parts that are named; `copies` are all the plan has.
pub(super) fn outcomes(
    args: &RecordArgs,
    copies: &[(&str, usize)],
) -> Result<HashMap<(String, usize), PartOutcome>, Refusal> {
    let mut outcomes = HashMap::new();
    let mut refusal = Refusal::default();
    let scrap = args.scrap.iter().map(|text| {
        let (part, why) = text.split_once('=').unwrap_or((text, "no reason given"));
        ("--scrap", part, PartOutcome::Scrap(why.to_owned()))
    });
    let half = args.half_cut.iter().map(|text| ("--half-cut", &**text, PartOutcome::HalfCut));
    let never = args.never.iter().map(|text| ("--never", &**text, PartOutcome::NeverStarted));
    for (flag, text, outcome) in scrap.chain(half).chain(never) {
        let named = text.rsplit_once('#').and_then(|(part, copy)| Some((part, copy.parse().ok()?)));
        let placed = named.filter(|named| copies.contains(named));
        match placed {
            Some((part, copy)) => {
                if outcomes.insert((part.to_owned(), copy), outcome).is_some() {
                    refusal.add(Refusal::about(flag, format_args!("“{text}” is named twice")));
                }
            }
            None => refusal.add(Refusal::about(
                flag,
                format_args!(
                    "“{text}” is not in the plan; name a part and its copy, as in gusset#2"
                ),
            )),
        }
    }
    refusal.or(outcomes)
}

#[derive(Serialize)]
struct UndoSaid<'a> {
    undone: EventSaid<'a>,
    event: i64,
}

pub(super) fn undo(args: &UndoArgs, console: &mut Console<'_>) -> Result<Outcome, Refusal> {
    let mut shop = open(&args.shop, console)?;
    let wrong = about(&shop);
    let undone = shop.undo(args.event).map_err(&wrong)?;
    console.say(format_args!("Undone: {}", undone.said));
    let event = shop.newest_event().map_err(&wrong)?;
    console.json(args.json.wanted, &UndoSaid { undone: EventSaid::new(&undone), event })?;
    Ok(Outcome::Yes)
}
