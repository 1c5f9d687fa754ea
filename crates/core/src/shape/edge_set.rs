//! A shape's edges made ready for measuring: boxes around runs of edges, so that most pairs are
//! dismissed without looking at them.

use super::distance::{TOUCH, deepest, edge_gap};
use super::loops::winding;
use super::{Bounds, Edge, Gap, Point, Pose, Space};

/// Edges per box: few enough to be selective, enough to halve the work of looking at boxes.
const RUN: usize = 8;

/// The boundary of a plane shape: of a region, of the cut-out a loop leaves, or of all that lies
/// outside a loop. The shape lies where the edges wind round at least once, or, for a complement,
/// where they do not.
#[derive(Clone, Debug)]
pub struct EdgeSet<S> {
    edges: Vec<Edge<S>>,
    boxes: Vec<Bounds<S>>,
    runs: Vec<Bounds<S>>,
    loop_starts: Vec<usize>,
    bounds: Bounds<S>,
    complement: bool,
}

impl<S: Space> EdgeSet<S> {
    /// The shape to the left of these closed loops.
    pub fn new(loops: impl IntoIterator<Item = Vec<Edge<S>>>) -> Self {
        let (mut edges, mut loop_starts) = (Vec::new(), Vec::new());
        for l in loops {
            loop_starts.push(edges.len());
            edges.extend(l);
        }
        Self::with_edges(edges, loop_starts, false)
    }

    fn with_edges(edges: Vec<Edge<S>>, loop_starts: Vec<usize>, complement: bool) -> Self {
        let boxes: Vec<_> = edges.iter().map(Edge::bounds).collect();
        let runs: Vec<_> = boxes
            .chunks(RUN)
            .map(|run| run.iter().copied().fold(Bounds::EMPTY, Bounds::union))
            .collect();
        let bounds = runs.iter().copied().fold(Bounds::EMPTY, Bounds::union);
        Self { edges, boxes, runs, loop_starts, bounds, complement }
    }

    /// All of the plane that the shape leaves free.
    pub fn complement(self) -> Self {
        Self { complement: !self.complement, ..self }
    }

    /// Whether the shape is all that its edges do not enclose.
    pub fn is_complement(&self) -> bool {
        self.complement
    }

    /// Carried into another space.
    pub fn placed<T: Space>(&self, pose: &Pose<S, T>) -> EdgeSet<T> {
        let frame = pose.frame();
        let edges = self.edges.iter().map(|e| e.carried(&frame)).collect();
        EdgeSet::with_edges(edges, self.loop_starts.clone(), self.complement)
    }

    /// The edges.
    pub fn edges(&self) -> &[Edge<S>] {
        &self.edges
    }

    /// The box around each edge.
    pub(super) fn boxes(&self) -> &[Bounds<S>] {
        &self.boxes
    }

    /// The edges of each loop.
    pub(crate) fn loops(&self) -> impl Iterator<Item = &[Edge<S>]> {
        let ends = self.loop_starts.iter().skip(1).copied().chain([self.edges.len()]);
        self.loop_starts.iter().zip(ends).map(|(start, end)| &self.edges[*start..end])
    }

    /// The box around all edges.
    pub fn bounds(&self) -> Bounds<S> {
        self.bounds
    }

    /// Whether the shape covers `point`; not defined on an edge.
    pub fn covers(&self, point: Point<S>) -> bool {
        let enclosed = self.bounds.contains(point)
            && self.edges.iter().map(|e| winding(e, point)).sum::<i32>() != 0;
        enclosed != self.complement
    }

    /// Whether the two boxes make it impossible that the shapes share any point.
    pub(super) fn surely_apart(&self, other: &Self) -> bool {
        match (self.complement, other.complement) {
            (false, false) => self.bounds.distance_squared(&other.bounds) > 0.0,
            _ => false,
        }
    }

    /// The distance from `point` to the nearest edge, mm; infinite without edges.
    pub fn distance_to(&self, point: Point<S>) -> f64 {
        let spot = Bounds { min: point, max: point };
        let mut best = f64::INFINITY;
        for (r, run) in self.runs.iter().enumerate() {
            if run.distance_squared(&spot) >= best * best {
                continue;
            }
            let range = r * RUN..((r + 1) * RUN).min(self.edges.len());
            for edge in &self.edges[range] {
                best = best.min(edge.nearest(point).distance(point));
            }
        }
        best
    }

    /// The two boundaries' nearest points, if nearer than `limit` mm; distance 0 where they meet.
    pub fn boundary_gap(&self, other: &Self, limit: f64) -> Option<Gap<S>> {
        let mut best = None;
        let mut within = limit.max(0.0);
        if self.bounds.distance_squared(&other.bounds) >= within * within {
            return None;
        }
        for (i, run) in self.runs.iter().enumerate() {
            if run.distance_squared(&other.bounds) >= within * within {
                continue;
            }
            for (j, other_run) in other.runs.iter().enumerate() {
                if run.distance_squared(other_run) >= within * within {
                    continue;
                }
                for a in i * RUN..((i + 1) * RUN).min(self.edges.len()) {
                    if self.boxes[a].distance_squared(other_run) >= within * within {
                        continue;
                    }
                    for b in j * RUN..((j + 1) * RUN).min(other.edges.len()) {
                        if self.boxes[a].distance_squared(&other.boxes[b]) >= within * within {
                            continue;
                        }
                        let gap = edge_gap(&self.edges[a], &other.edges[b]);
                        if gap.distance < within {
                            within = gap.distance;
                            best = Some(gap);
                            if within == 0.0 {
                                return best;
                            }
                        }
                    }
                }
            }
        }
        best
    }

    /// The room between two shapes if it is less than `limit` mm: their distance, or minus the
    /// depth of the overlap when their interiors meet.
    pub fn spare(&self, other: &Self, limit: f64) -> Option<Gap<S>> {
        if self.surely_apart(other) {
            return self.boundary_gap(other, limit);
        }
        // Whether the boundaries touch matters for the overlap, however low the limit.
        let gap = self.boundary_gap(other, limit.max(2.0 * TOUCH));
        deepest(self, other, gap).or(gap).filter(|g| g.distance < limit)
    }
}
