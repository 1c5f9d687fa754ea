//! Where a part fits at one turn: the region of its positions, to be tinted.
//!
//! A position is barred if an obstacle, grown by the required distance, meets the part there: the
//! positions barred by an obstacle are the Minkowski sum of the grown obstacle and the part turned
//! by 180°. What is left of the sheet's metal (moved so that it says where one corner of the part
//! may lie) is where the part fits.
//!
//! - A round or convex obstacle, grown, is a convex polygon; the sum is one closed curve, its
//!   convolution with the part's outline (Guibas, Ramshaw & Stolfi 1983), which winds round exactly
//!   the barred positions.
//! - Any other is the sums of its edges, and itself for where it covers the part.
//!
//! An obstacle may also lie in a hole of the part, shrunk by the required distance: a round one is
//! a point there; any other is let in where one of its corners lies in the hole and no edge of the
//! hole meets it.

use std::f64::consts::{PI, TAU};

use i_overlay::core::fill_rule::FillRule;
use i_overlay::core::overlay_rule::OverlayRule;
use i_overlay::float::simplify::SimplifyShape;
use i_overlay::float::single::SingleFloatOverlay;
use rayon::prelude::*;

use crate::distances::{Clearances, Obstacle, ObstacleKind, obstacles};
use crate::job::Stop;
use crate::part::Part;
use crate::shape::{
    Bounds, Edge, Loop, PartSpace, Point, Pose, Region, SheetSpace, Side, Space, Vector, offset,
};
use crate::sheet::Sheet;

/// Least error (mm) that can be asked for.
const FINEST: f64 = 0.01;

/// Raises every distance (mm), for what rounding to the grid of the unions may cost.
const ROUNDING: f64 = 1e-5;

/// Corners of sums united in one go: few enough to hear the stop flag.
const CHUNK: usize = 3000;

/// Corners of a closed curve, mm.
type Ring = Vec<[f64; 2]>;

/// An outline and the holes in it.
type Area = Vec<Ring>;

/// All positions ([`Pose::shift`]) in which `part`, turned and laid on this face, is clear of
/// everything on the empty `sheet`: polygons that err by at most about `bound` mm, and never
/// toward a position that is not clear. `None` when stopped.
pub fn fit_region(
    sheet: &Sheet,
    part: &Part,
    (turn, flipped): (f64, bool),
    clearances: &Clearances,
    bound: f64,
    stop: &Stop,
) -> Option<Vec<Region<SheetSpace>>> {
    let part = TurnedAbout::new(part, turn, flipped, bound.max(FINEST));
    let obstacles = obstacles(sheet, clearances);
    let outside = obstacles.iter().filter(|o| o.kind == ObstacleKind::Outside);
    let metal = outside.flat_map(|o| rings(o.solid.edges(), part.chord));
    let free: Area = metal.map(|m| moved(&m, part.corner())).collect();
    let sums: Vec<Vec<Ring>> = obstacles
        .par_iter()
        .map(|obstacle| if stop.raised() { Vec::new() } else { part.barred_by(obstacle) })
        .collect();
    let barred = united(sums.into_iter().flatten().collect(), stop)?;
    let free = free.overlay(&barred, OverlayRule::Difference, FillRule::NonZero);
    Some(free.into_iter().filter_map(region_of).collect())
}

/// The sums with what they share taken once: neighbours first, since where many overlap little of
/// their outlines is left. `None` when stopped.
fn united(sums: Vec<Ring>, stop: &Stop) -> Option<Vec<Area>> {
    let boxes: Vec<Bounds<SheetSpace>> = sums.iter().map(bounds_of).collect();
    let strip = boxes.iter().map(|b| 2.0 * b.width()).fold(0.0, f64::max);
    let place = |n: &usize| {
        let middle = boxes[*n].centre();
        ((middle.x / strip).floor(), middle.y)
    };
    let mut order: Vec<usize> = (0..sums.len()).collect();
    order.sort_by(|a, b| {
        let (a, b) = (place(a), place(b));
        a.0.total_cmp(&b.0).then(a.1.total_cmp(&b.1))
    });
    let mut groups: Vec<Vec<Ring>> = vec![Vec::new()];
    let mut corners = 0;
    let mut sums: Vec<Option<Ring>> = sums.into_iter().map(Some).collect();
    for sum in order.into_iter().filter_map(|n| sums[n].take()) {
        if corners > CHUNK {
            groups.push(Vec::new());
            corners = 0;
        }
        corners += sum.len();
        groups.last_mut()?.push(sum);
    }
    let parts: Vec<Vec<Area>> = groups
        .into_par_iter()
        .filter(|_| !stop.raised())
        .map(|group| group.simplify_shape(FillRule::NonZero))
        .collect();
    (!stop.raised()).then(|| parts.into_iter().flatten().collect())
}

/// A part turned by 180° besides, as polygons, and how finely the rest is drawn.
struct TurnedAbout {
    /// Outlines, counter-clockwise: one, unless two of its arcs nearly touch.
    outlines: Vec<Ring>,
    holes: Vec<Loop<PartSpace>>,
    /// How far (mm) round corners of grown obstacles may reach too far.
    round: f64,
    /// How far (mm) chords in place of obstacles' arcs may lie off.
    chord: f64,
}

impl TurnedAbout {
    fn new(part: &Part, turn: f64, flipped: bool, bound: f64) -> Self {
        let pose: Pose<PartSpace, PartSpace> = Pose::new(Vector::default(), turn + PI, flipped);
        let region = part.region.placed(&pose);
        let straight = region.outer().edges().all(|e| matches!(e, Edge::Line { .. }));
        let chord = 0.2 * bound;
        let (outlines, round) = if straight {
            (vec![corners_of(region.outer())], 0.8 * bound)
        } else {
            let filled = Region::new(region.outer().clone(), Vec::new());
            let drawn = offset(&filled, 0.0, 0.3 * bound, Side::Outward);
            (drawn.iter().map(|r| corners_of(r.outer())).collect(), 0.5 * bound)
        };
        Self { outlines, holes: region.holes().to_vec(), round, chord }
    }

    /// A corner of the part turned about: where the pivot lies as seen from that corner.
    fn corner(&self) -> [f64; 2] {
        self.outlines.first().and_then(|o| o.first()).copied().unwrap_or_default()
    }

    /// The positions that an obstacle bars, as closed curves that wind round them. Chords in place
    /// of its arcs raise the required distance by what they may lie off.
    fn barred_by(&self, obstacle: &Obstacle) -> Vec<Ring> {
        if let Some((middle, radius)) = obstacle.as_circle() {
            let (middle, far) = (corner_of(middle), obstacle.rims[0].1 + radius);
            let disc = moved(&disc(far, self.round), middle);
            let let_in = self.holes_shrunk(far);
            let let_in = let_in.iter().map(|hole| moved(hole, middle)).map(|hole| vec![hole]);
            return without(self.sums(&disc), let_in.collect());
        }
        let rings = rings(obstacle.solid.edges(), self.chord);
        let outside = obstacle.kind == ObstacleKind::Outside;
        let convex =
            !outside && obstacle.rims.len() == 1 && rings.len() == 1 && is_convex(&rings[0]);
        let mut sums = Vec::new();
        for (rim, required) in &obstacle.rims {
            let disc = disc(required + self.chord, self.round);
            if convex {
                sums.extend(self.sums(&convolution(&rings[0], &disc)));
                continue;
            }
            for edge in rim.edges() {
                let points: Ring = chords(edge, self.chord).into_iter().map(corner_of).collect();
                for piece in points.windows(2).filter(|w| w[0] != w[1]) {
                    sums.extend(self.sums(&convolution(piece, &disc)));
                }
            }
        }
        if outside {
            return sums;
        }
        if !convex {
            sums.extend(rings.iter().map(|r| moved(r, self.corner())));
        }
        let widest = obstacle.rims.iter().map(|r| r.1).fold(0.0, f64::max);
        let holes = self.holes_shrunk(widest + self.chord);
        without(sums, holes.iter().flat_map(|hole| let_in(&rings, hole)).collect())
    }

    /// The sums of a convex polygon and the part's outlines.
    fn sums(&self, convex: &[[f64; 2]]) -> Vec<Ring> {
        self.outlines.iter().map(|outline| convolution(convex, outline)).collect()
    }

    /// What is left of the part's holes this far from their edges.
    fn holes_shrunk(&self, by: f64) -> Vec<Ring> {
        let wide = |hole: &&Loop<PartSpace>| {
            let bounds = hole.bounds();
            bounds.width().min(bounds.height()) > 2.0 * by
        };
        self.holes
            .iter()
            .filter(wide)
            .map(|hole| Region::new(hole.clone(), Vec::new()))
            .flat_map(|hole| offset(&hole, -by - ROUNDING, self.round, Side::Inward))
            .map(|left| corners_of(left.outer()))
            .collect()
    }
}

/// Barred positions but for those let in.
fn without(barred: Vec<Ring>, let_in: Vec<Area>) -> Vec<Ring> {
    if let_in.is_empty() {
        return barred;
    }
    let left = barred.overlay(&let_in, OverlayRule::Difference, FillRule::NonZero);
    left.into_iter().flatten().collect()
}

/// The positions in which an obstacle, as rings, lies in a hole of the part.
fn let_in(rings: &[Ring], hole: &Ring) -> Vec<Area> {
    let width = |ring: &&Ring| bounds_of(ring).width();
    let widest = rings.iter().max_by(|a, b| width(a).total_cmp(&width(b)));
    // The widest ring is the obstacle's outline.
    let Some((outline, start)) = widest.and_then(|r| Some((r, *r.first()?))) else {
        return Vec::new();
    };
    let (obstacle, room) = (bounds_of(outline), bounds_of(hole));
    if room.width() <= obstacle.width() || room.height() <= obstacle.height() {
        return Vec::new();
    }
    let corner_in = moved(hole, start);
    let edges = hole.iter().zip(hole.iter().cycle().skip(1)).filter(|(a, b)| a != b);
    let met: Vec<Ring> = edges.map(|(a, b)| convolution(&[*a, *b], outline)).collect();
    corner_in.overlay(&met, OverlayRule::Difference, FillRule::NonZero)
}

/// The upright box round a ring.
fn bounds_of(ring: &Ring) -> Bounds<SheetSpace> {
    Bounds::of(ring.iter().map(|[x, y]| Point::new(*x, *y)))
}

/// A polygon round a disc, that reaches no more than `round` beyond it.
fn disc(radius: f64, round: f64) -> Ring {
    let radius = radius + ROUNDING;
    let corners = (PI / (radius / (radius + round)).acos()).ceil().max(6.0);
    let far = radius / (PI / corners).cos();
    let at = |k: usize| (k as f64 / corners * TAU).sin_cos();
    (0..corners as usize).map(at).map(|(s, c)| [far * c, far * s]).collect()
}

/// A closed curve that winds round the sum of a convex polygon (or of a segment) and the area in
/// an outline, both counter-clockwise, and round nothing else: along each edge of the outline goes
/// the corner of the convex one that is farthest to its right; where the outline turns left, the
/// convex one's edges in between are run through.
///
/// Where it turns right, the convolution runs back through them; the chord taken instead winds once
/// more round some of what lies in the convex one about that corner, which is in the sum.
fn convolution(convex: &[[f64; 2]], outline: &[[f64; 2]]) -> Ring {
    let (n, m) = (convex.len(), outline.len());
    let cross = |a: [f64; 2], b: [f64; 2]| a[0] * b[1] - a[1] * b[0];
    let less = |a: [f64; 2], b: [f64; 2]| [a[0] - b[0], a[1] - b[1]];
    let plus = |a: [f64; 2], b: [f64; 2]| [a[0] + b[0], a[1] + b[1]];
    let edge = |i: usize| less(convex[(i + 1) % n], convex[i]);
    let along = |j: usize| less(outline[(j + 1) % m], outline[j % m]);
    let last = along(m - 1);
    let far = |i: &usize| cross(convex[*i], last);
    let mut i = (0..n).max_by(|a, b| far(a).total_cmp(&far(b))).unwrap_or(0);
    let mut before = last;
    let mut curve = Vec::with_capacity(m + 2 * n);
    for (j, corner) in outline.iter().enumerate() {
        let next = along(j);
        curve.push(plus(*corner, convex[i]));
        let turns_left = cross(before, next) >= 0.0;
        // No more steps than once round, whatever the numbers.
        for _ in 0..n {
            let back = edge((i + n - 1) % n);
            if turns_left {
                if !(cross(before, edge(i)) >= 0.0 && cross(edge(i), next) > 0.0) {
                    break;
                }
                i = (i + 1) % n;
                curve.push(plus(*corner, convex[i]));
            } else {
                if !(cross(before, back) <= 0.0 && cross(back, next) < 0.0) {
                    break;
                }
                i = (i + n - 1) % n;
            }
        }
        if !turns_left {
            curve.push(plus(*corner, convex[i]));
        }
        before = next;
    }
    curve
}

/// The closed rings that edges make, the first corner not repeated.
fn rings(edges: &[Edge<SheetSpace>], chord: f64) -> Vec<Ring> {
    let mut rings: Vec<Ring> = Vec::new();
    let mut end = None;
    for edge in edges {
        let points = chords(edge, chord).into_iter().map(corner_of);
        match rings.last_mut() {
            Some(ring) if end == Some(edge.from()) => ring.extend(points.skip(1)),
            _ => rings.push(points.collect()),
        }
        end = Some(edge.to());
    }
    for ring in &mut rings {
        ring.dedup();
        while ring.len() > 1 && ring.first() == ring.last() {
            ring.pop();
        }
    }
    rings
}

/// Points along an edge whose chords leave it by at most `off` mm.
fn chords(edge: &Edge<SheetSpace>, off: f64) -> Vec<Point<SheetSpace>> {
    let pieces = match *edge {
        Edge::Line { .. } => 1,
        Edge::Arc { radius, sweep, .. } => {
            let piece = 2.0 * (1.0 - (off / radius).min(0.5)).acos();
            (sweep.abs() / piece).ceil().max(1.0) as usize
        }
    };
    let inner = (1..pieces).map(|i| edge.at(i as f64 / pieces as f64));
    std::iter::once(edge.from()).chain(inner).chain([edge.to()]).collect()
}

fn is_convex(ring: &Ring) -> bool {
    let n = ring.len();
    let turn = |i: usize| {
        let [a, b, c] = [0, 1, 2].map(|k| ring[(i + k) % n]);
        (b[0] - a[0]) * (c[1] - b[1]) - (b[1] - a[1]) * (c[0] - b[0])
    };
    // A ring that never turns right may still go round twice; outlines of cut-outs do not.
    n >= 3 && (0..n).all(|i| turn(i) >= 0.0)
}

fn corner_of<S: Space>(p: Point<S>) -> [f64; 2] {
    [p.x, p.y]
}

/// The corners of a loop of straight edges.
fn corners_of(l: &Loop<PartSpace>) -> Ring {
    l.vertices().iter().map(|v| corner_of(v.point)).collect()
}

fn moved(ring: &Ring, by: [f64; 2]) -> Ring {
    ring.iter().map(|[x, y]| [x + by[0], y + by[1]]).collect()
}

/// The region; `None` where nothing is left of it.
fn region_of(area: Area) -> Option<Region<SheetSpace>> {
    let ring = |r: Ring| Loop::polygon(r.into_iter().map(|[x, y]| Point::new(x, y))).ok();
    let mut rings = area.into_iter();
    let outer = ring(rings.next()?)?;
    Some(Region::new(outer, rings.filter_map(ring).collect()))
}
