//! Slides parts together, each as far as it goes, and lays them square where that costs nothing.

use std::f64::consts::FRAC_PI_2;

use fastrand::Rng;

use super::figure::Place;
use super::relocate::{Steps, descend};
use super::scene::{Scene, Scratch};
use crate::part::Turning;

/// Slides each part left as far as it goes, leftmost first, then down, and left again, until
/// nothing moves.
pub(super) fn push_together(scene: &mut Scene<'_>, scratch: &mut Scratch) {
    for round in 0..5 {
        let (dx, dy) = if round % 2 == 0 { (1.0, 0.0) } else { (0.0, 1.0) };
        let mut order: Vec<usize> =
            (0..scene.items.len()).filter(|i| !scene.items[*i].fixed).collect();
        order.sort_by(|a, b| {
            scene.items[*a].limits.min[round % 2].total_cmp(&scene.items[*b].limits.min[round % 2])
        });
        let mut moved = false;
        for i in order {
            let item = &scene.items[i];
            let (figure, here) = (item.figure, item.place);
            let mut step = scene.setting.figures[figure].size * 0.1;
            let least = step * 1e-7;
            let mut best = here;
            while step > least {
                let next = Place { x: best.x - dx * step, y: best.y - dy * step, ..best };
                if scene.collisions(Some(i), figure, next, 0.0, scratch) > 0.0 {
                    step *= 0.5;
                } else {
                    best = next;
                }
            }
            if best != here {
                scene.put(i, best);
                moved = true;
            }
        }
        if !moved {
            break;
        }
    }
}

/// Turns each part that may take any turn square to the sheet, where it can lie so near where it
/// lies and no farther right than the layout reaches.
pub(super) fn straighten(scene: &mut Scene<'_>, rng: &mut Rng, scratch: &mut Scratch) {
    let steps = Steps { first: 0.05, last: 1e-3, turn: false };
    let reach = scene.items.iter().map(|i| i.limits.max[0]).fold(f64::NEG_INFINITY, f64::max);
    for i in 0..scene.items.len() {
        let item = &scene.items[i];
        let (index, here) = (item.figure, item.place);
        let figure = &scene.setting.figures[index];
        let square = (here.turn / FRAC_PI_2).round() * FRAC_PI_2;
        if item.fixed || figure.turning != Turning::Free || square == here.turn {
            continue;
        }
        let start = Place { turn: square, ..here };
        let collisions = scene.collisions(Some(i), index, start, f64::INFINITY, scratch);
        let (place, left) = descend(figure, (start, collisions), steps, rng, |p, cutoff| {
            scene.collisions(Some(i), index, p, cutoff, scratch)
        });
        if left == 0.0 {
            let item = scene.items[i].moved(scene.setting, place);
            if item.limits.max[0] <= reach {
                scene.items[i] = item;
            }
        }
    }
}
