//! The whole cut of one layout: contours in order with their starts, tabs, times and warnings.

use std::collections::BTreeMap;
use std::ops::Range;

use super::common::CommonCuts;
use super::facts::CutFacts;
use super::order::{Piece, cutting_order};
use super::path::{beam_path, run_from};
use super::routes::Routes;
use super::skeleton::{LastCut, LastCuts};
use super::starts::{Ground, Start, find_starts_on, in_the_way};
use super::support::{Judged, Rest, judge, judge_with};
use super::tabs::{Gap, Tab, along_at, hold, place_by_hand, place_tabs, point_at, without};
use super::warnings::{Warning, Watch};
use super::{ContourNo, Legs, legs::Leg};
use crate::check::Scene;
use crate::cut_data::Process;
use crate::distances::StartRule;
use crate::part::MarkKind;
use crate::plan::{Job, Layout, Placement};
use crate::shape::{
    Bounds, Edge, EdgeSet, Loop, PartSpace, Point, Region, SheetSpace, shrink_loop,
};
use crate::sheet::Sheet;

/// A contour of a placed part, wherever the part lies: which of the job's parts, which copy, which
/// contour.
pub type ContourKey = (usize, usize, ContourNo);

/// What a person has chosen otherwise than it comes by itself.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct ByHand {
    /// Starts, in the part's own drawing.
    pub starts: BTreeMap<ContourKey, Start<PartSpace>>,
    /// Places of tabs, on the contour in the part's own drawing; an empty list for none.
    pub tabs: BTreeMap<ContourKey, Vec<Point<PartSpace>>>,
}

/// What a pass is for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum PassKind {
    /// Engraving, before anything is cut.
    Mark,
    /// A hole of a part.
    Hole,
    /// A part's outline, which frees it.
    Outline,
    /// A straight cut that crops what no part lies in off the skeleton.
    Crop,
    /// A straight cut that makes the skeleton smaller.
    CutUp,
}

/// One go with the beam: a mark, a contour from its pierce to the end of its round, or a straight cut
/// through the skeleton.
#[derive(Clone, Debug, PartialEq)]
pub struct Pass {
    /// What it is for.
    pub kind: PassKind,
    /// The part, by its place in the layout's list; `None` for cuts through the skeleton.
    pub placed: Option<usize>,
    /// Which contour of the part; 0 for what is none.
    pub contour: ContourNo,
    /// Its start; `None` for marks, and where there is none.
    pub start: Option<Start<SheetSpace>>,
    /// The beam's centre, all round from where it joins the path; a mark's lines.
    pub run: Vec<Edge<SheetSpace>>,
    /// Where the beam leaves the contour, back along its lead-in into the waste.
    pub out: Vec<Edge<SheetSpace>>,
    /// Tabs on the run.
    pub tabs: Vec<Tab>,
    /// Stretches of the run that are cut already, with a part beside it.
    pub shared: Vec<Gap>,
    /// Whether tabs keep the piece where it is: one that would not stay flat needs enough of them, on
    /// either side of its middle.
    pub held: bool,
    /// What the piece that it cuts out does once free; `None` where it frees none.
    pub rest: Option<Judged>,
    /// Its legs in [`Cut::legs`].
    pub legs: Range<usize>,
}

impl Pass {
    /// What is cut, in order: the lead-in with the first piece of the run, then what follows each
    /// tab and each stretch that is cut already, and with the last the lead-out.
    pub fn pieces(&self) -> Vec<Vec<Edge<SheetSpace>>> {
        let tabs = self.tabs.iter().copied().map(Gap::from);
        let mut pieces = without(&self.run, tabs.chain(self.shared.iter().copied()).collect());
        if let (Some(start), Some(first)) = (&self.start, pieces.first_mut()) {
            first.splice(0..0, start.lead.iter().copied());
        }
        if let Some(last) = pieces.last_mut() {
            last.extend(&self.out);
        }
        pieces
    }

    /// The contour itself, as it lies, but for what is cut already with a part beside it: what a machine
    /// is given that keeps half a kerf off by itself. `contour` is the pass's own. `None` where all of
    /// it is to be cut.
    pub fn unshared(&self, contour: &Loop<SheetSpace>) -> Option<Vec<Vec<Edge<SheetSpace>>>> {
        if self.shared.is_empty() {
            return None;
        }
        let clockwise = self.run.iter().map(swept).sum::<f64>() < 0.0;
        let contour = run_from(&contour.clone().directed(!clockwise), self.run[0].from());
        let along = |at: f64| along_at(&contour, point_at(&self.run, at));
        let gaps = self.shared.iter().map(|s| Gap { from: along(s.from), to: along(s.to) });
        Some(without(&contour, gaps.collect()))
    }
}

/// Twice the area between an edge and the origin: over a closed run its sign tells which way it goes.
fn swept(edge: &Edge<SheetSpace>) -> f64 {
    let middle = edge.at(0.5).to_vector();
    edge.from().to_vector().cross(middle) + middle.cross(edge.to().to_vector())
}

/// The cut of one layout.
#[derive(Clone, Debug, PartialEq)]
pub struct Cut {
    /// In the order of cutting.
    pub passes: Vec<Pass>,
    /// All that the head does, in time.
    pub legs: Vec<Leg>,
    /// What each placed part does once free.
    pub rests: Vec<Judged>,
    /// What a person should know, in the order of time.
    pub warnings: Vec<Warning>,
    /// Millimetres cut, lead-ins included.
    pub length: f64,
    /// Pierces, those after tabs included.
    pub pierces: usize,
    /// Seconds as reckoned.
    pub seconds: f64,
    /// Seconds as they are likely to be: as reckoned, but for what was learnt of this metal.
    pub likely_seconds: f64,
    /// By what share they may be off either way.
    pub band: f64,
    /// Money: machine time and pierces.
    pub money: f64,
    /// What it is cut on.
    pub on: CutOn,
}

/// What a cut is planned for.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct CutOn {
    /// The machine, by its name.
    pub machine: String,
    /// How it cuts.
    pub process: Process,
    /// What blows, flows or grinds; empty where nothing does.
    pub gas: String,
}

impl Cut {
    /// Seconds from the start of the cut at which a pass begins and ends.
    pub fn times(&self, pass: usize) -> (f64, f64) {
        let legs = &self.legs[self.passes[pass].legs.clone()];
        let begins = legs.first().map_or(0.0, |l| l.begins);
        (begins, legs.last().map_or(begins, |l| l.begins + l.seconds))
    }

    /// The least and the most that what is likely to take so many seconds takes, by [`Cut::band`].
    pub fn within(&self, seconds: f64) -> [f64; 2] {
        [seconds * (1.0 - self.band), seconds * (1.0 + self.band)]
    }

    /// Seconds that a pass is likely to take, with the way to it; off by no more than [`Cut::band`].
    pub fn likely_seconds_of(&self, pass: usize) -> f64 {
        let (from, to) = self.times(pass);
        (to - from) * self.likely_seconds / self.seconds.max(f64::MIN_POSITIVE)
    }

    /// Seconds that the passes of one placed part are likely to take together.
    pub fn likely_seconds_of_part(&self, placed: usize) -> f64 {
        let own = (0..self.passes.len()).filter(|p| self.passes[*p].placed == Some(placed));
        own.map(|p| self.likely_seconds_of(p)).sum()
    }
}

/// Works out the cut of a layout whose sheet and parts are the job's. Where the job leaves starts to
/// the machine, they are planned by `rule` all the same, so that there is something to see.
pub fn plan_cut(
    job: &Job,
    layout: &Layout,
    rule: &StartRule,
    facts: &CutFacts,
    by_hand: &ByHand,
) -> Cut {
    let job = &Job { starts: Some(job.starts.unwrap_or(*rule)), ..job.clone() };
    let rule = job.starts.unwrap_or(*rule);
    let scene = Scene::new(job, layout);
    let regions: Vec<Region<SheetSpace>> =
        layout.placements.iter().map(|p| job.wanted[p.part].part.region.placed(&p.pose)).collect();
    let rests = rests(job, layout, &regions, facts);
    let mut starts = find_starts_on(&facts.machine.bed, &facts.lies, job, layout, &scene);
    let ground = Ground::new(job, layout, &rule, &scene);
    let mut watch = Watch::new(job, layout, facts);
    for (placed, p) in layout.placements.iter().enumerate() {
        for contour in 0..starts.of[placed].len() {
            let Some(chosen) = by_hand.starts.get(&(p.part, p.copy, contour)) else { continue };
            let chosen = chosen.placed(&p.pose);
            let found = starts.of[placed][contour].take();
            // What goes to the beam never starts in bad metal, whoever chose it.
            let clear = ground.allows(&chosen, placed)
                && in_the_way(&ground, &starts, &chosen, placed).is_empty();
            if !clear {
                watch.bad_start(placed, contour, chosen.pierce);
            }
            starts.of[placed][contour] = if clear { Some(chosen) } else { found };
        }
    }
    let mut starts = starts.of;
    let mut paths = Paths::default();
    let mut common = CommonCuts::new(&regions, &job.clearances, |placed| {
        let Placement { part, pose, .. } = layout.placements[placed];
        let region = &job.wanted[part].part.region;
        let loops = paths.of(part, 0, region, job.clearances.beam()).iter();
        loops
            .flat_map(|l| {
                l.placed::<SheetSpace>(&pose)
                    .directed(!rule.clockwise_outside)
                    .edges()
                    .collect::<Vec<_>>()
            })
            .collect()
    });
    let piece = |(placed, region): (usize, _)| Piece {
        region,
        may_tip: rests[placed].rest != Rest::Flat,
        shares: common.beside(placed),
    };
    let pieces: Vec<Piece<'_>> = regions.iter().enumerate().map(piece).collect();
    let sheet = &job.stock[layout.stock].sheet;
    let held = held_at(sheet);
    let order = cutting_order(&pieces, &sheet.bounds(), held, facts.order.heat_apart);

    let mut legs = Legs::new(facts, sheet.bounds().min);
    let mut routes = Routes::new(sheet, &job.clearances);
    let mut passes = marks(job, layout, &routes, &mut legs);
    let mut slugs = Slugs::default();
    for (placed, contour) in order {
        let p = &layout.placements[placed];
        let part = &job.wanted[p.part].part;
        let outline = contour == 0;
        let loops = paths.of(p.part, contour, &part.region, job.clearances.beam());
        if loops.is_empty() {
            watch.nothing_to_cut(placed, contour, &legs);
        }
        let mut start = starts[placed][contour].take();
        for l in loops {
            let clockwise = rule.clockwise_outside == outline;
            let l: Loop<SheetSpace> = l.placed(&p.pose).directed(!clockwise);
            let mut own = start
                .take_if(|s| l.edges().any(|e| e.nearest(s.joins()).distance(s.joins()) < 1e-3));
            let run = match &own {
                Some(start) => run_from(&l, start.joins()),
                None => l.edges().collect(),
            };
            // Paths are put together to a tenth of a micrometre.
            if let Some(end) = own.as_mut().and_then(|s| s.lead.last_mut()) {
                *end = Edge::new(end.from(), run[0].from(), end.bulge());
            }
            let metal_left = !rule.clockwise_outside;
            let slug = (!outline).then(|| slugs.rest(job, p, contour, &regions[placed], facts));
            let (shared, to_share) =
                if outline { common.along(placed, &run) } else { Default::default() };
            let freed = Freed {
                job,
                layout,
                placed,
                contour,
                region: &regions[placed],
                rest: slug.unwrap_or(rests[placed]),
                metal_left,
                shared: &[shared.as_slice(), &to_share].concat(),
            };
            let by_hand = by_hand.tabs.get(&(p.part, p.copy, contour)).map(Vec::as_slice);
            let tabs = tabs(facts, by_hand, &run, &freed);
            let small =
                !outline && narrowest(&part.region.holes()[contour - 1]) <= facts.feed.small_below;
            let pass = Pass {
                kind: if outline { PassKind::Outline } else { PassKind::Hole },
                placed: Some(placed),
                contour,
                out: own.as_ref().map_or_else(Vec::new, |s| lead_out(s, facts.lead_out)),
                start: own,
                held: freed.is_held(&run, &tabs),
                run,
                tabs,
                shared,
                rest: Some(slug.unwrap_or(rests[placed])),
                legs: 0..0,
            };
            let range = legs.pass(passes.len(), &pass, &routes, small);
            watch.pass(&pass, &legs.legs[range.clone()], &routes);
            let rest = slug.unwrap_or(rests[placed]);
            if outline && !pass.held {
                watch.free(placed, &rest, &legs.legs[range.clone()]);
                routes.set_free(edge_set(regions[placed].outer()), rest.rest != Rest::Flat);
            } else if !outline && !pass.held && rest.slug_may_tip() {
                watch.free_slug(placed, contour, &legs.legs[range.clone()]);
                // Small slugs fall through. Of others the head comes from their very edge.
                let slug = &regions[placed].holes()[contour - 1];
                let off = job.clearances.slot() + facts.lead_out;
                for inner in shrink_loop(slug, off).unwrap_or_default() {
                    routes.set_free(edge_set(&inner), false);
                }
            }
            passes.push(Pass { legs: range, ..pass });
        }
        if outline {
            common.done(placed);
        }
    }
    for pass in skeleton(job, layout, &rule, facts) {
        let range = legs.pass(passes.len(), &pass, &routes, false);
        watch.pass(&pass, &legs.legs[range.clone()], &routes);
        passes.push(Pass { legs: range, ..pass });
    }
    let Legs { legs, length, pierces, .. } = legs;
    let seconds = legs.last().map_or(0.0, |l| l.begins + l.seconds);
    let (likely_seconds, band) = facts.honest(seconds);
    let money =
        likely_seconds / 3600.0 * facts.feed.per_hour + pierces as f64 * facts.feed.per_pierce;
    Cut {
        passes,
        legs,
        rests,
        warnings: watch.told(),
        length,
        pierces,
        seconds,
        likely_seconds,
        band,
        money,
        on: CutOn {
            machine: facts.machine.name.clone(),
            process: facts.machine.process,
            gas: facts.feed.gas.clone(),
        },
    }
}

/// In the middle of what holds the sheet, where anything stands on it.
fn held_at(sheet: &Sheet) -> Option<Point<SheetSpace>> {
    let clamps = sheet.no_go.iter().filter(|zone| zone.stands_up);
    let all = clamps.map(|zone| zone.shape.bounds()).reduce(Bounds::union)?;
    Some(all.centre())
}

/// What every placed part does once free; parts laid alike are judged once.
fn rests(
    job: &Job,
    layout: &Layout,
    regions: &[Region<SheetSpace>],
    facts: &CutFacts,
) -> Vec<Judged> {
    if facts.tooth().is_some() {
        return regions.iter().map(|region| rest_of(region, job, facts)).collect();
    }
    let mut known: Vec<(usize, f64, bool, Judged)> = Vec::new();
    let of = |(p, region): (&Placement, &Region<SheetSpace>)| {
        let same = known.iter().find(|k| (k.0, k.1, k.2) == (p.part, p.pose.turn, p.pose.flipped));
        same.map(|k| k.3).unwrap_or_else(|| {
            let judged = rest_of(region, job, facts);
            known.push((p.part, p.pose.turn, p.pose.flipped, judged));
            judged
        })
    };
    layout.placements.iter().zip(regions).map(of).collect()
}

/// What a piece does once free: on the teeth where they are known to stand, else wherever they are.
fn rest_of(piece: &Region<SheetSpace>, job: &Job, facts: &CutFacts) -> Judged {
    let slats = &facts.machine.slats;
    match facts.tooth() {
        Some(tooth) => judge_with(piece, slats, tooth, facts.tooth_give(job)),
        None => judge(piece, slats),
    }
}

/// Engraving: all of it before anything is cut, while the sheet is whole. Bend lines are left out.
fn marks(job: &Job, layout: &Layout, routes: &Routes, legs: &mut Legs<'_>) -> Vec<Pass> {
    let mut open: Vec<(usize, Vec<Edge<SheetSpace>>)> = Vec::new();
    for (placed, p) in layout.placements.iter().enumerate() {
        let marks = job.wanted[p.part].part.marks.iter().filter(|m| m.kind == MarkKind::Engrave);
        open.extend(marks.map(|m| (placed, m.edges.iter().map(|e| e.placed(&p.pose)).collect())));
    }
    open.retain(|(_, edges)| !edges.is_empty());
    let mut passes = Vec::new();
    while !open.is_empty() {
        let head = legs.head();
        let off = |n: &usize| open[*n].1[0].from().distance(head);
        let nearest = (0..open.len()).min_by(|a, b| off(a).total_cmp(&off(b))).unwrap_or(0);
        let (placed, run) = open.swap_remove(nearest);
        let pass = Pass {
            kind: PassKind::Mark,
            placed: Some(placed),
            contour: 0,
            start: None,
            run,
            out: Vec::new(),
            tabs: Vec::new(),
            shared: Vec::new(),
            held: true,
            rest: None,
            legs: 0..0,
        };
        let range = legs.pass(passes.len(), &pass, routes, false);
        passes.push(Pass { legs: range, ..pass });
    }
    passes
}

/// Crop line and cutting up: last of all, while the skeleton is as whole as it will ever be.
fn skeleton(job: &Job, layout: &Layout, rule: &StartRule, facts: &CutFacts) -> Vec<Pass> {
    let LastCuts { crop, cut_up } = LastCuts::new(job, layout, facts, rule.pierce);
    let of = |(kind, stroke): (PassKind, Edge<SheetSpace>)| Pass {
        kind,
        placed: None,
        contour: 0,
        start: Some(Start { pierce: stroke.from(), lead: Vec::new(), from_edge: false }),
        run: vec![stroke],
        out: Vec::new(),
        tabs: Vec::new(),
        shared: Vec::new(),
        held: true,
        rest: None,
        legs: 0..0,
    };
    let crop = crop.iter().flat_map(LastCut::runs).map(|stroke| (PassKind::Crop, stroke));
    let cut_up = cut_up.iter().flat_map(LastCut::runs).map(|stroke| (PassKind::CutUp, stroke));
    crop.chain(cut_up).map(of).collect()
}

/// Back along a lead-in for so many mm, or all of it.
fn lead_out(start: &Start<SheetSpace>, length: f64) -> Vec<Edge<SheetSpace>> {
    let mut left = length;
    let mut out = Vec::new();
    for edge in start.lead.iter().rev().map(Edge::reversed) {
        let share = (left / edge.length().max(1e-9)).min(1.0);
        if share * edge.length() > 1e-6 {
            out.push(if share < 1.0 { edge.between(0.0, share) } else { edge });
        }
        left -= edge.length();
    }
    out
}

fn edge_set(l: &Loop<SheetSpace>) -> EdgeSet<SheetSpace> {
    EdgeSet::new([l.edges().collect()])
}

/// What slugs do once free; those of parts laid alike are judged once.
#[derive(Default)]
struct Slugs {
    known: Vec<(usize, ContourNo, f64, bool, Judged)>,
}

impl Slugs {
    fn rest(
        &mut self,
        job: &Job,
        p: &Placement,
        contour: ContourNo,
        region: &Region<SheetSpace>,
        facts: &CutFacts,
    ) -> Judged {
        let laid = (p.part, contour, p.pose.turn, p.pose.flipped);
        if let Some(same) = self.known.iter().find(|k| (k.0, k.1, k.2, k.3) == laid) {
            return same.4;
        }
        let slug = Region::new(region.holes()[contour - 1].clone(), Vec::new());
        let judged = rest_of(&slug, job, facts);
        if facts.tooth().is_some() {
            return judged;
        }
        self.known.push((laid.0, laid.1, laid.2, laid.3, judged));
        judged
    }
}

/// The beam's paths in the drawings of parts, worked out once.
#[derive(Default)]
struct Paths {
    known: BTreeMap<(usize, ContourNo), Vec<Loop<PartSpace>>>,
}

impl Paths {
    fn of(
        &mut self,
        part: usize,
        contour: ContourNo,
        region: &Region<PartSpace>,
        half: f64,
    ) -> &[Loop<PartSpace>] {
        self.known.entry((part, contour)).or_insert_with(|| {
            region.loops().nth(contour).map_or_else(Vec::new, |l| beam_path(l, half).loops)
        })
    }
}

/// What a contour sets free.
struct Freed<'a> {
    job: &'a Job,
    layout: &'a Layout,
    placed: usize,
    contour: ContourNo,
    region: &'a Region<SheetSpace>,
    rest: Judged,
    metal_left: bool,
    /// Where other parts lie beside it: a tab there would hold them to each other.
    shared: &'a [Gap],
}

impl Freed<'_> {
    /// The centre of mass of what comes free.
    fn middle(&self) -> Point<SheetSpace> {
        match self.contour {
            0 => self.region.centroid(),
            hole => self.region.holes()[hole - 1].centroid(),
        }
    }

    fn is_held(&self, run: &[Edge<SheetSpace>], tabs: &[Tab]) -> bool {
        !tabs.is_empty() && (self.rest.rest == Rest::Flat || hold(run, tabs, self.middle()))
    }
}

/// The tabs of a contour: as a person chose them, or by themselves on parts that would not stay
/// flat, and on heavy slugs that would not.
fn tabs(
    facts: &CutFacts,
    chosen: Option<&[Point<PartSpace>]>,
    run: &[Edge<SheetSpace>],
    freed: &Freed<'_>,
) -> Vec<Tab> {
    let gap = facts.tab + freed.job.clearances.kerf;
    if let Some(chosen) = chosen {
        let pose = &freed.layout.placements[freed.placed].pose;
        let at = chosen.iter().map(|p| along_at(run, pose.apply(*p)));
        let at = at.filter_map(|along| place_by_hand(run, gap, along, freed.shared));
        return at.map(|along| Tab { along, gap }).collect();
    }
    if !facts.tabs || facts.tab <= 0.0 {
        return Vec::new();
    }
    if freed.contour == 0 {
        if freed.rest.rest == Rest::Flat {
            return Vec::new();
        }
        return place_tabs(run, gap, freed.middle(), freed.metal_left, freed.shared);
    }
    let slug = &freed.region.holes()[freed.contour - 1];
    let sheet = &freed.job.stock[freed.layout.stock].sheet;
    let weight = sheet.made_of.as_ref().map_or(0.0, |metal| metal.weight(slug.area()));
    if weight < facts.heavy || freed.rest.rest == Rest::Flat {
        return Vec::new();
    }
    // Seen from the slug the metal lies on the other side.
    place_tabs(run, gap, freed.middle(), !freed.metal_left, freed.shared)
}

/// The width of a hole, mm: its diameter, or the shorter side of its box.
pub(crate) fn narrowest(hole: &Loop<PartSpace>) -> f64 {
    let bounds = hole.bounds();
    hole.as_circle().map_or_else(|| bounds.width().min(bounds.height()), |(_, radius)| 2.0 * radius)
}
