//! One part more: the best clear place found for it among those already laid.

use fastrand::Rng;

use super::figure::{Figure, Place};
use super::relocate::{Steps, descend, random_place};
use super::scene::{Scene, Scratch};

/// What a place should be good for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Goal {
    /// Far left, and among equals low.
    Left,
    /// Toward the left lower corner.
    Corner,
}

impl Goal {
    fn cost(self, figure: &Figure, place: Place) -> f64 {
        // The box of the turned figure, by its edges: the farther corner counts, so that a part
        // lies down rather than sticks out.
        let (sin, cos) = place.turn.sin_cos();
        let (mut right, mut top) = (f64::NEG_INFINITY, f64::NEG_INFINITY);
        for e in &figure.edges {
            right = right.max(e[0] * cos - e[1] * sin);
            top = top.max(e[0] * sin + e[1] * cos);
        }
        let (right, top) = (place.x + right, place.y + top);
        match self {
            Self::Left => right + 0.05 * top,
            Self::Corner => right + top,
        }
    }
}

/// A clear place for one of `figures` (faces of one part) with a low cost, after `samples` tries;
/// `None` where none was met.
pub(super) fn place_one(
    scene: &Scene<'_>,
    figures: &[usize],
    goal: Goal,
    samples: usize,
    rng: &mut Rng,
    scratch: &mut Scratch,
) -> Option<(usize, Place)> {
    let mut best: Option<(usize, Place, f64)> = None;
    let mut nearly: Vec<(usize, Place, f64)> = Vec::new();
    for k in 0..samples {
        let index = figures[k % figures.len()];
        let figure = &scene.setting.figures[index];
        let Some(place) = random_place(scene.setting, index, scene.right, rng) else { continue };
        let cost = goal.cost(figure, place);
        if best.is_some_and(|b| cost >= b.2 + figure.size) {
            continue;
        }
        let cutoff = nearly.last().filter(|_| nearly.len() >= 4).map_or(f64::INFINITY, |n| n.2);
        let collisions = scene.collisions(None, index, place, cutoff, scratch);
        if collisions == 0.0 {
            if best.is_none_or(|b| cost < b.2) {
                best = Some((index, place, cost));
            }
        } else if collisions < cutoff {
            let at = nearly.partition_point(|n| n.2 <= collisions);
            nearly.insert(at, (index, place, collisions));
            nearly.truncate(4);
        }
    }
    // What nearly fits may fit a little further on.
    let steps = Steps { first: 0.1, last: 1e-3, turn: true };
    for (index, place, collisions) in nearly {
        let figure = &scene.setting.figures[index];
        let (place, left) = descend(figure, (place, collisions), steps, rng, |p, cutoff| {
            scene.collisions(None, index, p, cutoff, scratch)
        });
        let cost = goal.cost(figure, place);
        if left == 0.0 && best.is_none_or(|b| cost < b.2) {
            best = Some((index, place, cost));
        }
    }
    let (index, place, cost) = best?;
    let figure = &scene.setting.figures[index];
    let base = cost.abs() + figure.size * 1e3;
    let steps = Steps { first: 0.1, last: 1e-4, turn: true };
    let (place, _) = descend(figure, (place, cost + base), steps, rng, |p, cutoff| {
        // Raised above 0, where a descent would end.
        let cost = goal.cost(figure, p) + base;
        if cost < cutoff && scene.collisions(None, index, p, 0.0, scratch) == 0.0 {
            cost
        } else {
            f64::INFINITY
        }
    });
    Some((index, place))
}
