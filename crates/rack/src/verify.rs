//! The whole file looked through: nothing missing, nothing that cannot be.

use std::collections::{HashMap, HashSet};

use crate::facts::Facts;
use crate::fault::ShopFault;
use crate::outline::Outline;
use crate::record::{CutFacts, Outcome};
use crate::sheets::Entry;
use crate::shop::Shop;

/// Areas before and after a cut may differ by this share: rounding, and polygons for curves.
const AREA_SLACK: f64 = 1e-3;

/// At most so many problems are told.
const MOST: usize = 200;

/// What was looked through and found.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Verdict {
    /// How many sheets there ever were.
    pub sheets: usize,
    /// How many events.
    pub events: usize,
    /// How many recorded cuts.
    pub cuts: usize,
    /// What is wrong, in sentences; nothing where all is well.
    pub problems: Vec<String>,
}

impl Shop {
    /// Looks through the whole file: SQLite's own check, every shape, the chain of states of every
    /// sheet, every ancestry, and that every cut's areas add up.
    ///
    /// # Errors
    /// Where the file can't be read at all.
    pub fn verify(&self) -> Result<Verdict, ShopFault> {
        let mut verdict = Verdict::default();
        // What a damaged part hides is no reason not to look at the rest.
        let faults = [
            integrity(self, &mut verdict),
            shapes(self, &mut verdict),
            chains(self, &mut verdict),
            bars(self, &mut verdict),
            files(self, &mut verdict),
            cuts(self, &mut verdict),
        ];
        let faults = faults.into_iter().filter_map(Result::err);
        verdict.problems.extend(faults.map(|fault| fault.to_string()));
        verdict.problems.truncate(MOST);
        Ok(verdict)
    }
}

fn integrity(shop: &Shop, verdict: &mut Verdict) -> Result<(), ShopFault> {
    let connection = shop.connection();
    let mut statement = connection.prepare("PRAGMA integrity_check(20)")?;
    for said in statement.query_map([], |row| row.get::<_, String>(0))? {
        let said = said?;
        if said != "ok" {
            verdict.problems.push(format!("the file itself: {said}"));
        }
    }
    let mut statement = connection.prepare("PRAGMA foreign_key_check")?;
    let mut rows = statement.query([])?;
    while let Some(row) = rows.next()? {
        let table: String = row.get(0)?;
        verdict.problems.push(format!("a row of {table} names something that is not there"));
    }
    Ok(())
}

fn shapes(shop: &Shop, verdict: &mut Verdict) -> Result<(), ShopFault> {
    let mut statement = shop.connection().prepare("SELECT id, area, outline FROM shapes")?;
    let mut rows = statement.query([])?;
    while let Some(row) = rows.next()? {
        let (id, area): (i64, f64) = (row.get(0)?, row.get(1)?);
        let text: String = row.get(2)?;
        match Outline::parse(&text) {
            Err(fault) => verdict.problems.push(format!("shape {id}: {fault}")),
            Ok(outline) => {
                if let Some(problem) = outline.problem() {
                    verdict.problems.push(format!("shape {id}: {problem}"));
                }
                if (outline.area() - area).abs() > 1e-6 * area.abs() + 1e-6 {
                    verdict.problems.push(format!("shape {id}: its area is written wrongly"));
                }
            }
        }
    }
    Ok(())
}

/// Each sheet has states that follow one another, and a parent that there is.
fn chains(shop: &Shop, verdict: &mut Verdict) -> Result<(), ShopFault> {
    let connection = shop.connection();
    let mut last: HashMap<i64, i64> = HashMap::new();
    let mut statement =
        connection.prepare("SELECT id, sheet, before, event FROM states ORDER BY id")?;
    let mut rows = statement.query([])?;
    while let Some(row) = rows.next()? {
        let (id, sheet): (i64, i64) = (row.get(0)?, row.get(1)?);
        let before: Option<i64> = row.get(2)?;
        if last.insert(sheet, id) != before {
            verdict.problems.push(format!("state {id} does not follow its sheet’s last state"));
        }
    }
    let sheets = shop.list_all()?;
    verdict.sheets = sheets.len();
    let count = "SELECT count(*) FROM sheets";
    let rows: i64 = connection.query_row(count, [], |row| row.get(0))?;
    if rows as usize != sheets.len() {
        verdict.problems.push("there is a label of which nothing is known".to_owned());
    }
    let labels: HashMap<&str, Option<&str>> =
        sheets.iter().map(|e| (e.label.as_str(), e.facts.parent.as_deref())).collect();
    for entry in &sheets {
        let (mut at, mut seen) = (entry.label.as_str(), HashSet::new());
        while let Some(parent) = labels.get(at).copied().flatten() {
            if !seen.insert(parent) {
                verdict.problems.push(format!("{} descends from itself", entry.label));
                break;
            }
            if !labels.contains_key(parent) {
                verdict.problems.push(format!("{at} was cut from {parent}, which there never was"));
            }
            at = parent;
        }
    }
    let count = "SELECT count(*) FROM events";
    let events: i64 = connection.query_row(count, [], |row| row.get(0))?;
    verdict.events = events as usize;
    Ok(())
}

/// Every bar is one of its profile, whatever has become of it.
fn bars(shop: &Shop, verdict: &mut Verdict) -> Result<(), ShopFault> {
    for entry in shop.list_all()? {
        let Some(bar) = &entry.facts.bar else { continue };
        let faults = bar.faults(&shop.outline_of(&entry)?);
        verdict.problems.extend(faults.iter().map(|why| format!("{}: {why}", entry.label)));
    }
    Ok(())
}

/// Every picture and drawing that a sheet or a cut part names is kept.
fn files(shop: &Shop, verdict: &mut Verdict) -> Result<(), ShopFault> {
    let mut named: Vec<(String, String)> = Vec::new();
    for Entry { label, facts, .. } in shop.list_all()? {
        let files = facts.pictures.into_iter().chain(facts.drawing);
        named.extend(files.map(|hash| (hash, label.clone())));
    }
    let mut statement = shop.connection().prepare(
        "SELECT s.label, c.facts FROM cuts c JOIN sheets s ON s.id = c.sheet ORDER BY c.event",
    )?;
    let mut rows = statement.query([])?;
    while let Some(row) = rows.next()? {
        let label = format!("the cut of {}", row.get::<_, String>(0)?);
        let cut: CutFacts = serde_json::from_str(&row.get::<_, String>(1)?)?;
        let files = cut.parts.into_iter().filter_map(|part| part.drawing);
        named.extend(files.map(|hash| (hash, label.clone())));
    }
    // A backup of the first version has no table of them.
    if named.is_empty() {
        return Ok(());
    }
    let kept: HashSet<String> = shop.drawings()?.into_iter().collect();
    for (hash, by) in named.into_iter().filter(|(hash, _)| !kept.contains(hash)) {
        let name: String = hash.chars().take(8).collect();
        verdict.problems.push(format!("{by} names a file, {name}…, that is not kept"));
    }
    Ok(())
}

/// The areas of each cut add up, and are those of the shapes before and after.
fn cuts(shop: &Shop, verdict: &mut Verdict) -> Result<(), ShopFault> {
    let mut statement = shop.connection().prepare(
        "SELECT c.event, s.label, c.facts, b.area, a.area, st.facts, a.height FROM cuts c \
         JOIN sheets s ON s.id = c.sheet \
         LEFT JOIN states st ON st.sheet = c.sheet AND st.event = c.event \
         LEFT JOIN states sb ON sb.id = st.before \
         LEFT JOIN shapes b ON b.id = sb.shape LEFT JOIN shapes a ON a.id = st.shape",
    )?;
    let mut rows = statement.query([])?;
    while let Some(row) = rows.next()? {
        verdict.cuts += 1;
        let (event, label): (i64, String) = (row.get(0)?, row.get(1)?);
        let facts: CutFacts = serde_json::from_str(&row.get::<_, String>(2)?)?;
        let (mut before, after): (Option<f64>, Option<f64>) = (row.get(3)?, row.get(4)?);
        if before.is_none()
            && let Some(state) = row.get::<_, Option<String>>(5)?
        {
            // A bar that was bought for the cut came with it.
            let state: Facts = serde_json::from_str(&state)?;
            let height = row.get::<_, Option<f64>>(6)?.unwrap_or(0.0);
            before = state.bar.map(|bar| bar.delivered * height);
        }
        let slack = AREA_SLACK * facts.before;
        let mut wrong = |what: &str| {
            verdict.problems.push(format!("the cut of {label} (event {event}): {what}"));
        };
        let good: f64 =
            facts.parts.iter().filter(|p| p.outcome == Outcome::Good).map(|p| p.area).sum();
        let children: f64 = facts.children.iter().map(|c| c.1).sum();
        let sum = facts.after + children + good + facts.scrap + facts.kerf;
        let below = facts.scrap.min(facts.kerf).min(facts.after);
        if (sum - facts.before).abs() > slack || below < -slack {
            wrong("parts, leftovers, scrap and slots do not add up to the metal before");
        }
        if before.is_none_or(|b| (b - facts.before).abs() > slack) {
            wrong("the metal before it is not that of the shape before");
        }
        if facts.after > 0.0 && after.is_none_or(|a| (a - facts.after).abs() > slack) {
            wrong("the metal after it is not that of the shape after");
        }
        for (child, area) in &facts.children {
            let first = "SELECT sh.area FROM states st JOIN sheets s ON s.id = st.sheet \
                         JOIN shapes sh ON sh.id = st.shape \
                         WHERE s.label = ?1 ORDER BY st.id LIMIT 1";
            let found: Result<f64, _> =
                shop.connection().query_row(first, [child], |row| row.get(0));
            match found {
                Ok(found) if (found - area).abs() <= slack => {}
                Ok(_) => wrong(&format!("{child} does not have the metal that came of it")),
                Err(_) => wrong(&format!("{child}, which came of it, is not there")),
            }
        }
    }
    Ok(())
}
