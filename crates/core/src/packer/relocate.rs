//! A new place for one part: samples all over the free metal and around where it lies, the best of
//! them improved by small steps.

use std::f64::consts::{FRAC_PI_2, TAU};

use fastrand::Rng;

use super::figure::{Figure, Place};
use super::ground::Ground;
use super::scene::{Scene, Scratch, Setting, is_square};
use crate::part::Turning;

/// How near (share of the figure's size) a contact must be to be tried.
pub(super) const SNAP: f64 = 0.02;

/// How many places a relocation tries.
#[derive(Clone, Copy, Debug)]
pub(super) struct Effort {
    /// Samples all over the free metal.
    pub(super) anywhere: usize,
    /// Samples around where the part lies.
    pub(super) nearby: usize,
    /// Samples with an edge along an edge of something else, of parts that may take any turn.
    pub(super) flush: usize,
    /// Samples kept and improved.
    pub(super) kept: usize,
    /// Whether parts that may take any turn are tried at others than quarter turns.
    pub(super) turn: bool,
}

/// Where the largest disc of a figure may come to lie: nodes of the ground's field, roomiest first.
#[derive(Clone, Debug)]
pub(super) struct Roomy {
    nodes: Vec<([f64; 2], f64)>,
    cell: f64,
}

impl Roomy {
    pub(super) fn new(ground: &Ground) -> Self {
        let field = ground.field();
        let mut nodes: Vec<_> = field.nodes().filter(|(_, spare)| *spare > 0.0).collect();
        nodes.sort_by(|a, b| b.1.total_cmp(&a.1));
        Self { nodes, cell: field.cell() }
    }

    /// A random point with room for a disc of `radius` mm left of `right`, if one was met.
    fn pick(&self, radius: f64, right: f64, rng: &mut Rng) -> Option<[f64; 2]> {
        let least = (radius - self.cell).max(0.0);
        let count = self.nodes.partition_point(|(_, spare)| *spare >= least);
        (0..8).find_map(|_| {
            let (at, _) = self.nodes.get(rng.usize(0..count.max(1)))?;
            let jitter = |rng: &mut Rng| (rng.f64() - 0.5) * self.cell;
            let at = [at[0] + jitter(rng), at[1] + jitter(rng)];
            (count > 0 && at[0] + radius <= right + self.cell).then_some(at)
        })
    }
}

/// A random turn that the figure may take: half of the free ones square to the sheet.
pub(super) fn random_turn(figure: &Figure, rng: &mut Rng) -> f64 {
    match &figure.turning {
        Turning::Free if rng.bool() => rng.f64() * TAU,
        Turning::Free => f64::from(rng.u8(0..4)) * FRAC_PI_2,
        Turning::Only(angles) if angles.is_empty() => 0.0,
        Turning::Only(angles) => angles[rng.usize(0..angles.len())],
    }
}

/// A random place for a figure left of `right`: on a plain ground wherever its box goes in,
/// otherwise with its largest disc on free metal.
pub(super) fn random_place(
    setting: &Setting,
    figure: usize,
    right: f64,
    rng: &mut Rng,
) -> Option<Place> {
    let shape = &setting.figures[figure];
    let turn = random_turn(shape, rng);
    if setting.ground.is_plain() {
        let plain = &setting.ground.plain;
        let stand = setting.pairs.as_ref().and_then(|p| Some(*p.limits(p.stand(figure, turn)?)));
        let own = stand.unwrap_or_else(|| shape.limits(turn));
        let (left, low) = (plain.min[0] - own.min[0], plain.min[1] - own.min[1]);
        let width = plain.max[0].min(right) - own.max[0] - left;
        let height = plain.max[1] - own.max[1] - low;
        // What is as wide as the strip may still lie in it.
        let tight = -setting.touch;
        return (width >= tight && height >= tight).then(|| Place {
            x: left + rng.f64() * width.max(0.0),
            y: low + rng.f64() * height.max(0.0),
            turn,
        });
    }
    let disc = shape.disc();
    let at = setting.roomy().pick(disc.radius, right, rng)?;
    let (sin, cos) = turn.sin_cos();
    Some(Place {
        x: at[0] - (disc.x * cos - disc.y * sin),
        y: at[1] - (disc.x * sin + disc.y * cos),
        turn,
    })
}

/// A random place with an edge along an edge of another item or of the ground's box, an end beside
/// an end: sampled turns never lie flush.
fn flush_place(scene: &Scene<'_>, index: usize, rng: &mut Rng) -> Option<Place> {
    let (setting, item) = (scene.setting, &scene.items[index]);
    let figure = &setting.figures[item.figure];
    let own = figure.edges[rng.usize(0..figure.edges.len())];
    let j = rng.usize(0..scene.items.len() + 1);
    let (along, gap) = match scene.items.get(j) {
        Some(_) if j == index => return None,
        Some(other) => {
            let shape = &setting.figures[other.figure];
            let edge = shape.edges[rng.usize(0..shape.edges.len())];
            (other.place.line(edge), setting.gap(figure, shape))
        }
        None => {
            let b = setting.ground.plain;
            let ([x0, y0], [x1, y1]) = (b.min, [b.max[0].min(scene.right), b.max[1]]);
            let sides = [[x1, y0, x0, y0], [x1, y1, x1, y0], [x0, y1, x1, y1], [x0, y0, x0, y1]];
            (sides[rng.usize(0..4)], 0.0)
        }
    };
    let (dx, dy) = (along[2] - along[0], along[3] - along[1]);
    let length = dx.hypot(dy);
    let turn = (-dy).atan2(-dx) - (own[3] - own[1]).atan2(own[2] - own[0]);
    let (sin, cos) = turn.sin_cos();
    // Its start beside the other's end, or the other way round, `gap` mm to the right.
    let (to, from) = if rng.bool() {
        ([along[2], along[3]], [own[0], own[1]])
    } else {
        ([along[0], along[1]], [own[2], own[3]])
    };
    Some(Place {
        x: to[0] + gap * dy / length - (from[0] * cos - from[1] * sin),
        y: to[1] - gap * dx / length - (from[0] * sin + from[1] * cos),
        turn,
    })
}

/// The best place found for item `index` under today's weights, and its collisions there.
pub(super) fn relocate(
    scene: &Scene<'_>,
    index: usize,
    effort: Effort,
    rng: &mut Rng,
    scratch: &mut Scratch,
) -> (Place, f64) {
    let item = &scene.items[index];
    let figure = &scene.setting.figures[item.figure];
    let here = item.place;
    let value = |place: Place, cutoff: f64, scratch: &mut Scratch| {
        scene.collisions(Some(index), item.figure, place, cutoff, scratch)
    };
    let mut kept: Vec<(Place, f64)> = Vec::with_capacity(effort.kept + 2);
    let offer = |place: Place, value: f64, kept: &mut Vec<(Place, f64)>| {
        let at = kept.partition_point(|(_, v)| *v <= value);
        kept.insert(at, (place, value));
        kept.truncate(effort.kept);
    };
    let now = value(here, f64::INFINITY, scratch);
    offer(here, now, &mut kept);
    let free = effort.turn && figure.turning == Turning::Free;
    let flush = if free { effort.flush } else { 0 };
    let samples = (0..effort.anywhere + flush + effort.nearby).filter_map(|k| {
        if k < effort.anywhere {
            let place = random_place(scene.setting, item.figure, scene.right, rng)?;
            let square = figure.turning != Turning::Free || is_square(place.turn);
            return (effort.turn || square).then_some(place);
        }
        if k < effort.anywhere + flush {
            return flush_place(scene, index, rng);
        }
        let spread = figure.size * 0.25;
        Some(Place {
            x: here.x + (rng.f64() - 0.5) * spread,
            y: here.y + (rng.f64() - 0.5) * spread,
            turn: match figure.turning {
                Turning::Free if free => here.turn + (rng.f64() - 0.5) * 0.3,
                Turning::Free => here.turn,
                Turning::Only(_) => random_turn(figure, rng),
            },
        })
    });
    for place in samples {
        let cutoff = if kept.len() < effort.kept {
            f64::INFINITY
        } else {
            kept.last().map_or(f64::INFINITY, |k| k.1)
        };
        let v = value(place, cutoff, scratch);
        if v < cutoff {
            offer(place, v, &mut kept);
        }
    }
    let rough = Steps { first: 0.15, last: 0.01, turn: effort.turn };
    let fine = Steps { first: 0.02, last: 2e-4, turn: effort.turn };
    let mut best = (here, now);
    for start in kept {
        let found = descend(figure, start, rough, rng, |p, cutoff| value(p, cutoff, scratch));
        if found.1 < best.1 {
            best = found;
        }
    }
    best = descend(figure, best, fine, rng, |p, cutoff| value(p, cutoff, scratch));
    if best.1 > 0.0 {
        for place in scene.contacts(index, best.0, SNAP * figure.size) {
            let v = value(place, best.1, scratch);
            if v < best.1 {
                best = (place, v);
            }
        }
    }
    best
}

/// Sizes of the steps of a descent, as shares of the figure's size.
#[derive(Clone, Copy, Debug)]
pub(super) struct Steps {
    pub(super) first: f64,
    pub(super) last: f64,
    /// Whether to turn too, where the figure may take any turn.
    pub(super) turn: bool,
}

/// Improves a place by steps along random axes and turns, longer after success and shorter after
/// failure, until the steps are short or nothing is left to improve.
pub(super) fn descend(
    figure: &Figure,
    start: (Place, f64),
    steps: Steps,
    rng: &mut Rng,
    mut value: impl FnMut(Place, f64) -> f64,
) -> (Place, f64) {
    let free = steps.turn && matches!(figure.turning, Turning::Free);
    let (mut best, mut least) = start;
    let (mut step, last) = (figure.size * steps.first, figure.size * steps.last);
    let mut turn_step = steps.first * 2.0;
    while step > last && least > 0.0 {
        let axis = rng.u8(0..if free { 6 } else { 4 });
        let (dx, dy) = match axis {
            0 => (step, 0.0),
            1 => (0.0, step),
            2 => (step * 0.7, step * 0.7),
            3 => (step * 0.7, -step * 0.7),
            _ => (0.0, 0.0),
        };
        let turn = if axis > 3 { turn_step } else { 0.0 };
        let tries = [1.0, -1.0].map(|s| Place {
            x: best.x + s * dx,
            y: best.y + s * dy,
            turn: best.turn + s * turn,
        });
        let mut better = false;
        for place in tries {
            let v = value(place, least);
            if v < least {
                (best, least, better) = (place, v, true);
            }
        }
        let change = if better { 1.2 } else { 0.75 };
        if axis > 3 {
            turn_step *= change;
            // Turning alone must not keep the descent from ending.
            step *= if better { 1.0 } else { 0.9 };
        } else {
            step *= change;
        }
    }
    (best, least)
}
