//! Whether an outline with holes is one that metal can have.

use oddment_core::shape::{Edge, Loop, Point, Region, Space, edge_gap};

/// Edges nearer than this (mm) touch.
const TOUCH: f64 = 1e-9;

/// Why a region is no piece of metal.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum Unsound {
    /// Two edges meet that should not.
    #[error("the outline crosses or touches itself near {0}")]
    CrossesItself(Spot),
    /// Two loops meet.
    #[error("a hole crosses or touches the outline or another hole near {0}")]
    LoopsMeet(Spot),
    /// A hole that is not in the outline.
    #[error("hole {0} (from 0) lies outside the outline")]
    HoleOutside(usize),
    /// A hole in a hole.
    #[error("hole {0} (from 0) lies inside hole {1}")]
    HoleInHole(usize, usize),
}

/// A place to look at, mm.
#[derive(Clone, Debug, PartialEq)]
pub struct Spot(f64, f64);

impl std::fmt::Display for Spot {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(f, "({:.3}, {:.3})", self.0, self.1)
    }
}

/// The first problem found of the outline and holes, if there is one.
pub fn unsound<S: Space>(region: &Region<S>) -> Option<Unsound> {
    meeting_edges(region).or_else(|| misplaced_hole(region))
}

/// An edge and where in its region it stands.
struct Seat<S> {
    edge: Edge<S>,
    of_loop: usize,
    index: usize,
    edges_in_loop: usize,
}

/// Looks at all pairs of edges whose boxes meet, swept along x.
fn meeting_edges<S: Space>(region: &Region<S>) -> Option<Unsound> {
    let mut seats = Vec::new();
    for (of_loop, l) in region.loops().enumerate() {
        let edges_in_loop = l.vertices().len();
        for (index, edge) in l.edges().enumerate() {
            seats.push((edge.bounds(), Seat { edge, of_loop, index, edges_in_loop }));
        }
    }
    seats.sort_by(|a, b| a.0.min.x.total_cmp(&b.0.min.x));
    for (i, (bounds, seat)) in seats.iter().enumerate() {
        for (other_bounds, other) in &seats[i + 1..] {
            if other_bounds.min.x > bounds.max.x + TOUCH {
                break;
            }
            if bounds.distance_squared(other_bounds) > TOUCH * TOUCH {
                continue;
            }
            if let Some(at) = meet(seat, other) {
                let spot = Spot(at.x, at.y);
                return Some(if seat.of_loop == other.of_loop {
                    Unsound::CrossesItself(spot)
                } else {
                    Unsound::LoopsMeet(spot)
                });
            }
        }
    }
    None
}

/// Where two edges meet, other than at the vertex that neighbours share.
fn meet<S: Space>(a: &Seat<S>, b: &Seat<S>) -> Option<Point<S>> {
    let touch = |a: &Edge<S>, b: &Edge<S>| {
        let gap = edge_gap(a, b);
        (gap.distance <= TOUCH).then_some(gap.from)
    };
    if a.of_loop != b.of_loop {
        return touch(&a.edge, &b.edge);
    }
    let follows = |a: &Seat<S>, b: &Seat<S>| (a.index + 1) % a.edges_in_loop == b.index;
    // But for a thousandth next to the shared vertex, neighbours must stay clear of each other.
    match (follows(a, b), follows(b, a)) {
        (true, true) => touch(&a.edge.between(0.001, 0.999), &b.edge.between(0.001, 0.999)),
        (true, false) => touch(&a.edge.between(0.0, 0.999), &b.edge)
            .or_else(|| touch(&a.edge, &b.edge.between(0.001, 1.0))),
        (false, true) => meet(b, a),
        (false, false) => touch(&a.edge, &b.edge),
    }
}

/// For loops that do not meet: each hole lies in the outline and in no other hole.
fn misplaced_hole<S: Space>(region: &Region<S>) -> Option<Unsound> {
    let holds = |l: &Loop<S>, inner: &Loop<S>| l.encloses(inner.vertices()[0].point);
    let holes = region.holes();
    if let Some(i) = holes.iter().position(|hole| !holds(region.outer(), hole)) {
        return Some(Unsound::HoleOutside(i));
    }
    let boxes: Vec<_> = holes.iter().map(Loop::bounds).collect();
    for (i, inner) in holes.iter().enumerate() {
        for (j, outer) in holes.iter().enumerate() {
            if i != j && boxes[j].contains_bounds(&boxes[i]) && holds(outer, inner) {
                return Some(Unsound::HoleInHole(i, j));
            }
        }
    }
    None
}

#[cfg(test)]
mod tests {
    use oddment_core::shape::{SheetSpace, Vertex};

    use super::*;

    fn polygon(points: &[(f64, f64)]) -> Loop<SheetSpace> {
        Loop::polygon(points.iter().map(|(x, y)| Point::new(*x, *y))).unwrap()
    }

    fn square(x: f64, y: f64, side: f64) -> Loop<SheetSpace> {
        Loop::rectangle(Point::new(x, y), Point::new(x + side, y + side)).unwrap()
    }

    #[track_caller]
    fn sound(outer: Loop<SheetSpace>, holes: Vec<Loop<SheetSpace>>) {
        assert_eq!(unsound(&Region::new(outer, holes)), None);
    }

    #[track_caller]
    fn refused(outer: Loop<SheetSpace>, holes: Vec<Loop<SheetSpace>>, words: &str) {
        let said = unsound(&Region::new(outer, holes)).unwrap().to_string();
        assert!(said.contains(words), "{said}");
    }

    #[test]
    fn plain_shapes_are_sound() {
        sound(square(0.0, 0.0, 10.0), vec![]);
        sound(polygon(&[(0.0, 0.0), (10.0, 0.0), (0.0, 10.0)]), vec![]);
        sound(polygon(&[(0.0, 0.0), (100.0, 0.0), (0.0, 1.0)]), vec![]);
        sound(Loop::circle(Point::new(3.0, 4.0), 5.0).unwrap(), vec![]);
        sound(square(0.0, 0.0, 10.0), vec![square(1.0, 1.0, 2.0), square(4.0, 1.0, 2.0)]);
        let slot = Loop::new(
            [(0.0, 0.0, 0.0), (9.0, 0.0, 1.0), (9.0, 4.0, 0.0), (0.0, 4.0, 1.0)]
                .map(|(x, y, bulge)| Vertex { point: Point::new(x, y), bulge }),
        );
        sound(slot.unwrap(), vec![]);
    }

    #[test]
    fn outlines_that_meet_themselves_are_not() {
        let words = "crosses or touches itself";
        refused(polygon(&[(0.0, 0.0), (10.0, 10.0), (10.0, 0.0), (0.0, 9.0)]), vec![], words);
        // A spike that runs back on itself.
        refused(
            polygon(&[
                (0.0, 0.0),
                (10.0, 0.0),
                (10.0, 10.0),
                (10.0, 20.0),
                (10.0, 5.0),
                (0.0, 5.0),
            ]),
            vec![],
            words,
        );
        // A corner that touches another edge.
        refused(
            polygon(&[(0.0, 0.0), (10.0, 0.0), (10.0, 10.0), (5.0, 0.0), (0.0, 10.0)]),
            vec![],
            words,
        );
        // An arc that swings through its neighbour.
        let bent = [(0.0, 0.0, 0.0), (10.0, 0.0, 3.0), (10.0, 1.0, 0.0), (0.0, 1.5, 0.0)]
            .map(|(x, y, bulge)| Vertex { point: Point::new(x, y), bulge: -bulge });
        refused(Loop::new(bent).unwrap(), vec![], words);
    }

    #[test]
    fn holes_lie_inside_and_apart() {
        let sheet = || square(0.0, 0.0, 10.0);
        refused(sheet(), vec![square(8.0, 8.0, 4.0)], "touches the outline");
        refused(sheet(), vec![square(1.0, 1.0, 4.0), square(2.0, 2.0, 5.0)], "another hole");
        refused(sheet(), vec![square(1.0, 1.0, 2.0), square(20.0, 1.0, 2.0)], "hole 1 (from 0)");
        refused(sheet(), vec![square(2.0, 2.0, 1.0), square(1.0, 1.0, 5.0)], "inside hole 1");
    }
}
