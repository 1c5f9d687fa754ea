//! What a person should know of a cut, each at its place and moment.

use super::ContourNo;
use super::cut::{Pass, PassKind, narrowest};
use super::facts::CutFacts;
use super::legs::{Leg, Legs};
use super::support::{Judged, Rest};
use crate::distances::{Obstacle, ObstacleKind, lead_obstacles};
use crate::plan::{Job, Layout};
use crate::shape::{Bounds, Edge, EdgeSet, Point, Region, SheetSpace};

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
}

/// Something to be known, where and when.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Warning {
    /// What.
    pub concern: Concern,
    /// The part, by its place in the layout's list.
    pub placed: usize,
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
    outlines: Vec<EdgeSet<SheetSpace>>,
    freed: Vec<usize>,
    told: Vec<Warning>,
}

impl<'a> Watch<'a> {
    pub(super) fn new(
        job: &'a Job,
        layout: &'a Layout,
        facts: &'a CutFacts,
        regions: &[Region<SheetSpace>],
    ) -> Self {
        let old = lead_obstacles(&job.stock[layout.stock].sheet, &job.clearances);
        let outlines =
            regions.iter().map(|r| EdgeSet::new([r.outer().edges().collect()])).collect();
        Self { job, layout, facts, old, outlines, freed: Vec::new(), told: Vec::new() }
    }

    /// Whether a low straight move could catch on a freed part, an old cut-out or a clamp.
    pub(super) fn snags(&self, from: Point<SheetSpace>, to: Point<SheetSpace>) -> bool {
        let way = EdgeSet::new([vec![Edge::Line { from, to }]]);
        let crosses = |set: &EdgeSet<SheetSpace>| {
            way.boundary_gap(set, 1e-6).is_some() || set.covers(from) || set.covers(to)
        };
        self.freed.iter().any(|placed| crosses(&self.outlines[*placed]))
            || self.old.iter().any(|o| match o.kind {
                ObstacleKind::Outside => false,
                ObstacleKind::CutOut(_) => crosses(&o.solid),
                ObstacleKind::NoGo(_) => o.rims.iter().any(|(rim, least)| {
                    way.boundary_gap(rim, *least).is_some() || crosses(&o.solid)
                }),
            })
    }

    pub(super) fn bad_start(&mut self, placed: usize, contour: ContourNo, at: Point<SheetSpace>) {
        // Its moment is known once the pass is.
        self.told.push(Warning {
            concern: Concern::BadStart,
            placed,
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
        self.told.push(Warning { concern, placed, contour, at, seconds: legs.now() });
    }

    /// Looks at a pass that is about to be added, with its legs.
    pub(super) fn pass(&mut self, pass: &Pass, rest: &Judged, legs: &[Leg]) {
        let Pass { placed, contour, .. } = *pass;
        let begins = legs.first().map_or(0.0, |l| l.begins);
        let ends = legs.last().map_or(begins, |l| l.begins + l.seconds);
        let first = pass.start.as_ref().map_or_else(|| pass.run[0].from(), |s| s.pierce);
        for known in &mut self.told {
            if known.seconds.is_nan() && (known.placed, known.contour) == (placed, contour) {
                known.seconds = begins;
            }
        }
        let mut tell = |concern, at, seconds| {
            self.told.push(Warning { concern, placed, contour, at, seconds });
        };
        if pass.start.is_none() {
            tell(Concern::NoStart, first, begins);
        }
        let lead = pass.start.iter().flat_map(|s| &s.lead).copied();
        let way: Vec<Edge<SheetSpace>> = lead.chain(pass.run.iter().copied()).collect();
        let bounds = way.iter().map(Edge::bounds).fold(Bounds::EMPTY, Bounds::union);
        if !self.facts.machine.bed.reaches(&bounds, &self.facts.lies) {
            tell(Concern::OutsideBed, first, begins);
        }
        let way = EdgeSet::new([way]);
        for obstacle in &self.old {
            let no_go = matches!(obstacle.kind, ObstacleKind::NoGo(_));
            if !no_go && !self.facts.senses {
                continue;
            }
            for (rim, least) in &obstacle.rims {
                let limit = if no_go { *least - 1e-3 } else { self.job.clearances.sensing };
                if let Some(gap) = way.boundary_gap(rim, limit) {
                    let concern = if no_go { Concern::InNoGo } else { Concern::LockHeight };
                    tell(concern, gap.from, reached(legs, gap.from));
                }
            }
        }
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
        if pass.kind == PassKind::Outline && !pass.held {
            let at = p.pose.apply(region.centroid());
            match rest.rest {
                Rest::Flat => {}
                Rest::MayTip => tell(Concern::MayTip, at, ends),
                Rest::FallsThrough => tell(Concern::FallsThrough, at, ends),
            }
            self.freed.push(placed);
        }
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
