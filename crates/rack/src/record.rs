//! Recording a cut: what of a plan was made, and what is left of the sheet.

mod bars;
mod changed;
mod prepared;

use std::collections::HashMap;

use oddment_core::check::CheckedPlan;
use oddment_core::cutting::starts::Start;
use oddment_core::plan::{Job, Layout, Placement};
use oddment_core::shape::{Region, SheetSpace};
use oddment_core::units::LengthUnit;
use oddment_files::job_file::SourcedJob;
use oddment_files::outputs::cuts_of;
use oddment_files::values::Values;
use oddment_files::words::parts_words;
use rusqlite::params;
use serde::{Deserialize, Serialize};
use sha2::{Digest, Sha256};

use crate::crop::{Crop, ForBin};
use crate::drawings::{Drawn, put_file};
use crate::facts::Whereabouts;
use crate::fault::ShopFault;
use crate::shop::{Act, Shop};

pub use bars::BarRecording;

use prepared::{Fate, Prepared};

/// What became of a part of the plan.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Outcome {
    /// Cut, and good.
    #[default]
    Good,
    /// Cut, and scrap for this reason.
    Scrap(String),
    /// Begun and not finished: where it lies nothing may be cut.
    HalfCut,
    /// Not begun.
    NeverStarted,
}

/// Which pieces of metal stay in the rack.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Keep {
    /// Those that the material's keep rule says.
    #[default]
    ByRule,
    /// All of them.
    All,
    /// None.
    Nothing,
}

/// What there is to say of a cut besides the plan. The default is: cut as planned, and lifted off the
/// bed.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Recording {
    /// What became of parts, by name and copy; the others are good.
    pub outcomes: HashMap<(String, usize), Outcome>,
    /// Whether the sheet still lies on the bed as it was cut.
    pub on_bed: bool,
    /// Minutes it took.
    pub minutes: Option<f64>,
    /// What was reckoned beforehand, for the shop to learn from.
    pub reckoned: Option<Reckoned>,
    /// How the sheet lay when it was squared up: x, y (mm) and turn (degrees) on the bed.
    pub squared_up: Option<[f64; 3]>,
    /// Where the contours of parts were begun, by name and copy: the pierce's hole and the slot of
    /// the lead-in are gone too.
    pub starts: HashMap<(String, usize), Vec<Start<SheetSpace>>>,
    /// Metal that is gone besides the parts and their slots: straight cuts across the sheet.
    pub also_gone: Vec<Region<SheetSpace>>,
    /// Where the heat number was marked anew, mm on the sheet.
    pub heat_marked_at: Option<[f64; 2]>,
    /// The order it was cut for.
    pub order: Option<String>,
    /// Whether the order asks for a certificate: then the sheet must have one, and a heat number.
    pub certificate: bool,
    /// Which leftovers stay.
    pub keep: Keep,
    /// Record it though the plan is not clear on the sheet as the rack has it: it was cut all the same.
    pub anyway: bool,
    /// What lengths are told in where the plan is refused.
    pub unit: LengthUnit,
    /// The plan as text, to be kept.
    pub plan: String,
    /// The drawings of parts, by the part's name, to be kept.
    pub drawings: HashMap<String, Drawn>,
}

/// The minutes that a cut was reckoned to take, and of what.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Reckoned {
    /// The process, by its name.
    pub process: String,
    /// The material.
    pub material: String,
    /// Minutes, uncorrected by what was learnt before.
    pub minutes: f64,
}

impl Reckoned {
    /// What a layout of a plan is reckoned to take with these values; `None` where its metal is not known.
    pub fn of(
        sourced: &SourcedJob,
        checked: &CheckedPlan,
        layout: usize,
        values: &Values,
    ) -> Option<Self> {
        let stock = checked.plan().layouts.get(layout)?.stock;
        let material = sourced.job.stock.get(stock)?.sheet.made_of.as_ref()?.material.clone();
        let process = values.machine(sourced.cut.machine.as_deref())?.process.to_string();
        let minutes = cuts_of(sourced, checked, values).get(layout)?.seconds / 60.0;
        Some(Self { process, material, minutes })
    }
}

/// What of a recorded cut is kept, areas in mm².
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct CutFacts {
    /// The parts, and what became of them.
    pub parts: Vec<CutPart>,
    /// Metal before.
    pub before: f64,
    /// Metal of the sheet after.
    pub after: f64,
    /// Sheets that it was cut into, and their metal.
    pub children: Vec<(String, f64)>,
    /// Metal that went to scrap.
    pub scrap: f64,
    /// Metal that the slots took.
    pub kerf: f64,
    /// Minutes it took.
    pub minutes: Option<f64>,
    /// What was reckoned beforehand.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub reckoned: Option<Reckoned>,
    /// How the sheet lay on the bed: x, y, degrees.
    pub squared_up: Option<[f64; 3]>,
    /// The order it was cut for.
    pub order: Option<String>,
    /// Heat number of the metal.
    pub heat: String,
    /// Certificate of the metal.
    pub certificate: String,
}

/// A part of a recorded cut.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct CutPart {
    /// Name.
    pub part: String,
    /// Copy, from 1.
    pub copy: usize,
    /// What became of it.
    pub outcome: Outcome,
    /// Its metal.
    pub area: f64,
    /// The drawing that it was cut from, by the hash of its file.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub drawing: Option<String>,
    /// Where it lay: x, y, turn in degrees, and whether its other face was up.
    pub pose: (f64, f64, f64, bool),
}

/// What was recorded of one sheet.
#[derive(Clone, Debug, PartialEq)]
pub struct Recorded {
    /// The event; 0 where all of it was recorded before.
    pub event: i64,
    /// The sheet.
    pub label: String,
    /// How many parts are good, and how many were not made.
    pub good: usize,
    /// Parts that go back to the order: name, copy, and why.
    pub not_made: Vec<(String, usize, Outcome)>,
    /// What is kept: the sheet itself or sheets cut from it.
    pub kept: Vec<Kept>,
    /// What went to scrap, kg, and what it brings.
    pub scrap: (f64, f64),
    /// Heat number, for the traveller.
    pub heat: String,
    /// What a person should know.
    pub warnings: Vec<String>,
    /// Of a bar: its length before, and what of it is kept, mm.
    pub lengths: Option<(f64, f64)>,
}

/// A piece of metal that stays in the rack.
#[derive(Clone, Debug, PartialEq)]
pub struct Kept {
    /// Its label.
    pub label: String,
    /// What it weighs.
    pub kg: f64,
    /// What its metal costs.
    pub value: f64,
    /// Where its datum corner lies on the sheet as it was cut, mm, where it still lies so on the bed.
    pub on_bed: Option<[f64; 2]>,
}

/// What recording a cut would do.
#[derive(Clone, Debug, PartialEq)]
pub struct Preview {
    /// What would be said of it.
    pub recorded: Recorded,
    /// The metal that would stay.
    pub stays: Vec<Region<SheetSpace>>,
    /// The leftovers that would go to scrap.
    pub goes: Vec<Region<SheetSpace>>,
    /// The straight cut that would free the most useful leftover of what stays, if one is worth it.
    pub crop: Option<Crop>,
    /// How to cut up what would go to scrap, where something would.
    pub for_bin: Option<ForBin>,
}

impl Preview {
    /// What would stay and what would go, in one sentence.
    pub fn words(&self, currency: &str) -> String {
        let Recorded { label, kept, scrap: (kg, value), .. } = &self.recorded;
        let scrap = format!("{kg:.1} kg to scrap ({value:.2} {currency})");
        let stay = kept.iter().fold((0.0, 0.0), |(kg, v), k| (kg + k.kg, v + k.value));
        let stay = format!("{:.1} kg stay ({:.2} {currency})", stay.0, stay.1);
        match kept.len() {
            0 => format!("nothing of {label} is worth keeping by the rule: {scrap}"),
            1 => format!("{stay}, {scrap}"),
            n => format!("{stay} as {n} sheets, {scrap}"),
        }
    }
}

impl Recorded {
    /// Whether all of it was recorded before.
    pub fn is_nothing(&self) -> bool {
        self.good == 0 && self.not_made.is_empty()
    }

    /// Of several sheets that it is now, the heaviest that still lies on the bed as it was cut.
    pub fn left_on_bed(&self) -> Option<&Kept> {
        let left = self.kept.iter().filter(|k| k.label != self.label && k.on_bed.is_some());
        left.max_by(|a, b| a.kg.total_cmp(&b.kg))
    }

    /// In one sentence, lengths in this unit.
    pub fn words(&self, unit: LengthUnit) -> String {
        let length = |mm: f64| match unit {
            LengthUnit::Mm => format!("{mm:.0} mm"),
            LengthUnit::Inch => format!("{} {unit}", unit.show(mm)),
        };
        if self.is_nothing() {
            return format!("This cut of {} was recorded before; nothing was changed.", self.label);
        }
        let mut words = format!("{} good from {}", parts_words(self.good), self.label);
        if let Some((before, _)) = self.lengths {
            words += &format!(" ({})", length(before));
        }
        if !self.not_made.is_empty() {
            words += &format!(", {} not made", self.not_made.len());
        }
        words += &match &self.kept[..] {
            [] => "; nothing of it is kept".to_owned(),
            [one] if one.label == self.label => match self.lengths {
                Some((_, kept)) => format!("; {} stay", length(kept)),
                None => format!("; {:.1} kg stay", one.kg),
            },
            several => {
                let named = several.iter().map(|k| {
                    let where_now = if k.on_bed.is_some() { ", still on the bed" } else { "" };
                    format!("{} ({:.1} kg{where_now})", k.label, k.kg)
                });
                let named: Vec<String> = named.collect();
                format!("; it is now {}", named.join(" and "))
            }
        };
        if self.scrap.0 >= 0.05 {
            words += &format!("; {:.1} kg to scrap", self.scrap.0);
        }
        words + "."
    }
}

impl Shop {
    /// Records the cut of these layouts of a plan, each on the sheet that bears the label beside it:
    /// all of them in one transaction, as one event, or none. What was recorded before is not recorded
    /// again.
    ///
    /// # Errors
    /// [`ShopFault::Refused`] says why: the sheet has changed since the plan was made, the plan is not
    /// clear, the order needs a certificate that the sheet does not have.
    pub fn record(
        &mut self,
        job: &Job,
        checked: &CheckedPlan,
        cuts: &[(usize, String, Recording)],
    ) -> Result<Vec<Recorded>, ShopFault> {
        // The shapes are worked out without holding up others, and again where others were faster.
        for _ in 0..5 {
            let prepared = self.prepare(job, checked, cuts)?;
            if let Some(recorded) = self.change("cut", |act| write_all(act, prepared, cuts))? {
                return Ok(recorded);
            }
        }
        Err(ShopFault::Busy("somebody else changes this sheet all the time, and".into()))
    }

    /// What [`Self::record`] would do and say, without recording it.
    ///
    /// # Errors
    /// As [`Self::record`].
    pub fn preview(
        &self,
        job: &Job,
        checked: &CheckedPlan,
        cuts: &[(usize, String, Recording)],
    ) -> Result<Vec<Preview>, ShopFault> {
        let materials = self.materials()?;
        let prepared = self.prepare(job, checked, cuts)?;
        Ok(prepared.into_iter().map(|p| p.preview(&materials, job.clearances.kerf)).collect())
    }

    fn prepare(
        &self,
        job: &Job,
        checked: &CheckedPlan,
        cuts: &[(usize, String, Recording)],
    ) -> Result<Vec<Prepared>, ShopFault> {
        let materials = self.materials()?;
        let mut seen: Vec<&str> = Vec::new();
        for (_, label, _) in cuts {
            if seen.iter().any(|s| s.eq_ignore_ascii_case(label.trim())) {
                return Err(ShopFault::refused(format!(
                    "two sheets of the plan are to be {label}; name another for one of them"
                )));
            }
            seen.push(label.trim());
        }
        cuts.iter()
            .map(|(layout, label, recording)| {
                let layout = checked
                    .plan()
                    .layouts
                    .get(*layout)
                    .filter(|l| l.is_known(job))
                    .ok_or_else(|| ShopFault::refused("the plan has no such sheet"))?;
                let asks = recording.order.as_ref().map(|name| self.order(name)).transpose()?;
                let certificate = asks.flatten().is_some_and(|order| order.certificate);
                let recording = Recording {
                    certificate: recording.certificate || certificate,
                    ..recording.clone()
                };
                prepared::prepare(
                    self.connection(),
                    &materials,
                    (job, checked, layout),
                    label,
                    &recording,
                )
            })
            .collect()
    }

    /// The cuts of a sheet that were not undone, oldest first.
    ///
    /// # Errors
    /// Where they can't be read.
    pub fn cuts_of(&self, label: &str) -> Result<Vec<CutFacts>, ShopFault> {
        let mut statement = self.connection().prepare(
            "SELECT c.facts FROM cuts c JOIN sheets s ON s.id = c.sheet WHERE s.label = ?1 \
             AND NOT EXISTS (SELECT 1 FROM events u WHERE u.undoes = c.event) ORDER BY c.event",
        )?;
        let rows = statement.query_map([label.trim()], |row| row.get::<_, String>(0))?;
        rows.map(|row| Ok(serde_json::from_str(&row?)?)).collect()
    }
}

/// Writes all of it; `None` where a sheet has changed meanwhile.
fn write_all(
    act: &mut Act<'_>,
    prepared: Vec<Prepared>,
    cuts: &[(usize, String, Recording)],
) -> Result<Option<Vec<Recorded>>, ShopFault> {
    let mut recorded = Vec::with_capacity(prepared.len());
    let mut said = Vec::new();
    for (mut p, (_, _, recording)) in prepared.into_iter().zip(cuts) {
        if act.state(&p.state.label)?.id != p.state.id {
            return Ok(None);
        }
        if !p.recorded.is_nothing() {
            write_one(act, &mut p, recording)?;
            p.recorded.event = act.event;
            said.push(p.recorded.words(LengthUnit::Mm));
        }
        recorded.push(p.recorded);
    }
    if !said.is_empty() {
        act.say(said.join(" "));
    }
    Ok(Some(recorded))
}

fn write_one(act: &Act<'_>, p: &mut Prepared, recording: &Recording) -> Result<(), ShopFault> {
    let state = &p.state;
    let mut facts = p.facts.clone();
    match &mut p.fate {
        Fate::Stays(outline) => {
            let shape = act.put_outline(outline)?;
            act.put_state(state.sheet, Some(state.id), shape, &facts)?;
        }
        Fate::Gone => {
            facts.whereabouts = Whereabouts::UsedUp;
            act.put_state(state.sheet, Some(state.id), state.shape, &facts)?;
        }
        Fate::Parted(children) => {
            facts.whereabouts = Whereabouts::Parted;
            act.put_state(state.sheet, Some(state.id), state.shape, &facts)?;
            for (i, (outline, child)) in children.iter().enumerate() {
                let (sheet, label) = act.new_sheet(None)?;
                let shape = act.put_outline(outline)?;
                act.put_state(sheet, None, shape, child)?;
                p.cut.children[i].0.clone_from(&label);
                p.recorded.kept[i].label = label;
            }
        }
    }
    let mut kept: Vec<&str> = Vec::new();
    for drawing in p.cut.parts.iter().filter_map(|part| recording.drawings.get(&part.part)) {
        if !kept.contains(&drawing.hash()) {
            put_file(act, drawing.name(), drawing.content())?;
            kept.push(drawing.hash());
        }
    }
    act.transaction.execute(
        "INSERT INTO cuts (event, sheet, plan_key, plan, facts) VALUES (?1, ?2, ?3, ?4, ?5)",
        params![act.event, state.sheet, p.plan_key, recording.plan, serde_json::to_string(&p.cut)?],
    )?;
    Ok(())
}

/// Tells a layout from all others by what lies where, whatever order it is listed in.
fn plan_key(job: &Job, layout: &Layout) -> String {
    let mut lines: Vec<String> = layout.placements.iter().map(|p| line(job, p)).collect();
    lines.sort_unstable();
    let digest = Sha256::digest(lines.join("\n").as_bytes());
    digest.iter().map(|byte| format!("{byte:02x}")).collect()
}

/// A placement to the nanometre, and the part's area.
fn line(job: &Job, p: &Placement) -> String {
    let part = &job.wanted[p.part].part;
    let pose = &p.pose;
    format!(
        "{} {} {:.6} {:.6} {:.9} {} {:.3}",
        part.name,
        p.copy,
        pose.shift.x,
        pose.shift.y,
        pose.turn,
        pose.flipped,
        part.region.area()
    )
}
