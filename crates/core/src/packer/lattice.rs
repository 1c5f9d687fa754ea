//! Lattices: many copies of one figure in rows, alone or in pairs with a copy turned half round.
//!
//! The next copy of a row, and the next row, may lie just outside the no-fit polygons of what is
//! there: rows repeat at the least pitch, and stand on each other at the least height over all
//! shifts. The published searches do not find such a pattern again once they have it.

use std::f64::consts::{FRAC_PI_2, PI, TAU};

use geo_clipper::ClipperInt;
use geo_types::{Coord, LineString, MultiPolygon, Polygon};
use rayon::prelude::*;

use super::figure::{Figure, Line, Place};
use super::limits::Limits;
use super::nofit::{Piece, convex_pieces, sum};
use super::scene::{Scene, Scratch};
use super::simpler::simpler;
use crate::job::Stop;
use crate::part::Turning;

/// Turns tried of a figure that may take any, besides those square to the sheet.
const MOST_TURNS: usize = 6;

/// Places tried of the second figure beside the first.
const MOST_BESIDE: usize = 48;

/// Shifts tried of a row over the one before.
const SHIFTS: usize = 32;

/// Whole numbers that a rim is worked out on reach so far: with those geo-clipper is fastest.
const FINEST: f64 = 1e9;

/// Strips that speed up the crossings of a rim.
const STRIPS: usize = 64;

/// How carefully lattices are looked for.
#[derive(Clone, Copy, Debug)]
pub(super) struct LatticeEffort {
    /// Outlines with more corners are simplified to so many, outward.
    corners: usize,
    /// Lattices kept of a figure.
    kept: usize,
}

impl LatticeEffort {
    /// The densest, whatever time it takes.
    pub(super) const FULL: Self = Self { corners: usize::MAX, kept: 12 };

    /// In a fraction of the time; each copy takes up to some thousandths of its size more.
    pub(super) const QUICK: Self = Self { corners: 32, kept: 4 };
}

/// A pattern that repeats.
#[derive(Clone, Debug)]
pub(super) struct Lattice {
    /// One place, or two.
    pub(super) cell: Vec<Place>,
    /// From copy to copy in a row, and from row to row.
    pub(super) steps: [[f64; 2]; 2],
    /// Area (mm²) of the sheet that each copy takes.
    pub(super) area: f64,
}

/// The densest lattices found of a figure whose edges keep `gap` mm, densest first.
pub(super) fn lattices(
    figure: &Figure,
    gap: f64,
    effort: LatticeEffort,
    stop: &Stop,
) -> Vec<Lattice> {
    let pieces = convex_pieces(&outline(figure, effort.corners));
    let opposite: Vec<Piece> =
        pieces.iter().map(|piece| piece.iter().map(|p| [-p[0], -p[1]]).collect()).collect();
    let rims = Rims {
        same: Rim::new(rim(&pieces, &pieces, gap)),
        other: Rim::new(rim(&pieces, &opposite, gap)),
    };
    // Rows along the sheet's x and along its y.
    let ways: Vec<(f64, bool, f64)> = turns(figure)
        .into_iter()
        .flat_map(|(turn, pairs)| [0.0, FRAC_PI_2].map(|frame| (turn, pairs, frame)))
        .collect();
    let mut found: Vec<Lattice> = ways
        .into_par_iter()
        .filter(|_| !stop.raised())
        .flat_map_iter(|(turn, pairs, frame)| {
            let rims = rims.turned(turn - frame);
            let beside = if pairs { spread(&rims.other.lines) } else { Vec::new() };
            let cells = std::iter::once(None).chain(beside.into_iter().map(Some));
            let made: Vec<_> =
                cells.filter_map(|second| rows(&rims, second, turn, frame)).collect();
            made
        })
        .collect();
    if let Turning::Only(angles) = &figure.turning {
        for place in found.iter_mut().flat_map(|l| &mut l.cell) {
            place.turn = allowed(angles, place.turn).unwrap_or(place.turn);
        }
    }
    found.sort_by(|a, b| a.area.total_cmp(&b.area));
    found.truncate(effort.kept);
    found
}

/// The outline alone, since no copy goes into a hole of another, with about so many corners.
fn outline(figure: &Figure, corners: usize) -> Vec<Line> {
    let mut points: Vec<[f64; 2]> = Vec::new();
    for e in &figure.edges {
        points.push([e[0], e[1]]);
        if points[0] == [e[2], e[3]] {
            break;
        }
    }
    let points = simpler(points, corners);
    let next = points.iter().cycle().skip(1);
    points.iter().zip(next).map(|(a, b)| [a[0], a[1], b[0], b[1]]).collect()
}

/// The first `most` clear places from the left of the copies of a lattice, shifted by these shares of
/// its steps from where it lies in the lower left corner; fewer where the next would lie beyond
/// `farthest`.
pub(super) fn lay(
    scene: &Scene<'_>,
    index: usize,
    (lattice, shift): (&Lattice, [f64; 2]),
    most: usize,
    farthest: f64,
    scratch: &mut Scratch,
) -> Vec<Place> {
    let ground = &scene.setting.ground.plain;
    let figure = &scene.setting.figures[index];
    let own = |p: &Place| figure.limits(p.turn).moved(p.x, p.y);
    let Some(cell) = Limits::union(lattice.cell.iter().map(own)) else { return Vec::new() };
    let [u, v] = lattice.steps;
    let origin = [0, 1].map(|k| ground.min[k] - cell.min[k] + shift[0] * u[k] + shift[1] * v[k]);
    // The whole ground in steps of the lattice.
    let cross = u[0] * v[1] - u[1] * v[0];
    let corners =
        [ground.min, ground.max, [ground.min[0], ground.max[1]], [ground.max[0], ground.min[1]]];
    let inverse = corners.map(|c| {
        let (x, y) = (c[0] - origin[0], c[1] - origin[1]);
        [(x * v[1] - y * v[0]) / cross, (u[0] * y - u[1] * x) / cross]
    });
    let range = |k: usize| {
        let ends = inverse.iter().map(|c| c[k]);
        let low = ends.clone().fold(f64::INFINITY, f64::min).floor() as i64;
        (low - 1)..=(ends.fold(f64::NEG_INFINITY, f64::max).ceil() as i64 + 1)
    };
    let mut copies = Vec::new();
    for j in range(1) {
        for i in range(0) {
            let (i, j) = (i as f64, j as f64);
            let x = origin[0] + i * u[0] + j * v[0];
            let y = origin[1] + i * u[1] + j * v[1];
            let copy = |p: &Place| Place { x: x + p.x, y: y + p.y, turn: p.turn };
            copies.extend(lattice.cell.iter().map(copy).filter(|p| ground.holds([p.x, p.y])));
        }
    }
    copies.sort_by(|a, b| a.x.total_cmp(&b.x));
    copies
        .into_iter()
        .take_while(|place| place.x <= farthest)
        .filter(|place| scene.collisions(None, index, *place, 0.0, scratch) == 0.0)
        .take(most)
        .collect()
}

/// The one of the angles that is `turn` but for whole turns.
fn allowed(angles: &[f64], turn: f64) -> Option<f64> {
    let off = |a: f64| ((a - turn) / TAU - ((a - turn) / TAU).round()).abs();
    angles.iter().copied().find(|a| off(*a) < 1e-9)
}

/// Turns to try, and whether a copy turned half round may lie beside.
fn turns(figure: &Figure) -> Vec<(f64, bool)> {
    match &figure.turning {
        Turning::Only(angles) => {
            angles.iter().map(|a| (*a, allowed(angles, a + PI).is_some())).collect()
        }
        Turning::Free => {
            let mut edges = figure.edges.clone();
            let length = |e: &Line| (e[2] - e[0]).hypot(e[3] - e[1]);
            edges.sort_by(|a, b| length(b).total_cmp(&length(a)));
            let mut turns = vec![0.0];
            for e in edges {
                // A lattice turned half round is one again, and rows go both ways.
                let turn = (-(e[3] - e[1]).atan2(e[2] - e[0])).rem_euclid(FRAC_PI_2);
                let known =
                    |t: &f64| (t - turn).abs() < 0.01 || (t - turn).abs() > FRAC_PI_2 - 0.01;
                if turns.len() <= MOST_TURNS && !turns.iter().any(known) {
                    turns.push(turn);
                }
            }
            turns.into_iter().map(|t| (t, true)).collect()
        }
    }
}

/// No-fit polygons of a figure with itself, and of the figure turned half round beside it.
struct Rims {
    same: Rim,
    other: Rim,
}

impl Rims {
    fn turned(&self, turn: f64) -> Self {
        let at = Place { x: 0.0, y: 0.0, turn };
        let turned = |rim: &Rim| Rim::new(rim.lines.iter().map(|l| at.line(*l)).collect());
        Self { same: turned(&self.same), other: turned(&self.other) }
    }
}

/// A rim, and which of its lines each of many upright or level strips meets.
struct Rim {
    lines: Vec<Line>,
    limits: Limits,
    strips: [Vec<Vec<u32>>; 2],
}

impl Rim {
    fn new(lines: Vec<Line>) -> Self {
        let ends: Vec<[f64; 2]> = lines.iter().map(|l| [l[0], l[1]]).collect();
        let limits = Limits::around(&ends);
        let mut rim = Self { lines, limits, strips: [0, 1].map(|_| vec![Vec::new(); STRIPS]) };
        for (i, line) in rim.lines.iter().enumerate() {
            for k in 0..2 {
                let (a, b) = (line[k].min(line[k + 2]), line[k].max(line[k + 2]));
                for strip in rim.strip(k, a)..=rim.strip(k, b) {
                    rim.strips[k][strip].push(i as u32);
                }
            }
        }
        rim
    }

    /// The strip across axis `k` in which a value lies.
    fn strip(&self, k: usize, at: f64) -> usize {
        let width = self.limits.max[k] - self.limits.min[k];
        let share = (at - self.limits.min[k]) / width * STRIPS as f64;
        (share.max(0.0) as usize).min(STRIPS - 1)
    }

    /// The farthest crossing with the line along axis `k` at `at` on the other axis, to the side
    /// that `sign` says.
    fn exit(&self, k: usize, at: f64, sign: f64) -> Option<f64> {
        let o = 1 - k;
        let mut far: Option<f64> = None;
        for i in &self.strips[o][self.strip(o, at)] {
            let line = self.lines[*i as usize];
            let (a, b) = (line[o], line[o + 2]);
            if (a <= at) != (b <= at) {
                let t = (at - a) / (b - a);
                let value = sign * (line[k] + t * (line[k + 2] - line[k]));
                far = Some(far.map_or(value, |f| f.max(value)));
            }
        }
        far
    }
}

/// The rim of where `b` may not lie beside `a`, with `gap` mm between them or slightly more.
///
/// By geo-clipper, as [`offset`](crate::shape::offset) and for the same reason: sums of pieces side by
/// side have edges all but upon each other.
fn rim(a: &[Piece], b: &[Piece], gap: f64) -> Vec<Line> {
    let disc = disc(gap);
    let grown: Vec<Piece> =
        b.iter().map(|q| if gap > 0.0 { sum(q, &disc) } else { q.clone() }).collect();
    let size = a.iter().chain(&grown).flatten().flatten().fold(0.0_f64, |far, c| far.max(c.abs()));
    let unit = 2.0 * size / FINEST;
    let whole =
        |p: &[f64; 2]| Coord { x: (p[0] / unit).round() as i64, y: (p[1] / unit).round() as i64 };
    let ring = |piece: &Piece| {
        Polygon::new(piece.iter().map(whole).collect::<LineString<i64>>(), Vec::new())
    };
    let none = MultiPolygon::<i64>(Vec::new());
    // Piece by piece of one figure: fewer edges cross each other at a time.
    let beside = grown
        .iter()
        .flat_map(|q| MultiPolygon(a.iter().map(|p| ring(&sum(p, q))).collect()).union(&none).0);
    let all = MultiPolygon(beside.collect()).union(&none);
    let rings = all.iter().flat_map(|p| std::iter::once(p.exterior()).chain(p.interiors()));
    let length = |c: Coord<i64>| [c.x as f64 * unit, c.y as f64 * unit];
    let line = |l: geo_types::Line<i64>| {
        let ([x0, y0], [x1, y1]) = (length(l.start), length(l.end));
        [x0, y0, x1, y1]
    };
    rings.flat_map(|ring| ring.lines().map(line)).collect()
}

/// A polygon round a disc.
fn disc(radius: f64) -> Piece {
    let corners = 24;
    let step = TAU / f64::from(corners);
    let far = radius / (step / 2.0).cos();
    (0..corners).map(|k| (f64::from(k) * step).sin_cos()).map(|(s, c)| [far * c, far * s]).collect()
}

/// Corners and points along a rim, evenly picked.
fn spread(lines: &[Line]) -> Vec<[f64; 2]> {
    let length = |e: &Line| (e[2] - e[0]).hypot(e[3] - e[1]);
    let total: f64 = lines.iter().map(length).sum();
    let mut points = Vec::new();
    let (mut walked, mut next) = (0.0, 0.0);
    for line in lines {
        if length(line) * 20.0 > total / 10.0 {
            points.push([line[0], line[1]]);
        }
        while next < walked + length(line) {
            let t = (next - walked) / length(line);
            points.push([line[0] + t * (line[2] - line[0]), line[1] + t * (line[3] - line[1])]);
            next += total / MOST_BESIDE as f64;
        }
        walked += length(line);
    }
    points
}

/// Where one figure of a cell may not lie as seen from another: the rim, whether mirrored through
/// the middle, and the way between the two in the cell.
struct Bar<'a> {
    rim: &'a Rim,
    sign: f64,
    way: [f64; 2],
}

impl Bar<'_> {
    /// The farthest crossing of the rim with the line along axis `k` through `at` on the other
    /// axis.
    fn exit(&self, k: usize, at: f64) -> Option<f64> {
        self.rim.exit(k, at * self.sign, self.sign)
    }
}

/// Rows of cells, a figure alone or with a second turned half round, in the frame in which rows run
/// along x.
fn rows(rims: &Rims, second: Option<[f64; 2]>, turn: f64, frame: f64) -> Option<Lattice> {
    let mut bars = vec![Bar { rim: &rims.same, sign: 1.0, way: [0.0; 2] }];
    if let Some(at) = second {
        bars.push(Bar { rim: &rims.other, sign: 1.0, way: at });
        bars.push(Bar { rim: &rims.other, sign: -1.0, way: [-at[0], -at[1]] });
    }
    let pitch = bars
        .iter()
        .filter_map(|bar| Some(bar.exit(0, bar.way[1])? - bar.way[0]))
        .fold(0.0, f64::max);
    if pitch <= 0.0 {
        return None;
    }
    // How high the row that is `n` rows up must lie when shifted.
    let height = |shift: f64| {
        let mut high = 0.0_f64;
        for bar in &bars {
            let reach = bar.rim.limits.max[0].max(-bar.rim.limits.min[0]);
            let first = ((-reach - bar.way[0] - shift) / pitch).ceil() as i64;
            let last = ((reach - bar.way[0] - shift) / pitch).floor() as i64;
            for k in first..=last {
                let x = bar.way[0] + shift + k as f64 * pitch;
                if let Some(top) = bar.exit(1, x) {
                    high = high.max(top - bar.way[1]);
                }
            }
        }
        high
    };
    let over = |shift: f64| {
        let one = height(shift);
        (2..=3).fold(one, |high, n| high.max(height(f64::from(n) * shift) / f64::from(n)))
    };
    let step = pitch / SHIFTS as f64;
    let tries = (0..SHIFTS).map(|k| k as f64 * step).map(|shift| (shift, height(shift)));
    let (mut shift, _) = tries.min_by(|a, b| a.1.total_cmp(&b.1))?;
    let mut high = over(shift);
    let mut by = step / 2.0;
    while by > 1e-3 * step {
        let better =
            [shift - by, shift + by].map(|s| (s, over(s))).into_iter().find(|t| t.1 < high);
        match better {
            Some(found) => (shift, high) = found,
            None => by /= 2.0,
        }
    }
    if high <= 0.0 {
        return None;
    }
    let (sin, cos) = frame.sin_cos();
    let out = |x: f64, y: f64| [x * cos - y * sin, x * sin + y * cos];
    let mut cell = vec![Place { x: 0.0, y: 0.0, turn }];
    if let Some([x, y]) = second {
        let [x, y] = out(x, y);
        cell.push(Place { x, y, turn: turn + PI });
    }
    let area = pitch * high / cell.len() as f64;
    Some(Lattice { cell, steps: [out(pitch, 0.0), out(shift, high)], area })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_rim_keeps_its_distance_from_all_pieces() {
        let square = |x: f64, y: f64| vec![[x, y], [x + 2.0, y], [x + 2.0, y + 2.0], [x, y + 2.0]];
        // An angle of three squares beside one square.
        let angle = [square(0.0, 0.0), square(2.0, 0.0), square(0.0, 2.0)];
        let one = [square(0.0, 0.0)];
        let area = |rim: &[Line]| 0.5 * rim.iter().map(|e| e[0] * e[3] - e[1] * e[2]).sum::<f64>();
        // The sum without the gap covers 6 × 6 less a corner of 2 × 2.
        let bare = area(&rim(&angle, &one, 0.0));
        assert!((bare - 32.0).abs() < 1e-6, "{bare}");
        // A gap of 0.5 adds strips along its 24 mm and five round corners, and is lost in one that bends in.
        let round = 0.25 * PI / 4.0;
        let exact = 32.0 + 24.0 * 0.5 + 5.0 * round - 0.25;
        let grown = area(&rim(&angle, &one, 0.5));
        // The polygon round the disc reaches at most 0.9 % of the gap too far.
        assert!(grown >= exact - 1e-6 && grown < exact + 24.0 * 0.0045, "{grown} {exact}");
    }
}
