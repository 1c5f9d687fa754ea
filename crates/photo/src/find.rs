//! What the picture shows of the metal: its outline and its holes, each as lines and arcs.

use oddment_core::capture::trace::Form;
use oddment_core::job::Stop;
use oddment_core::shape::{Bounds, Edge, Loop, Point, SheetSpace, Vector};

use crate::calibrate::{Calibrated, Reference};
use crate::hand::{pulled, trace_at_corners};
use crate::levels::{Rim, rims};
use crate::load::{Photograph, PixelSpace};
use crate::mend::Mender;
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
#[derive(Clone, Debug, PartialEq)]
pub struct Found {
    /// How the picture shows the sheet: as it was calibrated, or better where straight edges told more.
    pub calibrated: Calibrated,
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
/// The hole is most of what rust makes larger.
const SIZE: f64 = 0.75;
/// Rims at so many levels are tried for one hole.
const MOST_LEVELS: usize = 6;
/// A round hole's step is at least this share of the outline's, and stands out along this share of its rim.
const FAINT_CONTRAST: f64 = 0.12;
const FAINT_EVEN: f64 = 0.8;
/// So many that hardly stand out are tried, the strongest first.
const MOST_FAINT: usize = 200;
/// Paper about a target's board that may lie in the way, mm.
const PAPER: f64 = 4.0;

/// Finds the metal's outline and holes. Of a sheet that lies `flat` its long straight edges, which are all over
/// the picture, tell what the lens bends; a bow would bend them too. `tell` hears what share is done, 0 to 1; a
/// search that was stopped has found nothing.
pub fn find(
    photo: &Photograph,
    calibrated: &Calibrated,
    flat: bool,
    stop: &Stop,
    tell: &mut dyn FnMut(f64),
) -> Found {
    let nothing = Found { calibrated: calibrated.clone(), outline: None, holes: Vec::new() };
    let grid = Grid::over(photo, calibrated, MOST_CELLS);
    let Some(values) = grid.lightness(photo, calibrated, stop) else { return nothing };
    let values = smoothed(&values, grid.cells);
    tell(0.15);
    let least = 0.7 * (SMALLEST / grid.mm).powi(2);
    let rims = rims(&values, grid.cells, least, stop, &mut |share| tell(0.15 + 0.7 * share));
    drop(values);
    let Some(outline) = outline_of(&rims, calibrated, &grid) else { return nothing };
    let mut better = calibrated.clone();
    if flat && matches!(calibrated.reference, Reference::Target(_)) {
        // The second time from where the first has them: what was bent comes out as longer lines.
        for _ in 0..2 {
            let seen = Seen { photo, placed: calibrated, calibrated: &better, grid };
            better = calibrated.straightened(photo, &seen.straight_edges(outline));
        }
    }
    let seen = Seen { photo, placed: calibrated, calibrated: &better, grid };
    let metal_is_lighter = outline.area > 0.0;
    // Which side of a rim the bed is on.
    let bed = usize::from(metal_is_lighter);
    let is_hole = |r: &&Rim| {
        // The metal beside a hole may lie in a lamp's light.
        let from_bed = |side: f64| (side - outline.sides[bed]).abs();
        let metal = from_bed(outline.sides[1 - bed]).max(from_bed(r.sides[1 - bed]));
        (r.area > 0.0) != metal_is_lighter
            && from_bed(r.sides[bed]) <= HOLE_SHADE * metal
            && encloses(&outline.points, r.cell_inside())
            && !seen.on_paper(r)
    };
    let stands_out =
        |r: &&Rim| r.contrast() >= HOLE_CONTRAST * outline.contrast() && r.even >= HOLE_EVEN;
    let (clear, faint): (Vec<&Rim>, Vec<&Rim>) = rims.iter().filter(is_hole).partition(stands_out);
    let outermost = outermost(&clear);
    let mut holes: Vec<Offered> = Vec::new();
    for (i, rim) in outermost.iter().enumerate() {
        if stop.raised() {
            return nothing;
        }
        tell(0.9 + 0.1 * i as f64 / outermost.len() as f64);
        let sound = |r: &Rim| seen.offered(r).filter(|o| !ragged(o));
        // Where its rim comes out ragged for rust beside it, one at another level may not.
        let other = || {
            let within = clear.iter().filter(|r| encloses(&rim.points, r.cell_inside()));
            within.take(MOST_LEVELS).find_map(|r| {
                let most = r.area.abs() >= SIZE * rim.area.abs();
                sound(r).filter(|o| most || is_round(o))
            })
        };
        holes.extend(sound(truest(rim, &clear)).or_else(other));
    }
    // Under a lamp metal may be nearly as light as what is below. What is round there is a hole all the same.
    let faint = faint
        .into_iter()
        .filter(|r| r.contrast() >= FAINT_CONTRAST * outline.contrast() && r.even >= FAINT_EVEN);
    for rim in faint.take(MOST_FAINT) {
        let circle = |o: &Offered| o.form == Form::Circle;
        let Some(offered) = seen.offered(rim).filter(circle) else { continue };
        let middle = |o: &Offered| o.shape.bounds().centre();
        let apart =
            |o: &Offered| !o.shape.encloses(middle(&offered)) && !offered.shape.encloses(middle(o));
        if holes.iter().all(apart) {
            holes.push(offered);
        }
    }
    holes.sort_by(|a, b| b.shape.area().total_cmp(&a.shape.area()));
    let outline = seen.offered(outline);
    Found { calibrated: better, outline, holes }
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

/// Rims that lie in no other, largest first.
fn outermost<'a>(holes: &[&'a Rim]) -> Vec<&'a Rim> {
    let mut largest = holes.to_vec();
    largest.sort_by(|a, b| b.area.abs().total_cmp(&a.area.abs()));
    let mut outermost: Vec<&Rim> = Vec::new();
    for rim in largest {
        let apart = |o: &&Rim| {
            !encloses(&o.points, rim.cell_inside()) && !encloses(&rim.points, o.cell_inside())
        };
        if outermost.iter().all(apart) {
            outermost.push(rim);
        }
    }
    outermost
}

/// Of a rim and those within it the one that is the hole: a rim may run round rust beside it too, and
/// those within may be parts of the hole between slats.
fn truest<'a>(rim: &'a Rim, holes: &[&'a Rim]) -> &'a Rim {
    /// The hole stands out more than what rust makes larger, by this.
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

fn is_round(offered: &Offered) -> bool {
    matches!(offered.form, Form::Circle | Form::Slot)
}

/// Whether a contour has more corners than anything that is cut: stains have.
fn ragged(offered: &Offered) -> bool {
    let edges = offered.shape.vertices().len() as f64;
    edges > 8.0 && edges > offered.shape.perimeter() / 12.0
}

/// Edges of at least this length (mm) tell what the lens bends.
const LONG: f64 = 180.0;
/// An arc is a bent straight edge where its bulge is less than this, and edges that meet at less than this
/// (radians) are one.
const BENT: f64 = 0.06;

struct Seen<'a> {
    photo: &'a Photograph,
    /// What the grid was laid by.
    placed: &'a Calibrated,
    /// What is known by now.
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
        let camera = &self.calibrated.camera;
        let tolerance = (1.5 * camera.pixel(*points.first()?)?).max(0.4);
        let traced = trace_at_corners(&points, tolerance)?;
        let mender = Mender {
            photo: self.photo,
            camera,
            contrast: rim.contrast(),
            lighter_within: rim.area > 0.0,
            tolerance,
        };
        let traced = match traced.form {
            Form::Circle | Form::Slot => traced,
            Form::Polygon | Form::Free => {
                mender.round(&points).unwrap_or_else(|| mender.straight_on(traced))
            }
        };
        let shape = traced.shape.directed(true);
        Some(Offered { form: traced.form, shape, off: traced.off, contrast: rim.contrast() })
    }

    /// Where the long straight edges of a rim are seen, each in some places along it.
    fn straight_edges(&self, rim: &Rim) -> Vec<Vec<Point<PixelSpace>>> {
        let Some(offered) = self.offered(rim) else { return Vec::new() };
        // What is lighter to the left.
        let shape = offered.shape.directed(rim.area > 0.0);
        let edges: Vec<Edge<SheetSpace>> = shape.edges().collect();
        let goes_on = |a: &Edge<SheetSpace>, b: &Edge<SheetSpace>| {
            let (a, b) = (a.direction(1.0), b.direction(0.0));
            a.cross(b).atan2(a.dot(b)).abs() < BENT
        };
        let bent = |e: &Edge<SheetSpace>| e.bulge().abs() < BENT;
        let stretches = edges.chunk_by(|a, b| bent(a) && bent(b) && goes_on(a, b));
        let long =
            stretches.filter(|s| bent(&s[0]) && s.iter().map(Edge::length).sum::<f64>() >= LONG);
        long.filter_map(|s| self.places(s, rim.contrast())).collect()
    }

    /// Where a stretch of edges is seen, in places along it; `None` where it hardly is.
    fn places(
        &self,
        stretch: &[Edge<SheetSpace>],
        contrast: f64,
    ) -> Option<Vec<Point<PixelSpace>>> {
        const COUNT: usize = 60;
        let camera = &self.calibrated.camera;
        let length: f64 = stretch.iter().map(Edge::length).sum();
        let place = |i: usize| {
            let mut along = length * (0.04 + 0.92 * i as f64 / (COUNT - 1) as f64);
            let edge = stretch.iter().find(|e| {
                let here = along <= e.length();
                along -= if here { 0.0 } else { e.length() };
                here
            })?;
            let share = along / edge.length();
            let (p, darker) = (edge.at(share), -edge.direction(share).left());
            let q = camera.to_picture(p)?;
            let normal = (camera.to_picture(p + darker * (2.0 * self.grid.mm))? - q).unit()?;
            let step = step_near(self.photo, q, normal, 3.0, -contrast)?;
            Some(q + normal * step.at)
        };
        let found: Vec<_> = (0..COUNT).filter_map(place).collect();
        (2 * found.len() > COUNT).then_some(found)
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
        let (before, now) = (&self.placed.camera, &self.calibrated.camera);
        let at = |c: Vector| now.to_sheet(before.to_picture(self.grid.at(c.x, c.y))?);
        (0..n as i64).step_by(2).map(mean).filter_map(at).collect()
    }

    /// Each point moved to where the edge is along its normal. Points that find no edge are left out,
    /// unless most do.
    fn sharpened(&self, run: &[P], contrast: f64, reach: f64) -> Vec<P> {
        let found = pulled(self.photo, &self.calibrated.camera, run, -contrast, reach);
        let points: Vec<P> = found.into_iter().flatten().map(|f| f.0).collect();
        if 2 * points.len() < run.len() { run.to_vec() } else { points }
    }
}

/// The point of a closed run so many after another.
pub(crate) fn beside(run: &[P], i: usize, by: isize) -> P {
    run[(i as isize + by).rem_euclid(run.len() as isize) as usize]
}

/// Which points of a closed run lie at a corner of it.
pub(crate) fn corners(run: &[P]) -> Vec<bool> {
    /// Points to either side that the run's way is taken from, and how far it turns at a corner.
    const ARM: isize = 6;
    const TURN: f64 = 0.45;
    let turns = |i: usize| {
        let (before, after) = (run[i] - beside(run, i, -ARM), beside(run, i, ARM) - run[i]);
        before.cross(after).atan2(before.dot(after)).abs() > TURN
    };
    (0..run.len()).map(turns).collect()
}
