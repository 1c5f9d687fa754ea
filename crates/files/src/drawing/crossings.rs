//! Contours that run across each other: named, not united, since only a person knows what was meant.

use oddment_core::shape::{Bounds, EdgeSet, Loop, PartSpace, Region};

use super::Problem;
use super::join::Contour;
use crate::words::counted;

/// Contours that cross by less than this (mm) only touch.
const TOUCH: f64 = 0.01;

/// So many boxes are compared, and so many runs of edges measured, before the search for crossings
/// is given up: far more than any drawing of parts needs.
const MOST_BOXES: usize = 20_000_000;
const MOST_RUNS: usize = 1_000_000;

/// Names the first pair of contours that cross each other, and how many pairs there are.
pub(super) fn tell(contours: &[Contour], problems: &mut Vec<Problem>) {
    let boxes: Vec<_> = contours.iter().map(|c| c.shape.bounds()).collect();
    let (pairs, all) = near_pairs(contours, &boxes);
    if !all {
        problems.push(Problem {
            what: "there are too many contours to look at all pairs for crossings".to_owned(),
            at: None,
            layer: None,
            done: "not all pairs were looked at".to_owned(),
            must_settle: true,
        });
    }
    let mut sets: Vec<Option<EdgeSet<PartSpace>>> = vec![None; contours.len()];
    let mut found = (0, None);
    for (a, b) in pairs {
        for i in [a, b] {
            sets[i].get_or_insert_with(|| {
                Region::new(contours[i].shape.clone(), Vec::new()).edge_set()
            });
        }
        let (Some(large), Some(small)) = (&sets[a], &sets[b]) else { continue };
        let Some(gap) = large.boundary_gap(small, 1e-9) else { continue };
        if on_both_sides(&contours[b].shape, large) || on_both_sides(&contours[a].shape, small) {
            found = (found.0 + 1, found.1.or(Some((a, b, gap.from))));
        }
    }
    let (count, Some((a, b, at))) = found else { return };
    let size = |i: usize| format!("{:.2} × {:.2} mm", boxes[i].width(), boxes[i].height());
    problems.push(Problem {
        what: format!(
            "{}, the first of {} and {}",
            counted(count, "pair of contours crosses", "pairs of contours cross"),
            size(a),
            size(b)
        ),
        at: Some(at),
        layer: None,
        done: "each kept as drawn; they were not united".to_owned(),
        must_settle: true,
    });
}

/// Pairs whose boxes meet, the larger contour first, and whether these are all.
fn near_pairs(contours: &[Contour], boxes: &[Bounds<PartSpace>]) -> (Vec<(usize, usize)>, bool) {
    let mut order: Vec<_> = (0..boxes.len()).collect();
    order.sort_by(|a, b| boxes[*a].min.x.total_cmp(&boxes[*b].min.x));
    let mut pairs = Vec::new();
    let (mut compared, mut runs) = (0, 0);
    for (k, i) in order.iter().enumerate() {
        let until = boxes[*i].max.x;
        for j in order[k + 1..].iter().take_while(|j| boxes[**j].min.x <= until) {
            compared += 1;
            if boxes[*i].distance_squared(&boxes[*j]) == 0.0 {
                runs += 1 + contours[*i.min(j)].shape.vertices().len() / 8;
                pairs.push((*i.min(j), *i.max(j)));
            }
            if compared > MOST_BOXES || runs > MOST_RUNS {
                return (pairs, false);
            }
        }
    }
    (pairs, true)
}

/// Whether a contour has points well inside and well outside the other.
fn on_both_sides(contour: &Loop<PartSpace>, other: &EdgeSet<PartSpace>) -> bool {
    let mut sides = [false; 2];
    for edge in contour.edges() {
        for point in [edge.at(0.0), edge.at(0.5)] {
            if other.distance_to(point) > TOUCH {
                sides[usize::from(other.covers(point))] = true;
            }
        }
        if sides == [true; 2] {
            return true;
        }
    }
    false
}
