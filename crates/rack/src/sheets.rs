//! The sheets of a shop: added, listed, shown, and what is known of them changed.

use std::collections::BTreeSet;

use oddment_core::sheet::{Metal, Sheet};
use oddment_core::units::LengthUnit;
use oddment_files::words;
use rusqlite::Row;

use crate::drawings::{Drawn, put_file};
use crate::facts::{Facts, Material, Whereabouts};
use crate::fault::ShopFault;
use crate::outline::{Outline, too_long};
use crate::shop::{Act, Shop, newest_state, outline, sheet_of};
use crate::when;

/// No sheet is thicker (mm).
const THICKEST: f64 = 500.0;

/// A sheet of the list: all but its lines and arcs.
#[derive(Clone, Debug, PartialEq)]
pub struct Entry {
    /// What is written on it.
    pub label: String,
    /// What is known of it.
    pub facts: Facts,
    /// Sides of the box around it, mm.
    pub size: [f64; 2],
    /// Area of its metal, mm².
    pub area: f64,
    /// When it last changed, seconds since 1970.
    pub changed: i64,
    /// Number of its shape, equal for equal shapes of one sheet.
    pub shape: i64,
}

/// A sheet with its lines and arcs.
#[derive(Clone, Debug, PartialEq)]
pub struct RackSheet {
    /// All but its lines and arcs.
    pub entry: Entry,
    /// Its lines and arcs.
    pub outline: Outline,
}

/// A sheet to be added.
#[derive(Clone, Debug, PartialEq)]
pub struct NewSheet {
    /// Its label; the shop's next where there is none.
    pub label: Option<String>,
    /// What is known of it. Density is taken from the shop's material where it is 0.
    pub facts: Facts,
    /// Its shape.
    pub outline: Outline,
    /// The drawing that shows it, to be kept with it.
    pub drawing: Option<Drawn>,
}

impl Facts {
    /// What it is made of.
    pub fn metal(&self) -> Metal {
        Metal { material: self.material.clone(), thickness: self.thickness, density: self.density }
    }
}

/// How many there are, for people: “1 sheet”, “11 sheets, 3 bars”.
pub fn counted(entries: &[Entry]) -> String {
    counted_facts(entries.iter().map(|e| &e.facts))
}

pub(crate) fn counted_facts<'a>(all: impl Iterator<Item = &'a Facts> + Clone) -> String {
    let bars = all.clone().filter(|facts| facts.bar.is_some()).count();
    let sheets = all.count() - bars;
    let bars_said = words::counted(bars, "bar", "bars");
    let sheets_said = words::counted(sheets, "sheet", "sheets");
    match (sheets, bars) {
        (_, 0) => sheets_said,
        (0, _) => bars_said,
        _ => format!("{sheets_said}, {bars_said}"),
    }
}

impl Entry {
    /// Weight (kg): as weighed, or reckoned from its metal.
    pub fn weight(&self) -> f64 {
        self.facts.weighed.unwrap_or_else(|| match &self.facts.bar {
            Some(bar) => bar.weight(self.size[0], self.facts.density),
            None => self.facts.metal().weight(self.area),
        })
    }

    /// What it is, for people: “3 mm S235”, “Square tube 40 × 2, S235”.
    pub fn what(&self) -> String {
        self.what_in(LengthUnit::Mm)
    }

    /// The same with its thickness in this unit.
    pub fn what_in(&self, unit: LengthUnit) -> String {
        let Facts { thickness, material, bar, .. } = &self.facts;
        match bar {
            Some(bar) => format!("{}, {material}", bar.profile.name),
            None => format!("{} {material}", words::thickness_words(*thickness, unit)),
        }
    }

    /// Whether all words typed are found in what is known of it, in any order and case. A word with
    /// a unit or a material is found as people write it: `3mm`, `s235`, `b2`.
    pub fn matches(&self, typed: &str) -> bool {
        let text = self.search_text();
        typed.to_lowercase().split_whitespace().all(|word| text.contains(word))
    }

    fn search_text(&self) -> String {
        let f = &self.facts;
        let held = f.hold.as_ref().map(|h| format!("held {} {}", h.order, h.who));
        let mut text = format!(
            "{} {} {} {t}mm {t} mm {} {} {} {} {} {} {:.0}x{:.0} {:.0}×{:.0} {} {}",
            self.label,
            f.material,
            f.grade,
            f.finish,
            f.coating,
            f.heat,
            f.certificate,
            f.stands,
            f.notes,
            self.size[0],
            self.size[1],
            self.size[0],
            self.size[1],
            f.whereabouts.words(),
            held.unwrap_or_default(),
            t = f.thickness,
        );
        if let Some(bar) = &f.bar {
            // As people type it too: 40x2 for 40 × 2.
            let name = &bar.profile.name;
            text += &format!(" bar {name} {}", name.replace(" × ", "x"));
        }
        if let Some(parent) = &f.parent {
            text += &format!(" from {parent}");
        }
        if !f.face_up.is_empty() {
            text += &format!(" face up {}", f.face_up);
        }
        let kg = format!("{:.1}", self.weight());
        let numbers = [
            ("grain", f.grain_deg, "°"),
            ("bow", f.bow, "mm"),
            ("weight", kg.parse().ok(), "kg"),
            ("value", f.value, ""),
        ];
        for (name, number, unit) in numbers {
            if let Some(number) = number {
                text += &format!(" {name} {number}{unit} {number} {unit}");
            }
        }
        text += &format!(" came {}", when::day(f.came));
        text.to_lowercase()
    }
}

impl RackSheet {
    /// The sheet for planning.
    pub fn sheet(&self) -> Sheet {
        sheet_of(&self.entry.label, &self.entry.facts, &self.outline)
    }
}

/// What the list is read from; the newest state of each sheet.
const LIST: &str = "SELECT s.label, st.facts, sh.width, sh.height, sh.area, e.at, sh.id \
     FROM sheets s \
     JOIN states st ON st.id = (SELECT max(id) FROM states WHERE sheet = s.id) \
     JOIN shapes sh ON sh.id = st.shape \
     JOIN events e ON e.id = st.event";

fn entry(row: &Row<'_>) -> Result<Entry, ShopFault> {
    let facts: String = row.get(1)?;
    Ok(Entry {
        label: row.get(0)?,
        facts: serde_json::from_str(&facts)?,
        size: [row.get(2)?, row.get(3)?],
        area: row.get(4)?,
        changed: row.get(5)?,
        shape: row.get(6)?,
    })
}

impl Shop {
    /// The sheets that are here or were last seen here, in the order they came; of a damaged file
    /// those that can still be read.
    ///
    /// # Errors
    /// Where none can be read.
    pub fn list(&self) -> Result<Vec<Entry>, ShopFault> {
        let mut all = self.list_all()?;
        all.retain(|e| matches!(e.facts.whereabouts, Whereabouts::Here | Whereabouts::Missing));
        Ok(all)
    }

    /// All sheets there ever were, in the order they came; of a damaged file those that can still be
    /// read.
    ///
    /// # Errors
    /// Where none can be read.
    pub fn list_all(&self) -> Result<Vec<Entry>, ShopFault> {
        match self.read_all() {
            Err(ShopFault::Damaged { what, backup }) => {
                self.close_as_damaged(what.clone());
                let left = self.salvaged();
                if left.is_empty() { Err(ShopFault::Damaged { what, backup }) } else { Ok(left) }
            }
            read => read,
        }
    }

    fn read_all(&self) -> Result<Vec<Entry>, ShopFault> {
        let mut statement = self.connection().prepare(&format!("{LIST} ORDER BY s.id"))?;
        let mut rows = statement.query([])?;
        let mut entries = Vec::new();
        while let Some(row) = rows.next()? {
            entries.push(entry(row)?);
        }
        Ok(entries)
    }

    /// The sheets of a damaged file of which the newest state can still be read.
    fn salvaged(&self) -> Vec<Entry> {
        // What comes before a damaged page is read forwards, what comes after it backwards.
        let numbers = |order: &str| {
            let sql = format!("SELECT id FROM sheets ORDER BY id {order}");
            let mut statement = self.connection().prepare(&sql).ok()?;
            let rows = statement.query_map([], |row| row.get::<_, i64>(0)).ok()?;
            Some(rows.map_while(Result::ok).collect::<Vec<_>>())
        };
        let ways = ["ASC", "DESC"].into_iter().filter_map(numbers);
        let numbers: BTreeSet<i64> = ways.flatten().collect();
        let read = |number: i64| {
            let mut statement =
                self.connection().prepare_cached(&format!("{LIST} WHERE s.id = ?1")).ok()?;
            let mut rows = statement.query([number]).ok()?;
            entry(rows.next().ok()??).ok()
        };
        numbers.into_iter().filter_map(read).collect()
    }

    /// The sheet with this label, whatever has become of it.
    ///
    /// # Errors
    /// [`ShopFault::NoSheet`], or where it can't be read.
    pub fn sheet(&self, label: &str) -> Result<RackSheet, ShopFault> {
        let mut statement =
            self.connection().prepare_cached(&format!("{LIST} WHERE s.label = ?1"))?;
        let mut rows = statement.query([label.trim()])?;
        let Some(row) = rows.next()? else {
            return Err(ShopFault::NoSheet(label.trim().to_owned()));
        };
        let entry = entry(row)?;
        let outline = outline(self.connection(), entry.shape)?;
        Ok(RackSheet { entry, outline })
    }

    /// The lines and arcs of a sheet of the list.
    ///
    /// # Errors
    /// Where they can't be read.
    pub fn outline_of(&self, entry: &Entry) -> Result<Outline, ShopFault> {
        outline(self.connection(), entry.shape)
    }

    /// The lines and arcs of this number.
    ///
    /// # Errors
    /// Where they can't be read.
    pub fn outline_numbered(&self, shape: i64) -> Result<Outline, ShopFault> {
        outline(self.connection(), shape)
    }

    /// Adds a sheet and says which label it has.
    ///
    /// # Errors
    /// Where what is known of it can't be, its label was used before, or it can't be written.
    pub fn add(&mut self, new: NewSheet) -> Result<String, ShopFault> {
        let labels = self.add_all(vec![new])?;
        Ok(labels.into_iter().next().unwrap_or_default())
    }

    /// Adds sheets, all of them or none, and says which labels they have.
    ///
    /// # Errors
    /// As [`Self::add`].
    pub fn add_all(&mut self, sheets: Vec<NewSheet>) -> Result<Vec<String>, ShopFault> {
        let materials = self.materials()?;
        let counted = counted_facts(sheets.iter().map(|new| &new.facts));
        self.change("add", |act| {
            let labels = add_in(act, &materials, sheets)?;
            say_added(act, &labels, &counted);
            Ok(labels)
        })
    }

    /// Changes what is known of a sheet besides its shape; `said` tells people of it.
    ///
    /// # Errors
    /// [`ShopFault::NoSheet`]; where it is gone, or can't be written.
    pub(crate) fn change_facts(
        &mut self,
        kind: &'static str,
        label: &str,
        change: impl FnOnce(&mut Facts, i64, &str) -> Result<String, ShopFault>,
    ) -> Result<(), ShopFault> {
        self.change(kind, |act| {
            let mut state = act.state(label)?;
            there(&state.label, &state.facts)?;
            let before = state.facts.clone();
            let said = change(&mut state.facts, act.at, act.who)?;
            if state.facts != before {
                act.put_state(state.sheet, Some(state.id), state.shape, &state.facts)?;
                act.say(format!("{}: {said}", state.label));
            }
            Ok(())
        })
    }

    /// Says that a sheet was lifted off the bed: edges cut in its last set-up are known no better
    /// than others now.
    ///
    /// # Errors
    /// [`ShopFault::NoSheet`], or where it can't be written.
    pub fn lift(&mut self, label: &str) -> Result<(), ShopFault> {
        self.change("lift", |act| {
            let mut state = act.state(label)?;
            if state.facts.setup.take().is_some() {
                let lifted = outline(act.transaction, state.shape)?.lifted();
                let shape = act.put_outline(&lifted)?;
                act.put_state(state.sheet, Some(state.id), shape, &state.facts)?;
                act.say(format!("{} lifted off the bed", state.label));
            }
            Ok(())
        })
    }

    /// Says how sure edges of a sheet are, measured on the bed: each with its contour (counted piece by
    /// piece, the outer one first), its place along that, and its give or take (mm).
    ///
    /// # Errors
    /// [`ShopFault::NoSheet`], where a give or take is no length, or it can't be written.
    pub fn measure(&mut self, label: &str, edges: &[(usize, usize, f64)]) -> Result<(), ShopFault> {
        if edges.iter().any(|e| !(0.0..=1_000.0).contains(&e.2)) {
            return Err(ShopFault::refused(
                "a give or take is a length from 0 to 1000 mm".to_owned(),
            ));
        }
        self.change("measure", |act| {
            let state = act.state(label)?;
            let measured = outline(act.transaction, state.shape)?.measured(edges);
            let shape = act.put_outline(&measured)?;
            act.put_state(state.sheet, Some(state.id), shape, &state.facts)?;
            let s = if edges.len() == 1 { "" } else { "s" };
            act.say(format!("{} edge{s} of {} measured", edges.len(), state.label));
            Ok(())
        })
    }

    /// The newest number of the sheet's states: it changes whenever anything of the sheet does.
    ///
    /// # Errors
    /// [`ShopFault::NoSheet`], or where it can't be read.
    pub fn state_number(&self, label: &str) -> Result<i64, ShopFault> {
        Ok(newest_state(self.connection(), label)?.id)
    }

    /// Changes whenever another program has written to the file, be it a mark of a stock-take, which is no
    /// event.
    ///
    /// # Errors
    /// Where it can't be read, or the file is no longer where it was opened.
    pub fn written_elsewhere(&self) -> Result<i64, ShopFault> {
        if !self.path().exists() {
            return Err(ShopFault::Moved);
        }
        Ok(self.connection().query_row("PRAGMA data_version", [], |row| row.get(0))?)
    }

    /// The number of the newest event: it changes whenever anything in the shop does.
    ///
    /// # Errors
    /// Where it can't be read.
    pub fn newest_event(&self) -> Result<i64, ShopFault> {
        let newest = "SELECT coalesce(max(id), 0) FROM events";
        Ok(self.connection().query_row(newest, [], |row| row.get(0))?)
    }
}

/// Says which sheets were added, or how many that is.
pub(crate) fn say_added(act: &mut Act<'_>, labels: &[String], counted: &str) {
    match labels {
        [] => {}
        [one] => act.say(format!("{one} added")),
        _ => act.say(format!("{counted} added")),
    }
}

/// Adds sheets in a change that is being made, and says which labels they have.
pub(crate) fn add_in(
    act: &Act<'_>,
    materials: &[Material],
    sheets: Vec<NewSheet>,
) -> Result<Vec<String>, ShopFault> {
    let mut labels = Vec::with_capacity(sheets.len());
    for mut new in sheets {
        let facts = &mut new.facts;
        match Material::named(materials, &facts.material) {
            Some(material) => {
                facts.material.clone_from(&material.name);
                if facts.density == 0.0 {
                    facts.density = material.density;
                }
            }
            None => facts.material = facts.material.trim().to_owned(),
        }
        sound(facts, &new.outline)?;
        if facts.came == 0 {
            facts.came = act.at;
        }
        facts.seen = act.at;
        if let Some(drawing) = &new.drawing {
            facts.drawing = Some(put_file(act, drawing.name(), drawing.content())?);
        }
        let (sheet, label) = act.new_sheet(new.label.as_deref())?;
        let shape = act.put_outline(&new.outline)?;
        act.put_state(sheet, None, shape, &new.facts)?;
        labels.push(label);
    }
    Ok(labels)
}

/// Refuses what is done to a sheet that is no more.
pub(crate) fn there(label: &str, facts: &Facts) -> Result<(), ShopFault> {
    match facts.whereabouts {
        Whereabouts::Here | Whereabouts::Missing => Ok(()),
        gone => Err(ShopFault::refused(format!("{label} is no more: {}", gone.words()))),
    }
}

/// Refuses what no sheet can be, all of it at once.
fn sound(facts: &Facts, outline: &Outline) -> Result<(), ShopFault> {
    let mut wrong = impossible(facts);
    if let Some(bar) = &facts.bar {
        wrong.extend(bar.faults(outline));
    }
    if outline.pieces.is_empty() {
        wrong.push("it has no metal; give a drawing or a size".to_owned());
    }
    let bounds = outline.bounds();
    let kind = if facts.bar.is_some() { "bar" } else { "sheet" };
    wrong.extend(too_long(kind, bounds.width().max(bounds.height())));
    wrong.extend(outline.problem());
    if wrong.is_empty() { Ok(()) } else { Err(ShopFault::Refused(wrong.join("; "))) }
}

/// Refuses facts that no sheet can have, all of them at once.
pub(crate) fn possible(facts: &Facts) -> Result<(), ShopFault> {
    let wrong = impossible(facts);
    if wrong.is_empty() { Ok(()) } else { Err(ShopFault::Refused(wrong.join("; "))) }
}

fn impossible(facts: &Facts) -> Vec<String> {
    let mut wrong = Vec::new();
    if facts.material.is_empty() {
        wrong.push("it has no material; name one, as in S235".to_owned());
    }
    if facts.bar.is_none() && !(facts.thickness > 0.0 && facts.thickness <= THICKEST) {
        wrong.push(format!(
            "{} mm is no thickness of a sheet; write one above 0 and up to {THICKEST}",
            facts.thickness
        ));
    }
    if !(100.0..=30_000.0).contains(&facts.density) {
        wrong.push(format!(
            "the density of {} is not known; add the material to the shop, or give its density in \
             kg/m³",
            facts.material
        ));
    }
    let lengths = [("bow", facts.bow), ("weight", facts.weighed), ("value", facts.value)];
    for (name, number) in lengths.iter().filter_map(|(name, n)| n.map(|n| (name, n))) {
        if !(0.0..=1e6).contains(&number) {
            wrong.push(format!("{number} is no {name}; write a number from 0 to 1000000"));
        }
    }
    if facts.grain_deg.is_some_and(|g| !g.is_finite() || g.abs() > 1e6) {
        wrong.push("the grain is no angle; write degrees".to_owned());
    }
    wrong
}

/// How long ago, in words.
pub fn age(since: i64) -> String {
    // A time from another shop may be any number.
    let days = when::now().saturating_sub(since).max(0) / 86_400;
    match days {
        0 => "today".to_owned(),
        1 => "yesterday".to_owned(),
        2..=60 => format!("{days} days"),
        61..=729 => format!("{} months", days / 30),
        _ => format!("{} years", days / 365),
    }
}
