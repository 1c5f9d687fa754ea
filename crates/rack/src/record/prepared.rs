//! Works out what a cut leaves, before anything is written.

use oddment_core::check::{CheckedPlan, check};
use oddment_core::leftover::{CRUMB, gone_with, start_slots, take_part, take_region, take_start};
use oddment_core::plan::{Job, Layout, Placement, Plan, Stock};
use oddment_core::shape::{Loop, Point, Region, SheetSpace, Vector};
use oddment_core::sheet::{EdgeFacts, EdgeKind, NoGo};
use oddment_core::units::LengthUnit;
use oddment_files::words::fault_words;
use rusqlite::Connection;

use super::changed::{Stand, cut_before, stand};
use super::{CutFacts, CutPart, Keep, Kept, Outcome, Preview, Recorded, Recording, plan_key};
use crate::crop::{self, BIN, ForBin};
use crate::facts::{Facts, Hold, Material, Whereabouts};
use crate::fault::ShopFault;
use crate::outline::{CUT_EARLIER, CUT_IN_THIS_SETUP, EdgeNote, Noting, Outline, Source};
use crate::shop::{State, newest_state, outline, sheet_of};

/// Faults told of a plan that is not clear, at most.
const FAULTS_TOLD: usize = 3;

/// A cut worked out, to be written.
pub(super) struct Prepared {
    /// The state that it was worked out from.
    pub(super) state: State,
    pub(super) plan_key: String,
    /// What is known of the sheet afterwards.
    pub(super) facts: Facts,
    pub(super) fate: Fate,
    pub(super) cut: CutFacts,
    pub(super) recorded: Recorded,
    /// Leftovers that stay, as they lie on the sheet.
    stays: Vec<Region<SheetSpace>>,
    /// Leftovers that go to scrap.
    goes: Vec<Region<SheetSpace>>,
}

/// What becomes of the sheet.
pub(super) enum Fate {
    /// It keeps its label.
    Stays(Outline),
    /// Nothing of it is kept.
    Gone,
    /// It is cut into sheets of their own.
    Parted(Vec<(Outline, Facts)>),
}

pub(super) fn prepare(
    connection: &Connection,
    materials: &[Material],
    (job, checked, layout): (&Job, &CheckedPlan, &Layout),
    label: &str,
    recording: &Recording,
) -> Result<Prepared, ShopFault> {
    let state = newest_state(connection, label)?;
    let label = state.label.clone();
    if state.facts.bar.is_some() {
        return Err(ShopFault::refused(format!("{label} is a bar, and this is a plan for sheets")));
    }
    let key = plan_key(job, layout);
    let before = cut_before(connection, state.sheet, &key)?;
    let name = |p: &Placement| (job.wanted[p.part].part.name.clone(), p.copy);
    let left: Vec<&Placement> =
        layout.placements.iter().filter(|p| !before.contains(&name(p))).collect();
    let outcome = |p: &Placement| recording.outcomes.get(&name(p)).cloned().unwrap_or_default();
    let begun = left.iter().any(|p| outcome(p) != Outcome::NeverStarted);
    let metal = outline(connection, state.shape)?;
    if !begun && !before.is_empty() {
        return Ok(Prepared::nothing(state, key, metal));
    }
    if !begun {
        return Err(ShopFault::refused(format!(
            "nothing of the plan was cut from {label}, so there is nothing to record"
        )));
    }
    if state.facts.whereabouts != Whereabouts::Here {
        let how = state.facts.whereabouts.words();
        return Err(ShopFault::refused(format!("{label} is not in the rack: {how}")));
    }
    let stands = stand(connection, (job, layout), &state, &metal, &key, recording.unit)?;
    if !recording.anyway {
        is_clear(job, checked, layout, (&state, &metal, &stands), recording.unit)?;
    }
    if let Some(lacks) = state.facts.lacks_for_certificate().filter(|_| recording.certificate) {
        return Err(ShopFault::refused(format!(
            "the order asks for a certificate, and {label} has no {lacks}; cut it from a sheet that has \
             one"
        )));
    }
    worked_out(materials, job, &left, &outcome, state, key, &metal, recording)
}

/// Refuses a plan that is not clear on the sheet as the rack has it.
fn is_clear(
    job: &Job,
    checked: &CheckedPlan,
    layout: &Layout,
    (state, metal, stands): (&State, &Outline, &Stand),
    unit: LengthUnit,
) -> Result<(), ShopFault> {
    let refuse = |job: &Job, checked: &CheckedPlan| {
        let faults = &checked.report().faults;
        let mut told: Vec<String> = faults
            .iter()
            .take(FAULTS_TOLD)
            .map(|f| fault_words(job, checked.plan(), f, unit))
            .collect();
        if faults.len() > FAULTS_TOLD {
            told.push(format!("and {} more", faults.len() - FAULTS_TOLD));
        }
        ShopFault::refused(format!(
            "the plan is not clear on {} as it is recorded: {}; if it was cut all the same, record \
             it anyway",
            state.label,
            told.join("; ")
        ))
    };
    if !checked.is_clear() {
        return Err(refuse(job, checked));
    }
    // Where part of the plan was cut already, its own cuts are on the sheet by now.
    if matches!(stands, Stand::Continues) {
        return Ok(());
    }
    let sheet = sheet_of(&state.label, &state.facts, metal);
    let on_it = Job { stock: vec![Stock { sheet, count: 1 }], ..job.clone() };
    let alone = Plan { layouts: vec![Layout { stock: 0, ..layout.clone() }] };
    let checked = check(&on_it, alone);
    if checked.is_clear() { Ok(()) } else { Err(refuse(&on_it, &checked)) }
}

#[expect(clippy::too_many_arguments, reason = "one step of `prepare`, split off to be read")]
fn worked_out(
    materials: &[Material],
    job: &Job,
    left: &[&Placement],
    outcome: &dyn Fn(&Placement) -> Outcome,
    state: State,
    plan_key: String,
    metal: &Outline,
    recording: &Recording,
) -> Result<Prepared, ShopFault> {
    let kerf = job.clearances.kerf;
    let tangled = |what: &str| {
        ShopFault::refused(format!(
            "what {what} leaves of {} cannot be told; draw the sheet anew and add it",
            state.label
        ))
    };
    let mut pieces = metal.regions();
    let area_before = area(&pieces);
    let (mut slots, mut parts, mut scrap) = (0.0, Vec::new(), 0.0);
    let mut no_go = metal.no_go.clone();
    let held = state.facts.held_for_another(recording.order.as_deref());
    let mut warnings = Vec::from_iter(held.map(Hold::warning));
    let mark = state.facts.heat_mark.map(|[x, y]| Point::new(x, y));
    // Larger parts first: others may lie in their holes.
    let mut placed: Vec<(&Placement, Region<SheetSpace>)> =
        left.iter().map(|p| (*p, job.wanted[p.part].part.region.placed(&p.pose))).collect();
    placed.sort_by(|a, b| b.1.outer().area().total_cmp(&a.1.outer().area()));
    for (p, region) in placed {
        let (name, outcome) = (&job.wanted[p.part].part.name, outcome(p));
        let gone = gone_with(&region, kerf).ok_or_else(|| tangled(name))?;
        match &outcome {
            Outcome::Good | Outcome::Scrap(_) => {
                pieces = take_part(&pieces, &region, kerf).ok_or_else(|| tangled(name))?;
                slots += gone.area() - region.area();
                if matches!(outcome, Outcome::Scrap(_)) {
                    scrap += region.area();
                }
            }
            Outcome::HalfCut => no_go.push(half_cut(name, gone.outer().clone())),
            Outcome::NeverStarted => {}
        }
        let starts = recording.starts.get(&(name.clone(), p.copy));
        for start in starts.into_iter().flatten().filter(|_| outcome != Outcome::NeverStarted) {
            let cut = outcome != Outcome::HalfCut;
            match cut.then(|| take_start(&pieces, start, kerf)).flatten() {
                Some(left) => {
                    slots += area(&pieces) - area(&left);
                    pieces = left;
                }
                // What can't be told apart, or may be there or not: nothing may lie there.
                None => no_go.extend(
                    start_slots(start, kerf)
                        .into_iter()
                        .flatten()
                        .map(|slot| half_cut(name, slot.outer().clone())),
                ),
            }
        }
        parts.push(CutPart {
            part: name.clone(),
            copy: p.copy,
            outcome,
            area: region.area(),
            drawing: recording.drawings.get(name).map(|drawing| drawing.hash().to_owned()),
            pose: (p.pose.shift.x, p.pose.shift.y, p.pose.turn.to_degrees(), p.pose.flipped),
        });
    }
    for gone in &recording.also_gone {
        let had = area(&pieces);
        pieces = take_region(&pieces, gone).ok_or_else(|| tangled("the straight cut"))?;
        slots += had - area(&pieces);
    }
    let mut facts = state.facts.clone();
    let setup = facts.setup.unwrap_or(state.id);
    let give_or_take = if recording.on_bed { CUT_IN_THIS_SETUP } else { CUT_EARLIER };
    let note = EdgeNote {
        facts: EdgeFacts { kind: EdgeKind::OwnCut, give_or_take },
        source: Source::Cut(setup),
    };
    let noting = Noting::new(metal, note);
    let lies_still = |piece: &Region<SheetSpace>| recording.on_bed && noting.reaches_out(piece);
    facts.setup = None;
    facts.hold = None;
    facts.weighed = None;
    facts.value = None;
    let metal_of = facts.metal();
    let kept = |piece: &Region<SheetSpace>| match recording.keep {
        Keep::All => piece.area() >= CRUMB,
        Keep::Nothing => false,
        Keep::ByRule => {
            let rule = Material::named(materials, &facts.material);
            piece.area() >= CRUMB && rule.is_none_or(|m| m.keeping().keeps(piece, &metal_of))
        }
    };
    let (stay, go): (Vec<_>, Vec<_>) = pieces.into_iter().partition(kept);
    scrap += area(&go);
    if let Some(at) = recording.heat_marked_at {
        facts.heat_mark = Some(at);
    } else if mark.is_some_and(|m| !stay.iter().any(|piece| piece.contains(m))) {
        facts.heat_mark = None;
        if !stay.is_empty() {
            warnings.push(format!(
                "The heat number {} that was marked on {} goes with the cut: mark it on what is left.",
                facts.heat, state.label
            ));
        }
    }
    let (price, scrap_price) =
        Material::named(materials, &facts.material).map_or((0.0, 0.0), |m| (m.price, m.scrap));
    let kept_as = |label: &str, piece: &Region<SheetSpace>| {
        let kg = metal_of.weight(piece.area());
        let corner = piece.bounds().min;
        let on_bed = lies_still(piece).then_some([corner.x, corner.y]);
        Kept { label: label.to_owned(), kg, value: kg * price, on_bed }
    };
    let outline_of = |pieces: &[Region<SheetSpace>]| {
        let noted = pieces.iter().map(|r| noting.piece(r)).collect();
        let whole = Outline { pieces: noted, no_go: Vec::new() };
        let around = whole.bounds();
        let touches = |z: &&NoGo| z.shape.bounds().distance_squared(&around) <= 0.0;
        let whole = Outline { no_go: no_go.iter().filter(touches).cloned().collect(), ..whole };
        if pieces.iter().all(lies_still) { whole } else { whole.lifted() }
    };
    let (mut after, mut children, mut named) = (0.0, Vec::new(), Vec::new());
    let fate = match &stay[..] {
        [] => Fate::Gone,
        [one] => {
            after = one.area();
            facts.setup = lies_still(one).then_some(setup);
            named.push(kept_as(&state.label, one));
            Fate::Stays(outline_of(&stay))
        }
        several => {
            let mut parted = Vec::new();
            for piece in several {
                let setup = lies_still(piece).then_some(setup);
                let of = Facts { setup, ..facts.clone() };
                let (outline, child) = child_of(&state.label, &of, piece, &outline_of);
                children.push((String::new(), piece.area()));
                named.push(kept_as("a new sheet", piece));
                if mark.is_some() && child.heat_mark.is_none() && !child.heat.is_empty() {
                    warnings.push(format!(
                        "The heat number {} is not marked on a piece of {:.1} kg: mark it there.",
                        child.heat,
                        metal_of.weight(piece.area())
                    ));
                }
                parted.push((outline, child));
            }
            Fate::Parted(parted)
        }
    };
    let scrap_kg = metal_of.weight(scrap);
    let recorded = Recorded {
        event: 0,
        label: state.label.clone(),
        good: parts.iter().filter(|p| p.outcome == Outcome::Good).count(),
        not_made: parts
            .iter()
            .filter(|p| p.outcome != Outcome::Good)
            .map(|p| (p.part.clone(), p.copy, p.outcome.clone()))
            .collect(),
        kept: named,
        scrap: (scrap_kg, scrap_kg * scrap_price),
        heat: facts.heat.clone(),
        warnings,
        lengths: None,
    };
    let cut = CutFacts {
        parts,
        before: area_before,
        after,
        children,
        scrap,
        kerf: slots,
        minutes: recording.minutes,
        reckoned: recording.reckoned.clone(),
        squared_up: recording.squared_up,
        order: recording.order.clone(),
        heat: facts.heat.clone(),
        certificate: facts.certificate.clone(),
    };
    Ok(Prepared { state, plan_key, facts, fate, cut, recorded, stays: stay, goes: go })
}

fn area(metal: &[Region<SheetSpace>]) -> f64 {
    metal.iter().map(Region::area).sum()
}

fn half_cut(name: &str, shape: Loop<SheetSpace>) -> NoGo {
    NoGo { name: format!("half cut {name}"), shape, clearance: 0.0, stands_up: false }
}

/// A piece as a sheet of its own, its datum corner at the origin.
fn child_of(
    parent: &str,
    facts: &Facts,
    piece: &Region<SheetSpace>,
    outline_of: &dyn Fn(&[Region<SheetSpace>]) -> Outline,
) -> (Outline, Facts) {
    let corner = piece.bounds().min;
    let outline = outline_of(std::slice::from_ref(piece));
    let mark = facts.heat_mark.filter(|[x, y]| piece.contains(Point::new(*x, *y)));
    let child = Facts {
        parent: Some(parent.to_owned()),
        heat_mark: mark.map(|[x, y]| [x - corner.x, y - corner.y]),
        // It shows the parent.
        drawing: None,
        ..facts.clone()
    };
    (outline.shifted(Vector::new(-corner.x, -corner.y)), child)
}

impl Prepared {
    /// What would come of it; `kerf` (mm) is that of the proposed straight cut.
    pub(super) fn preview(self, materials: &[Material], kerf: f64) -> Preview {
        let material = Material::named(materials, &self.facts.material);
        let crop = match (&self.fate, material) {
            (Fate::Stays(outline), Some(m)) => crop::propose(outline, &self.facts, m, kerf, BIN),
            _ => None,
        };
        let for_bin = material
            .filter(|_| !self.goes.is_empty())
            .map(|m| ForBin::of(&self.goes, &self.facts, m, BIN));
        Preview { recorded: self.recorded, stays: self.stays, goes: self.goes, crop, for_bin }
    }

    /// All of it was recorded before.
    fn nothing(state: State, plan_key: String, metal: Outline) -> Self {
        let area = metal.area();
        Self {
            facts: state.facts.clone(),
            plan_key,
            cut: CutFacts {
                parts: Vec::new(),
                before: area,
                after: area,
                children: Vec::new(),
                scrap: 0.0,
                kerf: 0.0,
                minutes: None,
                reckoned: None,
                squared_up: None,
                order: None,
                heat: state.facts.heat.clone(),
                certificate: state.facts.certificate.clone(),
            },
            recorded: Recorded {
                event: 0,
                label: state.label.clone(),
                good: 0,
                not_made: Vec::new(),
                kept: Vec::new(),
                scrap: (0.0, 0.0),
                heat: state.facts.heat.clone(),
                warnings: Vec::new(),
                lengths: None,
            },
            stays: metal.regions(),
            goes: Vec::new(),
            fate: Fate::Stays(metal),
            state,
        }
    }
}
