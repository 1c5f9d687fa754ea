//! How much room the sheet leaves round a point.
//!
//! *Room* at a point p is the least of
//! - the distance from p to a rim, less what the rule requires from that rim, over all rims, and
//! - for a solid that covers p: minus its depth there, less the least distance required from it.
//!
//! Both are signed distances less a constant, so that room changes by no more than p moves (it is
//! 1-Lipschitz). Where a part lies clear with s mm to spare, every point of it has room of at
//! least s: the first line is the rule itself, and a point outside all solids is at least as far
//! from each solid as from its nearest rim. So the room at any one point of a part bounds what the
//! part can have to spare.

use std::f64::consts::PI;
use std::sync::OnceLock;
use std::sync::atomic::{AtomicU64, Ordering};

use super::tree::Tree;
use crate::distances::{Clearances, Obstacle, ObstacleKind, obstacles};
use crate::shape::{Bounds, Edge, EdgeSet, Point, SheetSpace, Vector};
use crate::sheet::Sheet;

/// At most so many nodes of the table of room: 4 MB.
const NODES: f64 = 500_000.0;

/// Width of the table's squares, mm, where the sheet is small enough.
const FINEST: f64 = 0.5;

/// How many tables, each twice as coarse as the one before.
const LEVELS: usize = 6;

/// Not yet worked out; any NaN will do, since room is a number.
const UNKNOWN: u64 = u64::MAX;

/// One edge of an obstacle.
#[derive(Debug)]
pub(super) struct Rim {
    pub(super) edge: Edge<SheetSpace>,
    /// The distance the rule requires from it, mm.
    pub(super) required: f64,
    /// Which obstacle's.
    pub(super) obstacle: usize,
}

#[derive(Debug)]
struct Solid {
    set: EdgeSet<SheetSpace>,
    least_required: f64,
}

/// Room at a point and how it grows.
#[derive(Clone, Copy, Debug)]
pub(super) struct Room {
    /// mm.
    pub(super) value: f64,
    /// The signed distance that it comes from, mm.
    pub(super) distance: f64,
    /// The obstacle that it comes from.
    pub(super) obstacle: usize,
    /// The direction in which it grows, a unit vector (null where that is not known).
    pub(super) toward: Vector,
}

/// The obstacles of one sheet, made ready for asking.
#[derive(Debug)]
pub(super) struct Field {
    rims: Vec<Rim>,
    rim_tree: Tree,
    solids: Vec<Solid>,
    solid_tree: Tree,
    /// Box of all metal, and the least required from the sheet's outer edge.
    bounds: Bounds<SheetSpace>,
    from_outside: f64,
    /// In a solid there is no more room than minus this, mm.
    least_required: f64,
    /// Nowhere in the box of all metal is less room than minus this, mm.
    deepest: f64,
    first_rims: Vec<usize>,
    /// The finest first, each with squares twice as wide as the one before.
    tables: Vec<Table>,
}

impl Field {
    /// The field of a sheet under the rule of distances.
    pub(super) fn new(sheet: &Sheet, clearances: &Clearances) -> Self {
        let (obstacles, bounds) = (obstacles(sheet, clearances), sheet.bounds());
        let mut rims = Vec::new();
        let mut solids = Vec::with_capacity(obstacles.len());
        let mut from_outside = f64::INFINITY;
        let mut first_rims = Vec::with_capacity(obstacles.len());
        for (obstacle, o) in obstacles.iter().enumerate() {
            let mut least = f64::INFINITY;
            first_rims.push(rims.len());
            for (set, required) in &o.rims {
                least = least.min(*required);
                let of_run = set.edges().iter();
                rims.extend(of_run.map(|e| Rim { edge: *e, required: *required, obstacle }));
            }
            let least_required = if least.is_finite() { least } else { 0.0 };
            if o.kind == ObstacleKind::Outside {
                from_outside = from_outside.min(least_required);
            }
            solids.push(Solid { set: o.solid.clone(), least_required });
        }
        let boxes: Vec<_> = rims.iter().map(|r| (r.edge.bounds(), r.required)).collect();
        let everywhere = Bounds {
            min: Point::new(f64::NEG_INFINITY, f64::NEG_INFINITY),
            max: Point::new(f64::INFINITY, f64::INFINITY),
        };
        let solid_boxes: Vec<_> = obstacles
            .iter()
            .map(|o| {
                (if o.kind == ObstacleKind::Outside { everywhere } else { o.solid.bounds() }, 0.0)
            })
            .collect();
        let outlines = sheet.bodies.iter().map(|b| b.outer.shape().area());
        let metal = outlines.fold(0.0, f64::max);
        let deepest = obstacles.iter().map(|o| deepest_in(o, bounds, metal)).fold(0.0, f64::max);
        let least_required = solids.iter().map(|s| s.least_required).fold(f64::INFINITY, f64::min);
        Self {
            rim_tree: Tree::new(&boxes),
            least_required,
            deepest,
            solid_tree: Tree::new(&solid_boxes),
            rims,
            first_rims,
            solids,
            bounds,
            from_outside: if from_outside.is_finite() { from_outside } else { 0.0 },
            tables: tables_over(bounds),
        }
    }

    /// Box of all metal.
    pub(super) fn bounds(&self) -> Bounds<SheetSpace> {
        self.bounds
    }

    /// How far below nothing room may be at a point at most, mm.
    pub(super) fn deepest(&self, p: Point<SheetSpace>) -> f64 {
        self.deepest + self.bounds.distance(&Bounds { min: p, max: p })
    }

    /// One rim.
    pub(super) fn rim(&self, n: usize) -> &Rim {
        &self.rims[n]
    }

    /// Visits the rims that may have less than `limit` to spare from what lies in `around`;
    /// `visit` returns the limit from there on.
    pub(super) fn rims_near(
        &self,
        around: &Bounds<SheetSpace>,
        limit: f64,
        mut visit: impl FnMut(usize, &Rim, f64) -> f64,
    ) {
        self.rim_tree.near(around, limit, |n, limit| visit(n, &self.rims[n], limit));
    }

    /// A rim of each obstacle.
    pub(super) fn first_rims(&self) -> &[usize] {
        &self.first_rims
    }

    /// The room at a point, exactly.
    pub(super) fn room(&self, p: Point<SheetSpace>) -> Room {
        self.room_below(p, f64::INFINITY, false)
    }

    /// The room at a point where it is known to be less than `limit`, and perhaps that no solid covers
    /// the point.
    fn room_below(&self, p: Point<SheetSpace>, limit: f64, is_free: bool) -> Room {
        let spot = Bounds { min: p, max: p };
        let mut found =
            Room { value: limit, distance: f64::INFINITY, obstacle: 0, toward: Vector::default() };
        self.rim_tree.near(&spot, limit, |n, limit| {
            let rim = &self.rims[n];
            let off = p - rim.edge.nearest(p);
            let distance = off.length_squared().sqrt();
            if distance - rim.required < limit {
                found = Room {
                    value: distance - rim.required,
                    distance,
                    obstacle: rim.obstacle,
                    toward: off.unit().unwrap_or_default(),
                };
            }
            found.value
        });
        if is_free {
            return found;
        }
        self.solid_tree.holding(p, |n| {
            let solid = &self.solids[n];
            if !solid.set.covers(p) {
                return;
            }
            let depth = solid.set.distance_to(p);
            if -depth - solid.least_required < found.value {
                let nearest = solid
                    .set
                    .edges()
                    .iter()
                    .map(|e| e.nearest(p) - p)
                    .min_by(|a, b| a.length_squared().total_cmp(&b.length_squared()));
                found = Room {
                    value: -depth - solid.least_required,
                    distance: -depth,
                    obstacle: n,
                    toward: nearest.and_then(Vector::unit).unwrap_or_default(),
                };
            }
        });
        found
    }

    /// How deep a point lies in an obstacle (mm; 0 outside), and the least distance required from
    /// that obstacle.
    pub(super) fn depth_in(&self, obstacle: usize, p: Point<SheetSpace>) -> (f64, f64) {
        let solid = &self.solids[obstacle];
        let depth = if solid.set.covers(p) { solid.set.distance_to(p) } else { 0.0 };
        (depth, solid.least_required)
    }

    /// Between what bounds the room at a point lies: quick, and off by about `blur` (mm) or by a
    /// square of the finest table.
    pub(super) fn room_between(&self, p: Point<SheetSpace>, blur: f64) -> (f64, f64) {
        if !self.bounds.contains(p) {
            // Beyond the box of the metal: at least so deep in what lies outside.
            let spot = Bounds { min: p, max: p };
            return (f64::NEG_INFINITY, -self.bounds.distance(&spot) - self.from_outside);
        }
        let level = self.tables.iter().rposition(|t| t.step <= blur).unwrap_or(0);
        let (value, off) = self.known(level, p);
        (value - off, value + off)
    }

    /// The room at the node of a table nearest to a point, and how far off the node is.
    fn known(&self, level: usize, p: Point<SheetSpace>) -> (f64, f64) {
        let table = &self.tables[level];
        let (node, at) = table.nearest(p);
        let off = (p - at).length_squared().sqrt();
        // Two threads may both work a node out: they find the same number, so order is no matter.
        let cell = &table.values()[node];
        let bits = cell.load(Ordering::Relaxed);
        if bits != UNKNOWN {
            return (f64::from_bits(bits), off);
        }
        // What a coarser table knows shortens the search.
        let (limit, is_free) = if level + 1 < self.tables.len() {
            let (value, off) = self.known(level + 1, at);
            // Room changes by no more than the point moves.
            (value + off + 1e-6, value - off + self.least_required > 0.0)
        } else {
            (f64::INFINITY, false)
        };
        let value = self.room_below(at, limit, is_free).value;
        cell.store(value.to_bits(), Ordering::Relaxed);
        (value, off)
    }
}

/// How far below nothing room can be because of an obstacle, within a box.
fn deepest_in(obstacle: &Obstacle, bounds: Bounds<SheetSpace>, metal: f64) -> f64 {
    let required = obstacle.rims.iter().map(|(_, required)| *required).fold(0.0, f64::max);
    if obstacle.kind == ObstacleKind::Outside {
        // Of a disc about a point of the box at least a quarter lies in the box.
        let free = bounds.width() * bounds.height() - metal;
        return required + (4.0 / PI * free.max(0.0)).sqrt();
    }
    let own = obstacle.solid.bounds();
    required + 0.5 * own.width().min(own.height()).max(0.0)
}

/// Room at the nodes of a square grid, worked out when first asked for.
#[derive(Debug)]
struct Table {
    origin: Point<SheetSpace>,
    step: f64,
    columns: usize,
    rows: usize,
    /// Made when first asked for: easy answers never need the fine tables.
    values: OnceLock<Vec<AtomicU64>>,
}

fn tables_over(bounds: Bounds<SheetSpace>) -> Vec<Table> {
    let (width, height) = (bounds.width().max(0.0), bounds.height().max(0.0));
    let coarsest = (width * height / NODES).sqrt().max((width + height) / (NODES / 4.0));
    let finest = if coarsest.is_finite() { coarsest.max(FINEST) } else { 1.0 };
    (0..LEVELS).map(|level| Table::over(bounds, finest * f64::from(1 << level))).collect()
}

impl Table {
    fn over(bounds: Bounds<SheetSpace>, step: f64) -> Self {
        let nodes_along = |length: f64| {
            if length.is_finite() { (length.max(0.0) / step) as usize + 2 } else { 1 }
        };
        let (columns, rows) = (nodes_along(bounds.width()), nodes_along(bounds.height()));
        let origin = if bounds.is_empty() { Point::origin() } else { bounds.min };
        Self { origin, step, columns, rows, values: OnceLock::new() }
    }

    fn values(&self) -> &[AtomicU64] {
        let count = self.columns * self.rows;
        self.values.get_or_init(|| (0..count).map(|_| AtomicU64::new(UNKNOWN)).collect())
    }

    fn nearest(&self, p: Point<SheetSpace>) -> (usize, Point<SheetSpace>) {
        let off = (p - self.origin) * (1.0 / self.step);
        let column = (off.x + 0.5).clamp(0.0, (self.columns - 1) as f64) as usize;
        let row = (off.y + 0.5).clamp(0.0, (self.rows - 1) as f64) as usize;
        let at = Vector::new(column as f64, row as f64) * self.step;
        (row * self.columns + column, self.origin + at)
    }
}
