//! The list as it is written in `shop.json`: mm, degrees, names.

use oddment_core::part::Turning;
use oddment_core::shape::Point;
use oddment_core::sheet::{EdgeFacts, EdgeKind, Metal};
use serde::Deserialize;

use super::{
    DRAWINGS, SampleDrawing, SampleFiller, SampleOrder, SamplePart, SampleSheet, SampleShop,
    SampleShopFault,
};

#[derive(Deserialize)]
pub(super) struct ShopFile {
    currency: String,
    first: FirstEntry,
    materials: Vec<MaterialEntry>,
    sheets: Vec<SheetEntry>,
    parts: Vec<PartEntry>,
    orders: Vec<OrderEntry>,
    fillers: Vec<FillerEntry>,
}

#[derive(Deserialize)]
struct FirstEntry {
    sheet: String,
    order: String,
}

#[derive(Deserialize)]
struct MaterialEntry {
    name: String,
    density_kg_m3: f64,
    price_per_kg: f64,
}

#[derive(Deserialize)]
struct SheetEntry {
    label: String,
    drawing: String,
    material: String,
    grade: String,
    thickness: f64,
    grain_deg: Option<f64>,
    stands: String,
    heat: Option<String>,
    outer: FactsEntry,
    #[serde(default)]
    sides: Vec<SideEntry>,
    cutouts: FactsEntry,
}

#[derive(Deserialize)]
struct FactsEntry {
    made: MadeEntry,
    give_or_take: f64,
}

#[derive(Deserialize)]
struct SideEntry {
    at: [f64; 2],
    #[serde(flatten)]
    facts: FactsEntry,
}

#[derive(Deserialize)]
enum MadeEntry {
    #[serde(rename = "mill")]
    Mill,
    #[serde(rename = "sheared")]
    Sheared,
    #[serde(rename = "own cut")]
    OwnCut,
}

#[derive(Deserialize)]
struct PartEntry {
    name: String,
    drawing: String,
    material: String,
    thickness: f64,
    turn: TurnEntry,
    flip: bool,
    grain_deg: Option<f64>,
}

#[derive(Deserialize)]
#[serde(untagged)]
enum TurnEntry {
    Steps(f64),
    Word(TurnWord),
}

#[derive(Deserialize)]
#[serde(rename_all = "lowercase")]
enum TurnWord {
    Free,
    None,
}

#[derive(Deserialize)]
struct OrderEntry {
    name: String,
    lines: Vec<LineEntry>,
}

#[derive(Deserialize)]
struct LineEntry {
    part: String,
    count: usize,
}

#[derive(Deserialize)]
struct FillerEntry {
    part: String,
    there: usize,
    least: usize,
    most: usize,
}

impl ShopFile {
    pub(super) fn shop(self) -> Result<SampleShop, SampleShopFault> {
        let Self { currency, first, materials, sheets, parts, orders, fillers } = self;
        let sheets = sheets.into_iter().map(|s| s.sheet(&materials));
        let sheets = sheets.collect::<Result<Vec<_>, _>>()?;
        let parts = parts.into_iter().map(PartEntry::part).collect::<Result<Vec<_>, _>>()?;
        let orders = orders.into_iter().map(|o| o.order(&parts)).collect::<Result<Vec<_>, _>>()?;
        let fillers = fillers.into_iter().map(|f| f.filler(&parts)).collect::<Result<_, _>>()?;
        let first_sheet = place_of("sheet", &first.sheet, sheets.iter().map(|s| &*s.label))?;
        let first_order = place_of("order", &first.order, orders.iter().map(|o| &*o.name))?;
        Ok(SampleShop { currency, sheets, parts, orders, fillers, first_sheet, first_order })
    }
}

impl SheetEntry {
    fn sheet(self, materials: &[MaterialEntry]) -> Result<SampleSheet, SampleShopFault> {
        let names = materials.iter().map(|m| &*m.name);
        let material = &materials[place_of("material", &self.material, names)?];
        Ok(SampleSheet {
            label: self.label,
            drawing: drawing(&self.drawing)?,
            metal: Metal {
                material: self.material,
                thickness: self.thickness,
                density: material.density_kg_m3,
            },
            grade: self.grade,
            price_per_kg: material.price_per_kg,
            grain: self.grain_deg.map(f64::to_radians),
            outer: self.outer.facts(),
            sides: self
                .sides
                .into_iter()
                .map(|s| (Point::new(s.at[0], s.at[1]), s.facts.facts()))
                .collect(),
            cutouts: self.cutouts.facts(),
            stands: self.stands,
            heat: self.heat,
        })
    }
}

impl FactsEntry {
    fn facts(&self) -> EdgeFacts {
        let kind = match self.made {
            MadeEntry::Mill => EdgeKind::Mill,
            MadeEntry::Sheared => EdgeKind::Sheared,
            MadeEntry::OwnCut => EdgeKind::OwnCut,
        };
        EdgeFacts { kind, give_or_take: self.give_or_take }
    }
}

impl PartEntry {
    fn part(self) -> Result<SamplePart, SampleShopFault> {
        Ok(SamplePart {
            name: self.name,
            drawing: drawing(&self.drawing)?,
            material: self.material,
            thickness: self.thickness,
            turning: match self.turn {
                TurnEntry::Word(TurnWord::Free) => Turning::Free,
                TurnEntry::Word(TurnWord::None) => Turning::none(),
                TurnEntry::Steps(degrees) => Turning::steps(degrees.to_radians()),
            },
            flip: self.flip,
            grain: self.grain_deg.map(f64::to_radians),
        })
    }
}

impl OrderEntry {
    fn order(self, parts: &[SamplePart]) -> Result<SampleOrder, SampleShopFault> {
        let line = |l: LineEntry| {
            let part = place_of("part", &l.part, parts.iter().map(|p| &*p.name))?;
            Ok((part, l.count))
        };
        let lines = self.lines.into_iter().map(line).collect::<Result<_, SampleShopFault>>()?;
        Ok(SampleOrder { name: self.name, lines })
    }
}

impl FillerEntry {
    fn filler(self, parts: &[SamplePart]) -> Result<SampleFiller, SampleShopFault> {
        let part = place_of("part", &self.part, parts.iter().map(|p| &*p.name))?;
        let Self { there, least, most, .. } = self;
        Ok(SampleFiller { part, there, least, most })
    }
}

fn drawing(file: &str) -> Result<SampleDrawing, SampleShopFault> {
    Ok(DRAWINGS[place_of("drawing", file, DRAWINGS.iter().map(|d| d.file))?])
}

/// Where `name` stands among `names`.
fn place_of<'a>(
    kind: &'static str,
    name: &str,
    mut names: impl Iterator<Item = &'a str>,
) -> Result<usize, SampleShopFault> {
    names
        .position(|n| n == name)
        .ok_or_else(|| SampleShopFault::Missing { kind, name: name.to_owned() })
}
