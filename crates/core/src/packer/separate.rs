//! Pulls overlapping parts apart: guided local search over one part at a time (Egeblad, Nielsen &
//! Odgaard 2007; Umetani et al. 2009), with places found by sampling.

use fastrand::Rng;

use super::figure::Place;
use super::relocate::{Effort, relocate};
use super::scene::{Scene, Scratch, Survey};
use crate::job::Stop;

/// How a pass ended.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum State {
    /// Nothing collides.
    Clear,
    /// Something still collides.
    Going,
    /// No better layout for a long time.
    Stuck,
}

/// A scene on its way to be free of collisions.
#[derive(Clone, Debug)]
pub(super) struct Separation<'a> {
    pub(super) scene: Scene<'a>,
    pub(super) survey: Survey,
    /// The places with the least collisions so far.
    best: Vec<Place>,
    least: f64,
    idle: usize,
    patience: usize,
    effort: Effort,
    /// Relocations done.
    pub(super) steps: u64,
}

impl<'a> Separation<'a> {
    /// `patience`: passes without a better layout before it counts as stuck.
    pub(super) fn new(mut scene: Scene<'a>, effort: Effort, patience: usize) -> Self {
        scene.reset_weights();
        let survey = scene.survey();
        let best = scene.places();
        let least = survey.total();
        Self { scene, survey, best, least, idle: 0, patience, effort, steps: 0 }
    }

    /// Begins anew from where the items lie now.
    pub(super) fn restart(&mut self) {
        self.scene.reset_weights();
        self.survey = self.scene.survey();
        self.best = self.scene.places();
        self.least = self.survey.total();
        self.idle = 0;
    }

    /// Moves every colliding item once, in random order.
    pub(super) fn pass(&mut self, rng: &mut Rng, scratch: &mut Scratch, stop: &Stop) -> State {
        if self.survey.total() == 0.0 {
            return State::Clear;
        }
        let mut order: Vec<usize> = (0..self.scene.items.len())
            .filter(|i| self.survey.of_item[*i] > 0.0 && !self.scene.items[*i].fixed)
            .collect();
        rng.shuffle(&mut order);
        for i in order {
            if stop.raised() {
                return State::Going;
            }
            if self.survey.of_item[i] == 0.0 {
                continue;
            }
            let (place, _) = relocate(&self.scene, i, self.effort, rng, scratch);
            self.steps += 1;
            if place != self.scene.items[i].place {
                self.scene.put(i, place);
                self.scene.renew_way(i);
                self.scene.resurvey(i, &mut self.survey);
            }
        }
        if self.survey.total() < self.least {
            // Only a marked step forward counts against being stuck.
            if self.survey.total() < 0.98 * self.least {
                self.idle = 0;
            }
            self.least = self.survey.total();
            self.best = self.scene.places();
        } else {
            self.idle += 1;
        }
        if self.survey.total() == 0.0 {
            return State::Clear;
        }
        self.scene.reweigh(&self.survey);
        if self.idle > self.patience { State::Stuck } else { State::Going }
    }
}

/// Layouts that are remembered.
const POOL: usize = 20;

/// Layouts of failed attempts and how much collides in each, least first.
#[derive(Clone, Debug, Default)]
pub(super) struct Pool(Vec<(Vec<Place>, f64)>);

impl Pool {
    pub(super) fn clear(&mut self) {
        self.0.clear();
    }

    /// Remembers the best layout of a failed attempt.
    pub(super) fn note(&mut self, separation: &Separation<'_>) {
        let (places, collisions) = (&separation.best, separation.least);
        let at = self.0.partition_point(|(_, c)| *c <= collisions);
        self.0.insert(at, (places.clone(), collisions));
        self.0.truncate(POOL);
    }

    /// Lays the scene as in one of the layouts, rather a good one, with two parts in each other's
    /// place.
    pub(super) fn shake(&self, scene: &mut Scene<'_>, rng: &mut Rng) {
        let luck = rng.f64();
        let pick = (luck * luck * self.0.len() as f64) as usize;
        if let Some((places, _)) = self.0.get(pick) {
            scene.put_all(places);
        }
        swap_two(scene, rng);
    }
}

/// Shakes a layout: puts two large parts of different shape in each other's place.
fn swap_two(scene: &mut Scene<'_>, rng: &mut Rng) {
    let area = |i: usize| scene.setting.figures[scene.items[i].figure].area;
    let mut big: Vec<usize> = (0..scene.items.len()).filter(|i| !scene.items[*i].fixed).collect();
    big.sort_by(|a, b| area(*b).total_cmp(&area(*a)));
    big.truncate((big.len() / 2).max(2));
    if big.len() < 2 {
        return;
    }
    let differ = (0..20).find_map(|_| {
        let (a, b) = (big[rng.usize(0..big.len())], big[rng.usize(0..big.len())]);
        (scene.items[a].figure != scene.items[b].figure).then_some((a, b))
    });
    if let Some((a, b)) = differ {
        let (p, q) = (scene.items[a].place, scene.items[b].place);
        scene.put(a, Place { turn: p.turn, ..q });
        scene.put(b, Place { turn: q.turn, ..p });
    }
}
