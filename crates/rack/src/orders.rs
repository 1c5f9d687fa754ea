//! Orders: what is wanted, and what of it was made by recorded cuts.

use std::collections::HashMap;

use rusqlite::{Connection, OptionalExtension, params};
use serde::{Deserialize, Serialize};

use crate::fault::ShopFault;
use crate::record::{CutFacts, Outcome};
use crate::shop::Shop;

/// What an order asks for.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct Order {
    /// Its name.
    pub name: String,
    /// Whether its parts must come from sheets with a certificate.
    pub certificate: bool,
    /// Parts by name, and how many are wanted.
    pub lines: Vec<(String, usize)>,
}

impl Order {
    /// One of this name that asks for nothing yet.
    pub fn named(name: &str) -> Self {
        Self { name: name.trim().to_owned(), ..Self::default() }
    }
}

/// A part of an order.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct OrderLine {
    /// The part.
    pub part: String,
    /// How many are wanted.
    pub wanted: usize,
    /// How many good ones were recorded.
    pub made: usize,
}

impl OrderLine {
    /// How many are still to be made.
    pub fn left(&self) -> usize {
        self.wanted.saturating_sub(self.made)
    }
}

impl Shop {
    /// Changes the order of this name, or adds it: `change` is given what it is now, if there is one.
    ///
    /// # Errors
    /// Where it has no name, or can't be written.
    pub fn change_order(
        &mut self,
        name: &str,
        change: impl FnOnce(Option<Order>) -> Order,
    ) -> Result<(), ShopFault> {
        if name.trim().is_empty() {
            return Err(ShopFault::refused("an order needs a name"));
        }
        self.change("order", |act| {
            let order = change(named(act.transaction, name)?);
            act.transaction.execute(
                "INSERT INTO orders (name, facts) VALUES (?1, ?2) \
                 ON CONFLICT (name) DO UPDATE SET facts = excluded.facts",
                params![order.name.trim(), serde_json::to_string(&order)?],
            )?;
            act.say(format!("order {}", order.name));
            Ok(())
        })
    }

    /// The order of this name.
    ///
    /// # Errors
    /// Where it can't be read.
    pub fn order(&self, name: &str) -> Result<Option<Order>, ShopFault> {
        named(self.connection(), name)
    }

    /// All orders.
    ///
    /// # Errors
    /// Where they can't be read.
    pub fn orders(&self) -> Result<Vec<Order>, ShopFault> {
        let mut statement = self.connection().prepare("SELECT facts FROM orders ORDER BY name")?;
        let rows = statement.query_map([], |row| row.get::<_, String>(0))?;
        rows.map(|row| Ok(serde_json::from_str(&row?)?)).collect()
    }

    /// What is wanted of an order, and what was made of it: good parts of cuts recorded for it and not
    /// undone.
    ///
    /// # Errors
    /// Where it can't be read.
    pub fn order_lines(&self, order: &Order) -> Result<Vec<OrderLine>, ShopFault> {
        let mut statement = self.connection().prepare(
            "SELECT c.facts FROM cuts c WHERE json_extract(c.facts, '$.order') = ?1 COLLATE NOCASE \
             AND NOT EXISTS (SELECT 1 FROM events u WHERE u.undoes = c.event)",
        )?;
        let rows = statement.query_map([order.name.trim()], |row| row.get::<_, String>(0))?;
        let mut made: HashMap<String, usize> = HashMap::new();
        for row in rows {
            let facts: CutFacts = serde_json::from_str(&row?)?;
            for part in facts.parts.into_iter().filter(|p| p.outcome == Outcome::Good) {
                *made.entry(part.part).or_default() += 1;
            }
        }
        let line = |(part, wanted): &(String, usize)| OrderLine {
            part: part.clone(),
            wanted: *wanted,
            made: made.get(part).copied().unwrap_or(0),
        };
        Ok(order.lines.iter().map(line).collect())
    }
}

fn named(connection: &Connection, name: &str) -> Result<Option<Order>, ShopFault> {
    let facts: Option<String> = connection
        .query_row("SELECT facts FROM orders WHERE name = ?1", [name.trim()], |row| row.get(0))
        .optional()?;
    facts.map(|f| Ok(serde_json::from_str(&f)?)).transpose()
}
