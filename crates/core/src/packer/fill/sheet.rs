//! One sheet to fill: searches side by side, and the best of what they find.

use fastrand::Rng;
use rayon::prelude::*;

use super::super::figure::{Figure, smallest};
use super::super::ground::Ground;
use super::super::leads::Leads;
use super::super::patterns::Patterns;
use super::super::scene::{Item, Scene, Setting};
use super::super::{ARC_BOUND, LANES};
use super::WORTH_OF_SQUARE;
use super::lane::Lane;
use crate::cutting::starts::Offered;
use crate::fit::Bulk;
use crate::job::Budget;
use crate::plan::{Job, Layout, Placement};

/// Overlaps up to this (mm) count as touching: less than the check forgives.
const TOUCH: f64 = 2e-4;

/// Relocations that a lane does between two meetings with the others.
const ROUND: u64 = 60;

/// What all sheets of one stock share: the setting, for each part its figures, one for each face it
/// may lie on, and the starts that parts allow.
#[derive(Debug)]
pub(super) struct Ready<'a> {
    /// Which of the job's stock.
    pub(super) stock: usize,
    pub(super) setting: Setting,
    pub(super) faces: Vec<Vec<usize>>,
    /// Whether a part is small enough for a piece of the sheet.
    pub(super) goes: Vec<bool>,
    pub(super) offered: Option<&'a Offered<'a>>,
}

impl<'a> Ready<'a> {
    /// `turns` are those of locked parts.
    pub(super) fn new(
        job: &Job,
        stock: usize,
        offered: Option<&'a Offered<'a>>,
        turns: &[f64],
        patterns: &Patterns,
    ) -> Self {
        let sheet = &job.stock[stock].sheet;
        let mut figures: Vec<Figure> = Vec::new();
        let least = smallest(job.wanted.iter().map(|w| &w.part));
        let mut faces = Vec::with_capacity(job.wanted.len());
        for (i, wanted) in job.wanted.iter().enumerate() {
            let first = figures.len();
            let made = wanted.part.faces().iter().map(|flipped| {
                Figure::new(i, &wanted.part, *flipped, sheet.grain, ARC_BOUND, least)
            });
            figures.extend(made);
            faces.push((first..figures.len()).collect());
        }
        let goes = job.wanted.iter().map(|wanted| {
            let bulk = Bulk::of(&wanted.part);
            sheet.bodies.iter().any(|b| bulk.goes_into(b.outer.shape()))
        });
        let goes = goes.collect();
        let clearances = &job.clearances;
        let touch = TOUCH.min(1e-6 * sheet.bounds().width());
        let ground = Ground::new(sheet, clearances, ARC_BOUND, &figures, touch);
        let leads = offered.map(|offered| {
            let reach = figures.iter().map(|f| 2.0 * f.radius).fold(0.0, f64::max)
                + 4.0 * offered.rule().lead.max(offered.rule().least_lead);
            let ground = Ground::for_leads(sheet, clearances, ARC_BOUND, reach);
            Leads::new(&figures, ground, offered, clearances, least)
        });
        let gap = clearances.between_parts();
        let mut setting = Setting::new(figures, ground, gap, touch, turns);
        setting.leads = leads;
        setting.patterns = patterns.clone();
        Self { stock, setting, faces, goes, offered }
    }
}

/// One sheet to fill.
pub(super) struct SheetFill<'a> {
    pub(super) job: &'a Job,
    pub(super) ready: &'a Ready<'a>,
    /// What is locked on it.
    pub(super) layout: &'a Layout,
    /// How many of each part are still to place.
    pub(super) left: &'a [usize],
    /// Whether no other sheet could take what does not go on this one.
    pub(super) alone: bool,
    /// How long to search; with 0 only what fits at once is laid.
    pub(super) care: u32,
    pub(super) seed: u64,
}

pub(super) struct Filled {
    pub(super) placements: Vec<Placement>,
    pub(super) steps: u64,
}

impl SheetFill<'_> {
    pub(super) fn run(
        &self,
        budget: &Budget<'_>,
        before: u64,
        better: &mut (dyn FnMut(Vec<Placement>, u64) + Send),
    ) -> Filled {
        let mut rng = Rng::with_seed(self.seed);
        let mut lanes: Vec<Lane<'_>> =
            (0..LANES).map(|k| Lane::new(self, k, Rng::with_seed(rng.u64(..)))).collect();
        let mut best = Kept::default();
        loop {
            let round = if self.care == 0 { 1 } else { ROUND };
            lanes.par_iter_mut().for_each(|lane| lane.run(round, &budget.stop));
            let steps = lanes.iter().map(|l| l.steps).sum();
            let mut improved = false;
            for lane in &lanes {
                if lane.kept.is_better_than(&best) {
                    best = lane.kept.clone();
                    improved = true;
                }
            }
            if improved {
                better(self.placements(&best), steps);
            }
            for lane in &mut lanes {
                lane.meet(&best);
            }
            if self.care == 0 || budget.spent(before + steps) || lanes.iter().all(|l| l.done) {
                return Filled { placements: self.placements(&best), steps };
            }
        }
    }

    fn placements(&self, kept: &Kept) -> Vec<Placement> {
        let setting = &self.ready.setting;
        let new = kept.items.iter().filter(|i| !i.fixed);
        let new = new.map(|item| setting.drawn_in(item).placement(setting));
        self.layout.placements.iter().copied().chain(new).collect()
    }
}

/// A clear layout and what it is worth.
#[derive(Clone, Debug, Default)]
pub(super) struct Kept {
    pub(super) items: Vec<Item>,
    /// Area placed, mm².
    pub(super) area: f64,
    /// How far right the parts reach, mm; counts only among equal areas.
    pub(super) reach: f64,
    /// Parts that could lie square to the sheet and do not; as reach.
    pub(super) odd: usize,
}

impl Kept {
    pub(super) fn of(scene: &Scene<'_>) -> Self {
        let free = || scene.items.iter().filter(|i| !i.fixed);
        Self {
            items: scene.items.clone(),
            area: free().map(|i| scene.setting.figures[i.figure].area).sum(),
            reach: free().map(|i| i.limits.max[0]).fold(f64::NEG_INFINITY, f64::max),
            odd: (0..scene.items.len()).filter(|i| scene.is_at_odd_angle(*i)).count(),
        }
    }

    pub(super) fn is_better_than(&self, other: &Self) -> bool {
        let margin = 1e-9 * self.area.max(other.area);
        self.area > other.area + margin
            || (self.area > other.area - margin && self.length() < other.length() - 1e-6)
    }

    /// How far right the parts may reach (mm) where all lie square, to be worth as much.
    pub(super) fn length(&self) -> f64 {
        self.reach + WORTH_OF_SQUARE * self.odd as f64
    }
}
