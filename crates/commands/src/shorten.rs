//! `oddment shorten`: the shortest strip that takes all the parts.

use oddment_core::distances::Clearances;
use oddment_core::packer::{Settings, Shortened, Strip, shorten};
use oddment_core::part::{Part, Turning};
use oddment_core::shape::{Loop, LoopFault, PartSpace, Point, Region};
use oddment_files::job_file::GivenClearances;
use serde::{Deserialize, Serialize};

use crate::Outcome;
use crate::args::ShortenArgs;
use crate::console::Console;
use crate::input;
use crate::refusal::Refusal;
use crate::search::{Limits, within};

/// All items have to go in, so that more of them would keep the search from its first layout.
const MOST_ITEMS: usize = 1_000;

/// The academic form of a strip to be packed; lengths are taken for millimetres.
#[derive(Deserialize)]
struct Instance {
    name: String,
    strip_width: f64,
    rotations_deg: Rotations,
    items: Vec<ItemGiven>,
}

/// The angles an item may lie at: a list, or "any".
#[derive(Deserialize)]
#[serde(untagged, expecting = "rotations_deg is neither a list of angles nor \"any\"")]
enum Rotations {
    These(Vec<f64>),
    Any(AnyAngle),
}

#[derive(Deserialize)]
#[serde(rename_all = "lowercase")]
enum AnyAngle {
    Any,
}

#[derive(Deserialize)]
struct ItemGiven {
    quantity: usize,
    outline: Vec<[f64; 2]>,
    #[serde(default)]
    holes: Vec<Vec<[f64; 2]>>,
}

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
    let instance: Instance = serde_json::from_slice(&input::bytes(&args.instance)?)
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

impl Instance {
    fn strip(&self, clearances: Clearances) -> Result<Strip, Vec<String>> {
        let mut faults = Vec::new();
        let turning = match &self.rotations_deg {
            Rotations::These(degrees) => {
                Turning::Only(degrees.iter().map(|d| d.to_radians()).collect())
            }
            Rotations::Any(AnyAngle::Any) => Turning::Free,
        };
        if turning == Turning::Only(Vec::new()) {
            faults.push("rotations_deg: the list is empty; write [0] for only as drawn".to_owned());
        }
        if self.items.iter().fold(0, |n: usize, i| n.saturating_add(i.quantity)) > MOST_ITEMS {
            faults.push(format!("items: more than {MOST_ITEMS} are wanted; ask for fewer"));
        }
        let mut parts = Vec::new();
        for (i, item) in self.items.iter().enumerate() {
            match item.region() {
                Ok(region) => {
                    let part = Part::new(format!("item {i}"), region);
                    parts.push((Part { turning: turning.clone(), ..part }, item.quantity));
                }
                Err(fault) => faults.push(format!("items[{i}]: {fault}; mend its points")),
            }
        }
        if faults.is_empty() {
            Ok(Strip { width: self.strip_width, parts, clearances })
        } else {
            Err(faults)
        }
    }
}

impl ItemGiven {
    fn region(&self) -> Result<Region<PartSpace>, LoopFault> {
        let polygon =
            |points: &Vec<[f64; 2]>| Loop::polygon(points.iter().map(|[x, y]| Point::new(*x, *y)));
        let holes = self.holes.iter().map(polygon).collect::<Result<_, _>>()?;
        Ok(Region::new(polygon(&self.outline)?, holes))
    }
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
