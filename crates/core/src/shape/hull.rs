//! Convex hulls.

use super::{Point, Space};

/// The convex hull of some points, counter-clockwise from the lowest x, without points on its
/// edges (Andrew's monotone chain).
pub fn hull<S: Space>(points: &[Point<S>]) -> Vec<Point<S>> {
    let mut sorted = points.to_vec();
    sorted.sort_by(|a, b| a.x.total_cmp(&b.x).then(a.y.total_cmp(&b.y)));
    sorted.dedup();
    if sorted.len() < 3 {
        return sorted;
    }
    let mut hull: Vec<Point<S>> = Vec::with_capacity(sorted.len() + 1);
    let mut half = |points: &mut dyn Iterator<Item = Point<S>>| {
        let base = hull.len();
        for p in points {
            while hull.len() >= base + 2 {
                let (a, b) = (hull[hull.len() - 2], hull[hull.len() - 1]);
                if (b - a).cross(p - b) > 0.0 {
                    break;
                }
                hull.pop();
            }
            hull.push(p);
        }
        hull.pop();
    };
    half(&mut sorted.iter().copied());
    half(&mut sorted.iter().rev().copied());
    hull
}
