//! `oddment rack filler`: small parts that are always of use.

use std::path::PathBuf;

use clap::Args;
use oddment_app::rack::fillers::drawn;
use oddment_rack::fillers::{Filler, Stocked};
use serde::Serialize;

use super::args::{ShopArg, length};
use super::{about, open};
use crate::Outcome;
use crate::args::{ClearanceArgs, JsonArg, TurningArgs, UnitsArg};
use crate::console::Console;
use crate::job::{self, Reading};
use crate::refusal::Refusal;

/// Keep filler parts: small parts that are always of use, laid where a plan leaves metal for them.
///
/// The window offers them on sheets of their metal. Recorded cuts count into stock.
#[derive(Debug, Args)]
#[command(after_help = "Examples:\n  \
    oddment rack filler shim --drawing shim.dxf --material S235 --thickness 3 --least 5 --most 20\n  \
    oddment rack filler shim --there 12\n  oddment rack filler\n\n\
    Exit code 1: there is no such filler part, or of one there are fewer than there should be.")]
pub(crate) struct FillerArgs {
    /// Its name; all of them if not given.
    #[arg(value_name = "PART")]
    name: Option<String>,
    /// Its drawing, with one part in it.
    #[arg(long, value_name = "DRAWING", requires = "name")]
    drawing: Option<PathBuf>,
    /// What it is made of.
    #[arg(long, requires = "name")]
    material: Option<String>,
    /// How thick.
    #[arg(long, value_name = "LENGTH", value_parser = length, requires = "name")]
    thickness: Option<f64>,
    /// There should be no fewer in stock.
    #[arg(long, value_name = "N", requires = "name")]
    least: Option<usize>,
    /// There should be no more.
    #[arg(long, value_name = "N", requires = "name")]
    most: Option<usize>,
    /// How many there are, counted now.
    #[arg(long, value_name = "N", requires = "name")]
    there: Option<usize>,
    /// It is a filler part no more.
    #[arg(long, requires = "name", conflicts_with_all = ["drawing", "there", "least", "most"])]
    remove: bool,
    #[command(flatten)]
    units: UnitsArg,
    #[command(flatten)]
    turning: TurningArgs,
    #[command(flatten)]
    shop: ShopArg,
    #[command(flatten)]
    json: JsonArg,
}

#[derive(Serialize)]
struct FillersSaid {
    fillers: Vec<FillerSaid>,
}

#[derive(Serialize)]
struct FillerSaid {
    part: String,
    material: String,
    thickness_mm: f64,
    there: usize,
    least: usize,
    most: usize,
}

pub(super) fn run(args: &FillerArgs, console: &mut Console<'_>) -> Result<Outcome, Refusal> {
    let mut shop = open(&args.shop, console)?;
    let wrong = about(&shop);
    let mut fillers = shop.fillers().map_err(&wrong)?;
    if let Some(name) = &args.name {
        let known = fillers.iter().find(|s| s.filler.part.eq_ignore_ascii_case(name.trim()));
        if args.remove {
            shop.set_fillers(std::slice::from_ref(name), &[]).map_err(&wrong)?;
        } else if args.says_anything() {
            let filler = args.changed(name, known, console)?;
            let changes = [(known.cloned(), filler)];
            shop.set_fillers(&[], &changes).map_err(|why| Refusal::about(name, why))?;
        }
        fillers = shop.fillers().map_err(&wrong)?;
        if !args.remove {
            fillers.retain(|s| s.filler.part.eq_ignore_ascii_case(name.trim()));
        }
    }
    for s in &fillers {
        let f = &s.filler;
        let short = if s.is_short() { ", too few" } else { "" };
        console.say(format_args!(
            "{} · {} mm {} · {} in stock, {} to {}{short}",
            f.part, f.thickness, f.material, s.there, f.least, f.most
        ));
    }
    let found = args.remove || !fillers.is_empty();
    if !found {
        console.say("There is no such filler part.");
    }
    let enough = fillers.iter().all(|s| !s.is_short());
    let fillers = fillers.into_iter().map(FillerSaid::from).collect();
    console.json(args.json.wanted, &FillersSaid { fillers })?;
    Ok(Outcome::of(found && enough))
}

impl FillerArgs {
    fn says_anything(&self) -> bool {
        let numbers = [self.least, self.most, self.there];
        self.drawing.is_some()
            || self.material.is_some()
            || self.thickness.is_some()
            || numbers.iter().any(Option::is_some)
    }

    /// The filler part with what was said of it.
    fn changed(
        &self,
        name: &str,
        known: Option<&Stocked>,
        console: &mut Console<'_>,
    ) -> Result<Filler, Refusal> {
        let mut filler = match known {
            Some(known) => known.seen(),
            None => {
                let said = self.drawing.is_some()
                    && self.material.is_some()
                    && self.thickness.is_some()
                    && self.most.is_some();
                if !said {
                    let why = "there is no such filler part yet; give --drawing, --material, \
                               --thickness and --most";
                    return Err(Refusal::about(name, why));
                }
                Filler { part: name.trim().to_owned(), ..Filler::default() }
            }
        };
        if let Some(path) = &self.drawing {
            let reading = Reading {
                clearances: ClearanceArgs::default(),
                turning: &self.turning,
                units: self.units.unit(),
                shop: None,
            };
            let part = job::one_part(path, &reading, console)?;
            filler.drawn = drawn(&part);
        }
        if let Some(material) = &self.material {
            filler.material = material.trim().to_owned();
        }
        filler.thickness = self.thickness.unwrap_or(filler.thickness);
        filler.least = self.least.unwrap_or(filler.least);
        filler.most = self.most.unwrap_or(filler.most);
        filler.counted = self.there.unwrap_or(filler.counted);
        Ok(filler)
    }
}

impl From<Stocked> for FillerSaid {
    fn from(Stocked { filler, there }: Stocked) -> Self {
        Self {
            part: filler.part,
            material: filler.material,
            thickness_mm: filler.thickness,
            there,
            least: filler.least,
            most: filler.most,
        }
    }
}
