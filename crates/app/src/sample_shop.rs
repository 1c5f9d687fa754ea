//! The sample shop: sheets, parts and orders of a maker of cargo bikes, embedded in the program.
//!
//! The window's first start, the README, the tests and the benchmarks all use it. Its files lie in
//! `shared` at the top of the project: `shop.json` and the drawings that it names.

mod job;
mod list;

use oddment_core::part::Turning;
use oddment_core::shape::{Point, SheetSpace};
use oddment_core::sheet::{EdgeFacts, Metal};
use oddment_files::cut_data::CutDataFault;
use oddment_files::drawing::DrawingFault;

/// A drawing of the sample shop.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct SampleDrawing {
    /// Its file, from the shop's own folder, such as `parts/deck-bracket.dxf`.
    pub file: &'static str,
    /// The text of the DXF, in mm.
    pub dxf: &'static str,
}

/// All that the sample shop has and makes.
#[derive(Clone, Debug, PartialEq)]
pub struct SampleShop {
    /// What prices are in, such as EUR.
    pub currency: String,
    /// The rack: fresh sheets and remnants.
    pub sheets: Vec<SampleSheet>,
    /// What the shop makes.
    pub parts: Vec<SamplePart>,
    /// What is wanted.
    pub orders: Vec<SampleOrder>,
    /// What is laid where an order leaves metal.
    pub fillers: Vec<SampleFiller>,
    /// The sheet that the first start shows, by its place in `sheets`.
    pub first_sheet: usize,
    /// The order that the first start shows, by its place in `orders`.
    pub first_order: usize,
}

/// A sheet in the rack.
#[derive(Clone, Debug, PartialEq)]
pub struct SampleSheet {
    /// What is written on it.
    pub label: String,
    /// Its metal: the largest outline is the sheet, what lies inside are old cut-outs.
    pub drawing: SampleDrawing,
    /// What it is made of.
    pub metal: Metal,
    /// The grade as ordered.
    pub grade: String,
    /// Price of a kilogram, in the shop's currency.
    pub price_per_kg: f64,
    /// Direction of the grain, radians.
    pub grain: Option<f64>,
    /// What is known of its outer edges, but for `sides`.
    pub outer: EdgeFacts,
    /// Outer edges of which something else is known: a point on each, and the facts.
    pub sides: Vec<(Point<SheetSpace>, EdgeFacts)>,
    /// What is known of the edges of its cut-outs.
    pub cutouts: EdgeFacts,
    /// Where it stands.
    pub stands: String,
    /// Heat number, where it is known.
    pub heat: Option<String>,
}

/// A part that the shop makes.
#[derive(Clone, Debug, PartialEq)]
pub struct SamplePart {
    /// Its name.
    pub name: String,
    /// Its outline, holes, engraving and bend lines.
    pub drawing: SampleDrawing,
    /// What it must be made of.
    pub material: String,
    /// How thick, mm.
    pub thickness: f64,
    /// How it may be turned.
    pub turning: Turning,
    /// Whether it may be laid with its other face up.
    pub flip: bool,
    /// Direction in the drawing (radians) that must lie along the sheet's grain.
    pub grain: Option<f64>,
}

/// Parts that are wanted together, all of one material and thickness.
#[derive(Clone, Debug, PartialEq)]
pub struct SampleOrder {
    /// Its name.
    pub name: String,
    /// Which part, by its place in the shop's parts, and how many.
    pub lines: Vec<(usize, usize)>,
}

/// A standing filler part.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct SampleFiller {
    /// Which part, by its place in the shop's parts.
    pub part: usize,
    /// How many there are.
    pub there: usize,
    /// There should be no fewer,
    pub least: usize,
    /// and no more.
    pub most: usize,
}

/// Why the sample shop can't be used.
#[derive(Debug, thiserror::Error)]
pub enum SampleShopFault {
    /// Its list is damaged.
    #[error("the sample shop's list can't be read: {0}")]
    List(#[from] serde_json::Error),
    /// One of its drawings is damaged.
    #[error("the sample shop's {0}: {1}")]
    Drawing(&'static str, DrawingFault),
    /// The clearances to start from are damaged.
    #[error(transparent)]
    CutData(#[from] CutDataFault),
    /// An order that asks for nothing.
    #[error("the sample shop's order {0} is empty")]
    Empty(String),
    /// Metal thicker than the starting cut data know.
    #[error("there are no clearances to start from for metal {0} mm thick")]
    TooThick(f64),
    /// Something is named that is not there.
    #[error("the sample shop has no {kind} {name}")]
    Missing {
        /// What kind of thing.
        kind: &'static str,
        /// The name that was looked for.
        name: String,
    },
}

impl SampleShop {
    /// The shop as it comes with the program.
    ///
    /// # Errors
    /// Never for the files that the program was tested with.
    pub fn load() -> Result<Self, SampleShopFault> {
        serde_json::from_str::<list::ShopFile>(LIST)?.shop()
    }

    /// The sheet with this label.
    pub fn sheet(&self, label: &str) -> Option<&SampleSheet> {
        self.sheets.iter().find(|s| s.label == label)
    }

    /// The order of this name.
    pub fn order(&self, name: &str) -> Option<&SampleOrder> {
        self.orders.iter().find(|o| o.name == name)
    }

    /// Every drawing of the shop.
    pub fn drawings() -> &'static [SampleDrawing] {
        DRAWINGS
    }
}

const LIST: &str = include_str!("../../../shared/shop.json");

macro_rules! drawings {
    ($($file:literal)*) => {
        &[$(SampleDrawing {
            file: $file,
            dxf: include_str!(concat!("../../../shared/", $file)),
        }),*]
    };
}

const DRAWINGS: &[SampleDrawing] = drawings! {
    "parts/axle-washer.dxf"
    "parts/battery-tray-side.dxf"
    "parts/cable-guide.dxf"
    "parts/chainguard-front.dxf"
    "parts/chainguard-rear.dxf"
    "parts/crown-plate.dxf"
    "parts/deck-bracket.dxf"
    "parts/foot-guard.dxf"
    "parts/footboard.dxf"
    "parts/guard-ring.dxf"
    "parts/head-tube-gusset.dxf"
    "parts/hinge-strap.dxf"
    "parts/kickstand-plate.dxf"
    "parts/light-bracket.dxf"
    "parts/motor-mount.dxf"
    "parts/mudguard-washer.dxf"
    "parts/rack-side.dxf"
    "parts/rack-stay-tab.dxf"
    "parts/rear-dropout.dxf"
    "parts/seat-rail-plate.dxf"
    "sheets/A2-047.dxf"
    "sheets/A2-050.dxf"
    "sheets/A6-003.dxf"
    "sheets/N2-008.dxf"
    "sheets/N2-011.dxf"
    "sheets/S3-041.dxf"
    "sheets/S3-044.dxf"
    "sheets/S6-012.dxf"
    "sheets/S6-019.dxf"
    "sheets/S6-021.dxf"
};

#[cfg(test)]
mod tests {
    use std::collections::HashSet;

    use super::*;

    #[test]
    fn the_shop_is_as_large_as_it_should_be() {
        let shop = SampleShop::load().unwrap();
        assert!(shop.parts.len() >= 16 && shop.sheets.len() >= 8 && shop.orders.len() >= 3);
        let first = &shop.orders[shop.first_order];
        let wanted: usize = first.lines.iter().map(|l| l.1).sum();
        assert!((10..=14).contains(&wanted), "the first order has {wanted} parts");
    }

    #[test]
    fn names_are_unique_and_every_drawing_is_used_once() {
        let shop = SampleShop::load().unwrap();
        let labels: HashSet<_> = shop.sheets.iter().map(|s| &s.label).collect();
        let names: HashSet<_> = shop.parts.iter().map(|p| &p.name).collect();
        assert_eq!((labels.len(), names.len()), (shop.sheets.len(), shop.parts.len()));
        let used: HashSet<_> = (shop.sheets.iter().map(|s| s.drawing.file))
            .chain(shop.parts.iter().map(|p| p.drawing.file))
            .collect();
        assert_eq!(used.len(), DRAWINGS.len());
    }

    #[test]
    fn every_order_is_of_one_metal_that_the_rack_has() {
        let shop = SampleShop::load().unwrap();
        for order in &shop.orders {
            let of = |line: &(usize, usize)| {
                let part = &shop.parts[line.0];
                (part.material.clone(), part.thickness)
            };
            let (material, thickness) = of(&order.lines[0]);
            for line in &order.lines {
                assert_eq!(of(line), (material.clone(), thickness), "{}", order.name);
            }
            let fits =
                |s: &&SampleSheet| s.metal.material == material && s.metal.thickness == thickness;
            assert!(shop.sheets.iter().any(|s| fits(&s)), "{}", order.name);
        }
        let first = &shop.parts[shop.orders[shop.first_order].lines[0].0];
        let sheet = &shop.sheets[shop.first_sheet];
        assert_eq!(first.material, sheet.metal.material);
    }
}
