//! One of the searches that fill a sheet side by side.

use fastrand::Rng;

use super::super::compact::{push_together, straighten};
use super::super::contact::{BEAM_STEPS, Beam};
use super::super::figure::Place;
use super::super::greedy::{Goal, place_one};
use super::super::lattice::lay;
use super::super::relocate::{Effort, random_place};
use super::super::scene::{Item, Scene, Scratch, Setting, squared};
use super::super::separate::{Pool, Separation, State};
use super::sheet::{Kept, SheetFill};
use crate::check;
use crate::cutting::starts::Offered;
use crate::job::Stop;
use crate::part::Turning;
use crate::plan::{Job, Layout};

/// Tries of the first, greedy placing of a part.
const GREEDY_SAMPLES: usize = 60;

const EFFORT: Effort = Effort { anywhere: 24, nearby: 6, flush: 20, kept: 3, turn: true };
const PATIENCE: usize = 60;

/// Failed attempts in a row, for each kind of part still to place, after which a sheet counts as
/// full while another sheet could take the rest; and the most kinds that count.
const FULL_AFTER: usize = 2;
const MOST_KINDS: usize = 8;

/// Failed attempts to insert everything after which the next begins anew.
const FRESH_AFTER: usize = 2;

/// Places tried for each part of a complete layout that is to lie square.
const SQUARE_TRIES: usize = 24;

/// Most parts that a layout is built of from scratch.
const MOST_BUILT: usize = 80;

/// Times that the parts of a clear layout are asked to make room for starts.
const MOST_ASKED: usize = 8;

/// Copies of a part from which on they are laid in rows first.
const MANY: usize = 8;

/// Most parts that are laid in a strip one by one: more take too long, and are mostly rows.
const MOST_IN_STRIP: usize = 200;

/// How often a lane lays what lies on a sheet in a strip, each time in another order.
const STRIPS: usize = 3;

/// By how much (share of their size) parts may change places in the order, the large first.
const SWAY: f64 = 0.6;

/// What a lane is about.
#[derive(Clone, Copy, Debug, PartialEq)]
enum Aim {
    /// One part more.
    Insert,
    /// All that is lacking at once.
    InsertAll,
    /// The same parts, left of a line.
    Compress,
}

/// One of the searches that run side by side.
pub(super) struct Lane<'a> {
    job: &'a Job,
    stock: usize,
    setting: &'a Setting,
    faces: &'a [Vec<usize>],
    goes: &'a [bool],
    offered: Option<&'a Offered<'a>>,
    wanted: &'a [usize],
    alone: bool,
    care: u32,
    pub(super) kept: Kept,
    attempt: Option<(Separation<'a>, Aim)>,
    /// All parts, still over each other, from the last attempt to insert them all.
    loose: Option<Vec<Item>>,
    /// Layouts of failed attempts to insert them all.
    pool: Pool,
    /// Failed attempts in a row.
    fails: usize,
    /// How often the attempt's parts were asked to make room for starts.
    asked: usize,
    /// A layout being built from scratch.
    beam: Option<Beam>,
    /// How many were.
    beams: u32,
    shrink: f64,
    /// How often what lies here is yet to be laid in a strip.
    strips: usize,
    /// Whether what is complete has been laid square.
    square: bool,
    pub(super) done: bool,
    greedy: bool,
    rank: usize,
    pub(super) steps: u64,
    rng: Rng,
    scratch: Scratch,
}

impl<'a> Lane<'a> {
    pub(super) fn new(fill: &SheetFill<'a>, rank: usize, rng: Rng) -> Self {
        let ready = fill.ready;
        let (setting, faces) = (&ready.setting, &ready.faces);
        let fixed = fill.layout.placements.iter().filter_map(|p| {
            let face = |f: &&usize| setting.figures[**f].flipped == p.pose.flipped;
            // A locked part on a face that it may not lie on is for the check to name.
            let figure = *faces[p.part].iter().find(face).or(faces[p.part].first())?;
            Some(Item::new(setting, figure, setting.figures[figure].place(&p.pose), true))
        });
        let scene = Scene::new(setting, fixed.collect(), f64::INFINITY);
        Self {
            job: fill.job,
            stock: ready.stock,
            setting,
            faces,
            goes: &ready.goes,
            offered: ready.offered,
            wanted: fill.left,
            alone: fill.alone,
            care: fill.care,
            kept: Kept::of(&scene),
            attempt: None,
            loose: None,
            pool: Pool::default(),
            fails: 0,
            asked: 0,
            beam: None,
            beams: 0,
            shrink: 0.02,
            strips: if rank == 0 { 0 } else { STRIPS },
            square: false,
            done: false,
            greedy: true,
            rank,
            steps: 0,
            rng,
            scratch: Scratch::default(),
        }
    }

    pub(super) fn run(&mut self, steps: u64, stop: &Stop) {
        let until = self.steps + steps;
        while self.steps < until && !self.done && !stop.raised() {
            if self.greedy {
                self.place_greedily(stop);
                if self.care == 0 {
                    return;
                }
                continue;
            }
            if let Some(mut beam) = self.beam.take() {
                self.steps += BEAM_STEPS;
                if beam.step(self.setting, self.faces, &mut self.rng, &mut self.scratch) {
                    self.beam = Some(beam);
                } else {
                    self.take(beam);
                }
                continue;
            }
            let Some((mut separation, aim)) = self.attempt.take() else {
                self.next_attempt(stop);
                continue;
            };
            let before = separation.steps;
            let state = separation.pass(&mut self.rng, &mut self.scratch, stop);
            // A pass that moved nothing still counts, so that every loop ends.
            self.steps += (separation.steps - before).max(1);
            match state {
                State::Going => self.attempt = Some((separation, aim)),
                State::Clear => self.cleared(separation, aim, stop),
                State::Stuck => self.failed(separation, aim),
            }
        }
    }

    /// Keeps what an attempt has come to, if every contour can be started there; otherwise asks for
    /// room and goes on.
    fn cleared(&mut self, mut separation: Separation<'a>, aim: Aim, stop: &Stop) {
        let scene = &mut separation.scene;
        // While parts are lacking, time is better spent on them than on looking for squarer places.
        let elsewhere = if aim == Aim::Compress { SQUARE_TRIES } else { 0 };
        if aim == Aim::Compress {
            push_together(scene, &mut self.scratch);
        }
        straighten(scene, elsewhere, &mut self.rng, &mut self.scratch, stop);
        let shut = self.keep(scene);
        if shut.is_empty() {
            self.fails = 0;
            self.loose = None;
            self.pool.clear();
        } else if self.asked < MOST_ASKED {
            self.asked += 1;
            shut.into_iter().for_each(|i| scene.give_way(i));
            separation.restart();
            self.attempt = Some((separation, aim));
        } else {
            self.failed(separation, aim);
        }
    }

    fn failed(&mut self, separation: Separation<'a>, aim: Aim) {
        self.fails += 1;
        match aim {
            Aim::Insert => {}
            Aim::InsertAll => self.start_again(separation),
            Aim::Compress => self.shrink *= 0.5,
        }
    }

    /// Keeps a clear layout if it is better than the one kept, without the parts that have a contour
    /// which can't be started there; returns those.
    fn keep(&mut self, scene: &Scene<'_>) -> Vec<usize> {
        let shut = self.shut(scene);
        let found = if shut.is_empty() {
            Kept::of(scene)
        } else {
            let items = scene.items.iter().enumerate();
            let open = items.filter(|(i, item)| item.fixed || !shut.contains(i));
            let items = open.map(|(_, item)| item.clone()).collect();
            Kept::of(&Scene::new(self.setting, items, f64::INFINITY))
        };
        // What others are asked to make room for does not count.
        let locked = shut.iter().any(|i| scene.items[*i].fixed);
        if !locked && found.is_better_than(&self.kept) {
            self.kept = found;
        }
        shut
    }

    /// The items with a contour that can't be started where they lie; of what is locked only those
    /// that could be started without the others.
    fn shut(&self, scene: &Scene<'_>) -> Vec<usize> {
        let Some(offered) = self.offered else { return Vec::new() };
        let missing = |items: &mut dyn Iterator<Item = &Item>| -> Vec<usize> {
            let placements = items.map(|i| i.placement(self.setting)).collect();
            let layout = Layout { stock: self.stock, placements };
            let ground = check::Scene::new(self.job, &layout);
            let mut shut: Vec<usize> =
                offered.find(&layout, &ground).missing().map(|(placed, _)| placed).collect();
            shut.dedup();
            shut
        };
        let mut shut = missing(&mut scene.items.iter());
        if shut.iter().any(|i| scene.items[*i].fixed) {
            let locked: Vec<usize> =
                (0..scene.items.len()).filter(|i| scene.items[*i].fixed).collect();
            let anyway = missing(&mut locked.iter().map(|i| &scene.items[*i]));
            shut.retain(|i| !anyway.iter().any(|k| locked[*k] == *i));
        }
        shut
    }

    /// Begins to build a layout from scratch, if it is of few parts; each time with more care.
    fn build(&mut self) {
        if self.is_small() {
            let fixed = self.kept.items.iter().filter(|i| i.fixed).cloned().collect();
            let near = 0.01 + 0.05 * self.rng.f64();
            let width = 4 << (self.care + self.beams / 2).min(5);
            let beam = Beam::new(fixed, self.wanted.to_vec(), f64::INFINITY, width, near);
            // On one of several sheets the biggest must lie: why not on this one.
            let size = |p: &usize| self.size(*p);
            let biggest = self.candidates().into_iter().max_by(|a, b| size(a).total_cmp(&size(b)));
            let turn = (self.beams as usize + self.rank).is_multiple_of(2);
            self.beam = Some(match biggest.filter(|_| turn && !self.alone) {
                Some(part) => beam.begun_with(part),
                None => beam,
            });
            self.beams += 1;
        }
    }

    fn is_small(&self) -> bool {
        self.wanted.iter().sum::<usize>() <= MOST_BUILT
    }

    /// What a beam has built; what it lacks is thrown in to be pulled apart.
    fn take(&mut self, beam: Beam) {
        let (items, missing) = beam.best();
        let mut scene = Scene::new(self.setting, items, f64::INFINITY);
        let before = self.kept.area;
        let shut = self.keep(&scene);
        if self.kept.area > before {
            self.fails = 0;
            self.pool.clear();
        }
        let whole = shut.is_empty() && missing.iter().all(|n| *n == 0);
        shut.into_iter().for_each(|i| scene.give_way(i));
        let all = (0..missing.len()).try_fold(scene.items, |items, part| {
            (0..missing[part]).try_fold(items, |items, _| self.thrown_in(items, part))
        });
        self.loose = all.filter(|_| !whole);
    }

    /// Says where the next attempt to place all starts: from one of the least bad layouts so far with
    /// two parts in each other's place, or now and then anew.
    fn start_again(&mut self, separation: Separation<'a>) {
        if !self.fails.is_multiple_of(FRESH_AFTER) {
            self.pool.note(&separation);
            let mut scene = separation.scene;
            self.pool.shake(&mut scene, &mut self.rng);
            self.loose = Some(scene.items);
            return;
        }
        self.pool.clear();
        self.build();
        if self.beam.is_some() {
            return;
        }
        let mut scene = separation.scene;
        for i in 0..scene.items.len() {
            let anywhere =
                random_place(self.setting, scene.items[i].figure, f64::INFINITY, &mut self.rng);
            if let Some(place) = anywhere.filter(|_| !scene.items[i].fixed) {
                scene.put(i, place);
            }
        }
        self.loose = Some(scene.items);
    }

    /// Learns of the best that any lane has found.
    pub(super) fn meet(&mut self, best: &Kept) {
        if best.area > self.kept.area * (1.0 + 1e-9) {
            self.kept = best.clone();
            self.attempt = None;
            self.loose = None;
            self.pool.clear();
            self.fails = 0;
        }
    }

    /// How many of each part the kept layout still lacks.
    fn missing(&self) -> Vec<usize> {
        let mut missing = self.wanted.to_vec();
        for item in self.kept.items.iter().filter(|i| !i.fixed) {
            let part = self.setting.figures[item.figure].part;
            missing[part] = missing[part].saturating_sub(1);
        }
        missing
    }

    /// Big parts first, each where it is found to fit at once; lanes differ in the order.
    fn place_greedily(&mut self, stop: &Stop) {
        self.greedy = false;
        let mut order: Vec<usize> = self.candidates();
        let mut missing = self.missing();
        if self.rank > 0 && order.iter().any(|p| missing[*p] >= MANY) {
            // It hears of the rows that the first lane lays.
            return;
        }
        let keys = self.keys(if self.rank == 0 { 0.0 } else { SWAY });
        order.sort_by(|a, b| keys[*b].total_cmp(&keys[*a]));
        let mut scene = Scene::new(self.setting, self.kept.items.clone(), f64::INFINITY);
        for part in order {
            if missing[part] >= MANY {
                missing[part] -= self.lay_rows(&mut scene, part, missing[part], stop);
            }
            for _ in 0..missing[part] {
                if !self.place_next(&mut scene, part, Goal::Corner, stop) {
                    break;
                }
            }
        }
        let shut = self.keep(&scene);
        if !shut.is_empty() {
            shut.into_iter().for_each(|i| scene.give_way(i));
            let laid = |p: usize| {
                let of = |i: &&Item| !i.fixed && self.setting.figures[i.figure].part == p;
                scene.items.iter().filter(of).count()
            };
            if (0..self.wanted.len()).all(|p| laid(p) >= self.wanted[p]) {
                self.loose = Some(scene.items);
                return;
            }
        }
        let missing = self.missing();
        if self.candidates().iter().any(|p| missing[*p] > 0) {
            // Should nothing more go in, what lies here is not to lie in a heap. The first plan, in a blink,
            // does not wait for that, nor does what other sheets may take.
            if self.care > 0 && self.alone {
                self.lay_in_strip(stop);
            }
            self.build();
        }
    }

    /// Lays up to `most` copies of a part in rows: close ones, or where those leave no room for starts
    /// and roomier ones lay more that have; returns how many it laid.
    fn lay_rows(&mut self, scene: &mut Scene<'a>, part: usize, most: usize, stop: &Stop) -> usize {
        let close = self.rows(scene, part, most, false, stop);
        let shut = self.shut(&close);
        let laid = |rows: &Scene<'_>| rows.items.len() - scene.items.len();
        let rows = if shut.is_empty() {
            close
        } else {
            let roomy = self.rows(scene, part, most, true, stop);
            let startable = laid(&close).saturating_sub(shut.len());
            if laid(&roomy) > startable { roomy } else { close }
        };
        let laid = laid(&rows);
        *scene = rows;
        laid
    }

    /// The scene with up to `most` copies of a part in the rows that take most of them, or that reach
    /// least far where they take all.
    fn rows(
        &mut self,
        scene: &Scene<'a>,
        part: usize,
        most: usize,
        roomy: bool,
        stop: &Stop,
    ) -> Scene<'a> {
        let mut best: Option<(usize, f64, usize, Vec<Place>)> = None;
        let shifts = if self.setting.ground.is_plain() { [8, 1] } else { [4, 4] };
        for figure in &self.faces[part] {
            for lattice in self.setting.lattices(*figure, roomy, stop).iter() {
                for k in 0..shifts[0] * shifts[1] {
                    if stop.raised() {
                        return scene.clone();
                    }
                    let shift = [
                        f64::from(k % shifts[0]) / f64::from(shifts[0]),
                        f64::from(k / shifts[0]) / f64::from(shifts[1]),
                    ];
                    // What lies beyond others that take all is no better.
                    let taken = best.as_ref().filter(|(count, ..)| *count == most);
                    let farthest = taken.map_or(f64::INFINITY, |(_, reach, ..)| *reach);
                    let laid = (lattice, shift);
                    let places = lay(scene, *figure, laid, most, farthest, &mut self.scratch);
                    self.steps += 1 + places.len() as u64 / 50;
                    let reach = places.last().map_or(f64::NEG_INFINITY, |p| p.x);
                    let better = best.as_ref().is_none_or(|(count, far, ..)| {
                        places.len() > *count || (places.len() == *count && reach < *far)
                    });
                    if better {
                        best = Some((places.len(), reach, *figure, places));
                    }
                }
            }
        }
        let rows = best.map(|(_, _, figure, places)| (figure, places));
        let new = rows.iter().flat_map(|(figure, places)| {
            places.iter().map(|p| Item::new(self.setting, *figure, *p, false))
        });
        let items = scene.items.iter().cloned().chain(new).collect();
        let rows = Scene::new(self.setting, items, scene.right);
        debug_assert!(rows.survey().total() == 0.0, "rows lie over each other");
        rows
    }

    /// Parts that can lie on this sheet at all.
    fn candidates(&self) -> Vec<usize> {
        let can_turn = |f: &usize| !matches!(&self.setting.figures[*f].turning, Turning::Only(a) if a.is_empty());
        (0..self.faces.len())
            .filter(|p| self.wanted[*p] > 0 && self.goes[*p])
            .filter(|p| self.faces[*p].iter().any(can_turn))
            .filter(|p| self.offered.is_none_or(|offered| can_start(offered, *p)))
            .collect()
    }

    fn size(&self, part: usize) -> f64 {
        self.faces[part].first().map_or(0.0, |f| self.setting.figures[*f].radius)
    }

    fn next_attempt(&mut self, stop: &Stop) {
        let missing = self.missing();
        let free = self.setting.ground.area
            - self.kept.items.iter().map(|i| self.setting.figures[i.figure].area).sum::<f64>();
        let lacking: Vec<usize> = self
            .candidates()
            .into_iter()
            .filter(|p| missing[*p] > 0)
            .filter(|p| {
                self.faces[*p].first().is_some_and(|f| self.setting.figures[*f].area <= free)
            })
            .collect();
        if lacking.is_empty() {
            if !self.alone && missing.iter().any(|n| *n > 0) {
                // What is left is for other sheets.
                self.done = true;
                return;
            }
            if self.strips > 0 {
                self.lay_in_strip(stop);
                return;
            }
            if !self.square {
                self.square = true;
                let mut scene = Scene::new(self.setting, self.kept.items.clone(), f64::INFINITY);
                straighten(&mut scene, SQUARE_TRIES, &mut self.rng, &mut self.scratch, stop);
                self.keep(&scene);
                self.steps += 1;
                return;
            }
            if self.shrink < 0.002 {
                self.done = true;
                return;
            }
            self.compress();
            return;
        }
        if !self.alone
            && self.fails >= FULL_AFTER * self.care as usize * lacking.len().min(MOST_KINDS)
        {
            self.done = true;
            return;
        }
        // Lanes take turns: one adds part by part, the other tries all that is lacking at once where
        // the metal could hold it.
        let area = |p: &usize| self.setting.figures[self.faces[*p][0]].area;
        let all: f64 = lacking.iter().map(|p| area(p) * missing[*p] as f64).sum();
        let (aim, items) = if (self.rank.is_multiple_of(2) || self.is_small()) && all <= free {
            let items = match self.loose.take() {
                Some(items) => Some(items),
                None => lacking.iter().try_fold(self.kept.items.clone(), |items, part| {
                    (0..missing[*part]).try_fold(items, |items, _| self.thrown_in(items, *part))
                }),
            };
            (Aim::InsertAll, items)
        } else {
            let part = lacking[self.rng.usize(0..lacking.len())];
            (Aim::Insert, self.thrown_in(self.kept.items.clone(), part))
        };
        let Some(items) = items else {
            self.fails += 1;
            self.steps += 1;
            return;
        };
        let scene = Scene::new(self.setting, items, f64::INFINITY);
        self.asked = 0;
        self.attempt = Some((Separation::new(scene, EFFORT, PATIENCE), aim));
    }

    /// Lays what lies here once more, from the left on: what was laid toward a corner lies in a heap where
    /// there is room to spare. Kept where it reaches less far.
    fn lay_in_strip(&mut self, stop: &Stop) {
        self.strips = self.strips.saturating_sub(1);
        let (fixed, mut loose): (Vec<Item>, Vec<Item>) =
            self.kept.items.iter().cloned().partition(|i| i.fixed);
        if loose.len() > MOST_IN_STRIP {
            return;
        }
        let part = |item: &Item| self.setting.figures[item.figure].part;
        let keys = self.keys(SWAY);
        loose.sort_by(|a, b| keys[part(b)].total_cmp(&keys[part(a)]));
        let order: Vec<usize> = loose.iter().map(part).collect();
        let mut scene = Scene::new(self.setting, fixed, f64::INFINITY);
        if order.into_iter().all(|part| self.place_next(&mut scene, part, Goal::Left, stop)) {
            self.keep(&scene);
        }
    }

    /// By what parts are ordered, the largest first: their size, which may sway by this share of it.
    fn keys(&mut self, sway: f64) -> Vec<f64> {
        (0..self.faces.len())
            .map(|p| self.size(p) * (1.0 + sway * (self.rng.f64() - 0.5)))
            .collect()
    }

    /// Lays one more of a part where it is found to fit at once; whether it was.
    fn place_next(&mut self, scene: &mut Scene<'_>, part: usize, goal: Goal, stop: &Stop) -> bool {
        self.steps += 1;
        if stop.raised() {
            return false;
        }
        let (rng, scratch) = (&mut self.rng, &mut self.scratch);
        let found = place_one(scene, &self.faces[part], goal, GREEDY_SAMPLES, rng, scratch);
        let laid = found.map(|(figure, place)| Item::new(self.setting, figure, place, false));
        let fits = laid.is_some();
        scene.items.extend(laid);
        fits
    }

    /// The items and one of `part` more, anywhere.
    fn thrown_in(&mut self, mut items: Vec<Item>, part: usize) -> Option<Vec<Item>> {
        let faces = &self.faces[part];
        let figure = faces[self.rng.usize(0..faces.len())];
        let place = random_place(self.setting, figure, f64::INFINITY, &mut self.rng)?;
        items.push(Item::new(self.setting, figure, place, false));
        Some(items)
    }

    /// Everything lies: the same again, left of a line; every other lane lays it square to the sheet.
    fn compress(&mut self) {
        let left = self.setting.ground.limits.min[0];
        let turn = self.rank.is_multiple_of(2);
        let reach = if turn { self.kept.reach } else { self.kept.length() };
        let right = left + (reach - left) * (1.0 - self.shrink);
        let mut scene = Scene::new(self.setting, self.kept.items.clone(), right);
        for i in 0..scene.items.len() {
            if !turn && scene.is_at_odd_angle(i) {
                let place = scene.items[i].place;
                scene.put(i, Place { turn: squared(place.turn), ..place });
            }
            let over = scene.items[i].limits.max[0] - right;
            let place = scene.items[i].place;
            if over > 0.0 && !scene.items[i].fixed {
                scene.put(i, Place { x: place.x - over, ..place });
            }
        }
        let separation = Separation::new(scene, Effort { turn, ..EFFORT }, PATIENCE);
        self.asked = 0;
        self.attempt = Some((separation, Aim::Compress));
    }
}

/// Whether every contour of a part could be started at all.
fn can_start(offered: &Offered<'_>, part: usize) -> bool {
    offered.of(part, false).iter().all(|starts| !starts.is_empty())
}
