//! Parts as the search sees them: straight edges about a middle, and convex pieces.

use crate::part::{Part, Turning};
use crate::shape::{Edge, PartSpace, Point, Pose, SheetSpace, Vector};

use std::sync::OnceLock;

use super::field::{Field, Wall};
use super::laid::Pieces;
use super::limits::Limits;
use super::nofit::convex_pieces;
use super::simpler::{ENOUGH, simpler};

/// Cells along the longer side of a part's field.
const FIELD_CELLS: usize = 64;

/// Straight edges from which a contour counts as a curve drawn finely.
const FINELY: usize = 100;

/// A place for a figure: its middle and its turn.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Place {
    pub(super) x: f64,
    pub(super) y: f64,
    pub(super) turn: f64,
}

impl Place {
    /// A line of a figure that lies here.
    pub(super) fn line(&self, line: Line) -> Line {
        let (sin, cos) = self.turn.sin_cos();
        let out = |x: f64, y: f64| (self.x + x * cos - y * sin, self.y + x * sin + y * cos);
        let ((x0, y0), (x1, y1)) = (out(line[0], line[1]), out(line[2], line[3]));
        [x0, y0, x1, y1]
    }
}

/// The largest disc found in a figure.
#[derive(Clone, Copy, Debug)]
pub(super) struct Disc {
    pub(super) x: f64,
    pub(super) y: f64,
    pub(super) radius: f64,
}

/// A straight edge: from x, y to x, y.
pub(super) type Line = [f64; 4];

/// A part on one of its faces, about the middle of its box.
#[derive(Clone, Debug)]
pub(super) struct Figure {
    /// Which of the job's wanted parts.
    pub(super) part: usize,
    pub(super) flipped: bool,
    pub(super) edges: Vec<Line>,
    /// Its metal in convex pieces.
    pub(super) pieces: Pieces,
    disc: OnceLock<Disc>,
    /// Radius of the circle about the middle that holds it, mm.
    pub(super) radius: f64,
    /// Area of metal, mm².
    pub(super) area: f64,
    /// Greatest extent of its box, mm.
    pub(super) size: f64,
    /// Areas that its contours enclose, mm²: outline, then holes.
    pub(super) contours: Vec<f64>,
    /// Turns it may take.
    pub(super) turning: Turning,
    /// How far (mm) its edges may lie inside the true outline.
    pub(super) inset: f64,
    /// The middle, in the part's space after mirroring.
    middle: Vector,
}

impl Figure {
    /// The figure of a part, flipped or not, with its arcs as chords that leave them by at most
    /// `bound` mm. Holes of less than `least` mm², in which nothing can lie, count as metal.
    pub(super) fn new(
        index: usize,
        part: &Part,
        flipped: bool,
        sheet_grain: Option<f64>,
        bound: f64,
        least: f64,
    ) -> Self {
        let mirror = Pose::<PartSpace, PartSpace>::new(Vector::default(), 0.0, flipped);
        let region = part.region.placed(&mirror);
        let bounds = region.bounds();
        let middle = bounds.centre().to_vector();
        let mut edges = Vec::new();
        let mut inset = 0.0_f64;
        let holes = region.holes().iter().filter(|h| h.area() >= least);
        for l in std::iter::once(region.outer()).chain(holes) {
            let mut corners = Vec::new();
            let mut lines = 0;
            for edge in l.edges() {
                inset = f64::max(inset, curve_allowance(&edge, bound));
                lines += usize::from(matches!(edge, Edge::Line { .. }));
                chords(&edge, bound, |a, _| {
                    let a = a.to_vector() - middle;
                    corners.push([a.x, a.y]);
                });
            }
            let corners = if lines > FINELY { simpler(corners, ENOUGH) } else { corners };
            let ends = corners.iter().zip(corners.iter().cycle().skip(1));
            edges.extend(ends.map(|(a, b)| [a[0], a[1], b[0], b[1]]));
        }
        let radius = edges.iter().map(|e| e[0].hypot(e[1])).fold(0.0, f64::max);
        let pieces = Pieces::new(&convex_pieces(&edges));
        Self {
            part: index,
            flipped,
            edges,
            pieces,
            disc: OnceLock::new(),
            radius,
            area: region.area(),
            size: bounds.width().max(bounds.height()),
            contours: region.loops().map(|l| l.area()).collect(),
            turning: match part.turns(sheet_grain, flipped) {
                // To try more than one would be for nothing.
                Turning::Free if region.round_about().is_some() => Turning::none(),
                turning => turning,
            },
            inset,
            middle,
        }
    }

    /// The largest disc found in it; looked for when first asked for.
    pub(super) fn disc(&self) -> Disc {
        *self.disc.get_or_init(|| largest_disc(&self.edges))
    }

    /// Its box about the middle when turned.
    pub(super) fn limits(&self, turn: f64) -> Limits {
        let (sin, cos) = turn.sin_cos();
        let turned = |e: &Line| [e[0] * cos - e[1] * sin, e[0] * sin + e[1] * cos];
        Limits::around(&self.edges.iter().map(turned).collect::<Vec<_>>())
    }

    /// A point of its part, about its middle.
    pub(super) fn own(&self, p: Point<PartSpace>) -> [f64; 2] {
        let x = if self.flipped { -p.x } else { p.x };
        [x - self.middle.x, p.y - self.middle.y]
    }

    /// The part's pose when its figure lies at `place`.
    pub(super) fn pose(&self, place: Place) -> Pose<PartSpace, SheetSpace> {
        let turned = Pose::<PartSpace, SheetSpace>::new(Vector::default(), place.turn, false)
            .apply_vector(self.middle);
        Pose::new(Vector::new(place.x, place.y) - turned, place.turn, self.flipped)
    }

    /// The figure's place when its part lies at `pose`.
    pub(super) fn place(&self, pose: &Pose<PartSpace, SheetSpace>) -> Place {
        let turned = Pose::<PartSpace, SheetSpace>::new(Vector::default(), pose.turn, false)
            .apply_vector(self.middle);
        let at = pose.shift + turned;
        Place { x: at.x, y: at.y, turn: pose.turn }
    }
}

/// How far (mm) the edges of any of the figures may lie inside the true outline.
pub(super) fn deepest_inset(figures: &[Figure]) -> f64 {
    figures.iter().map(|f| f.inset).fold(0.0, f64::max)
}

/// The least area (mm²) that any of the parts' outlines encloses.
pub(super) fn smallest<'a>(parts: impl Iterator<Item = &'a Part>) -> f64 {
    parts.map(|p| p.region.outer().area()).fold(f64::INFINITY, f64::min)
}

/// How far (mm) beyond its chords within `bound` an edge may be drawn: an arc lies up to the bound
/// outside them, and much software draws arcs as cubic curves of up to a quarter turn, which lie a
/// little outside the arc again (2.73e-4 of the radius at a quarter, with the sixth power of the
/// angle: Goldapp 1991). Keeping clear of that too lets a plan measure clear there as well.
pub(super) fn curve_allowance<S: crate::shape::Space>(edge: &Edge<S>, bound: f64) -> f64 {
    let Edge::Arc { radius, sweep, .. } = edge else { return 0.0 };
    let quarters = sweep.abs() / std::f64::consts::FRAC_PI_2;
    let share = quarters / quarters.ceil();
    bound + 2.73e-4 * radius * share.powi(6)
}

/// Chords may leave arcs that bend into the solid on their left by so many times the bound: they
/// run outside the solid, and each costs it a convex piece.
const HOLLOW: f64 = 10.0;

/// The chords of an edge of a solid that lies to its left, each at most `bound` mm inside it, or a
/// few times as much outside.
pub(super) fn chords<S: crate::shape::Space>(
    edge: &Edge<S>,
    bound: f64,
    mut chord: impl FnMut(Point<S>, Point<S>),
) {
    let pieces = match *edge {
        Edge::Line { .. } => 1,
        Edge::Arc { radius, sweep, .. } => {
            let bound = if sweep < 0.0 { HOLLOW * bound } else { bound };
            let half = (1.0 - (bound / radius).min(1.0)).acos();
            (sweep.abs() / (2.0 * half).min(std::f64::consts::FRAC_PI_4)).ceil().max(1.0) as usize
        }
    };
    let mut from = edge.from();
    for i in 1..=pieces {
        let to = if i == pieces { edge.to() } else { edge.at(i as f64 / pieces as f64) };
        chord(from, to);
        from = to;
    }
}

/// The largest disc about a node of a grid over a figure.
fn largest_disc(edges: &[Line]) -> Disc {
    let wall = |e: &Line| Wall { from: [e[0], e[1]], to: [e[2], e[3]], keep: 0.0 };
    let walls: Vec<Wall> = edges.iter().map(wall).collect();
    let ends: Vec<[f64; 2]> = edges.iter().map(|e| [e[0], e[1]]).collect();
    let limits = Limits::around(&ends);
    let field = Field::new(&walls, limits.min, limits.max, FIELD_CELLS, false);
    let deepest = field.nodes().min_by(|a, b| a.1.total_cmp(&b.1));
    deepest.map_or(Disc { x: 0.0, y: 0.0, radius: 0.0 }, |([x, y], depth)| Disc {
        x,
        y,
        radius: (-depth).max(0.0),
    })
}
