//! `oddment rack export` and `import`.

use std::path::Path;

use oddment_files::drawing::ReadOptions;
use oddment_files::outputs::put;
use oddment_rack::facts::Facts;
use serde::Serialize;

use super::args::{ExportArgs, ImportArgs};
use super::{about, open};
use crate::Outcome;
use crate::console::Console;
use crate::input;
use crate::refusal::Refusal;

#[derive(Serialize)]
struct ExportSaid {
    file: String,
}

#[derive(Default, Serialize)]
struct ImportSaid {
    added: Vec<String>,
    changed: Vec<String>,
    alike: usize,
    not_taken: Vec<NotTakenSaid>,
}

#[derive(Serialize)]
struct NotTakenSaid {
    file: String,
    why: String,
}

/// The ending of a file's name, in small letters.
fn ending(path: &Path) -> String {
    path.extension().unwrap_or_default().to_string_lossy().to_lowercase()
}

pub(super) fn export(args: &ExportArgs, console: &mut Console<'_>) -> Result<Outcome, Refusal> {
    let file = args.file.display().to_string();
    let ending = ending(&args.file);
    if !matches!(ending.as_str(), "csv" | "json" | "dxf") {
        let sentence =
            "the name must end with .csv (the list), .json (everything) or .dxf (a sheet)";
        return Err(Refusal::about(&file, sentence));
    }
    let shop = open(&args.shop, console)?;
    let stem = args.file.file_stem().unwrap_or_default().to_string_lossy().into_owned();
    let text = match ending.as_str() {
        "csv" => shop.list_csv(),
        "json" => shop.everything_json(),
        _ => shop.dxf_of(args.sheet.as_deref().unwrap_or(&stem)),
    };
    let text = text.map_err(about(&shop))?;
    put(&args.file, text.as_bytes())
        .map_err(|why| Refusal::about(&file, format_args!("can't be written: {why}")))?;
    console.say(format_args!("{file} is written."));
    console.json(args.json.wanted, &ExportSaid { file })?;
    Ok(Outcome::Yes)
}

pub(super) fn import(args: &ImportArgs, console: &mut Console<'_>) -> Result<Outcome, Refusal> {
    let file = args.path.display().to_string();
    let wrong = |fault: oddment_rack::ShopFault| Refusal::about(&file, fault);
    let said = match ending(&args.path).as_str() {
        "csv" | "txt" | "tsv" if !args.path.is_dir() => {
            let text = input::text(&args.path)?;
            let mut shop = open(&args.shop, console)?;
            let done = shop.take_list(&text).map_err(wrong)?;
            let (added, changed, alike) = (done.added, done.changed, done.alike);
            ImportSaid { added, changed, alike, ..ImportSaid::default() }
        }
        "json" if !args.path.is_dir() => {
            let text = input::text(&args.path)?;
            let mut shop = open(&args.shop, console)?;
            let added = shop.take_everything(&text).map_err(wrong)?;
            ImportSaid { added, ..ImportSaid::default() }
        }
        _ => drawings(args, console)?,
    };
    console.say(format_args!(
        "{} added, {} changed, {} as they were.",
        said.added.len(),
        said.changed.len(),
        said.alike
    ));
    for NotTakenSaid { file, why } in &said.not_taken {
        console.say(format_args!("{file}: {why}"));
    }
    console.json(args.json.wanted, &said)?;
    Ok(Outcome::of(said.not_taken.is_empty()))
}

fn drawings(args: &ImportArgs, console: &mut Console<'_>) -> Result<ImportSaid, Refusal> {
    let file = args.path.display().to_string();
    let (Some(material), Some(thickness)) = (&args.material, args.thickness) else {
        let sentence = "drawings do not say what they are made of; give --material and --thickness";
        return Err(Refusal::about(&file, sentence));
    };
    let facts = Facts {
        material: material.clone(),
        thickness,
        stands: args.stands.clone(),
        ..Facts::default()
    };
    let options = ReadOptions { units: args.units.unit(), ..ReadOptions::default() };
    let mut shop = open(&args.shop, console)?;
    let (added, not_taken) = shop
        .import_drawings(&args.path, &facts, &options)
        .map_err(|fault| Refusal::about(&file, fault))?;
    let not_taken = not_taken
        .into_iter()
        .map(|n| NotTakenSaid { file: n.path.display().to_string(), why: n.why })
        .collect();
    Ok(ImportSaid { added, not_taken, ..ImportSaid::default() })
}
