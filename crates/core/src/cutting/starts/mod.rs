//! Where contours start: a pierce in waste metal and a lead-in from there onto the beam's path.
//!
//! What a contour allows of itself is found once per part, in the part's own drawing
//! ([`choices`]): places along it in order of preference, outlines first at corners that stick
//! out, on straight edges next, on arcs last; small holes in their middle. Which of them are clear
//! of everything else depends on what lies around the part ([`Ground`]). [`find_starts`] gives every
//! contour of a layout a start of its own, so that none is in another's way.

mod choices;
mod ground;

use crate::check::Scene;
use crate::plan::{Job, Layout};
use crate::shape::{Edge, PartSpace, Point, Pose, SheetSpace, Space};

use super::ContourNo;
pub use choices::choices;
pub use ground::Ground;

/// A pierce and the lead-in from there to the beam's path.
#[derive(Clone, Debug, PartialEq)]
pub struct Start<S> {
    /// Where the beam goes through.
    pub pierce: Point<S>,
    /// From the pierce to the path.
    pub lead: Vec<Edge<S>>,
}

impl<S: Space> Start<S> {
    /// Where the lead-in joins the path.
    pub fn joins(&self) -> Point<S> {
        self.lead.last().map_or(self.pierce, Edge::to)
    }

    /// Carried into another space.
    pub fn placed<T: Space>(&self, pose: &Pose<S, T>) -> Start<T> {
        Start {
            pierce: pose.apply(self.pierce),
            lead: self.lead.iter().map(|e| e.placed(pose)).collect(),
        }
    }
}

/// The starts of a layout: of each placed part, of each of its contours; `None` where none was
/// found.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Starts {
    /// By the part's place in the layout's list, then by contour.
    pub of: Vec<Vec<Option<Start<SheetSpace>>>>,
}

impl Starts {
    /// The contours without a start: place in the layout's list, and contour.
    pub fn missing(&self) -> impl Iterator<Item = (usize, ContourNo)> {
        let contours = |(placed, starts): (usize, &Vec<Option<Start<SheetSpace>>>)| {
            let open = starts.iter().enumerate().filter(|(_, s)| s.is_none());
            open.map(|(contour, _)| (placed, contour)).collect::<Vec<_>>()
        };
        self.of.iter().enumerate().flat_map(contours)
    }
}

/// What a part allows of itself, for each of its contours: the same for all its copies of one face.
pub type PartChoices = Vec<Vec<Start<PartSpace>>>;

/// A start for every contour of a layout whose sheet and parts are the job's; nothing where the job
/// leaves starts to the machine.
pub fn find_starts(job: &Job, layout: &Layout, scene: &Scene) -> Starts {
    let Some(rule) = job.starts else { return Starts::default() };
    let ground = Ground::new(job, layout, &rule, scene);
    let mut known: Vec<[Option<PartChoices>; 2]> = vec![[None, None]; job.wanted.len()];
    for p in &layout.placements {
        known[p.part][usize::from(p.pose.flipped)].get_or_insert_with(|| {
            let region = &job.wanted[p.part].part.region;
            choices(region, &job.clearances, &rule, p.pose.flipped)
        });
    }
    let offered = |placed: usize, contour: usize| -> &[Start<PartSpace>] {
        let p = &layout.placements[placed];
        let choices = known[p.part][usize::from(p.pose.flipped)].as_ref();
        choices.and_then(|c| c.get(contour)).map_or(&[], Vec::as_slice)
    };
    let mut found = Starts {
        of: layout
            .placements
            .iter()
            .map(|p| vec![None; 1 + job.wanted[p.part].part.region.holes().len()])
            .collect(),
    };
    for (placed, p) in layout.placements.iter().enumerate() {
        for contour in 0..found.of[placed].len() {
            let mut clear = offered(placed, contour)
                .iter()
                .map(|start| start.placed(&p.pose))
                .filter(|start| ground.allows(start, placed));
            let first = clear.find(|start| in_the_way(&ground, &found, start, placed).is_empty());
            found.of[placed][contour] = first;
        }
    }
    for (placed, contour) in found.missing().collect::<Vec<_>>() {
        make_way(&ground, layout, &offered, &mut found, placed, contour);
    }
    found
}

/// The starts found so far that lie too near `start`, which belongs to the part at `placed`.
fn in_the_way(
    ground: &Ground,
    found: &Starts,
    start: &Start<SheetSpace>,
    placed: usize,
) -> Vec<(usize, ContourNo)> {
    let around = ground.around(placed).iter().copied().chain([placed]);
    let mut met = Vec::new();
    for other in around {
        for (contour, known) in found.of[other].iter().enumerate() {
            if known.as_ref().is_some_and(|k| !ground.apart(start, k)) {
                met.push((other, contour));
            }
        }
    }
    met
}

/// Gives a contour whose every clear place is taken one of them, if the start that is in its way can
/// go elsewhere.
fn make_way<'a>(
    ground: &Ground,
    layout: &Layout,
    offered: &impl Fn(usize, usize) -> &'a [Start<PartSpace>],
    found: &mut Starts,
    placed: usize,
    contour: ContourNo,
) {
    let place = |placed: usize, start: &Start<PartSpace>| {
        let start = start.placed(&layout.placements[placed].pose);
        ground.allows(&start, placed).then_some(start)
    };
    for start in offered(placed, contour).iter().filter_map(|s| place(placed, s)) {
        let [(other, its)] = in_the_way(ground, found, &start, placed)[..] else { continue };
        let before = found.of[other][its].take();
        found.of[placed][contour] = Some(start);
        let elsewhere = offered(other, its)
            .iter()
            .filter_map(|s| place(other, s))
            .find(|s| in_the_way(ground, found, s, other).is_empty());
        if elsewhere.is_some() {
            found.of[other][its] = elsewhere;
            return;
        }
        found.of[placed][contour] = None;
        found.of[other][its] = before;
    }
}
