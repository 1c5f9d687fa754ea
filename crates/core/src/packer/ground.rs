//! The free metal of a sheet as the search sees it.

use crate::distances::{Clearances, obstacles};
use crate::sheet::Sheet;

use super::collide::{Limits, line_distance_below, turns_round};
use super::field::{Field, Wall};
use super::figure::{Line, chords, curve_allowance};

/// Cells along the longer side of the sheet's field.
const FIELD_CELLS: usize = 400;

/// Where parts may lie: walls with the distance each asks for, and a field of what is left over.
#[derive(Clone, Debug)]
pub(super) struct Ground {
    walls: Vec<Wall>,
    boxes: Vec<Limits>,
    field: Field,
    buckets: Buckets,
    /// One point of each obstacle's rim.
    posts: Vec<[f64; 2]>,
    /// Box of the metal.
    pub(super) limits: Limits,
    /// The box in which figures may lie, where it is all that limits them.
    pub(super) plain: Option<Limits>,
    /// Area of metal, mm².
    pub(super) area: f64,
}

impl Ground {
    /// The free metal of `sheet` under the rule of distances, arcs as chords within `bound` mm;
    /// `inset` is how far a part's straight edges may lie inside its outline.
    pub(super) fn new(sheet: &Sheet, clearances: &Clearances, bound: f64, inset: f64) -> Self {
        let (mut walls, mut posts) = (Vec::new(), Vec::new());
        for obstacle in obstacles(sheet, clearances) {
            // Rims run with their solid on the left, but for the outside, whose edges run round the
            // metal: turned so that the free metal lies to the left of every wall.
            let outside = obstacle.solid.is_complement();
            posts.extend(
                obstacle.solid.loops().filter_map(|l| l.first()).map(|e| [e.from().x, e.from().y]),
            );
            for (rim, required) in &obstacle.rims {
                for edge in rim.edges() {
                    let keep = required + inset + curve_allowance(edge, bound);
                    let edge = if outside { *edge } else { edge.reversed() };
                    chords(&edge, bound, |a, b| {
                        walls.push(Wall { from: [a.x, a.y], to: [b.x, b.y], keep });
                    });
                }
            }
        }
        let bounds = sheet.bounds();
        let limits =
            Limits { min: [bounds.min.x, bounds.min.y], max: [bounds.max.x, bounds.max.y] };
        let field = Field::new(&walls, limits.min, limits.max, FIELD_CELLS, true);
        let boxes: Vec<Limits> = walls
            .iter()
            .map(|w| Limits::of_line(&[w.from[0], w.from[1], w.to[0], w.to[1]]).grown(w.keep))
            .collect();
        let buckets = Buckets::new(&boxes, &limits);
        let plain = plain(&walls, &limits);
        Self { walls, boxes, field, buckets, posts, limits, plain, area: sheet.area() }
    }

    /// What is left over (mm) at a point beyond the distances asked for; negative where the point
    /// itself may not lie.
    #[inline]
    pub(super) fn spare(&self, x: f64, y: f64) -> f64 {
        self.field.at(x, y)
    }

    /// The nodes of the field and what is left over at each.
    pub(super) fn nodes(&self) -> impl Iterator<Item = ([f64; 2], f64)> + '_ {
        self.field.nodes()
    }

    /// Distance between neighbouring nodes of the field, mm.
    pub(super) fn cell(&self) -> f64 {
        self.field.cell()
    }

    /// One point of each obstacle's rim.
    pub(super) fn posts(&self) -> &[[f64; 2]] {
        &self.posts
    }

    /// Whether a point lies on the metal and in no obstacle, whatever the distances.
    pub(super) fn is_free(&self, x: f64, y: f64) -> bool {
        let spare = self.field.at(x, y);
        if spare > 2.0 * self.field.cell() {
            return true;
        }
        let lines = self.walls.iter().map(|w| [w.from[0], w.from[1], w.to[0], w.to[1]]);
        turns_round(lines, x, y) > 0
    }

    /// Whether any edge of a figure comes too near a wall. `limits` is the box of `edges`.
    pub(super) fn hits(&self, edges: &[Line], limits: &Limits, touch: f64) -> bool {
        let mut hit = false;
        self.buckets.visit(limits, |i| {
            if hit || !self.boxes[i].meets(limits, 0.0) {
                return;
            }
            let wall = &self.walls[i];
            let line = [wall.from[0], wall.from[1], wall.to[0], wall.to[1]];
            let around = &self.boxes[i];
            hit = edges.iter().any(|e| {
                around.meets(&Limits::of_line(e), 0.0)
                    && line_distance_below(e, &line, wall.keep, touch)
            });
        });
        hit
    }
}

/// The box left between four upright walls, if that is all there is.
fn plain(walls: &[Wall], limits: &Limits) -> Option<Limits> {
    let mut left = *limits;
    for wall in walls {
        let k = (0..2).find(|k| wall.from[*k] == wall.to[*k])?;
        if wall.from[k] == limits.min[k] {
            left.min[k] = left.min[k].max(limits.min[k] + wall.keep);
        } else if wall.from[k] == limits.max[k] {
            left.max[k] = left.max[k].min(limits.max[k] - wall.keep);
        } else {
            return None;
        }
    }
    (walls.len() == 4).then_some(left)
}

/// Walls by the squares of a coarse grid that their boxes meet.
#[derive(Clone, Debug)]
struct Buckets {
    min: [f64; 2],
    per_mm: f64,
    columns: usize,
    rows: usize,
    /// Start of each square's run in `walls`.
    starts: Vec<u32>,
    walls: Vec<u32>,
}

impl Buckets {
    fn new(boxes: &[Limits], limits: &Limits) -> Self {
        let span = [limits.max[0] - limits.min[0], limits.max[1] - limits.min[1]];
        let side = (span[0].max(span[1]) / 48.0).max(1e-9);
        let columns = (span[0] / side).ceil().max(1.0) as usize;
        let rows = (span[1] / side).ceil().max(1.0) as usize;
        let mut grid = Self {
            min: limits.min,
            per_mm: 1.0 / side,
            columns,
            rows,
            starts: vec![0; columns * rows + 1],
            walls: Vec::new(),
        };
        let mut held = vec![Vec::new(); columns * rows];
        for (i, b) in boxes.iter().enumerate() {
            let (c, r) = grid.squares(b);
            for row in r {
                for column in c.clone() {
                    held[row * columns + column].push(i as u32);
                }
            }
        }
        for (square, walls) in held.into_iter().enumerate() {
            grid.walls.extend(walls);
            grid.starts[square + 1] = grid.walls.len() as u32;
        }
        grid
    }

    fn squares(
        &self,
        b: &Limits,
    ) -> (std::ops::RangeInclusive<usize>, std::ops::RangeInclusive<usize>) {
        let place = |v: f64, k: usize, n: usize| {
            (((v - self.min[k]) * self.per_mm).floor().max(0.0) as usize).min(n - 1)
        };
        (
            place(b.min[0], 0, self.columns)..=place(b.max[0], 0, self.columns),
            place(b.min[1], 1, self.rows)..=place(b.max[1], 1, self.rows),
        )
    }

    /// Calls `see` for each wall whose squares meet the box; a wall may come up more than once.
    fn visit(&self, b: &Limits, mut see: impl FnMut(usize)) {
        let (c, r) = self.squares(b);
        for row in r {
            for column in c.clone() {
                let square = row * self.columns + column;
                let run = self.starts[square] as usize..self.starts[square + 1] as usize;
                for wall in &self.walls[run] {
                    see(*wall as usize);
                }
            }
        }
    }
}
