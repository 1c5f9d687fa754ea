//! From a flat sheet to its photograph and back: perspective, and what a lens bends.
//!
//! Millimetres of the sheet's plane go through a projective map (eight numbers) to where a lens without
//! faults would show them, and from there outward or inward by the share k·r² of the way from the
//! picture's middle, r being 1 in its corners. All nine are found at once by least squares from marks at
//! known places, and from straight edges, which a lens bends. How it bends is not known better than [`LENS`]
//! before; where the picture says more, that wins, and where it says nothing, that doubt is in what an edge
//! may be off.

use oddment_core::capture::fit::{Line, add_square, gauss_newton, solve};
use oddment_core::shape::{Point, SheetSpace, Vector};

use crate::load::PixelSpace;

type P = Point<SheetSpace>;
type Q = Point<PixelSpace>;

/// Numbers of a camera.
const N: usize = 9;
/// How far a lens may shift the corners of its pictures, as a share of half the diagonal: cameras of
/// telephones correct theirs to about this.
const LENS: f64 = 0.01;
/// What a mark is off, pixels, before the marks themselves tell.
const EXPECTED: f64 = 0.1;
/// Marks beside each other err alike (paper that is not flat, an edge that is not straight): so many
/// count as one.
const ALIKE: f64 = 4.0;
/// How far an edge that was sheared or came from the mill is from straight, pixels.
const STRAIGHT: f64 = 0.5;
/// Slopes are taken over twice this.
const STEP: f64 = 1e-6;
/// What a corner placed by hand is off, pixels.
const BY_HAND: f64 = 2.0;
/// Marks farther off than this many times the median are not what they were taken for.
const ASTRAY: f64 = 4.5;

/// Where something known of the sheet's plane was seen.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Mark {
    /// A point at a known place.
    Point {
        /// Where it is.
        at: P,
        /// Where it was seen.
        seen: Q,
    },
    /// Some point of a straight line.
    Side {
        /// A point of the line.
        at: P,
        /// Its direction, of length 1.
        along: Vector,
        /// Where it was seen.
        seen: Q,
    },
}

/// How a picture shows a plane.
#[derive(Clone, Debug, PartialEq)]
pub struct Camera {
    frame: Frame,
    numbers: [f64; N],
    /// How sure the numbers are: their covariance.
    sure: [[f64; N]; N],
    /// Root of the mean square of what the marks are off, pixels.
    off: f64,
    eye: Eye,
}

/// Coordinates near 1 to reckon in.
#[derive(Clone, Copy, Debug, PartialEq)]
struct Frame {
    middle: P,
    mm: f64,
    centre: Q,
    pixels: f64,
}

/// Where the camera was, in the sheet's coordinates.
#[derive(Clone, Copy, Debug, PartialEq)]
struct Eye {
    above: P,
    height: f64,
}

impl Frame {
    fn plane(&self, p: P) -> [f64; 2] {
        let d = (p - self.middle) * (1.0 / self.mm);
        [d.x, d.y]
    }

    fn picture(&self, q: Q) -> [f64; 2] {
        let d = (q - self.centre) * (1.0 / self.pixels);
        [d.x, d.y]
    }
}

impl Camera {
    /// The camera that saw four corners or more points at known places, and `straight` edges in so many
    /// places each; `size` is the picture's, pixels. `None` where they are fewer, or lie so that they say nothing.
    pub fn of(
        marks: &[Mark],
        straight: &[Vec<Q>],
        corners: &[(P, Q); 4],
        size: [f64; 2],
    ) -> Option<Self> {
        let middle = corners.iter().fold(Vector::default(), |s, c| s + c.0.to_vector()) * 0.25;
        let middle = Point::origin() + middle;
        let mm = corners.iter().map(|c| c.0.distance(middle)).fold(0.0, f64::max);
        let centre = Point::new(0.5 * size[0], 0.5 * size[1]);
        let frame = Frame { middle, mm, centre, pixels: 0.5 * size[0].hypot(size[1]) };
        if !(mm > 0.0 && frame.pixels > 0.0) {
            return None;
        }
        let start = projective(&frame, corners)?;
        let mut kept: Vec<Mark> = marks.to_vec();
        let mut numbers = fitted(&frame, start, &kept, straight)?;
        // Marks that went astray are left out, judged by those that stay.
        for _ in 0..3 {
            let offs: Vec<f64> = kept.iter().map(|m| off(&frame, &numbers, m)).collect();
            let mut sorted = offs.clone();
            sorted.sort_by(f64::total_cmp);
            let most = (ASTRAY * sorted.get(sorted.len() / 2)?).max(EXPECTED);
            let before = kept.len();
            let near = kept.iter().zip(&offs).filter(|(_, o)| **o <= most);
            kept = near.map(|(m, _)| *m).collect();
            if kept.len() == before {
                break;
            }
            numbers = fitted(&frame, numbers, &kept, straight)?;
        }
        let count: usize = kept.iter().map(Mark::equations).sum();
        let squares: f64 = kept.iter().map(|m| off(&frame, &numbers, m).powi(2)).sum();
        let free = count as f64 + 1.0 - N as f64;
        let each = if free >= 4.0 { (squares / free).sqrt().max(0.02) } else { BY_HAND };
        let sure = covariance(&frame, &numbers, &kept, straight, each)?;
        let off = (squares / (kept.len() as f64).max(1.0)).sqrt();
        let eye = eye(&frame, &numbers);
        let camera = Self { frame, numbers, sure, off, eye };
        // In front of the camera, and not seen from below.
        let seen = corners.iter().map(|c| camera.to_picture(c.0)).collect::<Option<Vec<_>>>()?;
        let turn = (seen[1] - seen[0]).cross(seen[2] - seen[0]);
        (turn < 0.0 && camera.pixel(middle)? > 0.0).then_some(camera)
    }

    /// Where the picture shows a point of the sheet's plane; `None` where that is behind the camera.
    pub fn to_picture(&self, p: P) -> Option<Q> {
        shown(&self.frame, &self.numbers, p)
    }

    /// What point of the sheet's plane is seen at a place in the picture; `None` above the horizon.
    pub fn to_sheet(&self, q: Q) -> Option<P> {
        seen(&self.frame, &self.numbers, q)
    }

    /// How many millimetres of the sheet the longer side of a pixel covers near a point.
    pub fn pixel(&self, p: P) -> Option<f64> {
        let q = self.to_picture(p)?;
        let at = self.to_sheet(q)?;
        let x = self.to_sheet(q + Vector::new(1.0, 0.0))? - at;
        let y = self.to_sheet(q + Vector::new(0.0, 1.0))? - at;
        Some(x.length().max(y.length()))
    }

    /// How far (mm) a point of the sheet may really lie from where the picture says, as often as not
    /// in 95 of 100, for all that marks leave open.
    pub fn unsure(&self, p: P) -> f64 {
        let Some(q) = self.to_picture(p) else { return f64::INFINITY };
        let Some(slopes) = slopes(&self.numbers, |n| {
            let at = seen(&self.frame, n, q)?;
            Some([at.x, at.y])
        }) else {
            return f64::INFINITY;
        };
        let spread = |row: &[f64; N]| -> f64 {
            (0..N)
                .flat_map(|i| (0..N).map(move |j| (i, j)))
                .map(|(i, j)| row[i] * self.sure[i][j] * row[j])
                .sum()
        };
        1.96 * slopes.iter().map(spread).sum::<f64>().max(0.0).sqrt()
    }

    /// Tangent of the angle between the vertical and the way from a point to the camera: by so much of
    /// its height a thing that stands above the sheet's plane is seen beside its place.
    pub fn slant(&self, p: P) -> f64 {
        p.distance(self.eye.above) / self.eye.height
    }

    /// Root of the mean square of what the marks are off, pixels.
    pub fn off(&self) -> f64 {
        self.off
    }

    /// How far the lens shifts the picture's corners, as a share of half its diagonal.
    pub fn lens(&self) -> f64 {
        self.numbers[8]
    }

    /// What a mark is off, pixels.
    pub fn off_by(&self, mark: &Mark) -> f64 {
        off(&self.frame, &self.numbers, mark)
    }
}

impl Mark {
    fn equations(&self) -> usize {
        match self {
            Self::Point { .. } => 2,
            Self::Side { .. } => 1,
        }
    }
}

fn shown(frame: &Frame, n: &[f64; N], p: P) -> Option<Q> {
    let [x, y] = frame.plane(p);
    let w = n[6] * x + n[7] * y + 1.0;
    if w <= 1e-6 {
        return None;
    }
    let (u, v) = ((n[0] * x + n[1] * y + n[2]) / w, (n[3] * x + n[4] * y + n[5]) / w);
    let bent = 1.0 + n[8] * (u * u + v * v);
    let q = frame.centre + Vector::new(u, v) * (bent * frame.pixels);
    q.is_finite().then_some(q)
}

fn seen(frame: &Frame, n: &[f64; N], q: Q) -> Option<P> {
    let [x, y] = frame.picture(q);
    // r' = r(1 + k r²) solved by Newton's steps.
    let far = x.hypot(y);
    let mut r = far;
    for _ in 0..8 {
        let slope = 1.0 + 3.0 * n[8] * r * r;
        if slope <= 0.1 {
            return None;
        }
        r -= (r * (1.0 + n[8] * r * r) - far) / slope;
    }
    let share = if far > 0.0 { r / far } else { 1.0 };
    let (u, v) = (x * share, y * share);
    let m = [[n[0] - u * n[6], n[1] - u * n[7]], [n[3] - v * n[6], n[4] - v * n[7]]];
    let [x, y] = solve(m, [u - n[2], v - n[5]])?;
    let p = frame.middle + Vector::new(x, y) * frame.mm;
    (n[6] * x + n[7] * y + 1.0 > 1e-6 && p.is_finite()).then_some(p)
}

/// The projective map through four corners.
fn projective(frame: &Frame, corners: &[(P, Q); 4]) -> Option<[f64; N]> {
    let (mut m, mut r) = ([[0.0; 8]; 8], [0.0; 8]);
    for (p, q) in corners {
        let ([x, y], [u, v]) = (frame.plane(*p), frame.picture(*q));
        add_square(&mut m, &mut r, &[x, y, 1.0, 0.0, 0.0, 0.0, -u * x, -u * y], u);
        add_square(&mut m, &mut r, &[0.0, 0.0, 0.0, x, y, 1.0, -v * x, -v * y], v);
    }
    let h = solve(m, r)?;
    Some(std::array::from_fn(|i| if i < 8 { h[i] } else { 0.0 }))
}

/// What a mark is off along x and y, or square to its line, pixels; the second 0 for lines.
fn residual(frame: &Frame, n: &[f64; N], mark: &Mark) -> Option<[f64; 2]> {
    match mark {
        Mark::Point { at, seen } => {
            let d = shown(frame, n, *at)? - *seen;
            Some([d.x, d.y])
        }
        Mark::Side { at, along, seen: q } => {
            let p = seen(frame, n, *q)?;
            let foot = *at + *along * along.dot(p - *at);
            let d = shown(frame, n, foot)? - *q;
            // With the sign of the side it lies on.
            Some([d.length() * along.cross(p - *at).signum(), 0.0])
        }
    }
}

fn off(frame: &Frame, n: &[f64; N], mark: &Mark) -> f64 {
    residual(frame, n, mark).map_or(f64::INFINITY, |[x, y]| x.hypot(y))
}

/// How far each place of an edge that is straight is seen from the line through them all, pixels.
fn bends(frame: &Frame, n: &[f64; N], places: &[Q]) -> Option<Vec<f64>> {
    let at = places.iter().map(|q| seen(frame, n, *q)).collect::<Option<Vec<_>>>()?;
    let line = Line::of(&at)?;
    let off = at.iter().zip(places).map(|(p, q)| {
        Some((shown(frame, n, line.foot(*p))? - *q).length() * line.off(*p).signum())
    });
    off.collect()
}

/// The bends of an edge and how each changes with each number, for as much as they count beside marks.
fn straight_rows(frame: &Frame, n: &[f64; N], places: &[Q]) -> Option<Vec<(f64, [f64; N])>> {
    // Places beside each other err alike: all together they say as much as three.
    let weight = EXPECTED * ALIKE.sqrt() / STRAIGHT * (3.0 / places.len() as f64).sqrt();
    let here = bends(frame, n, places)?;
    let mut rows: Vec<_> = here.into_iter().map(|off| (off * weight, [0.0; N])).collect();
    for k in 0..N {
        let beside = |by: f64| {
            let mut n = *n;
            n[k] += by;
            bends(frame, &n, places)
        };
        for (row, (more, less)) in rows.iter_mut().zip(beside(STEP)?.iter().zip(beside(-STEP)?)) {
            row.1[k] = weight * (more - less) / (2.0 * STEP);
        }
    }
    Some(rows)
}

/// How each of two values changes with each number.
fn slopes(n: &[f64; N], values: impl Fn(&[f64; N]) -> Option<[f64; 2]>) -> Option<[[f64; N]; 2]> {
    let mut slopes = [[0.0; N]; 2];
    for k in 0..N {
        let (mut more, mut less) = (*n, *n);
        more[k] += STEP;
        less[k] -= STEP;
        let (more, less) = (values(&more)?, values(&less)?);
        for i in 0..2 {
            slopes[i][k] = (more[i] - less[i]) / (2.0 * STEP);
        }
    }
    Some(slopes)
}

fn fitted(frame: &Frame, start: [f64; N], marks: &[Mark], straight: &[Vec<Q>]) -> Option<[f64; N]> {
    if marks.iter().map(Mark::equations).sum::<usize>() < 8 {
        return None;
    }
    gauss_newton(start, |n, sink| {
        for mark in marks {
            let here = residual(frame, n, mark);
            let slopes = slopes(n, |n| residual(frame, n, mark));
            let (Some(here), Some(slopes)) = (here, slopes) else {
                // Behind the camera: nothing to go by.
                sink(1e6, [0.0; N]);
                continue;
            };
            for i in 0..mark.equations() {
                sink(here[i], slopes[i]);
            }
        }
        for places in straight {
            for (off, slope) in straight_rows(frame, n, places).unwrap_or_default() {
                sink(off, slope);
            }
        }
        let mut lens = [0.0; N];
        lens[8] = EXPECTED / LENS;
        sink(n[8] * lens[8], lens);
    })
}

fn covariance(
    frame: &Frame,
    n: &[f64; N],
    marks: &[Mark],
    straight: &[Vec<Q>],
    each: f64,
) -> Option<[[f64; N]; N]> {
    let (mut m, mut none) = ([[0.0; N]; N], [0.0; N]);
    let weight = 1.0 / (each * ALIKE.sqrt());
    for mark in marks {
        let slopes = slopes(n, |n| residual(frame, n, mark))?;
        for row in slopes.iter().take(mark.equations()) {
            add_square(&mut m, &mut none, &row.map(|s| s * weight), 0.0);
        }
    }
    for places in straight {
        for (_, row) in straight_rows(frame, n, places)? {
            // As weighed beside marks that are off by what is expected of them.
            let weight = 1.0 / (EXPECTED * ALIKE.sqrt());
            add_square(&mut m, &mut none, &row.map(|s| s * weight), 0.0);
        }
    }
    m[8][8] += 1.0 / (LENS * LENS);
    let mut inverse = [[0.0; N]; N];
    for (k, column) in inverse.iter_mut().enumerate() {
        let mut unit = [0.0; N];
        unit[k] = 1.0;
        *column = solve(m, unit)?;
    }
    Some(inverse)
}

/// Where the camera was. How far it was follows from how perspective and foreshortening go together; a
/// picture from straight above leaves that open, and then it is as far as cameras of telephones see.
fn eye(frame: &Frame, n: &[f64; N]) -> Eye {
    /// Distance of the picture from the lens, as a share of half its diagonal: telephones have 1.1 to
    /// 1.3, and nothing that one photographs a sheet with has less or more than these.
    const LEAST: f64 = 0.6;
    const USUAL: f64 = 1.2;
    const MOST: f64 = 4.0;
    let (a, b, c) = ([n[0], n[3], n[6]], [n[1], n[4], n[7]], [n[2], n[5], 1.0]);
    // Both axes of the sheet are square to each other and equally long, whatever the distance f:
    // (a₁b₁ + a₂b₂)/f² + a₃b₃ = 0 and (|a|² − |b|²)/f² + a₃² − b₃² = 0.
    let rows = [
        (a[0] * b[0] + a[1] * b[1], -a[2] * b[2]),
        (a[0] * a[0] + a[1] * a[1] - b[0] * b[0] - b[1] * b[1], b[2] * b[2] - a[2] * a[2]),
    ];
    let (top, under) = rows.iter().fold((0.0, 0.0), |(t, u), (m, r)| (t + m * r, u + m * m));
    let size = a[0].hypot(a[1]).max(b[0].hypot(b[1])).powi(2);
    let told = under.sqrt() > 0.05 * size;
    let f = if told && top > 0.0 { (under / top).sqrt().clamp(LEAST, MOST) } else { USUAL };
    let scaled = |v: [f64; 3]| [v[0] / f, v[1] / f, v[2]];
    let (a, b, c) = (scaled(a), scaled(b), scaled(c));
    let dot = |p: [f64; 3], q: [f64; 3]| p[0] * q[0] + p[1] * q[1] + p[2] * q[2];
    let length = (0.5 * (dot(a, a) + dot(b, b))).sqrt();
    let normal = [a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2], a[0] * b[1] - a[1] * b[0]];
    // Seen from the camera the sheet's origin lies at c / length; the camera seen from the sheet's origin
    // at minus that, told in the sheet's axes.
    let along = |axis: [f64; 3]| -dot(axis, c) / (length * length);
    let height = (dot(normal, c) / (length * length * length)).abs();
    Eye {
        above: frame.middle + Vector::new(along(a), along(b)) * frame.mm,
        height: (height * frame.mm).max(1e-6 * frame.mm),
    }
}
