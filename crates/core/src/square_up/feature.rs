//! What of a sheet can be measured: corners, middles of holes, edges.

use crate::check::{Party, Scene};
use crate::plan::{Job, Layout};
use crate::shape::{BedSpace, Edge, Loop, Point, Pose, SheetSpace};
use crate::sheet::{Contour, Sheet};

/// At most so many pointer points.
const MOST: usize = 6;
/// Lines of a corner, and edges to measure along, are at least so long, mm: the eye must find them.
const SHORTEST_SIDE: f64 = 8.0;
/// The sine of the least angle of a corner.
const SHARPEST: f64 = 0.5;
/// The eye finds the middle of a hole of up to this radius, mm.
const WIDEST_HOLE: f64 = 20.0;

/// Which edge of the metal a feature is on.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Rim {
    /// The sheet's outer edge.
    Outer,
    /// An old cut-out's.
    CutOut,
}

/// What the pointer's dot must hit.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum What {
    /// Where two straight edges meet; whether it sticks out.
    Corner(Point<SheetSpace>, bool),
    /// The middle of a round hole of this radius, mm.
    Middle(Point<SheetSpace>, f64),
    /// Any place along this edge.
    Along(Edge<SheetSpace>),
}

/// Something of a sheet that can be measured.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Feature {
    /// What it is, where it is recorded.
    pub what: What,
    /// What it is on.
    pub rim: Rim,
    /// How far (mm) it may really lie from where it is recorded.
    pub give_or_take: f64,
}

impl Feature {
    /// The place to drive to: the point itself, the middle of an edge.
    pub fn at(&self) -> Point<SheetSpace> {
        match self.what {
            What::Corner(at, _) | What::Middle(at, _) => at,
            What::Along(edge) => edge.at(0.5),
        }
    }

    /// How far (mm) a dot on the bed is off it where the sheet lies so; of an edge, across it.
    pub fn off(&self, lies: &Pose<SheetSpace, BedSpace>, hit: Point<BedSpace>) -> f64 {
        let on_sheet = lies.inverse().apply(hit);
        self.nearest(on_sheet).distance(on_sheet)
    }

    /// Of an edge its length (mm), of a point none.
    pub(super) fn length(&self) -> f64 {
        if let What::Along(edge) = self.what { edge.length() } else { 0.0 }
    }

    /// Whether it is one point, and not any place along an edge.
    pub fn is_point(&self) -> bool {
        !matches!(self.what, What::Along(_))
    }

    /// Whether one can be taken for the other: both are corners of the same rim, or holes, or edges.
    pub fn is_like(&self, other: &Self) -> bool {
        let kind = |f: &Self| match f.what {
            What::Corner(..) => 0,
            What::Middle(..) => 1,
            What::Along(_) => 2,
        };
        kind(self) == kind(other) && (self.rim == other.rim || kind(self) == 1)
    }

    /// The nearest point of the feature to `point`; an edge goes on beyond its ends.
    pub(super) fn nearest(&self, point: Point<SheetSpace>) -> Point<SheetSpace> {
        match self.what {
            What::Corner(at, _) | What::Middle(at, _) => at,
            What::Along(Edge::Line { from, to }) => {
                let along = (to - from).unit().unwrap_or_default();
                from + along * along.dot(point - from)
            }
            What::Along(Edge::Arc { from, centre, radius, .. }) => {
                let out = (point - centre).unit().or((from - centre).unit()).unwrap_or_default();
                centre + out * radius
            }
        }
    }

    /// How far (mm) the feature is from `point`; an edge ends at its ends.
    pub fn distance(&self, point: Point<SheetSpace>) -> f64 {
        match self.what {
            What::Corner(at, _) | What::Middle(at, _) => at.distance(point),
            What::Along(edge) => edge.nearest(point).distance(point),
        }
    }
}

/// All that can be measured on a sheet: of each rim its corners or its middle, then its edges.
pub fn features(sheet: &Sheet) -> Vec<Feature> {
    let mut found = Vec::new();
    for body in &sheet.bodies {
        of_contour(&body.outer, Rim::Outer, &mut found);
        for cutout in &body.cutouts {
            of_contour(cutout, Rim::CutOut, &mut found);
        }
    }
    found
}

fn of_contour(contour: &Contour, rim: Rim, found: &mut Vec<Feature>) {
    let facts = contour.facts();
    let most = facts.iter().map(|f| f.give_or_take).fold(0.0, f64::max);
    if let Some((at, radius)) = contour.shape().as_circle().filter(|c| c.1 <= WIDEST_HOLE)
        && rim == Rim::CutOut
    {
        found.push(Feature { what: What::Middle(at, radius), rim, give_or_take: most });
    }
    for (i, at, convex) in corners(contour.shape()) {
        let next = (i + 1) % facts.len();
        let give_or_take = facts[i].give_or_take.max(facts[next].give_or_take);
        found.push(Feature { what: What::Corner(at, convex), rim, give_or_take });
    }
    for (edge, facts) in contour.shape().edges().zip(facts) {
        if edge.length() >= SHORTEST_SIDE {
            let give_or_take = facts.give_or_take;
            found.push(Feature { what: What::Along(edge), rim, give_or_take });
        }
    }
}

/// The corners between two straight sides: the first of the two, where it is, and whether it sticks
/// out of what the loop encloses.
fn corners(l: &Loop<SheetSpace>) -> Vec<(usize, Point<SheetSpace>, bool)> {
    let ccw = l.signed_area() > 0.0;
    let edges: Vec<Edge<SheetSpace>> = l.edges().collect();
    (0..edges.len())
        .filter_map(|i| {
            let (before, after) = (edges[i], edges[(i + 1) % edges.len()]);
            let (Edge::Line { .. }, Edge::Line { .. }) = (before, after) else { return None };
            let turn = before.direction(1.0).cross(after.direction(0.0));
            let seen =
                before.length().min(after.length()) >= SHORTEST_SIDE && turn.abs() >= SHARPEST;
            seen.then_some((i, after.from(), (turn > 0.0) == ccw))
        })
        .collect()
}

/// Up to six points for the pointer, the first nearest to the datum corner and each next one as far as
/// can be from all before it. Fewer where the sheet has no more that are easily seen.
pub fn pointer_points(sheet: &Sheet) -> Vec<Feature> {
    let bounds = sheet.bounds();
    let mut open: Vec<Feature> = features(sheet).into_iter().filter(Feature::is_point).collect();
    let mut chosen: Vec<Feature> = Vec::new();
    let apart = 0.04 * bounds.width().hypot(bounds.height());
    while chosen.len() < MOST {
        // From all chosen; the first point is to be near the datum corner.
        let distance = |f: &Feature| {
            let from_chosen = chosen.iter().map(|c| c.at().distance(f.at()));
            from_chosen.min_by(f64::total_cmp).unwrap_or(1e9 - bounds.min.distance(f.at()))
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

/// The place on an old edge of the sheet to which a placed part has least to spare: if the pointer's dot
/// hits the edge there, it does so where it matters most.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct TightSpot {
    /// A short piece of the edge, in its middle the place.
    pub feature: Feature,
    /// The part beside it, by its place in the layout's list.
    pub placed: usize,
}

/// The tightest spot of a layout whose sheet and parts are the job's; `None` where parts are nearer to
/// each other or to clamps than to any old edge.
pub fn tightest_spot(job: &Job, layout: &Layout) -> Option<TightSpot> {
    let scene = Scene::new(job, layout);
    let nearest = scene.laid().iter().enumerate().filter_map(|(placed, shape)| {
        let near = scene.tightest(shape, |_| false)?;
        let on_edge = matches!(near.other, Party::SheetEdge | Party::CutOut(..));
        on_edge.then(|| (near.spare(), placed, near.gap.to))
    });
    let (_, placed, at) = nearest.min_by(|a, b| a.0.total_cmp(&b.0))?;
    let feature = place_on_edge(&job.stock[layout.stock].sheet, at)?;
    Some(TightSpot { feature, placed })
}

/// What lies at a place: the corner or the middle of a hole within `near` mm, or else the nearest place on an edge.
pub fn feature_at(sheet: &Sheet, at: Point<SheetSpace>, near: f64) -> Option<Feature> {
    let points = features(sheet).into_iter().filter(|f| f.is_point() && f.distance(at) <= near);
    let nearest = points.min_by(|a, b| a.distance(at).total_cmp(&b.distance(at)));
    nearest.or_else(|| place_on_edge(sheet, at))
}

/// The place on an edge of the sheet that is nearest to a point: a short piece of the edge, in its middle the
/// place.
pub fn place_on_edge(sheet: &Sheet, at: Point<SheetSpace>) -> Option<Feature> {
    /// Half the length (mm) of the piece of edge.
    const PIECE: f64 = 1.0;
    let rims = sheet.bodies.iter().flat_map(|body| {
        let cutouts = body.cutouts.iter().map(|c| (Rim::CutOut, c));
        std::iter::once((Rim::Outer, &body.outer)).chain(cutouts)
    });
    let edges = rims.flat_map(|(rim, contour)| {
        contour.shape().edges().zip(contour.facts()).map(move |(edge, facts)| (rim, edge, facts))
    });
    let off = |e: &Edge<SheetSpace>| e.nearest(at).distance(at);
    let (rim, edge, facts) = edges.min_by(|a, b| off(&a.1).total_cmp(&off(&b.1)))?;
    // A corner is hit by a piece of either edge: it is moved off the corner by half its length.
    let half = (PIECE / edge.length().max(1e-9)).min(0.5);
    let share = edge.share_at(edge.nearest(at)).clamp(half, 1.0 - half);
    let what = What::Along(edge.between(share - half, share + half));
    Some(Feature { what, rim, give_or_take: facts.give_or_take })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::shape::Region;
    use crate::sheet::EdgeFacts;

    fn rectangle(x: f64, y: f64, w: f64, h: f64) -> Loop<SheetSpace> {
        Loop::rectangle(Point::new(x, y), Point::new(x + w, y + h)).unwrap()
    }

    fn points_of(outer: Loop<SheetSpace>, holes: Vec<Loop<SheetSpace>>) -> Vec<Feature> {
        pointer_points(&Sheet::new("S", &[Region::new(outer, holes)], EdgeFacts::default()))
    }

    #[test]
    fn a_plain_sheet_gives_its_corners_the_datum_corner_first() {
        let points = points_of(rectangle(5.0, 5.0, 1000.0, 500.0), vec![]);
        assert_eq!(points.len(), 4);
        assert_eq!(points[0].what, What::Corner(Point::new(5.0, 5.0), true));
        assert_eq!(points[1].what, What::Corner(Point::new(1005.0, 505.0), true));
    }

    #[test]
    fn holes_and_cut_outs_serve_where_they_are_easily_seen() {
        let small = Loop::circle(Point::new(500.0, 250.0), 6.0).unwrap();
        let wide = Loop::circle(Point::new(200.0, 250.0), 80.0).unwrap();
        let points = points_of(rectangle(0.0, 0.0, 1000.0, 500.0), vec![small, wide]);
        assert_eq!(points.len(), 5);
        let middle = |p: &Feature| matches!(p.what, What::Middle(_, r) if (r - 6.0).abs() < 1e-9);
        assert!(points.iter().any(middle));
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
