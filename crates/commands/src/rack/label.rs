//! `oddment rack label`: labels to print.

use oddment_app::rack::label_of;
use oddment_files::labels::{MOST, Stickers, labels_pdf};
use oddment_files::outputs::put;
use serde::Serialize;

use super::args::{LabelArgs, Paper};
use super::{about, open};
use crate::Outcome;
use crate::console::Console;
use crate::refusal::Refusal;

#[derive(Serialize)]
struct LabelSaid {
    file: String,
    labels: Vec<String>,
}

pub(super) fn run(args: &LabelArgs, console: &mut Console<'_>) -> Result<Outcome, Refusal> {
    let shop = open(&args.shop, console)?;
    let wrong = about(&shop);
    let names = match &args.matching {
        Some(words) => {
            let all = shop.list().map_err(&wrong)?;
            all.into_iter().filter(|e| e.matches(words)).map(|e| e.label).collect()
        }
        None => args.labels.clone(),
    };
    if names.is_empty() || names.len() > MOST {
        let sentence = format!("{} sheets match; 1 to {MOST} can be printed at once", names.len());
        return Err(Refusal::about("--matching", sentence));
    }
    let sheets = names.iter().map(|n| shop.sheet(n)).collect::<Result<Vec<_>, _>>();
    let sheets = sheets.map_err(&wrong)?;
    let labels: Vec<_> = sheets.iter().map(label_of).collect();
    let stickers = match args.paper {
        Paper::A4 => Stickers::A4,
        Paper::Letter => Stickers::Letter,
        Paper::Roll62 => Stickers::Roll62,
    };
    let file = args.out.display().to_string();
    let pdf = labels_pdf(&labels, stickers).map_err(|why| Refusal::about(&file, why))?;
    put(&args.out, &pdf)
        .map_err(|why| Refusal::about(&file, format_args!("can't be written: {why}")))?;
    console.say(format_args!("{} labels in {file}.", labels.len()));
    let labels = labels.into_iter().map(|l| l.name).collect();
    console.json(args.json.wanted, &LabelSaid { file, labels })?;
    Ok(Outcome::Yes)
}
