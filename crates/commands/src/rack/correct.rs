//! `oddment rack correct`: what is known of a sheet, put right.

use clap::Args;
use oddment_rack::facts::Facts;

use super::args::{ShopArg, length, point};
use super::said::{SheetSaid, line};
use super::{about, open};
use crate::Outcome;
use crate::args::JsonArg;
use crate::console::Console;
use crate::refusal::Refusal;

/// Put right what is known of a sheet besides its shape. What is not named stays as it is.
#[derive(Debug, Args)]
#[command(after_help = "Example:\n  \
    oddment rack correct R-0147 --heat \"H 48217\" --certificate \"3.1 A 4711\" --notes \"scratched\"")]
pub(crate) struct CorrectArgs {
    /// Its label.
    #[arg(value_name = "LABEL")]
    label: String,
    /// Material.
    #[arg(long)]
    material: Option<String>,
    /// Thickness.
    #[arg(long, value_name = "LENGTH", value_parser = length)]
    thickness: Option<f64>,
    /// Grade as ordered.
    #[arg(long)]
    grade: Option<String>,
    /// Heat number.
    #[arg(long)]
    heat: Option<String>,
    /// Where the heat number is marked, mm from the datum, as in 120,80.
    #[arg(long, value_name = "X,Y", value_parser = point)]
    heat_mark: Option<[f64; 2]>,
    /// Certificate.
    #[arg(long)]
    certificate: Option<String>,
    /// Direction of the grain, degrees counter-clockwise from x.
    #[arg(long, value_name = "DEGREES", allow_hyphen_values = true)]
    grain: Option<f64>,
    /// Finish.
    #[arg(long)]
    finish: Option<String>,
    /// Coating or film.
    #[arg(long)]
    coating: Option<String>,
    /// Which face is up.
    #[arg(long)]
    face_up: Option<String>,
    /// How far it is bent up.
    #[arg(long, value_name = "LENGTH", value_parser = length)]
    bow: Option<f64>,
    /// Weight as weighed, kg.
    #[arg(long, value_name = "KG")]
    weight: Option<f64>,
    /// What it is worth.
    #[arg(long)]
    value: Option<f64>,
    /// Notes.
    #[arg(long)]
    notes: Option<String>,
    #[command(flatten)]
    shop: ShopArg,
    #[command(flatten)]
    json: JsonArg,
}

pub(super) fn run(args: &CorrectArgs, console: &mut Console<'_>) -> Result<Outcome, Refusal> {
    let mut shop = open(&args.shop, console)?;
    let wrong = about(&shop);
    shop.correct(&args.label, |facts| args.put_right(facts)).map_err(&wrong)?;
    let entry = shop.sheet(&args.label).map_err(&wrong)?.entry;
    console.say(line(&entry));
    console.json(args.json.wanted, &SheetSaid::new(&entry))?;
    Ok(Outcome::Yes)
}

impl CorrectArgs {
    fn put_right(&self, facts: &mut Facts) {
        let texts = [
            (&self.material, &mut facts.material),
            (&self.grade, &mut facts.grade),
            (&self.heat, &mut facts.heat),
            (&self.certificate, &mut facts.certificate),
            (&self.finish, &mut facts.finish),
            (&self.coating, &mut facts.coating),
            (&self.face_up, &mut facts.face_up),
            (&self.notes, &mut facts.notes),
        ];
        for (said, known) in texts {
            if let Some(said) = said {
                said.trim().clone_into(known);
            }
        }
        facts.thickness = self.thickness.unwrap_or(facts.thickness);
        facts.heat_mark = self.heat_mark.or(facts.heat_mark);
        facts.grain_deg = self.grain.or(facts.grain_deg);
        facts.bow = self.bow.or(facts.bow);
        facts.weighed = self.weight.or(facts.weighed);
        facts.value = self.value.or(facts.value);
    }
}
