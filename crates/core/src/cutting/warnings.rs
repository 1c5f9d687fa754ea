//! What a person should know of a cut, each at its place and moment.

use super::ContourNo;
use super::cut::{Pass, PassKind, narrowest};
use super::facts::CutFacts;
use super::legs::{Doing, Leg, Legs};
use super::routes::Routes;
use super::support::{Judged, Rest};
use crate::distances::{Obstacle, ObstacleKind, lead_obstacles};
use crate::plan::{Job, Layout};
use crate::shape::{Bounds, Edge, EdgeSet, Point, SheetSpace};

/// What is to be known.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Concern {
    /// The contour has no place to start.
    NoStart,
    /// The start a person chose does not lie in good waste metal.
    BadStart,
    /// The head would have to leave the bed.
    OutsideBed,
    /// The head comes into a no-go zone.
    InNoGo,
    /// The beam runs over an old cut-out or beyond the sheet's edge.
    OverNothing,
    /// The head, lifted, passes over a freed piece that may have tipped up.
    OverFreed,
    /// Inside the sensing distance of an old edge: lock the height here.
    LockHeight,
    /// The hole is too small for this thickness.
    SmallHole,
    /// Two contours of the part are nearer each other than metal of this thickness should be left.
    ThinWeb,
    /// The hole is narrower than the slot: nothing of it is cut.
    NothingToCut,
    /// The piece may tip up once free, and is not held by tabs.
    MayTip,
    /// The piece may fall between the slats once free, and is not held by tabs.
    FallsThrough,
    /// What is cut out of the hole may tip up, and is not held by tabs.
    SlugMayTip,
}

/// Something to be known, where and when.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Warning {
    /// What.
    pub concern: Concern,
    /// The part, by its place in the layout's list; `None` for the skeleton.
    pub placed: Option<usize>,
    /// Which of its contours.
    pub contour: ContourNo,
    /// Where.
    pub at: Point<SheetSpace>,
    /// Seconds from the start of the cut.
    pub seconds: f64,
}

/// Looks after a cut while it is put together.
pub(super) struct Watch<'a> {
    job: &'a Job,
    layout: &'a Layout,
    facts: &'a CutFacts,
    old: Vec<Obstacle>,
    told: Vec<Warning>,
}

impl<'a> Watch<'a> {
    pub(super) fn new(job: &'a Job, layout: &'a Layout, facts: &'a CutFacts) -> Self {
        let old = lead_obstacles(&job.stock[layout.stock].sheet, &job.clearances);
        Self { job, layout, facts, old, told: Vec::new() }
    }

    pub(super) fn bad_start(&mut self, placed: usize, contour: ContourNo, at: Point<SheetSpace>) {
        // Its moment is known once the pass is.
        self.told.push(Warning {
            concern: Concern::BadStart,
            placed: Some(placed),
            contour,
            at,
            seconds: f64::NAN,
        });
    }

    pub(super) fn nothing_to_cut(&mut self, placed: usize, contour: ContourNo, legs: &Legs<'_>) {
        let p = &self.layout.placements[placed];
        let hole = &self.job.wanted[p.part].part.region.holes()[contour.max(1) - 1];
        let at = p.pose.apply(hole.bounds().centre());
        let concern = Concern::NothingToCut;
        let (placed, seconds) = (Some(placed), legs.now());
        self.told.push(Warning { concern, placed, contour, at, seconds });
    }

    /// Looks at a pass that is about to be added, with its legs.
    pub(super) fn pass(&mut self, pass: &Pass, legs: &[Leg], routes: &Routes) {
        let Pass { placed, contour, .. } = *pass;
        let begins = legs.first().map_or(0.0, |l| l.begins);
        let first = pass.start.as_ref().map_or_else(|| pass.run[0].from(), |s| s.pierce);
        for known in &mut self.told {
            if known.seconds.is_nan() && (known.placed, known.contour) == (placed, contour) {
                known.seconds = begins;
            }
        }
        let cut_up_told = |concern: Concern, told: &[Warning]| {
            pass.kind == PassKind::CutUp
                && told.iter().any(|w| w.placed.is_none() && w.concern == concern)
        };
        let told = &mut self.told;
        let mut tell = |concern, at, seconds| {
            // The skeleton is cut up from edge to edge: that is said once.
            if !cut_up_told(concern, told) {
                told.push(Warning { concern, placed, contour, at, seconds });
            }
        };
        if pass.start.is_none() {
            tell(Concern::NoStart, first, begins);
        }
        let cuts = legs.iter().position(|l| l.doing == Doing::Cutting).unwrap_or(legs.len());
        let lifted = |l: &&Leg| l.doing == Doing::Moving { lifted: true };
        let (to_it, within) = legs.split_at(cuts);
        for (legs, in_slot) in [(to_it, false), (within, true)] {
            let mut over = legs.iter().filter(lifted);
            if let Some(over) = over.find_map(|l| routes.over_tipped(&l.edge, in_slot)) {
                tell(Concern::OverFreed, over, reached(legs, over));
            }
            // Where the head comes from at first nobody knows.
            let mut known = legs.iter().filter(lifted).filter(|l| l.begins > 0.0);
            if let Some(over) = known.find_map(|l| routes.over_standing(&l.edge)) {
                tell(Concern::InNoGo, over, reached(legs, over));
            }
        }
        let lead = pass.start.iter().flat_map(|s| &s.lead).copied();
        let run = EdgeSet::new([pass.run.clone()]);
        let beam: Vec<Edge<SheetSpace>> = lead.chain(pass.run.iter().copied()).collect();
        let bounds = beam.iter().map(Edge::bounds).fold(Bounds::EMPTY, Bounds::union);
        if !self.facts.machine.bed.reaches(&bounds, &self.facts.lies) {
            tell(Concern::OutsideBed, first, begins);
        }
        let in_part = placed.is_some();
        let from_edge = pass.start.as_ref().is_some_and(|s| s.from_edge);
        let beam = EdgeSet::new([beam]);
        for obstacle in &self.old {
            let no_go = matches!(obstacle.kind, ObstacleKind::NoGo(_));
            if in_part && !no_go && !from_edge && obstacle.solid.covers(first) {
                tell(Concern::OverNothing, first, begins);
                continue;
            }
            for (rim, least) in &obstacle.rims {
                let limit = if no_go { *least - 1e-3 } else { self.job.clearances.sensing };
                // A lead-in that comes in from an old edge is meant to cross it.
                let beam = if from_edge && !no_go { &run } else { &beam };
                if let Some(gap) = beam.boundary_gap(rim, limit) {
                    let crosses = in_part && gap.distance <= 0.0;
                    let concern = match (no_go, crosses) {
                        (true, _) => Concern::InNoGo,
                        (false, true) => Concern::OverNothing,
                        (false, false) if self.facts.senses => Concern::LockHeight,
                        (false, false) => continue,
                    };
                    tell(concern, gap.from, reached(legs, gap.from));
                }
            }
        }
        let Some(placed) = placed else { return };
        let p = &self.layout.placements[placed];
        let region = &self.job.wanted[p.part].part.region;
        if contour > 0 {
            if narrowest(&region.holes()[contour - 1]) < self.facts.least_hole {
                tell(Concern::SmallHole, first, begins);
            }
            let own = EdgeSet::new([region.holes()[contour - 1].edges().collect()]);
            for (n, other) in region.loops().enumerate() {
                if n < contour {
                    let other = EdgeSet::new([other.edges().collect()]);
                    if let Some(gap) = own.boundary_gap(&other, self.facts.least_web) {
                        tell(Concern::ThinWeb, p.pose.apply(gap.from), begins);
                    }
                }
            }
        }
    }

    /// A part is free from the end of these legs on, and held by no tab.
    pub(super) fn free(&mut self, placed: usize, rest: &Judged, legs: &[Leg]) {
        let p = &self.layout.placements[placed];
        let at = p.pose.apply(self.job.wanted[p.part].part.region.centroid());
        let seconds = legs.last().map_or(0.0, |l| l.begins + l.seconds);
        let concern = match rest.rest {
            Rest::Flat => return,
            Rest::MayTip => Concern::MayTip,
            Rest::FallsThrough => Concern::FallsThrough,
        };
        self.told.push(Warning { concern, placed: Some(placed), contour: 0, at, seconds });
    }

    /// A slug that may tip is free from the end of these legs on.
    pub(super) fn free_slug(&mut self, placed: usize, contour: ContourNo, legs: &[Leg]) {
        let p = &self.layout.placements[placed];
        let hole = &self.job.wanted[p.part].part.region.holes()[contour - 1];
        let at = p.pose.apply(hole.centroid());
        let seconds = legs.last().map_or(0.0, |l| l.begins + l.seconds);
        let concern = Concern::SlugMayTip;
        self.told.push(Warning { concern, placed: Some(placed), contour, at, seconds });
    }

    /// All that was found, in the order of time.
    pub(super) fn told(mut self) -> Vec<Warning> {
        self.told.sort_by(|a, b| a.seconds.total_cmp(&b.seconds));
        self.told
    }
}

/// When the head is nearest to a place.
fn reached(legs: &[Leg], at: Point<SheetSpace>) -> f64 {
    let off = |l: &&Leg| l.edge.nearest(at).distance(at);
    let nearest = legs.iter().min_by(|a, b| off(a).total_cmp(&off(b)));
    nearest.map_or(0.0, |l| l.begins + l.seconds * l.edge.share_at(l.edge.nearest(at)))
}
