//! A sheet by points from the machine's pointer.
//!
//! Straight edges meet in corners, runs of points and corners are joined to the edges beside them, a
//! circle needs three points. How far each point lies from what was made of all is told.

use super::fit::{Circle, Line};
use super::rows::{Feature, Group, Ring};
use super::trace::{trace_closed, trace_open};
use super::{Captured, How, Known, Residual, Rim};
use crate::shape::{Edge, Loop, Point, SheetSpace};
use crate::sheet::{EdgeFacts, EdgeKind};

type P = Point<SheetSpace>;

/// How far (mm) a pointed-at place may be off.
pub const POINTER: f64 = 0.5;
/// Lines and arcs follow free runs to this (mm).
const FREE_TOLERANCE: f64 = 0.6;
/// Both ends of an edge are within it as often as a single point is within what it may be off: of
/// two independent normal numbers both are within 2.24 in 95 of 100, one is within 1.96.
const BOTH_ENDS: f64 = 2.24 / 1.96;
/// Edges that meet at less than this (radians) run alongside each other.
const ALONGSIDE: f64 = 0.08;

/// What points may be off, and what is not said by them.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Pointing {
    /// How the outer edge was made.
    pub outer: EdgeKind,
    /// How far (mm) each point may be off.
    pub give_or_take: f64,
}

impl Default for Pointing {
    fn default() -> Self {
        Self { outer: EdgeKind::default(), give_or_take: POINTER }
    }
}

/// Why points make no sheet.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum PointsFault {
    /// No outer edge among so many cut-outs.
    #[error("no outer edge is among them{}; measure its edges, two points on each", besides(*.0))]
    NoOuter(usize),
    /// More than one.
    #[error("there are {0} outer edges; begin what is cut out with the word cutout")]
    SeveralOuters(usize),
    /// Too few.
    #[error("{of}: {found} points are too few; it takes {needed}, some way apart")]
    TooFew {
        /// What.
        of: String,
        /// How many there are.
        found: usize,
        /// How many it takes.
        needed: usize,
    },
    /// Not closed.
    #[error("{0}: edges {1} and {2} run alongside each other; measure the edge between them")]
    Alongside(String, usize, usize),
    /// Nothing enclosed.
    #[error("{0} encloses nothing; measure its edges in order, once round")]
    NoLoop(String),
}

/// “, only 2 cut-outs”.
fn besides(cutouts: usize) -> String {
    match cutouts {
        0 => String::new(),
        1 => ", only 1 cut-out".to_owned(),
        n => format!(", only {n} cut-outs"),
    }
}

/// What points say of a sheet.
///
/// # Errors
/// All that is wrong.
pub fn capture_points(rings: &[Ring], how: Pointing) -> Result<Captured, Vec<PointsFault>> {
    let mut found = Found::of(rings, how);
    match (found.outers.len(), found.faults.is_empty()) {
        (0, true) => found.faults.push(PointsFault::NoOuter(found.cutouts.len())),
        (n @ 2.., _) => found.faults.push(PointsFault::SeveralOuters(n)),
        _ => {}
    }
    match found.outers.pop() {
        Some(outer) if found.faults.is_empty() => {
            let Found { cutouts, residuals, .. } = found;
            Ok(Captured { cutouts, residuals, ..Captured::of_outer(outer) })
        }
        _ => Err(found.faults),
    }
}

/// What points say of cut-outs alone.
///
/// # Errors
/// All that is wrong.
pub(super) fn capture_cutouts(
    rings: &[Ring],
    how: Pointing,
) -> Result<(Vec<Rim>, Vec<Residual>), Vec<PointsFault>> {
    let found = Found::of(rings, how);
    if found.faults.is_empty() { Ok((found.cutouts, found.residuals)) } else { Err(found.faults) }
}

/// How far (mm) a line that was measured to so much a point may be off between two places of it.
pub(super) fn unsure_along(line: &Line, ends: [P; 2], each: f64) -> f64 {
    let unsure = ends.map(|p| line.unsure(p, each));
    round_up((BOTH_ENDS * unsure[0].max(unsure[1])).max(each))
}

/// What rings of points go round.
#[derive(Default)]
struct Found {
    outers: Vec<Rim>,
    cutouts: Vec<Rim>,
    residuals: Vec<Residual>,
    faults: Vec<PointsFault>,
}

impl Found {
    fn of(rings: &[Ring], how: Pointing) -> Self {
        let mut found = Self::default();
        for ring in rings {
            let name = match ring.is_cutout {
                true => format!("cut-out {}", found.cutouts.len() + 1),
                false => "outer edge".to_owned(),
            };
            let kind = if ring.is_cutout { EdgeKind::OwnCut } else { how.outer };
            match closed(&name, ring, kind, how.give_or_take, &mut found.residuals) {
                Ok(rim) if ring.is_cutout => found.cutouts.push(rim),
                Ok(rim) => found.outers.push(rim),
                Err(fault) => found.faults.push(fault),
            }
        }
        found
    }
}

/// What a group of points became: a line that ends where it meets its neighbours, or a chain of
/// edges with ends of its own.
enum Stretch {
    Line(Line, f64),
    Chain(Vec<Edge<SheetSpace>>, f64),
}

fn closed(
    name: &str,
    ring: &Ring,
    kind: EdgeKind,
    each: f64,
    residuals: &mut Vec<Residual>,
) -> Result<Rim, PointsFault> {
    let known = |give_or_take| Known {
        facts: EdgeFacts { kind, give_or_take: round_up(give_or_take) },
        how: How::Pointer,
    };
    if let [Group { feature, points }] = &ring.groups[..] {
        let few = |needed| PointsFault::TooFew { of: name.to_owned(), found: points.len(), needed };
        let no_loop = |_| PointsFault::NoLoop(name.to_owned());
        match feature {
            Feature::Circle => {
                let circle = Circle::of(points).ok_or_else(|| few(3))?;
                note(residuals, name, points, |p| circle.off(p));
                let unsure =
                    circle.unsure(points, each).max(each).max(worst(points, |p| circle.off(p)));
                if unsure > circle.radius {
                    return Err(few(3));
                }
                let shape = Loop::circle(circle.centre, circle.radius).map_err(no_loop)?;
                return Ok(Rim::uniform(shape, known(unsure)));
            }
            Feature::Free => {
                let traced = trace_closed(points, FREE_TOLERANCE).ok_or_else(|| few(3))?;
                let edges: Vec<_> = traced.shape.edges().collect();
                note(residuals, name, points, |p| from_edges(&edges, p));
                return Ok(Rim::uniform(traced.shape, known(each + traced.off)));
            }
            Feature::Corners => {
                let shape = Loop::polygon(points.iter().copied()).map_err(no_loop)?;
                return Ok(Rim::uniform(shape, known(each)));
            }
            Feature::Edge => {}
        }
    }
    let mut stretches = Vec::new();
    for (i, group) in ring.groups.iter().enumerate() {
        let of = format!("{name}, {} {}", group.feature.name(), i + 1);
        stretches.push(stretch(&of, group, each, residuals)?);
    }
    let edges = joined(name, &stretches)?;
    let edges = edges.into_iter().map(|(edge, off)| (edge, known(off))).collect();
    Rim::of_edges(edges).map_err(|_| PointsFault::NoLoop(name.to_owned()))
}

fn stretch(
    of: &str,
    group: &Group,
    each: f64,
    residuals: &mut Vec<Residual>,
) -> Result<Stretch, PointsFault> {
    let points = &group.points;
    let few = |needed| PointsFault::TooFew { of: of.to_owned(), found: points.len(), needed };
    match group.feature {
        Feature::Edge => {
            let line = Line::of(points).ok_or_else(|| few(2))?;
            note(residuals, of, points, |p| line.off(p));
            Ok(Stretch::Line(line, each.max(worst(points, |p| line.off(p)))))
        }
        Feature::Free if points.len() >= 2 => {
            let (edges, off) = trace_open(points, FREE_TOLERANCE);
            note(residuals, of, points, |p| from_edges(&edges, p));
            if edges.is_empty() { Err(few(2)) } else { Ok(Stretch::Chain(edges, each + off)) }
        }
        Feature::Corners if points.len() >= 2 => {
            let edges = points.windows(2).map(|p| Edge::new(p[0], p[1], 0.0)).collect();
            Ok(Stretch::Chain(edges, each))
        }
        Feature::Free | Feature::Corners => Err(few(2)),
        // A circle among edges is a rim of its own; the rows keep them apart.
        Feature::Circle => Err(few(3)),
    }
}

/// The stretches joined once round, each edge with how far it may be off.
fn joined(name: &str, stretches: &[Stretch]) -> Result<Vec<(Edge<SheetSpace>, f64)>, PointsFault> {
    let n = stretches.len();
    // Where each stretch ends and the next begins: one point where lines meet, else two.
    let mut joints = Vec::with_capacity(n);
    for i in 0..n {
        let (a, b) = (&stretches[i], &stretches[(i + 1) % n]);
        joints.push(match (a, b) {
            (Stretch::Line(a, _), Stretch::Line(b, _)) => {
                let fault = || PointsFault::Alongside(name.to_owned(), i + 1, (i + 1) % n + 1);
                let corner = a.meets(b, ALONGSIDE).ok_or_else(fault)?;
                (corner, corner)
            }
            (Stretch::Line(a, _), Stretch::Chain(b, _)) => (a.foot(b[0].from()), b[0].from()),
            (Stretch::Chain(a, _), Stretch::Line(b, _)) => {
                let end = a[a.len() - 1].to();
                (end, b.foot(end))
            }
            (Stretch::Chain(a, _), Stretch::Chain(b, _)) => (a[a.len() - 1].to(), b[0].from()),
        });
    }
    let mut edges = Vec::new();
    for (i, stretch) in stretches.iter().enumerate() {
        let (start, end) = (joints[(i + n - 1) % n].1, joints[i].0);
        let off = match stretch {
            Stretch::Line(line, each) => {
                edges.push((Edge::new(start, end, 0.0), unsure_along(line, [start, end], *each)));
                *each
            }
            Stretch::Chain(chain, each) => {
                edges.extend(chain.iter().map(|e| (*e, *each)));
                *each
            }
        };
        if joints[i].0.distance(joints[i].1) > 1e-9 {
            edges.push((Edge::new(joints[i].0, joints[i].1, 0.0), off));
        }
    }
    Ok(edges)
}

fn from_edges(edges: &[Edge<SheetSpace>], p: P) -> f64 {
    edges.iter().map(|e| e.nearest(p).distance(p)).fold(f64::MAX, f64::min)
}

fn worst(points: &[P], off: impl Fn(P) -> f64) -> f64 {
    points.iter().map(|p| off(*p).abs()).fold(0.0, f64::max)
}

fn note(residuals: &mut Vec<Residual>, of: &str, points: &[P], off: impl Fn(P) -> f64) {
    residuals.extend(points.iter().map(|p| Residual { of: of.to_owned(), at: *p, off: off(*p) }));
}

/// To the next hundredth of a millimetre.
fn round_up(mm: f64) -> f64 {
    (mm * 100.0 - 1e-9).ceil() / 100.0
}

#[cfg(test)]
mod tests {
    use super::super::rows::read_rows;
    use super::*;
    use crate::shape::{Pose, Vector};
    use crate::units::LengthUnit;

    fn captured(text: &str) -> Result<Captured, Vec<PointsFault>> {
        capture_points(&read_rows(text, LengthUnit::Mm).unwrap(), Pointing::default())
    }

    #[test]
    fn four_edges_meet_in_corners() {
        let text = "edge\n100,0\n900,0\n\n1000,50\n1000,450\n\n900,500\n100,500\n\n0,450\n0,50\n\
                    circle\n220,100\n200,120\n180,100";
        let captured = captured(text).unwrap();
        assert!((captured.outer.shape().area() - 1000.0 * 500.0).abs() < 1e-6);
        let (centre, radius) = captured.cutouts[0].shape().as_circle().unwrap();
        assert!(centre.distance(Point::new(200.0, 100.0)) < 1e-6 && (radius - 20.0).abs() < 1e-6);
        assert!(captured.residuals.iter().all(|r| r.off.abs() < 1e-6));
        assert_eq!(captured.residuals.len(), 11);
        // Measured near its ends an edge is nearly as sure as the points themselves.
        assert!(captured.outer.give_or_take() < 0.7, "{}", captured.outer.give_or_take());
    }

    #[test]
    fn a_free_run_joins_the_edges_beside_it() {
        // A quarter circle of 100 mm at the upper right corner.
        let mut text = "edge\n10,0\n390,0\n\n400,10\n400,190\nfree\n".to_owned();
        for i in 0..=12 {
            let angle = std::f64::consts::FRAC_PI_2 * f64::from(i) / 12.0;
            text += &format!("{},{}\n", 300.0 + 100.0 * angle.cos(), 200.0 + 100.0 * angle.sin());
        }
        text += "edge\n290,300\n10,300\n\n0,290\n0,10\n";
        let captured = captured(&text).unwrap();
        let expected = 400.0 * 300.0 - (1.0 - std::f64::consts::FRAC_PI_4) * 1e4;
        let area = captured.outer.shape().area();
        assert!((area - expected).abs() < 30.0, "{area} {expected}");
        assert!(captured.outer.shape().vertices().iter().any(|v| v.bulge.abs() > 0.3));
    }

    #[test]
    fn what_does_not_close_is_said() {
        let alongside = captured("edge\n0,0\n9,0\n\n0,5\n9,5\n").unwrap_err();
        assert!(matches!(alongside[..], [PointsFault::Alongside(..)]), "{alongside:?}");
        let few = captured("edge\n0,0\n9,0\n\n9,1\n\n9,9\n0,9\n\n0,8\n0,1").unwrap_err();
        assert!(matches!(few[..], [PointsFault::TooFew { found: 1, .. }]), "{few:?}");
        let flat = captured("corners\n0,0\n9,0\n9,9\n0,9\ncircle\n1,1\n2,2\n3,3").unwrap_err();
        assert!(matches!(flat[..], [PointsFault::TooFew { .. }]), "{flat:?}");
        assert_eq!(captured("").unwrap_err(), [PointsFault::NoOuter(0)]);
        let [fault] = &captured("cutout\n1,1\n2,1\n2,2").unwrap_err()[..] else { panic!() };
        assert_eq!(*fault, PointsFault::NoOuter(1));
        assert!(fault.to_string().starts_with("no outer edge is among them, only 1 cut-out;"));
    }

    /// A thousand sheets, each measured with noise of a quarter of a millimetre: what is said of an
    /// edge holds for its whole length in 95 of 100.
    #[test]
    fn give_or_take_holds_for_95_of_100_edges() {
        let mut random = fastrand::Rng::with_seed(3);
        let mut normal = move || {
            let (u, v) = (random.f64().max(1e-12), random.f64());
            0.25 * (-2.0 * u.ln()).sqrt() * (std::f64::consts::TAU * v).cos()
        };
        let corners = [(0.0, 0.0), (1200.0, 0.0), (1200.0, 800.0), (0.0, 800.0)];
        let (mut held, mut all) = (0, 0);
        for trial in 0..1000 {
            let turn = f64::from(trial) * 0.01;
            let pose: Pose<SheetSpace, SheetSpace> =
                Pose::new(Vector::new(50.0, 70.0), turn, false);
            let at = |i: usize| pose.apply(Point::new(corners[i % 4].0, corners[i % 4].1));
            let mut text = "edge\n".to_owned();
            for i in 0..4 {
                for share in [0.1, 0.9] {
                    let p = at(i) + (at(i + 1) - at(i)) * share;
                    text += &format!("{}, {}\n", p.x + normal(), p.y + normal());
                }
                text += "\n";
            }
            let captured = captured(&text).unwrap();
            for (i, (edge, known)) in captured.outer.edges().enumerate() {
                // The first edge runs from its meeting with the last.
                let line = Line::of(&[at(i), at(i + 1)]).unwrap();
                let off = line.off(edge.from()).abs().max(line.off(edge.to()).abs());
                all += 1;
                held += usize::from(off <= known.facts.give_or_take);
            }
        }
        assert_eq!(all, 4000);
        assert!(held >= 3800, "{held} of {all}");
    }
}
