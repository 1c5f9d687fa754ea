//! Whether straight edges come too near each other.

use super::figure::Line;

/// An axis-parallel box.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Limits {
    pub(super) min: [f64; 2],
    pub(super) max: [f64; 2],
}

impl Limits {
    pub(super) const EMPTY: Self = Self { min: [f64::INFINITY; 2], max: [f64::NEG_INFINITY; 2] };

    #[inline]
    pub(super) fn of_line(e: &Line) -> Self {
        Self { min: [e[0].min(e[2]), e[1].min(e[3])], max: [e[0].max(e[2]), e[1].max(e[3])] }
    }

    pub(super) fn of(edges: &[Line]) -> Self {
        edges.iter().fold(Self::EMPTY, |b, e| Self {
            min: [b.min[0].min(e[0]), b.min[1].min(e[1])],
            max: [b.max[0].max(e[0]), b.max[1].max(e[1])],
        })
    }

    pub(super) fn grown(&self, by: f64) -> Self {
        Self {
            min: [self.min[0] - by, self.min[1] - by],
            max: [self.max[0] + by, self.max[1] + by],
        }
    }

    pub(super) fn moved(&self, x: f64, y: f64) -> Self {
        Self {
            min: [self.min[0] + x, self.min[1] + y],
            max: [self.max[0] + x, self.max[1] + y],
        }
    }

    /// Whether a point lies in it.
    pub(super) fn holds(&self, p: [f64; 2]) -> bool {
        (0..2).all(|k| self.min[k] <= p[k] && p[k] <= self.max[k])
    }

    /// Whether the boxes come nearer than `gap` mm along both axes.
    #[inline]
    pub(super) fn meets(&self, other: &Self, gap: f64) -> bool {
        self.min[0] - gap < other.max[0]
            && other.min[0] - gap < self.max[0]
            && self.min[1] - gap < other.max[1]
            && other.min[1] - gap < self.max[1]
    }
}

/// Whether two straight edges come nearer than `keep` mm; where nothing is to be kept, whether they
/// cross by more than `touch` mm.
#[inline]
pub(super) fn line_distance_below(a: &Line, b: &Line, keep: f64, touch: f64) -> bool {
    let (ux, uy) = (a[2] - a[0], a[3] - a[1]);
    let (vx, vy) = (b[2] - b[0], b[3] - b[1]);
    let (wx, wy) = (b[0] - a[0], b[1] - a[1]);
    // Twice the areas of the triangles over one edge with the ends of the other.
    let b0 = ux * wy - uy * wx;
    let b1 = ux * (wy + vy) - uy * (wx + vx);
    let a0 = vy * wx - vx * wy;
    let a1 = vy * (wx - ux) - vx * (wy - uy);
    let (la, lb) = ((ux * ux + uy * uy).sqrt(), (vx * vx + vy * vy).sqrt());
    let (ta, tb) = (touch * la, touch * lb);
    let crosses = (b0.min(b1) < -ta && b0.max(b1) > ta) && (a0.min(a1) < -tb && a0.max(a1) > tb);
    if crosses || keep <= 0.0 {
        return crosses;
    }
    let least = keep - touch;
    let square = least * least;
    near(a, b[0], b[1], square)
        || near(a, b[2], b[3], square)
        || near(b, a[0], a[1], square)
        || near(b, a[2], a[3], square)
}

/// Whether a point is nearer to an edge than the root of `square`.
#[inline]
fn near(e: &Line, x: f64, y: f64, square: f64) -> bool {
    let (ux, uy) = (e[2] - e[0], e[3] - e[1]);
    let (px, py) = (x - e[0], y - e[1]);
    let length = ux * ux + uy * uy;
    let t = if length > 0.0 { ((px * ux + py * uy) / length).clamp(0.0, 1.0) } else { 0.0 };
    let (dx, dy) = (px - t * ux, py - t * uy);
    dx * dx + dy * dy < square
}

/// Whether the edges of two figures come nearer than `keep` mm; the boxes are theirs.
pub(super) fn edges_near(
    a: &[Line],
    a_box: &Limits,
    b: &[Line],
    b_box: &Limits,
    keep: f64,
    touch: f64,
) -> bool {
    let near_a = a_box.grown(keep);
    let near_b = b_box.grown(keep);
    b.iter().any(|f| {
        let around = Limits::of_line(f);
        around.meets(&near_a, 0.0)
            && a.iter().any(|e| {
                let own = Limits::of_line(e);
                own.meets(&near_b, 0.0)
                    && own.meets(&around, keep.max(touch))
                    && line_distance_below(e, f, keep, touch)
            })
    })
}

/// Whether an end or the middle of an edge of `inner` lies in the metal of `outer`, and further than
/// `touch` mm from its edges; the box is that of `outer`. It finds the overlaps of figures whose
/// edges run along each other there, so that none crosses another.
pub(super) fn reaches_into(inner: &[Line], outer: &[Line], outer_box: &Limits, touch: f64) -> bool {
    let points =
        inner.iter().flat_map(|e| [[e[0], e[1]], [(e[0] + e[2]) / 2.0, (e[1] + e[3]) / 2.0]]);
    points.filter(|p| outer_box.holds(*p)).any(|[x, y]| {
        turns_round(outer.iter().copied(), x, y) > 0
            && !outer.iter().any(|e| near(e, x, y, touch * touch))
    })
}

/// How often closed chains of straight edges wind counter-clockwise round a point.
pub(super) fn turns_round(lines: impl Iterator<Item = Line>, x: f64, y: f64) -> i32 {
    lines
        .map(|e| {
            let side = (e[2] - e[0]) * (y - e[1]) - (e[3] - e[1]) * (x - e[0]);
            i32::from(e[1] <= y && e[3] > y && side > 0.0)
                - i32::from(e[1] > y && e[3] <= y && side < 0.0)
        })
        .sum()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn closed(points: &[[f64; 2]]) -> (Vec<Line>, Limits) {
        let next = points.iter().cycle().skip(1);
        let lines: Vec<Line> =
            points.iter().zip(next).map(|(a, b)| [a[0], a[1], b[0], b[1]]).collect();
        let limits = Limits::of(&lines);
        (lines, limits)
    }

    #[track_caller]
    fn check(a: &[[f64; 2]], b: &[[f64; 2]], overlap: bool) {
        let ((a, a_box), (b, b_box)) = (closed(a), closed(b));
        let found = edges_near(&a, &a_box, &b, &b_box, 0.0, 1e-6)
            || reaches_into(&a, &b, &b_box, 1e-6)
            || reaches_into(&b, &a, &a_box, 1e-6);
        assert_eq!(found, overlap);
    }

    #[test]
    fn edges_that_run_along_each_other_hide_no_overlap() {
        let block = [[0.0, 0.0], [6.0, 0.0], [6.0, 2.0], [2.0, 2.0], [2.0, 4.0], [0.0, 4.0]];
        let leg = |y: f64| [[0.0, y], [2.0, y], [2.0, y + 5.0], [0.0, y + 5.0]];
        check(&block, &leg(1.4), true);
        check(&block, &leg(4.0), false);
        check(&block, &[[2.0, 2.0], [6.0, 2.0], [6.0, 4.0], [2.0, 4.0]], false);
    }
}
