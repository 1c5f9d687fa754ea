//! What would keep pieces flat that may tip or fall through once free, and slugs that may tip: another
//! angle, a small shift where it is known where teeth stand, tabs.

use std::f64::consts::TAU;

use super::ContourNo;
use super::cut::Cut;
use super::facts::CutFacts;
use super::starts::find_starts;
use super::support::{Rest, flat_turns, judge, judge_with, nearest_flat_shift};
use super::tabs::{hold, place_tabs, point_at};
use crate::check::{RESOLUTION, Scene};
use crate::distances::StartRule;
use crate::part::Part;
use crate::plan::{Job, Layout};
use crate::shape::{PartSpace, Point, Pose, Region, SheetSpace};

/// Copies of a part that lie alike and would not stay flat by themselves, or what is cut out of one of
/// their holes.
#[derive(Clone, Debug, PartialEq)]
pub struct Unsteady {
    /// Their places in the layout's list.
    pub placed: Vec<usize>,
    /// 0 for the parts themselves, otherwise the hole whose slugs are meant.
    pub contour: ContourNo,
    /// What they do once free.
    pub rest: Rest,
    /// Whether tabs hold them.
    pub held: bool,
    /// What would help, for those of them for which it does.
    pub offers: Vec<Offer>,
}

/// What would keep pieces from tipping, clear of everything round them.
#[derive(Clone, Debug, PartialEq)]
pub enum Offer {
    /// Turned by so much (radians) they stay flat wherever the teeth are.
    Turn(f64, Vec<(usize, Pose<PartSpace, SheetSpace>)>),
    /// Shifted, none by more than so much (mm), they lie flat on teeth where those are known to stand.
    Shift(f64, Vec<(usize, Pose<PartSpace, SheetSpace>)>),
    /// Held by tabs at these places.
    Tabs(Vec<(usize, Vec<Point<PartSpace>>)>),
}

/// The pieces of a cut that would not stay flat, with what would help. Sheet and parts are the job's;
/// `rule` is what starts were planned by.
pub fn unsteady(
    job: &Job,
    layout: &Layout,
    rule: &StartRule,
    facts: &CutFacts,
    cut: &Cut,
) -> Vec<Unsteady> {
    let mut groups: Vec<Unsteady> = Vec::new();
    for pass in &cut.passes {
        let (Some(placed), Some(judged)) = (pass.placed, pass.rest) else { continue };
        let (contour, rest, held) = (pass.contour, judged.rest, pass.held);
        if rest == Rest::Flat || contour > 0 && !judged.slug_may_tip() {
            continue;
        }
        let alike = |group: &&mut Unsteady| {
            let [a, b] = [group.placed[0], placed].map(|i| &layout.placements[i]);
            (group.contour, group.rest, group.held, a.part) == (contour, rest, held, b.part)
                && (a.pose.turn, a.pose.flipped) == (b.pose.turn, b.pose.flipped)
        };
        match groups.iter_mut().find(alike) {
            Some(group) => group.placed.push(placed),
            None => {
                let (placed, offers) = (vec![placed], Vec::new());
                groups.push(Unsteady { placed, contour, rest, held, offers });
            }
        }
    }
    let scene = Scene::new(job, layout);
    for group in &mut groups {
        let looking = Looking { job, layout, facts, scene: &scene, contour: group.contour };
        let turn = looking.turn(&group.placed);
        let shift = looking.shift(&group.placed);
        let tabs = (!group.held).then(|| looking.tabs(&group.placed, rule, cut)).flatten();
        let moved = [turn, shift].into_iter().flatten().filter(|o| looking.keeps_starts(o));
        group.offers = tabs.into_iter().chain(moved).collect();
    }
    without_offers_together(groups, layout)
}

/// Copies for which nothing helps are one group, however they lie.
fn without_offers_together(groups: Vec<Unsteady>, layout: &Layout) -> Vec<Unsteady> {
    let mut together: Vec<Unsteady> = Vec::new();
    for group in groups {
        let part = |g: &Unsteady| layout.placements[g.placed[0]].part;
        let alike = |known: &&mut Unsteady| {
            known.offers.is_empty()
                && group.offers.is_empty()
                && (known.contour, known.rest, known.held, part(known))
                    == (group.contour, group.rest, group.held, part(&group))
        };
        match together.iter_mut().find(alike) {
            Some(known) => known.placed.extend(group.placed),
            None => together.push(group),
        }
    }
    together
}

struct Looking<'a> {
    job: &'a Job,
    layout: &'a Layout,
    facts: &'a CutFacts,
    scene: &'a Scene,
    contour: ContourNo,
}

impl Looking<'_> {
    /// What may tip, of a part: itself, or what is cut out of its hole.
    fn piece(&self, part: &Part) -> Region<PartSpace> {
        match self.contour {
            0 => part.region.clone(),
            hole => Region::new(part.region.holes()[hole - 1].clone(), Vec::new()),
        }
    }

    /// The smallest turn about their middles with which most of them stay flat where there is room.
    fn turn(&self, placed: &[usize]) -> Option<Offer> {
        let first = &self.layout.placements[placed[0]];
        let part = &self.job.wanted[first.part].part;
        let grain = self.job.stock[self.layout.stock].sheet.grain;
        let allowed = |turn: &f64| part.may_lie(grain, first.pose.turn + turn, first.pose.flipped);
        let slats = &self.facts.machine.slats;
        let lying = self.piece(part).placed(&first.pose);
        // For the sake of its slugs no part is turned to where it tips itself.
        let steady = |turn: &f64| {
            let about = Pose::<SheetSpace, SheetSpace>::new(Default::default(), *turn, false);
            let whole = part.region.placed(&about.after(&first.pose));
            self.contour == 0 || judge(&whole, slats).rest == Rest::Flat
        };
        let turns = flat_turns(&lying, slats).filter(allowed).filter(steady);
        let tried = turns.map(|by| {
            let turned = |pose: &Pose<PartSpace, SheetSpace>| {
                let middle = pose.apply(part.region.centroid()).to_vector();
                let about = Pose::<SheetSpace, SheetSpace>::new(Default::default(), by, false);
                let shift = middle - about.apply_vector(middle) + about.apply_vector(pose.shift);
                Some(Pose::new(shift, (pose.turn + by).rem_euclid(TAU), pose.flipped))
            };
            (by, self.moved(placed, turned))
        });
        let mut best: Option<(f64, Vec<_>)> = None;
        for (by, moves) in tried {
            if moves.len() > best.as_ref().map_or(0, |b| b.1.len()) {
                best = Some((by, moves));
            }
            if best.as_ref().is_some_and(|b| b.1.len() == placed.len()) {
                break;
            }
        }
        best.map(|(by, moves)| Offer::Turn(by, moves))
    }

    /// The nearest shifts onto teeth, where one is known to stand.
    fn shift(&self, placed: &[usize]) -> Option<Offer> {
        let tooth = self.facts.tooth()?;
        let (slats, give) = (&self.facts.machine.slats, self.facts.tooth_give(self.job));
        let part = &self.job.wanted[self.layout.placements[placed[0]].part].part;
        let piece = self.piece(part);
        let moves = self.moved(placed, |pose| {
            let by = nearest_flat_shift(&piece.placed(pose), slats, tooth, give)?;
            let to = Pose::new(pose.shift + by, pose.turn, pose.flipped);
            let whole = || judge_with(&part.region.placed(&to), slats, tooth, give).rest;
            (self.contour == 0 || whole() == Rest::Flat).then_some(to)
        });
        let from = |n: usize| self.layout.placements[n].pose.shift;
        let farthest =
            moves.iter().map(|(n, to)| (to.shift - from(*n)).length()).reduce(f64::max)?;
        Some(Offer::Shift(farthest, moves))
    }

    /// Those that have room where `to` puts them, one after the other.
    fn moved(
        &self,
        placed: &[usize],
        to: impl Fn(&Pose<PartSpace, SheetSpace>) -> Option<Pose<PartSpace, SheetSpace>>,
    ) -> Vec<(usize, Pose<PartSpace, SheetSpace>)> {
        let mut scene = self.scene.clone();
        let mut moves = Vec::new();
        for &n in placed {
            let p = &self.layout.placements[n];
            let Some(pose) = to(&p.pose).filter(|_| !p.locked) else { continue };
            let shape = self.job.wanted[p.part].part.region.edge_set().placed(&pose);
            let near = scene.near(&shape, |other| other != n, 0.0);
            if near.iter().all(|near| near.spare() >= -RESOLUTION) {
                scene.lay(n, shape);
                moves.push((n, pose));
            }
        }
        moves
    }

    /// Whether every contour that can be started now still can where an offer puts parts.
    fn keeps_starts(&self, offer: &Offer) -> bool {
        let (Offer::Turn(_, moves) | Offer::Shift(_, moves)) = offer else { return true };
        let mut layout = self.layout.clone();
        moves.iter().for_each(|(n, pose)| layout.placements[*n].pose = *pose);
        let missing =
            |layout: &Layout, scene: &Scene| find_starts(self.job, layout, scene).missing().count();
        missing(&layout, &Scene::new(self.job, &layout)) <= missing(self.layout, self.scene)
    }

    /// Tabs where they hold best.
    fn tabs(&self, placed: &[usize], rule: &StartRule, cut: &Cut) -> Option<Offer> {
        let gap = self.facts.tab + self.job.clearances.kerf;
        let of = |&n: &usize| {
            let own = |p: &&super::Pass| p.placed == Some(n) && p.contour == self.contour;
            let pass = cut.passes.iter().filter(|p| p.rest.is_some()).find(own)?;
            let pose = self.layout.placements[n].pose;
            let part = &self.job.wanted[self.layout.placements[n].part].part;
            let middle = pose.apply(self.piece(part).centroid());
            let metal_left = (self.contour == 0) != rule.clockwise_outside;
            let tabs = place_tabs(&pass.run, gap, middle, metal_left, &pass.shared);
            if !hold(&pass.run, &tabs, middle) {
                return None;
            }
            let back = pose.inverse();
            let at = tabs.iter().map(|t| back.apply(point_at(&pass.run, t.along)));
            Some((n, at.collect::<Vec<Point<PartSpace>>>()))
        };
        let tabs: Vec<_> = placed.iter().filter_map(of).collect();
        (self.facts.tab > 0.0 && !tabs.is_empty()).then_some(Offer::Tabs(tabs))
    }
}
