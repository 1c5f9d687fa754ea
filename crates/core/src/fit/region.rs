//! Where a part fits at one turn: the region of its positions, to be tinted.
//!
//! A position is barred if the part, grown by the required distance, meets an obstacle there: the
//! positions barred by an obstacle are the Minkowski sum of the obstacle and the grown part turned
//! by 180°. What is left of the sheet's metal (moved so that it says where one corner of the part
//! may lie) is where the part fits.
//!
//! - A round obstacle is a point and a greater distance: the grown part itself, moved.
//! - A convex one is one closed curve, its convolution with the part's outline (Guibas, Ramshaw &
//!   Stolfi 1983), which winds round exactly the barred positions.
//! - Any other is the sums of its edges, and itself for where it covers the part.
//!
//! An obstacle may also lie in a hole of the part. Growing has shrunk the holes: a round obstacle is
//! a point in one; any other is let in where one of its corners lies in the hole and no edge of
//! the hole meets it.

use std::f64::consts::PI;

use geo_clipper::ClipperInt;
use geo_types::{Coord, LineString, MultiPolygon, Polygon};
use rayon::prelude::*;

use crate::distances::{Clearances, Obstacle, ObstacleKind, obstacles};
use crate::job::Stop;
use crate::part::Part;
use crate::shape::{
    Edge, Loop, PartSpace, Point, Pose, Region, SheetSpace, Side, Space, Vector, offset,
};
use crate::sheet::Sheet;

/// Millimetres in one of the whole numbers that unions are worked out on.
const UNIT: f64 = 1e-4;

/// Corners of sums united in one go: few enough to hear the stop flag.
const CHUNK: usize = 1500;

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
    let bound = bound.max(100.0 * UNIT);
    // Half for growing the part, the rest for chords in place of the obstacles' arcs.
    let mut parts = GrownParts::new(part, turn, flipped, 0.5 * bound);
    let chord = 0.25 * bound;
    let obstacles = obstacles(sheet, clearances);
    let corner = parts.corner();
    let outside = obstacles.iter().filter(|o| o.kind == ObstacleKind::Outside);
    let metal = outside.flat_map(|o| rings(o.solid.edges(), chord));
    let free = MultiPolygon(metal.map(|m| Polygon::new(moved(&m, corner), Vec::new())).collect());
    let mut sums: Vec<Polygon<i64>> = Vec::new();
    for obstacle in &obstacles {
        sums.extend(barred(obstacle, &mut parts, chord));
        if stop.raised() {
            return None;
        }
    }
    let free = free.difference(&united(sums, stop)?);
    Some(free.into_iter().filter_map(region_of).collect())
}

/// The sums with what they share taken once: neighbours first, since where many overlap little of
/// their outlines is left. `None` when stopped.
fn united(sums: Vec<Polygon<i64>>, stop: &Stop) -> Option<MultiPolygon<i64>> {
    let boxes: Vec<_> =
        sums.iter().map(|s| (middle_of(s.exterior()), extent(s.exterior()))).collect();
    let strip = boxes.iter().map(|(_, (width, _))| 2 * width).max().unwrap_or(1).max(1);
    let mut order: Vec<usize> = (0..sums.len()).collect();
    order.sort_by_key(|n| (boxes[*n].0.x.div_euclid(strip), boxes[*n].0.y));
    let mut groups: Vec<Vec<Polygon<i64>>> = vec![Vec::new()];
    let mut corners = 0;
    let mut sums: Vec<Option<Polygon<i64>>> = sums.into_iter().map(Some).collect();
    for sum in order.into_iter().filter_map(|n| sums[n].take()) {
        if corners > CHUNK {
            groups.push(Vec::new());
            corners = 0;
        }
        corners += sum.exterior().0.len();
        groups.last_mut()?.push(sum);
    }
    let none = MultiPolygon(Vec::new());
    let parts: Vec<MultiPolygon<i64>> = groups
        .into_par_iter()
        .filter(|_| !stop.raised())
        .map(|group| MultiPolygon(group).union(&none))
        .collect();
    if stop.raised() {
        return None;
    }
    Some(MultiPolygon(parts.into_iter().flatten().collect()))
}

/// The part turned by 180° besides, grown by the distances asked for so far.
struct GrownParts {
    opposite: Region<PartSpace>,
    bound: f64,
    grown: Vec<(f64, Vec<Polygon<i64>>)>,
}

impl GrownParts {
    fn new(part: &Part, turn: f64, flipped: bool, bound: f64) -> Self {
        let pose: Pose<PartSpace, PartSpace> = Pose::new(Vector::default(), turn + PI, flipped);
        Self { opposite: part.region.placed(&pose), bound, grown: Vec::new() }
    }

    /// A corner of the part turned about: where the pivot lies as seen from that corner.
    fn corner(&self) -> Coord<i64> {
        whole(self.opposite.outer().vertices()[0].point)
    }

    fn grown(&mut self, by: f64) -> &[Polygon<i64>] {
        let known = self.grown.iter().position(|(d, _)| *d == by);
        let at = known.unwrap_or_else(|| {
            let regions = offset(&self.opposite, by, self.bound, Side::Outward);
            self.grown.push((by, regions.iter().map(polygon_of).collect()));
            self.grown.len() - 1
        });
        &self.grown[at].1
    }
}

/// The positions that an obstacle bars. Arcs are taken as chords no more than `chord` mm off, and
/// the required distance is raised by as much.
fn barred(obstacle: &Obstacle, parts: &mut GrownParts, chord: f64) -> Vec<Polygon<i64>> {
    if let Some((middle, radius)) = obstacle.as_circle() {
        let grown = parts.grown(obstacle.rims[0].1 + radius);
        return grown.iter().map(|p| moved_polygon(p, whole(middle))).collect();
    }
    let outside = obstacle.kind == ObstacleKind::Outside;
    let rings = rings(obstacle.solid.edges(), chord);
    let mut sums = Vec::new();
    let convex = !outside && obstacle.rims.len() == 1 && rings.len() == 1 && is_convex(&rings[0]);
    for (rim, required) in &obstacle.rims {
        for grown in parts.grown(required + chord) {
            let outline = open(grown.exterior());
            if convex {
                sums.push(convolution(&open(&rings[0]), &outline));
                continue;
            }
            for edge in rim.edges() {
                let points: Vec<Coord<i64>> = chords(edge, chord).into_iter().map(whole).collect();
                let pieces = points.windows(2).filter(|w| w[0] != w[1]);
                sums.extend(pieces.map(|w| convolution(w, &outline)));
            }
        }
    }
    if outside {
        return sums;
    }
    if !convex {
        let corner = parts.corner();
        let loops: Vec<_> = rings.iter().map(|r| moved(r, corner)).collect();
        sums.extend(loops.into_iter().map(|r| Polygon::new(r, Vec::new())));
    }
    let widest = obstacle.rims.iter().map(|r| r.1).fold(0.0, f64::max);
    let let_in: Vec<Polygon<i64>> =
        parts.grown(widest + chord).iter().flat_map(|g| in_holes(&rings, g)).collect();
    if convex && let_in.is_empty() {
        return sums;
    }
    MultiPolygon(sums).difference(&MultiPolygon(let_in)).0
}

/// The positions in which an obstacle lies in a hole of the grown part.
fn in_holes(rings: &[LineString<i64>], grown: &Polygon<i64>) -> Vec<Polygon<i64>> {
    // The outermost ring is the obstacle's outline.
    let Some(outline) = rings.iter().max_by_key(|r| extent(r)) else { return Vec::new() };
    let (width, height) = extent(outline);
    let mut found = Vec::new();
    for hole in grown.interiors() {
        if extent(hole).0 <= width || extent(hole).1 <= height {
            continue;
        }
        let Some(start) = outline.0.first() else { continue };
        let corner_in = MultiPolygon(vec![Polygon::new(moved(hole, *start), Vec::new())]);
        let ccw = open(outline);
        let edges = hole.0.windows(2).filter(|w| w[0] != w[1]);
        let met = MultiPolygon(edges.map(|w| convolution(w, &ccw)).collect());
        found.extend(corner_in.difference(&met));
    }
    found
}

/// The middle of a ring's box.
fn middle_of(ring: &LineString<i64>) -> Coord<i64> {
    let middle = |of: fn(&Coord<i64>) -> i64| {
        let (low, high) = (ring.0.iter().map(of).min(), ring.0.iter().map(of).max());
        low.unwrap_or(0).midpoint(high.unwrap_or(0))
    };
    Coord { x: middle(|c| c.x), y: middle(|c| c.y) }
}

/// Width and height of a ring's box.
fn extent(ring: &LineString<i64>) -> (i64, i64) {
    let range = |of: fn(&Coord<i64>) -> i64| {
        let (low, high) = (ring.0.iter().map(of).min(), ring.0.iter().map(of).max());
        high.unwrap_or(0) - low.unwrap_or(0)
    };
    (range(|c| c.x), range(|c| c.y))
}

/// The closed curve that winds round the sum of a convex polygon (or of a segment) and the area in
/// an outline, both counter-clockwise: along each edge of the outline goes the corner of the convex
/// one that is farthest to its right; where the outline turns, the convex one's edges in between
/// are run through, backward where it turns right.
fn convolution(convex: &[Coord<i64>], outline: &[Coord<i64>]) -> Polygon<i64> {
    let (n, m) = (convex.len(), outline.len());
    let cross = |a: Coord<i64>, b: Coord<i64>| {
        i128::from(a.x) * i128::from(b.y) - i128::from(a.y) * i128::from(b.x)
    };
    let edge = |i: usize| convex[(i + 1) % n] - convex[i];
    let along = |j: usize| outline[(j + 1) % m] - outline[j % m];
    let last = along(m - 1);
    let mut i = (0..n).max_by_key(|i| cross(convex[*i], last)).unwrap_or(0);
    let mut before = last;
    let mut curve = Vec::with_capacity(m + 2 * n);
    for (j, corner) in outline.iter().enumerate() {
        let next = along(j);
        curve.push(*corner + convex[i]);
        // No more steps than once round, whatever the numbers.
        for _ in 0..n {
            let back = edge((i + n - 1) % n);
            if cross(before, next) >= 0 {
                if !(cross(before, edge(i)) >= 0 && cross(edge(i), next) > 0) {
                    break;
                }
                i = (i + 1) % n;
            } else {
                if !(cross(before, back) <= 0 && cross(back, next) < 0) {
                    break;
                }
                i = (i + n - 1) % n;
            }
            curve.push(*corner + convex[i]);
        }
        before = next;
    }
    Polygon::new(LineString(curve), Vec::new())
}

/// The closed rings that edges make, in whole numbers.
fn rings(edges: &[Edge<SheetSpace>], chord: f64) -> Vec<LineString<i64>> {
    let mut rings: Vec<LineString<i64>> = Vec::new();
    let mut end = None;
    for edge in edges {
        let points = chords(edge, chord);
        match rings.last_mut() {
            Some(ring) if end == Some(edge.from()) => {
                ring.0.extend(points[1..].iter().map(|p| whole(*p)));
            }
            _ => rings.push(points.into_iter().map(whole).collect()),
        }
        end = Some(edge.to());
    }
    for ring in &mut rings {
        ring.0.dedup();
        ring.close();
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

fn is_convex(ring: &LineString<i64>) -> bool {
    let points = open(ring);
    let n = points.len();
    let turn = |i: usize| {
        let (a, b) = (points[(i + 1) % n] - points[i], points[(i + 2) % n] - points[(i + 1) % n]);
        i128::from(a.x) * i128::from(b.y) - i128::from(a.y) * i128::from(b.x)
    };
    // A ring that never turns right may still go round twice; outlines of cut-outs do not.
    n >= 3 && (0..n).all(|i| turn(i) >= 0)
}

/// The corners of a ring, the first not repeated.
fn open(ring: &LineString<i64>) -> Vec<Coord<i64>> {
    let mut points = ring.0.clone();
    points.dedup();
    while points.len() > 1 && points.first() == points.last() {
        points.pop();
    }
    points
}

fn whole<S: Space>(p: Point<S>) -> Coord<i64> {
    Coord { x: (p.x / UNIT).round() as i64, y: (p.y / UNIT).round() as i64 }
}

fn moved(ring: &LineString<i64>, by: Coord<i64>) -> LineString<i64> {
    ring.0.iter().map(|c| *c + by).collect()
}

fn moved_polygon(polygon: &Polygon<i64>, by: Coord<i64>) -> Polygon<i64> {
    let holes = polygon.interiors().iter().map(|h| moved(h, by)).collect();
    Polygon::new(moved(polygon.exterior(), by), holes)
}

fn polygon_of(region: &Region<PartSpace>) -> Polygon<i64> {
    let ring = |l: &Loop<PartSpace>| l.vertices().iter().map(|v| whole(v.point)).collect();
    Polygon::new(ring(region.outer()), region.holes().iter().map(ring).collect())
}

/// The region in millimetres; `None` where nothing is left of it.
fn region_of(polygon: Polygon<i64>) -> Option<Region<SheetSpace>> {
    let ring = |l: &LineString<i64>| {
        let points = open(l).into_iter();
        Loop::polygon(points.map(|c| Point::new(c.x as f64 * UNIT, c.y as f64 * UNIT))).ok()
    };
    let holes = polygon.interiors().iter().filter_map(ring).collect();
    Some(Region::new(ring(polygon.exterior())?, holes))
}
