//! Pieces of metal: an outer loop with holes.

use super::{Bounds, Edge, EdgeSet, Loop, Point, Pose, Space, Vector};

/// Circles whose middles differ by less (mm) are about one middle.
const SAME_MIDDLE: f64 = 1e-6;

/// An outer loop, counter-clockwise, and the holes in it, clockwise: metal lies to the left of
/// every edge.
#[derive(Clone, Debug, PartialEq)]
pub struct Region<S> {
    outer: Loop<S>,
    holes: Vec<Loop<S>>,
}

impl<S: Space> Region<S> {
    /// The region with this outline and these holes, each turned to run the right way. Whether the
    /// holes lie in the outline is for the caller to know.
    pub fn new(outer: Loop<S>, holes: Vec<Loop<S>>) -> Self {
        Self {
            outer: outer.directed(true),
            holes: holes.into_iter().map(|h| h.directed(false)).collect(),
        }
    }

    /// The outline, counter-clockwise.
    pub fn outer(&self) -> &Loop<S> {
        &self.outer
    }

    /// The holes, clockwise.
    pub fn holes(&self) -> &[Loop<S>] {
        &self.holes
    }

    /// The outline and then the holes.
    pub fn loops(&self) -> impl Iterator<Item = &Loop<S>> {
        std::iter::once(&self.outer).chain(&self.holes)
    }

    /// The middle that all edges of a disc or ring share; `None` where a turn about it changes something.
    pub fn round_about(&self) -> Option<Point<S>> {
        let middle_of = |e: Edge<S>| match e {
            Edge::Arc { centre, .. } => Some(centre),
            Edge::Line { .. } => None,
        };
        let first = self.outer.edges().next().and_then(middle_of)?;
        let mut edges = self.loops().flat_map(Loop::edges);
        edges
            .all(|e| middle_of(e).is_some_and(|m| m.distance(first) <= SAME_MIDDLE))
            .then_some(first)
    }

    /// Area of metal, mm².
    pub fn area(&self) -> f64 {
        self.loops().map(Loop::signed_area).sum()
    }

    /// Centre of area of the metal.
    pub fn centroid(&self) -> Point<S> {
        let base = self.outer.vertices()[0].point;
        let (mut area, mut moment) = (0.0, Vector::default());
        for l in self.loops() {
            let (a, m) = l.area_and_moment();
            area += a;
            moment += m + (l.vertices()[0].point - base) * a;
        }
        base + moment * (1.0 / area)
    }

    /// Length of all its edges, mm.
    pub fn perimeter(&self) -> f64 {
        self.loops().map(Loop::perimeter).sum()
    }

    /// The box around it.
    pub fn bounds(&self) -> Bounds<S> {
        self.outer.bounds()
    }

    /// Carried into another space.
    pub fn placed<T: Space>(&self, pose: &Pose<S, T>) -> Region<T> {
        Region::new(self.outer.placed(pose), self.holes.iter().map(|h| h.placed(pose)).collect())
    }

    /// The same numbers read in another space.
    pub fn reinterpret<T: Space>(&self) -> Region<T> {
        self.placed(&Pose::identity())
    }

    /// Whether `point` lies in the metal; not defined on an edge.
    pub fn contains(&self, point: Point<S>) -> bool {
        self.loops().map(|l| l.winding(point)).sum::<i32>() > 0
    }

    /// Its edges, made ready for measuring.
    pub fn edge_set(&self) -> EdgeSet<S> {
        EdgeSet::new(self.loops().map(|l| l.edges().collect()))
    }
}
