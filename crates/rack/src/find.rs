//! Which sheets have room for a part.
//!
//! First what is known of a sheet says whether it comes into question at all: material, thickness, what
//! the machine can load. Then cheap bounds rule out those that are too small however the part is turned,
//! and for the rest the fit test decides, smallest sheet first, so that what fits most nearly is known
//! first.

use oddment_core::distances::Clearances;
use oddment_core::fit::{Answer, Bulk, Verdict, room_on};
use oddment_core::job::Budget;
use oddment_core::part::Part;
use oddment_core::shape::{PartSpace, Pose, SheetSpace};
use oddment_core::sheet::Sheet;
use serde::{Deserialize, Serialize};

use crate::facts::Material;
use crate::fault::ShopFault;
use crate::outline::Outline;
use crate::sheets::Entry;
use crate::shop::{Shop, sheet_of};

/// Sheets looked at between two words of progress: enough that no thread waits long for the slowest.
const BATCH: usize = 128;

/// Sizes may differ by so much (mm) and count as equal.
const SAME: f64 = 1e-3;

/// What a machine can take.
#[derive(Clone, Copy, Debug, Default, PartialEq, Serialize, Deserialize)]
#[serde(default)]
pub struct Loadable {
    /// Sides of the bed's reach, mm; a sheet may lie either way.
    pub bed: Option<[f64; 2]>,
    /// The heaviest sheet, kg.
    pub weight: Option<f64>,
    /// The most bow, mm.
    pub bow: Option<f64>,
}

/// What is looked for.
#[derive(Clone, Debug, PartialEq)]
pub struct Wish {
    /// Words that must be found in what is known of the sheet.
    pub typed: String,
    /// The material, or one that may stand in for it.
    pub material: Option<String>,
    /// Thickness, mm.
    pub thickness: Option<f64>,
    /// What the machine can take.
    pub loadable: Loadable,
    /// The order it is for: sheets held for others are left out.
    pub order: Option<String>,
    /// Whether it must have a certificate and a heat number.
    pub certificate: bool,
    /// What must have room.
    pub part: Part,
    /// The rule of distances.
    pub clearances: Clearances,
    /// The rule for thicknesses (mm) that have one of their own.
    pub by_thickness: Vec<(f64, Clearances)>,
    /// What a shortfall is told to, mm.
    pub resolution: f64,
}

/// Whether a sheet has room.
#[derive(Clone, Debug, PartialEq)]
pub enum Room {
    /// There is, with the part lying so, and so much (mm) to spare at its tightest.
    Has {
        /// A place that the check passes.
        pose: Pose<PartSpace, SheetSpace>,
        /// Distance left over there, mm.
        spare: f64,
    },
    /// Proven: there is none; so much (mm) is short at the best place found, where one was looked for.
    None {
        /// By how much the distances would have to shrink.
        short: Option<f64>,
    },
    /// Time was up, or it is too near to tell.
    NotDecided,
}

/// A sheet that comes into question.
#[derive(Clone, Debug, PartialEq)]
pub struct Found {
    /// The sheet.
    pub entry: Entry,
    /// Whether it has room.
    pub room: Room,
}

impl Wish {
    /// The rule of distances on sheets of this thickness (mm).
    fn clearances_at(&self, thickness: f64) -> &Clearances {
        let own = self.by_thickness.iter().find(|(of, _)| (of - thickness).abs() <= SAME);
        own.map_or(&self.clearances, |(_, clearances)| clearances)
    }

    /// Whether a sheet comes into question, going by what is known of it.
    pub fn suits(&self, entry: &Entry, materials: &[Material]) -> bool {
        let f = &entry.facts;
        let is_of = |name: &String| {
            let same = |a: &str| a.eq_ignore_ascii_case(&f.material);
            let wanted = Material::named(materials, name);
            same(name) || wanted.is_some_and(|m| m.stand_ins.iter().any(|s| same(s)))
        };
        let held = f.held_for_another(self.order.as_deref());
        f.whereabouts.is_here()
            && f.bar.is_none()
            && held.is_none()
            && (!self.certificate || f.is_certified())
            && self.material.as_ref().is_none_or(is_of)
            && self.thickness.is_none_or(|t| (t - f.thickness).abs() <= SAME)
            && self.loadable.takes(entry)
            && entry.matches(&self.typed)
    }
}

impl Loadable {
    /// Whether it goes by the bow of sheets, and this one's is not known: then nobody can say that the
    /// machine takes it.
    pub fn lacks_bow(&self, entry: &Entry) -> bool {
        self.bow.is_some() && entry.facts.bow.is_none()
    }

    /// Whether a machine can take a sheet, as far as that is known: see [`Self::lacks_bow`].
    pub fn takes(&self, entry: &Entry) -> bool {
        let [w, h] = entry.size;
        let lies =
            |[a, b]: [f64; 2]| (w <= a + SAME && h <= b + SAME) || (w <= b + SAME && h <= a + SAME);
        self.bed.is_none_or(lies)
            && self.weight.is_none_or(|most| entry.weight() <= most)
            && self.bow.is_none_or(|most| entry.facts.bow.is_none_or(|bow| bow <= most))
    }
}

impl Shop {
    /// How thick the sheets are that are there (mm), each once.
    ///
    /// # Errors
    /// Where the file can't be read.
    pub fn thicknesses(&self) -> Result<Vec<f64>, ShopFault> {
        let mut thicknesses: Vec<f64> = self.list()?.iter().map(|e| e.facts.thickness).collect();
        thicknesses.sort_by(f64::total_cmp);
        thicknesses.dedup();
        Ok(thicknesses)
    }

    /// The sheets that come into question for a wish, those with room first and the smallest of them
    /// first of all. `progress` hears how many are decided of how many.
    ///
    /// # Errors
    /// Where the file can't be read.
    pub fn find(
        &self,
        wish: &Wish,
        budget: &Budget<'_>,
        progress: &mut dyn FnMut(usize, usize),
    ) -> Result<Vec<Found>, ShopFault> {
        let materials = self.materials()?;
        let mut entries = self.list()?;
        entries.retain(|e| wish.suits(e, &materials));
        let outlines = entries.iter().map(|e| self.outline_of(e)).collect::<Result<Vec<_>, _>>()?;
        Ok(decide(entries.into_iter().zip(outlines).collect(), wish, budget, progress))
    }
}

/// Decides for sheets to which one rule of distances applies.
fn decided(
    sheets: Vec<&(Entry, Sheet)>,
    wish: &Wish,
    clearances: &Clearances,
    budget: &Budget<'_>,
) -> Vec<Found> {
    let rooms = if budget.spent(0) {
        vec![Room::NotDecided; sheets.len()]
    } else {
        let shapes: Vec<&Sheet> = sheets.iter().map(|(_, sheet)| sheet).collect();
        let answers = room_on(&shapes, &wish.part, clearances, wish.resolution, budget);
        answers.into_iter().map(Room::from).collect()
    };
    let found = |((entry, _), room): (&(Entry, Sheet), Room)| Found { entry: entry.clone(), room };
    sheets.into_iter().zip(rooms).map(found).collect()
}

impl From<Answer> for Room {
    fn from(answer: Answer) -> Self {
        match (answer.verdict, answer.pose) {
            (Verdict::Fits, Some(pose)) => {
                let spare = answer.tightest.as_ref().map_or(0.0, |m| m.spare());
                Self::Has { pose, spare: spare.max(0.0) }
            }
            (Verdict::CannotFit, _) => Self::None { short: answer.shortfall() },
            _ => Self::NotDecided,
        }
    }
}

/// Decides for sheets whose shapes are at hand; in the order of [`Shop::find`].
pub fn decide(
    mut sheets: Vec<(Entry, Outline)>,
    wish: &Wish,
    budget: &Budget<'_>,
    progress: &mut dyn FnMut(usize, usize),
) -> Vec<Found> {
    sheets.sort_by(|a, b| a.0.area.total_cmp(&b.0.area));
    let bulk = Bulk::of(&wish.part);
    let of = sheets.len();
    let mut found = Vec::with_capacity(of);
    let mut open: Vec<(Entry, Sheet)> = Vec::new();
    for (entry, outline) in sheets {
        if outline.pieces.iter().any(|piece| bulk.goes_into(piece.outer.shape())) {
            let sheet = sheet_of(&entry.label, &entry.facts, &outline);
            open.push((entry, sheet));
        } else {
            found.push(Found { entry, room: Room::None { short: None } });
        }
    }
    progress(found.len(), of);
    for batch in open.chunks(BATCH) {
        // Sheets with the same rule of distances are decided together.
        let mut left: Vec<&(Entry, Sheet)> = batch.iter().collect();
        while let Some((first, _)) = left.first() {
            let clearances = wish.clearances_at(first.facts.thickness);
            let (now, later) = left
                .into_iter()
                .partition(|(entry, _)| wish.clearances_at(entry.facts.thickness) == clearances);
            left = later;
            found.extend(decided(now, wish, clearances, budget));
        }
        progress(found.len(), of);
    }
    let rank = |f: &Found| match f.room {
        Room::Has { .. } => 0,
        Room::NotDecided => 1,
        Room::None { short: Some(_) } => 2,
        Room::None { short: None } => 3,
    };
    let then = |f: &Found| match f.room {
        Room::None { short: Some(short) } => short,
        Room::None { short: None } => -f.entry.area,
        _ => f.entry.area,
    };
    found.sort_by(|a, b| rank(a).cmp(&rank(b)).then(then(a).total_cmp(&then(b))));
    found
}
