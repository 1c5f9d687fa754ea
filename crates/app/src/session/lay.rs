//! How the open plan's sheets lie on the bed.

use std::borrow::Cow;
use std::collections::BTreeMap;
use std::sync::Arc;

use oddment_core::check::{CheckedPlan, check_laid};
use oddment_core::machine::Machine;
use oddment_core::plan::Layout;
use oddment_core::shape::{BedSpace, Loop, Pose, SheetSpace};
use oddment_core::sheet::Sheet;
use oddment_core::square_up::{
    Bearing, Feature, Sharper, SquaredUp, Verdict, Worth, as_laid, bearing, feature_at, relied_on,
    sharper, worth_measuring,
};
use oddment_files::words::counted;
use oddment_rack::sheets::Entry;

use super::Session;
use crate::hand::Hand;
use crate::judging::{Asked, Judged, Judging};
use crate::lay::{LayAct, Pointed, change, lay_of, measured, pointer_list, sharpen, squared_up};
use crate::open_job::{Copy, OpenJob, SheetSlot};
use crate::rack::{Desk, RackAct};
use crate::square_up::snug_anew;
use crate::words::capital;

/// So near (mm) to an edge it is the edge that is meant.
const NEAR: f64 = 25.0;
/// So near (mm) to a corner or the middle of a hole it is that.
const NEAR_POINT: f64 = 8.0;
/// Sheets of the rack that are tried instead of the one that was planned on, at most.
const MOST_RIVALS: usize = 24;
/// How far (mm) the head keeps from clamps where the values do not say.
const HEAD: f64 = 10.0;

/// The pointer list of a sheet, and what was measured of it.
#[derive(Debug, Default)]
pub struct PointerList {
    /// Its points.
    pub points: Vec<Pointed>,
    /// How sure edges are by it, where that is not as recorded.
    pub sharper: Vec<Sharper>,
    /// The edges that are worth measuring.
    pub worth: Vec<Worth>,
    /// What each clamp holds.
    pub bearings: Vec<Bearing>,
}

impl Session {
    /// The pointer list of the sheet that is shown, and what was measured of it. It takes a while: to be
    /// asked for once a [revision](Self::revision).
    pub fn pointed(&self) -> PointerList {
        let Some(layout) = self.shown_layout() else { return PointerList::default() };
        PointerList {
            points: pointer_list(&self.open, layout),
            sharper: self.sharper(layout),
            worth: worth_measuring(self.open.job(), &self.checked),
            bearings: self.bearings(layout),
        }
    }

    /// Where the sheet that is shown lies: as measured, or until then with its datum corner at the bed's
    /// zero.
    pub fn bed_pose(&self) -> Pose<SheetSpace, BedSpace> {
        let datum = self.datum().to_vector();
        self.squared_up().map_or_else(|| Pose::shifted(-datum), SquaredUp::pose)
    }

    fn bearings(&self, layout: usize) -> Vec<Bearing> {
        let stock = self.open.plan.layouts[layout].stock;
        let as_laid = self.squared_up().map(|s| s.as_laid(self.open.job(), stock));
        let job = as_laid.as_ref().unwrap_or(self.open.job());
        let sheet = &job.stock[stock].sheet;
        let back = self.bed_pose().inverse();
        let clamps = lay_of(&self.open, &sheet.name).map_or(&[][..], |l| l.clamps.as_slice());
        let shapes = clamps.iter().filter_map(|b| Loop::rectangle(b.min, b.max).ok());
        shapes.map(|shape| bearing(sheet, &shape.placed(&back), job.clearances.lay)).collect()
    }

    /// What was measured of the sheet that is shown, and what that says; `None` until it is worked out.
    pub fn judged(&self) -> Option<&Arc<Judged>> {
        self.judging.as_ref()?.judged()
    }

    /// Has what was measured judged, where it changed.
    pub(super) fn poll_judging(&mut self) {
        let rack = self.rack.as_ref().map_or(0, Desk::revision);
        let shapes = self.rack.as_ref().map_or(0, Desk::shapes_known);
        let of = (self.revision, self.shown, rack, shapes);
        if self.judging_of != Some(of) {
            self.judging_of = Some(of);
            self.judge_anew();
        }
        let known = self.judged().is_some();
        self.judging.iter_mut().for_each(Judging::poll);
        if !known {
            self.leave_outvoted_out();
        }
    }

    /// What all other measurements speak against counts for nothing, until a person says otherwise.
    fn leave_outvoted_out(&mut self) {
        let (Some(layout), Some(judged)) = (self.shown_layout(), self.judged().cloned()) else {
            return;
        };
        let Verdict::Outvoted(bad) = judged.judgement.verdict else { return };
        if judged.measured == self.outvoted || judged.measured != measured(&self.open, layout) {
            return;
        }
        let at = judged.measured[bad].feature.at();
        let letter = pointer_list(&self.open, layout)
            .into_iter()
            .find(|p| p.feature.at() == at)
            .map_or_else(String::new, |p| p.letter.to_string());
        let sheet = self.open.job().stock[self.open.plan.layouts[layout].stock].sheet.name.clone();
        self.outvoted.clone_from(&judged.measured);
        // No act of its own: it belongs to the measurement.
        change(&mut self.open.job_mut().cut.lays, &sheet, &LayAct::LeaveOut(at, true));
        self.changed();
        self.notice = Some(format!(
            "{letter} does not agree with the others and counts for nothing: measure it again"
        ));
    }

    fn judge_anew(&mut self) {
        let Some(layout) = self.shown_layout() else {
            self.judging = None;
            return;
        };
        let measured = measured(&self.open, layout);
        if measured.is_empty() {
            self.judging = None;
            return;
        }
        let stock = self.open.plan.layouts[layout].stock;
        let sheet = self.open.job().stock[stock].sheet.clone();
        // Where they fit nobody asks whether it is another sheet.
        let fits = relied_on(&measured).is_some();
        let rivals = if fits { Vec::new() } else { self.rivals(&sheet) };
        let asked = Asked { sheet, measured, rivals };
        if self.judging.as_ref().is_some_and(|j| j.is_of(&asked)) {
            return;
        }
        match Judging::start(asked, self.wake.clone()) {
            Ok(judging) => self.judging = Some(judging),
            Err(why) => self.refuse(why.to_string()),
        }
    }

    /// Sheets of the rack that may lie on the bed instead: of the same metal, the likest in size first. Shapes
    /// that are not known yet are asked for.
    fn rivals(&mut self, sheet: &Sheet) -> Vec<Sheet> {
        let (Some(rack), Some(metal)) = (&mut self.rack, &sheet.made_of) else { return Vec::new() };
        let listing = rack.listing().clone();
        let size = sheet.bounds();
        let unlike =
            |e: &Entry| (e.size[0] - size.width()).abs() + (e.size[1] - size.height()).abs();
        let alike = |e: &&Entry| {
            e.facts.bar.is_none()
                && e.label != sheet.name
                && e.facts.material.eq_ignore_ascii_case(&metal.material)
                && (e.facts.thickness - metal.thickness).abs() < 0.05
        };
        let mut likely: Vec<&Entry> = listing.sheets.iter().filter(alike).collect();
        likely.sort_by(|a, b| unlike(a).total_cmp(&unlike(b)));
        likely.truncate(MOST_RIVALS);
        let unasked = rack.unasked(likely.iter().map(|e| e.shape));
        if !unasked.is_empty() {
            rack.act(RackAct::Shapes(unasked));
        }
        likely.into_iter().filter_map(|e| rack.sheet(e)).collect()
    }

    /// How the sheet that is shown lies.
    pub fn squared_up(&self) -> Option<&SquaredUp> {
        self.checked.squared_up(self.shown_layout()?)
    }

    /// The machine that the open plan is cut on.
    pub fn machine(&self) -> Option<&Machine> {
        self.values().machine(self.open.sourced.cut.machine.as_deref())
    }

    /// What does the cutting of the open plan: a beam, an arc or a jet.
    pub fn tool(&self) -> &'static str {
        self.machine().map(|m| m.process).unwrap_or_default().tool()
    }

    pub(super) fn shown_layout(&self) -> Option<usize> {
        self.slot().and_then(|s| s.layout).filter(|l| *l < self.open.plan.layouts.len())
    }

    /// The check of the open plan, each sheet as it is laid where it was squared up.
    pub(super) fn check_open(&self) -> CheckedPlan {
        let open = &self.open;
        if open.sourced.cut.lays.is_empty() {
            return check_laid(open.job(), open.plan.clone(), Vec::new());
        }
        let lie = (0..open.plan.layouts.len()).map(|l| self.lies(open, l)).collect();
        check_laid(open.job(), open.plan.clone(), lie)
    }

    /// A job with its sheets as they lie where they were squared up, clamps and all: what is laid in it is
    /// clear by the check of [`Self::check_open`]. It is the open job, or one with more laid on its sheets.
    pub(super) fn as_it_lies<'a>(&self, open: &'a OpenJob) -> Cow<'a, OpenJob> {
        let stock = &open.job().stock;
        let measured = (0..stock.len()).filter(|n| lay_of(open, &stock[*n].sheet.name).is_some());
        let lies = |n: usize| {
            match self.checked.plan().layouts.iter().position(|l| l.stock == n) {
                Some(layout) => self.checked.squared_up(layout).cloned(),
                // Nothing lies on it yet, or any more.
                None => {
                    let mut open = open.clone();
                    open.plan.layouts = vec![Layout { stock: n, placements: Vec::new() }];
                    self.lies(&open, 0)
                }
            }
        };
        let lie: BTreeMap<usize, SquaredUp> =
            measured.filter_map(|n| Some((n, lies(n)?))).collect();
        if lie.is_empty() {
            return Cow::Borrowed(open);
        }
        let mut laid = open.clone();
        laid.job_mut().job = as_laid(open.job(), |n| lie.get(&n));
        Cow::Owned(laid)
    }

    /// Takes these of the open plan into a hand, the sheet as it lies.
    pub(super) fn hand_of(&self, slot: SheetSlot, copies: &[Copy]) -> Option<Hand> {
        Hand::pick_up(&self.as_it_lies(&self.open), slot, copies)
    }

    fn lies(&self, open: &OpenJob, layout: usize) -> Option<SquaredUp> {
        let laid = open.plan.layouts.get(layout).filter(|l| l.is_known(open.job()))?;
        let metal = open.job().stock[laid.stock].sheet.made_of.as_ref();
        let machine = self.machine();
        let row = machine.zip(metal);
        let row = row.and_then(|(m, metal)| self.values().table().row(m.process, metal.thickness));
        squared_up(open, layout, machine, row.map_or(HEAD, |r| r.head))
    }

    pub(super) fn lay_act(&mut self, act: LayAct) {
        self.keep_best();
        let Some(layout) = self.shown_layout() else {
            self.refuse("Nothing lies on this sheet: lay parts first");
            return;
        };
        let stock = self.open.plan.layouts[layout].stock;
        let sheet = self.open.job().stock[stock].sheet.name.clone();
        match act {
            LayAct::Snug => self.snug_as_laid(layout),
            LayAct::WriteBack => self.write_back(layout, stock, sheet),
            act => {
                let name = match act {
                    LayAct::Measure(..) => "Measure a point",
                    LayAct::Instead(..) => "Take a point for another",
                    LayAct::LeaveOut(_, true) => "Leave a point out",
                    LayAct::LeaveOut(_, false) => "Count a point again",
                    LayAct::Tick(..) => "Tick off a point",
                    LayAct::Also(..) => "Change the pointer list",
                    LayAct::Clamp(_) => "Move clamps",
                    _ => "Forget what was measured",
                };
                let act = match act {
                    LayAct::Also(at, true) => {
                        let sheet = &self.open.job().stock[stock].sheet;
                        let near = |p: &Feature| p.at().distance(at) <= NEAR;
                        let place = feature_at(sheet, at, NEAR_POINT).filter(near);
                        let Some(place) = place else { return };
                        LayAct::Also(place.at(), true)
                    }
                    act => act,
                };
                self.change(name, |open| change(&mut open.job_mut().cut.lays, &sheet, &act));
            }
        }
    }

    /// Moves what became short to the nearest clear place.
    fn snug_as_laid(&mut self, layout: usize) {
        let Some(s) = self.checked.squared_up(layout).cloned() else {
            self.refuse("The sheet is not squared up yet");
            return;
        };
        let snugged = snug_anew(&self.open, layout, &s);
        let named = |copies: &[Copy], of: &dyn Fn(String) -> String| {
            (!copies.is_empty()).then(|| of(self.names(copies)))
        };
        let moved = named(&snugged.moved, &|names| format!("{names} moved"));
        let locked = named(&snugged.locked, &|names| format!("{names} locked where it is short"));
        let stuck =
            named(&snugged.stuck, &|names| format!("no clear place at its angle for {names}"));
        let says: Vec<String> = [moved, locked, stuck].into_iter().flatten().collect();
        if !snugged.moved.is_empty() {
            let name = format!("Snug {} as laid", self.names(&snugged.moved));
            self.change(name, |open| open.plan = snugged.plan);
        }
        self.notice = Some(match says.is_empty() {
            true => "Nothing is short as laid".into(),
            false => capital(&says.join("; ")),
        });
    }

    /// Writes into the rack, and into the open job, how much surer edges are known.
    fn write_back(&mut self, layout: usize, stock: usize, sheet: String) {
        let sharper = self.sharper(layout);
        let edges: Vec<_> = sharper.iter().map(|s| (s.contour, s.edge, s.is)).collect();
        if edges.is_empty() {
            self.refuse("No edge is known better by this: measure two corners of it");
            return;
        }
        if let Some(rack) = self.rack.as_mut().filter(|r| r.has(&sheet)) {
            rack.act(RackAct::Measure(sheet.clone(), edges.clone()));
        }
        let known = counted(edges.len(), "edge", "edges");
        self.change(format!("Write back {known} of {sheet} as measured"), |open| {
            sharpen(&mut open.job_mut().job, stock, &edges);
        });
    }

    /// The edges that what was measured makes surer, or shows to be elsewhere.
    fn sharper(&self, layout: usize) -> Vec<Sharper> {
        let measured = measured(&self.open, layout);
        let Some(fit) = relied_on(&measured) else { return Vec::new() };
        let sheet = &self.open.job().stock[self.open.plan.layouts[layout].stock].sheet;
        sharper(sheet, &measured, &fit)
    }
}
