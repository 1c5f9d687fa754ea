//! Closed contours in a grid of lightness, each at the level where it stands out most.
//!
//! A single threshold fails where a lamp shines on one side of a sheet and rust darkens the other. So the
//! grid is cut at many levels; of the rims between lighter and darker that lie in about one place, the one
//! with the strongest step across it is kept. Rims are run along the cracks between cells.

use oddment_core::job::Stop;

/// A closed rim between lighter and darker cells.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Rim {
    /// Its corners in cells, from the grid's lower left, with what is lighter to their left.
    pub(crate) points: Vec<[i32; 2]>,
    /// Area in cells, positive where it runs counter-clockwise round what is lighter.
    pub(crate) area: f64,
    /// Least and greatest x and y.
    pub(crate) box_: [i32; 4],
    /// Lightness on its lighter and on its darker side, on average.
    pub(crate) sides: [f64; 2],
    /// The share of its length with at least half of that.
    pub(crate) even: f64,
}

impl Rim {
    /// How much lighter one side is than the other.
    pub(crate) fn contrast(&self) -> f64 {
        self.sides[0] - self.sides[1]
    }

    /// A cell inside of it.
    pub(crate) fn cell_inside(&self) -> [i32; 2] {
        // Rims begin with a crack to the right, lighter above and darker below.
        let [x, y] = self.points[0];
        if self.area > 0.0 { [x, y] } else { [x, y - 1] }
    }

    /// How much it stands out all round.
    pub(crate) fn strength(&self) -> f64 {
        self.contrast() * self.even
    }
}

/// Levels that the grid is cut at.
const LEVELS: usize = 40;
/// Steps are measured over this many cells to either side.
const APART: i32 = 2;
/// A weaker step than this is noise.
const LEAST: f64 = 7.0;

/// The rims of at least `least` cells' area, strongest first; `tell` hears what share is done.
pub(crate) fn rims(
    values: &[f32],
    cells: [usize; 2],
    least: f64,
    stop: &Stop,
    tell: &mut dyn FnMut(f64),
) -> Vec<Rim> {
    let mut sample: Vec<f32> =
        values.iter().step_by(97).copied().filter(|v| v.is_finite()).collect();
    sample.sort_by(f32::total_cmp);
    let (Some(low), Some(high)) = (sample.first(), sample.last()) else { return Vec::new() };
    let grid = Cells { values, cells };
    let mut visited = vec![0u8; values.len()];
    let mut found = Vec::new();
    for level in 1..=LEVELS {
        if stop.raised() {
            return Vec::new();
        }
        let share = level as f32 / (LEVELS + 1) as f32;
        tell(f64::from(share));
        let at = low + (high - low) * share;
        grid.cut(at, level as u8, &mut visited, least, &mut found);
    }
    strongest(found)
}

/// Of the rims that lie in about one place the strongest, strongest first.
fn strongest(mut found: Vec<Rim>) -> Vec<Rim> {
    found.sort_by(|a, b| b.strength().total_cmp(&a.strength()));
    let mut kept: Vec<Rim> = Vec::new();
    for rim in found {
        if !kept.iter().any(|k| same(k, &rim)) {
            kept.push(rim);
        }
    }
    kept
}

fn same(a: &Rim, b: &Rim) -> bool {
    let (p, q) = (a.box_, b.box_);
    let shared = |i: usize| f64::from(p[i + 1].min(q[i + 1]) - p[i].max(q[i])).max(0.0);
    let size = |r: [i32; 4]| f64::from(r[1] - r[0]) * f64::from(r[3] - r[2]);
    let both = shared(0) * shared(2);
    both > 0.85 * (size(p) + size(q) - both) && (a.area > 0.0) == (b.area > 0.0)
}

struct Cells<'a> {
    values: &'a [f32],
    cells: [usize; 2],
}

impl Cells<'_> {
    fn value(&self, x: i32, y: i32) -> f32 {
        let [w, h] = self.cells;
        let inside = x >= 0 && y >= 0 && (x as usize) < w && (y as usize) < h;
        if inside { self.values[y as usize * w + x as usize] } else { f32::NAN }
    }

    /// Adds the rims at one level.
    fn cut(&self, level: f32, stamp: u8, visited: &mut [u8], least: f64, found: &mut Vec<Rim>) {
        let [w, h] = self.cells;
        // No rim round so many cells is shorter.
        let shortest = (4.0 * (std::f64::consts::FRAC_PI_4 * least).sqrt()) as usize;
        let mut points = Vec::new();
        for y in 0..h {
            for x in 0..w {
                let i = y * w + x;
                // A lighter cell above a darker one: a rim runs to the right between them.
                let begins = self.values[i] >= level
                    && !(y > 0 && self.values[i - w] >= level)
                    && visited[i] != stamp;
                if !begins {
                    continue;
                }
                self.run(x as i32, y as i32, level, stamp, visited, &mut points);
                if points.len() < shortest {
                    continue;
                }
                if let Some(rim) = self.measured(&points, least) {
                    found.push(rim);
                }
            }
        }
    }

    /// Runs once round, lighter cells on the left.
    fn run(
        &self,
        x: i32,
        y: i32,
        level: f32,
        stamp: u8,
        visited: &mut [u8],
        points: &mut Vec<[i32; 2]>,
    ) {
        points.clear();
        let lighter = |x: i32, y: i32| self.value(x, y) >= level;
        let (mut at, mut way) = ([x, y], [1, 0]);
        loop {
            points.push(at);
            if way == [1, 0] {
                visited[at[1] as usize * self.cells[0] + at[0] as usize] = stamp;
            }
            at = [at[0] + way[0], at[1] + way[1]];
            // The cells ahead to the left and to the right.
            let [dx, dy] = way;
            let ahead = |side: i32| {
                // Twice the offset of the cell's middle, halved downward.
                let (ox, oy) = (dx - side * dy, dy + side * dx);
                lighter(at[0] + (ox - 1) / 2, at[1] + (oy - 1) / 2)
            };
            way = match (ahead(1), ahead(-1)) {
                (false, _) => [-dy, dx],
                (true, false) => [dx, dy],
                (true, true) => [dy, -dx],
            };
            if at == [x, y] && way == [1, 0] {
                return;
            }
        }
    }

    fn measured(&self, points: &[[i32; 2]], least: f64) -> Option<Rim> {
        let n = points.len();
        let mut area = 0.0;
        let mut box_ = [i32::MAX, i32::MIN, i32::MAX, i32::MIN];
        let mut steps = Vec::with_capacity(n);
        for (i, p) in points.iter().enumerate() {
            let q = points[(i + 1) % n];
            area += 0.5 * (f64::from(p[0]) * f64::from(q[1]) - f64::from(q[0]) * f64::from(p[1]));
            box_ = [box_[0].min(p[0]), box_[1].max(p[0]), box_[2].min(p[1]), box_[3].max(p[1])];
            let [dx, dy] = [q[0] - p[0], q[1] - p[1]];
            // The cells on both sides of the crack, and from there straight away from it.
            let (left, right) = ([-dy, dx], [dy, -dx]);
            let cell = |side: [i32; 2]| {
                let (x, y) = ((dx + side[0] - 1) / 2, (dy + side[1] - 1) / 2);
                let far = APART - 1;
                self.value(p[0] + x + far * side[0], p[1] + y + far * side[1])
            };
            steps.push([cell(left), cell(right)]);
        }
        if area.abs() < least {
            return None;
        }
        let seen: Vec<[f64; 2]> = steps
            .iter()
            .filter(|s| s[0].is_finite() && s[1].is_finite())
            .map(|s| s.map(f64::from))
            .collect();
        let mean = |k: usize| seen.iter().map(|s| s[k]).sum::<f64>() / seen.len().max(1) as f64;
        let sides = [mean(0), mean(1)];
        let contrast = sides[0] - sides[1];
        let even = seen.iter().filter(|s| s[0] - s[1] >= 0.5 * contrast).count() as f64 / n as f64;
        let stands_out = contrast >= LEAST && even > 0.5;
        stands_out.then(|| Rim { points: points.to_vec(), area, box_, sides, even })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A light rectangle of 30 × 20 with a dark hole of 8 × 6, and a light cell that touches it corner to
    /// corner.
    #[test]
    fn rims_run_round_what_is_lighter_and_back_round_what_is_darker() {
        let cells = [50, 40];
        let light = |x: usize, y: usize| {
            let inside = (10..40).contains(&x) && (10..30).contains(&y);
            inside && !((20..28).contains(&x) && (16..22).contains(&y)) || (x, y) == (40, 30)
        };
        let values: Vec<f32> =
            (0..2000).map(|i| if light(i % 50, i / 50) { 150.0 } else { 30.0 }).collect();
        let found = rims(&values, cells, 20.0, &Stop::default(), &mut |_| {});
        let mut areas: Vec<f64> = found.iter().map(|r| r.area).collect();
        areas.sort_by(f64::total_cmp);
        assert_eq!(areas, [-48.0, 600.0]);
        assert_eq!(found[0].points.len(), if found[0].area > 0.0 { 100 } else { 28 });
        assert!(found.iter().all(|r| r.even > 0.9 && r.contrast() > 100.0));
    }
}
