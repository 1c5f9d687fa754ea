//! What is known of a sheet besides its shape, and of materials.

use oddment_core::cut_data::Family;
use oddment_core::leftover::Keeping;
use oddment_core::sheet::Metal;
use oddment_files::policies::starting_prices;
use serde::{Deserialize, Serialize};

use crate::bars::BarFacts;

/// What is known of a sheet. Lengths mm, weights kg, money in the shop's currency, times seconds since
/// 1970 (UTC).
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
#[serde(default)]
pub struct Facts {
    /// Material, such as S235.
    pub material: String,
    /// Grade as ordered, such as S235JR.
    pub grade: String,
    /// Thickness.
    pub thickness: f64,
    /// kg/m³.
    pub density: f64,
    /// Finish, such as pickled.
    pub finish: String,
    /// Coating or film.
    pub coating: String,
    /// Which face is up.
    pub face_up: String,
    /// Direction of the grain, degrees counter-clockwise.
    pub grain_deg: Option<f64>,
    /// Heat number.
    pub heat: String,
    /// Certificate.
    pub certificate: String,
    /// Where on the sheet the heat number is marked.
    pub heat_mark: Option<[f64; 2]>,
    /// How far it is bent up.
    pub bow: Option<f64>,
    /// Where it stands.
    pub stands: String,
    /// Weight as weighed; reckoned from its shape where it was not.
    pub weighed: Option<f64>,
    /// What it is worth; reckoned from its weight where nobody has said.
    pub value: Option<f64>,
    /// Notes.
    pub notes: String,
    /// Pictures of it, by the hash of their files.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub pictures: Vec<String>,
    /// The drawing that it was added from, by the hash of its file.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub drawing: Option<String>,
    /// When it came.
    pub came: i64,
    /// When somebody last saw it.
    pub seen: i64,
    /// Who holds it, and for what.
    pub hold: Option<Hold>,
    /// The set-up it still lies in on the bed.
    pub setup: Option<i64>,
    /// Whether it is there.
    pub whereabouts: Whereabouts,
    /// The sheet it was cut from.
    pub parent: Option<String>,
    /// What a bar is besides; `None` for sheets.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub bar: Option<BarFacts>,
}

/// That a sheet is kept for an order.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Hold {
    /// The order.
    pub order: String,
    /// Who said so.
    pub who: String,
    /// Until when.
    pub until: Option<i64>,
}

/// Whether a sheet is there.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Whereabouts {
    /// In the rack, or on the bed.
    #[default]
    Here,
    /// Not found at the last stock-take.
    Missing,
    /// Cut into sheets with labels of their own.
    Parted,
    /// Nothing of it is left that is worth keeping.
    UsedUp,
    /// Its coming was undone.
    Undone,
}

impl Whereabouts {
    /// Whether parts can be cut from it.
    pub fn is_here(self) -> bool {
        self == Self::Here
    }

    /// In words.
    pub fn words(self) -> &'static str {
        match self {
            Self::Here => "here",
            Self::Missing => "missing",
            Self::Parted => "cut into other sheets",
            Self::UsedUp => "used up",
            Self::Undone => "taken back",
        }
    }
}

/// A material and what the shop does with what is left of it.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Material {
    /// Its name, such as S235.
    pub name: String,
    /// kg/m³.
    pub density: f64,
    /// Price of a kilogram.
    pub price: f64,
    /// What a kilogram of scrap brings.
    #[serde(default)]
    pub scrap: f64,
    /// Materials that may stand in for it.
    #[serde(default)]
    pub stand_ins: Vec<String>,
    /// What of it is kept.
    pub keep: KeepRule,
}

/// Which leftovers are worth keeping.
#[derive(Clone, Copy, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct KeepRule {
    /// Its metal must be worth more than scrap by so much money.
    pub amount: f64,
    /// It must hold an upright rectangle of at least these sides, either way round.
    pub least: [f64; 2],
}

impl Material {
    /// The one of this name, in either case.
    pub fn named<'a>(all: &'a [Self], name: &str) -> Option<&'a Self> {
        all.iter().find(|m| m.name.eq_ignore_ascii_case(name.trim()))
    }

    /// A material of this density (kg/m³) and price, with what scrap of its family of metals brings and
    /// what of it is kept to start from.
    pub fn new(name: impl Into<String>, density: f64, price: f64) -> Self {
        let material = Self::starting(name, density);
        Self { price, scrap: material.scrap.min(price), ..material }
    }

    /// A material with all the values that its family of metals starts from.
    pub fn starting(name: impl Into<String>, density: f64) -> Self {
        let metal = Metal { material: name.into(), thickness: 1.0, density };
        let family = Family::of(&metal);
        let starting = starting_prices().unwrap_or_default();
        let known = starting.into_iter().find(|p| p.family == family);
        let keep = known.map(|p| KeepRule { amount: p.keep_amount, least: p.keep_least });
        Self {
            name: metal.material,
            density,
            price: known.map_or(0.0, |p| p.per_kg),
            scrap: known.map_or(0.0, |p| p.scrap),
            stand_ins: Vec::new(),
            keep: keep.unwrap_or_default(),
        }
    }

    /// What of its leftovers is worth keeping.
    pub fn keeping(&self) -> Keeping {
        let KeepRule { amount, least } = self.keep;
        Keeping { amount, least, price: self.price, scrap: self.scrap }
    }
}

#[cfg(test)]
mod tests {
    use oddment_core::shape::{Loop, Point, Region};

    use super::*;

    /// Whether what is left, so wide and high (mm), is kept.
    #[track_caller]
    fn check(material: &str, density: f64, thickness: f64, size: [f64; 2], kept: bool) {
        let outer = Loop::rectangle(Point::origin(), Point::new(size[0], size[1])).unwrap();
        let metal = Metal { material: material.into(), thickness, density };
        let keeping = Material::starting(material, density).keeping();
        assert_eq!(
            keeping.keeps(&Region::new(outer, Vec::new()), &metal),
            kept,
            "{metal:?} {size:?}"
        );
    }

    #[test]
    fn what_is_kept_to_start_with_goes_by_the_family_of_metals() {
        check("S235", 7850.0, 3.0, [700.0, 400.0], true);
        check("S235", 7850.0, 3.0, [350.0, 250.0], false);
        // Large, but too narrow for anything.
        check("S235", 7850.0, 10.0, [2000.0, 150.0], false);
        // Thicker metal is worth more.
        check("S355", 7850.0, 10.0, [350.0, 250.0], true);
        // Stainless is worth keeping where mild steel is not.
        check("1.4301", 7900.0, 3.0, [350.0, 250.0], true);
        check("304", 7900.0, 3.0, [120.0, 100.0], false);
        check("5754", 2670.0, 2.0, [700.0, 400.0], true);
        check("5754", 2670.0, 2.0, [350.0, 250.0], false);
    }

    #[test]
    fn scrap_never_brings_more_than_the_metal_costs() {
        let cheap = Material::new("S235", 7850.0, 0.1);
        assert_eq!((cheap.price, cheap.scrap), (0.1, 0.1));
    }
}
