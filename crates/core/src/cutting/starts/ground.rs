//! Whether a start is clear of everything around it.

use super::Start;
use crate::check::{RESOLUTION, Scene};
use crate::distances::{Clearances, Obstacle, ObstacleKind, StartRule, lead_obstacles};
use crate::plan::{Job, Layout};
use crate::shape::{Bounds, EdgeSet, Point, SheetSpace};

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
        let reach =
            4.0 * rule.lead.max(rule.least_lead) + 2.0 * rule.pierce + 4.0 * job.clearances.kerf;
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
        let Start { pierce, lead } = start;
        let lead = EdgeSet::new([lead.clone()]);
        let least = self.rule.pierce - RESOLUTION;
        let apart = (self.clearances.lead_to_part() - RESOLUTION).max(RESOLUTION);
        self.around[placed].iter().all(|other| {
            let other = &self.laid[*other];
            far(other.bounds(), *pierce, &lead, least.max(apart))
                || (!other.covers(*pierce)
                    && other.distance_to(*pierce) >= least
                    && other.boundary_gap(&lead, apart).is_none())
        }) && self.obstacles.iter().all(|o| self.clear_of(o, *pierce, &lead))
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
