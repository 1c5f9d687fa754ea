//! `oddment rack export` and `import`.

use oddment_app::rack::exchange::{self, TakenIn};
use oddment_files::drawing::ReadOptions;
use oddment_rack::facts::Facts;
use serde::Serialize;

use super::args::{ExportArgs, ImportArgs};
use super::open;
use crate::Outcome;
use crate::console::Console;
use crate::refusal::Refusal;

#[derive(Serialize)]
struct ExportSaid {
    file: String,
}

#[derive(Serialize)]
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

pub(super) fn export(args: &ExportArgs, console: &mut Console<'_>) -> Result<Outcome, Refusal> {
    let file = args.file.display().to_string();
    let shop = open(&args.shop, console)?;
    exchange::export(&shop, &args.file, args.sheet.as_deref())
        .map_err(|fault| Refusal::about(&file, fault))?;
    console.say(format_args!("{file} is written."));
    console.json(args.json.wanted, &ExportSaid { file })?;
    Ok(Outcome::Yes)
}

pub(super) fn import(args: &ImportArgs, console: &mut Console<'_>) -> Result<Outcome, Refusal> {
    let file = args.path.display().to_string();
    let facts = args.material.as_ref().zip(args.thickness).map(|(material, thickness)| Facts {
        material: material.clone(),
        thickness,
        stands: args.stands.clone(),
        ..Facts::default()
    });
    let options = ReadOptions { units: args.units.unit(), ..ReadOptions::default() };
    let mut shop = open(&args.shop, console)?;
    let taken = exchange::import(&mut shop, &args.path, facts.as_ref(), &options)
        .map_err(|fault| Refusal::about(&file, fault))?;
    console.say(taken.counts());
    let TakenIn { added, changed, alike, not_taken } = taken;
    let not_taken: Vec<NotTakenSaid> = not_taken
        .into_iter()
        .map(|n| NotTakenSaid { file: n.path.display().to_string(), why: n.why })
        .collect();
    for NotTakenSaid { file, why } in &not_taken {
        console.say(format_args!("{file}: {why}"));
    }
    let said = ImportSaid { added, changed, alike, not_taken };
    console.json(args.json.wanted, &said)?;
    Ok(Outcome::of(said.not_taken.is_empty()))
}
