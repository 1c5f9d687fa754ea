//! `oddment rack find`: which sheets have room.

use oddment_core::fit::RESOLUTION;
use oddment_core::part::Part;
use oddment_core::shape::{Loop, Point, Region};
use oddment_files::job_file::GivenClearances;
use oddment_rack::bars::{FoundBar, SAME};
use oddment_rack::find::{Room, Wish};
use serde::Serialize;

use super::args::FindArgs;
use super::said::{SheetSaid, line};
use super::{about, open};
use crate::Outcome;
use crate::console::Console;
use crate::job::{self, Reading};
use crate::refusal::Refusal;
use crate::search::{Limits, within};

#[derive(Serialize)]
struct FindSaid<'a> {
    have_room: usize,
    not_decided: usize,
    looked_at: usize,
    seconds: f64,
    sheets: Vec<FoundSaid<'a>>,
}

#[derive(Serialize)]
struct FoundSaid<'a> {
    #[serde(flatten)]
    sheet: SheetSaid<'a>,
    room: &'static str,
    pose: Option<PoseSaid>,
    spare_mm: Option<f64>,
    short_mm: Option<f64>,
}

#[derive(Serialize)]
struct PoseSaid {
    x: f64,
    y: f64,
    turn_deg: f64,
    flipped: bool,
}

pub(super) fn run(args: &FindArgs, console: &mut Console<'_>) -> Result<Outcome, Refusal> {
    if let Some(length) = args.length {
        return bars(args, length, console);
    }
    let part = part(args, console)?;
    let shop = open(&args.shop, console)?;
    let values = shop.working_values().map_err(about(&shop))?;
    let of_thickness = args.thickness.and_then(|t| values.clearances(None, t)).map(Into::into);
    let given: GivenClearances = args.clearances.into();
    // Without a thickness each sheet is searched with the distances of its own.
    let thicknesses = if args.thickness.is_some() { Ok(Vec::new()) } else { shop.thicknesses() };
    let own = |t: f64| Some((t, given.or(values.clearances(None, t)?.into()).complete()));
    let by_thickness = thicknesses.map_err(about(&shop))?.into_iter().filter_map(own).collect();
    let wish = Wish {
        typed: args.words.join(" "),
        material: args.material.clone(),
        thickness: args.thickness,
        loadable: args.loadable.into(),
        order: args.order.clone(),
        certificate: false,
        part,
        clearances: given.or(of_thickness.unwrap_or_default()).complete(),
        by_thickness,
        resolution: RESOLUTION,
    };
    let order = args.order.as_deref().map(|name| shop.order(name)).transpose();
    let order = order.map_err(about(&shop))?.flatten();
    let wish = Wish { certificate: order.is_some_and(|order| order.certificate), ..wish };
    let limits = Limits::new(args.seconds, None);
    let (found, seconds) =
        within(limits, console, |budget, _| shop.find(&wish, budget, &mut |_, _| {}));
    let found = found.map_err(about(&shop))?;
    let said: Vec<FoundSaid<'_>> = found
        .iter()
        .map(|f| {
            let sheet = SheetSaid::new(&f.entry);
            let said = |room, pose, spare_mm, short_mm| FoundSaid {
                sheet,
                room,
                pose,
                spare_mm,
                short_mm,
            };
            match f.room {
                Room::Has { pose, spare } => {
                    let pose = PoseSaid {
                        x: pose.shift.x,
                        y: pose.shift.y,
                        turn_deg: pose.turn.to_degrees(),
                        flipped: pose.flipped,
                    };
                    said("has", Some(pose), Some(spare), None)
                }
                Room::None { short } => said("none", None, None, short),
                Room::NotDecided => said("not_decided", None, None, None),
            }
        })
        .collect();
    let count = |room: &str| said.iter().filter(|s| s.room == room).count();
    let (have_room, not_decided) = (count("has"), count("not_decided"));
    for f in found.iter().filter(|f| !matches!(f.room, Room::None { .. })) {
        let room = match f.room {
            Room::Has { spare, .. } => format!("has room, {spare:.1} to spare"),
            _ => "not decided".to_owned(),
        };
        let bow = if wish.loadable.lacks_bow(&f.entry) { ", bow not known" } else { "" };
        console.say(format_args!("{} · {room}{bow}", line(&f.entry)));
    }
    let open = if not_decided > 0 { format!(", {not_decided} not decided") } else { String::new() };
    console.say(format_args!(
        "{have_room} of {} sheets have room{open} ({seconds:.1} s).",
        said.len()
    ));
    let looked_at = said.len();
    let document = FindSaid { have_room, not_decided, looked_at, seconds, sheets: said };
    console.json(args.json.wanted, &document)?;
    Ok(Outcome::of(have_room > 0))
}

/// The bars that are long enough.
fn bars(args: &FindArgs, length: f64, console: &mut Console<'_>) -> Result<Outcome, Refusal> {
    let shop = open(&args.shop, console)?;
    let words = args.words.join(" ");
    let found = shop.find_bars(&words, length, args.order.as_deref()).map_err(about(&shop))?;
    let has = |spare: f64| spare >= -SAME;
    for f in found.iter().filter(|f| has(f.spare)) {
        console.say(format_args!("{} · {:.1} to spare", line(&f.entry), f.spare.max(0.0)));
    }
    let have_room = found.iter().filter(|f| has(f.spare)).count();
    console.say(format_args!("{have_room} of {} bars are long enough.", found.len()));
    let said = |f: &'_ FoundBar| {
        let (room, spare) = if has(f.spare) { ("has", true) } else { ("none", false) };
        (room, spare.then_some(f.spare.max(0.0)), (!spare).then_some(-f.spare))
    };
    let sheets = found.iter().map(|f| {
        let (room, spare_mm, short_mm) = said(f);
        FoundSaid { sheet: SheetSaid::new(&f.entry), room, pose: None, spare_mm, short_mm }
    });
    let document = FindSaid {
        have_room,
        not_decided: 0,
        looked_at: found.len(),
        seconds: 0.0,
        sheets: sheets.collect(),
    };
    console.json(args.json.wanted, &document)?;
    Ok(Outcome::of(have_room > 0))
}

fn part(args: &FindArgs, console: &mut Console<'_>) -> Result<Part, Refusal> {
    let mut part = match (&args.part, args.size) {
        (Some(path), _) => {
            let reading = Reading {
                clearances: args.clearances,
                turning: &args.turning,
                units: args.units.unit(),
                shop: None,
            };
            return job::one_part(path, &reading, console);
        }
        (None, size) => {
            let [width, height] = size.unwrap_or_default();
            let outer = Loop::rectangle(Point::origin(), Point::new(width, height))
                .map_err(|why| Refusal::about("--size", why))?;
            Part::new(format!("{width} × {height}"), Region::new(outer, Vec::new()))
        }
    };
    if let Some(turning) = &args.turning.turn {
        part.turning = turning.clone();
    }
    part.flip = args.turning.flip;
    Ok(part)
}
