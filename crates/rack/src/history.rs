//! What was done, by whom and when; and taking back the latest.

use rusqlite::{OptionalExtension, Row, params};

use crate::facts::{Facts, Whereabouts};
use crate::fault::ShopFault;
use crate::shop::Shop;

/// Something that a person did.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Event {
    /// Its number; numbers only grow.
    pub number: i64,
    /// When, seconds since 1970.
    pub at: i64,
    /// By whom.
    pub who: String,
    /// What kind of thing: add, cut, undo, hold, …
    pub kind: String,
    /// What was done, for people.
    pub said: String,
    /// The event that it takes back.
    pub undoes: Option<i64>,
    /// The event that takes it back.
    pub undone_by: Option<i64>,
}

const EVENTS: &str = "SELECT e.id, e.at, e.who, e.kind, e.said, e.undoes, u.id \
     FROM events e LEFT JOIN events u ON u.undoes = e.id";

fn event(row: &Row<'_>) -> Result<Event, rusqlite::Error> {
    Ok(Event {
        number: row.get(0)?,
        at: row.get(1)?,
        who: row.get(2)?,
        kind: row.get(3)?,
        said: row.get(4)?,
        undoes: row.get(5)?,
        undone_by: row.get(6)?,
    })
}

impl Shop {
    /// The newest events, at most so many, newest first.
    ///
    /// # Errors
    /// Where they can't be read.
    pub fn events(&self, most: usize) -> Result<Vec<Event>, ShopFault> {
        let sql = format!("{EVENTS} ORDER BY e.id DESC LIMIT ?1");
        let mut statement = self.connection().prepare(&sql)?;
        let rows = statement.query_map([most as i64], event)?;
        Ok(rows.collect::<Result<_, _>>()?)
    }

    /// What was done to a sheet, newest first.
    ///
    /// # Errors
    /// Where it can't be read.
    pub fn history(&self, label: &str) -> Result<Vec<Event>, ShopFault> {
        let sql = format!(
            "{EVENTS} WHERE e.id IN (SELECT st.event FROM states st JOIN sheets s ON s.id = st.sheet \
             WHERE s.label = ?1) ORDER BY e.id DESC"
        );
        let mut statement = self.connection().prepare(&sql)?;
        let rows = statement.query_map([label.trim()], event)?;
        Ok(rows.collect::<Result<_, _>>()?)
    }

    /// The event that an undo would take back now: the newest that changed sheets, is no undo and was
    /// not undone.
    ///
    /// # Errors
    /// Where it can't be read.
    pub fn undoable(&self) -> Result<Option<Event>, ShopFault> {
        let sql = format!(
            "{EVENTS} WHERE e.undoes IS NULL AND u.id IS NULL \
             AND EXISTS (SELECT 1 FROM states WHERE event = e.id) ORDER BY e.id DESC LIMIT 1"
        );
        Ok(self.connection().query_row(&sql, [], event).optional()?)
    }

    /// Takes back an event, the newest where none is named: its sheets are again exactly as before,
    /// as a new event. Returns what was taken back.
    ///
    /// # Errors
    /// Where a sheet of it has changed since, it was undone before, or it can't be written.
    pub fn undo(&mut self, number: Option<i64>) -> Result<Event, ShopFault> {
        let number = match number {
            Some(number) => number,
            None => {
                self.undoable()?
                    .ok_or_else(|| ShopFault::refused("there is nothing to undo"))?
                    .number
            }
        };
        self.change("undo", |act| {
            let sql = format!("{EVENTS} WHERE e.id = ?1");
            let undone = act.transaction.query_row(&sql, [number], event).optional()?;
            let undone =
                undone.ok_or_else(|| ShopFault::refused(format!("there is no event {number}")))?;
            if let Some(by) = undone.undone_by {
                return Err(ShopFault::refused(format!(
                    "event {number} was undone already, by event {by}"
                )));
            }
            if undone.undoes.is_some() {
                return Err(ShopFault::refused(format!(
                    "event {number} is an undo; do again what it took back"
                )));
            }
            let mut statement = act.transaction.prepare(
                // What was undone since, and its undoing, left the sheet as it was.
                "SELECT (SELECT max(id) FROM states WHERE sheet = st.sheet), \
                 st.sheet, st.shape, st.facts, b.id, b.shape, b.facts, s.label, \
                 (SELECT max(l.event) FROM states l JOIN events e ON e.id = l.event \
                  WHERE l.sheet = st.sheet AND l.id > st.id AND e.undoes IS NULL \
                  AND NOT EXISTS (SELECT 1 FROM events u WHERE u.undoes = e.id)) \
                 FROM states st JOIN sheets s ON s.id = st.sheet \
                 LEFT JOIN states b ON b.id = st.before WHERE st.event = ?1",
            )?;
            let mut rows = statement.query([number])?;
            let mut sheets = 0;
            while let Some(row) = rows.next()? {
                let label: String = row.get(7)?;
                if let Some(since) = row.get::<_, Option<i64>>(8)? {
                    let since = act.transaction.query_row(&sql, [since], event)?;
                    return Err(ShopFault::refused(format!(
                        "{label} has changed since (event {}, {}: {}); undo that first",
                        since.number, since.who, since.said
                    )));
                }
                let (state, sheet): (i64, i64) = (row.get(0)?, row.get(1)?);
                if row.get::<_, Option<i64>>(4)?.is_some() {
                    let facts: String = row.get(6)?;
                    act.put_state_text(sheet, Some(state), row.get(5)?, &facts)?;
                } else {
                    let facts: String = row.get(3)?;
                    let mut facts: Facts = serde_json::from_str(&facts)?;
                    facts.whereabouts = Whereabouts::Undone;
                    act.put_state(sheet, Some(state), row.get(2)?, &facts)?;
                }
                sheets += 1;
            }
            if sheets == 0 {
                return Err(ShopFault::refused(format!(
                    "event {number} ({}) changed no sheet, so there is nothing to undo of it",
                    undone.said
                )));
            }
            act.undoes = Some(number);
            act.say(format!("undone: {}", undone.said));
            Ok(undone)
        })
    }

    /// How many events of a kind there are that were not undone.
    ///
    /// # Errors
    /// Where they can't be read.
    pub fn count_of(&self, kind: &str) -> Result<i64, ShopFault> {
        Ok(self.connection().query_row(
            "SELECT count(*) FROM events e WHERE e.kind = ?1 \
             AND NOT EXISTS (SELECT 1 FROM events u WHERE u.undoes = e.id)",
            params![kind],
            |row| row.get(0),
        )?)
    }
}
