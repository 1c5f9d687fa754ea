//! Points by place, so that neighbours are found without comparing everything with everything.

use std::collections::HashMap;
use std::hash::{BuildHasherDefault, Hasher};

use oddment_core::shape::{PartSpace, Point};

/// A cell with more points than this is looked at only in part: crowds that dense are scribble,
/// and comparing all their pairs would take for ever.
const CROWD: usize = 16;

/// A point and its number.
type Spot = (usize, Point<PartSpace>);

/// Points sorted into square cells.
pub(super) struct Grid {
    cell: f64,
    cells: HashMap<(i64, i64), Vec<Spot>, BuildHasherDefault<CellHasher>>,
}

impl Grid {
    /// A grid in which points up to `reach` mm apart can be found.
    pub(super) fn new(reach: f64) -> Self {
        Self { cell: reach, cells: HashMap::default() }
    }

    fn key(&self, p: Point<PartSpace>) -> (i64, i64) {
        ((p.x / self.cell).floor() as i64, (p.y / self.cell).floor() as i64)
    }

    /// Adds a point under a number.
    pub(super) fn add(&mut self, id: usize, point: Point<PartSpace>) {
        let key = self.key(point);
        self.cells.entry(key).or_default().push((id, point));
    }

    /// The numbers and distances of the points within the reach of `point`.
    pub(super) fn near(
        &self,
        point: Point<PartSpace>,
    ) -> impl Iterator<Item = (usize, f64)> + use<'_> {
        let (x, y) = self.key(point);
        let cells = (-1..=1).flat_map(move |dx| (-1..=1).map(move |dy| (dx, dy)));
        cells
            .filter_map(move |(dx, dy)| {
                self.cells.get(&(x.saturating_add(dx), y.saturating_add(dy)))
            })
            .flat_map(|cell| cell.iter().take(CROWD))
            .map(move |(id, p)| (*id, p.distance(point)))
            .filter(|(_, d)| *d <= self.cell)
    }
}

/// Mixes the two numbers of a cell: cells are looked up nine at a time, a million times over, and
/// the standard hasher would take most of the time of reading a drawing.
#[derive(Default)]
struct CellHasher(u64);

impl Hasher for CellHasher {
    fn finish(&self) -> u64 {
        self.0 ^ (self.0 >> 32)
    }

    fn write(&mut self, bytes: &[u8]) {
        for byte in bytes {
            self.write_i64(i64::from(*byte));
        }
    }

    fn write_i64(&mut self, number: i64) {
        self.0 =
            (self.0.rotate_left(5) ^ number.cast_unsigned()).wrapping_mul(0x9e37_79b9_7f4a_7c15);
    }
}
