//! Whether a piece, once free, stays flat on what it lies on.
//!
//! The sheet rests on the tips of slats' teeth, or on a close grid: a lattice of points whose offset
//! to the sheet is usually unknown. A piece stays flat where its centre of mass lies at least
//! [`MARGIN`] inside the hull of the points under it. All offsets are covered by cells; a cell is
//! flat for certain if, with points no nearer to the piece's edge than the cell's reach, the margin
//! is kept by as much more: moving the lattice within the cell can then change nothing.

use crate::machine::Slats;
use crate::shape::{EdgeSet, Point, Pose, Region, Space, Vector, hull};

/// The centre of mass lies so far (mm) inside the points that a piece rests on.
pub const MARGIN: f64 = 5.0;
/// Cells along pitch and tooth pitch, from coarse to fine.
const CELLS: [(usize, usize); 3] = [(6, 3), (16, 8), (32, 16)];
/// Steps of angles and shifts that are tried, and how far.
const ANGLE_STEP: f64 = 15.0;
const SHIFT_STEP: f64 = 2.0;
const SHIFT_WAYS: usize = 16;

/// What a piece does once it is cut free.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Rest {
    /// It stays flat wherever the teeth are.
    Flat,
    /// With some offsets of the teeth it tips up into the head's way.
    MayTip,
    /// With some offsets no tooth is below it.
    FallsThrough,
}

/// What a piece does, over every offset of the slats.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Judged {
    /// The worst of it.
    pub rest: Rest,
    /// Share of the offsets (0 to 1) with which it stays flat for certain.
    pub flat_share: f64,
    /// Share of the offsets with which nothing is below it.
    pub nothing_below_share: f64,
}

impl Judged {
    /// Whether a slug would rather stand up into the head's way than be gone: it tips with some
    /// offsets, and falls through with less than half of them.
    pub fn slug_may_tip(&self) -> bool {
        self.rest != Rest::Flat && self.nothing_below_share < 0.5
    }
}

/// Judges a piece over every offset of the slats.
pub fn judge<S: Space>(piece: &Region<S>, slats: &Slats) -> Judged {
    let piece = Piece::new(piece, slats);
    let mut judged = Judged { rest: Rest::FallsThrough, flat_share: 0.0, nothing_below_share: 1.0 };
    for (across, along) in CELLS {
        let cell = Vector::new(slats.pitch / across as f64, slats.tooth_pitch / along as f64);
        let reach = 0.5 * cell.length();
        let (mut flat, mut nothing) = (0, 0);
        for i in 0..across {
            for j in 0..along {
                let offset = Vector::new((i as f64 + 0.5) * cell.x, (j as f64 + 0.5) * cell.y);
                flat += usize::from(piece.is_flat(slats, offset, reach));
                nothing += usize::from(piece.has_nothing_below(slats, offset));
            }
        }
        let all = (across * along) as f64;
        let rest = match (flat == across * along, nothing > 0) {
            (true, _) => Rest::Flat,
            (false, false) => Rest::MayTip,
            (false, true) => Rest::FallsThrough,
        };
        judged = Judged {
            rest,
            flat_share: flat as f64 / all,
            nothing_below_share: nothing as f64 / all,
        };
        if rest == Rest::Flat {
            break;
        }
    }
    judged
}

/// Judges a piece where a tooth is known to stand within `give` mm of `tooth`.
pub fn judge_with<S: Space>(
    piece: &Region<S>,
    slats: &Slats,
    tooth: Point<S>,
    give: f64,
) -> Judged {
    let piece = Piece::new(piece, slats);
    let offset = turned(tooth.to_vector(), -slats.direction);
    let (flat, nothing) =
        (piece.is_flat(slats, offset, give), piece.has_nothing_below(slats, offset));
    let rest = match (flat, nothing) {
        (true, _) => Rest::Flat,
        (false, false) => Rest::MayTip,
        (false, true) => Rest::FallsThrough,
    };
    let share = |yes: bool| f64::from(u8::from(yes));
    Judged { rest, flat_share: share(flat), nothing_below_share: share(nothing) }
}

/// The nearest shift (mm, to [`SHIFT_STEP`]) by which a piece comes to lie flat where a tooth is
/// known to stand within `give` mm of `tooth`; within half a pitch.
pub fn nearest_flat_shift<S: Space>(
    piece: &Region<S>,
    slats: &Slats,
    tooth: Point<S>,
    give: f64,
) -> Option<Vector> {
    let known = Piece::new(piece, slats);
    let steps = (0.5 * slats.pitch.max(slats.tooth_pitch) / SHIFT_STEP).ceil() as usize;
    let ways = (0..=steps).flat_map(|step| {
        let count = if step == 0 { 1 } else { SHIFT_WAYS };
        (0..count).map(move |way| {
            let angle = way as f64 / SHIFT_WAYS as f64 * std::f64::consts::TAU;
            Vector::at_angle(angle) * (step as f64 * SHIFT_STEP)
        })
    });
    // Moving the piece one way is moving the teeth the other.
    let mut ways = ways.filter(|shift| {
        let offset = turned((tooth - *shift).to_vector(), -slats.direction);
        known.is_flat(slats, offset, give)
    });
    ways.next()
}

/// The turns (radians) after which a piece stays flat wherever the teeth are, the smallest first.
pub fn flat_turns<S: Space>(piece: &Region<S>, slats: &Slats) -> impl Iterator<Item = f64> {
    let steps = (90.0 / ANGLE_STEP) as i32;
    let turns = (1..=steps).flat_map(|n| [n, -n]).map(|n| f64::from(n) * ANGLE_STEP.to_radians());
    turns.filter(|turn| {
        let about = Pose::<S, S>::new(Vector::default(), *turn, false);
        judge(&piece.placed(&about), slats).rest == Rest::Flat
    })
}

/// A piece turned so that the slats run along y, with what judging needs.
struct Piece<S> {
    edges: EdgeSet<S>,
    middle: Point<S>,
}

impl<S: Space> Piece<S> {
    fn new(piece: &Region<S>, slats: &Slats) -> Self {
        let turn = std::f64::consts::FRAC_PI_2 - slats.direction;
        let upright = piece.placed(&Pose::<S, S>::new(Vector::default(), turn, false));
        Self { edges: upright.edge_set(), middle: upright.centroid() }
    }

    /// The teeth under the piece.
    fn teeth(&self, slats: &Slats, offset: Vector) -> impl Iterator<Item = Point<S>> {
        let bounds = self.edges.bounds();
        let first = |min: f64, offset: f64, pitch: f64| ((min - offset) / pitch).ceil() as i64;
        let columns =
            first(bounds.min.x, offset.x, slats.pitch)..=first(bounds.max.x, offset.x, slats.pitch);
        let (pitch, tooth_pitch) = (slats.pitch, slats.tooth_pitch);
        let rows =
            first(bounds.min.y, offset.y, tooth_pitch)..=first(bounds.max.y, offset.y, tooth_pitch);
        let at = move |column: i64, row: i64| {
            Point::new(offset.x + column as f64 * pitch, offset.y + row as f64 * tooth_pitch)
        };
        let all = columns.flat_map(move |column| rows.clone().map(move |row| at(column, row)));
        all.filter(|tooth| self.edges.covers(*tooth))
    }

    /// Whether it is flat with this offset, and with all others within `reach` mm.
    fn is_flat(&self, slats: &Slats, offset: Vector, reach: f64) -> bool {
        let deep = |tooth: &Point<S>| self.edges.distance_to(*tooth) >= reach;
        let teeth: Vec<Point<S>> = self.teeth(slats, offset).filter(deep).collect();
        holds(&teeth, self.middle, MARGIN + reach)
    }

    fn has_nothing_below(&self, slats: &Slats, offset: Vector) -> bool {
        self.teeth(slats, offset).next().is_none()
    }
}

/// Whether `middle` lies at least `margin` mm inside the hull of some points.
pub(super) fn holds<S: Space>(points: &[Point<S>], middle: Point<S>, margin: f64) -> bool {
    let hull = hull(points);
    hull.len() >= 3
        && (0..hull.len()).all(|i| {
            let (a, b) = (hull[i], hull[(i + 1) % hull.len()]);
            (b - a).unit().is_some_and(|along| along.cross(middle - a) >= margin)
        })
}

/// A vector of the sheet as seen with the slats along y.
fn turned(v: Vector, by: f64) -> Vector {
    let (sin, cos) = (by + std::f64::consts::FRAC_PI_2).sin_cos();
    Vector::new(v.x * cos - v.y * sin, v.x * sin + v.y * cos)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::shape::{Loop, PartSpace};

    const SLATS: Slats = Slats::STARTING;

    fn plate(w: f64, h: f64) -> Region<PartSpace> {
        Region::new(Loop::rectangle(Point::origin(), Point::new(w, h)).unwrap(), vec![])
    }

    #[track_caller]
    fn check(piece: &Region<PartSpace>, rest: Rest) {
        for turn in [0.0, std::f64::consts::PI] {
            let turned =
                piece.placed::<PartSpace>(&Pose::new(Vector::new(3.3, 7.7), turn, turn > 0.0));
            assert_eq!(judge(&turned, &SLATS).rest, rest);
        }
    }

    #[test]
    fn plates_by_how_many_slats_are_surely_under_them() {
        // Of two slats 75 mm apart one at least is 10 mm on either side of the middle.
        check(&plate(170.0, 170.0), Rest::Flat);
        check(&plate(600.0, 300.0), Rest::Flat);
        // One slat, or two with the middle over one of them.
        check(&plate(100.0, 100.0), Rest::MayTip);
        check(&plate(140.0, 100.0), Rest::MayTip);
        // Goes between two slats.
        check(&plate(60.0, 300.0), Rest::FallsThrough);
        check(&plate(20.0, 20.0), Rest::FallsThrough);
    }

    #[test]
    fn a_close_grid_holds_small_parts_too() {
        let grid = Slats { pitch: 15.0, tooth_pitch: 15.0, ..SLATS };
        assert_eq!(judge(&plate(60.0, 60.0), &grid).rest, Rest::Flat);
        assert_eq!(judge(&plate(10.0, 10.0), &grid).rest, Rest::FallsThrough);
    }

    #[test]
    fn a_frame_whose_middle_is_open_is_held_by_its_rim() {
        let hole = Loop::rectangle(Point::new(40.0, 40.0), Point::new(360.0, 360.0)).unwrap();
        let frame = Region::new(plate(400.0, 400.0).outer().clone(), vec![hole]);
        check(&frame, Rest::Flat);
    }

    #[test]
    fn shares_of_offsets_are_as_worked_out_by_hand() {
        // 60 mm wide between slats 75 mm apart: nothing below with 15 of 75.
        let judged = judge(&plate(60.0, 300.0), &SLATS);
        assert!((judged.nothing_below_share - 0.2).abs() < 0.04, "{judged:?}");
        assert_eq!(judged.flat_share, 0.0);
    }

    #[test]
    fn a_known_tooth_tells_whether_a_plate_is_flat_and_where_it_would_be() {
        let piece = plate(100.0, 100.0);
        // Slats at x = 12.5 and 87.5, and the middle at 50: flat.
        let flat = |piece: &Region<PartSpace>, tooth, give| {
            judge_with(piece, &SLATS, tooth, give).rest == Rest::Flat
        };
        assert!(flat(&piece, Point::new(12.5, 0.0), 0.0));
        // The middle is 37.5 mm from either slat, each 12.5 mm from the edge.
        assert!(flat(&piece, Point::new(12.5, 0.0), 12.0));
        assert!(!flat(&piece, Point::new(12.5, 0.0), 13.0));
        // Only one slat, at x = 50.
        let on_one = Point::new(50.0, 0.0);
        assert_eq!(judge_with(&piece, &SLATS, on_one, 0.0).rest, Rest::MayTip);
        let shift = nearest_flat_shift(&piece, &SLATS, on_one, 0.0).unwrap();
        // The slat at 125 comes under the right edge at 100 after 25 mm.
        assert!((25.0..28.0).contains(&shift.length()), "{shift:?}");
        let moved = piece.placed::<PartSpace>(&Pose::shifted(shift));
        assert!(flat(&moved, on_one, 0.0));
        // So narrow a piece has nothing below it between two slats.
        assert_eq!(
            judge_with(&plate(60.0, 300.0), &SLATS, Point::new(-5.0, 0.0), 0.0).rest,
            Rest::FallsThrough
        );
    }

    #[test]
    fn a_long_part_along_the_slats_is_turned_across_them() {
        let bar = plate(70.0, 400.0);
        check(&bar, Rest::FallsThrough);
        let turn = flat_turns(&bar, &SLATS).next().unwrap();
        let turned = bar.placed::<PartSpace>(&Pose::new(Vector::default(), turn, false));
        assert_eq!(judge(&turned, &SLATS).rest, Rest::Flat);
    }
}
