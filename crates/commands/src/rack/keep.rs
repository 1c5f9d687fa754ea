//! `oddment rack hold`, `check` and `restore`.

use oddment_app::rack::shop_meant;
use oddment_files::words::counted;
use oddment_rack::backup::put_back;
use serde::Serialize;

use super::args::{CheckArgs, HoldArgs, RestoreArgs};
use super::said::{SheetSaid, line};
use super::{about, kept, open};
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
        "{}, {}, {} looked through: {verdict}.",
        counted(found.sheets, "sheet", "sheets"),
        counted(found.events, "event", "events"),
        counted(found.cuts, "cut", "cuts")
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

#[derive(Serialize)]
struct RestoreSaid {
    shop: String,
    backup_of: i64,
    damaged_file: Option<String>,
}

pub(super) fn restore(args: &RestoreArgs, console: &mut Console<'_>) -> Result<Outcome, Refusal> {
    let shop = shop_meant(&kept(console)?, args.shop.shop.as_deref());
    let done = put_back(&shop).map_err(|fault| Refusal::about(shop.display(), fault))?;
    console.say(done.words());
    let said = RestoreSaid {
        shop: shop.display().to_string(),
        backup_of: done.made,
        damaged_file: done.aside.map(|aside| aside.display().to_string()),
    };
    console.json(args.json.wanted, &said)?;
    Ok(Outcome::Yes)
}
