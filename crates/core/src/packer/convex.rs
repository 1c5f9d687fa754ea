//! How near convex polygons come to each other, or how deep they lie in each other.

/// A convex polygon, counter-clockwise; a segment or a point too. The outward normal of each edge
/// stands beside the point where the edge starts.
#[derive(Clone, Copy, Debug)]
pub(super) struct Convex<'a> {
    pub(super) points: &'a [[f64; 2]],
    pub(super) normals: &'a [[f64; 2]],
}

impl Convex<'_> {
    /// Whether it covers a point.
    pub(super) fn covers(&self, p: [f64; 2]) -> bool {
        let sides = self.points.iter().zip(self.normals);
        sides.into_iter().all(|(q, n)| n[0] * (p[0] - q[0]) + n[1] * (p[1] - q[1]) <= 0.0)
    }
}

/// Outward normals of the edges of a convex polygon.
pub(super) fn normals(points: &[[f64; 2]]) -> Vec<[f64; 2]> {
    if points.len() < 2 {
        return Vec::new();
    }
    let next = points.iter().cycle().skip(1);
    points
        .iter()
        .zip(next)
        .map(|(a, b)| {
            let (x, y) = (b[0] - a[0], b[1] - a[1]);
            let length = x.hypot(y);
            [y / length, -x / length]
        })
        .collect()
}

/// How far two polygons are apart, or minus the least way that parts them where they overlap; no
/// more than `most`, and no work beyond what that takes. The widest gap is found along the normals
/// of both (the separating axes), each with the far point of the other walking round as the normal
/// turns.
pub(super) fn spare(a: Convex<'_>, b: Convex<'_>, most: f64) -> f64 {
    let one = widest(a, b, most);
    if one.width >= most {
        return most;
    }
    let two = widest(b, a, most);
    if two.width >= most {
        return most;
    }
    let (best, of, other) = if one.width >= two.width { (one, a, b) } else { (two, b, a) };
    if best.width <= 0.0 {
        return best.width;
    }
    let (from, to) = (of.points[best.edge], of.points[(best.edge + 1) % of.points.len()]);
    let (p, along) = (other.points[best.point], [to[0] - from[0], to[1] - from[1]]);
    let t = along[0] * (p[0] - from[0]) + along[1] * (p[1] - from[1]);
    if t >= 0.0 && t <= along[0] * along[0] + along[1] * along[1] {
        return best.width;
    }
    gap(of, other, of.normals[best.edge]).min(most)
}

#[derive(Clone, Copy, Debug)]
struct Axis {
    width: f64,
    edge: usize,
    point: usize,
}

/// The edge of `a` beyond which `b` lies farthest, or least deep, and the point of `b` nearest to it.
#[inline]
fn widest(a: Convex<'_>, b: Convex<'_>, most: f64) -> Axis {
    let m = b.points.len();
    let mut best = Axis { width: f64::NEG_INFINITY, edge: 0, point: 0 };
    let dot = |n: &[f64; 2], j: usize| n[0] * b.points[j][0] + n[1] * b.points[j][1];
    let mut at = 0;
    for (i, n) in a.normals.iter().enumerate() {
        let mut low = dot(n, at);
        let turn = i.checked_sub(1).map_or(-1.0, |k| {
            let before = a.normals[k];
            n[0] * before[0] + n[1] * before[1]
        });
        // After a sharp turn the far point is looked for anew: rounding might stop the walk.
        if turn < 0.0 {
            for j in 0..m {
                let value = dot(n, j);
                if value < low {
                    (at, low) = (j, value);
                }
            }
        } else {
            for _ in 1..m {
                let next = if at + 1 == m { 0 } else { at + 1 };
                let value = dot(n, next);
                if value > low {
                    break;
                }
                (at, low) = (next, value);
            }
        }
        let width = low - (n[0] * a.points[i][0] + n[1] * a.points[i][1]);
        if width > best.width {
            best = Axis { width, edge: i, point: at };
            if width >= most {
                break;
            }
        }
    }
    best
}

/// The distance of two polygons that do not meet, `toward` leading about from `a` to `b`: the point
/// nearest to the origin among the differences of their points, approached by one extreme point more
/// at a time (Gilbert, Johnson & Keerthi 1988).
fn gap(a: Convex<'_>, b: Convex<'_>, toward: [f64; 2]) -> f64 {
    let least = |along: [f64; 2]| {
        let (from, to) = (farthest(a, along), farthest(b, [-along[0], -along[1]]));
        [to[0] - from[0], to[1] - from[1]]
    };
    let mut nearest = least(toward);
    let mut ends = [nearest; 2];
    for _ in 0..a.points.len() + b.points.len() {
        let next = least(nearest);
        if dot(nearest, next) >= dot(nearest, nearest) * (1.0 - 1e-14) {
            break;
        }
        let [one, two] = ends.map(|end| (nearest_between(next, end), end));
        let (closer, end) = if dot(one.0, one.0) <= dot(two.0, two.0) { one } else { two };
        if dot(closer, closer) >= dot(nearest, nearest) {
            break;
        }
        (nearest, ends) = (closer, [next, end]);
    }
    nearest[0].hypot(nearest[1])
}

/// The point of a polygon that lies farthest along a direction.
fn farthest(polygon: Convex<'_>, along: [f64; 2]) -> [f64; 2] {
    let mut best = (f64::NEG_INFINITY, [0.0; 2]);
    for p in polygon.points {
        let far = dot(*p, along);
        if far > best.0 {
            best = (far, *p);
        }
    }
    best.1
}

/// The point nearest to the origin between two points.
fn nearest_between(p: [f64; 2], q: [f64; 2]) -> [f64; 2] {
    let along = [q[0] - p[0], q[1] - p[1]];
    let length = dot(along, along);
    let t = if length > 0.0 { (-dot(p, along) / length).clamp(0.0, 1.0) } else { 0.0 };
    [p[0] + t * along[0], p[1] + t * along[1]]
}

fn dot(a: [f64; 2], b: [f64; 2]) -> f64 {
    a[0] * b[0] + a[1] * b[1]
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    #[track_caller]
    fn check(a: &[[f64; 2]], b: &[[f64; 2]], expected: f64) {
        let (na, nb) = (normals(a), normals(b));
        let (a, b) = (Convex { points: a, normals: &na }, Convex { points: b, normals: &nb });
        for found in [spare(a, b, 100.0), spare(b, a, 100.0)] {
            assert!((found - expected).abs() < 1e-12, "{found} {expected}");
        }
    }

    const SQUARE: [[f64; 2]; 4] = [[-1.0, -1.0], [1.0, -1.0], [1.0, 1.0], [-1.0, 1.0]];

    #[test]
    fn polygons_segments_and_points_are_measured_alike() {
        let moved = |x: f64, y: f64| SQUARE.map(|p| [p[0] + x, p[1] + y]);
        check(&SQUARE, &moved(5.0, 0.5), 3.0);
        check(&SQUARE, &moved(5.0, 6.0), 5.0);
        check(&SQUARE, &moved(1.5, 1.0), -0.5);
        check(&SQUARE, &[[3.0, 0.0]], 2.0);
        check(&SQUARE, &[[0.5, 0.0]], -0.5);
        check(&SQUARE, &[[4.0, 5.0]], 5.0);
        check(&SQUARE, &[[-3.0, 0.9], [3.0, 0.9]], -0.1);
        check(&SQUARE, &[[2.0, -9.0], [2.0, 9.0]], 1.0);
    }

    fn round(corners: usize, radius: f64, at: [f64; 2]) -> Vec<[f64; 2]> {
        (0..corners)
            .map(|k| {
                let angle = std::f64::consts::TAU * k as f64 / corners as f64;
                [at[0] + radius * angle.cos(), at[1] + radius * angle.sin()]
            })
            .collect()
    }

    /// The least square of the distances from corners of `a` to edges of `b`.
    fn corners_to_edges(a: Convex<'_>, b: Convex<'_>) -> f64 {
        let m = b.points.len();
        let mut least = f64::INFINITY;
        for (j, from) in b.points.iter().enumerate() {
            let to = b.points[(j + 1) % m];
            let (ux, uy) = (to[0] - from[0], to[1] - from[1]);
            let length = ux * ux + uy * uy;
            for p in a.points {
                let (px, py) = (p[0] - from[0], p[1] - from[1]);
                let t =
                    if length > 0.0 { ((px * ux + py * uy) / length).clamp(0.0, 1.0) } else { 0.0 };
                let (dx, dy) = (px - t * ux, py - t * uy);
                least = least.min(dx * dx + dy * dy);
            }
        }
        least
    }

    proptest! {
        #[test]
        fn a_gap_is_that_between_corners_and_edges(
            corners in (3_usize..12, 3_usize..40), angle in -4.0..4.0_f64, apart in 1e-3..30.0_f64,
            slim in (0.02..1.0_f64, 0.02..1.0_f64), turn in -4.0..4.0_f64,
        ) {
            let (sin, cos) = turn.sin_cos();
            let a = round(corners.0, 5.0, [0.0, 0.0]).into_iter().map(|p| [p[0], p[1] * slim.0]);
            let b = round(corners.1, 9.0, [0.0, 0.0]).into_iter().map(|p| {
                let p = [p[0] * slim.1, p[1]];
                let away = 14.0 + apart;
                [p[0] * cos - p[1] * sin + away * angle.cos(),
                 p[0] * sin + p[1] * cos + away * angle.sin()]
            });
            let (a, b): (Vec<_>, Vec<_>) = (a.collect(), b.collect());
            let (na, nb) = (normals(&a), normals(&b));
            let (a, b) = (Convex { points: &a, normals: &na }, Convex { points: &b, normals: &nb });
            let expected = corners_to_edges(a, b).min(corners_to_edges(b, a)).sqrt();
            for found in [spare(a, b, 100.0), spare(b, a, 100.0)] {
                prop_assert!((found - expected).abs() < 1e-9, "{found} {expected}");
            }
        }

        #[test]
        fn many_corners_come_near_to_discs(
            x in -20.0..20.0_f64, y in -20.0..20.0_f64, r in 1.0..9.0_f64, start in 0_usize..60,
        ) {
            let a = round(400, 5.0, [0.0, 0.0]);
            let mut b = round(300, r, [x, y]);
            b.rotate_left(start);
            let (na, nb) = (normals(&a), normals(&b));
            let found = spare(
                Convex { points: &a, normals: &na },
                Convex { points: &b, normals: &nb },
                100.0,
            );
            let expected = x.hypot(y) - r - 5.0;
            prop_assert!((found - expected).abs() < 2e-3, "{found} {expected}");
        }
    }
}
