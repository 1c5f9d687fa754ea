//! A clear place for one part on an empty sheet, where one is found at a glance.

use std::f64::consts::FRAC_PI_2;

use fastrand::Rng;

use super::ARC_BOUND;
use super::figure::{Figure, Place, smallest};
use super::ground::Ground;
use super::relocate::{Steps, descend};
use super::scene::{Scene, Scratch, Setting};
use crate::distances::Clearances;
use crate::part::{Part, Turning};
use crate::shape::{PartSpace, Pose, SheetSpace};
use crate::sheet::Sheet;

/// Places tried along each side of the sheet.
const GRID: usize = 18;

/// Most turns tried.
const MOST_TURNS: usize = 4;

/// Places kept that are nearly clear, to be made better.
const KEPT: usize = 6;

/// A pose in which the packer finds the part clear of everything on the empty sheet. `None` says
/// nothing: a place may still be there.
pub(crate) fn guess(
    sheet: &Sheet,
    part: &Part,
    clearances: &Clearances,
) -> Option<Pose<PartSpace, SheetSpace>> {
    let least = smallest(std::iter::once(part));
    let figures: Vec<Figure> = part
        .faces()
        .iter()
        .map(|flipped| Figure::new(0, part, *flipped, sheet.grain, ARC_BOUND, least))
        .collect();
    let ground = Ground::new(sheet, clearances, ARC_BOUND, &figures, 0.0);
    let setting = Setting::new(figures, ground, clearances.between_parts(), 0.0, &[]);
    let scene = Scene::new(&setting, Vec::new(), f64::INFINITY);
    let mut scratch = Scratch::default();
    let plain = &setting.ground.plain;
    let mut nearly: Vec<(f64, usize, Place)> = Vec::new();
    for (index, figure) in setting.figures.iter().enumerate() {
        let turns = match &figure.turning {
            Turning::Free => (0..MOST_TURNS).map(|k| k as f64 * FRAC_PI_2).collect(),
            Turning::Only(angles) => angles.clone(),
        };
        for turn in turns.into_iter().take(MOST_TURNS) {
            let own = figure.limits(turn);
            let low = [0, 1].map(|k| plain.min[k] - own.min[k]);
            let room = [0, 1].map(|k| plain.max[k] - own.max[k] - low[k]);
            if room[0] < 0.0 || room[1] < 0.0 {
                continue;
            }
            for k in 0..GRID * GRID {
                let share = |i: usize| i as f64 / (GRID - 1) as f64;
                let place = Place {
                    x: low[0] + room[0] * share(k % GRID),
                    y: low[1] + room[1] * share(k / GRID),
                    turn,
                };
                let cutoff = nearly.get(KEPT - 1).map_or(f64::INFINITY, |n| n.0);
                let depth = scene.collisions(None, index, place, cutoff, &mut scratch);
                if depth == 0.0 {
                    return Some(figure.pose(place));
                }
                if depth < cutoff {
                    let at = nearly.partition_point(|n| n.0 <= depth);
                    nearly.insert(at, (depth, index, place));
                    nearly.truncate(KEPT);
                }
            }
        }
    }
    let mut rng = Rng::with_seed(1);
    let steps = Steps { first: 0.1, last: 1e-3, turn: true };
    nearly.into_iter().find_map(|(depth, index, place)| {
        let figure = &setting.figures[index];
        let (place, left) = descend(figure, (place, depth), steps, &mut rng, |p, cutoff| {
            scene.collisions(None, index, p, cutoff, &mut scratch)
        });
        (left == 0.0).then(|| figure.pose(place))
    })
}
