//! All of a shop as one JSON document, `oddment-shop-file`, version 1:
//!
//! ```json
//! {"format": "oddment-shop-file", "version": 1, "units": "mm",
//!  "shop": {"name", "currency"}, "materials": […], "orders": […], "fillers": […],
//!  "values": [{"key", "value"}],
//!  "sheets": [{"label", "facts", "outline"}],
//!  "events": [{"event", "at", "who", "kind", "said", "undoes"}],
//!  "cuts": [{"sheet", "cut"}]}
//! ```
//!
//! `sheets` are all there ever were, as they are now; facts and outlines are as `rack show` prints them.
//! Pictures are named by the hash of their files, which stay in the shop file.
//! `values` are those that the shop keeps in place of starting values. Events and cuts are for reading;
//! taken in are materials, orders, filler parts and the sheets that are here.

use rusqlite::types::Value as Sql;
use serde::{Deserialize, Serialize};
use serde_json::Value;

use crate::facts::{Facts, Material, Whereabouts};
use crate::fault::ShopFault;
use crate::fillers::{Filler, put_filler};
use crate::history::Event;
use crate::orders::Order;
use crate::outline::Outline;
use crate::record::CutFacts;
use crate::sheets::NewSheet;
use crate::shop::Shop;

const FORMAT: &str = "oddment-shop-file";

#[derive(Serialize)]
struct Document {
    format: &'static str,
    version: u32,
    units: &'static str,
    shop: ShopDoc,
    materials: Vec<Material>,
    orders: Vec<Order>,
    fillers: Vec<Filler>,
    values: Vec<ValueDoc>,
    sheets: Vec<SheetDoc>,
    events: Vec<EventDoc>,
    cuts: Vec<CutDoc>,
}

#[derive(Serialize, Deserialize)]
struct ShopDoc {
    name: String,
    currency: String,
}

#[derive(Serialize, Deserialize)]
struct SheetDoc {
    label: String,
    facts: Facts,
    outline: Value,
}

#[derive(Serialize)]
struct ValueDoc {
    key: String,
    value: Option<Value>,
}

#[derive(Serialize)]
struct EventDoc {
    event: i64,
    at: i64,
    who: String,
    kind: String,
    said: String,
    undoes: Option<i64>,
}

#[derive(Serialize)]
struct CutDoc {
    sheet: String,
    cut: CutFacts,
}

/// What is taken in.
#[derive(Deserialize)]
struct Taken {
    format: String,
    version: u32,
    #[serde(default)]
    materials: Vec<Material>,
    #[serde(default)]
    orders: Vec<Order>,
    #[serde(default)]
    fillers: Vec<Filler>,
    #[serde(default)]
    sheets: Vec<SheetDoc>,
}

impl Shop {
    /// Everything as JSON.
    ///
    /// # Errors
    /// Where it can't be read.
    pub fn everything_json(&self) -> Result<String, ShopFault> {
        let (name, currency) = self.name_and_currency()?;
        let sheets = self.list_all()?.into_iter().map(|entry| {
            let outline = serde_json::from_str(&self.outline_of(&entry)?.to_text()?)?;
            Ok(SheetDoc { label: entry.label, facts: entry.facts, outline })
        });
        let sheets = sheets.collect::<Result<Vec<_>, ShopFault>>()?;
        let mut events = self.events(usize::MAX >> 1)?;
        events.reverse();
        let event = |e: Event| EventDoc {
            event: e.number,
            at: e.at,
            who: e.who,
            kind: e.kind,
            said: e.said,
            undoes: e.undoes,
        };
        let mut statement = self.connection().prepare(
            "SELECT s.label, c.facts FROM cuts c JOIN sheets s ON s.id = c.sheet ORDER BY c.event",
        )?;
        let rows =
            statement.query_map([], |row| Ok((row.get::<_, String>(0)?, row.get::<_, Sql>(1)?)))?;
        let mut cuts = Vec::new();
        for row in rows {
            let (sheet, facts) = row?;
            let Sql::Text(facts) = facts else {
                return Err(ShopFault::damaged("a cut of which nothing can be read"));
            };
            cuts.push(CutDoc { sheet, cut: serde_json::from_str(&facts)? });
        }
        let document = Document {
            format: FORMAT,
            version: 1,
            units: "mm",
            shop: ShopDoc { name, currency },
            materials: self.materials()?,
            orders: self.orders()?,
            fillers: self
                .fillers()?
                .into_iter()
                .map(|s| Filler { counted: s.there, ..s.filler })
                .collect(),
            values: self
                .values()?
                .into_iter()
                .map(|v| ValueDoc { key: v.key, value: v.value })
                .collect(),
            sheets,
            events: events.into_iter().map(event).collect(),
            cuts,
        };
        Ok(serde_json::to_string_pretty(&document)? + "\n")
    }

    /// Takes in materials, orders and the sheets that are here, of a document as
    /// [`Self::everything_json`] writes it: all of them as one event, or none. Returns the labels.
    ///
    /// # Errors
    /// Where it is anything else, or a label was used before.
    pub fn take_everything(&mut self, text: &str) -> Result<Vec<String>, ShopFault> {
        let refuse = |why: serde_json::Error| {
            ShopFault::refused(format!("this is no JSON of a shop: {why}; export it again"))
        };
        let taken: Taken =
            serde_json::from_str(text.trim_start_matches('\u{feff}')).map_err(refuse)?;
        if taken.format != FORMAT || taken.version != 1 {
            return Err(ShopFault::refused(format!(
                "this is no {FORMAT} of version 1; export it again with this program"
            )));
        }
        let mut sheets = Vec::new();
        let mut wrong = Vec::new();
        for sheet in taken.sheets {
            if !matches!(sheet.facts.whereabouts, Whereabouts::Here | Whereabouts::Missing) {
                continue;
            }
            match Outline::parse(&sheet.outline.to_string()) {
                Ok(outline) => {
                    // Ancestors, holds, set-ups and pictures belong to the other shop.
                    let facts = Facts {
                        parent: None,
                        hold: None,
                        setup: None,
                        pictures: Vec::new(),
                        ..sheet.facts
                    };
                    sheets.push(NewSheet { label: Some(sheet.label), facts, outline });
                }
                Err(why) => wrong.push(format!("{}: {why}", sheet.label)),
            }
        }
        if !wrong.is_empty() {
            return Err(ShopFault::Refused(wrong.join("; ")));
        }
        let mut materials = self.materials()?;
        materials.extend(taken.materials.iter().cloned());
        self.change("import", |act| {
            for material in &taken.materials {
                act.transaction.execute(
                    "INSERT INTO materials (name, facts) VALUES (?1, ?2) ON CONFLICT DO NOTHING",
                    (&material.name, serde_json::to_string(material)?),
                )?;
            }
            for order in &taken.orders {
                act.transaction.execute(
                    "INSERT INTO orders (name, facts) VALUES (?1, ?2) ON CONFLICT DO NOTHING",
                    (&order.name, serde_json::to_string(order)?),
                )?;
            }
            for filler in &taken.fillers {
                put_filler(act, filler, "DO NOTHING")?;
            }
            let labels = crate::sheets::add_in(act, &materials, sheets)?;
            act.say(format!("{} sheets taken in from another shop", labels.len()));
            Ok(labels)
        })
    }
}
