//! Parts as the search sees them: straight edges about a middle, a distance field, and discs that
//! fill the part.

use crate::part::{Part, Turning};
use crate::shape::{Edge, PartSpace, Point, Pose, SheetSpace, Vector};

use super::collide::{Limits, turns_round};
use super::field::{Field, Wall};

/// Cells along the longer side of a part's field.
const FIELD_CELLS: usize = 64;

/// Most discs and corner points that stand for a part.
const MOST_DISCS: usize = 14;
const MOST_POINTS: usize = 18;

/// A place for a figure: its middle and its turn.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Place {
    pub(super) x: f64,
    pub(super) y: f64,
    pub(super) turn: f64,
}

/// A disc (or, with radius 0, a point) of a figure; the search counts how deep it lies in others.
#[derive(Clone, Copy, Debug)]
pub(super) struct Disc {
    pub(super) x: f64,
    pub(super) y: f64,
    pub(super) radius: f64,
    pub(super) weight: f64,
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
    pub(super) discs: Vec<Disc>,
    pub(super) field: Field,
    /// Radius of the circle about the middle that holds it, mm.
    pub(super) radius: f64,
    /// Area of metal, mm².
    pub(super) area: f64,
    /// Greatest extent of its box, mm.
    pub(super) size: f64,
    /// Turns it may take.
    pub(super) turning: Turning,
    /// How far (mm) its edges may lie inside the true outline.
    pub(super) inset: f64,
    /// The middle, in the part's space after mirroring.
    middle: Vector,
}

impl Figure {
    /// The figure of a part, flipped or not, with its arcs as chords that leave them by at most
    /// `bound` mm.
    pub(super) fn new(
        index: usize,
        part: &Part,
        flipped: bool,
        sheet_grain: Option<f64>,
        bound: f64,
    ) -> Self {
        let mirror = Pose::<PartSpace, PartSpace>::new(Vector::default(), 0.0, flipped);
        let region = part.region.placed(&mirror);
        let bounds = region.bounds();
        let middle = bounds.centre().to_vector();
        let mut edges = Vec::new();
        let mut inset = 0.0_f64;
        for l in region.loops() {
            for edge in l.edges() {
                inset = f64::max(inset, curve_allowance(&edge, bound));
                chords(&edge, bound, |a, b| {
                    let (a, b) = (a.to_vector() - middle, b.to_vector() - middle);
                    edges.push([a.x, a.y, b.x, b.y]);
                });
            }
        }
        let walls: Vec<Wall> = edges
            .iter()
            .map(|e| Wall { from: [e[0], e[1]], to: [e[2], e[3]], keep: 0.0 })
            .collect();
        let half = [bounds.width() / 2.0, bounds.height() / 2.0];
        let field = Field::new(&walls, [-half[0], -half[1]], half, FIELD_CELLS, false);
        let radius = edges.iter().map(|e| e[0].hypot(e[1])).fold(0.0, f64::max);
        let discs = discs(&edges, &field);
        Self {
            part: index,
            flipped,
            edges,
            discs,
            field,
            radius,
            area: region.area(),
            size: bounds.width().max(bounds.height()),
            turning: part.turns(sheet_grain, flipped),
            inset,
            middle,
        }
    }

    /// Its box about the middle when turned.
    pub(super) fn limits(&self, turn: f64) -> Limits {
        let (sin, cos) = turn.sin_cos();
        let turned = |e: &Line| {
            let (x, y) = (e[0] * cos - e[1] * sin, e[0] * sin + e[1] * cos);
            [x, y, x, y]
        };
        Limits::of(&self.edges.iter().map(turned).collect::<Vec<_>>())
    }

    /// Whether its metal covers a point, given from its middle.
    pub(super) fn covers(&self, x: f64, y: f64) -> bool {
        let depth = self.field.at(x, y);
        if depth.abs() > 2.0 * self.field.cell() {
            return depth < 0.0;
        }
        turns_round(self.edges.iter().copied(), x, y) > 0
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

/// The chords of an edge, each at most `bound` mm from it.
pub(super) fn chords<S: crate::shape::Space>(
    edge: &Edge<S>,
    bound: f64,
    mut chord: impl FnMut(Point<S>, Point<S>),
) {
    let pieces = match *edge {
        Edge::Line { .. } => 1,
        Edge::Arc { radius, sweep, .. } => {
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

/// Discs that fill the figure, largest first, each about a point that none before it covers; and
/// points on its rim.
fn discs(edges: &[Line], field: &Field) -> Vec<Disc> {
    let mut inner: Vec<([f64; 2], f64)> =
        field.nodes().filter(|(_, v)| *v < 0.0).map(|(p, v)| (p, -v)).collect();
    let whole = inner.len();
    let mut discs: Vec<Disc> = Vec::new();
    while discs.len() < MOST_DISCS && inner.len() * 25 > whole {
        let Some((at, radius)) = inner
            .iter()
            .copied()
            .max_by(|a, b| a.1.total_cmp(&b.1).then(b.0[0].total_cmp(&a.0[0])))
        else {
            break;
        };
        discs.push(Disc { x: at[0], y: at[1], radius, weight: radius });
        inner.retain(|(p, _)| (p[0] - at[0]).hypot(p[1] - at[1]) > radius.max(field.cell()));
    }
    if discs.is_empty() {
        // Thinner than a cell: the middles of its edges must do.
        discs.extend(edges.iter().take(MOST_DISCS).map(|e| Disc {
            x: (e[0] + e[2]) / 2.0,
            y: (e[1] + e[3]) / 2.0,
            radius: 0.0,
            weight: field.cell(),
        }));
    }
    let least = discs.iter().map(|d| d.weight).fold(f64::INFINITY, f64::min);
    let length: f64 = edges.iter().map(|e| (e[2] - e[0]).hypot(e[3] - e[1])).sum();
    let pitch = length / MOST_POINTS as f64;
    let mut left = 0.0;
    for e in edges {
        let run = (e[2] - e[0]).hypot(e[3] - e[1]);
        while left < run {
            let t = left / run;
            discs.push(Disc {
                x: e[0] + (e[2] - e[0]) * t,
                y: e[1] + (e[3] - e[1]) * t,
                radius: 0.0,
                weight: least * 0.5,
            });
            left += pitch;
        }
        left -= run;
    }
    discs
}
