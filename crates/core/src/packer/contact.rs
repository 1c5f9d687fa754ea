//! Builds a layout part by part, each where much of its outline lies along what is there already: a
//! beam search over places where an edge lies flush with another. It finds what parts were sawn
//! from, where a search that moves one part at a time is stuck.

use fastrand::Rng;

use super::figure::{Line, Place};
use super::limits::Limits;
use super::scene::{Item, Scene, Scratch, Setting};
use crate::part::Turning;

/// Edges shorter than this share of a figure's size are not laid flush.
const LEAST_EDGE: f64 = 0.08;

/// Slides (shares of a figure's size) tried along the other edge, beside end to end.
const SLIDES: [f64; 7] = [0.0, 0.01, -0.01, 0.03, -0.03, 0.08, -0.08];

/// Collisions of more than this share of a figure's size are not slid out of.
const DEEP: f64 = 0.25;

/// Points along an outline at which contact is measured.
const SAMPLES: usize = 48;

/// Steps of search that one part more in a layout counts for.
pub(super) const BEAM_STEPS: u64 = 20;

/// Children of a layout that are kept.
const CHILDREN: usize = 6;

/// A beam search on its way.
#[derive(Clone, Debug)]
pub(super) struct Beam {
    layouts: Vec<Built>,
    children: Vec<Built>,
    width: usize,
    /// How near (share of a figure's size) counts as contact.
    near: f64,
    /// The part to begin with, if any.
    first: Option<usize>,
    /// No part may reach beyond this x, mm.
    right: f64,
    best: Built,
}

/// A clear layout with some of the parts still to place.
#[derive(Clone, Debug)]
struct Built {
    items: Vec<Item>,
    missing: Vec<usize>,
    area: f64,
    contact: f64,
    outline: f64,
}

impl Built {
    /// Share of the outlines that lies along something.
    fn score(&self) -> f64 {
        if self.outline > 0.0 { self.contact / self.outline } else { 0.0 }
    }
}

impl Beam {
    /// A search that starts from `items` with so many of each part missing, on the ground left of
    /// `right`.
    pub(super) fn new(
        items: Vec<Item>,
        missing: Vec<usize>,
        right: f64,
        width: usize,
        near: f64,
    ) -> Self {
        let best = Built { items, missing, area: 0.0, contact: 0.0, outline: 0.0 };
        let layouts = vec![best.clone()];
        Self { layouts, children: Vec::new(), width, near, first: None, right, best }
    }

    /// The same, of layouts that begin with `part`.
    pub(super) fn begun_with(self, part: usize) -> Self {
        Self { first: Some(part), ..self }
    }

    /// The items of the layout with most area placed, and what is missing there.
    pub(super) fn best(self) -> (Vec<Item>, Vec<usize>) {
        (self.best.items, self.best.missing)
    }

    /// Places one part more in one of the layouts, in all the ways that are worth it. Returns false
    /// when nothing is left to do.
    pub(super) fn step(
        &mut self,
        setting: &Setting,
        faces: &[Vec<usize>],
        rng: &mut Rng,
        scratch: &mut Scratch,
    ) -> bool {
        let Some(layout) = self.layouts.pop() else {
            self.children.sort_by(|a, b| b.score().total_cmp(&a.score()));
            self.children.dedup_by(|a, b| (a.score() - b.score()).abs() < 1e-9 && a.area == b.area);
            self.children.truncate(self.width);
            self.layouts = std::mem::take(&mut self.children);
            return !self.layouts.is_empty();
        };
        let mut found = self.grown(&layout, setting, faces, rng, scratch);
        found.sort_by(|a, b| b.score().total_cmp(&a.score()));
        found.truncate(CHILDREN);
        for child in found {
            if child.area > self.best.area + 1e-9 {
                self.best = child.clone();
            }
            self.children.push(child);
        }
        if self.best.missing.iter().all(|n| *n == 0) {
            self.layouts.clear();
            self.children.clear();
            return false;
        }
        true
    }

    /// The layout with one part more.
    fn grown(
        &self,
        layout: &Built,
        setting: &Setting,
        faces: &[Vec<usize>],
        rng: &mut Rng,
        scratch: &mut Scratch,
    ) -> Vec<Built> {
        let scene = Scene::new(setting, layout.items.clone(), self.right);
        let mut found: Vec<(usize, usize, Place, f64, f64)> = Vec::new();
        let first = self.first.filter(|_| layout.area == 0.0);
        let tried = |p: &usize| layout.missing[*p] > 0 && first.is_none_or(|first| first == *p);
        for part in (0..faces.len()).filter(tried) {
            for index in &faces[part] {
                let figure = &setting.figures[*index];
                let targets = targets(&scene, *index);
                let outline: f64 = figure.edges.iter().map(length).sum();
                for own in figure.edges.iter().filter(|e| length(e) > LEAST_EDGE * figure.size) {
                    for (along, gap) in &targets {
                        for end in [false, true] {
                            let place = flush(own, along, *gap, end);
                            let Some(place) = allowed(&figure.turning, place) else { continue };
                            if let Some(place) = clear_near(&scene, *index, place, along, scratch) {
                                let contact = contact(&scene, *index, place, self.near);
                                found.push((part, *index, place, contact, outline));
                            }
                        }
                    }
                }
            }
        }
        // Among equals any.
        rng.shuffle(&mut found);
        found.sort_by(|a, b| (b.3 / b.4).total_cmp(&(a.3 / a.4)));
        let mut kept: Vec<(usize, Place)> = Vec::new();
        let mut grown = Vec::new();
        for (part, index, place, contact, outline) in found {
            let size = setting.figures[index].size;
            let same = |(i, p): &(usize, Place)| {
                *i == index
                    && (p.x - place.x).hypot(p.y - place.y) < 0.02 * size
                    && (p.turn - place.turn).sin().abs() < 0.02
            };
            if kept.iter().any(same) {
                continue;
            }
            kept.push((index, place));
            let mut next = layout.clone();
            next.items.push(Item::new(setting, index, place, false));
            next.missing[part] -= 1;
            next.area += setting.figures[index].area;
            next.contact += contact;
            next.outline += outline;
            grown.push(next);
            if grown.len() == 4 * CHILDREN {
                break;
            }
        }
        grown
    }
}

fn length(e: &Line) -> f64 {
    (e[2] - e[0]).hypot(e[3] - e[1])
}

/// What bars the ground, to the left of each line, and the distance to keep from it.
fn walls(scene: &Scene<'_>) -> impl Iterator<Item = (Line, f64)> {
    let ground = &scene.setting.ground;
    let (x, limits) = (scene.right, &ground.limits);
    let end = (x < limits.max[0]).then_some(([x, limits.max[1], x, limits.min[1]], 0.0));
    ground.walls().chain(end)
}

/// Edges that an edge of a figure may lie along, what bars it to their left, and the distance to keep.
fn targets(scene: &Scene<'_>, index: usize) -> Vec<(Line, f64)> {
    let setting = scene.setting;
    let figure = &setting.figures[index];
    let long = |line: &Line| length(line) > LEAST_EDGE * figure.size;
    let walls = walls(scene);
    let items = scene.items.iter().flat_map(|item| {
        let other = &setting.figures[item.figure];
        let gap = setting.gap(figure, other);
        other.edges.iter().map(move |e| (item.place.line(*e), gap))
    });
    let open = |(line, gap): &(Line, f64)| {
        // Just beyond the distance to be kept there must be room for something.
        let off = (gap + 0.02 * figure.size) / length(line);
        let beside = [0.2, 0.5, 0.8].map(|t| {
            let (dx, dy) = (line[2] - line[0], line[3] - line[1]);
            [line[0] + t * dx + off * dy, line[1] + t * dy - off * dx]
        });
        beside.into_iter().any(|p| !scene.items.iter().any(|item| item.covers(p)))
    };
    walls.chain(items).filter(|(line, _)| long(line)).filter(open).collect()
}

/// The place at which the edge `own` lies flush along another, `gap` mm off, start to end or end to
/// start.
fn flush(own: &Line, along: &Line, gap: f64, end: bool) -> Place {
    let (dx, dy) = (along[2] - along[0], along[3] - along[1]);
    let long = dx.hypot(dy);
    let turn = (-dy).atan2(-dx) - (own[3] - own[1]).atan2(own[2] - own[0]);
    let (sin, cos) = turn.sin_cos();
    let (to, from) = if end {
        ([along[0], along[1]], [own[2], own[3]])
    } else {
        ([along[2], along[3]], [own[0], own[1]])
    };
    Place {
        x: to[0] + gap * dy / long - (from[0] * cos - from[1] * sin),
        y: to[1] - gap * dx / long - (from[0] * sin + from[1] * cos),
        turn,
    }
}

/// The place at a turn that is allowed, if it is at one.
fn allowed(turning: &Turning, place: Place) -> Option<Place> {
    let Turning::Only(angles) = turning else { return Some(place) };
    let off = |a: f64| ((a - place.turn) / 2.0).sin().abs();
    angles.iter().find(|a| off(**a) < 1e-6).map(|a| Place { turn: *a, ..place })
}

/// The first clear place that slides along an edge lead to, as near to where it started as it goes.
fn clear_near(
    scene: &Scene<'_>,
    index: usize,
    place: Place,
    along: &Line,
    scratch: &mut Scratch,
) -> Option<Place> {
    let size = scene.setting.figures[index].size;
    let long = length(along);
    let (ux, uy) = ((along[2] - along[0]) / long, (along[3] - along[1]) / long);
    let at = |t: f64| Place { x: place.x + t * ux, y: place.y + t * uy, ..place };
    // No slide helps out of a deep collision.
    if scene.collisions(None, index, place, DEEP * size, scratch) > DEEP * size {
        return None;
    }
    let mut clear = |t: f64| scene.collisions(None, index, at(t), 0.0, scratch) == 0.0;
    let slide = SLIDES.into_iter().map(|s| s * size).find(|t| clear(*t))?;
    let (mut free, mut barred) = (slide, 0.0);
    if slide != 0.0 {
        for _ in 0..7 {
            let t = f64::midpoint(free, barred);
            if clear(t) { free = t } else { barred = t }
        }
    }
    Some(at(free))
}

/// How much of a figure's outline lies along something, mm: fading with the distance beyond what
/// must be kept, `near` being a share of its size.
fn contact(scene: &Scene<'_>, index: usize, place: Place, near: f64) -> f64 {
    let setting = scene.setting;
    let figure = &setting.figures[index];
    let outline: f64 = figure.edges.iter().map(length).sum();
    let (pitch, fade) = (outline / SAMPLES as f64, near * figure.size);
    let own = figure.limits(place.turn).moved(place.x, place.y);
    let reach = 3.0 * fade;
    let mut lines: Vec<(Line, f64)> = walls(scene).collect();
    for item in &scene.items {
        let other = &setting.figures[item.figure];
        let gap = setting.gap(figure, other);
        if own.meets(&item.limits, gap + reach) {
            lines.extend(other.edges.iter().map(|e| (item.place.line(*e), gap)));
        }
    }
    lines.retain(|(l, keep)| {
        let ends = [[l[0], l[1]], [l[2], l[3]]];
        Limits::around(&ends).meets(&own, keep + reach)
    });
    let (mut sum, mut next) = (0.0, pitch / 2.0);
    for edge in &figure.edges {
        let edge = place.line(*edge);
        let run = length(&edge);
        while next < run {
            let t = next / run;
            let p = [edge[0] + t * (edge[2] - edge[0]), edge[1] + t * (edge[3] - edge[1])];
            let spare = lines.iter().map(|(l, keep)| (distance(l, p) - keep).max(0.0));
            let spare = spare.fold(f64::INFINITY, f64::min);
            sum += pitch * (-spare / fade).exp();
            next += pitch;
        }
        next -= run;
    }
    sum
}

fn distance(l: &Line, p: [f64; 2]) -> f64 {
    let (ux, uy) = (l[2] - l[0], l[3] - l[1]);
    let (px, py) = (p[0] - l[0], p[1] - l[1]);
    let t = ((px * ux + py * uy) / (ux * ux + uy * uy)).clamp(0.0, 1.0);
    (px - t * ux).hypot(py - t * uy)
}
