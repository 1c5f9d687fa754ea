//! Rims put right where something beside them led them astray: a slat that is seen through a hole, rust along its
//! rim. Nothing is put right by guessing: an edge goes where it should only if it is seen there.

use oddment_core::capture::fit::{Circle, Slot};
use oddment_core::capture::trace::{Form, Traced};
use oddment_core::capture::typed::slot;
use oddment_core::shape::{Edge, Loop, Point, SheetSpace, Vertex};

use crate::camera::Camera;
use crate::load::Photograph;
use crate::profile::step_near;

type P = Point<SheetSpace>;

/// Of a rim at least this share lies on its circle or slot before anything is put right.
const ON_IT: f64 = 0.6;
/// Of places beside each other this share must be seen, and no more than so many in a row not: a notch is not seen
/// across its mouth.
const SEEN: f64 = 0.85;
const MOST_UNSEEN: usize = 2;
/// How far (pixels) an edge may lie from where it should be.
const REACH: f64 = 3.0;
/// Beside a slat or rust an edge stands out less than elsewhere, by this.
const WEAKER: f64 = 0.5;
/// Fits settle in so many rounds, each on the points nearest to the last, so many of four.
const ROUNDS: usize = 6;
const NEAREST: usize = 3;
/// So many points tell a circle or a slot.
const ENOUGH: usize = 400;
/// Two sides are one where they turn by less than this, radians.
const STRAIGHT_ON: f64 = 0.03;
/// What stands out of a side has no more edges than this.
const MOST_EDGES: usize = 6;

/// Who looks for the edge of a rim, metal and what is beside it being so much lighter and darker.
pub(crate) struct Mender<'a> {
    pub(crate) photo: &'a Photograph,
    pub(crate) camera: &'a Camera,
    /// How much lighter one side is than the other.
    pub(crate) contrast: f64,
    /// Whether what is lighter lies within the rim.
    pub(crate) lighter_within: bool,
    /// Points within so much (mm) of a line or arc are on it.
    pub(crate) tolerance: f64,
}

#[derive(Clone, Copy)]
enum Whole {
    Circle(Circle),
    Slot(Slot),
}

impl Whole {
    fn of(form: Form, points: &[P]) -> Option<Self> {
        match form {
            Form::Circle => Circle::of(points).map(Self::Circle),
            _ => Slot::of(points).map(Self::Slot),
        }
    }

    fn off(&self, p: P) -> f64 {
        match self {
            Self::Circle(circle) => circle.off(p).abs(),
            Self::Slot(slot) => slot.off(p).abs(),
        }
    }

    fn shape(&self) -> Option<Loop<SheetSpace>> {
        match self {
            Self::Circle(c) => Loop::circle(c.centre, c.radius).ok(),
            Self::Slot(s) => slot(s.centre, s.half, s.radius).ok(),
        }
    }
}

impl Mender<'_> {
    /// The circle or slot that most of a rim lies on, where it is seen nearly all round.
    pub(crate) fn round(&self, points: &[P]) -> Option<Traced> {
        let step = points.len().div_ceil(ENOUGH).max(1);
        let points: Vec<P> = points.iter().copied().step_by(step).collect();
        [Form::Circle, Form::Slot].into_iter().find_map(|form| {
            let fit = |points: &[P]| Whole::of(form, points);
            let mut whole = fit(&points)?;
            for _ in 0..ROUNDS {
                let mut nearest = points.clone();
                nearest.sort_by(|a, b| whole.off(*a).total_cmp(&whole.off(*b)));
                nearest.truncate(points.len() * NEAREST / 4);
                whole = fit(&nearest)?;
            }
            let on = points.iter().filter(|p| whole.off(**p) <= self.tolerance).count();
            if (on as f64) < ON_IT * points.len() as f64 {
                return None;
            }
            let shape = whole.shape()?.directed(self.lighter_within);
            let places = shape.edges().flat_map(|e| self.seen_along(&e));
            let near = |p: &P| whole.off(*p) <= self.tolerance;
            let places: Vec<_> = places.map(|p| p.filter(near)).collect();
            if !nearly_all(&places) {
                return None;
            }
            let seen: Vec<P> = places.into_iter().flatten().collect();
            let whole = fit(&seen)?;
            let off = seen.iter().map(|p| whole.off(*p)).fold(0.0, f64::max);
            Some(Traced { form, shape: whole.shape()?, off })
        })
    }

    /// The rim with its straight sides going on across what stands out of them, where they are seen there.
    pub(crate) fn straight_on(&self, rim: Traced) -> Traced {
        let mut edges: Vec<Edge<SheetSpace>> =
            rim.shape.clone().directed(self.lighter_within).edges().collect();
        let mut off = rim.off;
        while let Some((first, count, far)) = self.astray(&edges) {
            edges.rotate_left(first);
            let joined = Edge::new(edges[0].from(), edges[count - 1].to(), 0.0);
            edges.splice(..count, [joined]);
            off = off.max(far);
        }
        let vertices = edges.iter().map(|e| Vertex { point: e.from(), bulge: e.bulge() });
        match Loop::new(vertices) {
            Ok(shape) => {
                let straight = edges.iter().all(|e| e.bulge() == 0.0);
                let form = if straight { Form::Polygon } else { rim.form };
                Traced { form, shape, off }
            }
            Err(_) => rim,
        }
    }

    /// Edges, from one of this number on so many, that are one straight side with something standing out of it;
    /// and how far (mm) the side was seen off there.
    fn astray(&self, edges: &[Edge<SheetSpace>]) -> Option<(usize, usize, f64)> {
        let n = edges.len();
        let runs =
            (0..n).flat_map(|i| (2..=MOST_EDGES.min(n.saturating_sub(2))).map(move |k| (i, k)));
        runs.filter_map(|(i, k)| {
            let (a, b) = (edges[i], edges[(i + k) % n]);
            let (Edge::Line { from, to }, Edge::Line { .. }) = (a, b) else { return None };
            let along = (to - from).unit()?;
            let off = |p: P| along.cross(p - from).abs();
            let gap = along.dot(b.from() - to);
            let one_side = along.dot(b.direction(0.5)) > STRAIGHT_ON.cos()
                && off(b.from()).max(off(b.to())) <= self.tolerance
                && gap > 0.0
                && gap <= a.length() + b.length();
            if !one_side {
                return None;
            }
            let across = Edge::new(to, b.from(), 0.0);
            let off = |p: &P| across.nearest(*p).distance(*p);
            let places = self.seen_along(&across).into_iter();
            let places: Vec<_> = places.map(|p| p.filter(|p| off(p) <= self.tolerance)).collect();
            let far = || places.iter().flatten().map(off).fold(0.0, f64::max);
            nearly_all(&places).then(|| (i, k + 1, far()))
        })
        .next()
    }

    /// Where the edge of metal is seen along a line or arc, about every pixel and a half; `None` where it is not.
    fn seen_along(&self, edge: &Edge<SheetSpace>) -> Vec<Option<P>> {
        let Some(pixel) = self.camera.pixel(edge.at(0.5)) else { return vec![None] };
        let count = (edge.length() / (1.5 * pixel)).ceil().max(3.0) as usize;
        let at = |i: usize| {
            let share = (i as f64 + 0.5) / count as f64;
            let (p, darker) = (edge.at(share), -edge.direction(share).left());
            let q = self.camera.to_picture(p)?;
            let normal = (self.camera.to_picture(p + darker * pixel)? - q).unit()?;
            let step = step_near(self.photo, q, normal, REACH, -WEAKER * self.contrast)?;
            self.camera.to_sheet(q + normal * step.at)
        };
        (0..count).map(at).collect()
    }
}

/// Whether an edge is seen in nearly all of some places beside each other, with no notch between.
fn nearly_all(places: &[Option<P>]) -> bool {
    let seen = places.iter().flatten().count();
    let gaps = places.split(Option::is_some).map(<[_]>::len);
    seen as f64 >= SEEN * places.len() as f64 && gaps.max().unwrap_or(0) <= MOST_UNSEEN
}
