//! Signed-distance grids: how far a point is from a boundary, in one look-up.
//!
//! They steer the search; whether two things really collide is always measured on edges.

/// A straight edge and the distance (mm) that must be kept from it.
#[derive(Clone, Copy, Debug)]
pub(super) struct Wall {
    pub(super) from: [f64; 2],
    pub(super) to: [f64; 2],
    pub(super) keep: f64,
}

impl Wall {
    pub(super) fn distance(&self, x: f64, y: f64) -> f64 {
        let (ux, uy) = (self.to[0] - self.from[0], self.to[1] - self.from[1]);
        let (px, py) = (x - self.from[0], y - self.from[1]);
        let length = ux * ux + uy * uy;
        let t = if length > 0.0 { ((px * ux + py * uy) / length).clamp(0.0, 1.0) } else { 0.0 };
        (px - t * ux).hypot(py - t * uy)
    }
}

/// Distances on a grid, in mm: positive where the walls wind round no point, negative inside.
#[derive(Clone, Debug)]
pub(super) struct Field {
    x: f64,
    y: f64,
    cell: f64,
    per_mm: f64,
    columns: usize,
    rows: usize,
    values: Vec<f32>,
}

impl Field {
    /// The field of the shape that closed chains of walls enclose, over the box from `min` to
    /// `max`, with about `cells` cells along the longer side. Outside, a value is the distance to
    /// the nearest wall less what must be kept from it; inside, minus that distance and what must
    /// be kept. With `inverted` the shape is all that the walls do not enclose.
    ///
    /// Each node learns its nearest wall from its neighbours, swept forth and back twice, starting
    /// from the nodes that lie beside a wall (after Danielsson's distance mapping, 1980): exact
    /// beside the walls and nearly so elsewhere, in time independent of the number of walls.
    pub(super) fn new(
        walls: &[Wall],
        min: [f64; 2],
        max: [f64; 2],
        cells: usize,
        inverted: bool,
    ) -> Self {
        let (width, height) = (max[0] - min[0], max[1] - min[1]);
        let cell = (width.max(height) / cells as f64).max(1e-9);
        let margin = 2.0 * cell;
        let columns = ((width + 2.0 * margin) / cell).ceil() as usize + 1;
        let rows = ((height + 2.0 * margin) / cell).ceil() as usize + 1;
        let mut field = Self {
            x: min[0] - margin,
            y: min[1] - margin,
            cell,
            per_mm: 1.0 / cell,
            columns,
            rows,
            values: Vec::new(),
        };
        let nearest = field.nearest_walls(walls);
        let inside = field.inside(walls);
        field.values = (0..columns * rows)
            .map(|node| {
                let (x, y) = field.node(node % columns, node / columns);
                let Some(wall) = walls.get(nearest[node] as usize) else {
                    return if inverted { f32::MIN } else { f32::MAX };
                };
                let distance = wall.distance(x, y);
                let covered = inside[node] != inverted;
                (if covered { -distance - wall.keep } else { distance - wall.keep }) as f32
            })
            .collect();
        field
    }

    fn node(&self, column: usize, row: usize) -> (f64, f64) {
        (self.x + column as f64 * self.cell, self.y + row as f64 * self.cell)
    }

    fn nearest_walls(&self, walls: &[Wall]) -> Vec<u32> {
        let (columns, rows) = (self.columns, self.rows);
        let mut nearest = vec![u32::MAX; columns * rows];
        let mut value = vec![f64::INFINITY; columns * rows];
        let offer = |node: usize, wall: u32, nearest: &mut [u32], value: &mut [f64]| {
            if wall == u32::MAX || nearest[node] == wall {
                return;
            }
            let (x, y) = self.node(node % columns, node / columns);
            let w = &walls[wall as usize];
            let spare = w.distance(x, y) - w.keep;
            if spare < value[node] {
                value[node] = spare;
                nearest[node] = wall;
            }
        };
        for (i, wall) in walls.iter().enumerate() {
            let length = (wall.to[0] - wall.from[0]).hypot(wall.to[1] - wall.from[1]);
            let pieces = (length * self.per_mm).ceil().max(1.0);
            for k in 0..=pieces as usize {
                let t = k as f64 / pieces;
                let x = wall.from[0] + (wall.to[0] - wall.from[0]) * t;
                let y = wall.from[1] + (wall.to[1] - wall.from[1]) * t;
                let column = ((x - self.x) * self.per_mm).floor() as i64;
                let row = ((y - self.y) * self.per_mm).floor() as i64;
                for (dc, dr) in [(0, 0), (1, 0), (0, 1), (1, 1)] {
                    let (c, r) = (column + dc, row + dr);
                    if (0..columns as i64).contains(&c) && (0..rows as i64).contains(&r) {
                        let node = r as usize * columns + c as usize;
                        offer(node, i as u32, &mut nearest, &mut value);
                    }
                }
            }
        }
        for _ in 0..2 {
            for row in 0..rows {
                for column in 0..columns {
                    let node = row * columns + column;
                    if column > 0 {
                        offer(node, nearest[node - 1], &mut nearest, &mut value);
                    }
                    if row > 0 {
                        for c in column.saturating_sub(1)..=(column + 1).min(columns - 1) {
                            let other = nearest[(row - 1) * columns + c];
                            offer(node, other, &mut nearest, &mut value);
                        }
                    }
                }
            }
            for row in (0..rows).rev() {
                for column in (0..columns).rev() {
                    let node = row * columns + column;
                    if column + 1 < columns {
                        offer(node, nearest[node + 1], &mut nearest, &mut value);
                    }
                    if row + 1 < rows {
                        for c in column.saturating_sub(1)..=(column + 1).min(columns - 1) {
                            let other = nearest[(row + 1) * columns + c];
                            offer(node, other, &mut nearest, &mut value);
                        }
                    }
                }
            }
        }
        nearest
    }

    /// Whether the walls wind counter-clockwise round each node, row by row from their crossings with it.
    fn inside(&self, walls: &[Wall]) -> Vec<bool> {
        let mut crossings: Vec<Vec<(f64, i32)>> = vec![Vec::new(); self.rows];
        for wall in walls {
            let (y0, y1) = (wall.from[1], wall.to[1]);
            let (low, high) = (y0.min(y1), y0.max(y1));
            let first = ((low - self.y) * self.per_mm).ceil().max(0.0) as usize;
            for (row, cross) in crossings.iter_mut().enumerate().skip(first) {
                let y = self.node(0, row).1;
                if y >= high {
                    break;
                }
                if y < low {
                    continue;
                }
                let t = (y - y0) / (y1 - y0);
                let x = wall.from[0] + (wall.to[0] - wall.from[0]) * t;
                cross.push((x, if y1 < y0 { 1 } else { -1 }));
            }
        }
        let mut inside = vec![false; self.columns * self.rows];
        for (row, mut cross) in crossings.into_iter().enumerate() {
            cross.sort_by(|a, b| a.0.total_cmp(&b.0));
            let (mut turns, mut next) = (0, 0);
            for column in 0..self.columns {
                let x = self.node(column, row).0;
                while next < cross.len() && cross[next].0 <= x {
                    turns += cross[next].1;
                    next += 1;
                }
                inside[row * self.columns + column] = turns > 0;
            }
        }
        inside
    }

    /// The nodes and their values.
    pub(super) fn nodes(&self) -> impl Iterator<Item = ([f64; 2], f64)> + '_ {
        self.values.iter().enumerate().map(|(node, value)| {
            let (x, y) = self.node(node % self.columns, node / self.columns);
            ([x, y], f64::from(*value))
        })
    }

    /// Distance (mm) between neighbouring nodes.
    pub(super) fn cell(&self) -> f64 {
        self.cell
    }
}
