//! `oddment rack picture`: pictures of a sheet.

use std::path::PathBuf;

use clap::Args;
use oddment_files::outputs::put;
use serde::Serialize;

use super::args::ShopArg;
use super::{about, open};
use crate::Outcome;
use crate::args::JsonArg;
use crate::console::Console;
use crate::input;
use crate::refusal::Refusal;

/// Keep pictures of a sheet (PNG or JPEG, up to 4 MB each), or write them out.
#[derive(Debug, Args)]
#[command(after_help = "Examples:\n  oddment rack picture R-0147 front.jpg back.jpg\n  \
    oddment rack picture R-0147 --out pictures\n\n\
    Exit code 1: the sheet has no pictures.")]
pub(crate) struct PictureArgs {
    /// The sheet's label.
    #[arg(value_name = "LABEL")]
    label: String,
    /// Pictures to keep with it.
    #[arg(value_name = "PICTURE")]
    files: Vec<PathBuf>,
    /// Take the picture of this number away.
    #[arg(long, value_name = "N", conflicts_with = "files")]
    remove: Option<usize>,
    /// Write its pictures into this folder.
    #[arg(long, value_name = "DIR")]
    out: Option<PathBuf>,
    #[command(flatten)]
    shop: ShopArg,
    #[command(flatten)]
    json: JsonArg,
}

#[derive(Serialize)]
struct PicturesSaid {
    sheet: String,
    pictures: Vec<PictureSaid>,
}

#[derive(Serialize)]
struct PictureSaid {
    name: String,
    hash: String,
    bytes: usize,
    #[serde(skip_serializing_if = "Option::is_none")]
    file: Option<String>,
}

pub(super) fn run(args: &PictureArgs, console: &mut Console<'_>) -> Result<Outcome, Refusal> {
    let mut shop = open(&args.shop, console)?;
    let wrong = about(&shop);
    for file in &args.files {
        let content = input::bytes(file)?;
        let name = file.file_name().unwrap_or_default().to_string_lossy();
        shop.add_picture(&args.label, &name, &content)
            .map_err(|why| Refusal::about(file.display(), why))?;
    }
    let sheet = shop.sheet(&args.label).map_err(&wrong)?.entry;
    let mut hashes = sheet.facts.pictures;
    if let Some(number) = args.remove {
        let at = number.checked_sub(1).filter(|at| *at < hashes.len()).ok_or_else(|| {
            let why = format!("{} has {} pictures", sheet.label, hashes.len());
            Refusal::about("--remove", why)
        })?;
        shop.remove_picture(&sheet.label, &hashes.remove(at)).map_err(&wrong)?;
    }
    if let Some(folder) = &args.out {
        std::fs::create_dir_all(folder).map_err(|why| Refusal::about(folder.display(), why))?;
    }
    let mut pictures = Vec::new();
    for (i, hash) in hashes.into_iter().enumerate() {
        let Some((name, content)) = shop.drawing(&hash).map_err(&wrong)? else { continue };
        let number = i + 1;
        console.say(format_args!("{number}: {name}, {:.1} MB", content.len() as f64 / 1e6));
        let file = match &args.out {
            Some(folder) => {
                let kind = if content.starts_with(b"\x89PNG") { "png" } else { "jpg" };
                let label: String =
                    sheet.label.chars().map(|c| if c == '/' { '-' } else { c }).collect();
                let file = folder.join(format!("{label}-{number}.{kind}"));
                put(&file, &content).map_err(|why| Refusal::about(file.display(), why))?;
                Some(file.display().to_string())
            }
            None => None,
        };
        pictures.push(PictureSaid { name, hash, bytes: content.len(), file });
    }
    let any = !pictures.is_empty();
    if !any {
        console.say(format_args!("{} has no pictures.", sheet.label));
    }
    console.json(args.json.wanted, &PicturesSaid { sheet: sheet.label, pictures })?;
    Ok(Outcome::of(any || args.remove.is_some()))
}
