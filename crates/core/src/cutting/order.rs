//! The order in which contours are cut.
//!
//! Always: the parts that lie in a hole before the hole, the holes of a part before its outline.
//! Beyond that the sheet is cut zone by zone, from its free end toward what holds it, so that what
//! is being cut stays joined to held metal; in a zone the parts that may tip come last; and under
//! these rules the nearest contour is next, or where heat is to spread the nearest that is far enough
//! from the last.
//!
//! The outline of a part that shares cuts is a piece of its neighbours' outlines too. So the holes of
//! those are cut before it, while they are held all round, and of parts joined to each other one
//! follows beside the other: none is left over between two that are gone, with a slot on either side.

use std::cmp::Ordering;

use super::ContourNo;
use crate::shape::{Bounds, Point, Region, SheetSpace};

/// A zone is at least so wide, mm, and a sheet has at most so many.
const ZONE: f64 = 300.0;
const MOST_ZONES: f64 = 8.0;

/// A placed part, as ordering sees it.
#[derive(Clone, Debug)]
pub struct Piece<'a> {
    /// Its metal where it lies.
    pub region: &'a Region<SheetSpace>,
    /// Whether it may tip up once free.
    pub may_tip: bool,
    /// The pieces that share a cut with it, by their places in the list.
    pub shares: &'a [usize],
}

/// The contours of all pieces in the order of cutting: which piece, and which of its contours.
/// `sheet` is the box round the sheet and `held` where it is held, if that is known; otherwise it is
/// held at its datum corner. Contours that follow each other are `apart` mm from each other where the
/// rules leave such; 0 for as near as can be.
pub fn cutting_order(
    pieces: &[Piece<'_>],
    sheet: &Bounds<SheetSpace>,
    held: Option<Point<SheetSpace>>,
    apart: f64,
) -> Vec<(usize, ContourNo)> {
    let nest = Nest::new(pieces);
    let zones = Zones::new(sheet, held.unwrap_or(sheet.min));
    let mut order = Order {
        pieces,
        nest: &nest,
        joined: joined(pieces),
        is_begun: vec![false; pieces.len()],
        is_cut: vec![false; pieces.len()],
        holes_done: vec![false; pieces.len()],
        done: Vec::new(),
        head: zones.free_end,
        apart,
    };
    let mut open: Vec<usize> = (0..pieces.len()).filter(|i| nest.holder[*i].is_none()).collect();
    while !open.is_empty() {
        let zone = |i: usize| zones.of(pieces[i].region.bounds().centre());
        let first = open.iter().map(|i| (zone(*i), pieces[*i].may_tip)).min();
        let in_turn = |i: &usize| Some((zone(*i), pieces[*i].may_tip)) == first;
        let candidates = (0..open.len()).filter(|n| in_turn(&open[*n]));
        let Some(next) = candidates.min_by(|a, b| {
            let (a, b) = (open[*a], open[*b]);
            order.off(a).partial_cmp(&order.off(b)).unwrap_or(Ordering::Equal).then(a.cmp(&b))
        }) else {
            break;
        };
        let piece = open.remove(next);
        order.cut(piece);
    }
    order.done
}

/// For each piece a number that it has in common with all that it is joined to by shared cuts.
fn joined(pieces: &[Piece<'_>]) -> Vec<usize> {
    let mut of: Vec<Option<usize>> = vec![None; pieces.len()];
    for first in 0..pieces.len() {
        let mut open = vec![first];
        while let Some(piece) = open.pop() {
            if of[piece].is_none() {
                of[piece] = Some(first);
                open.extend(pieces[piece].shares);
            }
        }
    }
    of.into_iter().flatten().collect()
}

/// Which piece lies in which hole.
pub struct Nest {
    /// For each piece the piece and the contour, a hole, that it lies in.
    pub holder: Vec<Option<(usize, ContourNo)>>,
}

impl Nest {
    /// Looks for the smallest hole round each piece.
    pub fn new(pieces: &[Piece<'_>]) -> Self {
        let boxes: Vec<Bounds<SheetSpace>> = pieces.iter().map(|p| p.region.bounds()).collect();
        let holder = |i: usize| {
            let inner = pieces[i].region.outer();
            let at = inner.vertices()[0].point;
            let mut found: Option<(f64, (usize, ContourNo))> = None;
            for (j, piece) in pieces.iter().enumerate().filter(|(j, _)| *j != i) {
                if !boxes[j].contains_bounds(&boxes[i]) {
                    continue;
                }
                for (n, hole) in piece.region.holes().iter().enumerate() {
                    let area = hole.area();
                    if area > inner.area()
                        && found.is_none_or(|(least, _)| area < least)
                        && hole.bounds().contains_bounds(&boxes[i])
                        && hole.encloses(at)
                    {
                        found = Some((area, (j, n + 1)));
                    }
                }
            }
            found.map(|(_, holder)| holder)
        };
        Self { holder: (0..pieces.len()).map(holder).collect() }
    }

    fn inside(&self, piece: usize, contour: ContourNo) -> Vec<usize> {
        let all = 0..self.holder.len();
        all.filter(|i| self.holder[*i] == Some((piece, contour))).collect()
    }
}

/// Bands across the sheet's longer side, counted from the free end.
struct Zones {
    free_end: Point<SheetSpace>,
    along_x: bool,
    from: f64,
    toward: f64,
    width: f64,
}

impl Zones {
    fn new(sheet: &Bounds<SheetSpace>, held: Point<SheetSpace>) -> Self {
        let along_x = sheet.width() >= sheet.height();
        let (min, max, held_at, length) = if along_x {
            (sheet.min.x, sheet.max.x, held.x, sheet.width())
        } else {
            (sheet.min.y, sheet.max.y, held.y, sheet.height())
        };
        let held_at_min = held_at <= 0.5 * (min + max);
        let (from, toward) = if held_at_min { (max, -1.0) } else { (min, 1.0) };
        let width = ZONE.max(length / MOST_ZONES);
        let free_end = match (along_x, held_at_min) {
            (true, true) => Point::new(sheet.max.x, sheet.min.y),
            (true, false) | (false, false) => sheet.min,
            (false, true) => Point::new(sheet.min.x, sheet.max.y),
        };
        Self { free_end, along_x, from, toward, width }
    }

    fn of(&self, at: Point<SheetSpace>) -> i64 {
        let along = if self.along_x { at.x } else { at.y };
        ((along - self.from) * self.toward / self.width).floor() as i64
    }
}

struct Order<'a> {
    pieces: &'a [Piece<'a>],
    nest: &'a Nest,
    joined: Vec<usize>,
    /// By the number that joined pieces have in common.
    is_begun: Vec<bool>,
    is_cut: Vec<bool>,
    holes_done: Vec<bool>,
    done: Vec<(usize, ContourNo)>,
    head: Point<SheetSpace>,
    apart: f64,
}

impl Order<'_> {
    /// How much later than others a piece comes: after those beside what is cut where it is joined to
    /// that but not beside it, and then by how long it can wait.
    fn off(&self, piece: usize) -> (bool, f64) {
        let Piece { region, shares, .. } = self.pieces[piece];
        let off_the_slot =
            self.is_begun[self.joined[piece]] && !shares.iter().any(|i| self.is_cut[*i]);
        let distance = region.bounds().distance(&Bounds { min: self.head, max: self.head });
        (off_the_slot, self.wait(distance))
    }

    /// How long something so far away can wait: the nearest comes first, but what is still hot after
    /// all others, the farthest of it first.
    fn wait(&self, distance: f64) -> f64 {
        const HOT: f64 = 1e9;
        if distance >= self.apart { distance } else { HOT - distance }
    }

    /// Cuts a piece: its holes and those of the pieces whose outlines are cut with its own, its outline.
    fn cut(&mut self, piece: usize) {
        self.cut_holes(piece);
        for beside in self.pieces[piece].shares {
            self.cut_holes(*beside);
        }
        self.done.push((piece, 0));
        self.is_cut[piece] = true;
        self.is_begun[self.joined[piece]] = true;
        let region = self.pieces[piece].region;
        let nearest = region.outer().edges().map(|e| e.nearest(self.head));
        let off = |p: &Point<SheetSpace>| p.distance(self.head);
        self.head = nearest.min_by(|a, b| off(a).total_cmp(&off(b))).unwrap_or(self.head);
    }

    /// Cuts a piece's holes, each after what lies in it.
    fn cut_holes(&mut self, piece: usize) {
        if std::mem::replace(&mut self.holes_done[piece], true) {
            return;
        }
        let region = self.pieces[piece].region;
        let mut holes: Vec<ContourNo> = (1..=region.holes().len()).collect();
        while !holes.is_empty() {
            let off = |hole: &ContourNo| {
                self.wait(region.holes()[*hole - 1].bounds().centre().distance(self.head))
            };
            let next = (0..holes.len()).min_by(|a, b| off(&holes[*a]).total_cmp(&off(&holes[*b])));
            let hole = holes.remove(next.unwrap_or(0));
            let mut inside = self.nest.inside(piece, hole);
            while !inside.is_empty() {
                let off = |n: &usize| (self.pieces[inside[*n]].may_tip, self.off(inside[*n]));
                let next = (0..inside.len())
                    .min_by(|a, b| off(a).partial_cmp(&off(b)).unwrap_or(Ordering::Equal));
                let inner = inside.remove(next.unwrap_or(0));
                self.cut(inner);
            }
            self.done.push((piece, hole));
            self.head = region.holes()[hole - 1].bounds().centre();
        }
    }
}
