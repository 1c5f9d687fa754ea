//! A part made ready for asking where it fits: its edges and some discs in its metal, measured
//! from a pivot.
//!
//! A disc of radius ρ in the metal bounds what can be to spare: where the part lies clear with s
//! mm to spare, the disc's middle has room of at least s + ρ. Points of the outline are discs of
//! radius 0.

use crate::part::Part;
use crate::shape::{Edge, EdgeSet, PartSpace, Point, Pose, Region, SheetSpace, Vector};

/// Squares along the longer side of the part among which discs are looked for.
const SQUARES: usize = 48;

/// At most so many discs inside, and about so many points on the outline.
const DISCS: usize = 48;
const POINTS: usize = 160;

/// A disc of the part's metal.
#[derive(Clone, Copy, Debug)]
pub(super) struct Disc {
    /// Its middle, from the pivot.
    pub(super) at: Vector,
    /// Its radius, mm.
    pub(super) radius: f64,
    /// Distance of the middle from the pivot, mm.
    pub(super) arm: f64,
}

/// One face of a part, with the pivot at the origin.
#[derive(Debug)]
pub(super) struct Probe {
    /// From the part's drawing: mirrored where the other face is up, then shifted to the pivot.
    from_drawing: Pose<PartSpace, PartSpace>,
    shape: EdgeSet<PartSpace>,
    /// The farthest that any point of each edge lies from the pivot, mm.
    arms: Vec<f64>,
    /// The largest first; the points of the outline last.
    discs: Vec<Disc>,
    /// The farthest of all, mm.
    reach: f64,
    /// Whether turning changes nothing.
    round: bool,
}

impl Probe {
    /// The part with its drawn face up, or the other one.
    pub(super) fn new(part: &Part, flipped: bool) -> Self {
        let faced: Region<PartSpace> =
            part.region.placed(&Pose::new(Vector::default(), 0.0, flipped));
        let middle = faced.round_about();
        let inside = discs_in(&faced.edge_set());
        let widest = inside.first().map(|(p, _)| *p);
        let pivot = middle.or(widest).unwrap_or_else(|| faced.centroid());
        let to_pivot = -pivot.to_vector();
        let region: Region<PartSpace> = faced.placed(&Pose::shifted(to_pivot));
        let disc = |at: Vector, radius: f64| Disc { at, radius, arm: at.length() };
        let discs = inside
            .into_iter()
            .map(|(p, radius)| disc(p - pivot, radius))
            .chain(outline_points(&region).into_iter().map(|p| disc(p.to_vector(), 0.0)))
            .collect();
        let shape = region.edge_set();
        let arms: Vec<f64> = shape.edges().iter().map(arm).collect();
        Self {
            from_drawing: Pose::new(to_pivot, 0.0, flipped),
            reach: arms.iter().copied().fold(0.0, f64::max),
            arms,
            discs,
            shape,
            round: middle.is_some(),
        }
    }

    /// The pose of the part's drawing when the pivot lies at `at` and the part is turned.
    pub(super) fn pose(&self, at: Vector, turn: f64) -> Pose<PartSpace, SheetSpace> {
        Pose::new(at, turn, false).after(&self.from_drawing)
    }

    /// The part, its pivot at the origin.
    pub(super) fn shape(&self) -> &EdgeSet<PartSpace> {
        &self.shape
    }

    /// The farthest that any point of edge `n` lies from the pivot, mm.
    pub(super) fn arm(&self, n: usize) -> f64 {
        self.arms[n]
    }

    /// Discs in the metal, the largest first.
    pub(super) fn discs(&self) -> &[Disc] {
        &self.discs
    }

    /// The farthest that the part extends from the pivot, mm.
    pub(super) fn reach(&self) -> f64 {
        self.reach
    }

    /// Whether turning changes nothing: a disc or ring about the pivot.
    pub(super) fn is_round(&self) -> bool {
        self.round
    }
}

/// No less than the distance of any point of the edge from the origin: an arc lies in its circle,
/// and leaves its chord by no more than its height.
fn arm(edge: &Edge<PartSpace>) -> f64 {
    let o = Point::origin();
    let ends = edge.from().distance(o).max(edge.to().distance(o));
    match *edge {
        Edge::Line { .. } => ends,
        Edge::Arc { centre, radius, sweep, .. } => {
            let height = radius * (1.0 - (0.5 * sweep).cos());
            (ends + height).min(centre.distance(o) + radius)
        }
    }
}

/// Some discs in the metal that cover most of it, the largest first.
fn discs_in(shape: &EdgeSet<PartSpace>) -> Vec<(Point<PartSpace>, f64)> {
    let bounds = shape.bounds();
    let step = bounds.width().max(bounds.height()) / SQUARES as f64;
    let depth = |p: Point<PartSpace>| if shape.covers(p) { shape.distance_to(p) } else { 0.0 };
    let mut found: Vec<(Point<PartSpace>, f64)> = Vec::new();
    for row in 0..=(bounds.height() / step) as usize {
        for column in 0..=(bounds.width() / step) as usize {
            let off = Vector::new(column as f64 + 0.5, row as f64 + 0.5) * step;
            let p = bounds.min + off;
            let radius = depth(p);
            if radius > 0.0 {
                found.push((p, radius));
            }
        }
    }
    found.sort_by(|a, b| b.1.total_cmp(&a.1));
    let mut chosen: Vec<(Point<PartSpace>, f64)> = Vec::new();
    for (p, radius) in found {
        if chosen.len() == DISCS {
            break;
        }
        if chosen.iter().all(|(q, r)| p.distance(*q) > 0.6 * r) {
            chosen.push((p, radius));
        }
    }
    // The squares miss the true middle of the widest places by half a square: climb to it.
    for (p, radius) in chosen.iter_mut().take(DISCS / 4) {
        let mut stride = 0.5 * step;
        while stride > 1e-4 * step {
            let around = [(1.0, 0.0), (-1.0, 0.0), (0.0, 1.0), (0.0, -1.0)];
            let better = around
                .into_iter()
                .map(|(x, y)| *p + Vector::new(x, y) * stride)
                .map(|q| (q, depth(q)))
                .max_by(|a, b| a.1.total_cmp(&b.1))
                .filter(|(_, r)| *r > *radius);
            match better {
                Some((q, r)) => (*p, *radius) = (q, r),
                None => stride *= 0.5,
            }
        }
    }
    chosen.sort_by(|a, b| b.1.total_cmp(&a.1));
    chosen
}

/// Corners, and points between them, of the outline.
fn outline_points(region: &Region<PartSpace>) -> Vec<Point<PartSpace>> {
    let spacing = region.perimeter() / POINTS as f64;
    let mut since = f64::INFINITY;
    let mut points = Vec::new();
    for edge in region.loops().flat_map(|l| l.edges()) {
        let pieces = (edge.length() / spacing).ceil().max(1.0) as usize;
        for i in 0..pieces {
            // Where short edges stand for a curve, not every corner of it is wanted.
            if since >= 0.5 * spacing {
                points.push(edge.at(i as f64 / pieces as f64));
                since = 0.0;
            }
            since += edge.length() / pieces as f64;
        }
    }
    points
}
