//! Standing filler parts: small parts that are always of use, laid where a plan leaves metal.
//!
//! How many of one are in stock is what was counted last and what recorded cuts have made since.
//! Setting one says anew how many there are.

use oddment_core::sheet::Metal;
use rusqlite::{Connection, params};
use serde::{Deserialize, Serialize};

use crate::facts::Material;
use crate::fault::ShopFault;
use crate::merge::merged;
use crate::record::{CutFacts, Outcome};
use crate::shop::{Act, Shop};

/// Thicknesses within this (mm) are equal.
const SAME_THICKNESS: f64 = 1e-3;

/// No shop keeps more of a part.
const MOST: usize = 1_000_000;

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

    /// As a person sees it: with how many there are now.
    pub fn seen(&self) -> Filler {
        Filler { counted: self.there, ..self.filler.clone() }
    }

    /// What it is once somebody who `saw` that of it `wants` this; counted at `event` where another number
    /// is said.
    fn changed(&self, saw: Option<&Self>, wants: &Filler, event: i64) -> Result<Filler, ShopFault> {
        // When it was counted, and how its name is written, nobody changes by hand.
        let by_hand = |filler: Filler| Filler {
            part: self.filler.part.clone(),
            counted_at: self.filler.counted_at,
            ..filler
        };
        let (saw, wants) = (saw.map(|s| by_hand(s.seen())), by_hand(wants.clone()));
        let now = self.seen();
        let put = merged(&now.part, &saw, &Some(wants), &Some(now.clone()))?.unwrap_or_default();
        // What was cut since it was counted goes on counting where nobody has counted anew.
        Ok(if put.counted == now.counted {
            Filler { counted: self.filler.counted, ..put }
        } else {
            put.counted_at(event)
        })
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

impl Filler {
    /// Refuses what no filler part can be.
    pub(crate) fn possible(&self) -> Result<(), ShopFault> {
        let part = &self.part;
        if part.trim().is_empty() || self.material.trim().is_empty() {
            return Err(ShopFault::refused("a filler part needs a name and a material"));
        }
        if self.most == 0 || self.least > self.most {
            return Err(ShopFault::refused(format!(
                "{part}: the most in stock is at least 1, and no less than the least"
            )));
        }
        if self.most.max(self.counted) > MOST {
            return Err(ShopFault::refused(format!("{part}: no more than {MOST} are kept")));
        }
        Ok(())
    }

    /// Counted at this event.
    pub(crate) fn counted_at(self, event: i64) -> Self {
        Self { part: self.part.trim().to_owned(), counted_at: event, ..self }
    }
}

/// Writes a filler part; `conflict` says what becomes of the one of its name.
pub(crate) fn put_filler(act: &Act<'_>, filler: &Filler, conflict: &str) -> Result<(), ShopFault> {
    act.transaction.execute(
        &format!("INSERT INTO fillers (part, facts) VALUES (?1, ?2) ON CONFLICT {conflict}"),
        params![filler.part, serde_json::to_string(filler)?],
    )?;
    Ok(())
}

impl Shop {
    /// Lays filler parts of these names no more and adds or changes others, all of it or nothing, each by
    /// a person who saw the first of it (`None`: there was none) and wants the second: what somebody else
    /// has changed, or made, meanwhile stays. One with another number in stock counts as counted now.
    ///
    /// # Errors
    /// Where there is none of a name, one can't be so, both changed the same to something else, or it
    /// can't be written.
    pub fn set_fillers(
        &mut self,
        gone: &[String],
        changes: &[(Option<Stocked>, Filler)],
    ) -> Result<(), ShopFault> {
        self.change("filler", |act| {
            let mut said = Vec::with_capacity(gone.len() + changes.len());
            for part in gone {
                let sql = "DELETE FROM fillers WHERE part = ?1";
                if act.transaction.execute(sql, [part.trim()])? == 0 {
                    return Err(ShopFault::refused(format!("there is no filler part {part}")));
                }
                said.push(format!("filler part {part} is one no more"));
            }
            for (saw, wants) in changes {
                wants.possible()?;
                let part = wants.part.trim();
                let there = stocked(act.transaction)?;
                let now = there.iter().find(|s| s.filler.part.eq_ignore_ascii_case(part));
                let put = match (saw, now) {
                    (None, None) => wants.clone().counted_at(act.event - 1),
                    (Some(_), None) => {
                        return Err(ShopFault::refused(format!("{part} is a filler part no more")));
                    }
                    (saw, Some(now)) => now.changed(saw.as_ref(), wants, act.event - 1)?,
                };
                put.possible()?;
                put_filler(act, &put, "(part) DO UPDATE SET facts = excluded.facts")?;
                said.push(format!("filler part {part}: {} in stock", put.counted));
            }
            if !said.is_empty() {
                act.say(said.join("; "));
            }
            Ok(())
        })
    }

    /// The filler parts, and how many of each there are.
    ///
    /// # Errors
    /// Where they can't be read.
    pub fn fillers(&self) -> Result<Vec<Stocked>, ShopFault> {
        stocked(self.connection())
    }
}

fn stocked(connection: &Connection) -> Result<Vec<Stocked>, ShopFault> {
    let mut statement = connection.prepare("SELECT facts FROM fillers ORDER BY part")?;
    let rows = statement.query_map([], |row| row.get::<_, String>(0))?;
    let mut stocked = Vec::new();
    for row in rows {
        let filler: Filler = serde_json::from_str(&row?)?;
        stocked.push(Stocked { there: filler.counted, filler });
    }
    let Some(since) = stocked.iter().map(|s| s.filler.counted_at).min() else {
        return Ok(stocked);
    };
    let mut statement = connection.prepare(
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
                made.there = made.there.saturating_add(1);
            }
        }
    }
    Ok(stocked)
}
