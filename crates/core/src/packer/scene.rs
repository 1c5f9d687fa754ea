//! Parts lying on the ground, perhaps over each other, and how much they collide.
//!
//! The measure of a collision only steers: it is the sum over the discs that stand for a figure of
//! how deep each lies in the other's distance field. Whether two things collide at all is decided
//! on their edges wherever the measure does not already say so beyond doubt.

use super::collide::{Limits, edges_near, reaches_into};
use super::figure::{Figure, Line, Place};
use super::ground::Ground;
use super::pairs::{Pairs, Stand};

/// A collision however slight counts at least this share of the smaller part's size, so that it
/// never vanishes between the discs.
const LEAST_COLLISION: f64 = 2e-3;

/// A depth beyond this many cells of a field can't be an error of the field.
const SURE_CELLS: f64 = 2.0;

/// What a search runs on: the figures, the ground, and the distances.
#[derive(Debug)]
pub(super) struct Setting {
    pub(super) figures: Vec<Figure>,
    pub(super) ground: Ground,
    /// Where parts may take a few turns only.
    pub(super) pairs: Option<Pairs>,
    /// Distance to keep between two parts, mm.
    pub(super) gap: f64,
    /// Overlaps up to this (mm) count as touching.
    pub(super) touch: f64,
}

impl Setting {
    /// Distance (mm) to keep between the straight edges of two figures.
    fn gap(&self, a: &Figure, b: &Figure) -> f64 {
        self.gap + a.inset + b.inset
    }
}

/// A figure with sine and cosine of its turn.
#[derive(Clone, Copy, Debug)]
pub(super) struct Stance {
    pub(super) place: Place,
    sin: f64,
    cos: f64,
}

impl Stance {
    pub(super) fn new(place: Place) -> Self {
        let (sin, cos) = place.turn.sin_cos();
        Self { place, sin, cos }
    }

    #[inline]
    fn out(&self, x: f64, y: f64) -> (f64, f64) {
        (self.place.x + x * self.cos - y * self.sin, self.place.y + x * self.sin + y * self.cos)
    }

    #[inline]
    fn back(&self, x: f64, y: f64) -> (f64, f64) {
        let (x, y) = (x - self.place.x, y - self.place.y);
        (x * self.cos + y * self.sin, y * self.cos - x * self.sin)
    }

    fn lines(&self, figure: &Figure, into: &mut Vec<Line>) {
        into.clear();
        into.extend(figure.edges.iter().map(|e| {
            let (ax, ay) = self.out(e[0], e[1]);
            let (bx, by) = self.out(e[2], e[3]);
            [ax, ay, bx, by]
        }));
    }
}

/// A figure where it lies.
#[derive(Clone, Debug)]
pub(super) struct Item {
    pub(super) figure: usize,
    pub(super) stance: Stance,
    /// Left where it is.
    pub(super) fixed: bool,
    lines: Vec<Line>,
    pub(super) limits: Limits,
    stand: Option<Stand>,
}

impl Item {
    pub(super) fn new(setting: &Setting, figure: usize, place: Place, fixed: bool) -> Self {
        let stance = Stance::new(place);
        let mut lines = Vec::new();
        stance.lines(&setting.figures[figure], &mut lines);
        let limits = Limits::of(&lines);
        let stand = setting.pairs.as_ref().and_then(|p| p.stand(figure, place.turn));
        Self { figure, stance, fixed, lines, limits, stand }
    }
}

/// Buffers that evaluations reuse.
#[derive(Clone, Debug, Default)]
pub(super) struct Scratch {
    lines: Vec<Line>,
    unsure: Vec<(Option<usize>, f64, f64)>,
}

/// Items on the ground with the weights that the search has given to their collisions.
#[derive(Clone, Debug)]
pub(super) struct Scene<'a> {
    pub(super) setting: &'a Setting,
    pub(super) items: Vec<Item>,
    /// No part may reach beyond this x, mm.
    pub(super) right: f64,
    /// Weight of each pair of items, row by row, and of each item with the ground.
    pair_weights: Vec<f64>,
    ground_weights: Vec<f64>,
}

impl<'a> Scene<'a> {
    pub(super) fn new(setting: &'a Setting, items: Vec<Item>, right: f64) -> Self {
        let n = items.len();
        Self { setting, items, right, pair_weights: vec![1.0; n * n], ground_weights: vec![1.0; n] }
    }

    pub(super) fn add(&mut self, item: Item) {
        self.items.push(item);
        self.reset_weights();
    }

    pub(super) fn reset_weights(&mut self) {
        let n = self.items.len();
        self.pair_weights = vec![1.0; n * n];
        self.ground_weights = vec![1.0; n];
    }

    pub(super) fn places(&self) -> Vec<Place> {
        self.items.iter().map(|i| i.stance.place).collect()
    }

    pub(super) fn put(&mut self, index: usize, place: Place) {
        let item = &self.items[index];
        if item.stance.place != place {
            self.items[index] = Item::new(self.setting, item.figure, place, item.fixed);
        }
    }

    pub(super) fn put_all(&mut self, places: &[Place]) {
        for (i, place) in places.iter().enumerate() {
            self.put(i, *place);
        }
    }

    /// The weighted collisions of `figure` at `place` with all items but `skip`, or something above
    /// `cutoff` once they are more than that. Weights are those of item `skip`; without it all
    /// count once.
    pub(super) fn collisions(
        &self,
        skip: Option<usize>,
        figure: usize,
        place: Place,
        cutoff: f64,
        scratch: &mut Scratch,
    ) -> f64 {
        if let Some(pairs) = &self.setting.pairs
            && let Some(stand) = pairs.stand(figure, place.turn)
            && let Some(plain) = &self.setting.ground.plain
        {
            return self.depths(pairs, (stand, place), plain, skip, cutoff);
        }
        let own = &self.setting.figures[figure];
        let stance = Stance::new(place);
        let n = self.items.len();
        scratch.unsure.clear();
        stance.lines(own, &mut scratch.lines);
        let limits = Limits::of(&scratch.lines);
        let mut total = 0.0;
        let weight = skip.map_or(1.0, |i| self.ground_weights[i]);
        let (depth, sure) = self.ground_depth(own, &stance);
        if sure {
            total += weight * depth;
            if total > cutoff {
                return total;
            }
        } else {
            scratch.unsure.push((None, depth, weight));
        }
        for (j, item) in self.items.iter().enumerate() {
            if skip == Some(j) {
                continue;
            }
            let other = &self.setting.figures[item.figure];
            let gap = self.setting.gap(own, other);
            if !limits.meets(&item.limits, gap) {
                continue;
            }
            let weight = skip.map_or(1.0, |i| self.pair_weights[i * n + j]);
            let (depth, sure) = pair_depth(own, &stance, other, &item.stance, gap);
            if sure {
                total += weight * depth;
                if total > cutoff {
                    return total;
                }
            } else {
                scratch.unsure.push((Some(j), depth, weight));
            }
        }
        // What the fields leave open is decided on the edges.
        for (other, depth, weight) in &scratch.unsure {
            let collides = match other {
                None => self.ground_collides(own, &stance, &scratch.lines, &limits),
                Some(j) => {
                    let item = &self.items[*j];
                    self.pair_collides(own, &stance, &scratch.lines, &limits, item)
                }
            };
            if collides {
                total += weight * depth.max(self.least(own, *other));
                if total > cutoff {
                    return total;
                }
            }
        }
        total
    }

    /// As [`Self::collisions`], by no-fit polygons on a plain ground.
    fn depths(
        &self,
        pairs: &Pairs,
        own: (Stand, Place),
        plain: &Limits,
        skip: Option<usize>,
        cutoff: f64,
    ) -> f64 {
        let n = self.items.len();
        let limits = pairs.limits(own.0).moved(own.1.x, own.1.y);
        let weight = skip.map_or(1.0, |i| self.ground_weights[i]);
        let mut total = weight * self.beyond(&limits, plain);
        let figure = &self.setting.figures[own.0.figure()];
        for (j, item) in self.items.iter().enumerate() {
            if total > cutoff {
                return total;
            }
            if skip == Some(j) {
                continue;
            }
            let gap = self.setting.gap(figure, &self.setting.figures[item.figure]);
            if !limits.meets(&item.limits, gap) {
                continue;
            }
            let depth = self.depth(pairs, own, item, gap);
            if depth > 0.0 {
                total += depth * skip.map_or(1.0, |i| self.pair_weights[i * n + j]);
            }
        }
        total
    }

    /// How far a box reaches beyond the plain ground.
    fn beyond(&self, limits: &Limits, plain: &Limits) -> f64 {
        let over = [
            plain.min[0] - limits.min[0],
            limits.max[0] - plain.max[0].min(self.right),
            plain.min[1] - limits.min[1],
            limits.max[1] - plain.max[1],
        ];
        let touch = self.setting.touch;
        over.into_iter().filter(|o| *o > touch).sum()
    }

    /// How deep two figures lie in each other's room; 0 where they do not collide.
    fn depth(&self, pairs: &Pairs, own: (Stand, Place), item: &Item, gap: f64) -> f64 {
        // A turn that the pairs do not know counts as the worst.
        let Some(stand) = item.stand else { return self.setting.figures[item.figure].size };
        let spare = pairs.spare(own, (stand, item.stance.place));
        let depth = spare.map_or(0.0, |spare| gap - spare);
        if depth > self.setting.touch { depth } else { 0.0 }
    }

    fn least(&self, own: &Figure, other: Option<usize>) -> f64 {
        let other = other.map_or(own.area, |j| self.setting.figures[self.items[j].figure].area);
        LEAST_COLLISION * own.area.min(other).sqrt()
    }

    fn ground_depth(&self, own: &Figure, stance: &Stance) -> (f64, bool) {
        let ground = &self.setting.ground;
        let (mut sum, mut deepest) = (0.0, 0.0_f64);
        for disc in &own.discs {
            let (x, y) = stance.out(disc.x, disc.y);
            let spare = ground.spare(x, y).min(self.right - x);
            let depth = disc.radius - spare;
            if depth > 0.0 {
                sum += disc.weight * depth;
                deepest = deepest.max(depth);
            }
        }
        (sum / own.area.sqrt(), deepest > SURE_CELLS * (ground.cell() + own.field.cell()))
    }

    fn ground_collides(
        &self,
        own: &Figure,
        stance: &Stance,
        lines: &[Line],
        limits: &Limits,
    ) -> bool {
        let (ground, touch) = (&self.setting.ground, self.setting.touch);
        if limits.max[0] > self.right + touch || ground.hits(lines, limits, touch) {
            return true;
        }
        // No wall comes near an edge. Left are the figure that lies beyond the metal as a whole,
        // and the cut-out that it covers as a whole.
        let inner = own.discs.first().map_or((0.0, 0.0), |d| (d.x, d.y));
        let (x, y) = stance.out(inner.0, inner.1);
        !ground.is_free(x, y)
            || ground.posts().iter().any(|p| {
                limits.holds(*p) && {
                    let (x, y) = stance.back(p[0], p[1]);
                    own.covers(x, y)
                }
            })
    }

    fn pair_collides(
        &self,
        own: &Figure,
        stance: &Stance,
        lines: &[Line],
        limits: &Limits,
        item: &Item,
    ) -> bool {
        let other = &self.setting.figures[item.figure];
        let keep = self.setting.gap(own, other);
        let touch = self.setting.touch;
        if edges_near(lines, limits, &item.lines, &item.limits, keep, touch) {
            return true;
        }
        // Where edges may touch, they may also run along each other into the metal.
        if keep <= 0.0
            && (reaches_into(lines, &item.lines, &item.limits, touch)
                || reaches_into(&item.lines, lines, limits, touch))
        {
            return true;
        }
        let covers = |outer: &Figure, at: &Stance, inner: &Figure, within: &Stance| {
            inner.discs.first().is_some_and(|d| {
                let (x, y) = within.out(d.x, d.y);
                let (x, y) = at.back(x, y);
                outer.covers(x, y)
            })
        };
        covers(own, stance, other, &item.stance) || covers(other, &item.stance, own, stance)
    }

    /// How deep two items lie in each other; 0 where they do not collide.
    fn pair(&self, i: usize, j: usize) -> f64 {
        let (a, b) = (&self.items[i], &self.items[j]);
        let (own, other) = (&self.setting.figures[a.figure], &self.setting.figures[b.figure]);
        let gap = self.setting.gap(own, other);
        if !a.limits.meets(&b.limits, gap) {
            return 0.0;
        }
        if let Some((pairs, stand, _)) = self.by_pairs(a) {
            return self.depth(pairs, (stand, a.stance.place), b, gap);
        }
        let (depth, sure) = pair_depth(own, &a.stance, other, &b.stance, gap);
        if sure {
            depth
        } else if self.pair_collides(own, &a.stance, &a.lines, &a.limits, b) {
            depth.max(self.least(own, Some(j)))
        } else {
            0.0
        }
    }

    /// What measures the item by no-fit polygons, where that can be done.
    fn by_pairs(&self, item: &Item) -> Option<(&Pairs, Stand, &Limits)> {
        let setting = self.setting;
        Some((setting.pairs.as_ref()?, item.stand?, setting.ground.plain.as_ref()?))
    }

    fn on_ground(&self, i: usize) -> f64 {
        let item = &self.items[i];
        if let Some((_, _, plain)) = self.by_pairs(item) {
            return self.beyond(&item.limits, plain);
        }
        let own = &self.setting.figures[item.figure];
        let (depth, sure) = self.ground_depth(own, &item.stance);
        if sure {
            depth
        } else if self.ground_collides(own, &item.stance, &item.lines, &item.limits) {
            depth.max(self.least(own, None))
        } else {
            0.0
        }
    }

    /// All collisions as they stand.
    pub(super) fn survey(&self) -> Survey {
        let n = self.items.len();
        let mut survey = Survey {
            pairs: vec![0.0; n * n],
            ground: vec![0.0; n],
            of_item: vec![0.0; n],
            total: 0.0,
        };
        for i in 0..n {
            self.survey_item(i, i + 1, &mut survey);
        }
        survey.sum(n);
        survey
    }

    /// Brings a survey up to date after item `i` has moved.
    pub(super) fn resurvey(&self, i: usize, survey: &mut Survey) {
        self.survey_item(i, 0, survey);
        survey.sum(self.items.len());
    }

    fn survey_item(&self, i: usize, from: usize, survey: &mut Survey) {
        let n = self.items.len();
        for j in (from..n).filter(|j| *j != i) {
            let depth =
                if self.items[i].fixed && self.items[j].fixed { 0.0 } else { self.pair(i, j) };
            survey.pairs[i * n + j] = depth;
            survey.pairs[j * n + i] = depth;
        }
        survey.ground[i] = if self.items[i].fixed { 0.0 } else { self.on_ground(i) };
    }

    /// Makes what still collides dearer and lets the rest fall back: guided local search.
    pub(super) fn reweigh(&mut self, survey: &Survey) {
        let n = self.items.len();
        let worst = survey.pairs.iter().chain(&survey.ground).copied().fold(0.0, f64::max);
        let step = |weight: &mut f64, depth: f64| {
            *weight = if depth > 0.0 {
                (*weight * (1.2 + 0.8 * depth / worst)).min(1e9)
            } else {
                (*weight * 0.95).max(1.0)
            };
        };
        for k in 0..n * n {
            step(&mut self.pair_weights[k], survey.pairs[k]);
        }
        for k in 0..n {
            step(&mut self.ground_weights[k], survey.ground[k]);
        }
    }
}

/// How deep everything lies in everything else.
#[derive(Clone, Debug)]
pub(super) struct Survey {
    pairs: Vec<f64>,
    ground: Vec<f64>,
    /// All collisions of each item.
    pub(super) of_item: Vec<f64>,
    /// All collisions, each once.
    pub(super) total: f64,
}

impl Survey {
    fn sum(&mut self, n: usize) {
        let mut total = 0.0;
        for i in 0..n {
            let pairs: f64 = self.pairs[i * n..(i + 1) * n].iter().sum();
            self.of_item[i] = pairs + self.ground[i];
            total += pairs * 0.5 + self.ground[i];
        }
        self.total = total;
    }
}

/// How deep two figures lie in each other by their discs, and whether that alone proves that they
/// collide.
fn pair_depth(a: &Figure, at: &Stance, b: &Figure, bt: &Stance, gap: f64) -> (f64, bool) {
    let (one, deep_one) = discs_in(a, at, b, bt, gap);
    let (two, deep_two) = discs_in(b, bt, a, at, gap);
    let small = a.area.min(b.area).sqrt();
    (
        (one + two) / small,
        deep_one > SURE_CELLS * (a.field.cell() + b.field.cell())
            || deep_two > SURE_CELLS * (a.field.cell() + b.field.cell()),
    )
}

fn discs_in(a: &Figure, at: &Stance, b: &Figure, bt: &Stance, gap: f64) -> (f64, f64) {
    // From a's own axes straight into b's.
    let cos = at.cos * bt.cos + at.sin * bt.sin;
    let sin = at.sin * bt.cos - at.cos * bt.sin;
    let (x, y) = bt.back(at.place.x, at.place.y);
    let (mut sum, mut deepest) = (0.0, 0.0_f64);
    for disc in &a.discs {
        let px = x + disc.x * cos - disc.y * sin;
        let py = y + disc.x * sin + disc.y * cos;
        let depth = disc.radius + gap - b.field.at(px, py);
        if depth > 0.0 {
            sum += disc.weight * depth;
            deepest = deepest.max(depth);
        }
    }
    (sum, deepest)
}
