//! A sheet by lengths from a tape, measured from its datum corner (lower left).
//!
//! The four sides may differ, and two diagonals tell how far it is out of square: the upper corners
//! are then where side and diagonal meet, and what the upper side misses its own length by is said
//! as a residual.

use std::f64::consts::{FRAC_PI_2, TAU};

use super::{Captured, How, Known, Residual, Rim};
use crate::shape::{Loop, Point, SheetSpace, Vector, Vertex};
use crate::sheet::{EdgeFacts, EdgeKind};

type P = Point<SheetSpace>;

/// Give or take (mm) of a taped edge for each metre of it, and at least.
const PER_METRE: f64 = 1.0;
/// Give or take (mm) of the edges of a cut-out whose place was taped.
const TAPED_PLACE: f64 = 2.0;
/// No sheet is longer, and no length shorter, than this (mm).
const LENGTHS: std::ops::RangeInclusive<f64> = 0.1..=100_000.0;
/// More copies than any pattern has.
const MOST_COPIES: usize = 2_000;
/// Sides and diagonals that disagree by more than this share of the longest, and than 5 mm, were
/// misread.
const MISREAD: f64 = 0.005;

/// One of the four sides.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Side {
    /// Along x, from the datum corner.
    Bottom,
    /// Along y, opposite the datum corner.
    Right,
    /// Along x, opposite the datum corner.
    Top,
    /// Along y, from the datum corner.
    Left,
}

impl Side {
    /// All of them, counter-clockwise from the datum corner.
    pub const ALL: [Self; 4] = [Self::Bottom, Self::Right, Self::Top, Self::Left];

    /// Its name.
    pub fn name(self) -> &'static str {
        match self {
            Self::Bottom => "bottom",
            Self::Right => "right",
            Self::Top => "top",
            Self::Left => "left",
        }
    }
}

/// One of the four corners.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Corner {
    /// The datum corner.
    LowerLeft,
    /// At the end of the bottom side.
    LowerRight,
    /// Opposite the datum corner.
    UpperRight,
    /// At the end of the left side.
    UpperLeft,
}

impl Corner {
    /// All of them, counter-clockwise from the datum corner.
    pub const ALL: [Self; 4] =
        [Self::LowerLeft, Self::LowerRight, Self::UpperRight, Self::UpperLeft];

    /// Its name.
    pub fn name(self) -> &'static str {
        match self {
            Self::LowerLeft => "lower left",
            Self::LowerRight => "lower right",
            Self::UpperRight => "upper right",
            Self::UpperLeft => "upper left",
        }
    }
}

/// What was said of an edge.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct EdgeSaid {
    /// How it was made.
    pub kind: EdgeKind,
    /// How far (mm) it may be off; that of a tape where nobody has said.
    pub give_or_take: Option<f64>,
}

/// Where a rectangle is missing from the outline.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum MissingAt {
    /// At a corner: an L.
    Corner(Corner),
    /// In a side, from so many mm along it, measured from the left or from below: a notch.
    Side(Side, f64),
}

/// A rectangle that is missing from the outline.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Missing {
    /// Where.
    pub at: MissingAt,
    /// At a corner its size along x; in a side its size along the side. Millimetres.
    pub width: f64,
    /// At a corner its size along y; in a side how deep it is. Millimetres.
    pub depth: f64,
    /// Of its edges.
    pub edges: EdgeSaid,
}

/// The outer edge.
#[derive(Clone, Debug, PartialEq)]
pub enum Outer {
    /// Four sides, square unless diagonals say otherwise.
    Sides {
        /// Length of the bottom and of the left side.
        size: [f64; 2],
        /// Length of the top and of the right side, where they differ.
        opposite: [Option<f64>; 2],
        /// Datum corner to the corner opposite, and lower right to upper left.
        diagonals: Option<[f64; 2]>,
        /// What was said of bottom, right, top and left.
        sides: [EdgeSaid; 4],
        /// What is missing: L-shaped and notched sheets.
        missing: Vec<Missing>,
    },
    /// Corners in order, with what was said of the edge that leaves each.
    Corners(Vec<(P, EdgeSaid)>),
}

/// The outline of a cut-out, about its own middle unless it says otherwise.
#[derive(Clone, Debug, PartialEq)]
pub enum Shape {
    /// A circle of this diameter.
    Circle(f64),
    /// A slot with round ends, length over all and width, along x.
    Slot([f64; 2]),
    /// A rectangle of this width and height, from its lower left corner.
    Rectangle([f64; 2]),
    /// A polygon by its corners.
    Polygon(Vec<P>),
}

/// How often a cut-out is there.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub enum Pattern {
    /// Once.
    #[default]
    One,
    /// In a row: so many, each by this vector (mm) from the one before.
    Row(usize, Vector),
    /// On a bolt circle: so many on this diameter (mm), the first at this angle (radians).
    BoltCircle(usize, f64, f64),
}

/// Something that is cut out, and where.
#[derive(Clone, Debug, PartialEq)]
pub struct Cutout {
    /// Its outline.
    pub shape: Shape,
    /// Millimetres from the datum corner: of the middle of circles, slots and bolt circles, of the
    /// lower left corner of rectangles; added to the corners of polygons.
    pub at: Vector,
    /// Turned about that point by so many radians counter-clockwise.
    pub turn: f64,
    /// How often.
    pub pattern: Pattern,
    /// Of its edges.
    pub edges: EdgeSaid,
}

/// A sheet as typed.
#[derive(Clone, Debug, PartialEq)]
pub struct TypedSheet {
    /// Its outer edge.
    pub outer: Outer,
    /// What is cut out.
    pub cutouts: Vec<Cutout>,
    /// The only rectangle that is known to be clean, from the datum corner; the rest is unknown.
    pub clean: Option<[f64; 2]>,
    /// Other metal that nobody could see, by its corners.
    pub unknown: Vec<Vec<P>>,
}

/// Why lengths make no sheet.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum TypedFault {
    /// No length.
    #[error("{0}: {1} mm is no length of a sheet; write one from 0.1 to 100000")]
    NoLength(String, f64),
    /// A triangle that does not close.
    #[error("{0} mm and {1} mm do not meet across {2} mm: measure the diagonal again")]
    NoTriangle(f64, f64, f64),
    /// Sides and diagonals that disagree.
    #[error(
        "sides and diagonals disagree: the {0} side would be {1:.1} mm, and was measured as {2:.1}; \
         measure it and the diagonals again"
    )]
    Disagree(&'static str, f64, f64),
    /// Too large for the sheet.
    #[error("{0}: {1} × {2} mm does not go into the sheet")]
    DoesNotFit(String, f64, f64),
    /// Notches that meet.
    #[error("what is missing along the {0} side overlaps; give it as one")]
    Overlap(&'static str),
    /// A slot wider than long.
    #[error("{0}: a slot is longer over all than it is wide")]
    NoSlot(String),
    /// Too many or too few.
    #[error("{0}: {1} of them is no pattern; write from 1 to {MOST_COPIES}")]
    NoPattern(String, usize),
    /// Corners that enclose nothing.
    #[error("{0}: {1}")]
    NoLoop(String, crate::shape::LoopFault),
}

impl TypedSheet {
    /// A plain rectangle.
    pub fn rectangle(size: [f64; 2]) -> Self {
        let outer = Outer::Sides {
            size,
            opposite: [None; 2],
            diagonals: None,
            sides: [EdgeSaid::default(); 4],
            missing: Vec::new(),
        };
        Self { outer, cutouts: Vec::new(), clean: None, unknown: Vec::new() }
    }

    /// What it says of the sheet.
    ///
    /// # Errors
    /// All that is wrong.
    pub fn captured(&self) -> Result<Captured, Vec<TypedFault>> {
        let (outer, residuals) = match &self.outer {
            Outer::Sides { size, opposite, diagonals, sides, missing } => {
                four_sides(*size, *opposite, *diagonals, sides, missing)?
            }
            Outer::Corners(corners) => (rim_of_corners("the outline", corners)?, Vec::new()),
        };
        let mut faults = Vec::new();
        let mut captured = Captured { residuals, ..Captured::of_outer(outer) };
        for (i, cutout) in self.cutouts.iter().enumerate() {
            match cutout.rims(i + 1) {
                Ok(rims) => captured.cutouts.extend(rims),
                Err(fault) => faults.push(fault),
            }
        }
        let unknown = self.unknown.iter().map(|corners| polygon("unknown metal", corners));
        match unknown.chain(self.not_clean(&captured)).collect::<Result<Vec<_>, _>>() {
            Ok(unknown) => captured.unknown = unknown,
            Err(fault) => faults.push(fault),
        }
        if faults.is_empty() { Ok(captured) } else { Err(faults) }
    }

    /// All of the sheet's box but the clean rectangle.
    fn not_clean(&self, captured: &Captured) -> Option<Result<Loop<SheetSpace>, TypedFault>> {
        let [w, h] = self.clean?;
        let max = captured.outer.shape().bounds().max;
        let (width, height) = (max.x, max.y);
        let fits = LENGTHS.contains(&w) && LENGTHS.contains(&h) && w <= width && h <= height;
        if !fits || (w >= width && h >= height) {
            return Some(Err(TypedFault::DoesNotFit("the clean rectangle".into(), w, h)));
        }
        let corners: &[(f64, f64)] = if w >= width {
            &[(0.0, h), (width, h), (width, height), (0.0, height)]
        } else if h >= height {
            &[(w, 0.0), (width, 0.0), (width, height), (w, height)]
        } else {
            &[(w, 0.0), (width, 0.0), (width, height), (0.0, height), (0.0, h), (w, h)]
        };
        let corners: Vec<P> = corners.iter().map(|(x, y)| Point::new(*x, *y)).collect();
        Some(polygon("the clean rectangle", &corners))
    }
}

fn four_sides(
    size: [f64; 2],
    opposite: [Option<f64>; 2],
    diagonals: Option<[f64; 2]>,
    sides: &[EdgeSaid; 4],
    missing: &[Missing],
) -> Result<(Rim, Vec<Residual>), Vec<TypedFault>> {
    let [bottom, left] = size;
    let lengths = [bottom, opposite[1].unwrap_or(left), opposite[0].unwrap_or(bottom), left];
    let mut faults: Vec<TypedFault> = Side::ALL
        .iter()
        .zip(lengths)
        .filter(|(_, l)| !LENGTHS.contains(l))
        .map(|(side, l)| TypedFault::NoLength(format!("{} side", side.name()), l))
        .collect();
    for (i, hole) in missing.iter().enumerate() {
        let too_large = matches!(hole.at, MissingAt::Corner(_))
            && (hole.width >= lengths[0].max(lengths[2])
                || hole.depth >= lengths[1].max(lengths[3]));
        if !LENGTHS.contains(&hole.width) || !LENGTHS.contains(&hole.depth) || too_large {
            let name = format!("missing rectangle {}", i + 1);
            faults.push(TypedFault::DoesNotFit(name, hole.width, hole.depth));
        }
    }
    if !faults.is_empty() {
        return Err(faults);
    }
    let (corners, residuals) = quad(lengths, diagonals).map_err(|f| vec![f])?;
    let walk = Walk { corners, sides, missing };
    walk.rim().map(|rim| (rim, residuals))
}
/// The corners of four sides (bottom, right, top, left), counter-clockwise from the datum corner.
fn quad(
    lengths: [f64; 4],
    diagonals: Option<[f64; 2]>,
) -> Result<([P; 4], Vec<Residual>), TypedFault> {
    let [bottom, right, top, left] = lengths;
    let lower_right = Point::new(bottom, 0.0);
    // Without diagonals the lower corners are square.
    let Some([rising, falling]) = diagonals else {
        let corners =
            [Point::origin(), lower_right, Point::new(bottom, right), Point::new(0.0, left)];
        let off = corners[2].distance(corners[3]) - top;
        return agree(corners, top, off);
    };
    // Above the bottom side, so far from its ends.
    let apex = |from_left: f64, from_right: f64| {
        let x =
            (bottom * bottom + from_left * from_left - from_right * from_right) / (2.0 * bottom);
        let y = from_left * from_left - x * x;
        let fault = TypedFault::NoTriangle(from_left, from_right, bottom);
        if y > 0.0 { Ok(Point::new(x, y.sqrt())) } else { Err(fault) }
    };
    let corners = [Point::origin(), lower_right, apex(rising, right)?, apex(left, falling)?];
    let off = corners[2].distance(corners[3]) - top;
    agree(corners, top, off)
}

fn agree(corners: [P; 4], top: f64, off: f64) -> Result<([P; 4], Vec<Residual>), TypedFault> {
    if off.abs() > (MISREAD * top).max(5.0) {
        return Err(TypedFault::Disagree("top", top + off, top));
    }
    let at = corners[2].midpoint(corners[3]);
    let residual = Residual { of: "top side".into(), at, off };
    let said = off.abs() > 1e-9;
    Ok((corners, if said { vec![residual] } else { Vec::new() }))
}

/// Once round the four sides, counter-clockwise, around what is missing.
struct Walk<'a> {
    corners: [P; 4],
    sides: &'a [EdgeSaid; 4],
    missing: &'a [Missing],
}

impl Walk<'_> {
    fn along(&self, side: usize) -> Vector {
        (self.corners[(side + 1) % 4] - self.corners[side]).unit().unwrap_or_default()
    }

    /// What is missing at a corner, with its size along the side that arrives and the one that
    /// leaves.
    fn at_corner(&self, corner: usize) -> Option<(&Missing, f64, f64)> {
        let found = self
            .missing
            .iter()
            .find(|m| matches!(m.at, MissingAt::Corner(c) if c as usize == corner))?;
        // Side `corner` leaves the corner; the bottom and top sides run along x.
        let (leaving, arriving) = if corner.is_multiple_of(2) {
            (found.width, found.depth)
        } else {
            (found.depth, found.width)
        };
        Some((found, arriving, leaving))
    }

    fn rim(&self) -> Result<Rim, Vec<TypedFault>> {
        let mut corners: Vec<(P, EdgeSaid)> = Vec::new();
        for side in 0..4 {
            let (from, to, u) =
                (self.corners[side], self.corners[(side + 1) % 4], self.along(side));
            let (length, inward) = (from.distance(to), u.left());
            let said = self.sides[side];
            let start = match self.at_corner(side) {
                Some((hole, arriving, leaving)) => {
                    let before = self.along((side + 3) % 4);
                    let inner = from + u * leaving - before * arriving;
                    corners.push((from - before * arriving, hole.edges));
                    corners.push((inner, hole.edges));
                    leaving
                }
                None => 0.0,
            };
            corners.push((from + u * start, said));
            let end =
                length - self.at_corner((side + 1) % 4).map_or(0.0, |(_, arriving, _)| arriving);
            let name = Side::ALL[side].name();
            if end - start < 1e-6 {
                return Err(vec![TypedFault::Overlap(name)]);
            }
            let mut notches: Vec<(f64, &Missing)> = self
                .missing
                .iter()
                .filter_map(|m| match m.at {
                    // Top and left run toward the datum, from which notches are measured.
                    MissingAt::Side(s, at) if s as usize == side && side >= 2 => {
                        Some((length - at - m.width, m))
                    }
                    MissingAt::Side(s, at) if s as usize == side => Some((at, m)),
                    _ => None,
                })
                .collect();
            notches.sort_by(|a, b| a.0.total_cmp(&b.0));
            let mut reached = start;
            for (at, notch) in notches {
                if at < reached + 1e-6 || at + notch.width > end - 1e-6 {
                    return Err(vec![TypedFault::Overlap(name)]);
                }
                let (a, b) = (from + u * at, from + u * (at + notch.width));
                corners.push((a, notch.edges));
                corners.push((a + inward * notch.depth, notch.edges));
                corners.push((b + inward * notch.depth, notch.edges));
                corners.push((b, said));
                reached = at + notch.width;
            }
        }
        rim_of_corners("the outline", &corners)
    }
}

fn rim_of_corners(name: &str, corners: &[(P, EdgeSaid)]) -> Result<Rim, Vec<TypedFault>> {
    let points: Vec<P> = corners.iter().map(|c| c.0).collect();
    let shape = polygon(name, &points).map_err(|f| vec![f])?;
    let reach = shape.bounds().width().max(shape.bounds().height());
    let taped = (PER_METRE * reach / 1000.0).max(1.0);
    // Corners that coincide were dropped.
    let known = shape.vertices().iter().map(|v| {
        let said = corners.iter().rev().find(|(p, _)| *p == v.point).map_or(corners[0].1, |c| c.1);
        known(said, taped)
    });
    let known = known.collect();
    Ok(Rim { shape, known })
}

fn known(said: EdgeSaid, taped: f64) -> Known {
    let give_or_take = said.give_or_take.unwrap_or(taped);
    Known { facts: EdgeFacts { kind: said.kind, give_or_take }, how: How::Taped }
}

fn polygon(name: &str, corners: &[P]) -> Result<Loop<SheetSpace>, TypedFault> {
    Loop::polygon(corners.iter().copied()).map_err(|why| TypedFault::NoLoop(name.to_owned(), why))
}

impl Cutout {
    /// Its outlines; `number` names it.
    fn rims(&self, number: usize) -> Result<Vec<Rim>, TypedFault> {
        let name = || format!("cut-out {number}");
        let sizes: &[f64] = match &self.shape {
            Shape::Circle(diameter) => std::slice::from_ref(diameter),
            Shape::Slot(size) | Shape::Rectangle(size) => size,
            Shape::Polygon(_) => &[],
        };
        if let Some(wrong) = sizes.iter().find(|l| !LENGTHS.contains(l)) {
            return Err(TypedFault::NoLength(name(), *wrong));
        }
        if matches!(self.shape, Shape::Slot([length, width]) if length <= width) {
            return Err(TypedFault::NoSlot(name()));
        }
        let count = match self.pattern {
            Pattern::One => 1,
            Pattern::Row(count, _) | Pattern::BoltCircle(count, ..) => count,
        };
        if !(1..=MOST_COPIES).contains(&count) {
            return Err(TypedFault::NoPattern(name(), count));
        }
        let shape = self.outline().map_err(|why| TypedFault::NoLoop(name(), why))?;
        let known = known(self.edges, TAPED_PLACE);
        Ok((0..count)
            .map(|i| {
                let step = i as f64;
                let (away, turn) = match self.pattern {
                    Pattern::One => (Vector::default(), 0.0),
                    Pattern::Row(_, by) => (by * step, 0.0),
                    Pattern::BoltCircle(n, diameter, first) => {
                        let angle = first + TAU * step / n as f64;
                        (Vector::at_angle(angle) * (diameter / 2.0), angle)
                    }
                };
                let pose = crate::shape::Pose::new(self.at + away, self.turn + turn, false);
                let shape: Loop<SheetSpace> = shape.placed::<SheetSpace>(&pose);
                Rim::uniform(shape, known)
            })
            .collect())
    }

    fn outline(&self) -> Result<Loop<SheetSpace>, crate::shape::LoopFault> {
        match &self.shape {
            Shape::Circle(diameter) => Loop::circle(Point::origin(), diameter / 2.0),
            Shape::Slot([length, width]) => {
                slot(Point::origin(), Vector::new((length - width) / 2.0, 0.0), width / 2.0)
            }
            Shape::Rectangle([w, h]) => Loop::rectangle(Point::origin(), Point::new(*w, *h)),
            Shape::Polygon(corners) => Loop::polygon(corners.iter().copied()),
        }
    }
}

/// The slot about `centre`, the middles of its round ends `half` to both sides.
///
/// # Errors
/// Where it encloses nothing.
pub fn slot(
    centre: P,
    half: Vector,
    radius: f64,
) -> Result<Loop<SheetSpace>, crate::shape::LoopFault> {
    let side = half.unit().unwrap_or(Vector::at_angle(FRAC_PI_2)).left() * radius;
    let at = |along: f64, across: f64, bulge: f64| Vertex {
        point: centre + half * along + side * across,
        bulge,
    };
    Loop::new([at(-1.0, -1.0, 0.0), at(1.0, -1.0, 1.0), at(1.0, 1.0, 0.0), at(-1.0, 1.0, 1.0)])
}

#[cfg(test)]
mod tests;
