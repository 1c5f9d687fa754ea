//! Recording what was cut from bars. Nothing has to be worked out beforehand, as it has for sheets: what
//! is left of a bar is a length.

use std::collections::HashMap;

use oddment_core::bars::{ClearBars, CutBar, CutList};
use oddment_core::units::LengthUnit;
use rusqlite::params;
use sha2::{Digest, Sha256};

use super::{CutFacts, CutPart, Keep, Kept, Outcome, Recorded};
use crate::bars::{SAME, new_bar, side_view};
use crate::facts::{Facts, Hold, Material, Whereabouts};
use crate::fault::ShopFault;
use crate::shop::{Act, Shop, State};

/// What there is to say of cut bars besides the plan. The default is: cut as planned.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct BarRecording {
    /// What became of parts, by name and copy; the others are good. Copies are counted from 1 along
    /// the plan's bars. A part that is half cut is the last that was begun of its bar, and is scrap.
    pub outcomes: HashMap<(String, usize), Outcome>,
    /// Which bar of the rack a bar of the plan was, by its number in the plan from 0; where nothing is
    /// said, the one whose label it is named by.
    pub labels: HashMap<usize, String>,
    /// Minutes it took.
    pub minutes: Option<f64>,
    /// The order it was cut for.
    pub order: Option<String>,
    /// Whether the order asks for a certificate: then each bar must have one, and a heat number.
    pub certificate: bool,
    /// What is known of bars that were bought for it: heat number, certificate, place.
    pub bought: Facts,
    /// What is left stays by the list's least remnant worth keeping, always, or never.
    pub keep: Keep,
    /// A plan that was recorded before was cut once more, from bars bought for it anew.
    pub again: bool,
    /// The plan as text, to be kept.
    pub plan: String,
}

impl Shop {
    /// Records that a plan for bars was cut: all of it in one event, or nothing. What is left of a bar
    /// is its new length; of a bar that was bought for it, a bar with a label of its own. What is not
    /// worth keeping is scrap. What was recorded before is not recorded again.
    ///
    /// # Errors
    /// [`ShopFault::Refused`] says why: a bar has changed since, is of another profile, has no
    /// certificate though the order asks for one.
    pub fn record_bars(
        &mut self,
        clear: &ClearBars<'_>,
        recording: &BarRecording,
    ) -> Result<Vec<Recorded>, ShopFault> {
        self.write_bars(clear, recording, true)
    }

    /// What [`Self::record_bars`] would do and say, without recording it. New bars bear the labels that
    /// are next now.
    ///
    /// # Errors
    /// As [`Self::record_bars`].
    pub fn preview_bars(
        &mut self,
        clear: &ClearBars<'_>,
        recording: &BarRecording,
    ) -> Result<Vec<Recorded>, ShopFault> {
        let recorded = self.write_bars(clear, recording, false)?;
        Ok(recorded.into_iter().map(|r| Recorded { event: 0, ..r }).collect())
    }

    fn write_bars(
        &mut self,
        clear: &ClearBars<'_>,
        recording: &BarRecording,
        for_good: bool,
    ) -> Result<Vec<Recorded>, ShopFault> {
        let materials = self.materials()?;
        let order = recording.order.as_ref().map(|name| self.order(name)).transpose()?.flatten();
        let certificate = recording.certificate || order.is_some_and(|order| order.certificate);
        let recording = BarRecording { certificate, ..recording.clone() };
        let cuts = cuts(clear, &recording)?;
        // A change of which nothing is said is not kept.
        self.change("cut", |act| {
            let mut recorded = Vec::with_capacity(cuts.len());
            for cut in &cuts {
                let one = write(act, &materials, clear.list(), cut, &recording)?;
                if recorded.iter().any(|r: &Recorded| r.label == one.label) {
                    let why = format!("two bars of the plan are to be {}; name another", one.label);
                    return Err(ShopFault::refused(why));
                }
                recorded.push(one);
            }
            let said: Vec<String> =
                recorded.iter().filter(|r| r.event > 0).map(|r| r.words(LengthUnit::Mm)).collect();
            if for_good && !said.is_empty() {
                act.say(said.join(" "));
            }
            Ok(recorded)
        })
    }
}

/// What was cut from one bar.
struct Cut {
    /// The bar, with the parts that were begun.
    bar: CutBar,
    /// Its number in the plan, from 0.
    number: usize,
    /// All its parts by name and copy, and what became of them.
    parts: Vec<(String, usize, Outcome)>,
    /// Tells it from all other bars of plans.
    key: String,
}

/// What was cut from each bar of the plan, but for those that nobody began.
fn cuts(clear: &ClearBars<'_>, recording: &BarRecording) -> Result<Vec<Cut>, ShopFault> {
    let (list, plan) = (clear.list(), clear.plan());
    let mut copies: HashMap<String, usize> = HashMap::new();
    let mut keys: HashMap<String, usize> = HashMap::new();
    let mut cuts = Vec::new();
    for (number, bar) in plan.bars.iter().enumerate() {
        let mut parts = Vec::new();
        for piece in &bar.pieces {
            let name = list.parts[piece.part].called();
            let copy = copies.entry(name.clone()).or_default();
            *copy += 1;
            let outcome = recording.outcomes.get(&(name.clone(), *copy)).cloned();
            parts.push((name, *copy, outcome.unwrap_or_default()));
        }
        let begun = parts.iter().rposition(|(_, _, o)| *o != Outcome::NeverStarted);
        let begun = begun.map_or(0, |last| last + 1);
        for (i, (name, copy, outcome)) in parts[..begun].iter().enumerate() {
            let why = match outcome {
                Outcome::HalfCut if i + 1 < begun => {
                    "half cut, though a part behind it on the bar was made; say that it is scrap"
                }
                Outcome::NeverStarted => {
                    "not begun, though a part behind it on the bar was; plan the bar as it was cut"
                }
                Outcome::Good | Outcome::Scrap(_) | Outcome::HalfCut => continue,
            };
            return Err(ShopFault::refused(format!("{name}#{copy} is {why}")));
        }
        let line = line(list, bar);
        let alike = keys.entry(line.clone()).or_default();
        *alike += 1;
        if begun == 0 {
            continue;
        }
        let digest = Sha256::digest(format!("{line}\n{alike}").as_bytes());
        cuts.push(Cut {
            bar: CutBar { stock: bar.stock, pieces: bar.pieces[..begun].to_vec() },
            number,
            parts,
            key: digest.iter().map(|byte| format!("{byte:02x}")).collect(),
        });
    }
    if cuts.is_empty() {
        return Err(ShopFault::refused(
            "nothing of the plan was cut, so there is nothing to record",
        ));
    }
    Ok(cuts)
}

/// What is cut from a bar and where, to the nanometre.
fn line(list: &CutList, bar: &CutBar) -> String {
    let stock = &list.stock[bar.stock];
    let profile = list.profile.as_ref().map_or("", |profile| profile.name.as_str());
    let mut line = format!("bar {profile} {} {:.6} {:.6}", stock.name, stock.length, list.kerf);
    for piece in &bar.pieces {
        let part = &list.parts[piece.part];
        line += &format!(
            "\n{} {:.6} {:.6} {:?} {} {}",
            part.called(),
            piece.at,
            part.length,
            part.ends,
            piece.reversed,
            piece.turned_over
        );
    }
    line
}

/// The bar of the rack that it was cut from; `None` for one that was bought for it.
fn from(
    act: &Act<'_>,
    list: &CutList,
    cut: &Cut,
    recording: &BarRecording,
) -> Result<Option<State>, ShopFault> {
    if let Some(label) = recording.labels.get(&cut.number) {
        return act.state(label).map(Some);
    }
    let stock = &list.stock[cut.bar.stock];
    if stock.count.is_none() || stock.name.trim().is_empty() {
        return Ok(None);
    }
    match act.state(&stock.name) {
        Ok(state) => Ok(Some(state)),
        Err(ShopFault::NoSheet(name)) => Err(ShopFault::refused(format!(
            "the plan’s bar {} is {name}, which is not in the rack; add it, or say which bar it was",
            cut.number + 1
        ))),
        Err(other) => Err(other),
    }
}

fn write(
    act: &Act<'_>,
    materials: &[Material],
    list: &CutList,
    cut: &Cut,
    recording: &BarRecording,
) -> Result<Recorded, ShopFault> {
    let stock = &list.stock[cut.bar.stock];
    let from = from(act, list, cut, recording)?;
    let (facts, known) = match &from {
        Some(state) => (state.facts.clone(), Some(state.sheet)),
        None => (bought(list, cut, recording)?, None),
    };
    let label = if let Some(state) = &from { state.label.clone() } else { String::new() };
    if !(recording.again && known.is_none())
        && let Some(label) = recorded_before(act, known, &cut.key)?
    {
        return Ok(Recorded { label, heat: facts.heat, ..nothing(stock.length) });
    }
    if let Some(state) = &from {
        is_as_planned(act, list, cut, state)?;
    }
    if let Some(lacks) = facts.lacks_for_certificate().filter(|_| recording.certificate) {
        let name = if label.is_empty() { "a bar bought for it" } else { &label };
        return Err(ShopFault::refused(format!(
            "the order asks for a certificate, and {name} has no {lacks}; cut it from a bar that \
             has one, or say it"
        )));
    }
    let height = facts.bar.as_ref().and_then(|bar| bar.profile.profile(1.0));
    let height = height.map_or(0.0, |profile| profile.section.size().1);
    let setup = list.setup(&cut.bar);
    let left = setup.left.1 - setup.left.0;
    let kept = left >= 1.0
        && match recording.keep {
            Keep::ByRule => setup.kept,
            Keep::All => true,
            Keep::Nothing => false,
        };
    let mut after = Facts { hold: None, weighed: None, value: None, seen: act.at, ..facts.clone() };
    // A bar that was bought for the cut came with it.
    if after.came == 0 {
        after.came = act.at;
    }
    if let Some(bar) = after.bar.as_mut() {
        let last = cut.bar.pieces.last().map_or(0.0, |piece| piece.ends(list)[1].angle);
        bar.end_deg = last.to_degrees();
    }
    if !kept {
        after.whereabouts = Whereabouts::UsedUp;
    }
    let length = if kept { left } else { stock.length };
    let outline = side_view(length, height, stock.give_or_take)?;
    let (sheet, label) = match &from {
        Some(state) => {
            let shape = if kept { act.put_outline(&outline)? } else { state.shape };
            act.put_state(state.sheet, Some(state.id), shape, &after)?;
            (state.sheet, label)
        }
        None => {
            let (sheet, label) = act.new_sheet(None)?;
            act.put_state(sheet, None, act.put_outline(&outline)?, &after)?;
            (sheet, label)
        }
    };
    let written = areas(list, cut, height, kept.then_some(left), &facts, recording);
    act.transaction.execute(
        "INSERT INTO cuts (event, sheet, plan_key, plan, facts) VALUES (?1, ?2, ?3, ?4, ?5)",
        params![act.event, sheet, cut.key, recording.plan, serde_json::to_string(&written)?],
    )?;
    let weight = |mm: f64| facts.bar.as_ref().map_or(0.0, |b| b.weight(mm, facts.density));
    let scrap = weight(written.scrap / height.max(SAME));
    let (price, scrap_price) =
        Material::named(materials, &facts.material).map_or((0.0, 0.0), |m| (m.price, m.scrap));
    let kg = weight(left);
    let not_made = cut.parts.iter().filter(|(_, _, outcome)| *outcome != Outcome::Good);
    Ok(Recorded {
        event: act.event,
        good: cut.parts.iter().filter(|(_, _, outcome)| *outcome == Outcome::Good).count(),
        not_made: not_made.cloned().collect(),
        kept: kept
            .then(|| Kept { label: label.clone(), kg, value: kg * price, on_bed: None })
            .into_iter()
            .collect(),
        scrap: (scrap, scrap * scrap_price),
        heat: facts.heat.clone(),
        warnings: {
            let held = facts.held_for_another(recording.order.as_deref());
            let others = warnings(&label, &facts, known.is_none(), kept, half_cut(cut));
            held.map(Hold::warning).into_iter().chain(others).collect()
        },
        label,
        lengths: Some((stock.length, if kept { left } else { 0.0 })),
    })
}

fn nothing(length: f64) -> Recorded {
    Recorded {
        event: 0,
        label: String::new(),
        good: 0,
        not_made: Vec::new(),
        kept: Vec::new(),
        scrap: (0.0, 0.0),
        heat: String::new(),
        warnings: Vec::new(),
        lengths: Some((length, 0.0)),
    }
}

/// The part that was begun and not finished: the last of its bar, which still hangs on it.
fn half_cut(cut: &Cut) -> Option<&(String, usize, Outcome)> {
    cut.parts.iter().find(|(_, _, outcome)| *outcome == Outcome::HalfCut)
}

fn warnings(
    label: &str,
    facts: &Facts,
    bought: bool,
    kept: bool,
    half: Option<&(String, usize, Outcome)>,
) -> Vec<String> {
    let mut warnings = Vec::new();
    if let Some((name, copy, _)) = half {
        warnings.push(format!(
            "{name}#{copy} is half cut and still on {label}: cut it off; it does not count into the \
             length."
        ));
    }
    if bought && kept {
        warnings.push(format!("Write the label {label} on what is left."));
    }
    if kept && !facts.heat.is_empty() {
        // Bars are marked at one end, and that end may be gone.
        warnings.push(format!(
            "See that the heat number {} is on what is left of {label}.",
            facts.heat
        ));
    }
    warnings
}

/// Under which label what this key tells was recorded and not undone: of this bar, or of any that was
/// bought.
fn recorded_before(
    act: &Act<'_>,
    sheet: Option<i64>,
    key: &str,
) -> Result<Option<String>, ShopFault> {
    let mut statement = act.transaction.prepare_cached(
        "SELECT s.label FROM cuts c JOIN sheets s ON s.id = c.sheet \
         WHERE c.plan_key = ?1 AND c.sheet = coalesce(?2, c.sheet) \
         AND NOT EXISTS (SELECT 1 FROM events u WHERE u.undoes = c.event)",
    )?;
    let mut rows = statement.query(params![key, sheet])?;
    Ok(rows.next()?.map(|row| row.get(0)).transpose()?)
}

/// Refuses a bar that is not as the plan has it.
fn is_as_planned(act: &Act<'_>, list: &CutList, cut: &Cut, state: &State) -> Result<(), ShopFault> {
    let (label, facts) = (&state.label, &state.facts);
    let Some(bar) = &facts.bar else {
        return Err(ShopFault::refused(format!("{label} is a sheet, and this is a plan for bars")));
    };
    if facts.whereabouts != Whereabouts::Here {
        let how = facts.whereabouts.words();
        return Err(ShopFault::refused(format!("{label} is not in the rack: {how}")));
    }
    if let Some(profile) = &list.profile
        && !bar.profile.is(profile)
    {
        return Err(ShopFault::refused(format!(
            "the plan is for {}, and {label} is {}",
            profile.name, bar.profile.name
        )));
    }
    let planned = &list.stock[cut.bar.stock];
    let now: f64 = act.transaction.query_row(
        "SELECT width FROM shapes WHERE id = ?1",
        [state.shape],
        |row| row.get(0),
    )?;
    let same =
        (now - planned.length).abs() <= SAME && bar.give_or_take <= planned.give_or_take + SAME;
    if !same {
        return Err(ShopFault::refused(format!(
            "{label} has changed since the plan was made: it was {} mm long and is {now} mm, give or \
             take {} mm; plan again with the bar as it is now",
            planned.length, bar.give_or_take
        )));
    }
    Ok(())
}

/// What is known of a bar that was bought for the plan.
fn bought(list: &CutList, cut: &Cut, recording: &BarRecording) -> Result<Facts, ShopFault> {
    let lacks = |what: &str| {
        ShopFault::refused(format!(
            "the plan’s bar {} was bought for it, but the list names no {what}; add “{what}” to it",
            cut.number + 1
        ))
    };
    let profile = list.profile.as_ref().ok_or_else(|| lacks("profile"))?;
    if list.material.trim().is_empty() {
        return Err(lacks("material"));
    }
    let stock = &list.stock[cut.bar.stock];
    let said = |own: &str, else_: &str| if own.is_empty() { else_ } else { own }.to_owned();
    let facts = Facts {
        material: list.material.trim().to_owned(),
        density: profile.density,
        heat: said(&stock.heat, &recording.bought.heat),
        stands: said(&stock.place, &recording.bought.stands),
        ..recording.bought.clone()
    };
    let new = new_bar(None, profile, stock.length, stock.give_or_take, facts)?;
    Ok(new.facts)
}

/// The cut in areas of the side view, mm².
fn areas(
    list: &CutList,
    cut: &Cut,
    height: f64,
    kept: Option<f64>,
    facts: &Facts,
    recording: &BarRecording,
) -> CutFacts {
    let before = list.stock[cut.bar.stock].length * height;
    let after = kept.unwrap_or(0.0) * height;
    let pieces = cut.bar.pieces.iter().zip(&cut.parts);
    let parts: Vec<CutPart> = pieces
        .map(|(piece, (name, copy, outcome))| {
            let part = &list.parts[piece.part];
            // The mean of the upper and the lower edge.
            let back: f64 = piece.ends(list).iter().flat_map(|end| end.back).sum();
            CutPart {
                part: name.clone(),
                copy: *copy,
                outcome: outcome.clone(),
                area: (part.length - back / 2.0) * height,
                drawing: None,
                pose: (piece.at, 0.0, if piece.reversed { 180.0 } else { 0.0 }, piece.turned_over),
            }
        })
        .collect();
    let good: f64 = parts.iter().filter(|p| p.outcome == Outcome::Good).map(|p| p.area).sum();
    let slots: f64 =
        list.setup(&cut.bar).cuts.iter().map(|c| list.kerf / c.angle.cos() * height).sum();
    // A last cut may run out of the bar.
    let kerf = slots.min(before - after - good);
    CutFacts {
        scrap: before - after - good - kerf,
        parts,
        before,
        after,
        children: Vec::new(),
        kerf,
        minutes: recording.minutes,
        reckoned: None,
        squared_up: None,
        order: recording.order.clone(),
        heat: facts.heat.clone(),
        certificate: facts.certificate.clone(),
    }
}
