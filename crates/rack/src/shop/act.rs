//! A change being made: one transaction, one event.

use std::path::Path;

use oddment_core::sheet::Sheet;
use rusqlite::{Connection, OptionalExtension, Transaction, TransactionBehavior, params};

use super::writer::Writing;
use crate::facts::Facts;
use crate::fault::ShopFault;
use crate::label;
use crate::outline::Outline;
use crate::when;

/// Labels that a shop may have given out, at most.
const LABELS: i64 = 1_000_000_000;

/// Does `work` in one transaction, as one event of this kind; nothing where it says nothing.
pub(super) fn change_in<T>(
    connection: &mut Connection,
    path: &Path,
    who: &str,
    kind: &str,
    work: impl FnOnce(&mut Act<'_>) -> Result<T, ShopFault>,
) -> Result<T, ShopFault> {
    let transaction = connection.transaction_with_behavior(TransactionBehavior::Immediate)?;
    let writing = Writing::begin(path, who);
    // The event is written last, when it is known what there is to say.
    transaction.pragma_update(None, "defer_foreign_keys", true)?;
    let (last, before): (i64, i64) = transaction.query_row(
        "SELECT coalesce(max(id), 0), coalesce(max(at), 0) FROM events",
        [],
        |row| Ok((row.get(0)?, row.get(1)?)),
    )?;
    // A clock that was set back does not turn history round.
    let at = when::now().max(before);
    let event =
        last.checked_add(1).ok_or_else(|| ShopFault::damaged("its last event has no number"))?;
    let mut act =
        Act { transaction: &transaction, event, at, who, said: None, undoes: None, quietly: false };
    let done = work(&mut act)?;
    let quietly = act.quietly;
    if let (Some(said), undoes) = (act.said.take(), act.undoes) {
        transaction.execute(
            "INSERT INTO events (id, at, who, kind, said, undoes) VALUES (?1, ?2, ?3, ?4, ?5, ?6)",
            params![event, at, who, kind, said, undoes],
        )?;
    } else if !quietly {
        return Ok(done);
    }
    // While the file is still locked, so that it can't be the note of whoever writes next.
    drop(writing);
    transaction.commit()?;
    Ok(done)
}

/// A change being made.
pub(crate) struct Act<'a> {
    pub(crate) transaction: &'a Transaction<'a>,
    /// Number of the event that it becomes.
    pub(crate) event: i64,
    /// When, seconds since 1970.
    pub(crate) at: i64,
    pub(crate) who: &'a str,
    said: Option<String>,
    pub(crate) undoes: Option<i64>,
    /// Whether it is written though nothing is said of it.
    quietly: bool,
}

/// What is known of a sheet at a time, and its numbers in the file.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct State {
    pub(crate) id: i64,
    pub(crate) sheet: i64,
    pub(crate) label: String,
    pub(crate) shape: i64,
    pub(crate) facts: Facts,
}

impl Act<'_> {
    /// What the event is, for people; without it nothing is written.
    pub(crate) fn say(&mut self, said: impl Into<String>) {
        self.said = Some(said.into());
    }

    /// The newest state of the sheet with this label.
    pub(crate) fn state(&self, label: &str) -> Result<State, ShopFault> {
        newest_state(self.transaction, label)
    }

    /// Writes what is no event of the shop's history.
    pub(crate) fn quietly(&mut self) {
        self.quietly = true;
    }

    /// Writes a shape.
    pub(crate) fn put_outline(&self, outline: &Outline) -> Result<i64, ShopFault> {
        let bounds = outline.bounds();
        let (width, height) =
            if bounds.is_empty() { (0.0, 0.0) } else { (bounds.width(), bounds.height()) };
        self.transaction
            .prepare_cached(
                "INSERT INTO shapes (width, height, area, outline) VALUES (?1, ?2, ?3, ?4)",
            )?
            .execute(params![width, height, outline.area(), outline.to_text()?])?;
        Ok(self.transaction.last_insert_rowid())
    }

    /// Writes a new state of a sheet after the state `before`.
    pub(crate) fn put_state(
        &self,
        sheet: i64,
        before: Option<i64>,
        shape: i64,
        facts: &Facts,
    ) -> Result<(), ShopFault> {
        self.put_state_text(sheet, before, shape, &serde_json::to_string(facts)?)
    }

    /// The same, its facts as text.
    pub(crate) fn put_state_text(
        &self,
        sheet: i64,
        before: Option<i64>,
        shape: i64,
        facts: &str,
    ) -> Result<(), ShopFault> {
        self.transaction
            .prepare_cached(
                "INSERT INTO states (sheet, event, before, shape, facts) VALUES (?1, ?2, ?3, ?4, ?5)",
            )?
            .execute(params![sheet, self.event, before, shape, facts])?;
        Ok(())
    }

    /// A new sheet with the label given, or the next of the shop's own.
    pub(crate) fn new_sheet(&self, label: Option<&str>) -> Result<(i64, String), ShopFault> {
        let label = match label {
            Some(label) => label::checked(label)?,
            None => self.next_label()?,
        };
        let known: Option<String> = self
            .transaction
            .query_row("SELECT label FROM sheets WHERE label = ?1", [&label], |row| row.get(0))
            .optional()?;
        if let Some(known) = known {
            return Err(ShopFault::refused(format!(
                "a sheet was labelled {known} already, and a label is never used again; choose \
                 another, or give none to get the next free one"
            )));
        }
        self.transaction
            .prepare_cached("INSERT INTO sheets (label) VALUES (?1)")?
            .execute([&label])?;
        Ok((self.transaction.last_insert_rowid(), label))
    }

    /// The shop's own labels are numbered from here on, where they are not beyond it already.
    pub(crate) fn number_from(&self, next: i64) -> Result<(), ShopFault> {
        // No shop has written so many: a larger number is no label's.
        if next <= LABELS {
            let sql = "UPDATE shop SET next_label = max(next_label, ?1)";
            self.transaction.execute(sql, [next])?;
        }
        Ok(())
    }

    fn next_label(&self) -> Result<String, ShopFault> {
        loop {
            let number: i64 = self.transaction.query_row(
                "UPDATE shop SET next_label = next_label + 1 RETURNING next_label - 1",
                [],
                |row| row.get(0),
            )?;
            let label = label::numbered(number);
            let taken = self
                .transaction
                .prepare_cached("SELECT 1 FROM sheets WHERE label = ?1")?
                .exists([&label])?;
            if !taken {
                return Ok(label);
            }
        }
    }
}

/// The newest state of the sheet with this label.
pub(crate) fn newest_state(connection: &Connection, label: &str) -> Result<State, ShopFault> {
    let found = connection
        .prepare_cached(
            "SELECT st.id, s.id, s.label, st.shape, st.facts FROM sheets s \
             JOIN states st ON st.sheet = s.id WHERE s.label = ?1 ORDER BY st.id DESC LIMIT 1",
        )?
        .query_row([label.trim()], |row| {
            let facts: String = row.get(4)?;
            Ok((row.get(0)?, row.get(1)?, row.get(2)?, row.get(3)?, facts))
        })
        .optional()?;
    let (id, sheet, label, shape, facts) =
        found.ok_or_else(|| ShopFault::NoSheet(label.trim().to_owned()))?;
    Ok(State { id, sheet, label, shape, facts: serde_json::from_str(&facts)? })
}

/// A shape by its number.
pub(crate) fn outline(connection: &Connection, shape: i64) -> Result<Outline, ShopFault> {
    let text: String = connection
        .prepare_cached("SELECT outline FROM shapes WHERE id = ?1")?
        .query_row([shape], |row| row.get(0))?;
    Outline::parse(&text)
}

/// The sheet for planning.
pub(crate) fn sheet_of(label: &str, facts: &Facts, outline: &Outline) -> Sheet {
    Sheet {
        name: label.to_owned(),
        bodies: outline.bodies(),
        no_go: outline.no_go.clone(),
        grain: facts.grain_deg.map(f64::to_radians),
        made_of: Some(facts.metal()),
    }
}
