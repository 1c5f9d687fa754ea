//! The stock-take: a walk along the rack that says of each sheet whether it is there.
//!
//! What is said on the walk is kept at once, so that the walk can be broken off and gone on with. Only
//! its end changes the sheets, all in one event.

use rusqlite::{OptionalExtension, params};

use crate::facts::{Facts, Whereabouts};
use crate::fault::ShopFault;
use crate::sheets::Entry;
use crate::shop::Shop;

/// What is said of a sheet on the walk.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Mark {
    /// It is where it should be.
    There,
    /// It is not to be found.
    Missing,
    /// It stands here instead.
    Moved(String),
    /// It is damaged, in these words.
    Damaged(String),
}

/// A walk that is under way.
#[derive(Clone, Debug, PartialEq)]
pub struct StockTake {
    /// Its number.
    pub number: i64,
    /// When it began, seconds since 1970.
    pub began: i64,
    /// The words that pick the sheets to be looked for; all where empty.
    pub words: String,
    /// What was said of sheets so far, by label.
    pub marks: Vec<(String, Mark)>,
    /// Sheets that nothing was said of yet, by place and label.
    pub left: Vec<Entry>,
}

/// How a walk differs from what was known.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Differences {
    /// Sheets that are where they should be.
    pub there: usize,
    /// Not found.
    pub missing: Vec<String>,
    /// Elsewhere: label, place before, place now.
    pub moved: Vec<(String, String, String)>,
    /// Damaged: label, and how.
    pub damaged: Vec<(String, String)>,
    /// Found though they were missing.
    pub found: Vec<String>,
    /// Nothing was said of them.
    pub not_seen: Vec<String>,
}

impl Mark {
    fn kind_and_words(&self) -> (&'static str, &str) {
        match self {
            Self::There => ("there", ""),
            Self::Missing => ("missing", ""),
            Self::Moved(place) => ("moved", place),
            Self::Damaged(words) => ("damaged", words),
        }
    }

    fn read(kind: &str, words: String) -> Result<Self, ShopFault> {
        match kind {
            "there" => Ok(Self::There),
            "missing" => Ok(Self::Missing),
            "moved" => Ok(Self::Moved(words)),
            "damaged" => Ok(Self::Damaged(words)),
            _ => Err(ShopFault::damaged("a stock-take says something unknown of a sheet")),
        }
    }

    fn apply(&self, facts: &mut Facts, at: i64) {
        facts.whereabouts = match self {
            Self::Missing => Whereabouts::Missing,
            _ => Whereabouts::Here,
        };
        if *self != Self::Missing {
            facts.seen = at;
        }
        match self {
            Self::Moved(place) => facts.stands.clone_from(place),
            Self::Damaged(words) => {
                let words = format!("damaged: {words}");
                if !facts.notes.contains(&words) {
                    let gap = if facts.notes.is_empty() { "" } else { "; " };
                    facts.notes += &format!("{gap}{words}");
                }
            }
            Self::There | Self::Missing => {}
        }
    }
}

impl Shop {
    /// The walk that is under way.
    ///
    /// # Errors
    /// Where it can't be read.
    pub fn stock_take(&self) -> Result<Option<StockTake>, ShopFault> {
        let open = self
            .connection()
            .query_row("SELECT id, began, words FROM stock_takes WHERE ended IS NULL", [], |row| {
                Ok((row.get(0)?, row.get(1)?, row.get::<_, String>(2)?))
            })
            .optional()?;
        let Some((number, began, words)) = open else { return Ok(None) };
        let mut statement = self.connection().prepare(
            "SELECT s.label, m.mark, m.words FROM stock_marks m JOIN sheets s ON s.id = m.sheet \
             WHERE m.stock_take = ?1 ORDER BY s.label",
        )?;
        let mut rows = statement.query([number])?;
        let mut marks = Vec::new();
        while let Some(row) = rows.next()? {
            let kind: String = row.get(1)?;
            marks.push((row.get::<_, String>(0)?, Mark::read(&kind, row.get(2)?)?));
        }
        let said: std::collections::HashSet<&str> =
            marks.iter().map(|(label, _)| label.as_str()).collect();
        let mut left = self.list()?;
        left.retain(|e| e.matches(&words) && !said.contains(e.label.as_str()));
        left.sort_by(|a, b| (&a.facts.stands, &a.label).cmp(&(&b.facts.stands, &b.label)));
        Ok(Some(StockTake { number, began, words, marks, left }))
    }

    /// Begins a walk along the sheets that match the words, or goes on with the one under way.
    ///
    /// # Errors
    /// Where no sheet matches the words, or it can't be written.
    pub fn begin_stock_take(&mut self, words: &str) -> Result<StockTake, ShopFault> {
        if self.stock_take()?.is_none() {
            if !self.list()?.iter().any(|e| e.matches(words)) {
                return Err(ShopFault::refused(match words.trim() {
                    "" => "the rack has no sheet to look for".to_owned(),
                    words => format!("no sheet matches “{words}”: there is nothing to look for"),
                }));
            }
            self.change("stock-take begun", |act| {
                // Somebody else may have begun one meanwhile.
                let begun = act.transaction.execute(
                    "INSERT INTO stock_takes (began, words) SELECT ?1, ?2 \
                     WHERE NOT EXISTS (SELECT 1 FROM stock_takes WHERE ended IS NULL)",
                    params![act.at, words.trim()],
                )?;
                if begun > 0 {
                    act.say("stock-take begun");
                }
                Ok(())
            })?;
        }
        self.stock_take()?.ok_or_else(not_begun)
    }

    /// Says of a sheet whether it is there; what was said of it before on this walk is replaced.
    ///
    /// # Errors
    /// Where no walk is under way, there is no such sheet, or it can't be written.
    pub fn mark(&mut self, label: &str, mark: &Mark) -> Result<(), ShopFault> {
        self.change("mark", |act| {
            let take: i64 = act
                .transaction
                .query_row("SELECT id FROM stock_takes WHERE ended IS NULL", [], |row| row.get(0))
                .optional()?
                .ok_or_else(not_begun)?;
            let state = act.state(label)?;
            crate::sheets::there(&state.label, &state.facts)?;
            let (kind, words) = mark.kind_and_words();
            act.transaction.execute(
                "INSERT INTO stock_marks (stock_take, sheet, mark, words, at) \
                 VALUES (?1, ?2, ?3, ?4, ?5) ON CONFLICT (stock_take, sheet) DO UPDATE \
                 SET mark = excluded.mark, words = excluded.words, at = excluded.at",
                params![take, state.sheet, kind, words.trim(), act.at],
            )?;
            act.quietly();
            Ok(())
        })
    }

    /// Ends the walk: what was said of sheets becomes what is known of them, in one event. With
    /// `rest_is_missing` those of which nothing was said are missing.
    ///
    /// # Errors
    /// Where no walk is under way, or it can't be written.
    pub fn end_stock_take(&mut self, rest_is_missing: bool) -> Result<Differences, ShopFault> {
        let take = self.stock_take()?.ok_or_else(not_begun)?;
        let left = take.left.iter().map(|e| e.label.clone());
        let mut marks = take.marks.clone();
        let mut differences = Differences::default();
        if rest_is_missing {
            marks.extend(left.map(|label| (label, Mark::Missing)));
        } else {
            differences.not_seen = left.collect();
        }
        self.change("stock-take", |act| {
            for (label, mark) in &marks {
                let mut state = act.state(label)?;
                let before = state.facts.clone();
                // Cut up since it was seen.
                if crate::sheets::there(label, &before).is_err() {
                    continue;
                }
                mark.apply(&mut state.facts, act.at);
                act.put_state(state.sheet, Some(state.id), state.shape, &state.facts)?;
                let was_missing = before.whereabouts == Whereabouts::Missing;
                if was_missing && *mark != Mark::Missing {
                    differences.found.push(label.clone());
                }
                match mark {
                    Mark::There => differences.there += 1,
                    Mark::Missing => differences.missing.push(label.clone()),
                    Mark::Moved(place) if *place == before.stands => differences.there += 1,
                    Mark::Moved(place) => {
                        differences.moved.push((label.clone(), before.stands, place.clone()));
                    }
                    Mark::Damaged(words) => {
                        differences.damaged.push((label.clone(), words.clone()))
                    }
                }
            }
            act.transaction.execute(
                "UPDATE stock_takes SET ended = ?1 WHERE id = ?2",
                params![act.at, take.number],
            )?;
            act.say(format!(
                "stock-take: {} there, {} missing, {} moved, {} damaged",
                differences.there,
                differences.missing.len(),
                differences.moved.len(),
                differences.damaged.len()
            ));
            Ok(())
        })?;
        Ok(differences)
    }
}

fn not_begun() -> ShopFault {
    ShopFault::refused("no stock-take is under way; begin one first")
}
