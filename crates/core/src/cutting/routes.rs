//! Moves without the beam: low where nothing is in the way, round what may snag where that is quicker
//! than lifting the head, and lifted otherwise.

use crate::distances::{Clearances, Obstacle, ObstacleKind, lead_obstacles};
use crate::machine::Motion;
use crate::shape::{Bounds, Edge, EdgeSet, Point, SheetSpace};
use crate::sheet::Sheet;

/// A way round something passes its box at least so far off, mm.
const PAST: f64 = 2.0;
/// With more things in the straight way than this the head is lifted.
const MOST_IN_THE_WAY: usize = 6;

/// A move without the beam.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Way {
    /// Straight pieces, in order; at least one.
    pub edges: Vec<Edge<SheetSpace>>,
    /// Whether the head is lifted.
    pub lifted: bool,
    /// Where a lifted head passes over something that may have tipped up.
    pub over: Option<Point<SheetSpace>>,
}

/// What the head may catch on where it moves low.
pub(super) struct Routes {
    old: Vec<Obstacle>,
    free: Vec<Free>,
    within: Bounds<SheetSpace>,
}

/// Something that was cut free.
struct Free {
    solid: EdgeSet<SheetSpace>,
    may_tip: bool,
}

impl Routes {
    /// Nothing is free yet.
    pub(super) fn new(sheet: &Sheet, clearances: &Clearances) -> Self {
        let mut old = lead_obstacles(sheet, clearances);
        old.retain(|o| o.kind != ObstacleKind::Outside);
        Self { old, free: Vec::new(), within: sheet.bounds() }
    }

    /// From now on this lies there free.
    pub(super) fn set_free(&mut self, solid: EdgeSet<SheetSpace>, may_tip: bool) {
        self.free.push(Free { solid, may_tip });
    }

    /// How the head gets from one place to another.
    pub(super) fn way(
        &self,
        from: Point<SheetSpace>,
        to: Point<SheetSpace>,
        motion: &Motion,
    ) -> Way {
        let straight = Edge::Line { from, to };
        let boxes = self.in_the_way(from, to);
        if boxes.is_empty() {
            return Way { edges: vec![straight], lifted: false, over: None };
        }
        let lifted = motion.rapid_seconds(straight.length()) + motion.lift_seconds;
        if boxes.len() <= MOST_IN_THE_WAY
            && let Some(edges) = self.round(from, to, &boxes, lifted * motion.rapid)
            && motion.seconds(&edges, |_| motion.rapid).iter().sum::<f64>() < lifted
        {
            return Way { edges, lifted: false, over: None };
        }
        let way = EdgeSet::new([vec![straight]]);
        let over = self.free.iter().filter(|f| f.may_tip).find_map(|f| crossed(&way, &f.solid));
        Way { edges: vec![straight], lifted: true, over }
    }

    /// The boxes of what a low straight move could catch on.
    fn in_the_way(
        &self,
        from: Point<SheetSpace>,
        to: Point<SheetSpace>,
    ) -> Vec<Bounds<SheetSpace>> {
        let way = EdgeSet::new([vec![Edge::Line { from, to }]]);
        let free = self.free.iter().map(|f| &f.solid).filter(|s| crossed(&way, s).is_some());
        let old = self.old.iter().filter(|o| {
            let near = |(rim, least): &(EdgeSet<SheetSpace>, f64)| {
                let no_go = matches!(o.kind, ObstacleKind::NoGo(_));
                no_go && way.boundary_gap(rim, *least).is_some()
            };
            o.rims.iter().any(near) || crossed(&way, &o.solid).is_some()
        });
        free.map(EdgeSet::bounds)
            .chain(old.map(|o| {
                let keep = o.rims.iter().map(|r| r.1).fold(0.0, f64::max);
                o.solid.bounds().grown(keep)
            }))
            .collect()
    }

    /// The shortest way round boxes over their corners, if it is shorter than `limit` (mm).
    fn round(
        &self,
        from: Point<SheetSpace>,
        to: Point<SheetSpace>,
        boxes: &[Bounds<SheetSpace>],
        limit: f64,
    ) -> Option<Vec<Edge<SheetSpace>>> {
        let corners = boxes.iter().flat_map(|b| b.grown(PAST).corners());
        let mut places = vec![from, to];
        places
            .extend(corners.filter(|c| {
                self.within.contains(*c) && from.distance(*c) + c.distance(to) < limit
            }));
        let mut gone = vec![f64::INFINITY; places.len()];
        let mut came_from = vec![0; places.len()];
        let mut open: Vec<usize> = (0..places.len()).collect();
        gone[0] = 0.0;
        while !open.is_empty() {
            let next = (0..open.len()).min_by(|a, b| gone[open[*a]].total_cmp(&gone[open[*b]]))?;
            let at = open.swap_remove(next);
            if at == 1 || !gone[at].is_finite() {
                break;
            }
            for &other in &open {
                let length = gone[at] + places[at].distance(places[other]);
                if length < gone[other]
                    && length + places[other].distance(to) < limit
                    && self.in_the_way(places[at], places[other]).is_empty()
                {
                    (gone[other], came_from[other]) = (length, at);
                }
            }
        }
        if !gone[1].is_finite() {
            return None;
        }
        let mut edges = Vec::new();
        let mut at = 1;
        while at != 0 {
            let before = came_from[at];
            edges.push(Edge::Line { from: places[before], to: places[at] });
            at = before;
        }
        edges.reverse();
        Some(edges)
    }
}

/// Where a way comes onto something, if it does.
fn crossed(way: &EdgeSet<SheetSpace>, solid: &EdgeSet<SheetSpace>) -> Option<Point<SheetSpace>> {
    const TOUCHES: f64 = 1e-6;
    if way.bounds().distance_squared(&solid.bounds()) > TOUCHES {
        return None;
    }
    let [edge] = way.edges() else { return None };
    way.boundary_gap(solid, TOUCHES)
        .map(|gap| gap.from)
        .or_else(|| [edge.from(), edge.to()].into_iter().find(|p| solid.covers(*p)))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::shape::{Loop, Region};
    use crate::sheet::EdgeFacts;

    const MOTION: Motion = Motion { lift_seconds: 2.0, ..Motion::STARTING };

    fn rectangle(x: f64, y: f64, w: f64, h: f64) -> Loop<SheetSpace> {
        Loop::rectangle(Point::new(x, y), Point::new(x + w, y + h)).unwrap()
    }

    fn routes(free: &[(Loop<SheetSpace>, bool)]) -> Routes {
        let metal = Region::new(rectangle(0.0, 0.0, 1000.0, 500.0), Vec::new());
        let sheet = Sheet::new("S", &[metal], EdgeFacts::default());
        let mut routes = Routes::new(&sheet, &Clearances::STARTING);
        for (l, may_tip) in free {
            routes.set_free(EdgeSet::new([l.edges().collect()]), *may_tip);
        }
        routes
    }

    fn way(free: &[(Loop<SheetSpace>, bool)], motion: &Motion) -> Way {
        routes(free).way(Point::new(100.0, 100.0), Point::new(500.0, 100.0), motion)
    }

    #[test]
    fn where_nothing_is_free_the_head_goes_straight_and_low() {
        let way = way(&[(rectangle(200.0, 150.0, 100.0, 100.0), true)], &MOTION);
        assert!(!way.lifted && way.edges.len() == 1);
    }

    #[test]
    fn round_a_freed_plate_by_its_nearer_side() {
        // From y = 100 past the lower side at y = 90, two millimetres off: over (198, 88) and (302, 88).
        let way = way(&[(rectangle(200.0, 90.0, 100.0, 200.0), false)], &MOTION);
        assert!(!way.lifted);
        let places: Vec<_> = way.edges.iter().map(|e| (e.to().x, e.to().y)).collect();
        assert_eq!(places, [(198.0, 88.0), (302.0, 88.0), (500.0, 100.0)]);
    }

    #[test]
    fn where_the_way_round_is_long_the_head_is_lifted_and_says_what_it_passes_over() {
        let wall = rectangle(200.0, 10.0, 100.0, 480.0);
        let quick = Motion { lift_seconds: 0.1, ..MOTION };
        let over = way(&[(wall.clone(), true)], &quick);
        assert!(over.lifted && over.over.is_some_and(|p| (200.0..=300.0).contains(&p.x)));
        assert!(way(&[(wall.clone(), false)], &quick).over.is_none());
        // There is no way round beyond the sheet.
        let all = rectangle(200.0, 1.0, 100.0, 498.0);
        assert!(way(&[(all, false)], &Motion { lift_seconds: 60.0, ..MOTION }).lifted);
    }

    #[test]
    fn no_way_round_leads_into_something_else() {
        let free = [
            (rectangle(200.0, 60.0, 100.0, 200.0), false),
            (rectangle(150.0, 20.0, 250.0, 39.0), false),
        ];
        let way = way(&free, &Motion { lift_seconds: 10.0, ..MOTION });
        assert!(!way.lifted && way.edges.len() >= 2);
        let routes = routes(&free);
        for edge in &way.edges {
            assert!(routes.in_the_way(edge.from(), edge.to()).is_empty(), "{edge:?}");
        }
    }
}
