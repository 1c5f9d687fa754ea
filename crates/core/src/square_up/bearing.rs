//! Whether a clamp bears on sound metal.

use crate::distances::{Clearances, ObstacleKind, lead_obstacles};
use crate::shape::{Edge, EdgeSet, Loop, Point, SheetSpace};
use crate::sheet::Sheet;

/// At least so much of a clamp's area lies on the sheet.
const LEAST_SHARE: f64 = 0.25;
/// Nearer than this (mm) they touch.
const TOUCHES: f64 = 1e-6;
/// Places along either side of a clamp's box at which it is looked what lies below.
const PLACES: usize = 24;

/// What a clamp holds.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Bearing {
    /// Sound metal.
    Sound,
    /// It reaches over an old cut-out, or may do so, nearest here.
    OverCutOut(Point<SheetSpace>),
    /// Hardly any of the sheet lies below it.
    OffSheet,
}

/// What a clamp with this outline holds of a sheet that may lie `lay` mm off, each edge its give or take
/// more.
pub fn bearing(sheet: &Sheet, clamp: &Loop<SheetSpace>, lay: f64) -> Bearing {
    let below = EdgeSet::new([clamp.edges().collect::<Vec<Edge<SheetSpace>>>()]);
    let middle = clamp.bounds().centre();
    let old = lead_obstacles(sheet, &Clearances { lay, ..Clearances::NONE });
    for cut_out in old.iter().filter(|o| matches!(o.kind, ObstacleKind::CutOut(_))) {
        // Smaller than the clamp, it may lie wholly below it.
        let inside = cut_out.rims.iter().flat_map(|(rim, _)| rim.edges()).map(Edge::from);
        let inside = inside.into_iter().find(|at| below.covers(*at));
        let meets = cut_out
            .rims
            .iter()
            .find_map(|(rim, least)| below.boundary_gap(rim, least.max(TOUCHES)).map(|gap| gap.to));
        let over = cut_out.solid.covers(middle).then_some(middle);
        if let Some(at) = inside.or(meets).or(over) {
            return Bearing::OverCutOut(at);
        }
    }
    let beyond = old.iter().find(|o| o.kind == ObstacleKind::Outside);
    let on_sheet = |at: Point<SheetSpace>| {
        beyond.is_some_and(|o| {
            !o.solid.covers(at) && o.rims.iter().all(|(rim, least)| rim.distance_to(at) >= *least)
        })
    };
    let (bounds, step) = (clamp.bounds(), 1.0 / PLACES as f64);
    let places = (0..PLACES * PLACES).map(|n| {
        let share = |n: usize| (n as f64 + 0.5) * step;
        let (x, y) = (share(n % PLACES), share(n / PLACES));
        Point::new(bounds.min.x + x * bounds.width(), bounds.min.y + y * bounds.height())
    });
    let (mut all, mut held) = (0, 0);
    for at in places.filter(|at| below.covers(*at)) {
        all += 1;
        held += usize::from(on_sheet(at));
    }
    if (held as f64) < LEAST_SHARE * f64::from(all) { Bearing::OffSheet } else { Bearing::Sound }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::shape::Region;
    use crate::sheet::EdgeFacts;

    fn rectangle(x: f64, y: f64, w: f64, h: f64) -> Loop<SheetSpace> {
        Loop::rectangle(Point::new(x, y), Point::new(x + w, y + h)).unwrap()
    }

    /// A clamp of 80 mm with its lower left corner there.
    fn check(x: f64, y: f64, lay: f64, expected: fn(&Bearing) -> bool) {
        let holes = vec![
            rectangle(300.0, 60.0, 100.0, 200.0),
            Loop::circle(Point::new(600.0, 30.0), 6.0).unwrap(),
        ];
        let metal = Region::new(rectangle(0.0, 0.0, 1000.0, 500.0), holes);
        let facts = EdgeFacts { give_or_take: 1.0, ..EdgeFacts::default() };
        let sheet = Sheet::new("S", &[metal], facts);
        let found = bearing(&sheet, &rectangle(x, y, 80.0, 80.0), lay);
        assert!(expected(&found), "{x}, {y}: {found:?}");
    }

    #[test]
    fn clamps_bear_on_metal_and_not_on_what_was_cut_out() {
        let sound = |b: &Bearing| *b == Bearing::Sound;
        let over = |b: &Bearing| matches!(b, Bearing::OverCutOut(_));
        let off = |b: &Bearing| *b == Bearing::OffSheet;
        check(100.0, 100.0, 0.0, sound);
        // Half on it, and all but a fifth off it.
        check(-40.0, 200.0, 0.0, sound);
        check(-64.0, 200.0, 0.0, off);
        check(-200.0, 200.0, 0.0, off);
        // Wholly within a cut-out, over its edge, over a small hole.
        check(310.0, 100.0, 0.0, over);
        check(250.0, 100.0, 0.0, over);
        check(560.0, -10.0, 0.0, over);
        // Two millimetres beside it: sure where the sheet lies as it should.
        check(218.0, 100.0, 0.0, sound);
        check(218.0, 100.0, 1.5, over);
    }
}
