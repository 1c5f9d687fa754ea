//! Points of a sheet that the machine's pointer can be sent to, to see whether the sheet is the one
//! planned for and lies where the plan has it.

use oddment_core::shape::{Edge, Loop, Point, SheetSpace};
use oddment_core::sheet::Sheet;
use oddment_core::units::LengthUnit;

/// At most so many.
const MOST: usize = 6;
/// Lines of a corner are at least so long, mm: the eye must find where they meet.
const SHORTEST_SIDE: f64 = 8.0;
/// The sine of the least angle of a corner.
const SHARPEST: f64 = 0.5;
/// The eye finds the middle of a hole of up to this radius, mm.
const WIDEST_HOLE: f64 = 20.0;

/// A point and what the dot must hit there.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct PointerPoint {
    pub(crate) at: Point<SheetSpace>,
    pub(crate) hits: String,
}

/// Up to six points, the first nearest to the datum corner and each next one as far as can be from
/// all before it. Fewer where the sheet has no more that are easily seen.
pub(crate) fn pointer_points(sheet: &Sheet, unit: LengthUnit) -> Vec<PointerPoint> {
    let bounds = sheet.bounds();
    let mut open = candidates(sheet, unit);
    let mut chosen: Vec<PointerPoint> = Vec::new();
    let apart = 0.04 * bounds.width().hypot(bounds.height());
    while chosen.len() < MOST {
        // From all chosen; the first point is to be near the datum corner.
        let distance = |p: &PointerPoint| {
            let from_chosen = chosen.iter().map(|c| c.at.distance(p.at));
            from_chosen.min_by(f64::total_cmp).unwrap_or(1e9 - bounds.min.distance(p.at))
        };
        let far =
            (0..open.len()).max_by(|i, j| distance(&open[*i]).total_cmp(&distance(&open[*j])));
        match far {
            Some(far) if distance(&open[far]) > apart => chosen.push(open.swap_remove(far)),
            _ => break,
        }
    }
    chosen
}

fn candidates(sheet: &Sheet, unit: LengthUnit) -> Vec<PointerPoint> {
    let mut found = Vec::new();
    for body in &sheet.bodies {
        for (at, convex) in corners(body.outer.shape()) {
            let hits = if convex { "corner of the sheet" } else { "inner corner of the sheet" };
            found.push(PointerPoint { at, hits: hits.to_owned() });
        }
        for cutout in &body.cutouts {
            if let Some((at, radius)) = cutout.shape().as_circle() {
                if radius <= WIDEST_HOLE {
                    let hits = format!("middle of old hole, Ø {}", unit.show(2.0 * radius));
                    found.push(PointerPoint { at, hits });
                }
                continue;
            }
            for (at, _) in corners(cutout.shape()) {
                found.push(PointerPoint { at, hits: "corner of old cut-out".to_owned() });
            }
        }
    }
    found
}

/// The corners between two straight sides, and whether metal or hole turns round them to the left.
fn corners(l: &Loop<SheetSpace>) -> Vec<(Point<SheetSpace>, bool)> {
    let ccw = l.signed_area() > 0.0;
    let edges: Vec<Edge<SheetSpace>> = l.edges().collect();
    (0..edges.len())
        .filter_map(|i| {
            let (before, after) = (edges[i], edges[(i + 1) % edges.len()]);
            let (Edge::Line { .. }, Edge::Line { .. }) = (before, after) else { return None };
            let turn = before.direction(1.0).cross(after.direction(0.0));
            let seen =
                before.length().min(after.length()) >= SHORTEST_SIDE && turn.abs() >= SHARPEST;
            seen.then_some((after.from(), (turn > 0.0) == ccw))
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use oddment_core::shape::Region;
    use oddment_core::sheet::EdgeFacts;

    use super::*;

    fn rectangle(x: f64, y: f64, w: f64, h: f64) -> Loop<SheetSpace> {
        Loop::rectangle(Point::new(x, y), Point::new(x + w, y + h)).unwrap()
    }

    fn points_of(outer: Loop<SheetSpace>, holes: Vec<Loop<SheetSpace>>) -> Vec<PointerPoint> {
        let sheet = Sheet::new("S", &[Region::new(outer, holes)], EdgeFacts::default());
        pointer_points(&sheet, LengthUnit::Mm)
    }

    #[test]
    fn a_plain_sheet_gives_its_corners_the_datum_corner_first() {
        let points = points_of(rectangle(5.0, 5.0, 1000.0, 500.0), vec![]);
        assert_eq!(points.len(), 4);
        assert_eq!(points[0].at, Point::new(5.0, 5.0));
        assert_eq!(points[1].at, Point::new(1005.0, 505.0));
        assert!(points.iter().all(|p| p.hits == "corner of the sheet"));
    }

    #[test]
    fn holes_and_cut_outs_serve_where_they_are_easily_seen() {
        let small = Loop::circle(Point::new(500.0, 250.0), 6.0).unwrap();
        let wide = Loop::circle(Point::new(200.0, 250.0), 80.0).unwrap();
        let points = points_of(rectangle(0.0, 0.0, 1000.0, 500.0), vec![small, wide]);
        assert_eq!(points.len(), 5);
        assert!(points.iter().any(|p| p.hits == "middle of old hole, Ø 12.0"));
    }

    #[test]
    fn no_more_than_six_however_many_there_are() {
        let holes = (0..40).map(|i| rectangle(20.0 + 24.0 * f64::from(i), 20.0, 12.0, 400.0));
        assert_eq!(points_of(rectangle(0.0, 0.0, 1000.0, 500.0), holes.collect()).len(), 6);
    }

    #[test]
    fn a_disc_has_none() {
        assert_eq!(points_of(Loop::circle(Point::new(0.0, 0.0), 300.0).unwrap(), vec![]), []);
    }
}
