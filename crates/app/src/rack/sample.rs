//! The sample shop as a shop file.

use std::path::Path;

use oddment_core::bars::Stock;
use oddment_rack::bars::new_bar;
use oddment_rack::facts::{Facts, Material};
use oddment_rack::fillers::Filler;
use oddment_rack::outline::{Outline, Source};
use oddment_rack::sheets::NewSheet;
use oddment_rack::{NewShop, Shop, ShopFault};

use super::fillers::drawn;
use crate::bars::sample_rack_bars;
use crate::sample_shop::{SampleFiller, SampleSheet, SampleShop, SampleShopFault};

/// Why the sample shop's file could not be made.
#[derive(Debug, thiserror::Error)]
pub enum SampleRackFault {
    /// Its list or a drawing is damaged.
    #[error(transparent)]
    Sample(#[from] SampleShopFault),
    /// It can't be written.
    #[error(transparent)]
    Shop(#[from] ShopFault),
    /// Its folder can't be made.
    #[error("its folder can't be made: {0}")]
    Folder(#[from] std::io::Error),
}

/// Makes a shop file with the sample shop's materials and sheets.
///
/// # Errors
/// [`SampleRackFault`].
pub fn create_sample_shop(path: &Path) -> Result<Shop, SampleRackFault> {
    let sample = SampleShop::load()?;
    let materials = materials_of(&sample);
    let mut stock = sample.sheets.iter().map(sheet_of).collect::<Result<Vec<_>, _>>()?;
    stock.extend(bars()?);
    if let Some(folder) = path.parent() {
        std::fs::create_dir_all(folder)?;
    }
    // Made beside its place, so that a sample shop without its sheets is never found there.
    let beside = path.with_extension(format!("{}.new", std::process::id()));
    let new = NewShop { name: "Sample shop".into(), currency: sample.currency.clone(), materials };
    let mut shop = Shop::create(&beside, &new)?;
    shop.add_all(stock)?;
    for filler in &sample.fillers {
        shop.set_fillers(&[], &[(None, filler_of(&sample, filler)?)])?;
    }
    drop(shop);
    let put = if path.exists() { Ok(()) } else { std::fs::rename(&beside, path) };
    let _ = std::fs::remove_file(&beside);
    let _ = std::fs::remove_dir_all(oddment_rack::backup::folder(&beside));
    put?;
    Ok(Shop::open(path)?)
}

/// The sample shop's materials, for a shop of one's own to start from.
///
/// # Errors
/// Never for the files that the program was tested with.
pub fn sample_materials() -> Result<Vec<Material>, SampleShopFault> {
    Ok(materials_of(&SampleShop::load()?))
}

fn materials_of(sample: &SampleShop) -> Vec<Material> {
    let mut materials: Vec<Material> = Vec::new();
    for SampleSheet { metal, price_per_kg, .. } in &sample.sheets {
        if materials.iter().all(|m| m.name != metal.material) {
            materials.push(Material::new(&metal.material, metal.density, *price_per_kg));
        }
    }
    materials
}

fn sheet_of(sample: &SampleSheet) -> Result<NewSheet, SampleShopFault> {
    let sheet = sample.sheet()?;
    let facts = Facts {
        material: sample.metal.material.clone(),
        grade: sample.grade.clone(),
        thickness: sample.metal.thickness,
        density: sample.metal.density,
        grain_deg: sample.grain.map(f64::to_degrees),
        heat: sample.heat.clone().unwrap_or_default(),
        stands: sample.stands.clone(),
        ..Facts::default()
    };
    let outline = Outline::of_sheet(&sheet, Source::Drawing);
    Ok(NewSheet { label: Some(sample.label.clone()), facts, outline, drawing: None })
}

fn filler_of(sample: &SampleShop, filler: &SampleFiller) -> Result<Filler, SampleShopFault> {
    let part = &sample.parts[filler.part];
    Ok(Filler {
        part: part.name.clone(),
        drawn: drawn(&part.part()?),
        material: part.material.clone(),
        thickness: part.thickness,
        least: filler.least,
        most: filler.most,
        counted: filler.there,
        counted_at: 0,
    })
}

/// The bars that the sample shop has.
fn bars() -> Result<Vec<NewSheet>, ShopFault> {
    let (list, bars) = sample_rack_bars();
    let Some(profile) = &list.profile else { return Ok(Vec::new()) };
    let bar = |bar: Stock| {
        let facts = Facts {
            material: list.material.clone(),
            density: profile.density,
            heat: bar.heat,
            stands: bar.place,
            ..Facts::default()
        };
        new_bar(Some(bar.name), profile, bar.length, bar.give_or_take, facts)
    };
    bars.into_iter().map(bar).collect()
}
