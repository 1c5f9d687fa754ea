//! The camera from what a person placed: the target's four corners, or those of a rectangle whose size
//! is known. From there the picture itself tells more: where the target's squares meet, or where the
//! rectangle's sides run, both far finer than a hand places anything.

use oddment_core::shape::{Point, SheetSpace, Vector};

use crate::camera::{Camera, Mark};
use crate::load::{Photograph, PixelSpace};
use crate::profile::{Step, step_near};
use crate::target::Target;

type P = Point<SheetSpace>;
type Q = Point<PixelSpace>;

/// What is known in the picture.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Reference {
    /// A printed target; its board's outer corners are placed.
    Target(Target),
    /// A rectangle, such as the sheet itself: width and height (mm), and how far (mm) they may be off.
    Rectangle {
        /// Width and height, mm.
        size: [f64; 2],
        /// Millimetres.
        give_or_take: f64,
    },
}

/// Why there is no camera.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum NoCamera {
    /// Corners outside the picture.
    #[error("corner {0} lies outside the picture")]
    Outside(usize),
    /// Not once round.
    #[error(
        "the four corners don't go round a rectangle seen from above; place lower left, lower right, \
         upper right, upper left"
    )]
    NotRound,
    /// No size.
    #[error("a rectangle needs a width and a height")]
    NoSize,
    /// No squares there.
    #[error(
        "the target's squares are not found between the corners; place the outer corners of its dark \
         corner squares, and see that the page is sharp and nothing covers it"
    )]
    NoSquares,
    /// Too small.
    #[error("the target is too small in the picture; go nearer, or print it on larger paper")]
    TooSmall,
}

/// A camera, and how its marks agree.
#[derive(Clone, Debug, PartialEq)]
pub struct Calibrated {
    /// The camera.
    pub camera: Camera,
    /// The marks that were found.
    pub marks: Vec<Mark>,
    /// What was known.
    pub reference: Reference,
}

/// Points looked for along each side of a rectangle.
const ALONG: usize = 80;

impl Reference {
    /// A rectangle measured with a tape: good to 1 mm for each metre, and to no less.
    pub fn taped(size: [f64; 2]) -> Self {
        Self::Rectangle { size, give_or_take: (size[0].max(size[1]) / 1000.0).max(1.0) }
    }

    /// Width and height of what was placed, mm.
    pub fn size(&self) -> [f64; 2] {
        match self {
            Self::Target(target) => target.size(),
            Self::Rectangle { size, .. } => *size,
        }
    }

    fn corners(&self) -> [P; 4] {
        let [w, h] = self.size();
        [(0.0, 0.0), (w, 0.0), (w, h), (0.0, h)].map(|(x, y)| Point::new(x, y))
    }

    /// How far (mm) a point may be off because what was known is not quite true.
    pub fn unsure(&self, p: P) -> f64 {
        let [w, h] = self.size();
        let far = p.distance(Point::new(0.5 * w, 0.5 * h));
        match self {
            Self::Target(target) => far * target.scale_unsure(),
            // Its sides lie where they lie to half of what its size is off.
            Self::Rectangle { give_or_take, .. } => {
                give_or_take * (far / (0.5 * w.hypot(h))).max(0.5)
            }
        }
    }
}

/// The camera that took a photograph in which the corners of something known were placed: lower left,
/// lower right, upper right, upper left.
///
/// # Errors
/// [`NoCamera`].
pub fn calibrate(
    photo: &Photograph,
    reference: Reference,
    placed: [Q; 4],
) -> Result<Calibrated, NoCamera> {
    if let Some(i) = placed.iter().position(|q| !photo.holds(*q)) {
        return Err(NoCamera::Outside(i + 1));
    }
    if !reference.size().iter().all(|s| s.is_finite() && *s > 0.0) {
        return Err(NoCamera::NoSize);
    }
    let size = [photo.width(), photo.height()];
    let at = reference.corners();
    let corners: [(P, Q); 4] = std::array::from_fn(|i| (at[i], placed[i]));
    let by_hand: Vec<Mark> =
        corners.iter().map(|(at, seen)| Mark::Point { at: *at, seen: *seen }).collect();
    let mut camera = Camera::of(&by_hand, &[], &corners, size).ok_or(NoCamera::NotRound)?;
    let mut marks = by_hand;
    match reference {
        Reference::Target(target) => {
            // The second time from where the first has them, in a window that fits.
            for _ in 0..2 {
                marks = squares(photo, &camera, &target)?;
                camera = Camera::of(&marks, &[], &corners, size).ok_or(NoCamera::NoSquares)?;
            }
            if !looks_like(photo, &camera, &target) {
                return Err(NoCamera::NoSquares);
            }
        }
        Reference::Rectangle { .. } => {
            for reach in [14.0, 8.0, 5.0] {
                let Some(found) = sides(photo, &camera, &at, reach) else { break };
                let Some(better) = Camera::of(&found, &[], &corners, size) else { break };
                (marks, camera) = (found, better);
            }
        }
    }
    Ok(Calibrated { camera, marks, reference })
}

impl Calibrated {
    /// The camera that shows these edges straight too, each seen in some places; as it was where that is
    /// none.
    pub(crate) fn straightened(&self, photo: &Photograph, edges: &[Vec<Q>]) -> Self {
        let camera = || {
            let at = self.reference.corners();
            let seen = at.iter().map(|p| self.camera.to_picture(*p)).collect::<Option<Vec<_>>>()?;
            let corners: [(P, Q); 4] = std::array::from_fn(|i| (at[i], seen[i]));
            Camera::of(&self.marks, edges, &corners, [photo.width(), photo.height()])
        };
        Self { camera: camera().unwrap_or_else(|| self.camera.clone()), ..self.clone() }
    }
}

/// Where the target's squares meet.
fn squares(photo: &Photograph, camera: &Camera, target: &Target) -> Result<Vec<Mark>, NoCamera> {
    let [w, _] = target.size();
    let side = w / target.squares()[0] as f64;
    let mut found = Vec::new();
    let mut wanted = 0;
    for at in target.marks() {
        wanted += 1;
        let beside = [Vector::new(side, 0.0), Vector::new(0.0, side)];
        let Some(guess) = camera.to_picture(at) else { continue };
        let near = beside.iter().filter_map(|d| camera.to_picture(at + *d));
        let square = near.map(|q| q.distance(guess)).fold(f64::INFINITY, f64::min);
        if square < 6.0 {
            return Err(NoCamera::TooSmall);
        }
        // A large square needs no more pixels than say enough.
        let half = (0.42 * square).min(14.0);
        if let Some(seen) = meeting(photo, guess, half, 0.45 * square) {
            found.push(Mark::Point { at, seen });
        }
    }
    if 2 * found.len() < wanted { Err(NoCamera::NoSquares) } else { Ok(found) }
}

/// Where edges meet near a place: the point that lies on all of them, since there the way to each pixel
/// is square to how lightness changes in it. `None` where that is farther than `most` pixels away.
fn meeting(photo: &Photograph, guess: Q, half: f64, most: f64) -> Option<Q> {
    let mut at = guess;
    let steps = half.ceil() as i32;
    for _ in 0..12 {
        let (mut m, mut r) = ([[0.0; 2]; 2], [0.0; 2]);
        for j in -steps..=steps {
            for i in -steps..=steps {
                let d = Vector::new(f64::from(i), f64::from(j));
                let weight = (-2.0 * d.length_squared() / (half * half)).exp();
                let q = at + d;
                let light = |x: f64, y: f64| photo.lightness(q + Vector::new(x, y));
                let slope = [
                    0.5 * (light(1.0, 0.0) - light(-1.0, 0.0)),
                    0.5 * (light(0.0, 1.0) - light(0.0, -1.0)),
                ];
                let along = slope[0] * d.x + slope[1] * d.y;
                for (k, s) in slope.iter().enumerate() {
                    m[k][0] += weight * s * slope[0];
                    m[k][1] += weight * s * slope[1];
                    r[k] += weight * s * along;
                }
            }
        }
        // Edges in one direction alone meet nowhere.
        let (trace, det) = (m[0][0] + m[1][1], m[0][0] * m[1][1] - m[0][1] * m[1][0]);
        if det < 0.02 * trace * trace || trace < 1.0 {
            return None;
        }
        let step = Vector::new(
            (r[0] * m[1][1] - r[1] * m[0][1]) / det,
            (m[0][0] * r[1] - m[1][0] * r[0]) / det,
        );
        at = at + step;
        if !at.is_finite() || at.distance(guess) > most || !photo.holds(at) {
            return None;
        }
        if step.length() < 0.002 {
            break;
        }
    }
    Some(at)
}

/// Whether dark and light squares are where they should be.
fn looks_like(photo: &Photograph, camera: &Camera, target: &Target) -> bool {
    let seen: Vec<(f64, bool)> = target
        .middles()
        .filter_map(|(p, dark)| Some((photo.lightness(camera.to_picture(p)?), dark)))
        .collect();
    let mean = |want: bool| {
        let of: Vec<f64> = seen.iter().filter(|s| s.1 == want).map(|s| s.0).collect();
        of.iter().sum::<f64>() / of.len().max(1) as f64
    };
    let (dark, light) = (mean(true), mean(false));
    let middle = 0.5 * (dark + light);
    let right = seen.iter().filter(|(v, dark)| (*v < middle) == *dark).count();
    light - dark > 15.0 && 10 * right >= 9 * seen.len()
}

/// Points where the sides of a rectangle are seen; `None` where a side is hardly seen at all.
fn sides(photo: &Photograph, camera: &Camera, corners: &[P; 4], reach: f64) -> Option<Vec<Mark>> {
    let mut found = Vec::new();
    for i in 0..4 {
        let (from, to) = (corners[i], corners[(i + 1) % 4]);
        let along = (to - from).unit()?;
        let mut steps: Vec<(Q, Step)> = Vec::new();
        for k in 0..ALONG {
            // Corners may be rounded or bent.
            let share = 0.03 + 0.94 * (k as f64 + 0.5) / ALONG as f64;
            let p = from + (to - from) * share;
            let Some(q) = camera.to_picture(p) else { continue };
            let Some(out) = camera.to_picture(p - along.left()) else { continue };
            let Some(normal) = (out - q).unit() else { continue };
            if photo.holds(q)
                && let Some(step) = step_near(photo, q, normal, reach, 0.0)
            {
                steps.push((q + normal * step.at, step));
            }
        }
        // Steps the other way, or far weaker than most, are of something else.
        let up = steps.iter().filter(|(_, s)| s.rise > 0.0).count() * 2 > steps.len();
        let mut rises: Vec<f64> = steps.iter().map(|(_, s)| s.rise.abs()).collect();
        rises.sort_by(f64::total_cmp);
        let least = 0.3 * rises.get(rises.len() / 2)?;
        steps.retain(|(_, s)| (s.rise > 0.0) == up && s.rise.abs() >= least.max(4.0));
        if steps.len() < ALONG / 8 {
            return None;
        }
        found.extend(steps.into_iter().map(|(seen, _)| Mark::Side { at: from, along, seen }));
    }
    Some(found)
}
