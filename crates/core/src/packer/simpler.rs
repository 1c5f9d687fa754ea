//! Finely drawn outlines with fewer corners, for the search: splines arrive as hundreds of lines, and
//! each costs time in every collision.

/// Corners down to which an outline is simplified for the search.
pub(super) const ENOUGH: usize = 80;

/// How far (share of its size) an outline may be moved outward in one step.
const FARTHEST: f64 = 1e-3;

/// A closed outline that encloses all that `points` do, the solid on its left, with fewer corners
/// where it has more than `enough`: corners that bend in are cut off, and short edges between corners that bend
/// out give way to the point where their neighbours meet; the least change first.
pub(super) fn simpler(mut points: Vec<[f64; 2]>, enough: usize) -> Vec<[f64; 2]> {
    let size = (0..2)
        .map(|axis| {
            let of =
                |pick: fn(f64, f64) -> f64, from| points.iter().map(|p| p[axis]).fold(from, pick);
            of(f64::max, f64::NEG_INFINITY) - of(f64::min, f64::INFINITY)
        })
        .fold(0.0, f64::max);
    while points.len() > enough {
        let mut steps: Vec<Step> = (0..points.len()).filter_map(|at| step(&points, at)).collect();
        steps.retain(|s| s.moved <= FARTHEST * size);
        steps.sort_by(|a, b| a.moved.total_cmp(&b.moved));
        let Some(step) = steps.into_iter().find(|s| s.is_free(&points)) else { break };
        step.take(&mut points);
    }
    points
}

/// One corner fewer.
struct Step {
    /// The corner cut off, or the first of the edge given up.
    at: usize,
    /// Where the neighbours of the edge meet.
    meet: Option<[f64; 2]>,
    /// The triangle that is added.
    added: [[f64; 2]; 3],
    /// How far the outline moves.
    moved: f64,
}

fn cross(a: [f64; 2], b: [f64; 2], c: [f64; 2]) -> f64 {
    (b[0] - a[0]) * (c[1] - b[1]) - (b[1] - a[1]) * (c[0] - b[0])
}

fn apart(a: [f64; 2], b: [f64; 2]) -> f64 {
    (b[0] - a[0]).hypot(b[1] - a[1])
}

/// What could be done at a corner.
fn step(points: &[[f64; 2]], at: usize) -> Option<Step> {
    let n = points.len();
    let [before, p, q, after] = [n - 1, 0, 1, 2].map(|k| points[(at + k) % n]);
    let turn = cross(before, p, q);
    if turn <= 0.0 {
        let moved = -turn / apart(before, q).max(f64::MIN_POSITIVE);
        return Some(Step { at, meet: None, added: [before, q, p], moved });
    }
    if cross(p, q, after) <= 0.0 {
        return None;
    }
    // The lines before and after the edge meet beyond it only if they turn by less than 180°.
    let (u, v) = ([p[0] - before[0], p[1] - before[1]], [after[0] - q[0], after[1] - q[1]]);
    let across = u[0] * v[1] - u[1] * v[0];
    if across <= 0.0 {
        return None;
    }
    let along = ((q[0] - p[0]) * v[1] - (q[1] - p[1]) * v[0]) / across;
    let meet = [p[0] + along * u[0], p[1] + along * u[1]];
    let moved = cross(p, meet, q) / apart(p, q).max(f64::MIN_POSITIVE);
    (along > 0.0).then_some(Step { at, meet: Some(meet), added: [p, meet, q], moved })
}

impl Step {
    /// Whether no other corner lies in what is added: nothing crosses it then.
    fn is_free(&self, points: &[[f64; 2]]) -> bool {
        let [a, b, c] = self.added;
        points
            .iter()
            .filter(|p| !self.added.contains(p))
            .all(|p| cross(a, b, *p) < 0.0 || cross(b, c, *p) < 0.0 || cross(c, a, *p) < 0.0)
    }

    fn take(self, points: &mut Vec<[f64; 2]>) {
        if let Some(meet) = self.meet {
            let next = (self.at + 1) % points.len();
            points[next] = meet;
        }
        points.remove(self.at);
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::f64::consts::TAU;

    fn area(points: &[[f64; 2]]) -> f64 {
        let next = points.iter().cycle().skip(1);
        points.iter().zip(next).map(|(a, b)| a[0] * b[1] - a[1] * b[0]).sum::<f64>() / 2.0
    }

    fn drawn(corners: usize, radius: impl Fn(f64) -> f64) -> Vec<[f64; 2]> {
        let at = |k: usize| k as f64 / corners as f64 * TAU;
        (0..corners)
            .map(|k| (at(k).sin_cos(), radius(at(k))))
            .map(|((s, c), r)| [r * c, r * s])
            .collect()
    }

    /// How far outside the outline a point lies; 0 within.
    fn outside(points: &[[f64; 2]], p: [f64; 2]) -> f64 {
        let next = points.iter().cycle().skip(1);
        let (mut inside, mut least) = (false, f64::INFINITY);
        for (a, b) in points.iter().zip(next) {
            if (a[1] > p[1]) != (b[1] > p[1])
                && p[0] < a[0] + (b[0] - a[0]) * (p[1] - a[1]) / (b[1] - a[1])
            {
                inside = !inside;
            }
            let (u, w) = ([b[0] - a[0], b[1] - a[1]], [p[0] - a[0], p[1] - a[1]]);
            let t = ((w[0] * u[0] + w[1] * u[1]) / (u[0] * u[0] + u[1] * u[1])).clamp(0.0, 1.0);
            least = least.min((w[0] - t * u[0]).hypot(w[1] - t * u[1]));
        }
        if inside { 0.0 } else { least }
    }

    #[test]
    fn a_fine_wave_keeps_all_it_encloses_with_fewer_corners() {
        for waves in [0.0, 3.0, 7.0] {
            let fine = drawn(1000, |a| 100.0 + 30.0 * (waves * a).sin());
            let coarse = simpler(fine.clone(), ENOUGH);
            assert!(coarse.len() < 2 * ENOUGH, "{}", coarse.len());
            assert!(fine.iter().all(|p| outside(&coarse, *p) < 1e-9));
            let grown = area(&coarse) / area(&fine);
            assert!((1.0..1.01).contains(&grown), "{grown}");
        }
    }

    #[test]
    fn a_notch_stays_open() {
        let fine = drawn(400, |a| if (a - 1.0).abs() < 0.02 { 20.0 } else { 100.0 });
        let coarse = simpler(fine.clone(), ENOUGH);
        assert!(coarse.len() < fine.len());
        assert!(outside(&coarse, [60.0 * 1.0_f64.cos(), 60.0 * 1.0_f64.sin()]) > 0.5);
    }

    #[test]
    fn few_corners_stay_as_they_are() {
        let square = vec![[0.0, 0.0], [1.0, 0.0], [1.0, 1.0], [0.0, 1.0]];
        assert_eq!(simpler(square.clone(), 4), square);
    }
}
