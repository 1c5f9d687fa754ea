//! Outlines, holes and islands: which contour lies in which.
//!
//! A point inside each contour is looked for, on a level through its middle, and on the same level
//! every other contour that it lies in. Contours in an even number of others are outlines of
//! metal, those in an odd number are holes of the smallest outline round them.

use oddment_core::shape::{Edge, Loop, PartSpace, Point, Region};

use super::join::Contour;
use super::{DrawingFault, Found, Problem, crossings};

/// Areas (mm²) that differ by less are equal when regions are put in order.
const EQUAL_AREA: f64 = 0.01;

/// More comparisons than this are refused: the drawing is scribble.
const MOST_WORK: usize = 200_000_000;

/// The regions that the contours make, in order, without marks.
pub(super) fn nest(
    mut contours: Vec<Contour>,
    problems: &mut Vec<Problem>,
) -> Result<Vec<Found>, DrawingFault> {
    contours.sort_by(|a, b| b.shape.area().total_cmp(&a.shape.area()));
    let levels = Levels::of(&contours)?;
    let mut depths: Vec<usize> = Vec::with_capacity(contours.len());
    let mut holes: Vec<Vec<Loop<PartSpace>>> = vec![Vec::new(); contours.len()];
    let mut work = 0;
    for (i, contour) in contours.iter().enumerate() {
        let inside = levels.point_in(i, &contour.shape, &mut work);
        let mut around = levels.around(inside, &mut work);
        if work > MOST_WORK {
            return Err(DrawingFault::TooLarge("too many lines beside each other".to_owned()));
        }
        around.retain(|j| *j < i);
        depths.push(around.len());
        // The smallest outline round a hole; contours that cross can leave it without one.
        if is_hole(depths[i])
            && let Some(outline) = around.iter().rev().find(|j| !is_hole(depths[**j]))
        {
            holes[*outline].push(contour.shape.clone());
        }
    }
    crossings::tell(&contours, problems);

    let mut found: Vec<Found> = (contours.into_iter().zip(holes).enumerate())
        .filter(|(i, _)| !is_hole(depths[*i]))
        .map(|(_, (contour, holes))| Found {
            region: Region::new(contour.shape, holes),
            marks: Vec::new(),
            in_open: false,
        })
        .collect();
    sort(&mut found);
    Ok(found)
}

fn is_hole(depth: usize) -> bool {
    !depth.is_multiple_of(2)
}

/// Largest first; of equal areas the one with the least x, then y, of its box.
fn sort(found: &mut [Found]) {
    found.sort_by(|a, b| b.region.area().total_cmp(&a.region.area()));
    let areas: Vec<f64> = found.iter().map(|f| f.region.area()).collect();
    let mut start = 0;
    while start < found.len() {
        let equal = areas[start..].iter().take_while(|a| areas[start] - **a < EQUAL_AREA).count();
        found[start..start + equal].sort_by_key(|f| {
            let corner = f.region.bounds().min;
            // To a micrometre, so that noise does not decide.
            ((corner.x * 1000.0).round() as i64, (corner.y * 1000.0).round() as i64)
        });
        start += equal;
    }
}

/// A stretch of a contour that runs up or down all the way, from `low` to below `high`.
#[derive(Clone, Copy)]
struct Rise {
    low: f64,
    high: f64,
    contour: usize,
    course: Course,
}

#[derive(Clone, Copy)]
enum Course {
    Line {
        from: Point<PartSpace>,
        to: Point<PartSpace>,
    },
    /// On the side of the centre that the sign says.
    Arc {
        centre: Point<PartSpace>,
        radius: f64,
        side: f64,
    },
}

impl Rise {
    fn x_at(&self, y: f64) -> f64 {
        match self.course {
            Course::Line { from, to } => {
                from.x + (to.x - from.x) * ((y - from.y) / (to.y - from.y))
            }
            Course::Arc { centre, radius, side } => {
                let up = y - centre.y;
                centre.x + side * (radius * radius - up * up).max(0.0).sqrt()
            }
        }
    }
}

/// All contours' rises, sorted into bands of levels.
struct Levels {
    rises: Vec<Rise>,
    bands: Vec<Vec<u32>>,
    bottom: f64,
    height: f64,
}

impl Levels {
    fn of(contours: &[Contour]) -> Result<Self, DrawingFault> {
        let mut rises = Vec::new();
        for (i, contour) in contours.iter().enumerate() {
            for edge in contour.shape.edges() {
                rise(&edge, i, &mut rises);
            }
        }
        let bottom = rises.iter().map(|r| r.low).fold(f64::INFINITY, f64::min);
        let top = rises.iter().map(|r| r.high).fold(f64::NEG_INFINITY, f64::max);
        // As many bands as let a rise lie in three of them on average.
        let total: f64 = rises.iter().map(|r| r.high - r.low).sum();
        let count = (2.0 * rises.len() as f64 * (top - bottom) / total).clamp(1.0, 100_000.0);
        let count = if count.is_finite() { count as usize } else { 1 };
        let height = (top - bottom) / count as f64;
        let mut levels = Self { rises, bands: vec![Vec::new(); count], bottom, height };
        for i in 0..levels.rises.len() {
            let Ok(number) = u32::try_from(i) else {
                return Err(DrawingFault::TooLarge("too many lines".to_owned()));
            };
            let rise = levels.rises[i];
            for band in levels.band(rise.low)..=levels.band(rise.high) {
                levels.bands[band].push(number);
            }
        }
        Ok(levels)
    }

    fn band(&self, y: f64) -> usize {
        (((y - self.bottom) / self.height).max(0.0) as usize).min(self.bands.len() - 1)
    }

    fn at(&self, y: f64) -> impl Iterator<Item = &Rise> {
        self.bands[self.band(y)]
            .iter()
            .map(|i| &self.rises[*i as usize])
            .filter(move |r| r.low <= y && y < r.high)
    }

    /// A point well inside contour `i`: the middle of its widest stretch on a level half-way
    /// between the two corners nearest to its middle.
    fn point_in(&self, i: usize, shape: &Loop<PartSpace>, work: &mut usize) -> Point<PartSpace> {
        let bounds = shape.bounds();
        let middle = bounds.centre().y;
        let (mut below, mut above) = (bounds.min.y, bounds.max.y);
        for vertex in shape.vertices() {
            let y = vertex.point.y;
            if y <= middle {
                below = below.max(y);
            } else {
                above = above.min(y);
            }
        }
        let y = (below + above) / 2.0;
        *work += self.bands[self.band(y)].len() + shape.vertices().len();
        let mut xs: Vec<f64> = self.at(y).filter(|r| r.contour == i).map(|r| r.x_at(y)).collect();
        xs.sort_by(f64::total_cmp);
        let widest = xs.chunks_exact(2).max_by(|a, b| (a[1] - a[0]).total_cmp(&(b[1] - b[0])));
        Point::new(widest.map_or(bounds.centre().x, |w| (w[0] + w[1]) / 2.0), y)
    }

    /// The contours that the point lies in, by number.
    fn around(&self, point: Point<PartSpace>, work: &mut usize) -> Vec<usize> {
        *work += self.bands[self.band(point.y)].len();
        let mut right: Vec<usize> =
            self.at(point.y).filter(|r| r.x_at(point.y) > point.x).map(|r| r.contour).collect();
        right.sort_unstable();
        right.chunk_by(|a, b| a == b).filter(|c| c.len() % 2 == 1).map(|c| c[0]).collect()
    }
}

/// The parts of an edge that run up or down all the way.
fn rise(edge: &Edge<PartSpace>, contour: usize, rises: &mut Vec<Rise>) {
    let mut add = |a: f64, b: f64, course| {
        if a != b {
            rises.push(Rise { low: a.min(b), high: a.max(b), contour, course });
        }
    };
    let (from, to) = (edge.from(), edge.to());
    let Edge::Arc { centre, radius, sweep, .. } = *edge else {
        add(from.y, to.y, Course::Line { from, to });
        return;
    };
    // Turning points of y lie straight above and below the centre.
    let start = (from - centre).angle();
    let quarter = std::f64::consts::FRAC_PI_2;
    let mut turns: Vec<(f64, f64)> = (-3_i32..=3)
        .filter(|k| k % 2 != 0)
        .map(|k| {
            let up = if k.rem_euclid(4) == 1 { 1.0 } else { -1.0 };
            ((f64::from(k) * quarter - start) / sweep, centre.y + up * radius)
        })
        .filter(|(share, _)| *share > 0.0 && *share < 1.0)
        .collect();
    turns.sort_by(|a, b| a.0.total_cmp(&b.0));
    turns.push((1.0, to.y));
    let (mut share, mut y) = (0.0, from.y);
    for (next, next_y) in turns {
        let middle = start + sweep * (share + next) / 2.0;
        let side = if middle.cos() >= 0.0 { 1.0 } else { -1.0 };
        add(y, next_y, Course::Arc { centre, radius, side });
        (share, y) = (next, next_y);
    }
}
