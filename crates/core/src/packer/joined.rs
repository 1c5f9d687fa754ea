//! Filling with common cuts: copies of a part are joined along straight edges into strips, a kerf
//! apart, and strips are laid like parts.
//!
//! Only strips in one line: where four parts met in a corner the check would find two of them too near
//! each other, and a part closed in on all sides would have no room to start. Long strips are laid
//! first, then shorter ones where those went in no more, at last what is left over one by one; what
//! the check then finds short is taken apart again.

use std::f64::consts::{FRAC_PI_2, PI};

use super::fill::{Worth, fill, locked_layouts};
use super::{Packed, Patterns, Progress};
use crate::check::{Fault, Measure, Party, RESOLUTION, check};
use crate::cutting::common::may_share;
use crate::distances::Clearances;
use crate::job::Budget;
use crate::part::{Part, Turning};
use crate::plan::{Count, Job, Layout, Placement, Plan, Wanted};
use crate::shape::{Edge, EdgeSet, Loop, PartSpace, Point, Pose, Region, Vector, Vertex};

/// Copies in a strip, the most first.
const SIZES: [usize; 5] = [10, 6, 4, 3, 2];
/// Steps of search for one size of strips, and for a first plan without.
const STEPS: u64 = 600;
/// Steps of search with strips, where only time bounds it.
const LONGEST: u64 = 6_000;
/// So much length (mm) more with strips is no more: nobody could use it, and a shared cut is one less.
const NO_MATTER: f64 = 0.5;
/// Edges shorter than this (mm) are not joined.
const SHORTEST: f64 = 10.0;
/// Edges of a part that are tried, the longest first.
const MOST_EDGES: usize = 6;
/// Two lengths are one, mm.
const SAME: f64 = 1e-6;

/// Fills with common cuts, and without; the better of both, in doubt that with them. Half of the steps
/// goes to either.
pub(super) fn fill_joined(
    job: &Job,
    start: &Plan,
    seed: u64,
    budget: &Budget<'_>,
    patterns: &Patterns,
    better: &mut (dyn FnMut(Progress<'_>) + Send),
) -> Packed {
    let locked = Plan { layouts: locked_layouts(start) };
    let long = |size: &usize| Strips::new(job, &locked, *size, false).is_some();
    let longest: Vec<usize> = (0..SIZES.len()).filter(|n| long(&SIZES[*n])).collect();
    if longest.is_empty() {
        return fill(job, start, seed, budget, patterns, better);
    }
    // A first plan soon, which is all of its half where there are few steps.
    let half = budget.steps.map(|all| all.div_ceil(2));
    let at_first = half.filter(|half| *half <= 2 * STEPS).unwrap_or(STEPS);
    let first = fill(job, start, seed, &at_most(budget, at_first), patterns, better);
    let (mut best, mut steps, mut has_strips) = (first.plan, first.steps, false);
    let with_strips = match half {
        Some(half) if half <= 2 * STEPS => half + steps,
        Some(half) => half,
        None => LONGEST,
    };
    // Strips lie square to the sheet, and askew only where more goes in so. Which lengths are best is
    // tried: from one on all shorter ones, or that one alone.
    let lengths = longest.iter().flat_map(|n| [&SIZES[*n..], &SIZES[*n..=*n]]);
    let tries =
        [true, false].into_iter().flat_map(|square| lengths.clone().map(move |l| (l, square)));
    let count = 2 * lengths.clone().count();
    for (done, (sizes, square)) in tries.enumerate() {
        if !square && best.is_complete(job) {
            break;
        }
        let share = with_strips.saturating_sub(steps) / (count - done) as u64;
        let found = joined(job, &locked, seed, &at_most(budget, share), patterns, sizes, square);
        steps += found.steps;
        let (so_far, now) = (Worth::of(job, &best), Worth::of(job, &found.plan));
        // Of strips the longest, and of what is as good the strips.
        let as_good = !has_strips && !so_far.is_better_by(NO_MATTER, &now);
        if as_good || now.is_better_than(&so_far) {
            has_strips = true;
            best = found.plan;
            better(Progress { plan: &best, steps });
        }
    }
    if first.steps < at_first || at_first > STEPS {
        // There was no more to be found, or are no steps to find it.
        return Packed { plan: best, steps };
    }
    let rest = budget.steps.map_or(u64::MAX, |all| all.saturating_sub(steps));
    let so_far = Worth::of(job, &best);
    let plain = fill(job, start, seed, &at_most(budget, rest), patterns, &mut |found| {
        if Worth::of(job, found.plan).is_better_by(NO_MATTER, &so_far) {
            better(Progress { plan: found.plan, steps: steps + found.steps });
        }
    });
    steps += plain.steps;
    if Worth::of(job, &plain.plan).is_better_by(NO_MATTER, &so_far) {
        best = plain.plan;
    }
    Packed { plan: best, steps }
}

/// The same budget, with no more than so many steps.
fn at_most<'a>(budget: &Budget<'a>, steps: u64) -> Budget<'a> {
    let steps = budget.steps.map_or(steps, |most| most.min(steps));
    Budget { steps: Some(steps), time_up: budget.time_up, stop: budget.stop.clone() }
}

/// Fills with strips of these sizes round what is locked, and then with what is left over.
fn joined(
    job: &Job,
    locked: &Plan,
    seed: u64,
    budget: &Budget<'_>,
    patterns: &Patterns,
    sizes: &[usize],
    square: bool,
) -> Packed {
    let left = |steps: u64| budget.steps.map_or(LONGEST, |all| all.saturating_sub(steps));
    let (mut laid, mut steps) = (locked.clone(), 0);
    for size in sizes {
        let Some(strips) = Strips::new(job, &laid, *size, square) else { continue };
        let brief = at_most(budget, left(steps).min(STEPS));
        let found = fill(&strips.job, &laid, seed, &brief, &Patterns::default(), &mut |_| {});
        steps += found.steps;
        laid = strips.taken_apart(job, found.plan);
    }
    let filled = fill(job, &laid, seed, &at_most(budget, left(steps)), patterns, &mut |_| {});
    let mut plan = filled.plan;
    for p in plan.layouts.iter_mut().flat_map(|l| &mut l.placements) {
        p.locked = locked.placements().any(|l| (l.part, l.copy) == (p.part, p.copy));
    }
    Packed { plan, steps: steps + filled.steps }
}

/// A job whose parts are the strips of another's, after that other's own.
struct Strips {
    job: Job,
    /// The part that each strip is of, and where its copies lie in it.
    of: Vec<(usize, Vec<Pose<PartSpace, PartSpace>>)>,
}

impl Strips {
    /// Strips of so many copies of what is not `laid` yet, those that may lie at any angle only
    /// `square` to the sheet; none where no part gives one.
    fn new(job: &Job, laid: &Plan, size: usize, square: bool) -> Option<Self> {
        let left = |part: usize, count: Count| match count {
            Count::Exactly(n) => Count::Exactly(n.saturating_sub(laid.placed(part)) / size),
            Count::Max => Count::Max,
        };
        let (mut of, mut wanted) = (Vec::new(), Vec::new());
        for (i, w) in job.wanted.iter().enumerate() {
            wanted.push(Wanted { count: Count::Exactly(laid.placed(i)), ..w.clone() });
        }
        for (i, w) in job.wanted.iter().enumerate() {
            let count = left(i, w.count);
            if count == Count::Exactly(0) {
                continue;
            }
            let Some((mut part, copies)) = strip(&w.part, &job.clearances, size) else { continue };
            if square && lies_anyhow(&part) {
                part.turning = Turning::steps(FRAC_PI_2);
            }
            wanted.push(Wanted { part, count });
            of.push((i, copies));
        }
        // Between two strips a pierce finds room: a copy may have no other side to start from.
        let room = job.starts.map_or(0.0, |rule| {
            2.0 * rule.pierce.max(job.clearances.lead_to_part()) - 2.0 * job.clearances.kerf
        });
        let clearances =
            Clearances { web: job.clearances.web.max(room), common: false, ..job.clearances };
        (!of.is_empty()).then(|| Self { job: Job { wanted, clearances, ..job.clone() }, of })
    }

    /// The plan with copies in the place of strips, all of them locked, without the strips that the
    /// check finds fault with.
    fn taken_apart(&self, job: &Job, found: Plan) -> Plan {
        let own = job.wanted.len();
        let mut plan = Plan::default();
        // Of each placement the strip it came in.
        let mut strips: Vec<Vec<Option<usize>>> = Vec::new();
        let mut counted = 0;
        let mut next: Vec<usize> = (0..own)
            .map(|part| found.placements().filter(|p| p.part == part).map(|p| p.copy).max())
            .map(|most| most.unwrap_or(0) + 1)
            .collect();
        for layout in found.layouts {
            let (mut placements, mut from) = (Vec::new(), Vec::new());
            for p in layout.placements {
                let Some((part, copies)) = p.part.checked_sub(own).map(|strip| &self.of[strip])
                else {
                    placements.push(p);
                    from.push(None);
                    continue;
                };
                counted += 1;
                for copy in copies {
                    let pose = p.pose.after(copy);
                    placements.push(Placement {
                        part: *part,
                        copy: next[*part],
                        pose,
                        locked: true,
                    });
                    from.push(Some(counted));
                    next[*part] += 1;
                }
            }
            plan.layouts.push(Layout { placements, ..layout });
            strips.push(from);
        }
        loop {
            let checked = check(job, plan);
            let strip_of = |layout: usize, placed: usize| Some((layout, strips[layout][placed]?));
            let wrong = checked.report().faults.iter().find_map(|fault| match fault {
                Fault::Short(Measure { layout, placed, other, .. }) => {
                    let beside = match other {
                        Party::Placed(other) => strip_of(*layout, *other),
                        _ => None,
                    };
                    strip_of(*layout, *placed).or(beside)
                }
                Fault::Turned { layout, placed }
                | Fault::WrongMetal { layout, placed }
                | Fault::NoStart { layout, placed, .. } => strip_of(*layout, *placed),
                _ => None,
            });
            plan = checked.plan().clone();
            let Some((layout, strip)) = wrong else { break };
            let mut from = strips[layout].iter();
            plan.layouts[layout].placements.retain(|_| from.next() != Some(&Some(strip)));
            strips[layout].retain(|s| *s != Some(strip));
        }
        plan.layouts.retain(|l| !l.placements.is_empty());
        plan
    }
}

/// So many copies of a part in a line, each sharing a cut with the next, as one part: along the
/// longest of its edges that allows it. The strip lies level where the part may lie at any angle. Its
/// slots count as metal.
fn strip(part: &Part, clearances: &Clearances, size: usize) -> Option<(Part, Copies)> {
    let edges: Vec<Edge<PartSpace>> = part.region.outer().edges().collect();
    let mut longest: Vec<usize> = (0..edges.len())
        .filter(|i| matches!(edges[*i], Edge::Line { .. }) && edges[*i].length() >= SHORTEST)
        .collect();
    longest.sort_by(|a, b| edges[*b].length().total_cmp(&edges[*a].length()));
    longest.into_iter().take(MOST_EDGES).find_map(|edge| {
        let beside = side_by_side(&edges, edge, clearances.kerf, size);
        let turned = || turned_about(part, &edges, edge, clearances.kerf).filter(|_| size == 2);
        let (outline, copies) = beside.filter(|b| fits(part, clearances, &b.1)).or_else(turned)?;
        if !fits(part, clearances, &copies) {
            return None;
        }
        let outline = closed(&outline)?;
        let level = if lies_anyhow(part) { levelled(&outline) } else { Pose::identity() };
        let copies: Copies = copies.iter().map(|c| level.after(c)).collect();
        let holes = copies.iter().flat_map(|c| part.region.placed(c).holes().to_vec()).collect();
        let region = Region::new(outline.placed(&level), holes);
        Some((Part { region, marks: Vec::new(), ..part.clone() }, copies))
    })
}

/// Whether a part may lie at any angle on any sheet.
fn lies_anyhow(part: &Part) -> bool {
    part.turning == Turning::Free && part.grain.is_none()
}

/// Turns an outline so that the longest of its straight edges lies along x.
fn levelled(outline: &Loop<PartSpace>) -> Pose<PartSpace, PartSpace> {
    let lines = outline.edges().filter(|e| matches!(e, Edge::Line { .. }));
    let longest = lines.max_by(|a, b| a.length().total_cmp(&b.length()));
    let along = longest.map_or(0.0, |e| e.direction(0.0).angle());
    Pose::new(Vector::default(), -along, false)
}

type Outline = Vec<Edge<PartSpace>>;
type Copies = Vec<Pose<PartSpace, PartSpace>>;

/// Copies as drawn, one beyond the other over an edge and one that runs as long the other way.
fn side_by_side(
    edges: &[Edge<PartSpace>],
    edge: usize,
    kerf: f64,
    size: usize,
) -> Option<(Outline, Copies)> {
    let over = edges[edge];
    let along = over.direction(0.0);
    let opposite = (0..edges.len()).find(|i| {
        let other = edges[*i];
        matches!(other, Edge::Line { .. })
            && (other.length() - over.length()).abs() < SAME
            && (other.direction(0.0) + along).length() < SAME
    })?;
    let step = over.from() - edges[opposite].to() - along.left() * kerf;
    let mut outline = edges.to_vec();
    let mut copies = vec![Pose::identity()];
    for n in 1..size {
        let pose = Pose::shifted(step * n as f64);
        let next: Outline = edges.iter().map(|e| e.placed(&pose)).collect();
        let last: Edge<PartSpace> =
            over.placed(&Pose::<PartSpace, _>::shifted(step * (n - 1) as f64));
        let at = outline.iter().position(|e| *e == last)?;
        outline = stitched(&outline, at, &next, opposite);
        copies.push(pose);
    }
    Some((outline, copies))
}

/// A second copy beyond an edge, turned by half a turn.
fn turned_about(
    part: &Part,
    edges: &[Edge<PartSpace>],
    edge: usize,
    kerf: f64,
) -> Option<(Outline, Copies)> {
    let may_turn = match &part.turning {
        Turning::Free => true,
        Turning::Only(angles) => angles.iter().all(|a| part.may_lie(None, a + PI, false)),
    };
    let over = edges[edge];
    let middle = over.at(0.5) - over.direction(0.0).left() * (0.5 * kerf);
    let pose = Pose::new(middle.to_vector() * 2.0, PI, false);
    let next: Outline = edges.iter().map(|e| e.placed(&pose)).collect();
    may_turn.then(|| (stitched(edges, edge, &next, edge), vec![Pose::identity(), pose]))
}

/// One outline round two that share a cut along these edges: the slot between them counts as metal.
fn stitched(a: &[Edge<PartSpace>], of_a: usize, b: &[Edge<PartSpace>], of_b: usize) -> Outline {
    let round = |edges: &[Edge<PartSpace>], without: usize| -> Outline {
        (1..edges.len()).map(|n| edges[(without + n) % edges.len()]).collect()
    };
    let across = |from: Point<PartSpace>, to| Edge::Line { from, to };
    let mut outline = round(a, of_a);
    outline.push(across(a[of_a].from(), b[of_b].to()));
    outline.extend(round(b, of_b));
    outline.push(across(b[of_b].from(), a[of_a].to()));
    outline
}

/// Whether no two copies come nearer than the rule allows.
fn fits(part: &Part, clearances: &Clearances, copies: &[Pose<PartSpace, PartSpace>]) -> bool {
    let laid: Vec<EdgeSet<PartSpace>> =
        copies.iter().map(|c| part.region.edge_set().placed(c)).collect();
    let usual = clearances.between_parts();
    let apart = |a: &EdgeSet<PartSpace>, b: &EdgeSet<PartSpace>| {
        let far = |least: f64| a.boundary_gap(b, least - RESOLUTION).is_none();
        let inside = a.edges().first().is_some_and(|e| b.covers(e.from()));
        !inside && (far(usual) || far(clearances.kerf) && may_share(a, b, clearances))
    };
    (1..laid.len()).all(|n| (0..n).all(|m| apart(&laid[n], &laid[m])))
}

/// A run of edges as a loop, without the corners in the midst of straight lines.
fn closed(outline: &[Edge<PartSpace>]) -> Option<Loop<PartSpace>> {
    let straight = |n: usize| {
        let before = &outline[(n + outline.len() - 1) % outline.len()];
        let lines = before.bulge() == 0.0 && outline[n].bulge() == 0.0;
        lines
            && before.direction(1.0).cross(outline[n].direction(0.0)).abs() < 1e-9
            && before.direction(1.0).dot(outline[n].direction(0.0)) > 0.0
    };
    let corners = (0..outline.len()).filter(|n| !straight(*n));
    Loop::new(corners.map(|n| Vertex { point: outline[n].from(), bulge: outline[n].bulge() })).ok()
}
