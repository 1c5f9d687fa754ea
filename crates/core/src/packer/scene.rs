//! Parts lying on the ground, perhaps over each other, and how much they collide.
//!
//! The measure of a collision is the way that would part two figures: exact by their no-fit polygon
//! where there is one, otherwise summed over their convex pieces. It is 0 only where nothing comes
//! nearer than it may.

use std::f64::consts::FRAC_PI_2;
use std::sync::{Arc, OnceLock};

use super::figure::{Figure, Place};
use super::ground::Ground;
use super::laid::Pieces;
use super::lattice::Lattice;
use super::leads::{Leads, Way};
use super::limits::Limits;
use super::pairs::{Pairs, Stand};
use super::patterns::Patterns;
use super::relocate::{Roomy, SNAP};
use crate::job::Stop;
use crate::part::Turning;
use crate::plan::Placement;

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
    /// Ways to start, where every contour needs one.
    pub(super) leads: Option<Leads>,
    /// Where figures may come to lie; made when first asked for.
    roomy: OnceLock<Roomy>,
    /// Row patterns found so far.
    pub(super) patterns: Patterns,
}

impl Setting {
    /// `fixed` are the turns of figures that stay where they are.
    pub(super) fn new(
        figures: Vec<Figure>,
        ground: Ground,
        gap: f64,
        touch: f64,
        fixed: &[f64],
    ) -> Self {
        let inset = figures.iter().map(|f| f.inset).fold(0.0, f64::max);
        let size = figures.iter().map(|f| f.size).fold(0.0, f64::max);
        let reach = gap + 2.0 * inset + SNAP * size;
        let pairs = Pairs::new(&figures, fixed, reach);
        let (leads, roomy, patterns) = (None, OnceLock::new(), Patterns::default());
        Self { figures, ground, pairs, gap, touch, leads, roomy, patterns }
    }

    /// The lattices found of a figure, densest first; `roomy` ones leave room for starts between any
    /// two parts.
    pub(super) fn lattices(&self, figure: usize, roomy: bool, stop: &Stop) -> Arc<[Lattice]> {
        let own = &self.figures[figure];
        let room = self.leads.as_ref().filter(|_| roomy).map_or(0.0, Leads::room);
        self.patterns.of(own, self.gap(own, own).max(room), stop)
    }

    /// The item, moved by what it reaches beyond the sheet's box by as much as counts as touching:
    /// a part must not leave the metal by a hair.
    pub(super) fn drawn_in(&self, item: &Item) -> Item {
        /// Rounding when the part is drawn there, mm.
        const NOISE: f64 = 1e-9;
        let (plain, own) = (&self.ground.plain, &item.limits);
        let by = [0, 1].map(|k| {
            let (low, high) =
                (plain.min[k] - own.min[k] + NOISE, own.max[k] - plain.max[k] + NOISE);
            // Where it fills the box, to the middle.
            if low > 0.0 && high > 0.0 { 0.5 * (low - high) } else { low.max(0.0) - high.max(0.0) }
        });
        item.moved(self, Place { x: item.place.x + by[0], y: item.place.y + by[1], ..item.place })
    }

    /// Where figures may come to lie.
    pub(super) fn roomy(&self) -> &Roomy {
        self.roomy.get_or_init(|| Roomy::new(&self.ground))
    }

    /// Distance (mm) to keep between the straight edges of two figures.
    pub(super) fn gap(&self, a: &Figure, b: &Figure) -> f64 {
        self.gap + a.inset + b.inset
    }
}

/// A figure where it lies.
#[derive(Clone, Debug)]
pub(super) struct Item {
    pub(super) figure: usize,
    pub(super) place: Place,
    /// Left where it is.
    pub(super) fixed: bool,
    pieces: Pieces,
    pub(super) limits: Limits,
    stand: Option<Stand>,
    /// Which way it must be possible to start it, and where that lies.
    way: Option<(usize, Way)>,
}

impl Item {
    pub(super) fn new(setting: &Setting, figure: usize, place: Place, fixed: bool) -> Self {
        let mut pieces = Pieces::default();
        pieces.lay(&setting.figures[figure].pieces, place);
        let limits = pieces.limits.unwrap_or(Limits::EMPTY);
        let stand = setting.pairs.as_ref().and_then(|p| p.stand(figure, place.turn));
        Self { figure, place, fixed, pieces, limits, stand, way: None }
    }

    /// Its part where it lies, not numbered.
    pub(super) fn placement(&self, setting: &Setting) -> Placement {
        let figure = &setting.figures[self.figure];
        let pose = figure.pose(self.place);
        Placement { part: figure.part, copy: 0, pose, locked: self.fixed }
    }

    /// The same elsewhere.
    pub(super) fn moved(&self, setting: &Setting, place: Place) -> Self {
        let item = Self::new(setting, self.figure, place, self.fixed);
        match (&setting.leads, &self.way) {
            (Some(leads), Some((way, _))) => {
                Self { way: Some((*way, leads.lay(self.figure, *way, place))), ..item }
            }
            _ => item,
        }
    }

    /// Whether its metal covers a point.
    pub(super) fn covers(&self, p: [f64; 2]) -> bool {
        self.limits.holds(p) && self.pieces.covers(p)
    }
}

/// The nearest turn square to the sheet.
pub(super) fn squared(turn: f64) -> f64 {
    (turn / FRAC_PI_2).round() * FRAC_PI_2
}

/// Whether a turn is square to the sheet.
pub(super) fn is_square(turn: f64) -> bool {
    (turn - squared(turn)).abs() < 1e-9
}

/// Buffers that evaluations reuse.
#[derive(Clone, Debug, Default)]
pub(super) struct Scratch {
    pieces: Pieces,
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
        Self { setting, items, right, pair_weights: Vec::new(), ground_weights: Vec::new() }
    }

    /// Counts every collision once again. Until this is first called no weights are kept.
    pub(super) fn reset_weights(&mut self) {
        let n = self.items.len();
        self.pair_weights = vec![1.0; n * n];
        self.ground_weights = vec![1.0; n];
    }

    pub(super) fn places(&self) -> Vec<Place> {
        self.items.iter().map(|i| i.place).collect()
    }

    /// Whether an item could lie square to the sheet and does not.
    pub(super) fn is_at_odd_angle(&self, index: usize) -> bool {
        let item = &self.items[index];
        let free = self.setting.figures[item.figure].turning == Turning::Free;
        free && !item.fixed && !is_square(item.place.turn)
    }

    pub(super) fn put(&mut self, index: usize, place: Place) {
        if self.items[index].place != place {
            self.items[index] = self.items[index].moved(self.setting, place);
        }
    }

    /// Gives an item the way to start that collides least where it lies.
    pub(super) fn give_way(&mut self, index: usize) {
        let Some(leads) = &self.setting.leads else { return };
        let item = &self.items[index];
        let ways = (0..leads.count(item.figure)).map(|way| {
            let laid = leads.lay(item.figure, way, item.place);
            let depth = self.way_on_ground(index, &laid) + self.way_to_others(index, &laid);
            (depth, way, laid)
        });
        let best = ways.min_by(|a, b| a.0.total_cmp(&b.0));
        self.items[index].way = best.map(|(_, way, laid)| (way, laid));
    }

    /// Looks for a better way to start an item that was given one.
    pub(super) fn renew_way(&mut self, index: usize) {
        if self.items[index].way.is_some() {
            self.give_way(index);
        }
    }

    fn way_on_ground(&self, index: usize, way: &Way) -> f64 {
        let Some(leads) = &self.setting.leads else { return 0.0 };
        self.ground_weight(Some(index)) * leads.on_ground(way, self.setting.touch)
    }

    fn way_to_others(&self, index: usize, way: &Way) -> f64 {
        let others = (0..self.items.len()).filter(|j| *j != index);
        others
            .map(|j| self.pair_weight(Some(index), j) * self.way_to_item(way, &self.items[j]))
            .sum()
    }

    /// How deep a way to start lies in another item and its way.
    fn way_to_item(&self, way: &Way, other: &Item) -> f64 {
        let Some(leads) = &self.setting.leads else { return 0.0 };
        let (touch, inset) = (self.setting.touch, self.setting.figures[other.figure].inset);
        let between = other.way.as_ref().map_or(0.0, |(_, w)| leads.between(way, w, touch));
        leads.to_metal(way, &other.pieces, inset, touch) + between
    }

    /// How deep the ways of two items lie in each other and in the other's metal.
    fn ways(&self, i: usize, j: usize) -> f64 {
        let Some(leads) = &self.setting.leads else { return 0.0 };
        let (a, b) = (&self.items[i], &self.items[j]);
        let one = a.way.as_ref().map_or(0.0, |(_, way)| self.way_to_item(way, b));
        let inset = self.setting.figures[a.figure].inset;
        let other = b
            .way
            .as_ref()
            .map_or(0.0, |(_, way)| leads.to_metal(way, &a.pieces, inset, self.setting.touch));
        one + other
    }

    /// As [`Self::collisions`], of ways to start alone; `metal` is the figure's at its place.
    fn way_collisions(
        &self,
        skip: Option<usize>,
        figure: usize,
        place: Place,
        metal: &Pieces,
    ) -> f64 {
        let Some(leads) = &self.setting.leads else { return 0.0 };
        let mut total = 0.0;
        if let Some((index, (way, _))) = skip.and_then(|i| Some((i, self.items[i].way.as_ref()?))) {
            let laid = leads.lay(figure, *way, place);
            total += self.way_on_ground(index, &laid) + self.way_to_others(index, &laid);
        }
        let inset = self.setting.figures[figure].inset;
        for (j, item) in self.items.iter().enumerate().filter(|(j, _)| Some(*j) != skip) {
            if let Some((_, way)) = &item.way {
                let depth = leads.to_metal(way, metal, inset, self.setting.touch);
                total += self.pair_weight(skip, j) * depth;
            }
        }
        total
    }

    fn ground_weight(&self, of: Option<usize>) -> f64 {
        of.and_then(|i| self.ground_weights.get(i)).copied().unwrap_or(1.0)
    }

    fn pair_weight(&self, of: Option<usize>, j: usize) -> f64 {
        let n = self.items.len();
        of.and_then(|i| self.pair_weights.get(i * n + j)).copied().unwrap_or(1.0)
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
        let setting = self.setting;
        let own = &setting.figures[figure];
        let pieces = &mut scratch.pieces;
        let stand = setting.pairs.as_ref().and_then(|p| Some((p, p.stand(figure, place.turn)?)));
        let limits = match stand {
            Some((pairs, stand)) => pairs.limits(stand).moved(place.x, place.y),
            None => {
                pieces.lay(&own.pieces, place);
                pieces.limits.unwrap_or(Limits::EMPTY)
            }
        };
        let weight = self.ground_weight(skip);
        let mut total = weight * setting.ground.beyond(&limits, self.right, setting.touch);
        if total > cutoff {
            return total;
        }
        let near_ground = setting.ground.may_meet(&limits);
        if stand.is_some() && (near_ground || setting.leads.is_some()) {
            pieces.lay(&own.pieces, place);
        }
        if near_ground {
            let most = (cutoff - total) / weight;
            total += weight * setting.ground.depth(pieces, 0.0, setting.touch, most);
        }
        for (j, item) in self.items.iter().enumerate() {
            if total > cutoff {
                return total;
            }
            if skip == Some(j) {
                continue;
            }
            let gap = setting.gap(own, &setting.figures[item.figure]);
            if !limits.meets(&item.limits, gap) {
                continue;
            }
            let weight = self.pair_weight(skip, j);
            let depth = match (stand, item.stand) {
                (Some((pairs, a)), Some(b)) => {
                    self.apart(pairs.spare((a, place), (b, item.place)), gap)
                }
                _ => {
                    let most = (cutoff - total) / weight;
                    pieces.depth(&item.pieces, gap, setting.touch, most)
                }
            };
            total += weight * depth;
        }
        total + self.way_collisions(skip, figure, place, pieces)
    }

    /// What is missing to `gap` mm where two figures are `spare` mm apart.
    fn apart(&self, spare: Option<f64>, gap: f64) -> f64 {
        let depth = spare.map_or(0.0, |spare| gap - spare);
        if depth > self.setting.touch { depth } else { 0.0 }
    }

    /// How deep two items lie in each other; 0 where they do not collide.
    fn pair(&self, i: usize, j: usize) -> f64 {
        self.metal(i, j) + self.ways(i, j)
    }

    fn metal(&self, i: usize, j: usize) -> f64 {
        let (a, b) = (&self.items[i], &self.items[j]);
        let setting = self.setting;
        let gap = setting.gap(&setting.figures[a.figure], &setting.figures[b.figure]);
        if !a.limits.meets(&b.limits, gap) {
            return 0.0;
        }
        match (&setting.pairs, a.stand, b.stand) {
            (Some(pairs), Some(one), Some(two)) => {
                self.apart(pairs.spare((one, a.place), (two, b.place)), gap)
            }
            _ => a.pieces.depth(&b.pieces, gap, setting.touch, f64::INFINITY),
        }
    }

    fn on_ground(&self, i: usize) -> f64 {
        let (item, ground, touch) = (&self.items[i], &self.setting.ground, self.setting.touch);
        let way = match (&self.setting.leads, &item.way) {
            (Some(leads), Some((_, way))) => leads.on_ground(way, touch),
            _ => 0.0,
        };
        way + ground.beyond(&item.limits, self.right, touch)
            + ground.depth(&item.pieces, 0.0, touch, f64::INFINITY)
    }

    /// Places within `within` mm of `place` at which item `index` touches two neighbours, or one,
    /// where no-fit polygons tell. The best places of a tight layout are of that kind, and no
    /// sampling meets them exactly.
    pub(super) fn contacts(&self, index: usize, place: Place, within: f64) -> Vec<Place> {
        let setting = self.setting;
        let item = &self.items[index];
        let (Some(pairs), plain) = (&setting.pairs, &setting.ground.plain) else {
            return Vec::new();
        };
        let Some(stand) = pairs.stand(item.figure, place.turn) else { return Vec::new() };
        let own = pairs.limits(stand);
        let (left, low) = (plain.min[0] - own.min[0], plain.min[1] - own.min[1]);
        let (right, high) = (plain.max[0].min(self.right) - own.max[0], plain.max[1] - own.max[1]);
        let upright = [left, right].map(|x| ([x, place.y], [0.0, 1.0]));
        let level = [low, high].map(|y| ([place.x, y], [1.0, 0.0]));
        let mut lines: Vec<_> = upright.into_iter().chain(level).collect();
        let limits = own.moved(place.x, place.y);
        let figure = &setting.figures[item.figure];
        for (j, other) in self.items.iter().enumerate() {
            let gap = setting.gap(figure, &setting.figures[other.figure]);
            let Some(stand_j) = other.stand.filter(|_| j != index) else { continue };
            if !limits.meets(&other.limits, gap + within) {
                continue;
            }
            let nearest = pairs.nearest((stand_j, other.place), (stand, place));
            if let Some(n) = nearest.filter(|n| (n.spare - gap).abs() <= within) {
                let [x, y] = n.along;
                lines.push(([n.from[0] + y * gap, n.from[1] - x * gap], n.along));
            }
        }
        lines.retain(|(from, along)| {
            let aside = along[0] * (place.y - from[1]) - along[1] * (place.x - from[0]);
            aside.abs() <= within
        });
        let mut places = Vec::new();
        for (i, (p, u)) in lines.iter().enumerate() {
            let t = u[0] * (place.x - p[0]) + u[1] * (place.y - p[1]);
            places.push(Place { x: p[0] + t * u[0], y: p[1] + t * u[1], ..place });
            for (q, v) in &lines[i + 1..] {
                let cross = u[0] * v[1] - u[1] * v[0];
                if cross.abs() > 1e-6 {
                    let t = ((q[0] - p[0]) * v[1] - (q[1] - p[1]) * v[0]) / cross;
                    places.push(Place { x: p[0] + t * u[0], y: p[1] + t * u[1], ..place });
                }
            }
        }
        places.retain(|p| (p.x - place.x).hypot(p.y - place.y) <= 2.0 * within);
        places
    }

    /// All collisions as they stand.
    pub(super) fn survey(&self) -> Survey {
        let n = self.items.len();
        let mut survey =
            Survey { pairs: vec![0.0; n * n], ground: vec![0.0; n], of_item: vec![0.0; n] };
        for i in 0..n {
            for j in i + 1..n {
                if !(self.items[i].fixed && self.items[j].fixed) {
                    survey.set(i, j, self.pair(i, j));
                }
            }
            if !self.items[i].fixed {
                survey.ground[i] = self.on_ground(i);
            }
        }
        (0..n).for_each(|i| survey.sum(i));
        survey
    }

    /// Brings a survey up to date after item `i` has moved.
    pub(super) fn resurvey(&self, i: usize, survey: &mut Survey) {
        let n = self.items.len();
        for j in (0..n).filter(|j| *j != i) {
            let depth = self.pair(i, j);
            if survey.pairs[i * n + j] != depth {
                survey.set(i, j, depth);
                survey.sum(j);
            }
        }
        survey.ground[i] = self.on_ground(i);
        survey.sum(i);
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
    /// Row by row.
    pairs: Vec<f64>,
    ground: Vec<f64>,
    /// All collisions of each item.
    pub(super) of_item: Vec<f64>,
}

impl Survey {
    /// All collisions, those of two items once for each.
    pub(super) fn total(&self) -> f64 {
        self.of_item.iter().sum()
    }

    fn set(&mut self, i: usize, j: usize, depth: f64) {
        let n = self.ground.len();
        self.pairs[i * n + j] = depth;
        self.pairs[j * n + i] = depth;
    }

    fn sum(&mut self, i: usize) {
        let n = self.ground.len();
        self.of_item[i] = self.pairs[i * n..(i + 1) * n].iter().sum::<f64>() + self.ground[i];
    }
}
