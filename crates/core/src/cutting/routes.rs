//! Moves without the beam: low where nothing is in the way, round what may snag where that is quicker
//! than lifting the head, and lifted otherwise; round clamps and what else stands up on the sheet in any
//! case, since nobody knows whether the head is lifted over those.

use crate::distances::{Clearances, Obstacle, ObstacleKind, lead_obstacles};
use crate::machine::Motion;
use crate::shape::{Bounds, Edge, EdgeSet, Point, SheetSpace};
use crate::sheet::Sheet;

/// A way round something passes its box at least so far off, mm.
const PAST: f64 = 2.0;
/// What is so near (mm) is touched.
const TOUCHES: f64 = 1e-6;
/// With more things in the straight way than this the head is lifted.
const MOST_IN_THE_WAY: usize = 6;

/// A move without the beam.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Way {
    /// Straight pieces, in order; at least one.
    pub edges: Vec<Edge<SheetSpace>>,
    /// Whether the head is lifted.
    pub lifted: bool,
}

impl Way {
    /// Low and straight.
    pub(super) fn straight(from: Point<SheetSpace>, to: Point<SheetSpace>) -> Self {
        Self { edges: vec![Edge::Line { from, to }], lifted: false }
    }
}

/// How high the head moves.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Height {
    Low,
    Lifted,
}

/// What the head may catch on where it moves low.
pub(super) struct Routes {
    old: Vec<Obstacle>,
    /// Of the sheet's no-go zones whether they stand up.
    stands_up: Vec<bool>,
    free: Vec<Free>,
    within: Bounds<SheetSpace>,
    slot: f64,
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
        let stands_up = sheet.no_go.iter().map(|zone| zone.stands_up).collect();
        let (within, slot) = (sheet.bounds(), clearances.slot());
        Self { old, stands_up, free: Vec::new(), within, slot }
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
        let boxes = self.in_the_way(from, to, Height::Low);
        if boxes.is_empty() {
            return Way::straight(from, to);
        }
        let lifted = self.lifted(from, to);
        let seconds = |way: &Way| {
            let lift = if way.lifted { motion.lift_seconds } else { 0.0 };
            motion.seconds(&way.edges, |_| motion.rapid).iter().sum::<f64>() + lift
        };
        let longest = seconds(&lifted) * motion.rapid;
        let few = boxes.len() <= MOST_IN_THE_WAY;
        let round = few.then(|| self.round(from, to, &boxes, longest, Height::Low)).flatten();
        let low = round.map(|edges| Way { edges, lifted: false });
        low.filter(|low| seconds(low) < seconds(&lifted)).unwrap_or(lifted)
    }

    /// How a lifted head gets there: round what stands up, where there is a way round.
    fn lifted(&self, from: Point<SheetSpace>, to: Point<SheetSpace>) -> Way {
        let standing = self.in_the_way(from, to, Height::Lifted);
        let round = (1..=MOST_IN_THE_WAY).contains(&standing.len());
        let edges = round.then(|| self.round(from, to, &standing, f64::INFINITY, Height::Lifted));
        let edges = edges.flatten().unwrap_or_else(|| Way::straight(from, to).edges);
        Way { edges, lifted: true }
    }

    /// Where a lifted, straight move comes too near something that stands up.
    pub(super) fn over_standing(&self, way: &Edge<SheetSpace>) -> Option<Point<SheetSpace>> {
        let set = EdgeSet::new([vec![*way]]);
        let standing = self.old.iter().filter(|o| self.is_in_the_way(o, Height::Lifted));
        let mut rims = standing.flat_map(|o| &o.rims);
        rims.find_map(|(rim, least)| Some(set.boundary_gap(rim, *least - 1e-3)?.from))
    }

    fn is_in_the_way(&self, obstacle: &Obstacle, height: Height) -> bool {
        match (height, obstacle.kind) {
            (Height::Low, _) => true,
            (Height::Lifted, ObstacleKind::NoGo(zone)) => self.stands_up[zone],
            (Height::Lifted, _) => false,
        }
    }

    /// How the head gets along a slot that is cut already: lifted where what lies beside the slot is
    /// free, since the head is wider than the slot.
    pub(super) fn way_in_slot(
        &self,
        from: Point<SheetSpace>,
        to: Point<SheetSpace>,
        motion: &Motion,
    ) -> Way {
        let along = EdgeSet::new([vec![Edge::Line { from, to }]]);
        if self.free.iter().any(|f| along.boundary_gap(&f.solid, self.slot).is_some()) {
            return self.lifted(from, to);
        }
        self.way(from, to, motion)
    }

    /// Where a lifted, straight move passes over something that may have tipped up, or `in_slot` beside it.
    pub(super) fn over_tipped(
        &self,
        way: &Edge<SheetSpace>,
        in_slot: bool,
    ) -> Option<Point<SheetSpace>> {
        let way = EdgeSet::new([vec![*way]]);
        let near = if in_slot { self.slot } else { TOUCHES };
        self.free.iter().filter(|f| f.may_tip).find_map(|f| crossed(&way, &f.solid, near))
    }

    /// The boxes of what a straight move could catch on.
    fn in_the_way(
        &self,
        from: Point<SheetSpace>,
        to: Point<SheetSpace>,
        height: Height,
    ) -> Vec<Bounds<SheetSpace>> {
        let way = EdgeSet::new([vec![Edge::Line { from, to }]]);
        let free = self.free.iter().map(|f| &f.solid);
        let free = free.filter(|s| height == Height::Low && crossed(&way, s, TOUCHES).is_some());
        let old = self.old.iter().filter(|o| self.is_in_the_way(o, height)).filter(|o| {
            let near = |(rim, least): &(EdgeSet<SheetSpace>, f64)| {
                let no_go = matches!(o.kind, ObstacleKind::NoGo(_));
                no_go && way.boundary_gap(rim, *least).is_some()
            };
            o.rims.iter().any(near) || crossed(&way, &o.solid, TOUCHES).is_some()
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
        height: Height,
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
                    && self.in_the_way(places[at], places[other], height).is_empty()
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

/// Where a straight way comes within `near` mm of something, if it does.
fn crossed(
    way: &EdgeSet<SheetSpace>,
    solid: &EdgeSet<SheetSpace>,
    near: f64,
) -> Option<Point<SheetSpace>> {
    if way.bounds().distance_squared(&solid.bounds()) > near * near {
        return None;
    }
    let [edge] = way.edges() else { return None };
    way.boundary_gap(solid, near)
        .map(|gap| gap.from)
        .or_else(|| [edge.from(), edge.to()].into_iter().find(|p| solid.covers(*p)))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::shape::{Loop, Region};
    use crate::sheet::{EdgeFacts, NoGo};

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
        let over = |may_tip: bool| {
            let routes = routes(&[(wall.clone(), may_tip)]);
            let way = routes.way(Point::new(100.0, 100.0), Point::new(500.0, 100.0), &quick);
            assert!(way.lifted);
            routes.over_tipped(&way.edges[0], false)
        };
        assert!(over(true).is_some_and(|p| (200.0..=300.0).contains(&p.x)));
        assert!(over(false).is_none());
        // There is no way round beyond the sheet.
        let all = rectangle(200.0, 1.0, 100.0, 498.0);
        assert!(way(&[(all, false)], &Motion { lift_seconds: 60.0, ..MOTION }).lifted);
    }

    #[test]
    fn no_lifted_move_passes_over_a_clamp() {
        let metal = Region::new(rectangle(0.0, 0.0, 1000.0, 500.0), Vec::new());
        let mut sheet = Sheet::new("S", &[metal], EdgeFacts::default());
        let shape = rectangle(300.0, -40.0, 60.0, 200.0);
        let zone = |stands_up| {
            let shape = shape.clone();
            NoGo { name: "clamp".into(), shape, clearance: 2.0, stands_up }
        };
        let quick = Motion { lift_seconds: 0.01, ..MOTION };
        for stands_up in [true, false] {
            sheet.no_go = vec![zone(stands_up)];
            let mut routes = Routes::new(&sheet, &Clearances::STARTING);
            // Something freed in the way, so that lifting is the quicker way.
            let freed = rectangle(200.0, 150.0, 600.0, 340.0);
            routes.set_free(EdgeSet::new([freed.edges().collect()]), false);
            let way = routes.way(Point::new(100.0, 100.0), Point::new(900.0, 100.0), &quick);
            assert!(way.lifted);
            assert_eq!(way.edges.len() == 1, !stands_up);
            let over = way.edges.iter().find_map(|e| routes.over_standing(e));
            assert_eq!(over, None);
            let straight =
                Edge::Line { from: Point::new(100.0, 100.0), to: Point::new(900.0, 100.0) };
            assert_eq!(routes.over_standing(&straight).is_some(), stands_up);
        }
    }

    #[test]
    fn along_a_slot_the_head_is_lifted_where_what_lies_beside_it_is_free() {
        let (from, to) = (Point::new(199.9, 100.0), Point::new(199.9, 180.0));
        let plate = rectangle(200.0, 90.0, 100.0, 200.0);
        for (free, lifted) in [(vec![(plate, true)], true), (vec![], false)] {
            let routes = routes(&free);
            let way = routes.way_in_slot(from, to, &MOTION);
            assert_eq!(way.lifted, lifted);
            assert_eq!(routes.over_tipped(&way.edges[0], true).is_some(), lifted);
            assert!(!routes.way(from, to, &MOTION).lifted);
        }
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
            assert!(routes.in_the_way(edge.from(), edge.to(), Height::Low).is_empty(), "{edge:?}");
        }
    }
}
