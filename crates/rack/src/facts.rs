//! What is known of a sheet besides its shape, and of materials.

use oddment_core::leftover::Keeping;
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
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
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

    /// A material with the keep rule to start from: a leftover is kept where it is worth the
    /// price of a kilogram more than scrap, and holds a rectangle of 150 × 100 mm.
    pub fn new(name: impl Into<String>, density: f64, price: f64) -> Self {
        let keep = KeepRule { amount: price, least: [150.0, 100.0] };
        let name = name.into();
        Self { name, density, price, scrap: 0.2 * price, stand_ins: Vec::new(), keep }
    }

    /// What of its leftovers is worth keeping.
    pub fn keeping(&self) -> Keeping {
        let KeepRule { amount, least } = self.keep;
        Keeping { amount, least, price: self.price, scrap: self.scrap }
    }
}
