//! Which sheet should it come from? 300 remnants of one metal and an order of 40 parts: when the first
//! ways are ranked, when nothing better is found any more, how soon a stop is honoured.

use std::time::{Duration, Instant};

use oddment_app::compare::fresh_sheet;
use oddment_app::rack::sample_materials;
use oddment_app::sample_shop::SampleShop;
use oddment_core::compare::{Candidate, Question, Source, Want, compare};
use oddment_core::job::{Budget, Stop};
use oddment_core::part::Part;
use oddment_core::sheet::{EdgeFacts, EdgeKind, Metal, Sheet};
use oddment_files::job_file::CutWishes;
use oddment_files::values::Values;

use crate::rack::remnant_region;
use crate::report::Table;

/// Remnants in the rack.
const REMNANTS: usize = 300;

/// Parts of the order, by name.
const ORDER: [(&str, usize); 4] =
    [("rack-side", 6), ("deck-bracket", 12), ("head-tube-gusset", 10), ("rack-stay-tab", 12)];

/// Seconds that it may take to settle.
const LIMIT: f64 = 60.0;

/// Seconds after which a stop is tried.
const STOPS: [f64; 8] = [0.3, 1.0, 2.0, 3.0, 5.0, 8.0, 13.0, 21.0];

/// Figures for finding ways, and for stopping.
pub(crate) fn run() -> Table {
    let mut table = Table::new();
    match question() {
        Ok(question) => measure(&mut table, &question),
        Err(fault) => eprintln!("error: {fault}"),
    }
    table
}

fn measure(table: &mut Table, question: &Question) {
    let begun = Instant::now();
    let seconds = || begun.elapsed().as_secs_f64();
    let (mut first, mut remnant, mut ranked) = (None, None, None);
    let mut cost: Vec<(f64, f64)> = Vec::new();
    let time_up = || seconds() > LIMIT;
    let budget = Budget { steps: None, time_up: &time_up, stop: Stop::default() };
    let found = compare(question, 1, &budget, &mut |now| {
        let Some(best) = now.best() else { return };
        first.get_or_insert_with(seconds);
        let of_remnants =
            now.ways.iter().any(|w| w.is_complete() && w.sheets_of(question, Source::Remnant) > 0);
        if of_remnants {
            remnant.get_or_insert_with(seconds);
        }
        if now.looked_at.0 == now.looked_at.1 {
            ranked.get_or_insert_with(seconds);
        }
        if cost.last().is_none_or(|c| best.score < c.1 - 1e-6) {
            cost.push((seconds(), best.score));
        }
    });
    let took = seconds();
    let or_never = |at: Option<f64>| at.unwrap_or(f64::INFINITY);
    table.add("remnants", REMNANTS as f64, "", None);
    table.add("first way", or_never(first), "s", None);
    table.add("first way from remnants", or_never(remnant), "s", Some(3.0));
    table.add("every sheet looked at", or_never(ranked), "s", None);
    table.add("settled", if found.settled { took } else { f64::INFINITY }, "s", Some(LIMIT));
    for share in [1.1, 1.05, 1.01] {
        let least = found.best().map_or(0.0, |b| b.score);
        let near = cost.iter().find(|c| c.1 <= share * least).map(|c| c.0);
        let name = format!("within {:.0} % of the best found", 100.0 * (share - 1.0));
        table.add(name, or_never(near), "s", None);
    }
    table.add("ways", found.ways.len() as f64, "", None);
    table.add("cost of the best", found.best().map_or(f64::INFINITY, |b| b.score), "EUR", None);
    table.add("could be too dear, at most", 100.0 * found.gap().unwrap_or(1.0), "%", None);
    table.add("steps", found.steps as f64, "", None);
    let latest = STOPS.iter().map(|after| stopped(question, *after)).fold(0.0, f64::max);
    table.add("a stop is honoured after, at worst", 1e3 * latest, "ms", Some(100.0));
}

/// Seconds from a stop, so long after the beginning, to the end.
fn stopped(question: &Question, after: f64) -> f64 {
    let stop = Stop::default();
    let budget = Budget { steps: None, time_up: &|| false, stop: stop.clone() };
    std::thread::scope(|scope| {
        let search = scope.spawn(|| {
            compare(question, 1, &budget, &mut |_| {});
            Instant::now()
        });
        std::thread::sleep(Duration::from_secs_f64(after));
        let raised = Instant::now();
        stop.raise();
        // One that has settled before is no case; a panic is reported by the run before.
        search.join().map_or(0.0, |ended| ended.saturating_duration_since(raised).as_secs_f64())
    })
}

/// The order of 40 parts, the rack of remnants with old cut-outs, and the fresh sizes.
fn question() -> Result<Question, Box<dyn std::error::Error>> {
    let (shop, materials, values) = (SampleShop::load()?, sample_materials()?, Values::starting());
    let mut wanted = Vec::new();
    for (name, count) in ORDER {
        let of = shop.parts.iter().find(|p| p.name == name).ok_or("a part is missing")?;
        let part = Part { made_from: None, ..of.part()? };
        wanted.push(Want { part, count, order: 0, due: None });
    }
    let material = materials.iter().find(|m| m.name == "S235").ok_or("S235 is missing")?;
    let metal = Metal { material: "S235".into(), thickness: 3.0, density: material.density };
    let mut random = fastrand::Rng::with_seed(3);
    let mut candidates = Vec::new();
    for n in 1..=REMNANTS {
        let facts = EdgeFacts { kind: EdgeKind::OwnCut, give_or_take: 1.0 };
        let region = remnant_region(&mut random)?;
        let sheet = Sheet::new(format!("R-{n:04}"), &[region], facts);
        let sheet = Sheet { made_of: Some(metal.clone()), ..sheet };
        candidates.push(Candidate {
            weight: metal.weight(sheet.area()),
            sheet,
            count: 1,
            source: Source::Remnant,
            value: None,
            keeping: material.keeping(),
            days: None,
        });
    }
    let sizes = values.fresh_sizes().iter();
    candidates.extend(sizes.filter_map(|s| fresh_sheet(*s, &metal, material.keeping())));
    Ok(Question {
        wanted,
        candidates,
        clearances: values.clearances(None, metal.thickness).ok_or("no distances")?,
        starts: values.starts(None, metal.thickness),
        cut: values.cutting(&CutWishes::default(), &metal),
        policies: *values.policies(),
    })
}
