//! What is left of metal after cuts, and which of it is worth keeping.

use super::largest_rectangle;
use crate::cutting::starts::Start;
use crate::shape::{
    Bounds, Edge, EdgeSet, Loop, Region, SheetSpace, Side, Vector, Vertex, grow_loop, offset,
    shrink_loop, subtract,
};
use crate::sheet::Metal as MadeOf;

/// Pieces smaller than this (mm²) are crumbs: no label goes on one, whatever rule.
pub const CRUMB: f64 = 400.0;

/// Which leftovers of a metal are worth keeping. Money is for a kilogram but for `amount`.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Keeping {
    /// Its metal must be worth more than scrap by so much.
    pub amount: f64,
    /// It must hold an upright rectangle of at least these sides (mm), either way round.
    pub least: [f64; 2],
    /// What the metal costs.
    pub price: f64,
    /// What it brings as scrap.
    pub scrap: f64,
}

impl Keeping {
    /// Whether a piece of metal made of this is worth keeping.
    pub fn keeps(&self, piece: &Region<SheetSpace>, made_of: &MadeOf) -> bool {
        let [a, b] = self.least;
        let holds = |bounds: &Bounds<SheetSpace>| {
            let (w, h) = (bounds.width(), bounds.height());
            (w >= a && h >= b) || (w >= b && h >= a)
        };
        let area = piece.area();
        area >= CRUMB
            && made_of.weight(area) * (self.price - self.scrap) >= self.amount
            && holds(&piece.bounds())
            && largest_rectangle(piece).is_some_and(|found| holds(&found))
    }
}

/// Edges nearer than this (mm) to a cut leave nothing between that could hold: the cut is widened
/// until they meet. The last is far beyond rounding and far below what a cutter keeps.
const WIDENED: [f64; 4] = [0.0, 0.002, 0.01, 0.05];

/// Bound (mm) of polygons that stand in where curves are too tangled.
const POLYGON_BOUND: f64 = 0.02;

type Metal = Region<SheetSpace>;

/// Takes a part and the slot round it (and in its holes), `kerf` mm wide, out of the metal. Returns
/// the pieces left, those in the part's holes too; `None` where the shapes are too tangled.
pub fn take_part(metal: &[Metal], part: &Metal, kerf: f64) -> Option<Vec<Metal>> {
    WIDENED.iter().find_map(|more| {
        let gone = gone_with(part, kerf + more)?;
        // Metal nearer than this to the slot is none; a wider slot takes it.
        let grazes = *more == 0.0 && is_grazed(metal, &gone);
        if grazes { None } else { take_region(metal, &gone) }
    })
}

/// Takes an area out of the metal.
pub fn take_region(metal: &[Metal], gone: &Metal) -> Option<Vec<Metal>> {
    let mut left = Vec::with_capacity(metal.len());
    for piece in metal {
        if piece.bounds().distance_squared(&gone.bounds()) > 0.0 {
            left.push(piece.clone());
        } else {
            left.extend(subtract(piece, gone)?);
        }
    }
    Some(left)
}

/// A pierce blows a hole about so many times as wide as the slot.
const PIERCE_HOLE: f64 = 2.0;

/// Takes the hole of a pierce and the slot of its lead-in, `kerf` mm wide, out of the metal; `None`
/// where the shapes are too tangled.
pub fn take_start(metal: &[Metal], start: &Start<SheetSpace>, kerf: f64) -> Option<Vec<Metal>> {
    WIDENED.iter().find_map(|more| {
        let shapes = start_slots(start, kerf + more)?;
        shapes.iter().try_fold(metal.to_vec(), |left, gone| take_region(&left, gone))
    })
}

/// The hole of a pierce, where there is one, and a slot along each edge of its lead-in.
pub fn start_slots(start: &Start<SheetSpace>, kerf: f64) -> Option<Vec<Metal>> {
    let whole = |shape| Region::new(shape, Vec::new());
    let hole = || Loop::circle(start.pierce, PIERCE_HOLE * 0.5 * kerf).ok().map(whole);
    let along = start.lead.iter().filter(|e| e.length() > 0.0);
    let slots = along.map(|e| slot_along(e, 0.5 * kerf).map(whole));
    (!start.from_edge).then(hole).into_iter().chain(slots).collect()
}

/// All within `half` mm of an edge.
fn slot_along(edge: &Edge<SheetSpace>, half: f64) -> Option<Loop<SheetSpace>> {
    let chord = edge.to() - edge.from();
    let (straight, bent) = (chord.unit()?, edge.bulge());
    // Round a bend tighter than the slot its inner side has no arc: then the bend's height is added.
    let tight = matches!(edge, Edge::Arc { radius, .. } if *radius <= 1.01 * half);
    let (half, bulge) =
        if tight { (half + 0.5 * bent.abs() * chord.length(), 0.0) } else { (half, bent) };
    let side = |share: f64| -> Option<Vector> {
        let along = if tight { straight } else { edge.direction(share).unit()? };
        Some(along.left() * half)
    };
    let (a, b, left_a, left_b) = (edge.from(), edge.to(), side(0.0)?, side(1.0)?);
    let corner = |point, bulge| Vertex { point, bulge };
    Loop::new([
        corner(a - left_a, bulge),
        corner(b - left_b, 1.0),
        corner(b + left_b, -bulge),
        corner(a + left_a, 1.0),
    ])
    .ok()
}

/// Whether the slot's rim runs so close along the metal's that only rounding tells whether they meet.
fn is_grazed(metal: &[Metal], gone: &Metal) -> bool {
    let reach = gone.bounds().grown(WIDENED[1]);
    let is_near = |edge: &Edge<SheetSpace>| edge.bounds().distance_squared(&reach) <= 0.0;
    let edges = metal.iter().flat_map(Metal::loops).flat_map(Loop::edges);
    let near = EdgeSet::new([edges.filter(is_near).collect()]);
    near.boundary_gap(&gone.edge_set(), WIDENED[1]).is_some()
}

/// All that is gone where a part was cut out with a slot `kerf` mm wide.
pub fn gone_with(part: &Metal, kerf: f64) -> Option<Metal> {
    if kerf <= 0.0 {
        return Some(part.clone());
    }
    let outer = grow_loop(part.outer(), kerf).or_else(|| {
        let whole = Region::new(part.outer().clone(), Vec::new());
        offset(&whole, kerf, POLYGON_BOUND, Side::Outward).into_iter().next()
    })?;
    let mut holes: Vec<Loop<SheetSpace>> = outer.holes().to_vec();
    for hole in part.holes() {
        match shrink_loop(hole, kerf) {
            Some(slugs) => holes.extend(slugs),
            None => {
                let whole = Region::new(hole.clone(), Vec::new());
                let slugs = offset(&whole, -kerf, POLYGON_BOUND, Side::Inward);
                holes.extend(slugs.into_iter().map(|slug| slug.outer().clone()));
            }
        }
    }
    Some(Region::new(outer.outer().clone(), holes))
}

#[cfg(test)]
mod tests {
    use crate::shape::Point;

    use super::*;

    #[test]
    fn a_lead_in_takes_its_slot_and_the_hole_of_its_pierce() {
        let (pi, kerf) = (std::f64::consts::PI, 1.0);
        let at = |x: f64, y: f64| Point::new(x, y);
        let check = |lead: Edge<SheetSpace>, slot: f64| {
            let start = Start { pierce: lead.from(), lead: vec![lead], from_edge: false };
            let left = take_start(&[plain(0.0, 0.0, 60.0, 60.0)], &start, kerf).unwrap();
            let gone = 3600.0 - left.iter().map(Region::area).sum::<f64>();
            // The round end of the slot, and a half circle of it, lie in the pierce's hole.
            let hole = pi * kerf * kerf;
            let overlap = gone - hole - slot - pi * kerf * kerf / 8.0;
            assert!(overlap < 0.0 && overlap > -kerf * kerf, "{overlap}");
            assert_eq!(left.len(), 1);
        };
        check(Edge::new(at(20.0, 20.0), at(20.0, 30.0), 0.0), 10.0 * kerf);
        // A quarter circle of radius 8.
        let quarter = (pi / 8.0).tan();
        check(Edge::new(at(20.0, 20.0), at(28.0, 28.0), quarter), pi * 4.0 * kerf);
        check(Edge::new(at(28.0, 28.0), at(20.0, 20.0), -quarter), pi * 4.0 * kerf);
    }

    #[test]
    fn a_lead_in_that_meets_the_part_opens_into_its_cut_out() {
        let part = plain(20.0, 20.0, 30.0, 20.0);
        let left = take_part(&[plain(0.0, 0.0, 100.0, 60.0)], &part, 1.0).unwrap();
        let lead = Edge::Line { from: Point::new(35.0, 12.0), to: Point::new(35.0, 19.5) };
        let start = Start { pierce: lead.from(), lead: vec![lead], from_edge: false };
        let left = take_start(&left, &start, 1.0).unwrap();
        assert_eq!((left.len(), left[0].holes().len()), (1, 1));
        assert!(!left[0].contains(Point::new(35.0, 16.0)));
        assert!(left[0].contains(Point::new(38.0, 16.0)));
    }

    fn rectangle(x: f64, y: f64, w: f64, h: f64) -> Loop<SheetSpace> {
        Loop::rectangle(Point::new(x, y), Point::new(x + w, y + h)).unwrap()
    }

    fn plain(x: f64, y: f64, w: f64, h: f64) -> Metal {
        Region::new(rectangle(x, y, w, h), Vec::new())
    }

    #[test]
    fn a_ring_leaves_the_sheet_and_its_slug() {
        let circle = |r| Loop::circle(Point::new(100.0, 100.0), r).unwrap();
        let ring = Region::new(circle(50.0), vec![circle(30.0)]);
        let left = take_part(&[plain(0.0, 0.0, 200.0, 200.0)], &ring, 2.0).unwrap();
        assert_eq!(left.len(), 2);
        let pi = std::f64::consts::PI;
        assert!((left[0].area() - (40_000.0 - pi * 52.0 * 52.0)).abs() < 1e-6);
        assert!((left[1].area() - pi * 28.0 * 28.0).abs() < 1e-6);
        assert!(left[0].holes()[0].as_circle().is_some());
    }

    #[test]
    fn a_part_over_an_old_cut_out_leaves_no_slug_where_there_was_no_metal() {
        let outer = rectangle(0.0, 0.0, 200.0, 200.0);
        let sheet = Region::new(outer, vec![rectangle(80.0, 80.0, 40.0, 40.0)]);
        let part = Region::new(
            rectangle(50.0, 50.0, 100.0, 100.0),
            vec![rectangle(70.0, 70.0, 60.0, 60.0)],
        );
        let left = take_part(&[sheet], &part, 1.0).unwrap();
        assert_eq!(left.len(), 2);
        assert!((left[1].area() - (58.0 * 58.0 - 1600.0)).abs() < 1e-6, "{}", left[1].area());
    }

    #[test]
    fn parts_flush_with_each_other_and_the_edges_part_the_metal() {
        let sheet = plain(0.0, 0.0, 300.0, 100.0);
        // Two parts whose slots touch each other and both edges.
        let left = take_part(&[sheet], &plain(100.0, 1.0, 50.0, 48.0), 1.0).unwrap();
        let left = take_part(&left, &plain(100.0, 51.0, 50.0, 48.0), 1.0).unwrap();
        let areas: Vec<f64> = left.iter().map(Region::area).filter(|a| *a > 10.0).collect();
        assert_eq!(areas.len(), 2, "{areas:?}");
        assert!((areas[0] - 149.0 * 100.0).abs() < 2.0 && (areas[1] - 99.0 * 100.0).abs() < 2.0);
    }
}
