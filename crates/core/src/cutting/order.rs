//! The order in which contours are cut.
//!
//! Always: the parts that lie in a hole before the hole, the holes of a part before its outline.
//! Beyond that the sheet is cut zone by zone, from its free end toward what holds it, so that what
//! is being cut stays joined to held metal; in a zone the parts that may tip come last; and under
//! these rules the nearest contour is next, or where heat is to spread the nearest that is far enough
//! from the last.

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
    let mut order = Order { pieces, nest: &nest, done: Vec::new(), head: zones.free_end, apart };
    let mut open: Vec<usize> = (0..pieces.len()).filter(|i| nest.holder[*i].is_none()).collect();
    while !open.is_empty() {
        let zone = |i: usize| zones.of(pieces[i].region.bounds().centre());
        let first = open.iter().map(|i| (zone(*i), pieces[*i].may_tip)).min();
        let in_turn = |i: &usize| Some((zone(*i), pieces[*i].may_tip)) == first;
        let candidates: Vec<usize> = (0..open.len()).filter(|n| in_turn(&open[*n])).collect();
        let Some(next) = candidates.into_iter().min_by(|a, b| {
            let off = |n: &usize| order.wait(order.distance(open[*n]));
            off(a).total_cmp(&off(b)).then(open[*a].cmp(&open[*b]))
        }) else {
            break;
        };
        let piece = open.remove(next);
        order.cut(piece);
    }
    order.done
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
    done: Vec<(usize, ContourNo)>,
    head: Point<SheetSpace>,
    apart: f64,
}

impl Order<'_> {
    /// From the head to a piece's box, mm.
    fn distance(&self, piece: usize) -> f64 {
        self.pieces[piece].region.bounds().distance(&Bounds { min: self.head, max: self.head })
    }

    /// How long something so far away can wait: the nearest comes first, but what is still hot after
    /// all others, the farthest of it first.
    fn wait(&self, distance: f64) -> f64 {
        const HOT: f64 = 1e9;
        if distance >= self.apart { distance } else { HOT - distance }
    }

    /// Cuts a piece: what lies in its holes, the holes, its outline.
    fn cut(&mut self, piece: usize) {
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
                let off = |n: &usize| {
                    (self.pieces[inside[*n]].may_tip, self.wait(self.distance(inside[*n])))
                };
                let next = (0..inside.len()).min_by(|a, b| {
                    let (a, b) = (off(a), off(b));
                    a.0.cmp(&b.0).then(a.1.total_cmp(&b.1))
                });
                let inner = inside.remove(next.unwrap_or(0));
                self.cut(inner);
            }
            self.done.push((piece, hole));
            self.head = region.holes()[hole - 1].bounds().centre();
        }
        self.done.push((piece, 0));
        let nearest = region.outer().edges().map(|e| e.nearest(self.head));
        let off = |p: &Point<SheetSpace>| p.distance(self.head);
        self.head = nearest.min_by(|a, b| off(a).total_cmp(&off(b))).unwrap_or(self.head);
    }
}
