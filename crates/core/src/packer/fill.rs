//! Fills sheets: big parts first where they fit at once, then one part more at a time by pulling
//! everything apart, and at last everything pushed together so that a useful piece is left.

use fastrand::Rng;
use rayon::prelude::*;

use super::compact::{push_together, straighten};
use super::figure::{Figure, Place, smallest};
use super::greedy::{Goal, place_one};
use super::ground::Ground;
use super::relocate::{Effort, random_place};
use super::scene::{Item, Scene, Scratch, Setting};
use super::separate::{Separation, State, swap_two};
use super::{ARC_BOUND, LANES, Packed, Progress, Settings};
use crate::job::{Budget, Stop};
use crate::part::Turning;
use crate::plan::{Count, Job, Layout, Placement, Plan};

/// Tries of the first, greedy placing of a part.
const GREEDY_SAMPLES: usize = 60;

const EFFORT: Effort = Effort { anywhere: 24, nearby: 6, flush: 20, kept: 3 };
const PATIENCE: usize = 40;

/// Relocations that a lane does between two meetings with the others.
const ROUND: u64 = 60;

/// Failed attempts in a row, for each kind of part still to place, after which a sheet counts as
/// full while another sheet is there to take the rest.
const FULL_AFTER: usize = 2;

/// Layouts of failed attempts that are remembered.
const POOL: usize = 20;

/// Failed attempts to insert everything after which the next begins anew.
const FRESH_AFTER: usize = 8;

/// Parts never tried beyond this many for a part wanted as often as it goes in.
const MOST_COPIES: usize = 5_000;

/// See [`super::pack`].
pub(super) fn fill(
    job: &Job,
    start: &Plan,
    settings: Settings,
    budget: &Budget<'_>,
    better: &mut (dyn FnMut(Progress<'_>) + Send),
) -> Packed {
    let mut rng = Rng::with_seed(settings.seed);
    let mut layouts = locked_layouts(start);
    let left: Vec<usize> = job
        .wanted
        .iter()
        .enumerate()
        .map(|(i, w)| {
            let laid = layouts.iter().flat_map(|l| &l.placements).filter(|p| p.part == i).count();
            match w.count {
                Count::Exactly(n) => n.saturating_sub(laid),
                Count::Max => MOST_COPIES.saturating_sub(laid),
            }
        })
        .collect();
    for (stock, s) in job.stock.iter().enumerate() {
        let used = layouts.iter().filter(|l| l.stock == stock).count();
        let more = s.count.saturating_sub(used).min(left.iter().sum());
        layouts.extend((0..more).map(|_| Layout { stock, placements: Vec::new() }));
    }
    let mut run = Run { job, layouts, left, budget, steps: 0, better };
    // A complete plan first, in a blink; then, sheet by sheet, as good a one as the budget allows.
    let quick = run.sheets(rng.u64(..), true, &mut None);
    let mut best = Some(Worth::of(job, &quick));
    let searched = run.sheets(rng.u64(..), false, &mut best);
    let plan = if Worth::of(job, &searched).is_better_than(&Worth::of(job, &quick)) {
        searched
    } else {
        quick
    };
    Packed { plan, steps: run.steps }
}

/// What a plan is worth: more area placed, then fewer sheets, then less length of the last used.
#[derive(Clone, Copy, Debug)]
struct Worth {
    area: f64,
    sheets: usize,
    reach: f64,
}

impl Worth {
    fn of(job: &Job, plan: &Plan) -> Self {
        let area = plan.placements().map(|p| job.wanted[p.part].part.region.area()).sum();
        let reach = plan.layouts.iter().map(|l| reach(job, l)).sum();
        Self { area, sheets: plan.layouts.len(), reach }
    }

    fn is_better_than(&self, other: &Self) -> bool {
        let margin = 1e-9 * self.area.max(other.area);
        if (self.area - other.area).abs() > margin {
            return self.area > other.area;
        }
        (self.sheets, self.reach) < (other.sheets, other.reach)
    }
}

/// The greatest x that the parts of a layout reach, mm.
fn reach(job: &Job, layout: &Layout) -> f64 {
    let right =
        |p: &Placement| job.wanted[p.part].part.region.outer().placed(&p.pose).bounds().max.x;
    layout.placements.iter().map(right).fold(0.0, f64::max)
}

/// All sheets of a job, one after the other.
struct Run<'a, 'b> {
    job: &'a Job,
    /// What is locked on each sheet there is.
    layouts: Vec<Layout>,
    /// How many of each part are to be placed.
    left: Vec<usize>,
    budget: &'a Budget<'b>,
    steps: u64,
    better: &'a mut (dyn FnMut(Progress<'_>) + Send),
}

impl Run<'_, '_> {
    /// Fills one sheet after the other; `better` hears of plans that beat `best`.
    fn sheets(&mut self, seed: u64, quick: bool, best: &mut Option<Worth>) -> Plan {
        let mut rng = Rng::with_seed(seed);
        let (mut layouts, mut left) = (self.layouts.clone(), self.left.clone());
        for l in 0..layouts.len() {
            if left.iter().all(|n| *n == 0) || self.budget.stop.raised() {
                break;
            }
            let sheet = SheetFill {
                job: self.job,
                layout: &self.layouts[l],
                left: &left,
                last: l + 1 == layouts.len(),
                // What time does not allow to be searched is at least laid.
                quick: quick || self.budget.spent(self.steps),
                seed: rng.u64(..),
            };
            let (job, before, better) = (self.job, self.steps, &mut *self.better);
            let filled = sheet.run(self.budget, before, &mut |placements, done| {
                let mut now = layouts.clone();
                now[l].placements = placements;
                let plan = numbered(now);
                let worth = Worth::of(job, &plan);
                if best.is_none_or(|b| worth.is_better_than(&b)) {
                    *best = Some(worth);
                    better(Progress { plan: &plan, steps: before + done });
                }
            });
            self.steps += filled.steps;
            for p in filled.placements.iter().filter(|p| !p.locked) {
                left[p.part] = left[p.part].saturating_sub(1);
            }
            layouts[l].placements = filled.placements;
        }
        numbered(layouts)
    }
}

/// The layouts of a plan with only what is locked on them.
fn locked_layouts(start: &Plan) -> Vec<Layout> {
    let locked = start.layouts.iter().map(|l| Layout {
        stock: l.stock,
        placements: l.placements.iter().filter(|p| p.locked).copied().collect(),
    });
    locked.filter(|l| !l.placements.is_empty()).collect()
}

/// The plan of these layouts, those without parts left out, with copies numbered: locked parts keep
/// their number, the others take the least that is free.
fn numbered(layouts: Vec<Layout>) -> Plan {
    let mut layouts: Vec<Layout> =
        layouts.into_iter().filter(|l| !l.placements.is_empty()).collect();
    let parts = layouts.iter().flat_map(|l| &l.placements).map(|p| p.part + 1).max().unwrap_or(0);
    let mut taken: Vec<Vec<usize>> = vec![Vec::new(); parts];
    for p in layouts.iter().flat_map(|l| &l.placements).filter(|p| p.locked) {
        taken[p.part].push(p.copy);
    }
    let mut next = vec![1; parts];
    for p in layouts.iter_mut().flat_map(|l| &mut l.placements).filter(|p| !p.locked) {
        while taken[p.part].contains(&next[p.part]) {
            next[p.part] += 1;
        }
        p.copy = next[p.part];
        next[p.part] += 1;
    }
    Plan { layouts }
}

/// One sheet to fill.
struct SheetFill<'a> {
    job: &'a Job,
    /// What is locked on it.
    layout: &'a Layout,
    /// How many of each part are still to place.
    left: &'a [usize],
    /// Whether no other sheet can take what does not go on this one.
    last: bool,
    /// Whether to lay only what fits at once.
    quick: bool,
    seed: u64,
}

struct Filled {
    placements: Vec<Placement>,
    steps: u64,
}

impl SheetFill<'_> {
    fn run(
        &self,
        budget: &Budget<'_>,
        before: u64,
        better: &mut (dyn FnMut(Vec<Placement>, u64) + Send),
    ) -> Filled {
        let (setting, faces) = self.setting();
        let mut rng = Rng::with_seed(self.seed);
        let mut lanes: Vec<Lane<'_>> = (0..LANES)
            .map(|k| {
                let rng = Rng::with_seed(rng.u64(..));
                Lane::new(&setting, &faces, self, k, rng)
            })
            .collect();
        let mut best = Kept::default();
        loop {
            let round = if self.quick { 1 } else { ROUND };
            lanes.par_iter_mut().for_each(|lane| lane.run(round, &budget.stop));
            let steps = lanes.iter().map(|l| l.steps).sum();
            let mut improved = false;
            for lane in &lanes {
                if lane.kept.is_better_than(&best) {
                    best = lane.kept.clone();
                    improved = true;
                }
            }
            if improved {
                better(self.placements(&setting, &best), steps);
            }
            for lane in &mut lanes {
                lane.meet(&best);
            }
            if self.quick || budget.spent(before + steps) || lanes.iter().all(|l| l.done) {
                return Filled { placements: self.placements(&setting, &best), steps };
            }
        }
    }

    /// The setting, and for each part its figures, one for each face it may lie on.
    fn setting(&self) -> (Setting, Vec<Vec<usize>>) {
        let sheet = &self.job.stock[self.layout.stock].sheet;
        let mut figures: Vec<Figure> = Vec::new();
        let least = smallest(self.job.wanted.iter().map(|w| &w.part));
        let faces = self
            .job
            .wanted
            .iter()
            .enumerate()
            .map(|(i, wanted)| {
                let faces = if wanted.part.flip { &[false, true][..] } else { &[false][..] };
                let made = faces.iter().map(|flipped| {
                    Figure::new(i, &wanted.part, *flipped, sheet.grain, ARC_BOUND, least)
                });
                made.map(|figure| {
                    figures.push(figure);
                    figures.len() - 1
                })
                .collect()
            })
            .collect();
        let inset = figures.iter().map(|f| f.inset).fold(0.0, f64::max);
        let span = figures.iter().map(|f| 2.0 * f.radius).fold(0.0, f64::max);
        let clearances = &self.job.clearances;
        let ground = Ground::new(sheet, clearances, ARC_BOUND, inset, span);
        let gap = clearances.between_parts();
        let fixed: Vec<f64> = self.layout.placements.iter().map(|p| p.pose.turn).collect();
        let touch = 1e-9 * (ground.limits.max[0] - ground.limits.min[0]);
        (Setting::new(figures, ground, gap, touch, &fixed), faces)
    }

    fn placements(&self, setting: &Setting, kept: &Kept) -> Vec<Placement> {
        let new = kept.items.iter().filter(|i| !i.fixed).map(|item| {
            let figure = &setting.figures[item.figure];
            let pose = figure.pose(item.place);
            Placement { part: figure.part, copy: 0, pose, locked: false }
        });
        self.layout.placements.iter().copied().chain(new).collect()
    }
}

/// A clear layout and what it is worth.
#[derive(Clone, Debug, Default)]
struct Kept {
    items: Vec<Item>,
    /// Area placed, mm².
    area: f64,
    /// How far right the parts reach, mm; counts only among equal areas.
    reach: f64,
}

impl Kept {
    fn of(scene: &Scene<'_>) -> Self {
        let free = || scene.items.iter().filter(|i| !i.fixed);
        Self {
            items: scene.items.clone(),
            area: free().map(|i| scene.setting.figures[i.figure].area).sum(),
            reach: free().map(|i| i.limits.max[0]).fold(f64::NEG_INFINITY, f64::max),
        }
    }

    fn is_better_than(&self, other: &Self) -> bool {
        let margin = 1e-9 * self.area.max(other.area);
        self.area > other.area + margin
            || (self.area > other.area - margin && self.reach < other.reach - 1e-6)
    }
}

/// What a lane is about.
#[derive(Clone, Copy, Debug, PartialEq)]
enum Aim {
    /// One part more.
    Insert,
    /// All that is lacking at once.
    InsertAll,
    /// The same parts, left of a line; the share of the reach to be won.
    Compress(f64),
}

/// One of the searches that run side by side.
struct Lane<'a> {
    setting: &'a Setting,
    faces: &'a [Vec<usize>],
    wanted: &'a [usize],
    last: bool,
    kept: Kept,
    attempt: Option<(Separation<'a>, Aim)>,
    /// All parts, still over each other, from the last attempt to insert them all.
    loose: Option<Vec<Item>>,
    /// Layouts of failed attempts to insert them all and how much collides there, least first.
    pool: Vec<(Vec<Place>, f64)>,
    /// Failed attempts in a row.
    fails: usize,
    shrink: f64,
    done: bool,
    greedy: bool,
    rank: usize,
    steps: u64,
    rng: Rng,
    scratch: Scratch,
}

impl<'a> Lane<'a> {
    fn new(
        setting: &'a Setting,
        faces: &'a [Vec<usize>],
        fill: &SheetFill<'a>,
        rank: usize,
        rng: Rng,
    ) -> Self {
        let fixed = fill.layout.placements.iter().filter_map(|p| {
            let face = |f: &&usize| setting.figures[**f].flipped == p.pose.flipped;
            // A locked part on a face that it may not lie on is for the check to name.
            let figure = *faces[p.part].iter().find(face).or(faces[p.part].first())?;
            Some(Item::new(setting, figure, setting.figures[figure].place(&p.pose), true))
        });
        let scene = Scene::new(setting, fixed.collect(), f64::INFINITY);
        Self {
            setting,
            faces,
            wanted: fill.left,
            last: fill.last,
            kept: Kept::of(&scene),
            attempt: None,
            loose: None,
            pool: Vec::new(),
            fails: 0,
            shrink: 0.02,
            done: false,
            greedy: true,
            rank,
            steps: 0,
            rng,
            scratch: Scratch::default(),
        }
    }

    fn run(&mut self, steps: u64, stop: &Stop) {
        let until = self.steps + steps;
        while self.steps < until && !self.done && !stop.raised() {
            if self.greedy {
                self.place_greedily(stop);
                continue;
            }
            let Some((mut separation, aim)) = self.attempt.take() else {
                self.next_attempt();
                continue;
            };
            let before = separation.steps;
            let state = separation.pass(&mut self.rng, &mut self.scratch, stop);
            // A pass that moved nothing still counts, so that every loop ends.
            self.steps += (separation.steps - before).max(1);
            match state {
                State::Going => self.attempt = Some((separation, aim)),
                State::Clear => {
                    let scene = &mut separation.scene;
                    if aim == Aim::Compress(self.shrink) {
                        push_together(scene, &mut self.scratch);
                    }
                    straighten(scene, &mut self.rng, &mut self.scratch);
                    let found = Kept::of(&separation.scene);
                    if found.is_better_than(&self.kept) {
                        self.kept = found;
                    }
                    self.fails = 0;
                    self.loose = None;
                    self.pool.clear();
                }
                State::Stuck => {
                    self.fails += 1;
                    if aim == Aim::InsertAll {
                        self.loose = Some(self.shaken_or_anew(separation));
                    }
                    if matches!(aim, Aim::Compress(_)) {
                        self.shrink *= 0.5;
                    }
                }
            }
        }
    }

    /// Where the next attempt to place all starts: from one of the least bad layouts so far with two
    /// parts in each other's place, and now and then with everything anywhere.
    fn shaken_or_anew(&mut self, separation: Separation<'a>) -> Vec<Item> {
        let (places, collisions) = separation.best();
        let at = self.pool.partition_point(|(_, c)| *c <= collisions);
        self.pool.insert(at, (places.to_vec(), collisions));
        self.pool.truncate(POOL);
        let mut scene = separation.scene;
        if self.fails.is_multiple_of(super::tune("FRESH", FRESH_AFTER as f64) as usize) {
            self.pool.clear();
            for i in 0..scene.items.len() {
                let anywhere =
                    random_place(self.setting, scene.items[i].figure, f64::INFINITY, &mut self.rng);
                if let Some(place) = anywhere.filter(|_| !scene.items[i].fixed) {
                    scene.put(i, place);
                }
            }
            return scene.items;
        }
        let luck = self.rng.f64();
        let pick = (luck * luck * self.pool.len() as f64) as usize;
        scene.put_all(&self.pool[pick].0);
        swap_two(&mut scene, &mut self.rng);
        scene.items
    }

    /// Learns of the best that any lane has found.
    fn meet(&mut self, best: &Kept) {
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
        let sway = if self.rank == 0 { 0.0 } else { 0.6 };
        let keys: Vec<f64> = (0..self.faces.len())
            .map(|p| self.size(p) * (1.0 + sway * (self.rng.f64() - 0.5)))
            .collect();
        order.sort_by(|a, b| keys[*b].total_cmp(&keys[*a]));
        let missing = self.missing();
        let mut scene = Scene::new(self.setting, self.kept.items.clone(), f64::INFINITY);
        for part in order {
            for _ in 0..missing[part] {
                self.steps += 1;
                if stop.raised() {
                    break;
                }
                let found = place_one(
                    &scene,
                    &self.faces[part],
                    Goal::Corner,
                    GREEDY_SAMPLES,
                    &mut self.rng,
                    &mut self.scratch,
                );
                let Some((figure, place)) = found else { break };
                scene.add(Item::new(self.setting, figure, place, false));
            }
        }
        self.kept = Kept::of(&scene);
    }

    /// Parts that can lie on this sheet at all.
    fn candidates(&self) -> Vec<usize> {
        let can_turn = |f: &usize| !matches!(&self.setting.figures[*f].turning, Turning::Only(a) if a.is_empty());
        (0..self.faces.len())
            .filter(|p| self.wanted[*p] > 0 && self.faces[*p].iter().any(can_turn))
            .collect()
    }

    fn size(&self, part: usize) -> f64 {
        self.faces[part].first().map_or(0.0, |f| self.setting.figures[*f].radius)
    }

    fn next_attempt(&mut self) {
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
            if self.shrink < 0.002 {
                self.done = true;
                return;
            }
            self.compress();
            return;
        }
        if !self.last && self.fails >= FULL_AFTER * lacking.len() {
            self.done = true;
            return;
        }
        // Lanes take turns: one adds part by part, the other tries all that is lacking at once where
        // the metal could hold it.
        let area = |p: &usize| self.setting.figures[self.faces[*p][0]].area;
        let all: f64 = lacking.iter().map(|p| area(p) * missing[*p] as f64).sum();
        let (aim, items) = if self.rank.is_multiple_of(2) && all <= free {
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
        self.attempt = Some((
            Separation::new(
                scene,
                Effort {
                    anywhere: super::tune("ANY", 24.0) as usize,
                    nearby: super::tune("NEAR", 6.0) as usize,
                    flush: super::tune("FLUSH", 20.0) as usize,
                    kept: super::tune("KEPT", 3.0) as usize,
                },
                super::tune("PAT", 40.0) as usize,
            ),
            aim,
        ));
    }

    /// The items and one of `part` more, anywhere.
    fn thrown_in(&mut self, mut items: Vec<Item>, part: usize) -> Option<Vec<Item>> {
        let faces = &self.faces[part];
        let figure = faces[self.rng.usize(0..faces.len())];
        let place = random_place(self.setting, figure, f64::INFINITY, &mut self.rng)?;
        items.push(Item::new(self.setting, figure, place, false));
        Some(items)
    }

    /// Everything lies: the same again, left of a line.
    fn compress(&mut self) {
        let left = self.setting.ground.limits.min[0];
        let right = left + (self.kept.reach - left) * (1.0 - self.shrink);
        let mut scene = Scene::new(self.setting, self.kept.items.clone(), right);
        for i in 0..scene.items.len() {
            let over = scene.items[i].limits.max[0] - right;
            let place = scene.items[i].place;
            if over > 0.0 && !scene.items[i].fixed {
                scene.put(i, Place { x: place.x - over, ..place });
            }
        }
        let separation = Separation::new(
            scene,
            Effort {
                anywhere: super::tune("ANY", 24.0) as usize,
                nearby: super::tune("NEAR", 6.0) as usize,
                flush: super::tune("FLUSH", 20.0) as usize,
                kept: super::tune("KEPT", 3.0) as usize,
            },
            super::tune("PAT", 40.0) as usize,
        );
        self.attempt = Some((separation, Aim::Compress(self.shrink)));
    }
}
