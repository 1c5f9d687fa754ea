//! The no-fit polygons of all pairs of figures, where every part may take only a few turns.

use std::f64::consts::TAU;
use std::sync::OnceLock;

use super::figure::{Figure, Line, Place};
use super::limits::Limits;
use super::nofit::{Nearest, NoFit, Piece, convex_pieces};
use crate::part::Turning;

/// Most no-fit polygons that are kept; they are made when first asked for.
const MOST_PAIRS: usize = 20_000;

/// Most sums of convex pieces, on average, that a no-fit polygon may be put together from.
const MOST_SUMS: usize = 4_000;

/// No-fit polygons by pair of shapes and by the turn between them.
#[derive(Debug)]
pub(super) struct Pairs {
    turns: Vec<Heading>,
    /// The turns that one figure may have as seen from another.
    between: Vec<f64>,
    /// Which of them, by the turns of both.
    which: Vec<usize>,
    /// Shape of each figure; figures of the same outline share one.
    shape_of: Vec<usize>,
    shapes: Vec<Vec<Piece>>,
    /// Boxes about the middle, by figure and turn.
    boxes: Vec<Limits>,
    made: Vec<OnceLock<NoFit>>,
    reach: f64,
}

#[derive(Clone, Copy, Debug)]
struct Heading {
    turn: f64,
    sin: f64,
    cos: f64,
}

/// A figure at one of the turns.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Stand {
    figure: usize,
    turn: usize,
}

impl Pairs {
    /// For all turns that the figures may take, and those of `also`; distances are known up to
    /// `reach` mm. `None` where a figure may take any turn or there are too many pairs.
    pub(super) fn new(figures: &[Figure], also: &[f64], reach: f64) -> Option<Self> {
        let mut turns: Vec<Heading> = Vec::new();
        let mut note = |turn: f64| {
            if turns.iter().all(|t| t.turn != turn) {
                let (sin, cos) = turn.sin_cos();
                turns.push(Heading { turn, sin, cos });
            }
        };
        also.iter().for_each(|turn| note(*turn));
        for figure in figures {
            let Turning::Only(angles) = &figure.turning else { return None };
            angles.iter().for_each(|turn| note(*turn));
        }
        let mut distinct: Vec<&[Line]> = Vec::new();
        let shape_of: Vec<usize> = figures
            .iter()
            .map(|figure| {
                distinct.iter().position(|edges| *edges == figure.edges).unwrap_or_else(|| {
                    distinct.push(&figure.edges);
                    distinct.len() - 1
                })
            })
            .collect();
        let mut between: Vec<f64> = Vec::new();
        let mut which = Vec::with_capacity(turns.len() * turns.len());
        for a in &turns {
            for b in &turns {
                let turn = (b.turn - a.turn).rem_euclid(TAU);
                let same = |t: &f64| (t - turn).abs() < 1e-9 || (t - turn).abs() > TAU - 1e-9;
                which.push(between.iter().position(same).unwrap_or_else(|| {
                    between.push(turn);
                    between.len() - 1
                }));
            }
        }
        let shapes: Vec<Vec<Piece>> = distinct.iter().map(|edges| convex_pieces(edges)).collect();
        let pieces: usize = shapes.iter().map(Vec::len).sum();
        let count = shapes.len() * shapes.len() * between.len();
        if count > MOST_PAIRS || pieces * pieces > MOST_SUMS * shapes.len() * shapes.len() {
            return None;
        }
        let boxes = figures.iter().flat_map(|f| turns.iter().map(|t| f.limits(t.turn))).collect();
        let made = (0..count).map(|_| OnceLock::new()).collect();
        Some(Self { turns, between, which, shape_of, shapes, boxes, made, reach })
    }

    /// The stand of a figure at a turn; `None` where it is none of those asked for.
    #[inline]
    pub(super) fn stand(&self, figure: usize, turn: f64) -> Option<Stand> {
        let turn = self.turns.iter().position(|t| t.turn == turn)?;
        Some(Stand { figure, turn })
    }

    /// The box of a figure, about its middle.
    #[inline]
    pub(super) fn limits(&self, stand: Stand) -> &Limits {
        &self.boxes[stand.figure * self.turns.len() + stand.turn]
    }

    /// How far two figures are from touching, mm, negative where they overlap, and where they would;
    /// `None` where they are farther apart than the reach.
    #[inline]
    pub(super) fn spare(&self, a: (Stand, Place), b: (Stand, Place)) -> Option<f64> {
        let (no_fit, heading, sign, x, y) = self.frame(a, b);
        let (x, y) = (sign * x, sign * y);
        let (x, y) = (x * heading.cos + y * heading.sin, y * heading.cos - x * heading.sin);
        no_fit.nearest(x, y).map(|n| n.spare)
    }

    /// As [`Self::spare`], with the line to which `b` would have to move, in the space of the places.
    pub(super) fn nearest(&self, a: (Stand, Place), b: (Stand, Place)) -> Option<Nearest> {
        let (no_fit, h, sign, x, y) = self.frame(a, b);
        let (x, y) = (sign * x, sign * y);
        let found = no_fit.nearest(x * h.cos + y * h.sin, y * h.cos - x * h.sin)?;
        let out = |v: [f64; 2]| {
            [sign * (v[0] * h.cos - v[1] * h.sin), sign * (v[0] * h.sin + v[1] * h.cos)]
        };
        let from = out(found.from);
        let from = [a.1.x + from[0], a.1.y + from[1]];
        Some(Nearest { from, along: out(found.along), ..found })
    }

    /// The no-fit polygon of two stands, the heading of its frame, and the way from `a` to `b`; the
    /// sign is −1 where the polygon is about `b`.
    #[inline]
    fn frame(
        &self,
        (a, at): (Stand, Place),
        (b, to): (Stand, Place),
    ) -> (&NoFit, &Heading, f64, f64, f64) {
        let (shape_a, shape_b) = (self.shape_of[a.figure], self.shape_of[b.figure]);
        let (x, y) = (to.x - at.x, to.y - at.y);
        let turns = self.turns.len();
        if shape_a <= shape_b {
            let which = self.which[a.turn * turns + b.turn];
            (self.made(shape_a, shape_b, which), &self.turns[a.turn], 1.0, x, y)
        } else {
            let which = self.which[b.turn * turns + a.turn];
            (self.made(shape_b, shape_a, which), &self.turns[b.turn], -1.0, x, y)
        }
    }

    #[inline]
    fn made(&self, a: usize, b: usize, which: usize) -> &NoFit {
        let at = (a * self.shapes.len() + b) * self.between.len() + which;
        self.made[at].get_or_init(|| {
            let (sin, cos) = self.between[which].sin_cos();
            let turned: Vec<Piece> = self.shapes[b]
                .iter()
                .map(|piece| {
                    let turn = |p: &[f64; 2]| [p[0] * cos - p[1] * sin, p[0] * sin + p[1] * cos];
                    piece.iter().map(turn).collect()
                })
                .collect();
            NoFit::new(&self.shapes[a], &turned, self.reach)
        })
    }
}
