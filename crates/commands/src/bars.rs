//! `oddment bars`: which bars to cut, and what from each.

use std::path::Path;

use oddment_core::bars::{BarPlan, BarsAccount, CutList, Setup, Stock, clear};
use oddment_core::units::LengthUnit;
use oddment_files::bars::{
    Beside, Table, bars_sheet, is_same_name, read_cut_list, read_table, write_bar_plan,
};
use oddment_files::outputs::put;
use oddment_files::setup_sheet::Paper;
use oddment_rack::bars::charge_by_policies;
use oddment_rack::{Shop, ShopFault};
use serde::Serialize;

use crate::Outcome;
use crate::args::BarsArgs;
use crate::console::Console;
use crate::input;
use crate::rack::{self, args::ShopArg};
use crate::refusal::Refusal;
use crate::search::{Limits, within};

#[derive(Serialize)]
struct Document {
    bars: Vec<BarSaid>,
    cost: f64,
    /// What it is made up of.
    account: AccountSaid,
    lower_bound: f64,
    proven: bool,
    missing: Vec<MissingSaid>,
    /// Entries of the stock that the machine does not take.
    not_loaded: Vec<usize>,
    seconds: f64,
    steps: u64,
}

#[derive(Serialize)]
struct AccountSaid {
    metal: f64,
    scrap: f64,
    handling: f64,
    goes_back: f64,
}

#[derive(Serialize)]
struct BarSaid {
    length: f64,
    cuts: Vec<f64>,
    /// Which entry of the list's stock it is of, from 0.
    stock: usize,
    name: String,
    heat: String,
    place: String,
    cost: f64,
    /// How much of the cost is for bringing it to the machine.
    handling: f64,
    /// How much was cut off its datum end before, and where on it the first cut is now.
    cut_before: f64,
    start_at: f64,
    /// The parts in the order of `cuts`: name, and where each begins.
    pieces: Vec<PieceSaid>,
    /// Holes and copes, in order along the bar.
    holes: Vec<HoleSaid>,
    /// What is left, from where to where, and whether it is worth keeping.
    left: [f64; 2],
    kept: bool,
    support_at: Option<f64>,
    mass_kg: Option<f64>,
    tabs: usize,
    seconds: f64,
    warnings: Vec<String>,
}

#[derive(Serialize)]
struct PieceSaid {
    name: String,
    part: usize,
    at: f64,
    reversed: bool,
    turned_over: bool,
}

#[derive(Serialize)]
struct HoleSaid {
    at: f64,
    size: f64,
    /// The face of the bar as it lies.
    face: String,
    cope: bool,
    /// Which of `pieces` it is in.
    piece: usize,
}

#[derive(Serialize)]
struct MissingSaid {
    length: f64,
    count: usize,
}

pub(crate) fn run(args: &BarsArgs, console: &mut Console<'_>) -> Result<Outcome, Refusal> {
    let name = args.list.display();
    let table = args.parts.as_deref().map(|path| table_parts(path, console)).transpose()?;
    let (parts, said) = table.map(|t| (t.parts, [t.profile, t.material])).unwrap_or_default();
    let text = input::text(&args.list)?;
    let shop = match &args.shop {
        Some(shop) => Some(rack::open(&ShopArg { shop: shop.clone() }, console)?),
        None => None,
    };
    let about_shop = |fault: ShopFault| Refusal::about("--shop", fault);
    let profiles = shop.as_ref().map_or(Ok(Vec::new()), Shop::own_profiles).map_err(about_shop)?;
    let parts = parts.into_iter().map(|(_, part)| part).collect();
    let beside = Beside { parts, stock: shop.is_some(), profiles };
    let read = read_cut_list(&text, beside).map_err(|f| Refusal::each(&name, &f))?;
    for place in &read.unknown {
        console.say(format_args!("note: {name}: {place} means nothing here and is left out"));
    }
    let mut list = read.list;
    let profile = list.profile.as_ref().map(|p| p.name.as_str());
    let material = Some(list.material.as_str()).filter(|m| !m.is_empty());
    let known = [(profile, "profile"), (material, "material")];
    for ((known, called), said) in known.into_iter().zip(&said) {
        if let (Some(known), Some(said), Some(path)) = (known, said, &args.parts)
            && !is_same_name(said, known)
        {
            let why = format!(
                "its parts are of {said}, the list is of {known}; plan each {called} in a list of \
                 its own"
            );
            return Err(Refusal::about(path.display(), why));
        }
    }
    if let Some(shop) = &shop {
        let bars = shop.bars_for(&list, args.order.as_deref()).map_err(about_shop)?;
        console.say(format_args!("note: {} bars of the rack come into question", bars.len()));
        list.stock.extend(bars);
        let materials = shop.materials().map_err(about_shop)?;
        let values = shop.working_values().map_err(about_shop)?;
        charge_by_policies(&mut list, &materials, values.policies());
    }
    for (i, bar) in not_loaded(&list) {
        let called =
            if bar.name.is_empty() { format!("stock line {}", i + 1) } else { bar.name.clone() };
        console.say(format_args!(
            "note: {called} is {} mm long, which the machine does not take; it is left out",
            bar.length
        ));
    }
    let limits = Limits::new(args.seconds, args.steps);
    let (planned, seconds) = within(limits, console, |budget, meter| {
        list.plan(budget, &mut |plan| meter.found(in_words(plan), plan.steps))
    });
    let plan = planned.map_err(|faults| Refusal::each(&name, &faults))?;
    let own = "oddment: a fault of the program itself, please report it";
    let checked = clear(&list, &plan).map_err(|faults| Refusal::each(own, &faults))?;
    if let Some(path) = &args.sheet {
        let refuse = |sentence: &dyn std::fmt::Display| Refusal::about(path.display(), sentence);
        let pdf = bars_sheet(&checked, Paper::A4, LengthUnit::Mm).map_err(|f| refuse(&f))?;
        std::fs::write(path, pdf)
            .map_err(|fault| refuse(&format_args!("can’t be written: {fault}")))?;
    }
    if let Some(path) = &args.plan {
        let title = args.order.as_deref().unwrap_or_default();
        put(path, write_bar_plan(title, &list, &plan).as_bytes()).map_err(|why| {
            Refusal::about(path.display(), format_args!("can’t be written: {why}"))
        })?;
    }
    let document = document(&list, &plan, seconds);
    console.json(args.json.wanted, &document)?;
    for (i, bar) in document.bars.iter().enumerate() {
        console.say(format_args!("bar {}, {} mm: {}", i + 1, bar.length, cuts_in_words(&bar.cuts)));
        for warning in &bar.warnings {
            console.say(format_args!("  careful: {warning}"));
        }
    }
    for MissingSaid { length, count } in &document.missing {
        console.say(format_args!("no bar is left for {count} of {length} mm"));
    }
    console.say(format_args!("{}, in {seconds:.1} s and {} steps.", in_words(&plan), plan.steps));
    console.say(
        "Check each bar's length and straightness before you cut, hold it as the machine's manual \
         says, and never hold short ends by hand.",
    );
    Ok(Outcome::of(document.missing.is_empty()))
}

/// A table of parts without a fault; tells how it was understood.
fn table_parts(path: &Path, console: &mut Console<'_>) -> Result<Table, Refusal> {
    let table = read_table(&input::text(path)?, LengthUnit::Mm);
    if !table.faults.is_empty() {
        return Err(Refusal::each(path.display(), &table.faults));
    }
    let how = if table.headed { "by their headings" } else { "by what stands in them" };
    console.say(format_args!(
        "note: {}: {} rows; columns found {how}, lengths in {}",
        path.display(),
        table.parts.len(),
        table.unit,
    ));
    Ok(table)
}

fn document(list: &CutList, plan: &BarPlan, seconds: f64) -> Document {
    let bars = plan.bars.iter().map(|bar| {
        let stock = &list.stock[bar.stock];
        let Setup { cuts, holes, left, kept, support, mass, tabs, warnings, seconds } =
            list.setup(bar);
        let pieces = bar.pieces.iter().map(|piece| PieceSaid {
            name: list.parts[piece.part].name.clone(),
            part: piece.part,
            at: piece.at,
            reversed: piece.reversed,
            turned_over: piece.turned_over,
        });
        BarSaid {
            length: stock.length,
            cuts: bar.pieces.iter().map(|piece| list.parts[piece.part].length).collect(),
            stock: bar.stock,
            name: stock.name.clone(),
            heat: stock.heat.clone(),
            place: stock.place.clone(),
            cost: stock.cost(),
            handling: stock.handling,
            cut_before: stock.cut_before,
            start_at: cuts.first().map_or(0.0, |cut| cut.at),
            pieces: pieces.collect(),
            holes: holes
                .into_iter()
                .map(|hole| HoleSaid {
                    at: hole.at,
                    size: hole.size,
                    face: hole.face_words,
                    cope: hole.cope,
                    piece: hole.piece,
                })
                .collect(),
            left: [left.0, left.1],
            kept,
            support_at: support.map(|support| support.at),
            mass_kg: mass,
            tabs,
            seconds,
            warnings: warnings.iter().map(ToString::to_string).collect(),
        }
    });
    let missing = list.parts.iter().zip(&plan.missing).filter(|(_, count)| **count > 0);
    let BarsAccount { metal, scrap, handling, goes_back } = list.account(plan);
    Document {
        bars: bars.collect(),
        cost: plan.cost,
        account: AccountSaid { metal, scrap, handling, goes_back },
        lower_bound: plan.lower_bound,
        proven: plan.proven,
        not_loaded: not_loaded(list).map(|(i, _)| i).collect(),
        missing: missing.map(|(part, n)| MissingSaid { length: part.length, count: *n }).collect(),
        seconds,
        steps: plan.steps,
    }
}

/// The bars that the machine does not take.
fn not_loaded(list: &CutList) -> impl Iterator<Item = (usize, &Stock)> {
    list.stock.iter().enumerate().filter(|(_, bar)| !list.loads(bar))
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
