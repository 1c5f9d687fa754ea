//! The list of sheets as CSV, for spreadsheets.

use oddment_core::sheet::EdgeKind;

use crate::bars::new_bar;
use crate::facts::{Facts, Whereabouts};
use crate::fault::ShopFault;
use crate::merge::merged;
use crate::outline::Outline;
use crate::sheets::{Entry, NewSheet, there};
use crate::shop::Shop;
use crate::when;

/// The columns. Those marked are reckoned or belong to other acts: they are written, and not read.
const COLUMNS: [&str; 25] = [
    "label",
    "material",
    "grade",
    "thickness_mm",
    "width_mm",  // not read for sheets that are there
    "height_mm", // not read for sheets that are there
    "metal_mm2", // not read
    "weight_kg", // not read
    "stands",
    "heat",
    "certificate",
    "finish",
    "coating",
    "face_up",
    "grain_deg",
    "bow_mm",
    "weighed_kg",
    "value",
    "notes",
    "held_for",        // not read
    "came",            // not read
    "seen",            // not read
    "parent",          // not read
    "profile",         // of bars; then the width is the length. Not read for stock that is there
    "give_or_take_mm", // of bars; not read for stock that is there
];

/// What a list brought.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct ListDone {
    /// Labels of sheets that were not there, added as plain rectangles.
    pub added: Vec<String>,
    /// Labels of sheets of which something else is known now.
    pub changed: Vec<String>,
    /// How many sheets are as the list has them.
    pub alike: usize,
}

impl Shop {
    /// The sheets that are there, as CSV with a line of names.
    ///
    /// # Errors
    /// Where they can't be read.
    pub fn list_csv(&self) -> Result<String, ShopFault> {
        let mut writer = csv::Writer::from_writer(Vec::new());
        let failed = |why: csv::Error| ShopFault::System(why.to_string());
        writer.write_record(COLUMNS).map_err(failed)?;
        for entry in self.list()? {
            writer.write_record(row(&entry)).map_err(failed)?;
        }
        let bytes = writer.into_inner().map_err(|why| ShopFault::System(why.to_string()))?;
        String::from_utf8(bytes).map_err(|why| ShopFault::System(why.to_string()))
    }

    /// Takes in a list as [`Self::list_csv`] writes it, with commas, semicolons or tabs: what is known of
    /// sheets that are there becomes what the list says; sheets that are not become plain rectangles.
    /// Columns that are missing change nothing. All of it in one event, or none.
    ///
    /// # Errors
    /// All that is wrong with it, with the lines.
    pub fn take_list(&mut self, text: &str) -> Result<ListDone, ShopFault> {
        let rows = read(text)?;
        let materials = self.materials()?;
        let (mut wrong, mut new, mut changes) = (Vec::new(), Vec::new(), Vec::new());
        let mut done = ListDone::default();
        for (line, row) in rows {
            let label = row.text("label").unwrap_or_default();
            let known = match self.sheet(&label) {
                Ok(sheet) => Some(sheet.entry),
                Err(ShopFault::NoSheet(_)) => None,
                Err(other) => return Err(other),
            };
            let mut facts = known.as_ref().map(|e| e.facts.clone()).unwrap_or_default();
            if let Err(what) = row.apply(&mut facts) {
                wrong.push(format!("line {line}: {what}"));
                continue;
            }
            match known {
                Some(entry) if entry.facts == facts => done.alike += 1,
                Some(entry)
                    if !matches!(
                        entry.facts.whereabouts,
                        Whereabouts::Here | Whereabouts::Missing
                    ) =>
                {
                    wrong.push(format!("line {line}: {} is no more", entry.label));
                }
                Some(entry) if facts.material != entry.facts.material => {
                    let known = materials.iter().find(|m| m.name == facts.material);
                    match known {
                        Some(material) => {
                            facts.density = material.density;
                            changes.push((entry, facts));
                        }
                        None => wrong.push(format!(
                            "line {line}: the shop has no material {}",
                            facts.material
                        )),
                    }
                }
                Some(entry) => changes.push((entry, facts)),
                None if row.profile().is_some() => match self.new_bar(&row, &label, facts) {
                    Ok(bar) => new.push(bar),
                    Err(what) => wrong.push(format!("line {line}: {what}")),
                },
                None => match row.size() {
                    Ok(size) => {
                        let outline = Outline::rectangle(size, EdgeKind::Mill);
                        match outline {
                            Ok(outline) => {
                                let label = (!label.is_empty()).then_some(label);
                                new.push(NewSheet { label, facts, outline, drawing: None });
                            }
                            Err(why) => wrong.push(format!("line {line}: {why}")),
                        }
                    }
                    Err(what) => wrong.push(format!("line {line}: {what}")),
                },
            }
        }
        if !wrong.is_empty() {
            return Err(ShopFault::Refused(wrong.join("; ")));
        }
        let materials = &materials;
        done.changed = changes.iter().map(|(saw, _)| saw.label.clone()).collect();
        done.added = self.change("list", |act| {
            for (saw, facts) in &changes {
                let state = act.state(&saw.label)?;
                there(&state.label, &state.facts)?;
                let facts = merged(&saw.label, &saw.facts, facts, &state.facts)?;
                act.put_state(state.sheet, Some(state.id), state.shape, &facts)?;
            }
            let added = crate::sheets::add_in(act, materials, new)?;
            if !changes.is_empty() || !added.is_empty() {
                act.say(format!("list: {} changed, {} added", changes.len(), added.len()));
            }
            Ok(added)
        })?;
        Ok(done)
    }
}

impl Shop {
    /// A line of a list as a bar to be added.
    fn new_bar(&self, row: &Line, label: &str, facts: Facts) -> Result<NewSheet, String> {
        let profile = row.profile().unwrap_or_default();
        let profile = self.profile(&profile).map_err(|why| why.to_string())?;
        let length = row.number("width_mm")?.flatten();
        let length = length.ok_or("a new bar needs width_mm, its length")?;
        let give_or_take = row.number("give_or_take_mm")?.flatten().unwrap_or(0.0);
        let label = (!label.is_empty()).then(|| label.to_owned());
        new_bar(label, &profile, length, give_or_take, facts).map_err(|why| why.to_string())
    }
}

fn row(entry: &Entry) -> Vec<String> {
    let f = &entry.facts;
    let number = |n: Option<f64>| n.map(|n| n.to_string()).unwrap_or_default();
    vec![
        entry.label.clone(),
        f.material.clone(),
        f.grade.clone(),
        f.thickness.to_string(),
        entry.size[0].to_string(),
        entry.size[1].to_string(),
        format!("{:.1}", entry.area),
        format!("{:.3}", entry.weight()),
        f.stands.clone(),
        f.heat.clone(),
        f.certificate.clone(),
        f.finish.clone(),
        f.coating.clone(),
        f.face_up.clone(),
        number(f.grain_deg),
        number(f.bow),
        number(f.weighed),
        number(f.value),
        f.notes.clone(),
        f.held().map(|h| h.order.clone()).unwrap_or_default(),
        when::day(f.came),
        when::day(f.seen),
        f.parent.clone().unwrap_or_default(),
        f.bar.as_ref().map(|bar| bar.profile.name.clone()).unwrap_or_default(),
        number(f.bar.as_ref().map(|bar| bar.give_or_take)),
    ]
}

/// A line of a list by the names of its columns.
struct Line(Vec<(String, String)>);

/// No list has more lines.
const MOST_LINES: usize = 200_000;

fn read(text: &str) -> Result<Vec<(usize, Line)>, ShopFault> {
    let text = text.trim_start_matches('\u{feff}');
    let head = text.lines().next().unwrap_or_default();
    let most = [b',', b';', b'\t']
        .into_iter()
        .max_by_key(|d| head.bytes().filter(|b| b == d).count())
        .unwrap_or(b',');
    let mut reader =
        csv::ReaderBuilder::new().delimiter(most).flexible(true).from_reader(text.as_bytes());
    let failed = |why: csv::Error| ShopFault::refused(format!("the list can't be read: {why}"));
    let names: Vec<String> =
        reader.headers().map_err(failed)?.iter().map(|n| n.trim().to_lowercase()).collect();
    if !names.iter().any(|n| n == "label") {
        return Err(ShopFault::refused(format!(
            "the list’s first line has no column “label”; its columns are {}",
            COLUMNS.join(", ")
        )));
    }
    let mut rows = Vec::new();
    for (i, record) in reader.records().enumerate() {
        if i >= MOST_LINES {
            return Err(ShopFault::refused(format!("the list has more than {MOST_LINES} lines")));
        }
        let record = record.map_err(failed)?;
        if record.iter().all(|v| v.trim().is_empty()) {
            continue;
        }
        let values = record.iter().map(|v| v.trim().to_owned());
        rows.push((i + 2, Line(names.iter().cloned().zip(values).collect())));
    }
    Ok(rows)
}

impl Line {
    fn text(&self, name: &str) -> Option<String> {
        self.0.iter().find(|(n, _)| n == name).map(|(_, v)| v.clone())
    }

    fn number(&self, name: &str) -> Result<Option<Option<f64>>, String> {
        let Some(text) = self.text(name) else { return Ok(None) };
        if text.is_empty() {
            return Ok(Some(None));
        }
        let read = text.replace(',', ".").parse().ok().filter(|n: &f64| n.abs() <= 1e6);
        read.map(|n| Some(Some(n))).ok_or_else(|| format!("{name}: “{text}” is no number"))
    }

    /// The profile, where it is a bar.
    fn profile(&self) -> Option<String> {
        self.text("profile").filter(|name| !name.is_empty())
    }

    fn apply(&self, facts: &mut Facts) -> Result<(), String> {
        let texts = [
            ("material", &mut facts.material),
            ("grade", &mut facts.grade),
            ("stands", &mut facts.stands),
            ("heat", &mut facts.heat),
            ("certificate", &mut facts.certificate),
            ("finish", &mut facts.finish),
            ("coating", &mut facts.coating),
            ("face_up", &mut facts.face_up),
            ("notes", &mut facts.notes),
        ];
        for (name, into) in texts {
            if let Some(text) = self.text(name) {
                *into = text;
            }
        }
        if facts.bar.is_none()
            && let Some(thickness) = self.number("thickness_mm")?
        {
            facts.thickness = thickness.unwrap_or(0.0);
        }
        let has_thickness = facts.thickness > 0.0 || self.profile().is_some();
        if facts.material.is_empty() || !has_thickness {
            return Err("material or thickness is missing".to_owned());
        }
        let numbers = [
            ("grain_deg", &mut facts.grain_deg),
            ("bow_mm", &mut facts.bow),
            ("weighed_kg", &mut facts.weighed),
            ("value", &mut facts.value),
        ];
        for (name, into) in numbers {
            if let Some(number) = self.number(name)? {
                *into = number;
            }
        }
        Ok(())
    }

    fn size(&self) -> Result<[f64; 2], String> {
        let side = |name: &str| {
            let number = self.number(name)?.flatten();
            number.ok_or_else(|| format!("a new sheet needs {name}"))
        };
        Ok([side("width_mm")?, side("height_mm")?])
    }
}
