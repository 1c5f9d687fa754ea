//! `oddment rack stocktake`: the walk along the rack.

use oddment_rack::stock_take::{Differences, Mark, StockTake};
use oddment_rack::{Shop, ShopFault};
use serde::Serialize;

use super::args::{Step, StocktakeArgs};
use super::{about, open};
use crate::Outcome;
use crate::console::Console;
use crate::refusal::Refusal;

#[derive(Serialize)]
struct WalkSaid {
    began: i64,
    words: String,
    said: Vec<MarkSaid>,
    left: Vec<String>,
}

#[derive(Serialize)]
struct MarkSaid {
    label: String,
    mark: &'static str,
    words: String,
}

#[derive(Serialize)]
struct EndSaid {
    there: usize,
    missing: Vec<String>,
    moved: Vec<MovedSaid>,
    damaged: Vec<MarkSaid>,
    found: Vec<String>,
    not_seen: Vec<String>,
}

#[derive(Serialize)]
struct MovedSaid {
    label: String,
    from: String,
    to: String,
}

pub(super) fn run(args: &StocktakeArgs, console: &mut Console<'_>) -> Result<Outcome, Refusal> {
    let need = |flag: &str, value: &Option<String>| {
        value.clone().ok_or_else(|| Refusal::about(flag, "is missing for this step"))
    };
    let mark = match args.step {
        Step::There => Some(Mark::There),
        Step::Missing => Some(Mark::Missing),
        Step::Moved => Some(Mark::Moved(need("--to", &args.to)?)),
        Step::Damaged => Some(Mark::Damaged(need("--how", &args.how)?)),
        Step::Begin | Step::Status | Step::End => None,
    };
    if mark.is_some() && args.names.is_empty() {
        return Err(Refusal::about("LABEL", "name at least one sheet"));
    }
    let mut shop = open(&args.shop, console)?;
    let wrong = about(&shop);
    if args.step == Step::End {
        let told = shop.end_stock_take(args.rest_is_missing).map_err(&wrong)?;
        tell_end(&told, console);
        console.json(args.json.wanted, &end_said(told))?;
        return Ok(Outcome::Yes);
    }
    if args.step == Step::Begin {
        shop.begin_stock_take(&args.names.join(" ")).map_err(&wrong)?;
    }
    if let Some(mark) = mark {
        mark_all(&mut shop, &args.names, &mark).map_err(&wrong)?;
    }
    let Some(walk) = shop.stock_take().map_err(&wrong)? else {
        return Err(Refusal::about("stocktake", "none is under way; `stocktake begin` begins one"));
    };
    console.say(format_args!("{} seen, {} left.", walk.marks.len(), walk.left.len()));
    for entry in &walk.left {
        console.say(format_args!("  {:<20} {}", entry.facts.stands, entry.label));
    }
    console.json(args.json.wanted, &walk_said(walk))?;
    Ok(Outcome::Yes)
}

/// Says the same of all these sheets, or, where one of them is not there, of none.
fn mark_all(shop: &mut Shop, labels: &[String], mark: &Mark) -> Result<(), ShopFault> {
    for label in labels {
        shop.state_number(label)?;
    }
    labels.iter().try_for_each(|label| shop.mark(label, mark))
}

fn said_of(label: String, mark: Mark) -> MarkSaid {
    let (mark, words) = match mark {
        Mark::There => ("there", String::new()),
        Mark::Missing => ("missing", String::new()),
        Mark::Moved(place) => ("moved", place),
        Mark::Damaged(words) => ("damaged", words),
    };
    MarkSaid { label, mark, words }
}

fn walk_said(walk: StockTake) -> WalkSaid {
    WalkSaid {
        began: walk.began,
        words: walk.words,
        said: walk.marks.into_iter().map(|(label, mark)| said_of(label, mark)).collect(),
        left: walk.left.into_iter().map(|e| e.label).collect(),
    }
}

fn end_said(told: Differences) -> EndSaid {
    let damaged = told.damaged.into_iter();
    let moved = told.moved.into_iter();
    EndSaid {
        there: told.there,
        missing: told.missing,
        moved: moved.map(|(label, from, to)| MovedSaid { label, from, to }).collect(),
        damaged: damaged.map(|(label, words)| said_of(label, Mark::Damaged(words))).collect(),
        found: told.found,
        not_seen: told.not_seen,
    }
}

fn tell_end(told: &Differences, console: &mut Console<'_>) {
    console.say(format_args!("{} sheets are where they should be.", told.there));
    for label in &told.missing {
        console.say(format_args!("  missing: {label}"));
    }
    for (label, from, to) in &told.moved {
        console.say(format_args!("  moved: {label}, from {from} to {to}"));
    }
    for (label, how) in &told.damaged {
        console.say(format_args!("  damaged: {label}, {how}"));
    }
    for label in &told.found {
        console.say(format_args!("  found again: {label}"));
    }
    for label in &told.not_seen {
        console.say(format_args!("  not looked at: {label}"));
    }
}
