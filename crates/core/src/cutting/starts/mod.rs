//! Where contours start: a pierce in waste metal and a lead-in from there onto the beam's path.
//!
//! What a contour allows of itself is found once per part, in the part's own drawing
//! ([`choices`]): places along it in order of preference, outlines first at corners that stick
//! out, on straight edges next, on arcs last; small holes in their middle. Where the process allows
//! it, an outline starts from an old edge near by rather than with a pierce. Which of them are clear
//! of everything else depends on what lies around the part ([`Ground`]). [`find_starts`] gives every
//! contour of a layout a start of its own, so that none is in another's way.

mod choices;
mod ground;
mod known;

use std::sync::{Arc, OnceLock};

use crate::check::Scene;
use crate::distances::{Clearances, StartRule};
use crate::machine::Bed;
use crate::part::Part;
use crate::plan::{Job, Layout, Placement};
use crate::shape::{BedSpace, Bounds, Edge, PartSpace, Point, Pose, SheetSpace, Space};

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
    /// Whether the beam starts beside the metal, over an old cut-out or beyond the sheet's edge, and
    /// comes in through the old edge: nothing is pierced.
    pub from_edge: bool,
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
            from_edge: self.from_edge,
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

/// What the parts of a job allow of themselves: found once for each face of a part, when first asked
/// for, and kept for the next job with the same part.
#[derive(Debug)]
pub struct Offered<'a> {
    job: &'a Job,
    rule: StartRule,
    of: Vec<[OnceLock<Arc<PartChoices>>; 2]>,
}

impl<'a> Offered<'a> {
    /// Nothing where the job leaves starts to the machine.
    pub fn new(job: &'a Job) -> Option<Self> {
        let rule = job.starts?;
        let of = job.wanted.iter().map(|_| [OnceLock::new(), OnceLock::new()]).collect();
        Some(Self { job, rule, of })
    }

    /// What a part allows of itself on one of its faces.
    pub fn of(&self, part: usize, flipped: bool) -> &PartChoices {
        self.of[part][usize::from(flipped)].get_or_init(|| {
            let region = &self.job.wanted[part].part.region;
            known::choices_of(region, &self.job.clearances, &self.rule, flipped)
        })
    }

    /// The lengths that starts ask for.
    pub fn rule(&self) -> &StartRule {
        &self.rule
    }

    /// A start for every contour of a layout whose sheet and parts are the job's; `scene` is of the
    /// same layout.
    pub fn find(&self, layout: &Layout, scene: &Scene) -> Starts {
        self.find_within(layout, scene, &|_| true)
    }

    /// The same; outlines start from an old edge only where the head `reaches` that start.
    fn find_within(
        &self,
        layout: &Layout,
        scene: &Scene,
        reaches: &dyn Fn(&Start<SheetSpace>) -> bool,
    ) -> Starts {
        let ground = Ground::new(self.job, layout, &self.rule, scene);
        let offered = |placed: usize, contour: usize| -> &[Start<PartSpace>] {
            let p = &layout.placements[placed];
            self.of(p.part, p.pose.flipped).get(contour).map_or(&[], Vec::as_slice)
        };
        let contours = |p: &Placement| 1 + self.job.wanted[p.part].part.region.holes().len();
        let of = layout.placements.iter().map(|p| vec![None; contours(p)]).collect();
        let mut found = Starts { of };
        for (placed, p) in layout.placements.iter().enumerate() {
            for contour in 0..found.of[placed].len() {
                let all = || offered(placed, contour).iter().map(|start| start.placed(&p.pose));
                let is_free =
                    |start: &Start<_>| in_the_way(&ground, &found, start, placed).is_empty();
                let from_edge = if contour == 0 && ground.has_edges_near(placed) {
                    let within = all().filter_map(|start| ground.from_edge(&start, placed));
                    within.filter(reaches).find(is_free)
                } else {
                    None
                };
                let mut clear = all().filter(|start| ground.allows(start, placed));
                let first = from_edge.or_else(|| clear.find(is_free));
                found.of[placed][contour] = first;
            }
        }
        for (placed, contour) in found.missing().collect::<Vec<_>>() {
            make_way(&ground, layout, &offered, &mut found, placed, contour);
        }
        found
    }
}

/// A start for every contour of a layout whose sheet and parts are the job's; nothing where the job
/// leaves starts to the machine.
pub fn find_starts(job: &Job, layout: &Layout, scene: &Scene) -> Starts {
    Offered::new(job).map_or_else(Starts::default, |offered| offered.find(layout, scene))
}

/// The same where the sheet lies on a bed: a start beside the sheet, from its edge, lies within the bed.
pub(super) fn find_starts_on(
    bed: &Bed,
    lies: &Pose<SheetSpace, BedSpace>,
    job: &Job,
    layout: &Layout,
    scene: &Scene,
) -> Starts {
    let reaches = |start: &Start<SheetSpace>| {
        bed.reaches(&Bounds { min: start.pierce, max: start.pierce }, lies)
    };
    let offered = Offered::new(job);
    offered.map_or_else(Starts::default, |o| o.find_within(layout, scene, &reaches))
}

/// The first contour of a part in which no cut can start however the part lies, such as a hole narrower
/// than the slot.
pub fn never_starts(part: &Part, clearances: &Clearances, rule: &StartRule) -> Option<ContourNo> {
    let closed = |flipped| {
        known::choices_of(&part.region, clearances, rule, flipped).iter().position(Vec::is_empty)
    };
    closed(false).filter(|_| !part.flip || closed(true).is_some())
}

/// The starts found so far that lie too near `start`, which belongs to the part at `placed`.
pub(super) fn in_the_way(
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
