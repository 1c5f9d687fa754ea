//! `oddment capture`: a sheet from what was measured on it.

mod photo;

use std::path::PathBuf;

use clap::Args;
use oddment_core::capture::points::{POINTER, Pointing, capture_points};
use oddment_core::capture::rows::read_rows;
use oddment_core::capture::typed::{Cutout, EdgeSaid, Missing, Outer, TypedSheet};
use oddment_core::capture::words::{read_cutout, read_missing};
use oddment_core::capture::{Captured, CapturedMetal};
use oddment_core::units::LengthUnit;
use oddment_files::dxf_out::sheet_dxf;
use oddment_files::outputs::put;
use oddment_files::sound::unsound;
use oddment_rack::facts::Facts;
use oddment_rack::outline::Outline;
use oddment_rack::sheets::NewSheet;
use serde::Serialize;
use serde_json::Value;

use crate::Outcome;
use crate::args::{JsonArg, UnitsArg};
use crate::console::Console;
use crate::input;
use crate::rack;
use crate::rack::args::{Edges, ShopArg, length, size};
use crate::refusal::Refusal;

/// Make a sheet of what was measured on it: with a tape, with the machine's pointer, from a photograph,
/// or of several.
///
/// Lengths are from the datum corner, lower left. Where several are given, the better known of each edge
/// and cut-out wins.
#[derive(Debug, Args)]
#[command(after_help = "Examples:\n  \
    oddment capture 1200x800 --missing \"upper right 400x300\" --cutout \"circle 9 at 100,50 row 5 step 40,0\" --out offcut.dxf\n  \
    oddment capture --points points.txt --add --material S235 --thickness 3 --stands \"rack A\"\n  \
    oddment capture --print-target a4 --out target.pdf\n  \
    oddment capture --photo offcut.jpg --corners \"1510,1902 2466,1880 2451,1220 1530,1238\" --overlay seen.png --out offcut.dxf\n\n\
    points.txt holds rows of X, Y under the words edge, free, corners, circle and cutout; see\n\
    crates/commands/CAPTURE.md.")]
pub(crate) struct CaptureArgs {
    /// Width and height over all, such as 1200x800.
    #[arg(value_name = "WxH", value_parser = size, required_unless_present_any = ["points", "photo", "print_target"])]
    pub(crate) size: Option<[f64; 2]>,
    /// Both diagonals: from the datum corner, then from the lower right.
    #[arg(long, value_name = "LxL", value_parser = size, requires = "size")]
    pub(crate) diagonals: Option<[f64; 2]>,
    /// Length of the top side, where it differs from the bottom.
    #[arg(long, value_name = "LENGTH", value_parser = length, requires = "size")]
    pub(crate) top: Option<f64>,
    /// Length of the right side, where it differs from the left.
    #[arg(long, value_name = "LENGTH", value_parser = length, requires = "size")]
    pub(crate) right: Option<f64>,
    /// A rectangle missing from the outline: "upper right 400x300", or "top 100x30 at 250".
    #[arg(long, value_name = "WORDS", value_parser = missing, requires = "size")]
    pub(crate) missing: Vec<Missing>,
    /// Something cut out: "circle 20 at 100,50", "slot 60x12 at 200,80 turn 30",
    /// "circle 9 at 300,200 bolt 6 on 120".
    #[arg(long, value_name = "WORDS", value_parser = cutout, requires = "size")]
    pub(crate) cutout: Vec<Cutout>,
    /// The only rectangle known to be clean, at the datum corner; the rest is no-go.
    #[arg(long, value_name = "WxH", value_parser = size, requires = "size")]
    pub(crate) clean: Option<[f64; 2]>,
    /// Points measured with the machine's pointer.
    #[arg(long, value_name = "FILE")]
    pub(crate) points: Option<PathBuf>,
    /// How far each of the points may be off.
    #[arg(long, value_name = "LENGTH", value_parser = length, requires = "points")]
    pub(crate) pointer: Option<f64>,
    #[command(flatten)]
    photo: photo::PhotoArgs,
    /// How the outer edges were made.
    #[arg(long, default_value = "mill")]
    pub(crate) edges: Edges,
    #[command(flatten)]
    pub(crate) units: UnitsArg,
    /// Write the sheet as a drawing here.
    #[arg(long, value_name = "FILE.dxf")]
    pub(crate) out: Option<PathBuf>,
    /// Add the sheet to the rack (`oddment rack export` then draws it).
    #[arg(long, conflicts_with = "out", requires_all = ["material", "thickness"])]
    pub(crate) add: bool,
    /// Label in the rack; the next free one if not given.
    #[arg(long, requires = "add")]
    pub(crate) label: Option<String>,
    /// Material, such as S235.
    #[arg(long, requires = "add")]
    pub(crate) material: Option<String>,
    /// Thickness; of a photograph it says too how far a lower rim may be taken for the upper one.
    #[arg(long, value_name = "LENGTH", value_parser = length)]
    pub(crate) thickness: Option<f64>,
    /// Where it stands.
    #[arg(long, default_value = "", requires = "add")]
    pub(crate) stands: String,
    /// Heat number.
    #[arg(long, default_value = "", requires = "add")]
    pub(crate) heat: String,
    #[command(flatten)]
    pub(crate) shop: ShopArg,
    #[command(flatten)]
    pub(crate) json: JsonArg,
}

fn missing(text: &str) -> Result<Missing, String> {
    read_missing(text, LengthUnit::Mm)
}

fn cutout(text: &str) -> Result<Cutout, String> {
    read_cutout(text, LengthUnit::Mm)
}

#[derive(Serialize)]
struct Document {
    width_mm: f64,
    height_mm: f64,
    metal_mm2: f64,
    outline: Value,
    residuals: Vec<ResidualSaid>,
    photo: Option<photo::Said>,
    file: Option<String>,
    label: Option<String>,
}

#[derive(Serialize)]
struct ResidualSaid {
    of: String,
    x: f64,
    y: f64,
    off_mm: f64,
}

pub(crate) fn run(args: &CaptureArgs, console: &mut Console<'_>) -> Result<Outcome, Refusal> {
    if let (Some(paper), Some(out)) = (args.photo.print_target, &args.out) {
        photo::print_target(paper, out, console)?;
        return Ok(Outcome::Yes);
    }
    let kind = args.edges.kind();
    let thickness = args.thickness.unwrap_or(0.0);
    let (photo, seen) = photo::captured(&args.photo, kind, thickness, console)?.unzip();
    let captured = captured(args, photo)?;
    let metal = captured.metal().map_err(|faults| Refusal::each("the sheet", &faults))?;
    let outline = Outline::of_captured(&metal);
    sound(&outline)?;
    let own = |why: &dyn std::fmt::Display| Refusal::about("the sheet", why);
    let text = outline.to_text().map_err(|why| own(&why))?;
    let bounds = outline.bounds();
    let mut document = Document {
        width_mm: bounds.width(),
        height_mm: bounds.height(),
        metal_mm2: outline.area(),
        outline: serde_json::from_str(&text).map_err(|why| own(&why))?,
        residuals: residuals(&captured),
        photo: seen,
        file: None,
        label: None,
    };
    if let (true, Some(material), Some(thickness)) = (args.add, &args.material, args.thickness) {
        let facts = Facts {
            material: material.clone(),
            thickness,
            stands: args.stands.clone(),
            heat: args.heat.clone(),
            ..Facts::default()
        };
        let mut shop = rack::open(&args.shop, console)?;
        let new = NewSheet { label: args.label.clone(), facts, outline, drawing: None };
        let label = shop.add(new).map_err(rack::about(&shop))?;
        console.say(format_args!("{label} is in the rack. Write the label on it."));
        document.label = Some(label);
    }
    if let Some(path) = &args.out {
        let drawing = sheet_dxf(&metal.sheet("sheet"));
        put(path, drawing.as_bytes()).map_err(|why| {
            Refusal::about(path.display(), format_args!("can’t be written: {why}"))
        })?;
        document.file = Some(path.display().to_string());
    }
    tell(&document, &metal, console);
    console.json(args.json.wanted, &document)?;
    Ok(Outcome::Yes)
}

/// All sources together; what a photograph shows of the outline goes on where others know nothing.
fn captured(args: &CaptureArgs, photo: Option<Captured>) -> Result<Captured, Refusal> {
    let sources = [photo, typed(args)?].into_iter().flatten();
    let merged = sources.reduce(|first, next| first.merged(&next));
    let Some(path) = &args.points else {
        return merged
            .ok_or_else(|| Refusal::about("the sheet", "give its size, --points or --photo"));
    };
    let unit = args.units.unit().unwrap_or_default();
    let name = path.display();
    let rings = read_rows(&input::text(path)?, unit).map_err(|f| Refusal::each(&name, &f))?;
    let outer = args.edges.kind();
    let how = Pointing { outer, give_or_take: args.pointer.unwrap_or(POINTER) };
    let pointed = match merged {
        Some(merged) => merged.sharpened(&rings, how),
        None => capture_points(&rings, how).map(|points| points.at_datum()),
    };
    pointed.map_err(|f| Refusal::each(&name, &f))
}

fn typed(args: &CaptureArgs) -> Result<Option<Captured>, Refusal> {
    let Some(size) = args.size else { return Ok(None) };
    let said = EdgeSaid { kind: args.edges.kind(), give_or_take: None };
    let outer = Outer::Sides {
        size,
        opposite: [args.top, args.right],
        diagonals: args.diagonals,
        sides: [said; 4],
        missing: args.missing.clone(),
    };
    let cutouts = args.cutout.clone();
    let sheet = TypedSheet { outer, cutouts, clean: args.clean, unknown: Vec::new() };
    sheet.captured().map(Some).map_err(|faults| Refusal::each("the sheet", &faults))
}

/// Refuses edges that cross.
fn sound(outline: &Outline) -> Result<(), Refusal> {
    match outline.regions().iter().find_map(unsound) {
        Some(problem) => Err(Refusal::about("the sheet", problem)),
        None => Ok(()),
    }
}

fn residuals(captured: &Captured) -> Vec<ResidualSaid> {
    let said = captured.residuals.iter();
    said.map(|r| ResidualSaid { of: r.of.clone(), x: r.at.x, y: r.at.y, off_mm: r.off }).collect()
}

fn tell(document: &Document, metal: &CapturedMetal, console: &mut Console<'_>) {
    let cutouts: usize = metal.pieces.iter().map(|p| p.cutouts.len()).sum();
    let off = metal.pieces.iter().map(|p| p.outer.give_or_take()).fold(0.0, f64::max);
    console.say(format_args!(
        "{:.1} × {:.1} mm, {cutouts} cut-outs, outer edges give or take {off:.1} mm at most.",
        document.width_mm, document.height_mm
    ));
    let worst = document.residuals.iter().max_by(|a, b| a.off_mm.abs().total_cmp(&b.off_mm.abs()));
    if let Some(worst) = worst.filter(|w| w.off_mm.abs() > 0.05) {
        console.say(format_args!(
            "The measurement that agrees least: {} at {:.1}, {:.1} is {:.2} mm off.",
            worst.of, worst.x, worst.y, worst.off_mm
        ));
    }
}
