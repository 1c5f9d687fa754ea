//! What is to be cut.

use std::f64::consts::{PI, TAU};

use crate::shape::{Edge, PartSpace, Region};
use crate::sheet::Metal;

/// Thicknesses that differ by no more than this (mm) are one: what is sold as 3 mm and as 11 gauge.
const SAME_THICKNESS: f64 = 0.05;

/// How a part may be turned.
#[derive(Clone, Debug, Default, PartialEq)]
pub enum Turning {
    /// By any angle.
    #[default]
    Free,
    /// Only by these angles (radians); `[0.0]` is only as drawn.
    Only(Vec<f64>),
}

impl Turning {
    /// Only as drawn.
    pub fn none() -> Self {
        Self::Only(vec![0.0])
    }

    /// Multiples of `step` radians, from 0 up to a whole turn. A step that is not positive allows
    /// only the part as drawn.
    pub fn steps(step: f64) -> Self {
        // A step finer than a thousandth of a degree is as good as free.
        if step.is_nan() || step <= 0.0 {
            return Self::none();
        }
        if step < 1e-3_f64.to_radians() {
            return Self::Free;
        }
        let count = (TAU / step - 1e-9).ceil().max(1.0) as usize;
        Self::Only((0..count).map(|i| i as f64 * step).collect())
    }
}

/// What a line of a part means that is not cut through.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum MarkKind {
    /// Engraved or scribed.
    Engrave,
    /// Where the part is bent later.
    Bend,
}

/// Lines that travel with a part and are not cut.
#[derive(Clone, Debug, PartialEq)]
pub struct Mark {
    /// What it is for.
    pub kind: MarkKind,
    /// Its lines and arcs, in order.
    pub edges: Vec<Edge<PartSpace>>,
}

/// What a part must be made of.
#[derive(Clone, Debug, PartialEq)]
pub struct MadeFrom {
    /// What people call the metal, such as S235.
    pub material: String,
    /// Millimetres.
    pub thickness: f64,
}

impl MadeFrom {
    /// Whether this metal will do.
    pub fn suits(&self, metal: &Metal) -> bool {
        let named = |name: &str| name.trim().to_lowercase();
        named(&self.material) == named(&metal.material)
            && (self.thickness - metal.thickness).abs() <= SAME_THICKNESS
    }
}

/// Which parts are laid where not all go in.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Priority {
    /// Before the others.
    First,
    /// With the others.
    #[default]
    Usual,
    /// Where the others leave room.
    IfRoom,
}

/// A part as drawn, and how it may lie.
#[derive(Clone, Debug, PartialEq)]
pub struct Part {
    /// Name, unique in its order.
    pub name: String,
    /// Its metal.
    pub region: Region<PartSpace>,
    /// Engraving and bend lines.
    pub marks: Vec<Mark>,
    /// How it may be turned.
    pub turning: Turning,
    /// Whether it may be laid with its other face up.
    pub flip: bool,
    /// Direction in the drawing (radians) that must lie along the sheet's grain, either way.
    pub grain: Option<f64>,
    /// What it must be made of, where that is said.
    pub made_from: Option<MadeFrom>,
    /// Whether it goes before others where not all go in.
    pub priority: Priority,
}

impl Part {
    /// A part that may lie at any angle, face up.
    pub fn new(name: impl Into<String>, region: Region<PartSpace>) -> Self {
        Self {
            name: name.into(),
            region,
            marks: Vec::new(),
            turning: Turning::Free,
            flip: false,
            grain: None,
            made_from: None,
            priority: Priority::default(),
        }
    }

    /// The faces that it may lie on: whether it is flipped.
    pub fn faces(&self) -> &'static [bool] {
        if self.flip { &[false, true] } else { &[false] }
    }

    /// How it may be turned on a sheet whose grain runs at `sheet_grain` radians, when laid
    /// `flipped` or not. Empty where grain and allowed turns exclude each other.
    pub fn turns(&self, sheet_grain: Option<f64>, flipped: bool) -> Turning {
        let (Some(own), Some(sheet)) = (self.grain, sheet_grain) else {
            return self.turning.clone();
        };
        let own = if flipped { PI - own } else { own };
        let along = [(sheet - own).rem_euclid(TAU), (sheet - own + PI).rem_euclid(TAU)];
        match &self.turning {
            Turning::Free => Turning::Only(along.to_vec()),
            Turning::Only(angles) => Turning::Only(
                angles
                    .iter()
                    .copied()
                    .filter(|a| along.iter().any(|b| same_turn(*a, *b)))
                    .collect(),
            ),
        }
    }

    /// Whether it may be cut from a sheet made of this; from one of which nothing is known, it may.
    pub fn may_be_of(&self, metal: Option<&Metal>) -> bool {
        match (&self.made_from, metal) {
            (Some(wanted), Some(metal)) => wanted.suits(metal),
            _ => true,
        }
    }

    /// Whether it may lie turned by `turn` radians.
    pub fn may_lie(&self, sheet_grain: Option<f64>, turn: f64, flipped: bool) -> bool {
        (self.flip || !flipped)
            && match self.turns(sheet_grain, flipped) {
                Turning::Free => true,
                Turning::Only(angles) => angles.iter().any(|a| same_turn(*a, turn)),
            }
    }
}

/// Whether two turns (radians) are the same but for whole turns, within a thousandth of a degree.
fn same_turn(a: f64, b: f64) -> bool {
    let off = (a - b).rem_euclid(TAU);
    off.min(TAU - off) < 1e-3_f64.to_radians()
}
