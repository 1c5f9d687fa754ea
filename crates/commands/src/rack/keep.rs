//! `oddment rack hold` and `check`.

use serde::Serialize;

use super::args::{CheckArgs, HoldArgs};
use super::said::{SheetSaid, line};
use super::{about, open};
use crate::Outcome;
use crate::console::Console;
use crate::refusal::Refusal;

pub(super) fn hold(args: &HoldArgs, console: &mut Console<'_>) -> Result<Outcome, Refusal> {
    let mut shop = open(&args.shop, console)?;
    let wrong = about(&shop);
    if args.lifted {
        shop.lift(&args.label).map_err(&wrong)?;
    }
    if let Some(place) = &args.move_to {
        shop.move_to(&args.label, place).map_err(&wrong)?;
    }
    if args.release {
        shop.release(&args.label).map_err(&wrong)?;
    }
    if let Some(order) = &args.order {
        shop.hold(&args.label, order, args.until).map_err(&wrong)?;
    }
    let entry = shop.sheet(&args.label).map_err(&wrong)?.entry;
    console.say(line(&entry));
    console.json(args.json.wanted, &SheetSaid::new(&entry))?;
    Ok(Outcome::Yes)
}

#[derive(Serialize)]
struct CheckSaid {
    shop: String,
    sound: bool,
    sheets: usize,
    events: usize,
    cuts: usize,
    problems: Vec<String>,
}

pub(super) fn check(args: &CheckArgs, console: &mut Console<'_>) -> Result<Outcome, Refusal> {
    let shop = open(&args.shop, console)?;
    let found = shop.verify().map_err(about(&shop))?;
    for problem in &found.problems {
        console.say(problem);
    }
    let sound = found.problems.is_empty();
    let verdict = if sound { "all is well" } else { "something is wrong" };
    console.say(format_args!(
        "{} sheets, {} events, {} cuts looked through: {verdict}.",
        found.sheets, found.events, found.cuts
    ));
    let said = CheckSaid {
        shop: shop.path().display().to_string(),
        sound,
        sheets: found.sheets,
        events: found.events,
        cuts: found.cuts,
        problems: found.problems,
    };
    console.json(args.json.wanted, &said)?;
    Ok(Outcome::of(sound))
}
