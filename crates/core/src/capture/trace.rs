//! A run of points, as from a pointer led along a free edge or from a photograph, as lines and arcs.
//!
//! Of all ways to part the run into stretches the one is taken that costs least: each line and arc
//! costs a fixed amount, and the squares of how far points lie from it. Neighbours then meet where
//! they cross, or where the run passes from one to the other. A closed run is first tried as one
//! circle, and as a slot.

use super::fit::{Circle, Line, Slot, solve};
use super::typed::slot;
use crate::shape::{Edge, Loop, Point, SheetSpace, Vector, Vertex};

type P = Point<SheetSpace>;

/// What a line and an arc cost, in squares of what a point is expected to be off. An arc costs more,
/// since it has one more number to fit points with.
const LINE_COSTS: f64 = 14.0;
const ARC_COSTS: f64 = 22.0;
/// Points are expected to be off by this share of the tolerance.
const EXPECTED: f64 = 0.35;
/// Stretches end at no more places than this, spread over the points, each where the run turns most.
const MOST_STOPS: usize = 480;
/// An arc turns by at least this (radians), or its radius means nothing.
const LEAST_SWEEP: f64 = 0.12;
/// More points than this are thinned out: no rim needs them.
const MOST_POINTS: usize = 6_000;

/// What a closed run was taken for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Form {
    /// One circle.
    Circle,
    /// A slot with round ends.
    Slot,
    /// Straight edges alone.
    Polygon,
    /// Lines and arcs.
    Free,
}

/// A closed run as lines and arcs.
#[derive(Clone, Debug, PartialEq)]
pub struct Traced {
    /// What it was taken for.
    pub form: Form,
    /// Its lines and arcs.
    pub shape: Loop<SheetSpace>,
    /// The farthest that a point lies from them, mm.
    pub off: f64,
}

/// The lines and arcs of a closed run of points, each point within about `tolerance` mm of them;
/// `None` where it encloses nothing.
pub fn trace_closed(points: &[P], tolerance: f64) -> Option<Traced> {
    let points = thinned(points);
    if points.len() < 3 {
        return None;
    }
    let worst = |off: &dyn Fn(P) -> f64| points.iter().map(|p| off(*p).abs()).fold(0.0, f64::max);
    if points.len() >= 5 {
        if let Some(circle) = Circle::of(&points) {
            let off = worst(&|p| circle.off(p));
            if off <= tolerance && turns_once(&points, circle.centre) {
                let shape = Loop::circle(circle.centre, circle.radius).ok()?;
                return Some(Traced { form: Form::Circle, shape, off });
            }
        }
        if let Some(found) = Slot::of(&points) {
            let off = worst(&|p| found.off(p));
            let long = found.half.length() > 2.0 * tolerance;
            if off <= tolerance && long && turns_once(&points, found.centre) {
                let shape = slot(found.centre, found.half, found.radius).ok()?;
                return Some(Traced { form: Form::Slot, shape, off });
            }
        }
    }
    // Begun where a stretch ends, so that no line or arc is cut in two by where the run starts.
    let mut round = points.clone();
    round.rotate_left(stretches(&points, tolerance).first()?.to % points.len());
    let stretches = stretches(&round, tolerance);
    let shape = chained(&round, &stretches, true, tolerance)?;
    let straight = shape.vertices().iter().all(|v| v.bulge == 0.0);
    let edges: Vec<_> = shape.edges().collect();
    let off = worst(&|p| edges.iter().map(|e| e.nearest(p).distance(p)).fold(f64::MAX, f64::min));
    let form = if straight { Form::Polygon } else { Form::Free };
    Some(Traced { form, shape, off })
}

/// The lines and arcs of an open run, from its first point to its last, and the farthest (mm) that a
/// point lies from them.
pub fn trace_open(points: &[P], tolerance: f64) -> (Vec<Edge<SheetSpace>>, f64) {
    let points = thinned(points);
    if points.len() < 2 {
        return (Vec::new(), 0.0);
    }
    let stretches = stretches(&points, tolerance);
    let vertices = joints(&points, &stretches, false, tolerance);
    let ends = vertices.windows(2).zip(&stretches);
    let edges: Vec<Edge<SheetSpace>> = ends
        .filter(|(p, _)| p[0].distance(p[1]) > 1e-6)
        .map(|(p, s)| Edge::new(p[0], p[1], s.bulge(p[0], p[1], &points)))
        .collect();
    let nearest = |p: &P| edges.iter().map(|e| e.nearest(*p).distance(*p)).fold(f64::MAX, f64::min);
    let off = points.iter().map(nearest).fold(0.0, f64::max);
    (edges, off)
}

/// Neighbouring points that are one left out, and no more points than [`MOST_POINTS`].
fn thinned(points: &[P]) -> Vec<P> {
    let step = points.len().div_ceil(MOST_POINTS).max(1);
    let mut kept: Vec<P> = points.iter().copied().filter(|p| p.is_finite()).step_by(step).collect();
    kept.dedup_by(|a, b| a.distance(*b) < 1e-9);
    if kept.len() > 1 && kept[0].distance(kept[kept.len() - 1]) < 1e-9 {
        kept.pop();
    }
    kept
}

/// Whether points run once round a middle, with no gap of a third of a turn.
fn turns_once(points: &[P], middle: P) -> bool {
    let next = points.iter().skip(1).chain(points.first());
    let mut sum = 0.0_f64;
    for (a, b) in points.iter().zip(next) {
        let (a, b) = (*a - middle, *b - middle);
        let turn = a.cross(b).atan2(a.dot(b));
        if turn.abs() > std::f64::consts::TAU / 3.0 + 1e-6 {
            return false;
        }
        sum += turn;
    }
    (sum.abs() - std::f64::consts::TAU).abs() < 0.1
}

#[derive(Clone, Copy, Debug)]
enum Figure {
    Line(Line),
    Arc(Circle),
}

impl Figure {
    fn foot(&self, p: P) -> P {
        match self {
            Self::Line(line) => line.foot(p),
            Self::Arc(circle) => {
                (p - circle.centre).unit().map_or(p, |u| circle.centre + u * circle.radius)
            }
        }
    }
}

/// Points from one index to before another, which is the first of the next stretch.
#[derive(Clone, Copy, Debug)]
struct Stretch {
    from: usize,
    to: usize,
    figure: Figure,
}

/// The stretches that cost least: for each place the best way to get there is found from those
/// before it.
fn stretches(points: &[P], tolerance: f64) -> Vec<Stretch> {
    let stops = stops(points);
    let sums = Sums::of(points);
    let square = (EXPECTED * tolerance).powi(2);
    let mut best: Vec<(f64, usize, bool)> = vec![(0.0, 0, false)];
    for (j, to) in stops.iter().enumerate().skip(1) {
        let ways = (0..j).map(|i| {
            let from = stops[i];
            let line = LINE_COSTS + sums.off_line(from, *to) / square;
            let arc = ARC_COSTS + sums.off_arc(points, from, *to) / square;
            (best[i].0 + line.min(arc), i, arc < line)
        });
        let least = ways.min_by(|a, b| a.0.total_cmp(&b.0));
        best.push(least.unwrap_or((0.0, 0, false)));
    }
    let mut found = Vec::new();
    let mut at = stops.len() - 1;
    while at > 0 {
        let (_, before, is_arc) = best[at];
        let (from, to) = (stops[before], stops[at]);
        let run = &points[from..to];
        let arc = if is_arc { Circle::of(run).map(Figure::Arc) } else { None };
        let line = || {
            let along = Vector::new(1.0, 0.0);
            Figure::Line(Line::of(run).unwrap_or(Line::through(points[from], along)))
        };
        found.push(Stretch { from, to, figure: arc.unwrap_or_else(line) });
        at = before;
    }
    found.reverse();
    found
}

/// Where stretches may begin and end. Of a long run not every point can be tried: of so many beside each
/// other the one is, that the run turns most before.
fn stops(points: &[P]) -> Vec<usize> {
    let n = points.len();
    let step = n.div_ceil(MOST_STOPS).max(1);
    let turn = |i: usize| {
        let into = points[i - 1] - points[(i - 1).saturating_sub(step)];
        let on = points[(i + step).min(n - 1)] - points[i];
        into.cross(on).atan2(into.dot(on)).abs()
    };
    let most =
        |from: usize| (from..(from + step).min(n)).max_by(|a, b| turn(*a).total_cmp(&turn(*b)));
    let inner = (1..n).step_by(step).filter_map(most);
    [0].into_iter().chain(inner).chain([n]).collect()
}

/// Sums over the first points of 1, x, y, x², xy, y², xz, yz, z and z², z being x² + y², from which
/// the least squares of any stretch follow.
struct Sums {
    middle: P,
    upto: Vec<[f64; 10]>,
}

impl Sums {
    fn of(points: &[P]) -> Self {
        let middle = crate::shape::Bounds::of(points.iter().copied()).centre();
        let mut sum = [0.0; 10];
        let mut upto = vec![sum];
        for p in points {
            let (d, z) = (*p - middle, (*p - middle).length_squared());
            let terms =
                [1.0, d.x, d.y, d.x * d.x, d.x * d.y, d.y * d.y, d.x * z, d.y * z, z, z * z];
            for (s, t) in sum.iter_mut().zip(terms) {
                *s += t;
            }
            upto.push(sum);
        }
        Self { middle, upto }
    }

    fn between(&self, from: usize, to: usize) -> [f64; 10] {
        std::array::from_fn(|k| self.upto[to][k] - self.upto[from][k])
    }

    /// The sum of squared distances (mm²) from the best line: the lesser eigenvalue of the spread.
    fn off_line(&self, from: usize, to: usize) -> f64 {
        let [n, x, y, xx, xy, yy, ..] = self.between(from, to);
        if n < 2.0 {
            return f64::INFINITY;
        }
        let (a, b, c) = (xx - x * x / n, xy - x * y / n, yy - y * y / n);
        (0.5 * (a + c - (a - c).hypot(2.0 * b))).max(0.0)
    }

    /// About the same from the best circle; infinite where it is hardly bent, or too few points tell.
    fn off_arc(&self, points: &[P], from: usize, to: usize) -> f64 {
        let [n, x, y, xx, xy, yy, xz, yz, z, zz] = self.between(from, to);
        if n < 5.0 {
            return f64::INFINITY;
        }
        let m =
            [[4.0 * xx, 4.0 * xy, 2.0 * x], [4.0 * xy, 4.0 * yy, 2.0 * y], [2.0 * x, 2.0 * y, n]];
        let r = [2.0 * xz, 2.0 * yz, z];
        let Some([a, b, c]) = solve(m, r) else { return f64::INFINITY };
        let square = c + a * a + b * b;
        let centre = self.middle + Vector::new(a, b);
        let (start, half, end) = (points[from], points[usize::midpoint(from, to)], points[to - 1]);
        let turned = |p: P, q: P| {
            let (p, q) = (p - centre, q - centre);
            p.cross(q).atan2(p.dot(q)).abs()
        };
        if square <= 0.0 || turned(start, half) + turned(half, end) < LEAST_SWEEP {
            return f64::INFINITY;
        }
        ((zz - a * r[0] - b * r[1] - c * r[2]) / (4.0 * square)).max(0.0)
    }
}

/// Where stretches begin and end: one more than there are, or for a closed run as many.
fn joints(points: &[P], stretches: &[Stretch], closed: bool, tolerance: f64) -> Vec<P> {
    let n = stretches.len();
    let between = |a: &Stretch, b: &Stretch| joint(points, a, b, tolerance);
    let mut at: Vec<P> = Vec::with_capacity(n + 1);
    at.push(match closed {
        true => between(&stretches[n - 1], &stretches[0]),
        false => stretches[0].figure.foot(points[0]),
    });
    at.extend(stretches.windows(2).map(|s| between(&s[0], &s[1])));
    if !closed {
        at.push(stretches[n - 1].figure.foot(points[points.len() - 1]));
    }
    at
}

/// Where one stretch passes into the next, near the last point of one and the first of the other.
fn joint(points: &[P], a: &Stretch, b: &Stretch, tolerance: f64) -> P {
    let (end, start) = (points[a.to - 1], points[b.from]);
    let shared = end.midpoint(start);
    let near = |p: &P| p.distance(shared) <= 12.0 * tolerance + end.distance(start);
    let met = match (&a.figure, &b.figure) {
        (Figure::Line(a), Figure::Line(b)) => a.meets(b, 0.02).into_iter().collect(),
        (Figure::Line(l), Figure::Arc(c)) | (Figure::Arc(c), Figure::Line(l)) => {
            line_and_circle(l, c)
        }
        (Figure::Arc(a), Figure::Arc(b)) => two_circles(a, b),
    };
    let nearest = met
        .into_iter()
        .filter(near)
        .min_by(|p, q| p.distance(shared).total_cmp(&q.distance(shared)));
    nearest.unwrap_or_else(|| a.figure.foot(shared).midpoint(b.figure.foot(shared)))
}

fn line_and_circle(line: &Line, circle: &Circle) -> Vec<P> {
    let foot = line.foot(circle.centre);
    let across = circle.radius.powi(2) - foot.distance(circle.centre).powi(2);
    if across <= 0.0 {
        return Vec::new();
    }
    let half = line.along * across.sqrt();
    vec![foot + half, foot - half]
}

fn two_circles(a: &Circle, b: &Circle) -> Vec<P> {
    let d = b.centre - a.centre;
    let Some(unit) = d.unit() else { return Vec::new() };
    let length = d.length();
    let along = (length * length + a.radius.powi(2) - b.radius.powi(2)) / (2.0 * length);
    let across = a.radius.powi(2) - along * along;
    if across <= 0.0 {
        return Vec::new();
    }
    let (foot, half) = (a.centre + unit * along, unit.left() * across.sqrt());
    vec![foot + half, foot - half]
}

impl Stretch {
    /// tan(sweep / 4) of its edge between two joints, through the middle of its points.
    fn bulge(&self, from: P, to: P, points: &[P]) -> f64 {
        let Figure::Arc(_) = &self.figure else { return 0.0 };
        let through = self.figure.foot(points[usize::midpoint(self.from, self.to)]);
        let (a, b) = (from - through, to - through);
        // The angle at a point of an arc over its chord is π less half the sweep.
        let seen = a.cross(b).atan2(a.dot(b));
        let half =
            if seen > 0.0 { std::f64::consts::PI - seen } else { -std::f64::consts::PI - seen };
        -(half / 2.0).tan()
    }
}

fn chained(
    points: &[P],
    stretches: &[Stretch],
    closed: bool,
    tolerance: f64,
) -> Option<Loop<SheetSpace>> {
    let at = joints(points, stretches, closed, tolerance);
    let n = stretches.len();
    let vertices = (0..n).map(|i| Vertex {
        point: at[i],
        bulge: stretches[i].bulge(at[i], at[(i + 1) % at.len()], points),
    });
    Loop::new(vertices).ok()
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    /// Points along a loop, `step` mm apart, each pushed aside by less than `noise` mm.
    fn run(shape: &Loop<SheetSpace>, step: f64, noise: f64, seed: u64) -> Vec<P> {
        let mut random = fastrand::Rng::with_seed(seed);
        let mut points = Vec::new();
        for edge in shape.edges() {
            let n = (edge.length() / step).ceil() as usize;
            for i in 0..n {
                let share = (i as f64 + 0.3) / n as f64;
                let aside = edge.direction(share).left() * (noise * (2.0 * random.f64() - 1.0));
                points.push(edge.at(share) + aside);
            }
        }
        points
    }

    fn rounded() -> Loop<SheetSpace> {
        // A plate of 300 × 200 with one corner rounded by 60 and one cut off.
        let bulge = (std::f64::consts::FRAC_PI_8).tan();
        Loop::new(
            [
                (0.0, 0.0, 0.0),
                (300.0, 0.0, 0.0),
                (300.0, 140.0, bulge),
                (240.0, 200.0, 0.0),
                (70.0, 200.0, 0.0),
                (0.0, 150.0, 0.0),
            ]
            .map(|(x, y, bulge)| Vertex { point: Point::new(x, y), bulge }),
        )
        .unwrap()
    }

    #[test]
    fn a_noisy_rim_comes_back_as_its_lines_and_arcs() {
        for seed in 0..20 {
            let truth = rounded();
            let traced = trace_closed(&run(&truth, 3.0, 0.3, seed), 0.6).unwrap();
            assert_eq!(traced.form, Form::Free);
            assert_eq!(traced.shape.vertices().len(), 6, "{:?}", traced.shape);
            for v in truth.vertices() {
                let near = traced.shape.vertices().iter();
                let off = near.map(|w| w.point.distance(v.point)).fold(f64::MAX, f64::min);
                // Where a line runs smoothly into an arc, along them the joint is hardly defined.
                let smooth = v.point.y == 140.0 || v.point.x == 240.0;
                assert!(off < if smooth { 12.0 } else { 1.0 }, "seed {seed}: {:?} {off}", v.point);
            }
            assert!((traced.shape.area() - truth.area()).abs() < 0.3 * truth.perimeter() * 0.3);
        }
    }

    #[test]
    fn circles_slots_and_polygons_are_told_apart() {
        let check = |shape: Loop<SheetSpace>, form: Form| {
            let traced = trace_closed(&run(&shape, 1.0, 0.15, 7), 0.4).unwrap();
            assert_eq!(traced.form, form);
            assert!((traced.shape.area() / shape.area() - 1.0).abs() < 0.02);
        };
        check(Loop::circle(Point::new(50.0, 80.0), 4.5).unwrap(), Form::Circle);
        check(slot(Point::new(5.0, 8.0), Vector::new(20.0, 9.0), 6.0).unwrap(), Form::Slot);
        let square = Loop::rectangle(Point::new(0.0, 0.0), Point::new(40.0, 25.0)).unwrap();
        check(square, Form::Polygon);
        check(rounded(), Form::Free);
    }

    #[test]
    fn an_open_run_keeps_its_ends() {
        let truth = rounded();
        let points: Vec<P> = run(&truth, 2.0, 0.0, 0).into_iter().take(240).collect();
        let (edges, off) = trace_open(&points, 0.2);
        assert!(off <= 0.25, "{off}");
        assert!(edges.len() <= 4 && edges.windows(2).all(|e| e[0].to() == e[1].from()));
        assert!(edges[0].from().distance(points[0]) < 0.3);
        assert!(edges[edges.len() - 1].to().distance(points[239]) < 0.3);
    }

    proptest! {
        /// Whatever is thrown at it, it answers, and what it answers is near the points.
        #[test]
        fn any_points_are_answered(
            raw in prop::collection::vec((-500.0..500.0f64, -500.0..500.0f64), 0..60),
        ) {
            let points: Vec<P> = raw.iter().map(|(x, y)| Point::new(*x, *y)).collect();
            let _ = trace_closed(&points, 0.5);
            let (edges, _) = trace_open(&points, 0.5);
            for e in &edges {
                prop_assert!(e.from().is_finite() && e.to().is_finite());
            }
        }
    }
}
