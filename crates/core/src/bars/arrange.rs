//! The order of parts along a bar, and where each lies.

use super::cut_list::{CutList, Wanted};

/// A part's place on its bar.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Piece {
    /// Which line of the parts it is of.
    pub part: usize,
    /// Where it begins, mm from the bar’s datum end: its point nearest to that.
    pub at: f64,
    /// Its second end lies towards the datum end.
    pub reversed: bool,
    /// It is turned over: half a turn about the bar.
    pub turned_over: bool,
}

/// An end of a laid part: how far its short side stands back, on the upper and the lower face, and
/// its angle from square.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct LaidEnd {
    /// How far it stands back on the upper and on the lower face, mm.
    pub back: [f64; 2],
    /// Its angle from square.
    pub angle: f64,
}

/// Half a turn is meant, to this (radians).
const TURN_TOLERANCE: f64 = 1e-3;

impl Piece {
    /// The ends towards the datum end and away from it.
    pub fn ends(&self, list: &CutList) -> [LaidEnd; 2] {
        let part = &list.parts[self.part];
        let slopes = part.slopes(list.height());
        let mut ends = [0, 1].map(|end| {
            let back = match long_side_up(part, end) {
                Some(up) if up != self.turned_over => [0.0, slopes[end]],
                Some(_) => [slopes[end], 0.0],
                // Turned some other way, it is taken to be long all round.
                None => [0.0, 0.0],
            };
            LaidEnd { back, angle: part.ends[end] }
        });
        if self.reversed {
            ends.reverse();
        }
        ends
    }

    /// Where it ends: its point farthest from the datum end.
    pub fn end(&self, list: &CutList) -> f64 {
        self.at + list.parts[self.part].length
    }
}

/// Whether an end’s long side is up as the part is described; `None` where it is neither up nor
/// down.
pub(super) fn long_side_up(part: &Wanted, end: usize) -> Option<bool> {
    let half = std::f64::consts::PI;
    let turn = part.ends_turn.rem_euclid(2.0 * half);
    match end {
        0 => Some(true),
        _ if turn < TURN_TOLERANCE || turn > 2.0 * half - TURN_TOLERANCE => Some(true),
        _ if (turn - half).abs() < TURN_TOLERANCE => Some(false),
        _ => None,
    }
}

impl CutList {
    /// How wide a cut at this angle is along the bar.
    pub(super) fn cut_along(&self, angle: f64) -> f64 {
        self.kerf / angle.cos()
    }

    /// What the bar needs behind its last part.
    pub(super) fn tail(&self, last: Option<&Piece>) -> f64 {
        let lost = self.lost()[1];
        let angle = last.map_or(0.0, |piece| piece.ends(self)[1].angle);
        if lost > 0.0 { lost + self.cut_along(angle) } else { 0.0 }
    }

    /// Where a part begins at the earliest behind another, or as the first.
    fn earliest(&self, before: Option<&Piece>, piece: &Piece) -> f64 {
        let [near, _] = piece.ends(self);
        let Some(before) = before else {
            let lost = self.lost()[0];
            return if lost > 0.0 { lost + self.cut_along(near.angle) } else { 0.0 };
        };
        let [_, far] = before.ends(self);
        let cut = self.cut_along(near.angle.max(far.angle));
        let end = before.end(self);
        let on_face = |face: usize| end - far.back[face] + cut - near.back[face];
        on_face(0).max(on_face(1))
    }
}

/// Lays parts along a bar, longest first, with mitres nested where the section allows it.
pub(super) fn arrange(list: &CutList, parts: &[usize]) -> Vec<Piece> {
    let mut left: Vec<usize> = parts.to_vec();
    left.sort_by(|a, b| {
        let length = |part: &usize| list.parts[*part].length;
        length(b).total_cmp(&length(a)).then(a.cmp(b))
    });
    let ways = list.ways_to_lie();
    let mut laid: Vec<Piece> = Vec::with_capacity(left.len());
    while !left.is_empty() {
        let mut best: Option<((f64, f64, f64), usize, Piece)> = None;
        for (i, part) in left.iter().enumerate() {
            if i > 0 && left[i - 1] == *part {
                continue;
            }
            let mitred = list.parts[*part].ends.iter().any(|end| *end > 0.0);
            for (reversed, turned_over) in if mitred { &ways[..] } else { &ways[..1] } {
                let mut piece =
                    Piece { part: *part, at: 0.0, reversed: *reversed, turned_over: *turned_over };
                piece.at = list.earliest(laid.last(), &piece);
                let [near, far] = piece.ends(list);
                let slope = |end: LaidEnd| end.back[0].max(end.back[1]);
                // What nests against the part before goes first; then a square end where nothing
                // nests; then what the next part can nest against.
                let score = (-piece.at, -slope(near), slope(far));
                if best.as_ref().is_none_or(|(least, _, _)| score > *least) {
                    best = Some((score, i, piece));
                }
            }
        }
        let Some((_, i, piece)) = best else { break };
        left.remove(i);
        laid.push(piece);
    }
    laid
}
