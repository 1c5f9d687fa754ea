//! `oddment rack new` and `add`.

use oddment_app::rack::new_shop;
use oddment_core::capture::typed::{Corner, EdgeSaid, Missing, MissingAt, Outer, TypedSheet};
use oddment_core::sheet::EdgeFacts;
use oddment_files::drawing::{ReadOptions, read_drawing};
use oddment_files::job_file::sheet_from_drawing;
use oddment_rack::drawings::Drawn;
use oddment_rack::facts::Facts;
use oddment_rack::outline::{EdgeNote, Outline, Source};
use oddment_rack::sheets::NewSheet;
use serde::Serialize;

use super::args::{AddArgs, NewArgs};
use super::{about, kept, no_shop, open};
use crate::Outcome;
use crate::console::Console;
use crate::given::{self, GivenSheet};
use crate::refusal::Refusal;

#[derive(Serialize)]
struct NewSaid {
    shop: String,
}

pub(super) fn new(args: &NewArgs, console: &mut Console<'_>) -> Result<Outcome, Refusal> {
    let keep = kept(console)?;
    let shop =
        new_shop(&keep, &args.file, args.name.clone(), args.currency.clone()).map_err(no_shop)?;
    console.say(format_args!(
        "{} is made; the rack commands use it from now on.",
        shop.path().display()
    ));
    console.json(args.json.wanted, &NewSaid { shop: shop.path().display().to_string() })?;
    Ok(Outcome::Yes)
}

#[derive(Serialize)]
struct AddSaid<'a> {
    label: &'a str,
    width_mm: f64,
    height_mm: f64,
    metal_mm2: f64,
    weight_kg: f64,
}

pub(super) fn add(args: &AddArgs, console: &mut Console<'_>) -> Result<Outcome, Refusal> {
    let facts = facts_of(args);
    if let Some(profile) = &args.profile {
        return super::bars::add(args, profile, facts, console);
    }
    let (outline, drawing) = outline(args)?;
    let mut shop = open(&args.shop, console)?;
    let added = shop.add(NewSheet { label: args.label.clone(), facts, outline, drawing });
    let label = added.map_err(about(&shop))?;
    let entry = shop.sheet(&label).map_err(about(&shop))?.entry;
    console.say(format_args!(
        "{label} is in the rack: {:.0} × {:.0} mm, {:.1} kg. Write the label on it.",
        entry.size[0],
        entry.size[1],
        entry.weight()
    ));
    console.json(
        args.json.wanted,
        &AddSaid {
            label: &label,
            width_mm: entry.size[0],
            height_mm: entry.size[1],
            metal_mm2: entry.area,
            weight_kg: entry.weight(),
        },
    )?;
    Ok(Outcome::Yes)
}

/// All that is said of it besides its shape.
fn facts_of(args: &AddArgs) -> Facts {
    Facts {
        material: args.material.clone(),
        grade: args.grade.clone(),
        thickness: args.thickness.unwrap_or_default(),
        density: args.density,
        finish: args.finish.clone(),
        coating: args.coating.clone(),
        face_up: args.face_up.clone(),
        grain_deg: args.grain,
        heat: args.heat.clone(),
        certificate: args.certificate.clone(),
        heat_mark: args.heat_mark,
        bow: args.bow,
        stands: args.stands.clone(),
        weighed: args.weight,
        value: args.value,
        notes: args.notes.clone(),
        ..Facts::default()
    }
}

/// The sheet of a size, with what is missing or not known of it.
fn typed(args: &AddArgs, size: [f64; 2]) -> TypedSheet {
    let mut typed = TypedSheet { clean: args.clean, ..TypedSheet::rectangle(size) };
    if let (Some([width, depth]), Outer::Sides { missing, .. }) = (args.corner, &mut typed.outer) {
        let at = MissingAt::Corner(Corner::UpperRight);
        missing.push(Missing { at, width, depth, edges: EdgeSaid::default() });
    }
    typed
}

/// Its shape, and the drawing that it comes from.
fn outline(args: &AddArgs) -> Result<(Outline, Option<Drawn>), Refusal> {
    let name = args.sheet.to_string_lossy().into_owned();
    let (given, count) = given::sheet(&args.sheet).map_err(|why| Refusal::about(&name, why))?;
    if count != 1 {
        return Err(Refusal::about(&name, "sheets are added one by one, each has its own label"));
    }
    let kind = args.edges.kind();
    let (outline, source, drawing) = match given {
        GivenSheet::Rectangle(width, height) => {
            let typed = typed(args, [width, height]);
            let metal = typed.captured().map_err(|why| Refusal::each(&name, &why))?.metal();
            let metal = metal.map_err(|why| Refusal::each(&name, &why))?;
            (Outline::of_captured(&metal), Source::Taped, None)
        }
        GivenSheet::Drawing(path) => {
            if args.corner.is_some() || args.clean.is_some() {
                return Err(Refusal::about(
                    &name,
                    "--corner and --clean belong to a size; a drawing says it all",
                ));
            }
            let options = ReadOptions { units: args.units.unit(), ..ReadOptions::default() };
            let drawn = Drawn::read(&path).map_err(|why| Refusal::about(path.display(), why))?;
            let drawing = read_drawing(drawn.name(), drawn.content(), &options)
                .map_err(|why| Refusal::about(path.display(), why))?;
            let (sheet, _) = sheet_from_drawing(&path, &drawing);
            let outline = Outline::of_sheet(&sheet, Source::Drawing);
            (outline, Source::Drawing, Some(drawn))
        }
    };
    let source = args.known.unwrap_or(source);
    let bounds = outline.bounds();
    let starting = source.give_or_take(bounds.width().max(bounds.height()));
    let give_or_take = args.give_or_take.unwrap_or(starting);
    let note = EdgeNote { facts: EdgeFacts { kind, give_or_take }, source };
    let uniform = Outline::uniform(&outline.regions(), note);
    Ok((Outline { no_go: outline.no_go, ..uniform }, drawing))
}
