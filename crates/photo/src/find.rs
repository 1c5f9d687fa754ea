//! What the picture shows of the metal: its outline and its holes, each as lines and arcs.

use oddment_core::capture::trace::{Form, Traced, trace_closed};
use oddment_core::job::Stop;
use oddment_core::shape::{Bounds, Loop, Point, SheetSpace, Vector};

use crate::calibrate::{Calibrated, Reference};
use crate::levels::{Rim, rims};
use crate::load::{Photograph, PixelSpace};
use crate::profile::step_near;
use crate::rectified::{Grid, smoothed};

type P = Point<SheetSpace>;

/// A contour that the program offers.
#[derive(Clone, Debug, PartialEq)]
pub struct Offered {
    /// What it was taken for.
    pub form: Form,
    /// Its lines and arcs, counter-clockwise.
    pub shape: Loop<SheetSpace>,
    /// The farthest (mm) that a point where the edge was seen lies from them.
    pub off: f64,
    /// How much lightness changes across it, 0 to 255.
    pub contrast: f64,
}

/// What was found.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Found {
    /// The metal's outer edge, where one runs once round what was placed.
    pub outline: Option<Offered>,
    /// What is cut out, largest first.
    pub holes: Vec<Offered>,
}

/// Cells of the grid that contours are looked for in.
const MOST_CELLS: f64 = 6e6;
/// Nothing smaller across than this (mm) is offered.
const SMALLEST: f64 = 5.0;
/// What is seen through a hole is what is seen beside the sheet, though it may lie in shadow: no more than
/// this share of the way from there to the metal. Rust, stains and lamps are nearer to the metal.
const HOLE_SHADE: f64 = 0.45;
/// A hole's step in lightness is at least this share of the outline's.
const HOLE_CONTRAST: f64 = 0.25;
/// Of a hole's rim at least this share stands out.
const HOLE_EVEN: f64 = 0.7;
/// Paper about a target's board that may lie in the way, mm.
const PAPER: f64 = 4.0;

/// Finds the metal's outline and holes.
pub fn find(photo: &Photograph, calibrated: &Calibrated, stop: &Stop) -> Found {
    let grid = Grid::over(photo, calibrated, MOST_CELLS);
    let values = smoothed(&grid.lightness(photo, calibrated), grid.cells);
    let least = 0.7 * (SMALLEST / grid.mm).powi(2);
    let rims = rims(&values, grid.cells, least, stop);
    drop(values);
    let Some(outline) = outline_of(&rims, calibrated, &grid) else { return Found::default() };
    let seen = Seen { photo, calibrated, grid };
    let metal_is_lighter = outline.area > 0.0;
    // Which side of a rim the bed is on.
    let bed = usize::from(metal_is_lighter);
    let mut holes: Vec<&Rim> = rims
        .iter()
        .filter(|r| (r.area > 0.0) != metal_is_lighter)
        .filter(|r| r.contrast() >= HOLE_CONTRAST * outline.contrast() && r.even >= HOLE_EVEN)
        .filter(|r| {
            // The metal beside a hole may lie in a lamp's light.
            let from_bed = |side: f64| (side - outline.sides[bed]).abs();
            let metal = from_bed(outline.sides[1 - bed]).max(from_bed(r.sides[1 - bed]));
            from_bed(r.sides[bed]) <= HOLE_SHADE * metal
        })
        .filter(|r| encloses(&outline.points, r.cell_inside()) && !seen.on_paper(r))
        .collect();
    holes.sort_by(|a, b| b.area.abs().total_cmp(&a.area.abs()));
    let mut outermost: Vec<&Rim> = Vec::new();
    for rim in &holes {
        let apart = |o: &&Rim| {
            !encloses(&o.points, rim.cell_inside()) && !encloses(&rim.points, o.cell_inside())
        };
        if outermost.iter().all(apart) {
            outermost.push(truest(rim, &holes));
        }
    }
    let mut found = Found { outline: seen.offered(outline), holes: Vec::new() };
    for rim in outermost {
        if stop.raised() {
            return Found::default();
        }
        found.holes.extend(seen.offered(rim).filter(|o| !ragged(o)));
    }
    found
}

/// The strongest rim that runs round what was placed.
fn outline_of<'a>(rims: &'a [Rim], calibrated: &Calibrated, grid: &Grid) -> Option<&'a Rim> {
    let [w, h] = calibrated.reference.size();
    let cells = 1.0 / (grid.mm * grid.mm);
    let middle = grid.place(Point::new(0.5 * w, 0.5 * h)).map(|v| v.round() as i32);
    let least = match &calibrated.reference {
        // More than the paper.
        Reference::Target(target) => 1.2 * target.paper.size().iter().product::<f64>() * cells,
        // A rectangle that is the sheet itself may have corners missing.
        Reference::Rectangle { .. } => 0.4 * w * h * cells,
    };
    rims.iter().find(|r| r.area.abs() >= least && encloses(&r.points, middle))
}

/// Of a rim and those within it the one that is the hole: a rim may run round rust beside it too, and
/// those within may be parts of the hole between slats.
fn truest<'a>(rim: &'a Rim, holes: &[&'a Rim]) -> &'a Rim {
    /// The hole is most of what rust makes larger, and stands out more by this.
    const SIZE: f64 = 0.75;
    const MORE: f64 = 1.1;
    let within = holes.iter().copied().filter(|h| {
        h.area.abs() < rim.area.abs()
            && h.area.abs() >= SIZE * rim.area.abs()
            && h.strength() > MORE * rim.strength()
            && encloses(&rim.points, h.cell_inside())
    });
    within.max_by(|a, b| a.strength().total_cmp(&b.strength())).unwrap_or(rim)
}

/// Whether a point lies inside a rim of cracks.
fn encloses(rim: &[[i32; 2]], [x, y]: [i32; 2]) -> bool {
    let n = rim.len();
    // Upright cracks to the right of the cell above and right of the point.
    let crossed = (0..n).filter(|i| {
        let (p, q) = (rim[*i], rim[(i + 1) % n]);
        p[0] == q[0] && p[0] > x && p[1].min(q[1]) == y
    });
    crossed.count() % 2 == 1
}

/// Whether a contour has more corners than anything that is cut: stains have.
fn ragged(offered: &Offered) -> bool {
    let edges = offered.shape.vertices().len() as f64;
    edges > 8.0 && edges > offered.shape.perimeter() / 12.0
}

struct Seen<'a> {
    photo: &'a Photograph,
    calibrated: &'a Calibrated,
    grid: Grid,
}

impl Seen<'_> {
    /// Whether a rim lies on the paper of a target.
    fn on_paper(&self, rim: &Rim) -> bool {
        let Reference::Target(target) = &self.calibrated.reference else { return false };
        let ([w, h], [mx, my]) = (target.size(), target.margins());
        let paper = Bounds { min: Point::new(-mx, -my), max: Point::new(w + mx, h + my) };
        let [left, right, low, high] = rim.box_.map(f64::from);
        let rim = Bounds { min: self.grid.at(left, low), max: self.grid.at(right, high) };
        paper.grown(PAPER).contains_bounds(&rim)
    }

    /// A rim as lines and arcs where the photograph has its edge, to a fraction of a pixel.
    fn offered(&self, rim: &Rim) -> Option<Offered> {
        let rough = self.run(rim);
        let first = self.sharpened(&rough, rim.contrast(), 4.0);
        let points = self.sharpened(&first, rim.contrast(), 2.0);
        let corners = corners(&points);
        if std::env::var("DBG").is_ok() {
            for (i, (p, c)) in points.iter().zip(&corners).enumerate() {
                if p.distance(Point::new(290.0, -250.0)) < 20.0 {
                    println!("{i} {p:?} {c}");
                }
            }
            for (i, p) in rough.iter().enumerate() {
                if p.distance(Point::new(290.0, -250.0)) < 20.0 {
                    println!("r {i} {p:?}");
                }
            }
        }
        let pixel = self.calibrated.camera.pixel(*points.first()?)?;
        let tolerance = (1.5 * pixel).max(0.4);
        let whole = trace_closed(&points, tolerance);
        let round = |t: &Traced| matches!(t.form, Form::Circle | Form::Slot);
        // Lightness is smeared round corners: there the edges beside them say more.
        let traced = match whole {
            Some(whole) if round(&whole) => whole,
            whole => {
                let straight: Vec<P> =
                    points.iter().zip(&corners).filter(|(_, c)| !**c).map(|(p, _)| *p).collect();
                let few = straight.len() * 2 < points.len();
                // With the corners left out a rectangle could be a slot.
                let sharp = trace_closed(&straight, tolerance).filter(|t| !round(t) && !few);
                sharp.or(whole)?
            }
        };
        let shape = traced.shape.directed(true);
        Some(Offered { form: traced.form, shape, off: traced.off, contrast: rim.contrast() })
    }

    /// The rim without its steps from cell to cell, in points about a cell and a half apart.
    fn run(&self, rim: &Rim) -> Vec<P> {
        const SMOOTH: i64 = 3;
        let n = rim.points.len();
        let at = |i: i64| rim.points[i.rem_euclid(n as i64) as usize].map(f64::from);
        // Twice, so that no step is left.
        let mean = |i: i64| {
            let mut sum = Vector::default();
            let mut all = 0.0;
            for k in -2 * SMOOTH..=2 * SMOOTH {
                let weight = (2 * SMOOTH + 1 - k.abs()) as f64;
                let [x, y] = at(i + k);
                sum += Vector::new(x, y) * weight;
                all += weight;
            }
            sum * (1.0 / all)
        };
        (0..n as i64).step_by(2).map(mean).map(|c| self.grid.at(c.x, c.y)).collect()
    }

    /// Each point moved to where the edge is along its normal. Points that find no edge are left out,
    /// unless most do.
    fn sharpened(&self, run: &[P], contrast: f64, reach: f64) -> Vec<P> {
        let camera = &self.calibrated.camera;
        let sharp = |i: usize| {
            // What is darker lies to the right.
            let darker = -(beside(run, i, 3) - beside(run, i, -3)).unit()?.left();
            let q = camera.to_picture(run[i])?;
            let beyond = camera.to_picture(run[i] + darker * (2.0 * self.grid.mm))?;
            let normal = (beyond - q).unit()?;
            let step = step_near(self.photo, q, normal, reach, -contrast)?;
            camera.to_sheet(q + normal * step.at)
        };
        let points: Vec<P> = (0..run.len()).filter_map(sharp).collect();
        if 2 * points.len() < run.len() { run.to_vec() } else { points }
    }
}

/// The point of a closed run so many after another.
fn beside(run: &[P], i: usize, by: isize) -> P {
    run[(i as isize + by).rem_euclid(run.len() as isize) as usize]
}

/// Which points of a closed run lie at a corner of it.
fn corners(run: &[P]) -> Vec<bool> {
    /// Points to either side that the run's way is taken from, and how far it turns at a corner.
    const ARM: isize = 6;
    const TURN: f64 = 0.45;
    let turns = |i: usize| {
        let (before, after) = (run[i] - beside(run, i, -ARM), beside(run, i, ARM) - run[i]);
        before.cross(after).atan2(before.dot(after)).abs() > TURN
    };
    (0..run.len()).map(turns).collect()
}

/// The edge nearest to a place, within `reach` mm: where the strongest step in lightness is along the
/// way that lightness changes there.
pub fn snapped(photo: &Photograph, calibrated: &Calibrated, at: P, reach: f64) -> Option<P> {
    let camera = &calibrated.camera;
    let q = camera.to_picture(at).filter(|q| photo.holds(*q))?;
    let pixels = (reach / camera.pixel(at)?).clamp(3.0, 60.0);
    let ways = (0..8).map(|k| Vector::at_angle(f64::from(k) * std::f64::consts::FRAC_PI_8));
    let steps = ways.filter_map(|way| {
        let step = step_near(photo, q, way, pixels, 0.0)?;
        let place: Point<PixelSpace> = q + way * step.at;
        // Of edges as strong the nearest; across it, not aslant.
        Some((step.rise.abs() / (1.0 + step.at.abs() / pixels), place, step))
    });
    let (_, place, step) = steps.max_by(|a, b| a.0.total_cmp(&b.0))?;
    if step.rise.abs() < 10.0 { None } else { camera.to_sheet(place) }
}
