//! `oddment rack list` and `show`.

use oddment_rack::crop::{Crop, ForBin, all_for_bin, propose};
use oddment_rack::record::CutFacts;
use oddment_rack::sheets::{Entry, RackSheet, age, counted};
use oddment_rack::{Shop, ShopFault, when};
use serde::Serialize;
use serde_json::Value;

use super::args::{ListArgs, ShowArgs};
use super::said::{EventSaid, SheetSaid, line};
use super::{about, open};
use crate::Outcome;
use crate::console::Console;
use crate::refusal::Refusal;

#[derive(Serialize)]
struct ListSaid<'a> {
    shop: String,
    sheets: Vec<SheetSaid<'a>>,
    weight_kg: f64,
}

pub(super) fn list(args: &ListArgs, console: &mut Console<'_>) -> Result<Outcome, Refusal> {
    let shop = open(&args.shop, console)?;
    let sound = shop.closed().is_none();
    let all = if args.all { shop.list_all() } else { shop.list() };
    let mut entries = all.map_err(about(&shop))?;
    let typed = args.words.join(" ");
    entries.retain(|e| e.matches(&typed));
    let weight_kg = entries.iter().map(Entry::weight).sum();
    for entry in &entries {
        console.say(line(entry));
    }
    console.say(format_args!("{}, {weight_kg:.0} kg.", counted(&entries)));
    // Damage that only reading finds.
    if sound && let Some(why) = shop.closed() {
        console.say(format_args!("{}: {why}", shop.path().display()));
    }
    let sheets = entries.iter().map(SheetSaid::new).collect();
    let shop = shop.path().display().to_string();
    console.json(args.json.wanted, &ListSaid { shop, sheets, weight_kg })?;
    Ok(Outcome::of(!entries.is_empty()))
}

#[derive(Serialize)]
struct ShowSaid<'a> {
    #[serde(flatten)]
    sheet: SheetSaid<'a>,
    drawing: Option<DrawingSaid<'a>>,
    outline: Value,
    history: Vec<EventSaid<'a>>,
    cuts: Vec<CutFacts>,
    #[serde(skip_serializing_if = "Option::is_none")]
    crop: Option<Option<CropSaid>>,
    #[serde(skip_serializing_if = "Option::is_none")]
    for_bin: Option<ForBinSaid>,
}

/// The drawing that a sheet was added from.
#[derive(Serialize)]
struct DrawingSaid<'a> {
    name: &'a str,
    hash: &'a str,
}

#[derive(Serialize)]
struct CropSaid {
    line: String,
    length_mm: f64,
    kept_kg: f64,
    kept_value: f64,
    #[serde(flatten)]
    rest: ForBinSaid,
}

#[derive(Serialize)]
struct ForBinSaid {
    scrap_kg: f64,
    scrap_value: f64,
    cut_up: Vec<String>,
    cut_up_length_mm: f64,
}

/// What is proposed to be cut off a sheet, and how to cut it up where nothing of it is kept.
fn proposed(
    shop: &Shop,
    sheet: &RackSheet,
    args: &ShowArgs,
) -> Result<(Option<Crop>, Option<ForBin>), ShopFault> {
    let facts = &sheet.entry.facts;
    let materials = shop.materials()?;
    let Some(material) = materials.iter().find(|m| m.name == facts.material) else {
        return Ok((None, None));
    };
    let crop = propose(&sheet.outline, facts, material, args.kerf, args.bin);
    Ok((crop, all_for_bin(&sheet.outline, facts, material, args.bin)))
}

impl ForBinSaid {
    fn new(rest: &ForBin) -> Self {
        Self {
            scrap_kg: rest.scrap_is.0,
            scrap_value: rest.scrap_is.1,
            cut_up: rest.cut_up.iter().map(ToString::to_string).collect(),
            cut_up_length_mm: rest.cut_up_length,
        }
    }
}

impl CropSaid {
    fn new(crop: &Crop) -> Self {
        Self {
            line: crop.line.to_string(),
            length_mm: crop.length,
            kept_kg: crop.kept_is.0,
            kept_value: crop.kept_is.1,
            rest: ForBinSaid::new(&crop.rest),
        }
    }
}

pub(super) fn show(args: &ShowArgs, console: &mut Console<'_>) -> Result<Outcome, Refusal> {
    let shop = open(&args.shop, console)?;
    let wrong = about(&shop);
    let sheet = shop.sheet(&args.label).map_err(&wrong)?;
    let history = shop.history(&args.label).map_err(&wrong)?;
    let cuts = shop.cuts_of(&args.label).map_err(&wrong)?;
    let facts = &sheet.entry.facts;
    console.say(line(&sheet.entry));
    let lines = [
        ("grade", facts.grade.clone()),
        ("certificate", facts.certificate.clone()),
        ("finish", facts.finish.clone()),
        ("coating", facts.coating.clone()),
        ("face up", facts.face_up.clone()),
        ("grain", facts.grain_deg.map(|g| format!("{g}°")).unwrap_or_default()),
        ("cut from", facts.parent.clone().unwrap_or_default()),
        ("notes", facts.notes.clone()),
        ("came", format!("{} ({})", when::day(facts.came), age(facts.came))),
        ("last seen", when::day(facts.seen)),
    ];
    for (name, value) in lines.iter().filter(|(_, value)| !value.is_empty()) {
        console.say(format_args!("  {name}: {value}"));
    }
    if let Some(bar) = &facts.bar {
        console.say(format_args!(
            "  {} mm long, give or take {}; delivered with {} mm, so that it begins {} mm from that end",
            sheet.entry.size[0],
            bar.give_or_take,
            bar.delivered,
            bar.delivered - sheet.entry.size[0]
        ));
    }
    let cutouts: usize = sheet.outline.pieces.iter().map(|p| p.cutouts.len()).sum();
    console.say(format_args!("  {cutouts} cut-outs, {:.0} mm² of metal", sheet.entry.area));
    for zone in &sheet.outline.no_go {
        console.say(format_args!("  no-go: {}", zone.name));
    }
    for event in &history {
        let undone = if event.undone_by.is_some() { " (undone)" } else { "" };
        console.say(format_args!(
            "  {} event {}, {}: {}{undone}",
            when::moment(event.at),
            event.number,
            event.who,
            event.said
        ));
    }
    let drawing = match &facts.drawing {
        Some(hash) => shop.drawing(hash).map_err(&wrong)?.map(|(name, _)| (name, hash)),
        None => None,
    };
    let drawing = drawing.as_ref().map(|(name, hash)| DrawingSaid { name, hash });
    if let Some(drawing) = &drawing {
        console.say(format_args!("  added from the drawing {}", drawing.name));
    }
    let text = sheet.outline.to_text().map_err(&wrong)?;
    let outline: Value = serde_json::from_str(&text).map_err(|why| wrong(why.into()))?;
    let history = history.iter().map(EventSaid::new).collect();
    let (crop, for_bin) = match args.crop && facts.bar.is_none() {
        true => {
            let (crop, for_bin) = proposed(&shop, &sheet, args).map_err(&wrong)?;
            (Some(crop), for_bin)
        }
        false => (None, None),
    };
    match (&crop, &for_bin) {
        (Some(Some(crop)), _) => console.say(format_args!("  {}", crop.words())),
        (Some(None), Some(rest)) => {
            console.say(format_args!("  nothing of it is worth keeping: {}", rest.words()));
        }
        (Some(None), None) => {
            console.say("  no straight cut frees a leftover worth keeping");
        }
        (None, _) => {}
    }
    let said = ShowSaid {
        sheet: SheetSaid::new(&sheet.entry),
        drawing,
        outline,
        history,
        cuts,
        crop: crop.map(|crop| crop.as_ref().map(CropSaid::new)),
        for_bin: for_bin.as_ref().map(ForBinSaid::new),
    };
    console.json(args.json.wanted, &said)?;
    Ok(Outcome::Yes)
}
