//! Slides parts together, each as far as it goes.

use super::figure::Place;
use super::scene::{Scene, Scratch};

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
            let (figure, here) = (item.figure, item.stance.place);
            let mut step = scene.setting.figures[figure].size * 0.1;
            let least = step * 1e-4;
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
