//! What the head does, in time: moves, pierces, cuts.

use std::ops::Range;

use super::cut::{Pass, PassKind};
use super::facts::CutFacts;
use super::routes::{Routes, Way};
use super::tabs::point_at;
use crate::shape::{Edge, Point, SheetSpace};

/// Two places are one, mm.
const SAME: f64 = 1e-6;

/// What the head does for a while.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Doing {
    /// Moves with the beam off, lifted or low.
    Moving {
        /// Whether the head is lifted.
        lifted: bool,
    },
    /// Finds the surface and goes through.
    Piercing,
    /// Cuts, or engraves.
    Cutting,
    /// Passes over a tab, with the beam off.
    OverTab,
    /// Passes along a cut that is made already, with the beam off.
    AlongCut,
}

/// One leg of the head's way.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Leg {
    /// What it does.
    pub doing: Doing,
    /// Where; a line without length where it stands.
    pub edge: Edge<SheetSpace>,
    /// Seconds from the start of the cut.
    pub begins: f64,
    /// Seconds.
    pub seconds: f64,
    /// The pass it belongs to, by its place in the list.
    pub pass: usize,
}

/// Puts legs together.
pub(super) struct Legs<'a> {
    facts: &'a CutFacts,
    head: Point<SheetSpace>,
    now: f64,
    /// So far.
    pub(super) legs: Vec<Leg>,
    /// Millimetres cut.
    pub(super) length: f64,
    /// Pierces.
    pub(super) pierces: usize,
}

impl<'a> Legs<'a> {
    /// None yet, the head at `home`.
    pub(super) fn new(facts: &'a CutFacts, home: Point<SheetSpace>) -> Self {
        Self { facts, head: home, now: 0.0, legs: Vec::new(), length: 0.0, pierces: 0 }
    }

    /// Where the head is.
    pub(super) fn head(&self) -> Point<SheetSpace> {
        self.head
    }

    /// Seconds since the start of the cut.
    pub(super) fn now(&self) -> f64 {
        self.now
    }

    /// Adds the legs of a pass and of the ways to and within it; returns where they stand in the list.
    pub(super) fn pass(
        &mut self,
        number: usize,
        pass: &Pass,
        routes: &Routes,
        small: bool,
    ) -> Range<usize> {
        let first = self.legs.len();
        let (feed, motion) = (&self.facts.feed, &self.facts.machine.motion);
        let speed = match (pass.kind, small) {
            (PassKind::Mark, _) => feed.mark_speed,
            (_, true) => feed.small_speed,
            (_, false) => feed.speed,
        };
        for (n, piece) in pass.pieces().iter().enumerate() {
            let Some(to) = piece.first().map(Edge::from) else { continue };
            let from = self.head;
            let along_cut = n > 0
                && pass.shared.iter().any(|gap| {
                    let begins = point_at(&pass.run, gap.from);
                    Edge::Line { from, to }.nearest(begins).distance(begins) < SAME
                });
            let (way, low) = match (n, along_cut) {
                (0, _) => (routes.way(from, to, motion), Doing::Moving { lifted: false }),
                (_, true) => (routes.way_in_slot(from, to, motion), Doing::AlongCut),
                (_, false) => (Way::straight(from, to), Doing::OverTab),
            };
            self.go(number, &way, low);
            let stand = Edge::Line { from: self.head, to: self.head };
            let down = motion.touch_off_seconds;
            // In a cut that is open already nothing is to be pierced.
            let open = n == 0 && pass.start.as_ref().is_some_and(|s| s.from_edge);
            if open || along_cut {
                self.add(number, Doing::Moving { lifted: false }, stand, down);
            } else if pass.kind != PassKind::Mark {
                self.pierces += 1;
                self.add(number, Doing::Piercing, stand, down + feed.pierce_seconds);
            }
            let seconds = motion.seconds(piece, |_| speed);
            for (edge, seconds) in piece.iter().zip(seconds) {
                self.length += if pass.kind == PassKind::Mark { 0.0 } else { edge.length() };
                self.add(number, Doing::Cutting, *edge, seconds);
            }
        }
        first..self.legs.len()
    }

    fn go(&mut self, pass: usize, way: &Way, low: Doing) {
        let motion = &self.facts.machine.motion;
        let doing = if way.lifted { Doing::Moving { lifted: true } } else { low };
        let lift = if way.lifted { motion.lift_seconds } else { 0.0 };
        let seconds = motion.seconds(&way.edges, |_| motion.rapid);
        for (n, (edge, seconds)) in way.edges.iter().zip(seconds).enumerate() {
            let lift = if n == 0 { lift } else { 0.0 };
            self.add(pass, doing, *edge, seconds + lift);
        }
    }

    fn add(&mut self, pass: usize, doing: Doing, edge: Edge<SheetSpace>, seconds: f64) {
        self.legs.push(Leg { doing, edge, begins: self.now, seconds, pass });
        self.now += seconds;
        self.head = edge.to();
    }
}
