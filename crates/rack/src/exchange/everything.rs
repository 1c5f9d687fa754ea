//! All of a shop as one JSON document, `oddment-shop-file`, version 1:
//!
//! ```json
//! {"format": "oddment-shop-file", "version": 1, "units": "mm",
//!  "shop": {"name", "currency", "next_label"}, "materials": […], "orders": […], "fillers": […],
//!  "values": [{"key", "value"}], "profiles": [{"profile", "density"}],
//!  "sheets": [{"label", "facts", "outline"}],
//!  "events": [{"event", "at", "who", "kind", "said", "undoes"}],
//!  "cuts": [{"sheet", "cut", "plan"}],
//!  "files": [{"hash", "name", "base64"}]}
//! ```
//!
//! `sheets` are all there ever were, as they are now; facts and outlines are as `rack show` prints them.
//! `values` are those that the shop keeps in place of starting values. `files` are pictures of sheets,
//! which the facts name by the hash (SHA-256, hexadecimal) of their content, and drawings that sheets
//! (their facts name them) and parts (the cuts' parts do) came from. `next_label` is the number of the next
//! label of the shop's own: whoever takes its sheets in gives none again that may stand on metal. Events, cuts
//! and values are for reading; taken in are materials, orders, filler parts, profiles of bars, files, and the
//! sheets that are here with their pictures.

use std::collections::HashMap;
use std::io;

use base64::Engine as _;
use base64::prelude::BASE64_STANDARD;
use oddment_core::bars::profile::Profile;
use rusqlite::types::Value as Sql;
use serde::ser::Error as _;
use serde::{Deserialize, Serialize, Serializer};
use serde_json::Value;

use crate::bars::{ProfileFacts, put_profile};
use crate::drawings::{hash, put_file};
use crate::facts::{Facts, Material, Whereabouts};
use crate::fault::ShopFault;
use crate::fillers::{Filler, put_filler};
use crate::history::Event;
use crate::orders::Order;
use crate::outline::Outline;
use crate::pictures::{MOST as MOST_PICTURES, is_picture};
use crate::record::CutFacts;
use crate::sheets::NewSheet;
use crate::shop::Shop;

const FORMAT: &str = "oddment-shop-file";

/// No document that is taken in is longer (bytes).
pub const LONGEST_EVERYTHING: u64 = 2 << 30;

#[derive(Serialize)]
struct Document<'a> {
    format: &'static str,
    version: u32,
    units: &'static str,
    shop: ShopDoc,
    materials: Vec<Material>,
    orders: Vec<Order>,
    fillers: Vec<Filler>,
    values: Vec<ValueDoc>,
    profiles: Vec<ProfileDoc>,
    sheets: Vec<SheetDoc>,
    events: Vec<EventDoc>,
    cuts: Vec<CutDoc>,
    files: Files<'a>,
}

/// The files that a shop keeps, read one by one as they are written: together they may be large.
struct Files<'a> {
    shop: &'a Shop,
    hashes: Vec<String>,
}

impl Serialize for Files<'_> {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        let mut fault = None;
        let files = self.hashes.iter().map_while(|hash| match self.shop.drawing(hash) {
            Ok(file) => {
                let (name, content) = file.unwrap_or_default();
                let base64 = BASE64_STANDARD.encode(content);
                Some(FileDoc { hash: hash.clone(), name, base64 })
            }
            Err(why) => {
                fault = Some(why);
                None
            }
        });
        let written = serializer.collect_seq(files);
        match fault {
            Some(why) => Err(S::Error::custom(why)),
            None => written,
        }
    }
}

#[derive(Serialize, Deserialize)]
struct FileDoc {
    hash: String,
    name: String,
    base64: String,
}

#[derive(Serialize, Deserialize)]
struct ProfileDoc {
    profile: ProfileFacts,
    density: f64,
}

#[derive(Serialize, Deserialize)]
struct ShopDoc {
    name: String,
    currency: String,
    #[serde(default)]
    next_label: i64,
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
    plan: String,
}

/// What is taken in.
#[derive(Deserialize)]
struct Taken {
    format: String,
    version: u32,
    shop: ShopDoc,
    #[serde(default)]
    materials: Vec<Material>,
    #[serde(default)]
    orders: Vec<Order>,
    #[serde(default)]
    fillers: Vec<Filler>,
    #[serde(default)]
    profiles: Vec<ProfileDoc>,
    #[serde(default)]
    files: Vec<FileDoc>,
    #[serde(default)]
    sheets: Vec<SheetDoc>,
}

impl Shop {
    /// Writes everything as JSON.
    ///
    /// # Errors
    /// Where the shop file can't be read, or what the system says of writing.
    pub fn write_everything(&self, to: &mut dyn io::Write) -> io::Result<()> {
        let document = self.everything().map_err(io::Error::other)?;
        serde_json::to_writer_pretty(&mut *to, &document)?;
        to.write_all(b"\n")
    }

    fn everything(&self) -> Result<Document<'_>, ShopFault> {
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
            "SELECT s.label, c.facts, c.plan FROM cuts c JOIN sheets s ON s.id = c.sheet \
             ORDER BY c.event, s.id",
        )?;
        let rows = statement.query_map([], |row| {
            Ok((row.get::<_, String>(0)?, row.get::<_, Sql>(1)?, row.get::<_, String>(2)?))
        })?;
        let mut cuts = Vec::new();
        for row in rows {
            let (sheet, facts, plan) = row?;
            let Sql::Text(facts) = facts else {
                return Err(ShopFault::damaged("a cut of which nothing can be read"));
            };
            cuts.push(CutDoc { sheet, cut: serde_json::from_str(&facts)?, plan });
        }
        let profile = |p: Profile| ProfileDoc { profile: ProfileFacts::of(&p), density: p.density };
        Ok(Document {
            format: FORMAT,
            version: 1,
            units: "mm",
            shop: ShopDoc { name, currency, next_label: self.next_label()? },
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
            profiles: self.own_profiles()?.into_iter().map(profile).collect(),
            sheets,
            events: events.into_iter().map(event).collect(),
            cuts,
            files: Files { shop: self, hashes: self.drawings()? },
        })
    }

    /// Takes in materials, orders, files and the sheets that are here, of a document as
    /// [`Self::write_everything`] writes it: all of them as one event, or none. Returns the labels.
    ///
    /// # Errors
    /// Where it is anything else, a file is damaged, or a label was used before.
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
        let mut files = HashMap::new();
        for file in taken.files {
            match BASE64_STANDARD.decode(&file.base64) {
                Ok(content) if hash(&content) == file.hash => {
                    files.insert(file.hash, (file.name, content));
                }
                _ => wrong.push(format!("the file {} in it is damaged", file.name)),
            }
        }
        let kept_picture = |hash: &String| {
            files.get(hash).is_some_and(|(name, content)| is_picture(name, content).is_ok())
        };
        for sheet in taken.sheets {
            if !matches!(sheet.facts.whereabouts, Whereabouts::Here | Whereabouts::Missing) {
                continue;
            }
            match Outline::parse(&sheet.outline.to_string()) {
                Ok(outline) => {
                    // Ancestors, holds and set-ups belong to the other shop.
                    let mut facts = Facts { parent: None, hold: None, setup: None, ..sheet.facts };
                    facts.pictures.retain(kept_picture);
                    facts.pictures.truncate(MOST_PICTURES);
                    facts.drawing = facts.drawing.filter(|hash| files.contains_key(hash));
                    let label = Some(sheet.label);
                    sheets.push(NewSheet { label, facts, outline, drawing: None });
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
                filler.possible()?;
                let filler = filler.clone().counted_at(act.event - 1);
                put_filler(act, &filler, "DO NOTHING")?;
            }
            for ProfileDoc { profile, density } in &taken.profiles {
                if let Some(profile) = profile.profile(*density) {
                    put_profile(act, &profile, "DO NOTHING")?;
                }
            }
            for (name, content) in files.values() {
                put_file(act, name, content)?;
            }
            act.number_from(taken.shop.next_label)?;
            let labels = crate::sheets::add_in(act, &materials, sheets)?;
            act.say(format!("{} sheets taken in from another shop", labels.len()));
            Ok(labels)
        })
    }
}
