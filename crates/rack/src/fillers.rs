//! Standing filler parts: small parts that are always of use, laid where a plan leaves metal.
//!
//! How many of one are in stock is what was counted last and what recorded cuts have made since.
//! Setting one says anew how many there are.

use oddment_core::sheet::Metal;
use rusqlite::params;
use serde::{Deserialize, Serialize};

use crate::facts::Material;
use crate::fault::ShopFault;
use crate::record::{CutFacts, Outcome};
use crate::shop::{Act, Shop};

/// Thicknesses within this (mm) are equal.
const SAME_THICKNESS: f64 = 1e-3;

/// A standing filler part.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct Filler {
    /// The part's name.
    pub part: String,
    /// A plan (JSON) that asks for the part alone.
    pub drawn: String,
    /// What it is made of.
    pub material: String,
    /// How thick, mm.
    pub thickness: f64,
    /// There should be no fewer in stock.
    pub least: usize,
    /// There should be no more.
    pub most: usize,
    /// How many there were when they were counted last.
    pub counted: usize,
    /// The newest event when they were counted.
    pub counted_at: i64,
}

/// A filler part, and how many there are now.
#[derive(Clone, Debug, PartialEq)]
pub struct Stocked {
    /// The part.
    pub filler: Filler,
    /// In stock.
    pub there: usize,
}

impl Stocked {
    /// How many more may be made.
    pub fn room(&self) -> usize {
        self.filler.most.saturating_sub(self.there)
    }

    /// Whether there are fewer than there should be.
    pub fn is_short(&self) -> bool {
        self.there < self.filler.least
    }

    /// Whether it may be cut from this metal: its material or one that stands in for it, as thick.
    pub fn goes_on(&self, metal: &Metal, materials: &[Material]) -> bool {
        let same = |name: &str| name.eq_ignore_ascii_case(&metal.material);
        let stands_in = Material::named(materials, &self.filler.material)
            .is_some_and(|m| m.stand_ins.iter().any(|s| same(s)));
        (same(&self.filler.material) || stands_in)
            && (self.filler.thickness - metal.thickness).abs() <= SAME_THICKNESS
    }
}

/// Writes a filler part that is counted now; `conflict` says what becomes of the one of its name.
pub(crate) fn put_filler(act: &Act<'_>, filler: &Filler, conflict: &str) -> Result<(), ShopFault> {
    let part = filler.part.trim().to_owned();
    let filler = Filler { part, counted_at: act.event - 1, ..filler.clone() };
    act.transaction.execute(
        &format!("INSERT INTO fillers (part, facts) VALUES (?1, ?2) ON CONFLICT {conflict}"),
        params![filler.part, serde_json::to_string(&filler)?],
    )?;
    Ok(())
}

impl Shop {
    /// Adds a filler part, or changes the one of its name; it counts as counted now.
    ///
    /// # Errors
    /// Where it can't be so, or can't be written.
    pub fn set_filler(&mut self, filler: &Filler) -> Result<(), ShopFault> {
        let part = filler.part.trim();
        if part.is_empty() || filler.material.trim().is_empty() {
            return Err(ShopFault::refused("a filler part needs a name and a material"));
        }
        if filler.most == 0 || filler.least > filler.most {
            return Err(ShopFault::refused(format!(
                "{part}: the most in stock is at least 1, and no less than the least"
            )));
        }
        self.change("filler", |act| {
            put_filler(act, filler, "(part) DO UPDATE SET facts = excluded.facts")?;
            act.say(format!("filler part {part}: {} in stock", filler.counted));
            Ok(())
        })
    }

    /// Lays a filler part no more.
    ///
    /// # Errors
    /// Where there is none of the name, or it can't be written.
    pub fn remove_filler(&mut self, part: &str) -> Result<(), ShopFault> {
        self.change("filler", |act| {
            let sql = "DELETE FROM fillers WHERE part = ?1";
            if act.transaction.execute(sql, [part.trim()])? == 0 {
                return Err(ShopFault::refused(format!("there is no filler part {part}")));
            }
            act.say(format!("filler part {part} is one no more"));
            Ok(())
        })
    }

    /// The filler parts, and how many of each there are.
    ///
    /// # Errors
    /// Where they can't be read.
    pub fn fillers(&self) -> Result<Vec<Stocked>, ShopFault> {
        let mut statement = self.connection().prepare("SELECT facts FROM fillers ORDER BY part")?;
        let rows = statement.query_map([], |row| row.get::<_, String>(0))?;
        let mut stocked = Vec::new();
        for row in rows {
            let filler: Filler = serde_json::from_str(&row?)?;
            stocked.push(Stocked { there: filler.counted, filler });
        }
        let Some(since) = stocked.iter().map(|s| s.filler.counted_at).min() else {
            return Ok(stocked);
        };
        let mut statement = self.connection().prepare(
            "SELECT c.event, c.facts FROM cuts c WHERE c.event > ?1 \
             AND NOT EXISTS (SELECT 1 FROM events u WHERE u.undoes = c.event)",
        )?;
        let mut rows = statement.query([since])?;
        while let Some(row) = rows.next()? {
            let event: i64 = row.get(0)?;
            let cut: CutFacts = serde_json::from_str(&row.get::<_, String>(1)?)?;
            for part in cut.parts.iter().filter(|p| p.outcome == Outcome::Good) {
                let of = |s: &&mut Stocked| {
                    event > s.filler.counted_at && s.filler.part.eq_ignore_ascii_case(&part.part)
                };
                if let Some(made) = stocked.iter_mut().find(of) {
                    made.there += 1;
                }
            }
        }
        Ok(stocked)
    }
}
