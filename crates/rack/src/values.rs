//! Values that the shop keeps in place of starting values: cut data, machines, limits, policies.
//!
//! A value has a key, a path such as `rows/fibre laser/2.5/kerf`, that says which starting value it
//! stands for. What a key means is no business of the shop file, which keeps what was said, when and
//! by whom. Nothing is taken away: putting a starting value back is said too.

use oddment_files::values::Values;
use rusqlite::{Connection, Row, params};
use serde_json::Value;

use crate::fault::ShopFault;
use crate::shop::Shop;

/// Longest key and longest value (bytes) that are kept.
const LONGEST_KEY: usize = 200;
const LONGEST_VALUE: usize = 20_000;

/// A value as it was said at a time.
#[derive(Clone, Debug, PartialEq)]
pub struct ShopValue {
    /// Which value.
    pub key: String,
    /// What it is; `None` where the starting value was put back.
    pub value: Option<Value>,
    /// When, seconds since 1970.
    pub at: i64,
    /// By whom.
    pub who: String,
}

const VALUES: &str =
    "SELECT v.key, v.value, e.at, e.who FROM shop_values v JOIN events e ON e.id = v.event";

impl Shop {
    /// The values that the shop keeps, by key; those put back to their start are not among them.
    ///
    /// # Errors
    /// Where they can't be read.
    pub fn values(&self) -> Result<Vec<ShopValue>, ShopFault> {
        let sql = format!(
            "{VALUES} WHERE v.id IN (SELECT max(id) FROM shop_values GROUP BY key) \
             AND v.value IS NOT NULL ORDER BY v.key"
        );
        read(self.connection(), &sql, [])
    }

    /// The values that the shop works with: what it keeps over what the program starts with. What can't
    /// be is left as the program starts with it.
    ///
    /// # Errors
    /// Where they can't be read.
    pub fn working_values(&self) -> Result<Values, ShopFault> {
        let kept = self.values()?;
        let said = kept.iter().filter_map(|v| Some((v.key.as_str(), v.value.as_ref()?)));
        Ok(Values::starting().with(said).0.with_learnt(self.learnt()?))
    }

    /// All that was ever said of a value, the newest first.
    ///
    /// # Errors
    /// Where it can't be read.
    pub fn value_history(&self, key: &str) -> Result<Vec<ShopValue>, ShopFault> {
        let sql = format!("{VALUES} WHERE v.key = ?1 ORDER BY v.id DESC");
        read(self.connection(), &sql, [key])
    }

    /// Keeps these values, or puts their starting values back where they are `None`, as one event;
    /// `said` tells people what it is about. Where all are so already nothing happens.
    ///
    /// # Errors
    /// Where a key is empty, or key or value is too long; where it can't be written.
    pub fn set_values(
        &mut self,
        values: &[(String, Option<Value>)],
        said: &str,
    ) -> Result<(), ShopFault> {
        for (key, value) in values {
            let long = value.as_ref().is_some_and(|v| v.to_string().len() > LONGEST_VALUE);
            if key.trim().is_empty() || key.len() > LONGEST_KEY || long {
                return Err(ShopFault::refused(format!("“{key}” is too long, or has no name")));
            }
        }
        self.change("value", |act| {
            let mut changed = false;
            for (key, value) in values {
                let sql = format!("{VALUES} WHERE v.key = ?1 ORDER BY v.id DESC LIMIT 1");
                let before = read(act.transaction, &sql, [key])?.pop().and_then(|v| v.value);
                if before == *value {
                    continue;
                }
                changed = true;
                act.transaction.execute(
                    "INSERT INTO shop_values (key, value, event) VALUES (?1, ?2, ?3)",
                    params![key, value.as_ref().map(Value::to_string), act.event],
                )?;
            }
            if changed {
                act.say(said);
            }
            Ok(())
        })
    }
}

fn read(
    connection: &Connection,
    sql: &str,
    of: impl rusqlite::Params,
) -> Result<Vec<ShopValue>, ShopFault> {
    let mut statement = connection.prepare_cached(sql)?;
    let row = |row: &Row<'_>| {
        let text: Option<String> = row.get(1)?;
        Ok((row.get(0)?, text, row.get(2)?, row.get(3)?))
    };
    let rows = statement.query_map(of, row)?;
    rows.map(|row| {
        let (key, text, at, who) = row?;
        let value = text.map(|text| serde_json::from_str(&text)).transpose()?;
        Ok(ShopValue { key, value, at, who })
    })
    .collect()
}
