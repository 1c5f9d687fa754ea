//! Room to start: of each contour a pierce and its lead-in must lie in waste metal.
//!
//! A layout is searched without them first, since most contours find a start in the gaps that are
//! left anyway. A part that has none is then given one of a few ways to start, which its neighbours
//! keep clear of as they do of its metal.

use super::figure::{Figure, Place};
use super::ground::Ground;
use super::laid::Pieces;
use super::nofit::Piece;
use crate::cutting::starts::{Offered, Start};
use crate::distances::Clearances;
use crate::shape::PartSpace;

/// Ways to start kept of a figure.
const MOST_WAYS: usize = 10;

/// Pierces of two ways lie apart by this share of a figure's size at least.
const SPREAD: f64 = 1.0 / 6.0;

/// A pierce is a piece of its lead-in of this length, mm.
const PIERCE: f64 = 0.01;

/// Ways to start figures, and what bars them.
#[derive(Debug)]
pub(super) struct Leads {
    /// By figure.
    ways: Vec<Vec<Way>>,
    ground: Ground,
    /// What a pierce keeps more than its lead-in from the ground, mm.
    more: f64,
    /// From pierces, and from lead-ins, to other parts; between lead-ins; mm.
    pierce_to_part: f64,
    lead_to_part: f64,
    between: f64,
}

/// Pierces and lead-ins of all contours of a figure that something may come near to.
#[derive(Clone, Debug, Default)]
pub(super) struct Way {
    pierces: Pieces,
    leads: Pieces,
}

impl Leads {
    /// Ways to start the figures of a job's parts on a ground that bars lead-ins. Holes of less than
    /// `least` mm², in which nothing can lie, need none.
    pub(super) fn new(
        figures: &[Figure],
        ground: Ground,
        offered: &Offered<'_>,
        clearances: &Clearances,
        least: f64,
    ) -> Self {
        let rule = offered.rule();
        let to_edge = rule.pierce_to_old_edge(clearances, 0.0);
        Self {
            ways: figures.iter().map(|f| ways(f, offered, least)).collect(),
            ground,
            more: (to_edge - clearances.lead_to_old_edge(0.0)).max(0.0),
            pierce_to_part: rule.pierce.max(clearances.lead_to_part()),
            lead_to_part: clearances.lead_to_part(),
            between: clearances.between_leads(),
        }
    }

    /// What must lie between any two parts (mm) so that a pierce goes in there.
    pub(super) fn room(&self) -> f64 {
        2.0 * self.pierce_to_part
    }

    /// How many ways there are to start a figure.
    pub(super) fn count(&self, figure: usize) -> usize {
        self.ways[figure].len()
    }

    /// A way to start a figure that lies at `place`.
    pub(super) fn lay(&self, figure: usize, way: usize, place: Place) -> Way {
        let (own, mut laid) = (&self.ways[figure][way], Way::default());
        laid.pierces.lay(&own.pierces, place);
        laid.leads.lay(&own.leads, place);
        laid
    }

    /// How deep a way lies in what bars the ground.
    pub(super) fn on_ground(&self, way: &Way, touch: f64) -> f64 {
        let depth = |pieces: &Pieces, more: f64| {
            let beyond = pieces.limits.map_or(0.0, |limits| {
                self.ground.beyond(&limits.grown(more), f64::INFINITY, touch)
            });
            beyond + self.ground.depth(pieces, more, touch, f64::INFINITY)
        };
        depth(&way.leads, 0.0) + depth(&way.pierces, self.more)
    }

    /// How deep a way lies in the metal of another figure, whose edges may lie `inset` mm inside its
    /// outline.
    pub(super) fn to_metal(&self, way: &Way, metal: &Pieces, inset: f64, touch: f64) -> f64 {
        let depth =
            |pieces: &Pieces, keep: f64| pieces.depth(metal, keep + inset, touch, f64::INFINITY);
        depth(&way.leads, self.lead_to_part) + depth(&way.pierces, self.pierce_to_part)
    }

    /// How deep two ways lie in each other.
    pub(super) fn between(&self, a: &Way, b: &Way, touch: f64) -> f64 {
        a.leads.depth(&b.leads, self.between, touch, f64::INFINITY)
    }
}

/// A few ways to start a figure, far apart from each other, better ones first.
fn ways(figure: &Figure, offered: &Offered<'_>, least: f64) -> Vec<Way> {
    let choices = offered.of(figure.part, figure.flipped);
    let open = choices.iter().zip(&figure.contours).filter(|(_, area)| **area >= least);
    let picked: Vec<Vec<[[f64; 2]; 2]>> = open
        .map(|(starts, _)| spread(figure, starts))
        .filter(|picked| !picked.is_empty())
        .collect();
    let count = picked.iter().map(Vec::len).max().unwrap_or(0);
    let way = |k: usize| {
        let lines = picked.iter().map(|lines| lines[k % lines.len()]);
        let leads: Vec<Piece> = lines.map(|line| line.to_vec()).collect();
        let pierces: Vec<Piece> = leads.iter().map(|lead| vec![lead[0], toward(lead)]).collect();
        Way { pierces: Pieces::new(&pierces), leads: Pieces::new(&leads) }
    };
    (0..count).map(way).collect()
}

/// Lead-ins whose pierces are far apart, in the figure's own frame.
fn spread(figure: &Figure, starts: &[Start<PartSpace>]) -> Vec<[[f64; 2]; 2]> {
    let mut picked: Vec<[[f64; 2]; 2]> = Vec::new();
    for start in starts {
        let line = [figure.own(start.pierce), figure.own(start.joins())];
        let apart = |p: &[[f64; 2]; 2]| {
            (p[0][0] - line[0][0]).hypot(p[0][1] - line[0][1]) >= SPREAD * figure.size
        };
        if picked.len() < MOST_WAYS && picked.iter().all(apart) {
            picked.push(line);
        }
    }
    picked
}

/// A point just along a lead-in.
fn toward(lead: &Piece) -> [f64; 2] {
    let [from, to] = [lead[0], lead[1]];
    let (dx, dy) = (to[0] - from[0], to[1] - from[1]);
    let share = PIERCE / dx.hypot(dy).max(PIERCE);
    [from[0] + share * dx, from[1] + share * dy]
}
