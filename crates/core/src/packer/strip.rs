//! The shortest strip: shrink it, pull apart what overlaps then, and shrink it again.

use std::f64::consts::FRAC_PI_2;

use fastrand::Rng;
use rayon::prelude::*;

use super::compact::push_together;
use super::contact::{BEAM_STEPS, Beam};
use super::figure::{Figure, Place, deepest_inset, smallest};
use super::greedy::{Goal, place_one};
use super::ground::Ground;
use super::relocate::Effort;
use super::scene::{Item, Scene, Scratch, Setting};
use super::separate::{Pool, Separation, State};
use super::{ARC_BOUND, LANES, Settings, on_threads};
use crate::distances::Clearances;
use crate::job::{Budget, Stop};
use crate::part::{Part, Turning};
use crate::shape::{Loop, LoopFault, PartSpace, Point, Pose, Region, SheetSpace};
use crate::sheet::{EdgeFacts, Sheet};

/// What is to be laid into a strip along x, from the origin, with its width along y.
#[derive(Clone, Debug)]
pub struct Strip {
    /// Width along y, mm.
    pub width: f64,
    /// The parts and how many of each; all of them must go in.
    pub parts: Vec<(Part, usize)>,
    /// The rule of distances.
    pub clearances: Clearances,
}

/// Where everything lies in a strip of the shortest length found.
#[derive(Clone, Debug)]
pub struct Shortened {
    /// Length of the strip, mm.
    pub length: f64,
    /// Part (by its place in the strip's list) and pose, part by part.
    pub placements: Vec<(usize, Pose<PartSpace, SheetSpace>)>,
    /// Steps of search done.
    pub steps: u64,
}

/// Why a strip can't be packed.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum StripFault {
    /// Nothing to pack, or a width that is not positive.
    #[error("a strip needs a width and at least one part")]
    Empty,
    /// A part is too wide in every turn that it may take.
    #[error("{0} does not go into the strip's width in any turn that it may take")]
    TooWide(String),
    /// The strip is no rectangle that can be measured.
    #[error("the strip can't be measured: {0}")]
    Unmeasurable(#[from] LoopFault),
}

/// Overlaps up to this share of the strip's width count as touching.
const TOUCH: f64 = 1e-7;

/// Most and least shrinking of the length in one attempt, as shares of it: while exploring, and
/// while compressing.
const EXPLORE: (f64, f64) = (0.1, 0.005);
const COMPRESS: (f64, f64) = (0.002, 0.000_05);

/// Failed attempts after which exploring first gives way to compressing; twice as many each time.
const FEWEST_FAILS: usize = 4;

/// Most parts that are tried as tiles; how many layouts are built side by side, and how near (share
/// of a part's size) counts as contact.
const MOST_TILES: usize = 40;
const TILING_WIDTH: usize = 64;
const TILING_NEAR: f64 = 0.01;

const EFFORT: Effort = Effort { anywhere: 30, nearby: 10, flush: 10, kept: 3, turn: true };
const PATIENCE: usize = 100;

/// Relocations that a lane does between two meetings with the others.
const ROUND: u64 = 100;

/// Finds as short a strip as the budget allows. `better` hears of every shorter one.
///
/// # Errors
/// See [`StripFault`].
pub fn shorten(
    strip: &Strip,
    settings: Settings,
    budget: &Budget<'_>,
    better: &mut (dyn FnMut(&Shortened) + Send),
) -> Result<Shortened, StripFault> {
    on_threads(settings.threads, || search(strip, settings.seed, budget, better))
}

fn search(
    strip: &Strip,
    seed: u64,
    budget: &Budget<'_>,
    better: &mut (dyn FnMut(&Shortened) + Send),
) -> Result<Shortened, StripFault> {
    let setup = Setup::new(strip)?;
    let setting = &setup.setting;
    let mut rng = Rng::with_seed(seed);
    let (places, figures) = setup.start(&mut rng, &budget.stop)?;
    let mut lanes: Vec<Lane<'_>> = (0..LANES)
        .map(|_| {
            let rng = Rng::with_seed(rng.u64(..));
            Lane::new(setting, &figures, &places, rng)
        })
        .collect();
    // The last lane first tries whether the parts tile the strip, as those sawn from one do.
    if let Some(lane) = lanes.last_mut().filter(|_| setup.items.len() <= MOST_TILES) {
        lane.tiling = Some(setup.tiling());
    }
    let mut best = Solution { places, length: f64::INFINITY };
    let describe = |best: &Solution, steps: u64| Shortened {
        length: best.length + setup.margin,
        placements: setup.placements(&figures, &best.places),
        steps,
    };
    loop {
        lanes.par_iter_mut().for_each(|lane| lane.run(ROUND, &budget.stop));
        let steps = lanes.iter().map(|l| l.separation.steps).sum();
        let shortest = lanes.iter().map(|l| &l.best).min_by(|a, b| a.length.total_cmp(&b.length));
        if let Some(found) = shortest
            && found.length < best.length
        {
            best = found.clone();
            better(&describe(&best, steps));
        }
        for lane in &mut lanes {
            lane.meet(&best);
        }
        if budget.spent(steps) {
            return Ok(describe(&best, steps));
        }
    }
}

/// Places of all items and the right-most x they reach.
#[derive(Clone, Debug)]
struct Solution {
    places: Vec<Place>,
    length: f64,
}

/// The strip as a long sheet.
struct Setup {
    setting: Setting,
    /// Figures by part, unflipped first.
    items: Vec<usize>,
    names: Vec<String>,
    /// Distance to keep from the strip's end.
    margin: f64,
}

impl Setup {
    fn new(strip: &Strip) -> Result<Self, StripFault> {
        let positive = strip.width.is_finite() && strip.width > 0.0;
        if !positive || strip.parts.iter().all(|(_, count)| *count == 0) {
            return Err(StripFault::Empty);
        }
        let bound = ARC_BOUND.min(strip.width * 1e-4);
        let least = smallest(strip.parts.iter().map(|(part, _)| part));
        let figures: Vec<Figure> = strip
            .parts
            .iter()
            .enumerate()
            .map(|(i, (part, _))| Figure::new(i, part, false, None, bound, least))
            .collect();
        let items: Vec<usize> = strip
            .parts
            .iter()
            .enumerate()
            .flat_map(|(i, (_, count))| std::iter::repeat_n(i, *count))
            .collect();
        let inset = deepest_inset(&figures);
        let gap = strip.clearances.between_parts();
        // Room for a loose first layout; whatever is too long for the strip's area is laid apart.
        let area: f64 = items.iter().map(|i| figures[*i].area).sum();
        let longest = figures.iter().map(|f| 2.0 * f.radius + gap).fold(0.0, f64::max);
        let margin = strip.clearances.to_edge(EdgeFacts::default()) + inset;
        let length = 2.5 * area / strip.width + 2.0 * longest + 2.0 * margin;
        let corner = Point::new(length, strip.width);
        let region = Region::new(Loop::rectangle(Point::origin(), corner)?, Vec::new());
        let sheet = Sheet::new("strip", &[region], EdgeFacts::default());
        let touch = strip.width * TOUCH;
        let ground = Ground::new(&sheet, &strip.clearances, bound, &figures, touch);
        let setting = Setting::new(figures, ground, gap, touch, &[]);
        let names = strip.parts.iter().map(|(p, _)| p.name.clone()).collect();
        Ok(Self { setting, items, names, margin })
    }

    /// The search for a layout that wastes nothing.
    fn tiling(&self) -> Beam {
        let (figures, plain) = (&self.setting.figures, &self.setting.ground.plain);
        let mut missing = vec![0; figures.len()];
        self.items.iter().for_each(|i| missing[*i] += 1);
        let area: f64 = self.items.iter().map(|i| figures[*i].area).sum();
        let right = plain.min[0] + area / (plain.max[1] - plain.min[1]);
        let room = 2.0 * self.setting.touch;
        Beam::new(Vec::new(), missing, right + room, TILING_WIDTH, TILING_NEAR)
    }

    /// A first layout without collisions: big parts first, each as far left as it is found to go.
    fn start(&self, rng: &mut Rng, stop: &Stop) -> Result<(Vec<Place>, Vec<usize>), StripFault> {
        let mut order: Vec<usize> = (0..self.items.len()).collect();
        let size = |i: &usize| self.setting.figures[self.items[*i]].radius;
        order.sort_by(|a, b| size(b).total_cmp(&size(a)));
        let mut scene = Scene::new(&self.setting, Vec::new(), self.setting.ground.limits.max[0]);
        let mut scratch = Scratch::default();
        for i in &order {
            let figure = self.items[*i];
            // In a hurry each goes beside the last.
            let beside = stop.raised().then(|| self.beside(&scene, figure)).flatten();
            let found = beside.or_else(|| {
                (0..8).find_map(|_| {
                    let found = place_one(&scene, &[figure], Goal::Left, 60, rng, &mut scratch)?;
                    Some(found.1)
                })
            });
            let Some(place) = found.or_else(|| self.beside(&scene, figure)) else {
                return Err(StripFault::TooWide(self.names[figure].clone()));
            };
            scene.items.push(Item::new(&self.setting, figure, place, false));
        }
        let figures = scene.items.iter().map(|i| i.figure).collect();
        Ok((scene.places(), figures))
    }

    /// The place to the right of all that lies, at the first turn in which the strip is wide enough.
    fn beside(&self, scene: &Scene<'_>, index: usize) -> Option<Place> {
        let (figure, plain) = (&self.setting.figures[index], &self.setting.ground.plain);
        let turns = match &figure.turning {
            Turning::Free => vec![0.0, FRAC_PI_2],
            Turning::Only(angles) => angles.clone(),
        };
        let gap = |other: &Item| self.setting.gap(figure, &self.setting.figures[other.figure]);
        let reach = scene.items.iter().map(|i| i.limits.max[0] + gap(i));
        let left = reach.fold(plain.min[0], f64::max);
        turns.into_iter().find_map(|turn| {
            let own = figure.limits(turn);
            let room = own.max[1] - own.min[1] <= plain.max[1] - plain.min[1] + self.setting.touch;
            let (x, y) = (left - own.min[0], plain.min[1] - own.min[1]);
            (room && x + own.max[0] <= plain.max[0]).then_some(Place { x, y, turn })
        })
    }

    fn placements(
        &self,
        figures: &[usize],
        places: &[Place],
    ) -> Vec<(usize, Pose<PartSpace, SheetSpace>)> {
        let mut all: Vec<_> = figures
            .iter()
            .zip(places)
            .map(|(f, place)| {
                let figure = &self.setting.figures[*f];
                (figure.part, figure.pose(*place))
            })
            .collect();
        all.sort_by_key(|(part, _)| *part);
        all
    }
}

/// One of the searches that run side by side.
struct Lane<'a> {
    separation: Separation<'a>,
    rng: Rng,
    scratch: Scratch,
    best: Solution,
    phase: Phase,
    /// Layouts of failed attempts.
    pool: Pool,
    /// Failed attempts after which exploring gives way to compressing.
    fails: usize,
    /// A layout without any waste, being built.
    tiling: Option<Beam>,
}

#[derive(Clone, Copy, Debug)]
enum Phase {
    Explore { shrink: f64, fails: usize },
    Compress { shrink: f64 },
}

impl<'a> Lane<'a> {
    fn new(setting: &'a Setting, figures: &[usize], places: &[Place], rng: Rng) -> Self {
        let items = figures
            .iter()
            .zip(places)
            .map(|(f, place)| Item::new(setting, *f, *place, false))
            .collect();
        let scene = Scene::new(setting, items, setting.ground.limits.max[0]);
        let separation = Separation::new(scene, EFFORT, PATIENCE);
        let best = Solution { places: places.to_vec(), length: f64::INFINITY };
        let mut lane = Self {
            separation,
            rng,
            scratch: Scratch::default(),
            best,
            phase: Phase::Explore { shrink: EXPLORE.0, fails: 0 },
            pool: Pool::default(),
            fails: FEWEST_FAILS,
            tiling: None,
        };
        lane.record();
        lane
    }

    fn run(&mut self, steps: u64, stop: &Stop) {
        let until = self.separation.steps + steps;
        while self.separation.steps < until && !stop.raised() {
            if let Some(beam) = self.tiling.take() {
                self.tile(beam);
                continue;
            }
            match self.separation.pass(&mut self.rng, &mut self.scratch, stop) {
                State::Going => {}
                State::Clear => self.record(),
                State::Stuck => self.give_up(),
            }
        }
    }

    /// One step in building a layout without waste; what is complete is kept.
    fn tile(&mut self, mut beam: Beam) {
        self.separation.steps += BEAM_STEPS;
        let setting = self.separation.scene.setting;
        let faces: Vec<Vec<usize>> = (0..setting.figures.len()).map(|i| vec![i]).collect();
        if beam.step(setting, &faces, &mut self.rng, &mut self.scratch) {
            self.tiling = Some(beam);
            return;
        }
        let (mut items, missing) = beam.best();
        if missing.iter().any(|n| *n > 0) {
            return;
        }
        let scene = &mut self.separation.scene;
        for i in 0..scene.items.len() {
            let figure = scene.items[i].figure;
            if let Some(at) = items.iter().position(|item| item.figure == figure) {
                scene.put(i, items.swap_remove(at).place);
            }
        }
        self.record();
    }

    /// Learns of the best that any lane has found.
    fn meet(&mut self, best: &Solution) {
        if best.length < self.best.length {
            self.best = best.clone();
            let shrink = self.shrink();
            // An attempt that already aims lower goes on.
            if self.separation.scene.right > best.length * (1.0 - shrink * 0.25) {
                self.attempt(best.places.clone(), best.length * (1.0 - shrink));
            }
        }
    }

    fn shrink(&self) -> f64 {
        match self.phase {
            Phase::Explore { shrink, .. } | Phase::Compress { shrink } => shrink,
        }
    }

    /// The scene is clear: keeps it, pushed together, and aims lower.
    fn record(&mut self) {
        push_together(&mut self.separation.scene, &mut self.scratch);
        let scene = &self.separation.scene;
        let length = scene.items.iter().map(|i| i.limits.max[0]).fold(0.0, f64::max);
        if length < self.best.length {
            self.best = Solution { places: scene.places(), length };
        }
        self.pool.clear();
        if let Phase::Explore { fails, .. } = &mut self.phase {
            *fails = 0;
        }
        let target = self.best.length * (1.0 - self.shrink());
        self.attempt(self.best.places.clone(), target);
    }

    fn give_up(&mut self) {
        match self.phase {
            Phase::Explore { shrink, .. } if shrink > EXPLORE.1 => {
                self.explore(shrink * 0.5);
            }
            Phase::Explore { shrink, fails } if fails < self.fails => {
                // From one of the least bad layouts, with two parts in each other's place.
                self.phase = Phase::Explore { shrink, fails: fails + 1 };
                self.pool.note(&self.separation);
                self.pool.shake(&mut self.separation.scene, &mut self.rng);
                self.attempt(self.separation.scene.places(), self.separation.scene.right);
            }
            Phase::Explore { .. } => {
                self.fails *= 2;
                self.compress(COMPRESS.0);
            }
            Phase::Compress { shrink } if shrink > COMPRESS.1 => self.compress(shrink * 0.5),
            Phase::Compress { .. } => self.explore(EXPLORE.1),
        }
    }

    fn explore(&mut self, shrink: f64) {
        self.pool.clear();
        self.phase = Phase::Explore { shrink, fails: 0 };
        self.attempt(self.best.places.clone(), self.best.length * (1.0 - shrink));
    }

    fn compress(&mut self, shrink: f64) {
        self.phase = Phase::Compress { shrink };
        self.attempt(self.best.places.clone(), self.best.length * (1.0 - shrink));
    }

    fn attempt(&mut self, places: Vec<Place>, target: f64) {
        let scene = &mut self.separation.scene;
        scene.right = target;
        scene.put_all(&places);
        for i in 0..scene.items.len() {
            let over = scene.items[i].limits.max[0] - target;
            if over > 0.0 {
                let place = scene.items[i].place;
                scene.put(i, Place { x: place.x - over, ..place });
            }
        }
        self.separation.restart();
    }
}
