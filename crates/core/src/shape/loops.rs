//! Closed chains of lines and arcs.

use std::f64::consts::TAU;

use super::{Bounds, Edge, Point, Pose, Space, Vector};

/// Edges shorter than this (mm) are dropped: no cutter and no drawing means them.
const SHORTEST_EDGE: f64 = 1e-9;

/// No loop reaches farther (mm) from the origin along x or y: micrometres would drown in rounding,
/// and flattening would need millions of points.
pub const FARTHEST: f64 = 1e9;

/// Where an edge starts, and how it bends on its way to the next vertex.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Vertex<S> {
    /// Start of the edge.
    pub point: Point<S>,
    /// tan(sweep / 4) of the edge that leaves here: 0 for a line, 1 for a counter-clockwise half
    /// circle, negative clockwise.
    pub bulge: f64,
}

/// Why some vertices make no loop.
#[derive(Clone, Copy, Debug, PartialEq, thiserror::Error)]
pub enum LoopFault {
    /// A coordinate or bulge is infinite or not a number.
    #[error("vertex {0} has a coordinate that is not a number")]
    NotFinite(usize),
    /// It reaches farther than [`FARTHEST`] from the origin.
    #[error("the contour reaches more than a thousand kilometres from the origin")]
    TooFar,
    /// Fewer than two edges once those without length are gone.
    #[error("a closed contour needs at least two edges with length")]
    TooFewEdges,
    /// It encloses nothing.
    #[error("the contour encloses no area")]
    NoArea,
}

/// A closed chain of lines and arcs with finite coordinates and some area.
#[derive(Clone, Debug, PartialEq)]
pub struct Loop<S> {
    vertices: Vec<Vertex<S>>,
}

impl<S: Space> Loop<S> {
    /// The closed loop through `vertices`; the last edge runs back to the first vertex. Edges
    /// without length are dropped.
    ///
    /// # Errors
    /// See [`LoopFault`]. Crossing itself is not looked for here.
    pub fn new(vertices: impl IntoIterator<Item = Vertex<S>>) -> Result<Self, LoopFault> {
        let mut kept: Vec<Vertex<S>> = Vec::new();
        for (i, vertex) in vertices.into_iter().enumerate() {
            if !vertex.point.is_finite() || !vertex.bulge.is_finite() {
                return Err(LoopFault::NotFinite(i));
            }
            match kept.last_mut() {
                Some(last) if last.point.distance(vertex.point) < SHORTEST_EDGE => *last = vertex,
                _ => kept.push(vertex),
            }
        }
        while kept.len() > 1 && kept[0].point.distance(kept[kept.len() - 1].point) < SHORTEST_EDGE {
            kept.pop();
        }
        if kept.len() < 2 || (kept.len() == 2 && kept.iter().all(|v| v.bulge == 0.0)) {
            return Err(LoopFault::TooFewEdges);
        }
        let made = Self { vertices: kept };
        let reach =
            Bounds { min: Point::new(-FARTHEST, -FARTHEST), max: Point::new(FARTHEST, FARTHEST) };
        if !reach.contains_bounds(&made.bounds()) {
            return Err(LoopFault::TooFar);
        }
        let area = made.signed_area();
        if !area.is_finite() || area.abs() < SHORTEST_EDGE * SHORTEST_EDGE {
            return Err(LoopFault::NoArea);
        }
        Ok(made)
    }

    /// The polygon through `points`.
    ///
    /// # Errors
    /// See [`LoopFault`].
    pub fn polygon(points: impl IntoIterator<Item = Point<S>>) -> Result<Self, LoopFault> {
        Self::new(points.into_iter().map(|point| Vertex { point, bulge: 0.0 }))
    }

    /// The axis-parallel rectangle between two corners, counter-clockwise.
    ///
    /// # Errors
    /// See [`LoopFault`].
    pub fn rectangle(min: Point<S>, max: Point<S>) -> Result<Self, LoopFault> {
        Self::polygon([min, Point::new(max.x, min.y), max, Point::new(min.x, max.y)])
    }

    /// The circle, counter-clockwise.
    ///
    /// # Errors
    /// [`LoopFault`] where the radius is not a positive number.
    pub fn circle(centre: Point<S>, radius: f64) -> Result<Self, LoopFault> {
        let right = Vector::new(radius, 0.0);
        Self::new([
            Vertex { point: centre + right, bulge: 1.0 },
            Vertex { point: centre - right, bulge: 1.0 },
        ])
    }

    /// Centre and radius (mm) where it is one whole circle, whatever pieces it was drawn in: all
    /// arcs within a tenth of a micrometre of it.
    pub fn as_circle(&self) -> Option<(Point<S>, f64)> {
        const SAME: f64 = 1e-4;
        let mut all = 0.0;
        let mut circle: Option<(Point<S>, f64)> = None;
        for edge in self.edges() {
            let Edge::Arc { centre, radius, sweep, .. } = edge else { return None };
            let (first, r) = *circle.get_or_insert((centre, radius));
            if first.distance(centre) > SAME || (r - radius).abs() > SAME {
                return None;
            }
            all += sweep;
        }
        circle.filter(|(_, r)| (all.abs() - TAU).abs() * r < SAME)
    }

    /// The vertices in order.
    pub fn vertices(&self) -> &[Vertex<S>] {
        &self.vertices
    }

    /// The edges in order; edge `i` leaves vertex `i`.
    pub fn edges(&self) -> impl ExactSizeIterator<Item = Edge<S>> + '_ {
        (0..self.vertices.len()).map(|i| {
            let next = &self.vertices[(i + 1) % self.vertices.len()];
            Edge::new(self.vertices[i].point, next.point, self.vertices[i].bulge)
        })
    }

    /// Area in mm², positive when the loop runs counter-clockwise.
    pub fn signed_area(&self) -> f64 {
        self.area_and_moment().0
    }

    /// Area in mm².
    pub fn area(&self) -> f64 {
        self.signed_area().abs()
    }

    /// Centre of area.
    pub fn centroid(&self) -> Point<S> {
        let (area, moment) = self.area_and_moment();
        self.vertices[0].point + moment * (1.0 / area)
    }

    /// Signed area, and its first moment about the first vertex (which keeps the numbers small
    /// for drawings far from the origin).
    pub(crate) fn area_and_moment(&self) -> (f64, Vector) {
        let base = self.vertices[0].point;
        let (mut area, mut moment) = (0.0, Vector::default());
        for edge in self.edges() {
            let (a, b) = (edge.from() - base, edge.to() - base);
            let triangle = a.cross(b) * 0.5;
            area += triangle;
            moment += (a + b) * (triangle / 3.0);
            if let Edge::Arc { centre, radius, sweep, .. } = edge {
                let segment = 0.5 * radius * radius * sweep_less_sine(sweep);
                let toward = edge.at(0.5) - centre;
                let lever = 2.0 / 3.0 * radius * radius * (sweep / 2.0).sin().powi(3);
                area += segment;
                moment += (centre - base) * segment + toward * lever;
            }
        }
        (area, moment)
    }

    /// Length all round in mm.
    pub fn perimeter(&self) -> f64 {
        self.edges().map(|e| e.length()).sum()
    }

    /// The box around it.
    pub fn bounds(&self) -> Bounds<S> {
        self.edges().map(|e| e.bounds()).fold(Bounds::EMPTY, Bounds::union)
    }

    /// Run the other way.
    pub fn reversed(&self) -> Self {
        let n = self.vertices.len();
        let vertices = (0..n)
            .rev()
            .map(|i| Vertex {
                point: self.vertices[(i + 1) % n].point,
                bulge: -self.vertices[i].bulge,
            })
            .collect();
        Self { vertices }
    }

    /// Running counter-clockwise, or clockwise where `ccw` is false.
    pub fn directed(self, ccw: bool) -> Self {
        if (self.signed_area() > 0.0) == ccw { self } else { self.reversed() }
    }

    /// Carried into another space. A mirror changes the direction of travel.
    pub fn placed<T: Space>(&self, pose: &Pose<S, T>) -> Loop<T> {
        let frame = pose.frame();
        let sign = if pose.flipped { -1.0 } else { 1.0 };
        let vertices = self
            .vertices
            .iter()
            .map(|v| Vertex { point: frame.point(v.point), bulge: v.bulge * sign })
            .collect();
        Loop { vertices }
    }

    /// The same numbers read in another space.
    pub fn reinterpret<T: Space>(&self) -> Loop<T> {
        self.placed(&Pose::identity())
    }

    /// How often it winds counter-clockwise round `point`; not defined on the loop itself.
    pub fn winding(&self, point: Point<S>) -> i32 {
        self.edges().map(|e| winding(&e, point)).sum()
    }

    /// Whether `point` lies in it, whichever way it runs; not defined on the loop itself.
    pub fn encloses(&self, point: Point<S>) -> bool {
        self.winding(point) != 0
    }
}

/// What one edge adds to the winding number round `point`: half-open crossings of the chord with
/// the ray to +x, and for an arc the segment of the disc between chord and arc. Where the point
/// lies exactly on a chord both use the same side, that of a point a hair to the right and up.
pub(super) fn winding<S: Space>(edge: &Edge<S>, point: Point<S>) -> i32 {
    let (from, to) = (edge.from(), edge.to());
    let chord = to - from;
    let side = {
        let exact = chord.cross(point - from);
        if exact != 0.0 {
            exact
        } else if chord.y != 0.0 {
            -chord.y
        } else {
            chord.x
        }
    };
    let mut turns = 0;
    if from.y <= point.y && to.y > point.y && side > 0.0 {
        turns = 1;
    } else if from.y > point.y && to.y <= point.y && side < 0.0 {
        turns = -1;
    }
    if let Edge::Arc { sweep, .. } = *edge
        && (side < 0.0) == (sweep > 0.0)
        && edge.beyond_circle(point) < 0.0
    {
        turns += if sweep > 0.0 { 1 } else { -1 };
    }
    turns
}

/// θ − sin θ without losing its digits near 0.
fn sweep_less_sine(sweep: f64) -> f64 {
    debug_assert!(sweep.abs() <= TAU + 1e-9);
    if sweep.abs() < 0.01 {
        let square = sweep * sweep;
        return sweep * square / 6.0 * (1.0 - square / 20.0 * (1.0 - square / 42.0));
    }
    sweep - sweep.sin()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::shape::PartSpace;

    #[track_caller]
    fn circle(vertices: &[(f64, f64, f64)], expected: Option<f64>) {
        let vertices = vertices.iter().map(|(x, y, bulge)| {
            let point = Point::<PartSpace>::new(*x, *y);
            Vertex { point, bulge: *bulge }
        });
        let found = Loop::new(vertices).unwrap().as_circle().map(|(_, radius)| radius);
        assert_eq!(found.is_some(), expected.is_some());
        assert!((found.unwrap_or(0.0) - expected.unwrap_or(0.0)).abs() < 1e-9, "{found:?}");
    }

    #[test]
    fn whole_circles_are_known_however_they_were_drawn() {
        let quarter = (TAU / 16.0).tan();
        circle(&[(5.0, 0.0, 1.0), (-5.0, 0.0, 1.0)], Some(5.0));
        circle(&[(5.0, 0.0, -1.0), (-5.0, 0.0, -1.0)], Some(5.0));
        circle(
            &[(3.0, 0.0, quarter), (0.0, 3.0, quarter), (-3.0, 0.0, quarter), (0.0, -3.0, quarter)],
            Some(3.0),
        );
        circle(&[(5.0, 0.0, 1.0), (-5.0, 0.0, 0.0)], None);
        circle(&[(5.0, 0.0, 1.0), (-5.0, 0.0, 0.9)], None);
        // A crescent: two arcs of one radius with the circle's ends, run there and back.
        circle(&[(5.0, 0.0, 1.0), (-5.0, 0.0, -0.5)], None);
    }
}
