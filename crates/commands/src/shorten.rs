//! `oddment shorten`: the shortest strip that takes all the parts.

use oddment_core::distances::Clearances;
use oddment_core::packer::{Settings, Shortened, shorten};
use oddment_files::job_file::GivenClearances;
use oddment_files::strip_file::StripFile;
use serde::Serialize;

use crate::Outcome;
use crate::args::ShortenArgs;
use crate::console::Console;
use crate::input;
use crate::refusal::Refusal;
use crate::search::{Limits, within};

#[derive(Serialize)]
struct Document<'a> {
    name: &'a str,
    length: f64,
    density: f64,
    seconds: f64,
    steps: u64,
    placements: Vec<PlacementSaid>,
}

#[derive(Serialize)]
struct PlacementSaid {
    item: usize,
    copy: usize,
    x: f64,
    y: f64,
    turn_deg: f64,
    flipped: bool,
}

pub(crate) fn run(args: &ShortenArgs, console: &mut Console<'_>) -> Result<Outcome, Refusal> {
    let refuse =
        |sentence: &dyn std::fmt::Display| Refusal::about(args.instance.display(), sentence);
    let instance: StripFile = serde_json::from_slice(&input::bytes(&args.instance)?)
        .map_err(|error| refuse(&format_args!("{error}; write it as the example in --help")))?;
    let clearances = GivenClearances::from(args.clearances).or(Clearances::NONE.into()).complete();
    let strip = instance
        .strip(clearances)
        .map_err(|faults| Refusal::each(args.instance.display(), &faults))?;
    let settings = Settings { seed: args.search.seed, threads: args.search.threads.unwrap_or(0) };
    let area: f64 = strip.parts.iter().map(|(p, n)| p.region.area() * *n as f64).sum();
    let density = |found: &Shortened| 100.0 * area / (strip.width * found.length);
    let (found, seconds) = within(Limits::from(args.search), console, |budget, meter| {
        shorten(&strip, settings, budget, &mut |found| {
            let best = format!("{:.3} long, {:.2} % covered", found.length, density(found));
            meter.found(best, found.steps);
        })
    });
    let found = found.map_err(|fault| refuse(&fault))?;
    let document = Document {
        name: &instance.name,
        length: found.length,
        density: density(&found),
        seconds,
        steps: found.steps,
        placements: placements(&found, strip.parts.len()),
    };
    console.json(args.json.wanted, &document)?;
    console.say(format_args!(
        "{}: {:.3} long, {:.2} % covered, in {seconds:.1} s and {} steps.",
        document.name, document.length, document.density, document.steps,
    ));
    Ok(Outcome::Yes)
}

/// The placements with the copies of each item numbered from 1.
fn placements(found: &Shortened, items: usize) -> Vec<PlacementSaid> {
    let mut copies = vec![0; items];
    let said = found.placements.iter().map(|(item, pose)| {
        copies[*item] += 1;
        PlacementSaid {
            item: *item,
            copy: copies[*item],
            x: pose.shift.x,
            y: pose.shift.y,
            turn_deg: pose.turn.to_degrees(),
            flipped: pose.flipped,
        }
    });
    said.collect()
}
