//! Slides parts together, each as far as it goes, and lays them square where that costs nothing.

use fastrand::Rng;

use super::figure::Place;
use super::relocate::{Steps, descend, random_place};
use super::scene::{Scene, Scratch, is_square, squared};
use crate::job::Stop;

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

/// Lays each part that may take any turn square to the sheet, where it can lie so near where it lies
/// or at one of so many places tried `elsewhere`, and no farther right than the layout reaches.
pub(super) fn straighten(
    scene: &mut Scene<'_>,
    elsewhere: usize,
    rng: &mut Rng,
    scratch: &mut Scratch,
    stop: &Stop,
) {
    let steps = Steps { first: 0.05, last: 1e-3, turn: false };
    let right = scene.right;
    let reach = scene.items.iter().map(|i| i.limits.max[0]).fold(f64::NEG_INFINITY, f64::max);
    scene.right = right.min(reach);
    for i in 0..scene.items.len() {
        if !scene.is_at_odd_angle(i) {
            continue;
        }
        let item = &scene.items[i];
        let (index, here) = (item.figure, item.place);
        let figure = &scene.setting.figures[index];
        let near = Place { turn: squared(here.turn), ..here };
        let found = (0..=elsewhere).find_map(|k| {
            if stop.raised() {
                return None;
            }
            let start = match k {
                0 => near,
                _ => random_place(scene.setting, index, scene.right, rng)
                    .filter(|place| is_square(place.turn))?,
            };
            let collisions = scene.collisions(Some(i), index, start, f64::INFINITY, scratch);
            let (place, left) = descend(figure, (start, collisions), steps, rng, |p, cutoff| {
                scene.collisions(Some(i), index, p, cutoff, scratch)
            });
            (left == 0.0).then(|| scene.items[i].moved(scene.setting, place))
        });
        if let Some(item) = found.filter(|item| item.limits.max[0] <= reach) {
            scene.items[i] = item;
        }
    }
    scene.right = right;
}
