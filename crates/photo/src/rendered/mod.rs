//! Photographs of sheets that never were, with known truth: for tests and benchmarks.

use image::{Rgb, RgbImage};
use oddment_core::shape::{Bounds, Loop, Point, Region, SheetSpace, Vector};

use crate::load::PixelSpace;
use crate::target::Target;

mod judged;
mod sheets;

pub use judged::{Judged, judged};
pub use sheets::{drilled, notched};

type P = Point<SheetSpace>;
type Q = Point<PixelSpace>;

/// What lies in front of the camera. The target's board has its lower left corner at the origin.
#[derive(Clone, Debug)]
pub struct Scene {
    /// The metal.
    pub metal: Region<SheetSpace>,
    /// A target on it.
    pub target: Option<Target>,
    /// How far its middle bows up above its rim, mm.
    pub bow: f64,
    /// The share of it that is rusty, about.
    pub rust: f64,
    /// How much lighter a lamp makes it at one place, 0 to 255.
    pub glare: f64,
    /// What it lies on.
    pub bed: Bed,
}

impl Scene {
    /// Clean, flat metal on slats, without a target.
    pub fn plain(metal: Region<SheetSpace>) -> Self {
        Self { metal, target: None, bow: 0.0, rust: 0.0, glare: 0.0, bed: Bed::Slats }
    }
}

/// What a sheet lies on.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Bed {
    /// Darkness with slats in it.
    Slats,
    /// A light floor, lighter than the metal.
    Floor,
}

/// How the photograph is taken.
#[derive(Clone, Copy, Debug)]
pub struct Shot {
    /// Pixels across and down.
    pub size: [u32; 2],
    /// Angle from straight above, radians.
    pub tilt: f64,
    /// From which side, radians counter-clockwise from +x.
    pub from: f64,
    /// How far the lens shifts the picture's corners, as a share of half its diagonal.
    pub lens: f64,
    /// Standard deviation of the blur, pixels.
    pub blur: f64,
    /// Standard deviation of the noise of each channel, 0 to 255.
    pub noise: f64,
    /// Where the random things begin.
    pub seed: u64,
}

/// A photograph that was rendered.
pub struct Rendered {
    /// Its pixels.
    pub picture: RgbImage,
    view: View,
    bow: Bow,
}

/// Distance of the picture from the lens, as a share of half its diagonal.
const FOCUS: f64 = 1.2;
/// How far the bed lies below the sheet, mm.
const BELOW: f64 = 60.0;

impl Rendered {
    /// Where it shows a point of the sheet.
    pub fn shows(&self, p: P) -> Q {
        self.view.shows([p.x, p.y, self.bow.height(p)])
    }

    /// Where a hand places four corners of a rectangle at the origin, up to `off` pixels wrong.
    pub fn placed(&self, [w, h]: [f64; 2], off: f64) -> [Q; 4] {
        let wrong = [(0.7, -0.6), (-1.0, 0.2), (0.3, 0.9), (-0.5, -0.8)];
        let corners = [(0.0, 0.0), (w, 0.0), (w, h), (0.0, h)];
        std::array::from_fn(|i| {
            let at = self.shows(Point::new(corners[i].0, corners[i].1));
            at + Vector::new(wrong[i].0, wrong[i].1) * off
        })
    }
}

#[derive(Clone, Copy)]
struct Bow {
    bounds: Bounds<SheetSpace>,
    high: f64,
}

impl Bow {
    fn height(&self, p: P) -> f64 {
        let middle = self.bounds.centre();
        let u = (p.x - middle.x) / (0.5 * self.bounds.width());
        let v = (p.y - middle.y) / (0.5 * self.bounds.height());
        self.high * (1.0 - u * u).max(0.0) * (1.0 - v * v).max(0.0)
    }
}

/// Where the camera is and how it looks.
struct View {
    eye: [f64; 3],
    right: [f64; 3],
    down: [f64; 3],
    ahead: [f64; 3],
    half: Vector,
    pixels: f64,
    lens: f64,
}

fn dot(a: [f64; 3], b: [f64; 3]) -> f64 {
    a[0] * b[0] + a[1] * b[1] + a[2] * b[2]
}

fn cross(a: [f64; 3], b: [f64; 3]) -> [f64; 3] {
    [a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2], a[0] * b[1] - a[1] * b[0]]
}

fn unit(a: [f64; 3]) -> [f64; 3] {
    let length = dot(a, a).sqrt();
    a.map(|v| v / length)
}

impl View {
    /// The nearest view that shows all of a box, with some room about it.
    fn of(shot: &Shot, bounds: &Bounds<SheetSpace>) -> Self {
        let half = Vector::new(f64::from(shot.size[0]), f64::from(shot.size[1])) * 0.5;
        let pixels = half.length();
        let (sin, cos) = shot.tilt.sin_cos();
        let ahead = unit([-sin * shot.from.cos(), -sin * shot.from.sin(), -cos]);
        // Held so that +y is up in the picture, or as near to it as goes.
        let right = unit(cross(ahead, [0.0, 1.0, 0.0]));
        let down = cross(ahead, right);
        let middle = bounds.centre();
        let mut view = Self { eye: [0.0; 3], right, down, ahead, half, pixels, lens: shot.lens };
        let mut far = 0.5 * bounds.width().max(bounds.height());
        loop {
            view.eye = [middle.x - ahead[0] * far, middle.y - ahead[1] * far, -ahead[2] * far];
            let fits = bounds.corners().iter().all(|c| {
                let d = view.shows([c.x, c.y, 0.0]) - Point::new(half.x, half.y);
                let seen = dot([c.x - view.eye[0], c.y - view.eye[1], -view.eye[2]], ahead) > 0.0;
                seen && d.x.abs() < 0.95 * half.x && d.y.abs() < 0.95 * half.y
            });
            if fits {
                return view;
            }
            far *= 1.01;
        }
    }

    fn bent(&self, r: f64) -> f64 {
        // The second term is one that the camera of this crate does not know.
        1.0 + self.lens * r * r * (1.0 - 0.15 * r * r)
    }

    fn shows(&self, p: [f64; 3]) -> Q {
        let d = [p[0] - self.eye[0], p[1] - self.eye[1], p[2] - self.eye[2]];
        let far = dot(d, self.ahead);
        let flat = Vector::new(dot(d, self.right), dot(d, self.down)) * (FOCUS / far);
        Point::origin() + self.half + flat * (self.bent(flat.length()) * self.pixels)
    }

    /// The way that a place of the picture is looked at.
    fn way(&self, q: Q) -> [f64; 3] {
        let seen = (q - (Point::origin() + self.half)) * (1.0 / self.pixels);
        let mut flat = seen;
        for _ in 0..6 {
            flat = seen * (1.0 / self.bent(flat.length()));
        }
        std::array::from_fn(|k| {
            self.ahead[k] * FOCUS + self.right[k] * flat.x + self.down[k] * flat.y
        })
    }

    /// Where that way comes to a height.
    fn meets(&self, way: [f64; 3], height: f64) -> P {
        let far = (height - self.eye[2]) / way[2];
        Point::new(self.eye[0] + way[0] * far, self.eye[1] + way[1] * far)
    }
}

/// Takes the photograph.
pub fn render(scene: &Scene, shot: &Shot) -> Rendered {
    let bounds = scene.metal.bounds();
    let view = View::of(shot, &bounds);
    let bow = Bow { bounds, high: scene.bow };
    let ground = Ground::of(&scene.metal);
    let [w, h] = shot.size.map(|s| s as usize);
    let mut light = vec![[0f32; 3]; w * h];
    let threads = std::thread::available_parallelism().map_or(1, usize::from);
    let rows = h.div_ceil(threads);
    std::thread::scope(|s| {
        for (part, band) in light.chunks_mut(rows * w).enumerate() {
            let (view, ground) = (&view, &ground);
            let paint = move || {
                let mut random = fastrand::Rng::with_seed(shot.seed ^ part as u64);
                for (i, pixel) in band.iter_mut().enumerate() {
                    let (x, y) = ((i % w) as f64, (part * rows + i / w) as f64);
                    for (dx, dy) in [(0.0, 0.0), (0.5, 0.0), (0.0, 0.5), (0.5, 0.5)] {
                        // Samples in rows would put edges along them where the rows are.
                        let (dx, dy) = (dx + 0.5 * random.f64(), dy + 0.5 * random.f64());
                        let way = view.way(Point::new(x + dx, y + dy));
                        let mut p = view.meets(way, 0.0);
                        for _ in 0..if scene.bow == 0.0 { 0 } else { 6 } {
                            p = view.meets(way, bow.height(p));
                        }
                        let seen = if ground.holds(p) {
                            metal(scene, &bounds, p, shot.seed)
                        } else {
                            under(scene.bed, view.meets(way, -BELOW), shot.seed)
                        };
                        for (sum, v) in pixel.iter_mut().zip(seen) {
                            *sum += 0.25 * v.clamp(0.0, 255.0) as f32;
                        }
                    }
                }
            };
            // Named as all threads here are; where none can be had, nothing can be tested.
            let named = std::thread::Builder::new().name("render".to_owned());
            if let Err(why) = named.spawn_scoped(s, paint) {
                eprintln!("no thread to render on: {why}");
            }
        }
    });
    let light = blurred(&light, w, h, shot.blur);
    let mut random = fastrand::Rng::with_seed(shot.seed);
    let mut normal = || {
        let (u, v) = (random.f64().max(1e-12), random.f64());
        (-2.0 * u.ln()).sqrt() * (std::f64::consts::TAU * v).cos()
    };
    let picture = RgbImage::from_fn(shot.size[0], shot.size[1], |x, y| {
        let seen = light[y as usize * w + x as usize];
        Rgb(seen.map(|v| (f64::from(v) + shot.noise * normal()).round().clamp(0.0, 255.0) as u8))
    });
    Rendered { picture, view, bow }
}

/// Metal to be asked for quickly: for each square the holes that reach into it.
struct Ground<'a> {
    bounds: Bounds<SheetSpace>,
    outer: &'a Loop<SheetSpace>,
    across: usize,
    holes: Vec<Vec<&'a Loop<SheetSpace>>>,
}

impl<'a> Ground<'a> {
    const SQUARE: f64 = 16.0;

    fn of(metal: &'a Region<SheetSpace>) -> Self {
        let bounds = metal.bounds();
        let count = |length: f64| (length / Self::SQUARE).ceil().max(1.0) as usize;
        let (across, up) = (count(bounds.width()), count(bounds.height()));
        let square = |i: usize| {
            let corner = Vector::new((i % across) as f64, (i / across) as f64) * Self::SQUARE;
            let min = bounds.min + corner;
            Bounds { min, max: min + Vector::new(Self::SQUARE, Self::SQUARE) }
        };
        let boxes: Vec<_> = metal.holes().iter().map(|h| (h, h.bounds())).collect();
        let holes = (0..across * up).map(|i| {
            let near = boxes.iter().filter(|(_, b)| b.distance_squared(&square(i)) <= 0.0);
            near.map(|(h, _)| *h).collect()
        });
        Self { bounds, outer: metal.outer(), across, holes: holes.collect() }
    }

    fn holds(&self, p: P) -> bool {
        if !self.bounds.contains(p) || !self.outer.encloses(p) {
            return false;
        }
        let d = (p - self.bounds.min) * (1.0 / Self::SQUARE);
        let i = d.y as usize * self.across + d.x as usize;
        !self.holes.get(i).is_some_and(|h| h.iter().any(|h| h.encloses(p)))
    }
}

fn metal(scene: &Scene, bounds: &Bounds<SheetSpace>, p: P, seed: u64) -> [f64; 3] {
    if let Some(target) = &scene.target {
        let ([w, h], [mx, my]) = (target.size(), target.margins());
        let [nx, ny] = target.squares();
        if p.x >= -mx && p.x <= w + mx && p.y >= -my && p.y <= h + my {
            let (i, j) = (p.x / w * nx as f64, p.y / h * ny as f64);
            let on = i >= 0.0 && j >= 0.0 && i < nx as f64 && j < ny as f64;
            let dark = on && (i as usize + j as usize).is_multiple_of(2);
            return [if dark { 28.0 } else { 226.0 }; 3];
        }
    }
    // Brushed along x, lit from one side.
    let base = if scene.bed == Bed::Floor { 92.0 } else { 138.0 };
    let brushed = 7.0 * (rough(p.x / 40.0, p.y / 0.8, seed) - 0.5);
    let side = 22.0 * ((p.x - bounds.min.x) / bounds.width() - 0.5);
    let mut seen = [base + brushed + side; 3];
    if scene.rust > 0.0 {
        // Patches of all sizes with crumbling rims.
        let patch = 0.55 * rough(p.x / 90.0, p.y / 90.0, seed + 1)
            + 0.3 * rough(p.x / 22.0, p.y / 22.0, seed + 2)
            + 0.15 * rough(p.x / 4.0, p.y / 4.0, seed + 3);
        let much = ((patch - (0.75 - 0.5 * scene.rust)) * 14.0).clamp(0.0, 1.0);
        let grain = 0.8 + 0.4 * rough(p.x / 1.5, p.y / 1.5, seed + 4);
        for (s, rust) in seen.iter_mut().zip([128.0, 84.0, 58.0]) {
            *s += much * (rust * grain - *s);
        }
    }
    let lamp = bounds.min + Vector::new(0.68 * bounds.width(), 0.8 * bounds.height());
    let near = (p - lamp) * (3.6 / bounds.width());
    let glare = scene.glare * (-near.length_squared()).exp();
    seen.map(|s| s + glare)
}

fn under(bed: Bed, p: P, seed: u64) -> [f64; 3] {
    let grain = rough(p.x / 7.0, p.y / 7.0, seed + 5) - 0.5;
    match bed {
        Bed::Slats if p.x.rem_euclid(70.0) < 4.0 => [66.0 + 24.0 * grain; 3],
        Bed::Slats => [34.0 + 14.0 * grain; 3],
        Bed::Floor => [206.0 + 22.0 * grain; 3],
    }
}

/// Smooth noise between 0 and 1 with one hill or dale in each unit square.
fn rough(x: f64, y: f64, seed: u64) -> f64 {
    let (fx, fy) = (x.floor(), y.floor());
    let value = |i: f64, j: f64| {
        let key = (i as i64 as u64).wrapping_mul(0x9e37_79b9_7f4a_7c15)
            ^ (j as i64 as u64).wrapping_mul(0xc2b2_ae3d_27d4_eb4f)
            ^ seed.wrapping_mul(0x1656_67b1_9e37_79f9);
        let mixed = (key ^ (key >> 31)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        ((mixed ^ (mixed >> 29)) >> 40) as f64 / (1u64 << 24) as f64
    };
    let ease = |t: f64| t * t * (3.0 - 2.0 * t);
    let (u, v) = (ease(x - fx), ease(y - fy));
    let low = value(fx, fy) * (1.0 - u) + value(fx + 1.0, fy) * u;
    let high = value(fx, fy + 1.0) * (1.0 - u) + value(fx + 1.0, fy + 1.0) * u;
    low * (1.0 - v) + high * v
}

fn blurred(light: &[[f32; 3]], w: usize, h: usize, sigma: f64) -> Vec<[f32; 3]> {
    if sigma <= 0.0 {
        return light.to_vec();
    }
    let reach = (3.0 * sigma).ceil() as usize;
    let bell: Vec<f32> = (0..=2 * reach)
        .map(|k| (-0.5 * ((k as f64 - reach as f64) / sigma).powi(2)).exp() as f32)
        .collect();
    let all: f32 = bell.iter().sum();
    let mean = |of: &dyn Fn(usize) -> [f32; 3], at: usize, count: usize| {
        let mut sum = [0.0; 3];
        for (k, share) in bell.iter().enumerate() {
            let seen = of((at + k).saturating_sub(reach).min(count - 1));
            for (s, v) in sum.iter_mut().zip(seen) {
                *s += share / all * v;
            }
        }
        sum
    };
    let places = (0..h).flat_map(|y| (0..w).map(move |x| (x, y)));
    let across: Vec<_> = places.clone().map(|(x, y)| mean(&|i| light[y * w + i], x, w)).collect();
    places.map(|(x, y)| mean(&|i| across[i * w + x], y, h)).collect()
}
