//! What the head does, in time: moves, pierces, cuts.

use std::ops::Range;

use super::cut::{Pass, PassKind};
use super::facts::CutFacts;
use super::routes::Way;
use super::tabs::point_at;
use crate::machine::Motion;
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

    /// How the head moves.
    pub(super) fn motion(&self) -> &'a Motion {
        &self.facts.machine.motion
    }

    /// Adds the legs of a pass and of the way to it; returns where they stand in the list.
    pub(super) fn pass(
        &mut self,
        number: usize,
        pass: &Pass,
        way: &Way,
        small: bool,
    ) -> Range<usize> {
        let first = self.legs.len();
        let feed = &self.facts.feed;
        let speed = match (pass.kind, small) {
            (PassKind::Mark, _) => feed.mark_speed,
            (_, true) => feed.small_speed,
            (_, false) => feed.speed,
        };
        for (n, piece) in pass.pieces().iter().enumerate() {
            let Some(from) = piece.first().map(Edge::from) else { continue };
            if n == 0 {
                self.go(number, way);
            } else {
                let way = Edge::Line { from: self.head, to: from };
                let seconds = self.facts.machine.motion.rapid_seconds(way.length());
                let cut = pass.shared.iter().any(|gap| {
                    let begins = point_at(&pass.run, gap.from);
                    way.nearest(begins).distance(begins) < SAME
                });
                let doing = if cut { Doing::AlongCut } else { Doing::OverTab };
                self.add(number, doing, way, seconds);
            }
            let stand = Edge::Line { from: self.head, to: self.head };
            let down = self.facts.machine.motion.touch_off_seconds;
            if n == 0 && pass.start.as_ref().is_some_and(|s| s.from_edge) {
                self.add(number, Doing::Moving { lifted: false }, stand, down);
            } else if pass.kind != PassKind::Mark {
                self.pierces += 1;
                self.add(number, Doing::Piercing, stand, down + feed.pierce_seconds);
            }
            let seconds = self.facts.machine.motion.seconds(piece, |_| speed);
            for (edge, seconds) in piece.iter().zip(seconds) {
                self.length += if pass.kind == PassKind::Mark { 0.0 } else { edge.length() };
                self.add(number, Doing::Cutting, *edge, seconds);
            }
        }
        first..self.legs.len()
    }

    fn go(&mut self, pass: usize, way: &Way) {
        let (motion, lifted) = (self.motion(), way.lifted);
        let lift = if lifted { motion.lift_seconds } else { 0.0 };
        let seconds = motion.seconds(&way.edges, |_| motion.rapid);
        for (n, (edge, seconds)) in way.edges.iter().zip(seconds).enumerate() {
            let lift = if n == 0 { lift } else { 0.0 };
            self.add(pass, Doing::Moving { lifted }, *edge, seconds + lift);
        }
    }

    fn add(&mut self, pass: usize, doing: Doing, edge: Edge<SheetSpace>, seconds: f64) {
        self.legs.push(Leg { doing, edge, begins: self.now, seconds, pass });
        self.now += seconds;
        self.head = edge.to();
    }
}
