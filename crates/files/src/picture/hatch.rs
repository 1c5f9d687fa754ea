//! Hatching: parallel lines inside outlines, as lines of their own, so that every kind of picture
//! shows it alike.

use oddment_core::shape::{Loop, Point, Side, Space, flatten};

use super::{PagePath, PageSpace};

/// How far (mm of the shape) hatch lines may miss a curved outline.
const BOUND: f64 = 0.5;
/// Hatch lines of one shape; a picture shows no more.
const MOST_LINES: f64 = 2000.0;

/// Lines at `angle` radians (on the page, y down), `spacing` points apart, within `loops` by
/// even-odd.
pub(crate) fn hatch<S: Space>(
    loops: &[&Loop<S>],
    to_page: &impl Fn(Point<S>) -> Point<PageSpace>,
    angle: f64,
    spacing: f64,
) -> PagePath {
    // In a frame turned so that the hatch lines lie along x.
    let (sin, cos) = angle.sin_cos();
    let turned = |p: Point<PageSpace>| (p.x * cos + p.y * sin, p.y * cos - p.x * sin);
    let back = |x: f64, y: f64| Point::new(x * cos - y * sin, x * sin + y * cos);
    let mut sides = Vec::new();
    for l in loops {
        let points: Vec<(f64, f64)> =
            flatten(l, BOUND, Side::Inward).into_iter().map(|p| turned(to_page(p))).collect();
        sides.extend((0..points.len()).map(|i| (points[i], points[(i + 1) % points.len()])));
    }
    let low = sides.iter().map(|s| s.0.1).fold(f64::INFINITY, f64::min);
    let high = sides.iter().map(|s| s.0.1).fold(f64::NEG_INFINITY, f64::max);
    let mut path = PagePath::default();
    if !(high - low).is_finite() || (high - low) / spacing > MOST_LINES {
        return path;
    }
    let mut y = (low / spacing).ceil() * spacing;
    while y < high {
        let mut crossings: Vec<f64> = sides
            .iter()
            .filter(|(a, b)| (a.1 <= y) != (b.1 <= y))
            .map(|(a, b)| a.0 + (b.0 - a.0) * (y - a.1) / (b.1 - a.1))
            .collect();
        crossings.sort_by(f64::total_cmp);
        for pair in crossings.chunks_exact(2) {
            let line = PagePath::polyline([back(pair[0], y), back(pair[1], y)], false);
            path.steps.extend(line.steps);
        }
        y += spacing;
    }
    path
}
