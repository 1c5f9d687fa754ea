//! The skeleton, last of all: the crop line that cuts off what no part lies in, and the cuts that make
//! the rest fit the bin.
//!
//! Both are straight cuts across the sheet. They run through metal only: where a part was cut out they
//! stop at the far side of its slot, and beyond it go on.

use super::CutFacts;
use crate::check::RESOLUTION;
use crate::distances::{Clearances, ObstacleKind, lead_obstacles};
use crate::plan::{Job, Layout};
use crate::shape::{Bounds, Edge, EdgeSet, Loop, Point, Region, SheetSpace, crossings, grow_loop};
use crate::sheet::{Contour, Sheet};

/// No piece of a cut is shorter, mm.
const SHORTEST: f64 = 1.0;
/// Lines run a hair (mm) aside of corners, so that each edge is crossed or not.
const ASIDE: f64 = 1.234e-6;

/// A straight cut across the sheet.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Across {
    /// Upright, at this x (mm): the middle of the slot.
    X(f64),
    /// Level, at this y.
    Y(f64),
}

/// A straight cut through metal, where the beam's middle runs.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct LastCut {
    /// From end to end.
    pub whole: Edge<SheetSpace>,
    /// Where along it (0 to 1) it is pierced: at an end, or in its middle, from where it then runs to
    /// both ends.
    pub pierced: f64,
}

impl LastCut {
    /// What is cut in one go each, from the pierce.
    pub fn runs(&self) -> Vec<Edge<SheetSpace>> {
        let back = (self.pierced > 0.0).then(|| self.whole.between(0.0, self.pierced).reversed());
        let on = (self.pierced < 1.0).then(|| self.whole.between(self.pierced, 1.0));
        back.into_iter().chain(on).collect()
    }
}

/// The cuts through the skeleton of a layout.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct LastCuts {
    /// The crop line's pieces.
    pub crop: Vec<LastCut>,
    /// What makes the rest smaller.
    pub cut_up: Vec<LastCut>,
}

impl LastCuts {
    /// Those of a layout whose sheet and parts are the job's, by the rules; `pierce` (mm) is what a
    /// pierce keeps from parts. Where no pierce would, between parts that lie close, nothing is cut:
    /// so narrow a web is broken by hand.
    pub fn new(job: &Job, layout: &Layout, facts: &CutFacts, pierce: f64) -> Self {
        let rules = &facts.order;
        if rules.crop_least <= 0.0 && rules.cut_up <= 0.0 {
            return Self::default();
        }
        let sheet = &job.stock[layout.stock].sheet;
        let placed = layout.placements.iter();
        let parts: Vec<Region<SheetSpace>> =
            placed.map(|p| job.wanted[p.part].part.region.placed(&p.pose)).collect();
        let skeleton = Skeleton::new(sheet, &parts, &job.clearances);
        let line = skeleton.crop(rules.crop_least, pierce);
        let begun = |whole| skeleton.begun(whole, pierce, facts.senses);
        let crop = line.map(|l| skeleton.strokes(l, &sheet.bounds())).unwrap_or_default();
        Self {
            crop: crop.into_iter().filter_map(begun).collect(),
            cut_up: skeleton.cut_up(line, rules.cut_up).into_iter().filter_map(begun).collect(),
        }
    }

    /// What they take out of the sheet: their slots, `kerf` mm wide, with where the beam reaches beyond
    /// their ends.
    pub fn slots(&self, kerf: f64) -> Vec<Region<SheetSpace>> {
        let slot = |cut: &LastCut| {
            let bounds = cut.whole.bounds().grown(0.5 * kerf);
            Some(Region::new(Loop::rectangle(bounds.min, bounds.max).ok()?, Vec::new()))
        };
        self.crop.iter().chain(&self.cut_up).filter_map(slot).collect()
    }
}

/// What is left round the parts of a layout.
pub struct Skeleton<'a> {
    sheet: &'a Sheet,
    clearances: &'a Clearances,
    /// Box round all parts.
    used: Bounds<SheetSpace>,
    /// What the parts and their slots take.
    taken: Vec<Region<SheetSpace>>,
    /// Where the head must not come, with how far off the beam's middle keeps.
    no_go: Vec<(EdgeSet<SheetSpace>, f64)>,
}

impl<'a> Skeleton<'a> {
    /// What is left of a sheet round these parts.
    pub fn new(sheet: &'a Sheet, parts: &[Region<SheetSpace>], clearances: &'a Clearances) -> Self {
        let slot = |part: &Region<SheetSpace>| {
            let plain = || Region::new(part.outer().clone(), Vec::new());
            grow_loop(part.outer(), clearances.slot()).unwrap_or_else(plain)
        };
        let no_go = lead_obstacles(sheet, clearances)
            .into_iter()
            .filter(|o| matches!(o.kind, ObstacleKind::NoGo(_)))
            .flat_map(|o| o.rims);
        Self {
            sheet,
            clearances,
            used: parts.iter().map(Region::bounds).fold(Bounds::EMPTY, Bounds::union),
            taken: parts.iter().map(slot).collect(),
            no_go: no_go.collect(),
        }
    }

    /// The line past the parts, on the side where it cuts off most metal, at least `least` mm wide and
    /// with a pierce `pierce` mm from the parts. None that would lead the head into a clamp.
    pub fn crop(&self, least: f64, pierce: f64) -> Option<Across> {
        if self.used.is_empty() || least <= 0.0 {
            return None;
        }
        let (all, past) = (self.sheet.bounds(), self.clearances.past_part().max(pierce));
        let (low, high) = (self.used.min, self.used.max);
        let sides = [
            (Across::X(high.x + past), all.max.x - high.x - past, all.height()),
            (Across::X(low.x - past), low.x - past - all.min.x, all.height()),
            (Across::Y(high.y + past), all.max.y - high.y - past, all.width()),
            (Across::Y(low.y - past), low.y - past - all.min.y, all.width()),
        ];
        let free = |line: Across| {
            let strokes = self.strokes(line, &all);
            !strokes.is_empty() && strokes.iter().all(|s| self.is_clear(s))
        };
        sides
            .into_iter()
            .filter(|(line, wide, _)| *wide >= least && free(*line))
            .max_by(|a, b| (a.1 * a.2).total_cmp(&(b.1 * b.2)))
            .map(|(line, ..)| line)
    }

    /// Cuts across what is left beside the crop line, so that no piece of it is longer than `longest`
    /// mm, level ones last; without those that would lead the head into a clamp.
    pub fn cut_up(&self, crop: Option<Across>, longest: f64) -> Vec<Edge<SheetSpace>> {
        if self.used.is_empty() || longest <= 0.0 {
            return Vec::new();
        }
        let mut waste = self.sheet.bounds();
        match crop {
            Some(Across::X(x)) if x > self.used.max.x => waste.max.x = x,
            Some(Across::X(x)) => waste.min.x = x,
            Some(Across::Y(y)) if y > self.used.max.y => waste.max.y = y,
            Some(Across::Y(y)) => waste.min.y = y,
            None => {}
        }
        let places = |min: f64, max: f64| {
            let count = ((max - min) / longest).ceil().max(1.0);
            (1..count as usize).map(move |n| min + (max - min) * n as f64 / count)
        };
        let upright = places(waste.min.x, waste.max.x).map(Across::X);
        let level = places(waste.min.y, waste.max.y).map(Across::Y);
        let strokes = upright.chain(level).flat_map(|line| self.strokes(line, &waste));
        strokes.filter(|s| self.is_clear(s)).collect()
    }

    /// The pieces of a line within a box that run through metal.
    pub fn strokes(&self, line: Across, within: &Bounds<SheetSpace>) -> Vec<Edge<SheetSpace>> {
        let at = |along: f64| match line {
            Across::X(x) => Point::new(x + ASIDE, along),
            Across::Y(y) => Point::new(along, y + ASIDE),
        };
        let (from, to) = match line {
            Across::X(_) => (within.min.y, within.max.y),
            Across::Y(_) => (within.min.x, within.max.x),
        };
        // From beyond the sheet to beyond it, so that what is crossed is gone into and left again.
        let all = self.sheet.bounds();
        let (begin, end) = match line {
            Across::X(_) => (all.min.y, all.max.y),
            Across::Y(_) => (all.min.x, all.max.x),
        };
        let ray = Edge::Line { from: at(begin - 1.0), to: at(end + 1.0) };
        let along = |p: Point<SheetSpace>| match line {
            Across::X(_) => p.y,
            Across::Y(_) => p.x,
        };
        let inside = |loops: &mut dyn Iterator<Item = &Loop<SheetSpace>>| {
            let edges = loops.flat_map(Loop::edges);
            let meets = edges.flat_map(|e| crossings(&ray, &e).into_iter().flatten()).map(along);
            let mut meets: Vec<f64> = meets.collect();
            meets.sort_by(f64::total_cmp);
            meets.chunks_exact(2).map(|pair| (pair[0], pair[1])).collect::<Vec<_>>()
        };
        let metal = self.sheet.bodies.iter().flat_map(|b| {
            let cutouts = b.cutouts.iter().map(Contour::shape);
            inside(&mut std::iter::once(b.outer.shape()).chain(cutouts))
        });
        // The box may end within the metal.
        let mut open: Vec<(f64, f64)> =
            metal.map(|(a, b)| (a.max(from), b.min(to))).filter(|(a, b)| b > a).collect();
        for part in &self.taken {
            for (a, b) in inside(&mut std::iter::once(part.outer())) {
                let cut = |(from, to): (f64, f64)| [(from, to.min(a)), (from.max(b), to)];
                open = open.into_iter().flat_map(cut).filter(|(from, to)| to > from).collect();
            }
        }
        open.sort_by(|a, b| a.0.total_cmp(&b.0));
        let long = open.into_iter().filter(|(a, b)| b - a >= SHORTEST);
        long.map(|(a, b)| Edge::Line { from: at(a), to: at(b) }).collect()
    }

    /// A stroke with its pierce `pierce` mm from every part: at an end, but for a head that senses the
    /// surface, which needs metal all round; otherwise in the middle.
    fn begun(&self, whole: Edge<SheetSpace>, pierce: f64, senses: bool) -> Option<LastCut> {
        // The slots of parts are taken too.
        let off = pierce - self.clearances.slot();
        let is_free = |at: &f64| {
            let at = whole.at(*at);
            self.taken.iter().all(|part| {
                part.outer().edges().all(|e| e.nearest(at).distance(at) >= off - RESOLUTION)
            })
        };
        let places: &[f64] = if senses { &[0.5] } else { &[0.0, 1.0, 0.5] };
        places.iter().copied().find(is_free).map(|pierced| LastCut { whole, pierced })
    }

    fn is_clear(&self, stroke: &Edge<SheetSpace>) -> bool {
        let way = EdgeSet::new([vec![*stroke]]);
        self.no_go.iter().all(|(rim, least)| way.boundary_gap(rim, *least).is_none())
    }
}
