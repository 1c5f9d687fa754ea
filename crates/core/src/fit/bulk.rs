//! Cheap bounds that rule out metal too small for a part however it is turned.

use crate::part::Part;
use crate::shape::{Loop, PartSpace, Point, SheetSpace, hull};

/// Sizes may differ by so much (mm) and count as equal.
const SAME: f64 = 1e-3;

/// What a part needs however it is turned.
#[derive(Clone, Copy, Debug)]
pub struct Bulk {
    area: f64,
    /// The least distance between two parallel lines that hold it.
    narrowest: f64,
    /// The greatest distance of two of its points.
    longest: f64,
}

impl Bulk {
    /// What a part needs.
    pub fn of(part: &Part) -> Self {
        let outer = part.region.outer();
        // Of arcs the ends and the middle: the hull of those lies within the part's.
        let points: Vec<Point<PartSpace>> =
            outer.edges().flat_map(|e| [e.from(), e.at(0.5)]).collect();
        let corners = hull(&points);
        let longest = corners
            .iter()
            .flat_map(|p| corners.iter().map(move |q| p.distance(*q)))
            .fold(0.0, f64::max);
        let sides = corners.iter().zip(corners.iter().cycle().skip(1));
        let across = |(p, q): (&Point<PartSpace>, &Point<PartSpace>)| {
            let way = (*q - *p).unit()?;
            Some(corners.iter().map(|c| way.cross(*c - *p).abs()).fold(0.0, f64::max))
        };
        let narrowest = sides.filter_map(across).fold(f64::INFINITY, f64::min);
        let narrowest = if narrowest.is_finite() { narrowest } else { 0.0 };
        Self { area: part.region.area(), narrowest, longest }
    }

    /// Whether a piece of metal with this outer edge is not too small by area, width and diagonal.
    pub fn goes_into(&self, outer: &Loop<SheetSpace>) -> bool {
        let bounds = outer.bounds();
        let (w, h) = (bounds.width(), bounds.height());
        // As the fit test, which forgives the resolution of the check.
        self.area <= outer.area() + SAME * (outer.perimeter() + 1.0)
            && self.narrowest <= w.min(h) + 10.0 * SAME
            && self.longest <= w.hypot(h) + 10.0 * SAME
    }
}
