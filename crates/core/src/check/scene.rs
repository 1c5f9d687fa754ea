//! A sheet and what lies on it, made ready for measuring: by the check, and while a part is moved.

use super::{Party, RESOLUTION};
use crate::cutting::common::may_share;
use crate::distances::{Clearances, Obstacle, ObstacleKind, obstacles};
use crate::plan::{Job, Layout};
use crate::shape::{Bounds, EdgeSet, Gap, PartSpace, SheetSpace};

/// What a shape is measured to, and how far it is.
#[derive(Clone, Debug, PartialEq)]
pub struct Near {
    /// What it is.
    pub other: Party,
    /// The point on the shape and the one on the other, and their distance; minus the depth of the
    /// overlap where interiors meet.
    pub gap: Gap<SheetSpace>,
    /// What the rule asks for, mm.
    pub required: f64,
}

impl Near {
    /// Distance left over (mm), negative where it is short.
    pub fn spare(&self) -> f64 {
        self.gap.distance - self.required
    }
}

/// Of a scene what may be met in a part of it: see [`Scene::around`].
#[derive(Clone, Debug, Default)]
pub struct Around {
    obstacles: Vec<usize>,
    parts: Vec<usize>,
}

/// A sheet and what lies on it. Making one costs as much as a small check; measuring one part in
/// it costs next to nothing.
#[derive(Clone, Debug)]
pub struct Scene {
    obstacles: Vec<Obstacle>,
    laid: Vec<EdgeSet<SheetSpace>>,
    clearances: Clearances,
}

impl Scene {
    /// The scene of a layout whose sheet and parts are the job's.
    pub fn new(job: &Job, layout: &Layout) -> Self {
        let mut parts: Vec<Option<EdgeSet<PartSpace>>> = vec![None; job.wanted.len()];
        let laid = layout
            .placements
            .iter()
            .map(|p| {
                let part = &job.wanted[p.part].part;
                parts[p.part].get_or_insert_with(|| part.region.edge_set()).placed(&p.pose)
            })
            .collect();
        Self {
            obstacles: obstacles(&job.stock[layout.stock].sheet, &job.clearances),
            laid,
            clearances: job.clearances,
        }
    }

    /// The placed parts, in the layout's order.
    pub fn laid(&self) -> &[EdgeSet<SheetSpace>] {
        &self.laid
    }

    /// Lays the part at this place in the layout's list elsewhere.
    pub fn lay(&mut self, placed: usize, shape: EdgeSet<SheetSpace>) {
        self.laid[placed] = shape;
    }

    /// All that `shape` has less than `within` mm to spare to, the tightest first. Of the placed
    /// parts only those count that `counts` says: not the shape itself, nor what moves along.
    pub fn near(
        &self,
        shape: &EdgeSet<SheetSpace>,
        counts: impl Fn(usize) -> bool,
        within: f64,
    ) -> Vec<Near> {
        let parts = (0..self.laid.len()).filter(|i| counts(*i));
        collected(within, |note| self.visit(shape, parts, within, note))
    }

    /// All that a shape anywhere within `area` may have less than `within` mm to spare to, so that it
    /// need not be looked for among everything again and again. Placed parts count as for
    /// [`near`](Self::near).
    pub fn around(
        &self,
        area: Bounds<SheetSpace>,
        counts: impl Fn(usize) -> bool,
        within: f64,
    ) -> Around {
        let near = |bounds: Bounds<SheetSpace>, required: f64| {
            let reach = within + required + RESOLUTION;
            bounds.distance_squared(&area) <= reach * reach
        };
        let met = |obstacle: &Obstacle| {
            // What leaves only its inside free is met by whatever is not wholly inside.
            obstacle.solid.is_complement()
                || near(obstacle.solid.bounds(), 0.0)
                || obstacle.rims.iter().any(|(rim, required)| near(rim.bounds(), *required))
        };
        let part =
            |i: &usize| counts(*i) && near(self.laid[*i].bounds(), self.clearances.between_parts());
        Around {
            obstacles: (0..self.obstacles.len()).filter(|i| met(&self.obstacles[*i])).collect(),
            parts: (0..self.laid.len()).filter(part).collect(),
        }
    }

    /// As [`near`](Self::near), of what is `around` alone.
    pub fn near_of(&self, around: &Around, shape: &EdgeSet<SheetSpace>, within: f64) -> Vec<Near> {
        let obstacles = around.obstacles.iter().map(|i| &self.obstacles[*i]);
        let parts = around.parts.iter().copied();
        collected(within, |note| self.visit_of(obstacles, shape, parts, within, note))
    }

    /// What `shape` has least to spare to; placed parts count as for [`near`](Self::near).
    pub fn tightest(
        &self,
        shape: &EdgeSet<SheetSpace>,
        counts: impl Fn(usize) -> bool,
    ) -> Option<Near> {
        let mut tightest: Option<Near> = None;
        self.visit(shape, (0..self.laid.len()).filter(|i| counts(*i)), f64::INFINITY, |near| {
            if tightest.as_ref().is_none_or(|t| near.spare() < t.spare()) {
                tightest = Some(near);
            }
            tightest.as_ref().map_or(f64::INFINITY, Near::spare)
        });
        tightest
    }

    /// Measures `shape` to every obstacle and to the placed `parts`, passing over what has more
    /// than `most` mm to spare. `note` hears of the others and says what `most` is from then on.
    pub(super) fn visit(
        &self,
        shape: &EdgeSet<SheetSpace>,
        parts: impl Iterator<Item = usize>,
        most: f64,
        note: impl FnMut(Near) -> f64,
    ) {
        self.visit_of(self.obstacles.iter(), shape, parts, most, note);
    }

    fn visit_of<'a>(
        &self,
        obstacles: impl Iterator<Item = &'a Obstacle>,
        shape: &EdgeSet<SheetSpace>,
        parts: impl Iterator<Item = usize>,
        mut most: f64,
        mut note: impl FnMut(Near) -> f64,
    ) {
        for obstacle in obstacles {
            if let Some((gap, required)) = to_obstacle(shape, obstacle, most) {
                let other = match obstacle.kind {
                    ObstacleKind::Outside => Party::SheetEdge,
                    ObstacleKind::CutOut(n) => Party::CutOut(n, obstacle.middle),
                    ObstacleKind::NoGo(n) => Party::NoGo(n),
                };
                most = note(Near { other, gap, required });
            }
        }
        let usual = self.clearances.between_parts();
        for i in parts {
            // A touch more than the limit, so that what lies exactly at it is still measured.
            if let Some(gap) = shape.spare(&self.laid[i], usual + most + RESOLUTION) {
                let required = match self.clearances.common_cut() {
                    Some(kerf)
                        if (kerf - RESOLUTION..usual - RESOLUTION).contains(&gap.distance)
                            && may_share(shape, &self.laid[i], &self.clearances) =>
                    {
                        kerf
                    }
                    _ => usual,
                };
                most = note(Near { other: Party::Placed(i), gap, required });
            }
        }
    }
}

/// What a visit tells of that has less than `within` mm to spare, the tightest first.
fn collected(within: f64, visit: impl FnOnce(&mut dyn FnMut(Near) -> f64)) -> Vec<Near> {
    let mut found = Vec::new();
    visit(&mut |near| {
        if near.spare() < within {
            found.push(near);
        }
        within
    });
    found.sort_by(|a, b| a.spare().total_cmp(&b.spare()));
    found
}

/// The distance from a placed part to an obstacle with the least to spare, if under `most` (mm) to
/// spare; and what the rule asks for there.
pub fn to_obstacle(
    shape: &EdgeSet<SheetSpace>,
    obstacle: &Obstacle,
    most: f64,
) -> Option<(Gap<SheetSpace>, f64)> {
    let mut tightest: Option<(Gap<SheetSpace>, f64)> = None;
    for (rim, required) in &obstacle.rims {
        // At first a touch more than the limit, so that what lies exactly at it is still measured.
        let left = tightest.map_or(most + RESOLUTION, |(g, r)| g.distance - r);
        if let Some(gap) = shape.boundary_gap(rim, required + left) {
            tightest = Some((gap, *required));
        }
    }
    // The overlap is measured on the whole rim: a run of it alone has no inside.
    if let Some(gap) = shape.spare(&obstacle.solid, RESOLUTION)
        && gap.distance < 0.0
    {
        let required = tightest.map_or_else(
            || obstacle.rims.iter().map(|r| r.1).fold(0.0, f64::max),
            |(_, required)| required,
        );
        return Some((gap, required));
    }
    tightest
}
