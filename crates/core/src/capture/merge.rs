//! Two sources of one sheet: of each edge and cut-out the better known wins.

use super::fit::Line;
use super::points::{Pointing, PointsFault, capture_cutouts, capture_points, unsure_along};
use super::rows::{Feature, Group, Ring};
use super::{Captured, How, Known, Residual, Rim};
use crate::shape::{Edge, Point, SheetSpace};
use crate::sheet::EdgeFacts;

/// Straight edges that are one differ in direction by less than this (radians).
const ALIKE: f64 = 0.03;
/// Edges may lie apart by so many times what both give or take.
const STRAYED: f64 = 2.0;

impl Captured {
    /// This with what `other` knows better: straight outer edges are moved to where it has them, and
    /// meet their neighbours there; cut-outs are taken from it, and those that it alone has are
    /// added. Both must lie in the same coordinates. What cannot be told to be the same stays.
    #[must_use]
    pub fn merged(&self, other: &Self) -> Self {
        let mut merged = self.clone();
        merged.outer = merged_outer(&self.outer, &other.outer.edges().collect::<Vec<_>>());
        for cutout in &other.cutouts {
            let alike = merged.cutouts.iter().position(|own| is_same(own, cutout));
            match alike {
                Some(at) if cutout.give_or_take() < merged.cutouts[at].give_or_take() => {
                    merged.cutouts[at] = cutout.clone();
                }
                Some(_) => {}
                None => merged.cutouts.push(cutout.clone()),
            }
        }
        merged.unknown.extend(other.unknown.iter().cloned());
        merged.residuals.extend(other.residuals.iter().cloned());
        merged
    }

    /// This with what the machine's pointer says better. Points that go once round the sheet are brought to
    /// its datum corner first; where they are only on one or two of its straight edges, or on cut-outs, they
    /// were measured from there.
    ///
    /// # Errors
    /// All that is wrong with the points.
    pub fn sharpened(&self, rings: &[Ring], how: Pointing) -> Result<Self, Vec<PointsFault>> {
        let is_some = |r: &Ring| {
            !r.is_cutout
                && r.groups.len() < 3
                && r.groups.iter().all(|g| g.feature == Feature::Edge)
        };
        let (some, whole): (Vec<Ring>, Vec<Ring>) = rings.iter().cloned().partition(is_some);
        if some.is_empty() && whole.iter().any(|r| !r.is_cutout) {
            return Ok(self.merged(&capture_points(&whole, how)?.at_datum()));
        }
        let (cutouts, residuals) = capture_cutouts(&whole, how)?;
        let outer = self.outer.clone();
        let mut merged = self.merged(&Self { cutouts, residuals, ..Self::of_outer(outer) });
        for group in some.iter().flat_map(|r| &r.groups) {
            let few =
                PointsFault::TooFew { of: "edge".into(), found: group.points.len(), needed: 2 };
            let line = Line::of(&group.points).ok_or_else(|| vec![few])?;
            let found: Vec<_> =
                merged.outer.edges().filter_map(|(e, _)| carried(&e, &line, group, how)).collect();
            merged.outer = merged_outer(&merged.outer, &found);
            let off =
                |p: &Point<SheetSpace>| Residual { of: "edge".into(), at: *p, off: line.off(*p) };
            merged.residuals.extend(group.points.iter().map(off));
        }
        Ok(merged)
    }
}

/// An edge where a line that was measured beside it has it, over its whole length; `None` where no point of the
/// line lies beside it.
fn carried(
    edge: &Edge<SheetSpace>,
    line: &Line,
    group: &Group,
    how: Pointing,
) -> Option<(Edge<SheetSpace>, Known)> {
    let Edge::Line { from, to } = edge else { return None };
    let along = (*to - *from).unit()?;
    let beside = |p: &Point<SheetSpace>| (0.0..=edge.length()).contains(&along.dot(*p - *from));
    group.points.iter().any(beside).then(|| {
        let worst = group.points.iter().map(|p| line.off(*p).abs()).fold(0.0, f64::max);
        let give_or_take = unsure_along(line, [*from, *to], how.give_or_take.max(worst));
        let known = Known { facts: EdgeFacts { kind: how.outer, give_or_take }, how: How::Pointer };
        (Edge::new(line.foot(*from), line.foot(*to), 0.0), known)
    })
}

/// Whether two rims are of one cut-out: about as large, and where the other is.
fn is_same(a: &Rim, b: &Rim) -> bool {
    let slack = STRAYED * (a.give_or_take() + b.give_or_take());
    let apart = a.shape().centroid().distance(b.shape().centroid());
    let (p, q) = (a.shape().bounds(), b.shape().bounds());
    apart <= slack
        && (p.width() - q.width()).abs() <= 2.0 * slack
        && (p.height() - q.height()).abs() <= 2.0 * slack
}

fn merged_outer(own: &Rim, other: &[(Edge<SheetSpace>, Known)]) -> Rim {
    // As many straight edges that match as there are: another outline of the same sheet, or points
    // on some of its edges, made into one.
    let own_edges: Vec<_> = own.edges().collect();
    let better: Vec<Option<(Line, Known)>> = own_edges
        .iter()
        .map(|(edge, known)| {
            let matching = other.iter().copied().filter(|(e, k)| {
                k.facts.give_or_take < known.facts.give_or_take && is_one_edge(edge, known, e, k)
            });
            let nearest = matching.min_by(|a, b| {
                let off = |e: &Edge<SheetSpace>| e.nearest(edge.at(0.5)).distance(edge.at(0.5));
                off(&a.0).total_cmp(&off(&b.0))
            });
            nearest.and_then(|(e, k)| Some((Line::of(&[e.from(), e.to()])?, k)))
        })
        .collect();
    if better.iter().all(Option::is_none) {
        return own.clone();
    }
    let n = own_edges.len();
    let line_of = |i: usize| match (&better[i], &own_edges[i].0) {
        (Some((line, _)), _) => Some(*line),
        (None, Edge::Line { from, to }) => Line::of(&[*from, *to]),
        (None, Edge::Arc { .. }) => None,
    };
    // Where edge `i` begins.
    let corner = |i: usize| -> Point<SheetSpace> {
        let before = (i + n - 1) % n;
        let was = own_edges[i].0.from();
        if better[i].is_none() && better[before].is_none() {
            return was;
        }
        match (line_of(before), line_of(i)) {
            (Some(a), Some(b)) => a.meets(&b, ALIKE).unwrap_or_else(|| b.foot(was)),
            (Some(line), None) | (None, Some(line)) => line.foot(was),
            (None, None) => was,
        }
    };
    let edges = (0..n)
        .map(|i| {
            let (edge, known) = &own_edges[i];
            let moved = Edge::new(corner(i), corner((i + 1) % n), edge.bulge());
            (
                moved,
                better[i].map_or(*known, |(_, k)| Known {
                    facts: EdgeFacts { kind: known.facts.kind, ..k.facts },
                    how: k.how,
                }),
            )
        })
        .collect();
    Rim::of_edges(edges).unwrap_or_else(|_| own.clone())
}

/// Whether two edges are one straight edge of the sheet.
fn is_one_edge(
    a: &Edge<SheetSpace>,
    known_a: &Known,
    b: &Edge<SheetSpace>,
    known_b: &Known,
) -> bool {
    let (Edge::Line { from, to }, Edge::Line { .. }) = (a, b) else { return false };
    let slack = STRAYED * (known_a.facts.give_or_take + known_b.facts.give_or_take);
    let Some(line) = Line::of(&[b.from(), b.to()]) else { return false };
    let straight =
        a.direction(0.5).cross(b.direction(0.5)).abs() < ALIKE.max(2.0 * slack / a.length());
    // Alongside each other for half the length of the shorter.
    let along = |p: Point<SheetSpace>| line.along.dot(p - b.from());
    let (low, high) = (along(*from).min(along(*to)), along(*from).max(along(*to)));
    let shared = high.min(b.length()) - low.max(0.0);
    straight
        && shared >= 0.5 * a.length().min(b.length())
        && [*from, *to].iter().all(|p| line.off(*p).abs() <= slack)
}

#[cfg(test)]
mod tests {
    use super::super::rows::read_rows;
    use super::*;
    use crate::shape::Loop;
    use crate::sheet::EdgeKind;
    use crate::units::LengthUnit;

    fn known(give_or_take: f64, how: How) -> Known {
        Known { facts: EdgeFacts { kind: EdgeKind::Sheared, give_or_take }, how }
    }

    fn rectangle(max: (f64, f64), give_or_take: f64, how: How) -> Captured {
        let shape = Loop::rectangle(Point::origin(), Point::new(max.0, max.1)).unwrap();
        Captured::of_outer(Rim::uniform(shape, known(give_or_take, how)))
    }

    fn circle(x: f64, r: f64, give_or_take: f64, how: How) -> Rim {
        Rim::uniform(Loop::circle(Point::new(x, 100.0), r).unwrap(), known(give_or_take, how))
    }

    #[test]
    fn the_better_known_edge_wins_and_its_corners_follow() {
        let mut photo = rectangle((1002.0, 499.0), 3.0, How::Photo);
        photo.cutouts =
            vec![circle(200.0, 20.5, 3.0, How::Photo), circle(400.0, 9.0, 3.0, How::Photo)];
        let mut points = rectangle((1000.0, 700.0), 0.5, How::Pointer);
        points.cutouts =
            vec![circle(201.0, 20.0, 0.5, How::Pointer), circle(800.0, 5.0, 0.5, How::Pointer)];
        let merged = photo.merged(&points);
        // The upper edge is too far off to be the same; the others are moved.
        let corners: Vec<_> = merged.outer.shape().vertices().iter().map(|v| v.point).collect();
        let expected = [(0.0, 0.0), (1000.0, 0.0), (1000.0, 499.0), (0.0, 499.0)];
        for (c, (x, y)) in corners.iter().zip(expected) {
            assert!(c.distance(Point::new(x, y)) < 1e-9, "{c:?}");
        }
        let hows: Vec<How> = merged.outer.known().iter().map(|k| k.how).collect();
        assert_eq!(hows, [How::Pointer, How::Pointer, How::Photo, How::Pointer]);
        let holes: Vec<(f64, How)> = merged
            .cutouts
            .iter()
            .map(|c| (c.shape().as_circle().unwrap().0.x.round(), c.known()[0].how))
            .collect();
        assert_eq!(holes, [(201.0, How::Pointer), (400.0, How::Photo), (800.0, How::Pointer)]);
    }

    #[test]
    fn points_on_the_edge_that_matters_move_it_alone() {
        let mut photo = rectangle((1002.0, 499.0), 3.0, How::Photo);
        photo.cutouts = vec![circle(200.0, 20.5, 3.0, How::Photo)];
        let sharpened = |text: &str| {
            let rings = read_rows(text, LengthUnit::Mm).unwrap();
            photo.sharpened(&rings, Pointing::default())
        };
        let with = sharpened("edge\n1000,50\n1000,450\ncircle\n220,100\n200,120\n180,100").unwrap();
        let corners: Vec<_> = with.outer.shape().vertices().iter().map(|v| v.point).collect();
        for (c, (x, y)) in
            corners.iter().zip([(0.0, 0.0), (1000.0, 0.0), (1000.0, 499.0), (0.0, 499.0)])
        {
            assert!(c.distance(Point::new(x, y)) < 1e-9, "{c:?}");
        }
        let hows: Vec<How> = with.outer.known().iter().map(|k| k.how).collect();
        assert_eq!(hows, [How::Photo, How::Pointer, How::Photo, How::Photo]);
        // Known best between the points: at its ends a little worse than a point.
        let give_or_take = with.outer.known()[1].facts.give_or_take;
        assert!(give_or_take > 0.5 && give_or_take < 0.8, "{give_or_take}");
        assert_eq!(with.cutouts[0].known()[0].how, How::Pointer);
        // What is no edge of the sheet changes none; one point is no edge.
        let elsewhere = sharpened("edge\n700,50\n700,450").unwrap();
        assert_eq!(elsewhere.outer, photo.outer);
        assert!(sharpened("edge\n1000,50").is_err());
    }

    #[test]
    fn what_is_known_worse_changes_nothing() {
        let mut points = rectangle((1000.0, 500.0), 0.5, How::Pointer);
        points.cutouts = vec![circle(200.0, 20.0, 0.5, How::Pointer)];
        let mut photo = rectangle((1001.0, 501.0), 3.0, How::Photo);
        photo.cutouts = vec![circle(201.0, 20.5, 3.0, How::Photo)];
        assert_eq!(points.merged(&photo), points);
    }
}
