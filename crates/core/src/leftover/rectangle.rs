//! The largest upright rectangle that the metal holds.

use crate::shape::{Bounds, Point, Region, Side, Space, flatten_region};

use super::largest_circle;

/// How far (mm) the polygons that stand for arcs may lie inside them.
const ARC_BOUND: f64 = 0.01;

/// A boundary may reach so far (mm) into the rectangle: coordinates that are meant to be equal
/// differ by rounding.
const NOISE: f64 = 1e-9;

/// Lines of the first grid each way, besides those through the corners of the metal.
const COARSE: usize = 96;

/// Corners up to so many each way get a line of their own.
const MOST_CORNERS: usize = 160;

/// Lines about each side of the rectangle in a finer grid.
const FINE: usize = 24;

/// Finer grids tried; each narrows the place of a side by [`FINE`] / 2.
const ROUNDS: usize = 5;

/// The upright rectangle of the largest area found in a region's metal; `None` where there is none
/// to speak of.
///
/// The metal is laid under a grid, of which the cells that hold nothing else count, and the largest
/// rectangle of such cells is found row by row (as in a histogram). Then the grid is drawn anew,
/// finer about the rectangle's sides. Where the metal's edges are upright themselves, that is exact;
/// elsewhere the rectangle is a little less than the largest, never more than the metal.
pub fn largest_rectangle<S: Space>(region: &Region<S>) -> Option<Bounds<S>> {
    let rings = flatten_region(region, ARC_BOUND, Side::Inward);
    let lines: Vec<(Point<S>, Point<S>)> = rings
        .iter()
        .flat_map(|r| r.iter().copied().zip(r.iter().copied().cycle().skip(1)))
        .collect();
    let bounds = Bounds::of(rings.iter().flatten().copied());
    let corners = |of: fn(&Point<S>) -> f64| {
        let mut all: Vec<f64> =
            region.loops().flat_map(|l| l.vertices()).map(|v| of(&v.point)).collect();
        all.sort_by(f64::total_cmp);
        all.dedup();
        if all.len() <= MOST_CORNERS { all } else { Vec::new() }
    };
    let mut xs = spread(bounds.min.x, bounds.max.x, COARSE);
    let mut ys = spread(bounds.min.y, bounds.max.y, COARSE);
    xs.extend(corners(|p| p.x));
    ys.extend(corners(|p| p.y));
    let mut best = match largest_on_grid(&lines, in_order(&mut xs), in_order(&mut ys)) {
        Some(found) => found,
        None => {
            (xs, ys) = lines_about_the_deepest(region)?;
            largest_on_grid(&lines, &xs, &ys)?
        }
    };
    for _ in 0..ROUNDS {
        let mut finer_xs = finer(&xs, best.min.x, best.max.x);
        let mut finer_ys = finer(&ys, best.min.y, best.max.y);
        let found = largest_on_grid(&lines, in_order(&mut finer_xs), in_order(&mut finer_ys));
        if let Some(found) = found.filter(|f| area(f) > area(&best)) {
            best = found;
        }
        (xs, ys) = (finer_xs, finer_ys);
    }
    Some(best)
}

/// A grid about the deepest point, for metal so slender that no cell of the first grid lies in it.
fn lines_about_the_deepest<S: Space>(region: &Region<S>) -> Option<(Vec<f64>, Vec<f64>)> {
    let deepest = largest_circle(region, 1e-3)?;
    let about = |at: f64| {
        let reach = 4.0 * deepest.radius;
        spread(at - reach, at + reach, COARSE)
    };
    Some((about(deepest.centre.x), about(deepest.centre.y)))
}

fn area<S: Space>(b: &Bounds<S>) -> f64 {
    b.width() * b.height()
}

fn spread(from: f64, to: f64, pieces: usize) -> Vec<f64> {
    (0..=pieces).map(|i| from + (to - from) * (i as f64 / pieces as f64)).collect()
}

fn in_order(lines: &mut Vec<f64>) -> &[f64] {
    lines.sort_by(f64::total_cmp);
    lines.dedup();
    lines
}

/// Lines about both sides, from the line before to the line after in the present grid.
fn finer(lines: &[f64], low: f64, high: f64) -> Vec<f64> {
    let mut finer = Vec::with_capacity(2 * FINE + 4);
    for side in [low, high] {
        let at = lines.partition_point(|x| *x < side);
        let (before, after) = (lines[at.saturating_sub(1)], lines[(at + 1).min(lines.len() - 1)]);
        finer.extend(spread(before, after, FINE));
        finer.push(side);
    }
    finer
}

/// The largest rectangle made of the grid's cells that hold nothing but metal.
fn largest_on_grid<S: Space>(
    lines: &[(Point<S>, Point<S>)],
    xs: &[f64],
    ys: &[f64],
) -> Option<Bounds<S>> {
    let columns = xs.len().checked_sub(1)?;
    let crossed = crossed_cells(lines, xs, ys);
    // How many free cells each column has below the present row's top.
    let mut depth = vec![0_usize; columns];
    let mut best: Option<Bounds<S>> = None;
    for (row, pair) in ys.windows(2).enumerate() {
        let inside = inside_columns(lines, xs, 0.5 * (pair[0] + pair[1]));
        for column in 0..columns {
            let free = inside[column] && !crossed[row * columns + column];
            depth[column] = if free { depth[column] + 1 } else { 0 };
        }
        widest(&depth, |left, right, deep| {
            let found = Bounds {
                min: Point::new(xs[left], ys[row + 1 - deep]),
                max: Point::new(xs[right], ys[row + 1]),
            };
            if best.as_ref().is_none_or(|b| area(&found) > area(b)) {
                best = Some(found);
            }
        });
    }
    best
}

/// Calls `offer(left, right, depth)` for every run of columns that no neighbour of at least their
/// least depth widens.
fn widest(depth: &[usize], mut offer: impl FnMut(usize, usize, usize)) {
    let mut open: Vec<(usize, usize)> = Vec::new();
    for (column, deep) in depth.iter().copied().chain([0]).enumerate() {
        let mut start = column;
        while let Some((left, height)) = open.pop_if(|(_, height)| *height >= deep) {
            if height > deep {
                offer(left, column, height);
            }
            start = left;
        }
        if deep > 0 {
            open.push((start, deep));
        }
    }
}

/// The cells, row by row, into which some line leads.
fn crossed_cells<S: Space>(lines: &[(Point<S>, Point<S>)], xs: &[f64], ys: &[f64]) -> Vec<bool> {
    let columns = xs.len() - 1;
    let mut crossed = vec![false; columns * ys.len().saturating_sub(1)];
    // The cells from the one that reaches above `low` to the last that begins below `high`.
    let span = |grid: &[f64], low: f64, high: f64| {
        let first = grid.partition_point(|g| *g <= low + NOISE).saturating_sub(1);
        let end = grid.partition_point(|g| *g < high - NOISE).min(grid.len() - 1);
        first..end
    };
    for (p, q) in lines {
        let (left, right) = if p.x <= q.x { (*p, *q) } else { (*q, *p) };
        let slope = if right.x > left.x { (right.y - left.y) / (right.x - left.x) } else { 0.0 };
        for column in span(xs, left.x, right.x) {
            let height = |x: f64| {
                if x <= left.x {
                    left.y
                } else if x >= right.x {
                    right.y
                } else {
                    left.y + slope * (x - left.x)
                }
            };
            let (a, b) = (height(xs[column]), height(xs[column + 1]));
            for row in span(ys, a.min(b), a.max(b)) {
                crossed[row * columns + column] = true;
            }
        }
    }
    crossed
}

/// For each column, whether its middle at height `y` lies in the metal.
fn inside_columns<S: Space>(lines: &[(Point<S>, Point<S>)], xs: &[f64], y: f64) -> Vec<bool> {
    let mut meets: Vec<f64> = lines
        .iter()
        .filter(|(p, q)| (p.y <= y) != (q.y <= y))
        .map(|(p, q)| p.x + (q.x - p.x) * ((y - p.y) / (q.y - p.y)))
        .collect();
    meets.sort_by(f64::total_cmp);
    xs.windows(2)
        .map(|pair| meets.partition_point(|m| *m < 0.5 * (pair[0] + pair[1])) % 2 == 1)
        .collect()
}
