//! How the open plan's sheets lie on the bed.

use oddment_core::check::{CheckedPlan, check_laid};
use oddment_core::machine::Machine;
use oddment_core::square_up::{Judgement, Measured, SquaredUp, Worth, sharper, worth_measuring};

use super::Session;
use crate::lay::{LayAct, Pointed, change, judged, pointer_list, sharpen, squared_up};
use crate::open_job::OpenJob;
use crate::rack::RackAct;
use crate::square_up::snug_anew;

/// How far (mm) the head keeps from clamps where the values do not say.
const HEAD: f64 = 10.0;

/// The pointer list of a sheet, and what was measured of it.
#[derive(Debug, Default)]
pub struct PointerList {
    /// Its points.
    pub points: Vec<Pointed>,
    /// What was measured, and what that says.
    pub judged: Option<(Judgement, Vec<Measured>)>,
    /// How many edges are known better by it.
    pub known_better: usize,
    /// The edges that are worth measuring.
    pub worth: Vec<Worth>,
}

impl Session {
    /// The pointer list of the sheet that is shown, and what was measured of it. It takes a while: to be
    /// asked for once a [revision](Self::revision).
    pub fn pointed(&self) -> PointerList {
        let Some(layout) = self.shown_layout() else { return PointerList::default() };
        PointerList {
            points: pointer_list(&self.open, layout),
            judged: judged(&self.open, layout),
            known_better: self.sharper(layout).len(),
            worth: worth_measuring(self.open.job(), &self.checked),
        }
    }

    /// How the sheet that is shown lies.
    pub fn squared_up(&self) -> Option<&SquaredUp> {
        self.checked.squared_up(self.shown_layout()?)
    }

    /// The machine that the open plan is cut on.
    pub fn machine(&self) -> Option<&Machine> {
        self.values().machine(self.open.sourced.cut.machine.as_deref())
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
            self.notice = Some("Nothing lies on this sheet: lay parts first".into());
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
                    LayAct::Tick(..) => "Tick off a point",
                    LayAct::Clamp(_) => "Move clamps",
                    _ => "Forget what was measured",
                };
                self.change(name, |open| change(&mut open.job_mut().cut.lays, &sheet, &act));
            }
        }
    }

    /// Moves what became short to the nearest clear place.
    fn snug_as_laid(&mut self, layout: usize) {
        let Some(s) = self.checked.squared_up(layout).cloned() else {
            self.notice = Some("The sheet is not squared up yet".into());
            return;
        };
        let snugged = snug_anew(&self.open, layout, &s);
        if snugged.moved.is_empty() && snugged.stuck.is_empty() {
            self.notice = Some("Nothing is short as laid".into());
            return;
        }
        let (moved, stuck) = (self.names(&snugged.moved), self.names(&snugged.stuck));
        if !snugged.moved.is_empty() {
            self.change(format!("Snug {moved} as laid"), |open| open.plan = snugged.plan);
        }
        if !snugged.stuck.is_empty() {
            self.notice = Some(format!("{stuck}: no clear place near, or locked"));
        }
    }

    /// Writes into the rack, and into the open job, how much surer edges are known.
    fn write_back(&mut self, layout: usize, stock: usize, sheet: String) {
        let edges = self.sharper(layout);
        if edges.is_empty() {
            self.notice = Some("No edge is known better by this: measure two corners of it".into());
            return;
        }
        if let Some(rack) = self.rack.as_mut().filter(|r| r.has(&sheet)) {
            rack.act(RackAct::Measure(sheet.clone(), edges.clone()));
        }
        self.change(format!("Know {} edges of {sheet} better", edges.len()), |open| {
            sharpen(&mut open.job_mut().job, stock, &edges);
        });
    }

    /// The edges that what was measured makes surer: contour, edge, give or take (mm).
    fn sharper(&self, layout: usize) -> Vec<(usize, usize, f64)> {
        let Some((judged, measured)) = judged(&self.open, layout) else { return Vec::new() };
        let Some(fit) = judged.relied_on() else { return Vec::new() };
        let sheet = &self.open.job().stock[self.open.plan.layouts[layout].stock].sheet;
        sharper(sheet, &measured, fit).iter().map(|s| (s.contour, s.edge, s.is)).collect()
    }
}
