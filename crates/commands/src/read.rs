//! `oddment read`: what is in a drawing.

use oddment_files::drawing::{Drawing, Problem};
use oddment_files::words::counted;
use serde::Serialize;

use crate::Outcome;
use crate::args::ReadArgs;
use crate::console::Console;
use crate::input;
use crate::refusal::Refusal;

#[derive(Serialize)]
struct Document {
    drawing: String,
    units: UnitsSaid,
    regions: Vec<RegionSaid>,
    problems: Vec<ProblemSaid>,
}

#[derive(Serialize)]
struct UnitsSaid {
    name: String,
    assumed: bool,
}

#[derive(Serialize)]
struct RegionSaid {
    name: String,
    area_mm2: f64,
    width_mm: f64,
    height_mm: f64,
    holes: usize,
    marks: usize,
}

#[derive(Serialize)]
struct ProblemSaid {
    what: String,
    #[serde(rename = "where")]
    at: Option<[f64; 2]>,
    layer: Option<String>,
    done: String,
}

pub(crate) fn run(args: &ReadArgs, console: &mut Console<'_>) -> Result<Outcome, Refusal> {
    let drawing = input::drawing(&args.drawing, args.units.unit())?;
    let stem = args.drawing.file_stem().unwrap_or_default().to_string_lossy();
    let document = Document {
        drawing: args.drawing.display().to_string(),
        units: UnitsSaid { name: drawing.units.name.clone(), assumed: drawing.units.assumed },
        regions: regions(&drawing, &stem),
        problems: drawing.problems.iter().map(problem).collect(),
    };
    tell(&document, console);
    console.json(args.json.wanted, &document)?;
    Ok(Outcome::of(!drawing.problems.iter().any(|p| p.must_settle)))
}

fn regions(drawing: &Drawing, stem: &str) -> Vec<RegionSaid> {
    let names = drawing.part_names(stem);
    let said = drawing.regions.iter().zip(names).map(|(found, name)| {
        let bounds = found.region.bounds();
        RegionSaid {
            name,
            area_mm2: found.region.area(),
            width_mm: bounds.max.x - bounds.min.x,
            height_mm: bounds.max.y - bounds.min.y,
            holes: found.region.holes().len(),
            marks: found.marks.len(),
        }
    });
    said.collect()
}

fn problem(problem: &Problem) -> ProblemSaid {
    ProblemSaid {
        what: problem.what.clone(),
        at: problem.at.map(|p| [p.x, p.y]),
        layer: problem.layer.clone(),
        done: problem.done.clone(),
    }
}

fn tell(document: &Document, console: &mut Console<'_>) {
    let Document { drawing, units, regions, problems } = document;
    let assumed = if units.assumed { " (assumed; --units says otherwise)" } else { "" };
    console.say(format_args!("{drawing}: numbers are {}{assumed}", units.name));
    for region in regions {
        console.say(format_args!(
            "  {}: {:.1} × {:.1} mm, {:.0} mm², {}, {}",
            region.name,
            region.width_mm,
            region.height_mm,
            region.area_mm2,
            counted(region.holes, "hole", "holes"),
            counted(region.marks, "mark", "marks"),
        ));
    }
    for ProblemSaid { what, at, layer, done } in problems {
        let at = at.map_or_else(String::new, |[x, y]| format!(" at ({x:.2}, {y:.2})"));
        let layer = layer.as_ref().map_or_else(String::new, |l| format!(" on layer {l}"));
        console.say(format_args!("  {what}{at}{layer}: {done}"));
    }
}
