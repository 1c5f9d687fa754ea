//! No-fit polygons: where one figure may not lie beside another, at a given turn of each, with the
//! true distance to the nearest place where it may.
//!
//! Each is the Minkowski sum of one figure and the other turned by 180°, put together from sums of
//! convex pieces. A grid over it knows which edges can be the nearest from each of its cells, so
//! that a distance costs a few edges, is exact, and leads straight out of the overlap.

use std::cmp::Ordering;

use i_overlay::core::fill_rule::FillRule;
use i_overlay::float::simplify::SimplifyShape;

use super::figure::Line;

/// Cells along the longer side of the grid.
const CELLS: f64 = 40.0;

/// A convex polygon, counter-clockwise.
pub(super) type Piece = Vec<[f64; 2]>;

/// The positions of one figure's middle, seen from another's, in which the two overlap.
#[derive(Clone, Debug)]
pub(super) struct NoFit {
    edges: Vec<Rim>,
    min: [f64; 2],
    per_mm: f64,
    columns: usize,
    rows: usize,
    /// Start of each cell's run in `near`.
    starts: Vec<u32>,
    near: Vec<u32>,
}

/// An edge of the rim, with the overlap to its left.
#[derive(Clone, Copy, Debug)]
struct Rim {
    from: [f64; 2],
    to: [f64; 2],
    /// Direction.
    along: [f64; 2],
    length: f64,
}

/// The nearest point of the rim.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Nearest {
    /// Distance to the rim, mm; negative in the overlap.
    pub(super) spare: f64,
    /// The nearest edge: a point of it and its direction, the overlap to its left.
    pub(super) from: [f64; 2],
    pub(super) along: [f64; 2],
}

impl NoFit {
    /// The no-fit polygon of figure `b` beside figure `a`, both given as convex pieces about their
    /// middles, turned as they lie. Distances are known up to `reach` mm outside.
    pub(super) fn new(a: &[Piece], b: &[Piece], reach: f64) -> Self {
        let edges = rim(a, b).into_iter().map(|[x0, y0, x1, y1]| {
            let (x, y) = (x1 - x0, y1 - y0);
            let length = x.hypot(y);
            Rim { from: [x0, y0], to: [x1, y1], along: [x / length, y / length], length }
        });
        Self::over(edges.collect(), reach)
    }

    fn over(edges: Vec<Rim>, reach: f64) -> Self {
        if edges.is_empty() {
            let (starts, near) = (vec![0], Vec::new());
            return Self { edges, min: [0.0; 2], per_mm: 1.0, columns: 0, rows: 0, starts, near };
        }
        let mut min = [f64::INFINITY; 2];
        let mut max = [f64::NEG_INFINITY; 2];
        for edge in &edges {
            for k in 0..2 {
                min[k] = min[k].min(edge.from[k] - reach);
                max[k] = max[k].max(edge.from[k] + reach);
            }
        }
        let cell = (max[0] - min[0]).max(max[1] - min[1]) / CELLS;
        let count = |k: usize| ((max[k] - min[k]) / cell).ceil().max(1.0) as usize;
        let (columns, rows) = (count(0), count(1));
        let (mut starts, mut near) = (vec![0], Vec::new());
        let mut squares = vec![0.0; edges.len()];
        let diagonal = cell * std::f64::consts::SQRT_2;
        for row in 0..rows {
            for column in 0..columns {
                let x = min[0] + (column as f64 + 0.5) * cell;
                let y = min[1] + (row as f64 + 0.5) * cell;
                let mut least = f64::INFINITY;
                for (square, edge) in squares.iter_mut().zip(&edges) {
                    *square = edge.square(x, y).0;
                    least = least.min(*square);
                }
                // Whatever is nearest from anywhere in the cell is at most so far from its middle.
                let limit = (least.sqrt() + diagonal * (1.0 + 1e-9)).powi(2);
                near.extend((0..edges.len()).filter(|i| squares[*i] <= limit).map(|i| i as u32));
                starts.push(near.len() as u32);
            }
        }
        Self { edges, min, per_mm: 1.0 / cell, columns, rows, starts, near }
    }

    /// The rim nearest to a position; `None` outside and out of reach.
    #[inline]
    pub(super) fn nearest(&self, x: f64, y: f64) -> Option<Nearest> {
        let column = (x - self.min[0]) * self.per_mm;
        let row = (y - self.min[1]) * self.per_mm;
        if !(column >= 0.0 && row >= 0.0) {
            return None;
        }
        let (column, row) = (column as usize, row as usize);
        if column >= self.columns || row >= self.rows {
            return None;
        }
        let cell = row * self.columns + column;
        let run = self.starts[cell] as usize..self.starts[cell + 1] as usize;
        let (mut best, mut least, mut beside) = (0, f64::INFINITY, 0.0_f64);
        for i in &self.near[run] {
            let (square, side) = self.edges[*i as usize].square(x, y);
            // From beyond a corner, the edge that is farther aside tells on which side one is.
            if square < least || (square == least && side.abs() > beside.abs()) {
                (best, least, beside) = (*i as usize, square, side);
            }
        }
        let edge = &self.edges[best];
        let distance = least.sqrt();
        let spare = if beside > 0.0 { -distance } else { distance };
        Some(Nearest { spare, from: edge.from, along: edge.along })
    }
}

impl Rim {
    /// The square of the distance of a point, and how far it lies to the left of the edge's line.
    #[inline]
    fn square(&self, x: f64, y: f64) -> (f64, f64) {
        let (px, py) = (x - self.from[0], y - self.from[1]);
        let t = px * self.along[0] + py * self.along[1];
        let side = self.along[0] * py - self.along[1] * px;
        let square = if t <= 0.0 {
            px * px + py * py
        } else if t >= self.length {
            let (qx, qy) = (x - self.to[0], y - self.to[1]);
            qx * qx + qy * qy
        } else {
            side * side
        };
        (square, side)
    }
}

/// The rim of the no-fit polygon of `b` beside `a`, the overlap to the left of its edges.
fn rim(a: &[Piece], b: &[Piece]) -> Vec<Line> {
    // Piece by piece of one figure: all sums at once would cross each other millions of times.
    let sums: Vec<Piece> = b
        .iter()
        .flat_map(|q| {
            let beside: Vec<Piece> = a.iter().map(|p| sum(p, q)).collect();
            beside.simplify_shape(FillRule::NonZero).into_iter().flatten()
        })
        .collect();
    let mut lines = Vec::new();
    for ring in sums.simplify_shape(FillRule::NonZero).into_iter().flatten() {
        for (from, to) in ring.iter().zip(ring.iter().cycle().skip(1)) {
            lines.push([from[0], from[1], to[0], to[1]]);
        }
    }
    lines
}

/// The Minkowski sum of a convex polygon and another turned by 180°: their edges, by direction.
pub(super) fn sum(a: &Piece, b: &Piece) -> Piece {
    let lowest = |points: &[[f64; 2]]| {
        let order = |p: &[f64; 2], q: &[f64; 2]| p[1].total_cmp(&q[1]).then(p[0].total_cmp(&q[0]));
        (0..points.len()).min_by(|i, j| order(&points[*i], &points[*j])).unwrap_or(0)
    };
    let b: Piece = b.iter().map(|p| [-p[0], -p[1]]).collect();
    let (first_a, first_b) = (lowest(a), lowest(&b));
    let (n, m) = (a.len(), b.len());
    let (mut i, mut j) = (0, 0);
    let mut points = Vec::with_capacity(n + m);
    while i < n || j < m {
        let (p, q) = (a[(first_a + i) % n], b[(first_b + j) % m]);
        points.push([p[0] + q[0], p[1] + q[1]]);
        let along = |points: &[[f64; 2]], at: usize| {
            let (from, to) = (points[at % points.len()], points[(at + 1) % points.len()]);
            [to[0] - from[0], to[1] - from[1]]
        };
        let (u, v) = (along(a, first_a + i), along(&b, first_b + j));
        let cross = u[0] * v[1] - u[1] * v[0];
        let next = match (i < n, j < m) {
            (true, false) => Ordering::Less,
            (false, true) => Ordering::Greater,
            _ => 0.0_f64.total_cmp(&cross),
        };
        // The one that turns first goes first; parallel edges go together.
        i += usize::from(next != Ordering::Greater);
        j += usize::from(next != Ordering::Less);
    }
    points
}

/// Convex pieces that make up the shape that closed chains of edges wind round.
pub(super) fn convex_pieces(edges: &[Line]) -> Vec<Piece> {
    let mut chains: Vec<Vec<[f64; 2]>> = Vec::new();
    let mut end = None;
    for e in edges {
        let (from, to) = ([e[0], e[1]], [e[2], e[3]]);
        match chains.last_mut() {
            Some(chain) if end == Some(from) => chain.push(from),
            _ => chains.push(vec![from]),
        }
        end = Some(to);
        if chains.last().is_some_and(|c| c[0] == to) {
            end = None;
        }
    }
    let holes: Vec<u32> = chains
        .iter()
        .scan(0, |at, c| {
            *at += c.len() as u32;
            Some(*at)
        })
        .take(chains.len().saturating_sub(1))
        .collect();
    let points: Vec<[f64; 2]> = chains.into_iter().flatten().collect();
    let mut corners: Vec<u32> = Vec::new();
    earcut::Earcut::new().earcut(points.iter().copied(), &holes, &mut corners);
    let triangles = corners.chunks_exact(3).filter_map(|t| {
        let (a, b, c) = (points[t[0] as usize], points[t[1] as usize], points[t[2] as usize]);
        let area = (b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0]);
        if area == 0.0 {
            return None;
        }
        Some(if area > 0.0 { vec![t[0], t[1], t[2]] } else { vec![t[0], t[2], t[1]] })
    });
    merged(triangles.collect(), &points)
        .into_iter()
        .map(|piece| piece.into_iter().map(|i| points[i as usize]).collect())
        .collect()
}

/// Convex pieces put together across the diagonals between them while they stay convex (Hertel &
/// Mehlhorn 1983).
fn merged(mut pieces: Vec<Vec<u32>>, points: &[[f64; 2]]) -> Vec<Vec<u32>> {
    let mut i = 0;
    while i < pieces.len() {
        let joined =
            (i + 1..pieces.len()).find_map(|j| Some((j, join(&pieces[i], &pieces[j], points)?)));
        match joined {
            Some((j, piece)) => {
                pieces[i] = piece;
                pieces.swap_remove(j);
            }
            None => i += 1,
        }
    }
    pieces
}

/// Two pieces with a common diagonal as one, if that is convex.
fn join(a: &[u32], b: &[u32], points: &[[f64; 2]]) -> Option<Vec<u32>> {
    let (n, m) = (a.len(), b.len());
    let (i, j) = (0..n)
        .flat_map(|i| (0..m).map(move |j| (i, j)))
        .find(|(i, j)| a[*i] == b[(j + 1) % m] && a[(i + 1) % n] == b[*j])?;
    // All of `a` from the diagonal's end round to its start, then the rest of `b`.
    let mut piece: Vec<u32> = (0..n).map(|k| a[(i + 1 + k) % n]).collect();
    piece.extend((2..m).map(|k| b[(j + k) % m]));
    let count = piece.len();
    let convex = (0..count).all(|k| {
        let [p, q, r] = [k, k + 1, k + 2].map(|k| points[piece[k % count] as usize]);
        (q[0] - p[0]) * (r[1] - q[1]) - (q[1] - p[1]) * (r[0] - q[0]) >= 0.0
    });
    convex.then_some(piece)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn closed(points: &[[f64; 2]]) -> Vec<Line> {
        let next = points.iter().cycle().skip(1);
        points.iter().zip(next).map(|(a, b)| [a[0], a[1], b[0], b[1]]).collect()
    }

    #[track_caller]
    fn check(a: &[[f64; 2]], b: &[[f64; 2]], at: [f64; 2], spare: f64) {
        let (a, b) = (convex_pieces(&closed(a)), convex_pieces(&closed(b)));
        let no_fit = NoFit::new(&a, &b, 5.0);
        let found = no_fit.nearest(at[0], at[1]).map_or(f64::INFINITY, |n| n.spare);
        assert!((found - spare).abs() < 1e-6 || found == spare, "{found} {spare}");
    }

    const SQUARE: [[f64; 2]; 4] = [[-1.0, -1.0], [1.0, -1.0], [1.0, 1.0], [-1.0, 1.0]];
    const ANGLE: [[f64; 2]; 6] =
        [[-3.0, -3.0], [3.0, -3.0], [3.0, 0.0], [0.0, 0.0], [0.0, 3.0], [-3.0, 3.0]];

    #[test]
    fn squares_beside_each_other_keep_their_distance() {
        check(&SQUARE, &SQUARE, [0.0, 0.5], -1.5);
        check(&SQUARE, &SQUARE, [2.0, 0.0], 0.0);
        check(&SQUARE, &SQUARE, [3.0, 0.0], 1.0);
        check(&SQUARE, &SQUARE, [3.0, 3.0], 2.0_f64.sqrt());
        check(&SQUARE, &SQUARE, [9.0, 0.0], f64::INFINITY);
    }

    #[test]
    fn a_square_goes_into_the_corner_of_an_angle() {
        check(&ANGLE, &SQUARE, [1.0, 1.0], 0.0);
        check(&ANGLE, &SQUARE, [2.0, 2.0], 1.0);
        check(&ANGLE, &SQUARE, [0.5, 2.0], -0.5);
        check(&ANGLE, &SQUARE, [0.5, 0.5], -0.5_f64.sqrt());
    }

    #[test]
    fn pieces_make_up_a_shape_with_a_hole() {
        let mut edges = closed(&ANGLE);
        let mut hole = [[-2.5, -2.5], [-0.5, -2.5], [-0.5, -0.5], [-2.5, -0.5]];
        hole.reverse();
        edges.extend(closed(&hole));
        let area = |piece: &Piece| {
            let lines = closed(piece);
            lines.iter().map(|e| e[0] * e[3] - e[1] * e[2]).sum::<f64>() / 2.0
        };
        let pieces = convex_pieces(&edges);
        assert!((pieces.iter().map(area).sum::<f64>() - (27.0 - 4.0)).abs() < 1e-9);
        assert!(pieces.iter().all(|p| area(p) > 0.0));
    }
}
