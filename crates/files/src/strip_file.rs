//! The academic form of a strip to be packed; its lengths are taken for millimetres.

use oddment_core::distances::Clearances;
use oddment_core::packer::Strip;
use oddment_core::part::{Part, Turning};
use oddment_core::shape::{Loop, LoopFault, PartSpace, Point, Region};
use serde::Deserialize;

/// All items have to go in, so that more of them would keep the search from its first layout.
const MOST_ITEMS: usize = 1_000;

/// Polygons by the piece, as academic instances give them.
#[derive(Deserialize)]
pub struct StripFile {
    /// What the instance is called.
    pub name: String,
    strip_width: f64,
    rotations_deg: Rotations,
    items: Vec<ItemGiven>,
}

/// The angles an item may lie at: a list, or "any".
#[derive(Deserialize)]
#[serde(untagged, expecting = "rotations_deg is neither a list of angles nor \"any\"")]
enum Rotations {
    These(Vec<f64>),
    Any(AnyAngle),
}

#[derive(Deserialize)]
#[serde(rename_all = "lowercase")]
enum AnyAngle {
    Any,
}

/// An item and how many there are of it.
#[derive(Deserialize)]
pub struct ItemGiven {
    /// How many.
    pub quantity: usize,
    outline: Vec<[f64; 2]>,
    #[serde(default)]
    holes: Vec<Vec<[f64; 2]>>,
}

impl StripFile {
    /// The strip, or all that is wrong with it.
    ///
    /// # Errors
    /// A sentence for each fault.
    pub fn strip(&self, clearances: Clearances) -> Result<Strip, Vec<String>> {
        let mut faults = Vec::new();
        let turning = match &self.rotations_deg {
            Rotations::These(degrees) => {
                Turning::Only(degrees.iter().map(|d| d.to_radians()).collect())
            }
            Rotations::Any(AnyAngle::Any) => Turning::Free,
        };
        if turning == Turning::Only(Vec::new()) {
            faults.push("rotations_deg: the list is empty; write [0] for only as drawn".to_owned());
        }
        if self.items.iter().fold(0, |n: usize, i| n.saturating_add(i.quantity)) > MOST_ITEMS {
            faults.push(format!("items: more than {MOST_ITEMS} are wanted; ask for fewer"));
        }
        let mut parts = Vec::new();
        for (i, item) in self.items.iter().enumerate() {
            match item.region() {
                Ok(region) => {
                    let part = Part::new(format!("item {i}"), region);
                    parts.push((Part { turning: turning.clone(), ..part }, item.quantity));
                }
                Err(fault) => faults.push(format!("items[{i}]: {fault}; mend its points")),
            }
        }
        if faults.is_empty() {
            Ok(Strip { width: self.strip_width, parts, clearances })
        } else {
            Err(faults)
        }
    }
}

impl ItemGiven {
    /// Its outline and holes.
    ///
    /// # Errors
    /// Where its points make no loop.
    pub fn region(&self) -> Result<Region<PartSpace>, LoopFault> {
        let polygon =
            |points: &Vec<[f64; 2]>| Loop::polygon(points.iter().map(|[x, y]| Point::new(*x, *y)));
        let holes = self.holes.iter().map(polygon).collect::<Result<_, _>>()?;
        Ok(Region::new(polygon(&self.outline)?, holes))
    }
}
