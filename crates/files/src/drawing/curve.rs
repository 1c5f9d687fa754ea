//! Curves as files draw them, in the file's own units, and what blocks do to them.

use std::f64::consts::{PI, TAU};

use oddment_core::shape::{Bounds, Edge, Point, Space, Vector};

/// The coordinates and units of a file.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Drawn;

impl Space for Drawn {}

/// What one entity draws without lifting the pen.
#[derive(Clone, Debug)]
pub(super) struct Stroke {
    /// In order, each from where the last ended.
    pub(super) curves: Vec<Curve>,
    /// Index into the layers.
    pub(super) layer: usize,
    /// Whether it is drawn broken: dashed, dotted, a centre line.
    pub(super) dashed: bool,
}

impl Stroke {
    /// A box around it: exact for lines and arcs, from samples for the rest.
    pub(super) fn rough_bounds(&self) -> Bounds<Drawn> {
        self.curves.iter().map(Curve::rough_bounds).fold(Bounds::EMPTY, Bounds::union)
    }
}

/// One smooth curve.
#[derive(Clone, Debug)]
pub(super) enum Curve {
    /// A line or an arc of at most half a turn.
    Edge(Edge<Drawn>),
    /// `centre + u cos t + v sin t` for t from `start` to `start + sweep`; u and v need not be
    /// perpendicular.
    Ellipse { centre: Point<Drawn>, u: Vector, v: Vector, start: f64, sweep: f64 },
    /// A rational Bézier curve: control points with their weights.
    Bezier(Vec<(Point<Drawn>, f64)>),
}

impl Curve {
    /// Point and derivative at `t` from 0 to 1.
    pub(super) fn at(&self, t: f64) -> (Point<Drawn>, Vector) {
        match self {
            Self::Edge(edge) => (edge.at(t), edge.direction(t) * edge.length()),
            Self::Ellipse { centre, u, v, start, sweep } => {
                let (sin, cos) = (start + sweep * t).sin_cos();
                (*centre + *u * cos + *v * sin, (*v * cos - *u * sin) * *sweep)
            }
            Self::Bezier(points) => bezier_at(points, t),
        }
    }

    /// Carried along by `by`.
    pub(super) fn moved(&self, by: &Affine) -> Self {
        match self {
            Self::Edge(Edge::Line { from, to }) => {
                Self::Edge(Edge::Line { from: by.point(*from), to: by.point(*to) })
            }
            Self::Edge(edge @ Edge::Arc { from, to, centre, sweep, .. }) => {
                if by.keeps_circles() {
                    let bulge = edge.bulge() * by.determinant().signum();
                    return Self::Edge(Edge::new(by.point(*from), by.point(*to), bulge));
                }
                let radius = *from - *centre;
                Self::Ellipse {
                    centre: by.point(*centre),
                    u: by.vector(radius),
                    v: by.vector(radius.left()),
                    start: 0.0,
                    sweep: *sweep,
                }
            }
            Self::Ellipse { centre, u, v, start, sweep } => Self::Ellipse {
                centre: by.point(*centre),
                u: by.vector(*u),
                v: by.vector(*v),
                start: *start,
                sweep: *sweep,
            },
            Self::Bezier(points) => {
                Self::Bezier(points.iter().map(|(p, w)| (by.point(*p), *w)).collect())
            }
        }
    }

    fn rough_bounds(&self) -> Bounds<Drawn> {
        match self {
            Self::Edge(edge) => edge.bounds(),
            _ => Bounds::of((0..=16).map(|i| self.at(f64::from(i) / 16.0).0)),
        }
    }
}

/// The arc about `centre`, in edges of at most half a turn each.
pub(super) fn arc(centre: Point<Drawn>, radius: f64, start: f64, sweep: f64) -> Vec<Curve> {
    let count = if sweep.abs() > PI { 2 } else { 1 };
    let step = sweep / f64::from(count);
    let full = (sweep.abs() - TAU).abs() < 1e-12;
    let at = |i: u32| {
        let i = if full { i % count } else { i };
        centre + Vector::at_angle(start + step * f64::from(i)) * radius
    };
    (0..count)
        .map(|i| Curve::Edge(Edge::Arc { from: at(i), to: at(i + 1), centre, radius, sweep: step }))
        .collect()
}

/// The polyline through vertices with their bulges; edges of no length are dropped.
pub(super) fn polyline(vertices: &[(Point<Drawn>, f64)], closed: bool) -> Vec<Curve> {
    let count = if closed { vertices.len() } else { vertices.len().saturating_sub(1) };
    let mut curves = Vec::with_capacity(count);
    for i in 0..count {
        let ((from, bulge), (to, _)) = (vertices[i], vertices[(i + 1) % vertices.len()]);
        if from == to {
            continue;
        }
        match Edge::new(from, to, bulge) {
            Edge::Arc { centre, radius, sweep, .. } if sweep.abs() > PI => {
                curves.extend(arc(centre, radius, (from - centre).angle(), sweep));
            }
            edge => curves.push(Curve::Edge(edge)),
        }
    }
    curves
}

/// The highest degree of a spline that is read; no program writes a higher one.
pub(super) const HIGHEST_DEGREE: usize = 25;

/// De Casteljau's construction, with the weights carried as a third coordinate.
fn bezier_at(points: &[(Point<Drawn>, f64)], t: f64) -> (Point<Drawn>, Vector) {
    let mut work = [(Vector::default(), 1.0); HIGHEST_DEGREE + 1];
    for (w, (point, weight)) in work.iter_mut().zip(points) {
        *w = (point.to_vector() * *weight, *weight);
    }
    let degree = points.len().min(work.len()).saturating_sub(1);
    let mut before = [work[0]; 2];
    for left in (1..=degree).rev() {
        before = [work[0], work[1]];
        for i in 0..left {
            let ((a, wa), (b, wb)) = (work[i], work[i + 1]);
            work[i] = (a * (1.0 - t) + b * t, wa * (1.0 - t) + wb * t);
        }
    }
    let (sum, weight) = work[0];
    let point = sum * (1.0 / weight);
    let [(a, wa), (b, wb)] = before;
    let derivative = ((b - a) - point * (wb - wa)) * (degree as f64 / weight);
    (Point::origin() + point, derivative)
}

/// A linear map of the plane and a shift: what an inserted block does to its content.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Affine {
    /// Where the unit vector along x goes.
    pub(super) x: Vector,
    /// Where the unit vector along y goes.
    pub(super) y: Vector,
    /// Where the origin goes.
    pub(super) shift: Vector,
}

impl Affine {
    pub(super) const IDENTITY: Self =
        Self { x: Vector::new(1.0, 0.0), y: Vector::new(0.0, 1.0), shift: Vector::new(0.0, 0.0) };

    /// Mirrors x: what the extrusion (0, 0, −1) means for plane entities.
    pub(super) const MIRROR: Self =
        Self { x: Vector::new(-1.0, 0.0), y: Vector::new(0.0, 1.0), shift: Vector::new(0.0, 0.0) };

    pub(super) fn vector(&self, v: Vector) -> Vector {
        self.x * v.x + self.y * v.y
    }

    pub(super) fn point(&self, p: Point<Drawn>) -> Point<Drawn> {
        Point::origin() + self.vector(p.to_vector()) + self.shift
    }

    /// This map after `first`.
    pub(super) fn after(&self, first: &Self) -> Self {
        Self {
            x: self.vector(first.x),
            y: self.vector(first.y),
            shift: self.vector(first.shift) + self.shift,
        }
    }

    pub(super) fn determinant(&self) -> f64 {
        self.x.cross(self.y)
    }

    /// Whether circles stay circles: both axes scaled alike and still perpendicular.
    fn keeps_circles(&self) -> bool {
        let (x, y) = (self.x.length(), self.y.length());
        (x - y).abs() <= 1e-9 * x && self.x.dot(self.y).abs() <= 1e-9 * x * y
    }
}
