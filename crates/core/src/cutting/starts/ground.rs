//! Whether a start is clear of everything around it.

use super::Start;
use crate::check::{RESOLUTION, Scene};
use crate::distances::{Clearances, Obstacle, ObstacleKind, StartRule, lead_obstacles};
use crate::plan::{Job, Layout};
use crate::shape::{Bounds, Edge, EdgeSet, Point, SheetSpace, crossings};

/// No lead-in from an old edge is longer, mm: beyond that a pierce is the smaller thing.
const LONGEST_FROM_EDGE: f64 = 20.0;
/// The beam starts so far (mm) beside the metal, beyond what the old edge may be off.
const BESIDE: f64 = 1.0;

/// What lies around starts on one sheet: its old edges, its no-go zones, the placed parts.
#[derive(Clone, Debug)]
pub struct Ground {
    obstacles: Vec<Obstacle>,
    laid: Vec<EdgeSet<SheetSpace>>,
    around: Vec<Vec<usize>>,
    clearances: Clearances,
    rule: StartRule,
}

impl Ground {
    /// The ground of a layout whose sheet and parts are the job's; `scene` is of the same layout.
    pub fn new(job: &Job, layout: &Layout, rule: &StartRule, scene: &Scene) -> Self {
        let laid = scene.laid().to_vec();
        // No start reaches farther from its part than twice its lead-in and what must be clear.
        let lead = 2.0 * rule.lead.max(rule.least_lead);
        let lead = if rule.from_edge { lead.max(LONGEST_FROM_EDGE) } else { lead };
        let reach = 2.0 * lead + 2.0 * rule.pierce + 4.0 * job.clearances.kerf;
        let near = |a: usize, b: usize| {
            laid[a].bounds().distance_squared(&laid[b].bounds()) <= reach * reach
        };
        let around = (0..laid.len())
            .map(|i| (0..laid.len()).filter(|j| *j != i && near(i, *j)).collect())
            .collect();
        let sheet = &job.stock[layout.stock].sheet;
        let obstacles = lead_obstacles(sheet, &job.clearances);
        Self { obstacles, laid, around, clearances: job.clearances, rule: *rule }
    }

    /// The placed parts so near to one that its starts could meet them or theirs.
    pub fn around(&self, placed: usize) -> &[usize] {
        &self.around[placed]
    }

    /// Whether a start of the part at `placed` keeps its distances to old edges, no-go zones and
    /// the other parts. What it keeps from its own part does not depend on where that lies.
    pub fn allows(&self, start: &Start<SheetSpace>, placed: usize) -> bool {
        let lead = EdgeSet::new([start.lead.clone()]);
        self.clear_of_parts(start.pierce, &lead, placed, self.rule.pierce)
            && self.obstacles.iter().all(|o| self.clear_of(o, start.pierce, &lead))
    }

    /// Whether a start keeps off the parts round its own, its pierce by `least` mm.
    fn clear_of_parts(
        &self,
        pierce: Point<SheetSpace>,
        lead: &EdgeSet<SheetSpace>,
        placed: usize,
        least: f64,
    ) -> bool {
        let least = least - RESOLUTION;
        let apart = (self.clearances.lead_to_part() - RESOLUTION).max(RESOLUTION);
        self.around[placed].iter().all(|other| {
            let other = &self.laid[*other];
            far(other.bounds(), pierce, lead, least.max(apart))
                || (!other.covers(pierce)
                    && other.distance_to(pierce) >= least
                    && other.boundary_gap(lead, apart).is_none())
        })
    }

    /// Whether outlines may start from old edges, and one is so near to the part at `placed` that a
    /// lead-in could come from it.
    pub fn has_edges_near(&self, placed: usize) -> bool {
        let bounds = self.laid[placed].bounds().grown(LONGEST_FROM_EDGE);
        let near = |edge: &Edge<SheetSpace>| edge.bounds().distance_squared(&bounds) <= 0.0;
        self.rule.from_edge && self.old().flat_map(|o| o.solid.edges()).any(near)
    }

    /// The start of a part at `placed` with the same lead-in, a straight one, begun beside the metal: as
    /// far back as the nearest old edge takes, and a little more. `None` where none lies near enough
    /// behind it, or something else is in the way.
    pub fn from_edge(&self, start: &Start<SheetSpace>, placed: usize) -> Option<Start<SheetSpace>> {
        let [Edge::Line { from, to }] = start.lead[..] else { return None };
        let back = (from - to).unit()?;
        let ray = Edge::Line { from: to, to: to + back * LONGEST_FROM_EDGE };
        let meets = self.old().flat_map(|o| {
            let edges =
                o.rims.iter().flat_map(|(rim, least)| rim.edges().iter().map(|e| (e, *least)));
            edges.flat_map(|(e, least)| {
                crossings(&ray, e).into_iter().flatten().map(move |at| (at, least))
            })
        });
        let off = |at: &Point<SheetSpace>| at.distance(to);
        let (edge, least) = meets.min_by(|a, b| off(&a.0).total_cmp(&off(&b.0)))?;
        let pierce = edge + back * (least + BESIDE);
        if off(&pierce) > LONGEST_FROM_EDGE {
            return None;
        }
        let whole = Edge::Line { from: pierce, to };
        // Up to the old edge and a little into the metal the lead-in is near that; from there on it runs
        // in metal like any other.
        let inner = edge - back * (2.0 * least).min(off(&edge));
        let inner = EdgeSet::new([vec![Edge::Line { from: inner, to }]]);
        let lead = EdgeSet::new([vec![whole]]);
        let old_edges_allow = self.old().all(|o| {
            let off_rims = |(rim, least): &(EdgeSet<SheetSpace>, f64)| {
                rim.distance_to(pierce) >= least - RESOLUTION
                    && rim.boundary_gap(&inner, (least - RESOLUTION).max(RESOLUTION)).is_none()
            };
            o.rims.iter().all(off_rims)
        });
        let no_go_allows = self
            .obstacles
            .iter()
            .filter(|o| matches!(o.kind, ObstacleKind::NoGo(_)))
            .all(|o| self.clear_of(o, pierce, &lead));
        let begins_beside = self.old().any(|o| o.solid.covers(pierce));
        // Its end touches its own part's slot.
        let own = EdgeSet::new([vec![whole.between(0.0, 1.0 - 2.0 * RESOLUTION / whole.length())]]);
        let beam = (self.clearances.beam() - RESOLUTION).max(0.1 * RESOLUTION);
        let own_allows = self.laid[placed].boundary_gap(&own, beam).is_none();
        let clear = begins_beside
            && own_allows
            && old_edges_allow
            && no_go_allows
            && self.clear_of_parts(pierce, &lead, placed, 0.0);
        clear.then(|| Start { pierce, lead: vec![whole], from_edge: true })
    }

    /// Old edges: of the sheet, and of its cut-outs.
    fn old(&self) -> impl Iterator<Item = &Obstacle> {
        self.obstacles.iter().filter(|o| !matches!(o.kind, ObstacleKind::NoGo(_)))
    }

    fn clear_of(
        &self,
        obstacle: &Obstacle,
        pierce: Point<SheetSpace>,
        lead: &EdgeSet<SheetSpace>,
    ) -> bool {
        // A pierce keeps as much more than its lead-in from every old edge.
        let more = match obstacle.kind {
            ObstacleKind::NoGo(_) => 0.0,
            ObstacleKind::Outside | ObstacleKind::CutOut(_) => {
                let to_edge = self.rule.pierce_to_old_edge(&self.clearances, 0.0);
                (to_edge - self.clearances.lead_to_old_edge(0.0)).max(0.0)
            }
        };
        let widest = obstacle.rims.iter().map(|r| r.1).fold(0.0, f64::max) + more;
        if !obstacle.solid.is_complement() && far(obstacle.solid.bounds(), pierce, lead, widest) {
            return true;
        }
        !obstacle.solid.covers(pierce)
            && obstacle.rims.iter().all(|(rim, required)| {
                rim.distance_to(pierce) >= required + more - RESOLUTION
                    && rim.boundary_gap(lead, (required - RESOLUTION).max(RESOLUTION)).is_none()
            })
    }

    /// Whether two starts are out of each other's way: no pierce beside the other's slot.
    pub fn apart(&self, a: &Start<SheetSpace>, b: &Start<SheetSpace>) -> bool {
        let least = self.clearances.between_leads();
        let bounds = |start: &Start<SheetSpace>| {
            start.lead.iter().map(Edge::bounds).fold(Bounds::EMPTY, Bounds::union)
        };
        if bounds(a).distance_squared(&bounds(b)) >= least * least {
            return true;
        }
        let [lead_a, lead_b] = [a, b].map(|s| EdgeSet::new([s.lead.clone()]));
        lead_a.boundary_gap(&lead_b, least).is_none()
    }
}

/// Whether nothing of a start lies within `limit` mm of a box.
fn far(
    bounds: Bounds<SheetSpace>,
    pierce: Point<SheetSpace>,
    lead: &EdgeSet<SheetSpace>,
    limit: f64,
) -> bool {
    lead.bounds().with(pierce).distance_squared(&bounds) > limit * limit
}
