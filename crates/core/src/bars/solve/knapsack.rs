//! The most valuable way to cut one bar.
//!
//! Given a value for each piece, a table over (first piece considered, room left) holds the best
//! value that can still be had, rivals ignored. A depth-first search follows the table from the
//! top, so that it runs straight to the best cut where no rivals forbid it, and knows at every step
//! the most that could still come where they do. One table serves bars of all lengths.
//!
//! Values and lengths are whole numbers, so that what the table says is exact. Where a bar has more
//! units of length than there are cells, lengths are rounded down to cells: the table then says too
//! much, never too little, and the search over true lengths still finds only cuts that go in.

use super::rivals::Rivals;

/// Cells of a row at most, and of the table: 32 MB. Past them lengths are rounded to cells.
const ROW_CELLS: usize = 1 << 13;
const TABLE_CELLS: usize = 1 << 20;

/// Steps after which a search gives up and answers with the table's bound.
const SEARCH_STEPS: usize = 200_000;
/// The same for a further cut of the same bar, and how many further cuts are looked for.
const OTHER_STEPS: usize = 4_000;
const MOST_OTHERS: usize = 12;

/// A kind of piece that may be cut.
#[derive(Clone, Debug)]
pub(super) struct Piece {
    pub(super) length: i64,
    /// How many of it may come from one bar.
    pub(super) most: usize,
    /// What one is worth; not negative.
    pub(super) value: i64,
}

/// Which pieces, and how many of each.
pub(super) type Picked = Vec<(usize, usize)>;

/// What a search found.
#[derive(Debug)]
pub(super) struct Best {
    /// No cut is worth more than this.
    pub(super) at_most: i64,
    /// The best cut found, if any is worth more than what was asked for.
    pub(super) picked: Option<Picked>,
}

/// The table, for bars up to the room it was made for.
pub(super) struct Knapsack<'a> {
    pieces: &'a [Piece],
    rivals: &'a Rivals,
    /// Units of length in a cell.
    cell: i64,
    width: usize,
    /// Rows from the last piece to the first: by cells left, the best value to be had of the pieces
    /// from that row's on. The first row has no piece.
    table: Vec<i64>,
}

impl<'a> Knapsack<'a> {
    /// The table of `pieces` (longest first is quickest) for bars of up to `room`.
    pub(super) fn new(pieces: &'a [Piece], rivals: &'a Rivals, room: i64) -> Self {
        let cells = ROW_CELLS.min(TABLE_CELLS / (pieces.len() + 1)).max(64) as i64;
        let room = room.max(0);
        let cell = if room < cells { 1 } else { room / cells + 1 };
        let width = (room / cell) as usize + 1;
        let mut table = Vec::with_capacity((pieces.len() + 1) * width);
        table.resize(width, 0);
        for piece in pieces.iter().rev() {
            let below = table.len() - width;
            let one = (piece.length / cell) as usize;
            let mut left = piece.most;
            if left == 0 || piece.value == 0 || one >= width {
                table.extend_from_within(below..);
                continue;
            }
            table.extend_from_within(below..below + one);
            let with_one = |i: usize| table[below + one + i].max(table[below + i] + piece.value);
            let rest: Vec<i64> = (0..width - one).map(with_one).collect();
            table.extend(rest);
            left -= 1;
            // Bundles of 1, 1, 2, 4 … and the rest make up every number up to the most.
            let mut bundle = 1;
            let row = &mut table[below + width..];
            while left > 0 {
                let taken = bundle.min(left);
                let (cells, worth) = (one * taken, piece.value * taken as i64);
                if cells >= width {
                    break;
                }
                for i in (cells..width).rev() {
                    row[i] = row[i].max(row[i - cells] + worth);
                }
                left -= taken;
                bundle *= 2;
            }
        }
        Self { pieces, rivals, cell, width, table }
    }

    /// The best cut of a bar with `room` that is worth more than `above`.
    pub(super) fn best(&self, room: i64, above: i64) -> Best {
        let (found, at_most) = self.search(room, above, &[], SEARCH_STEPS);
        Best { at_most: at_most.unwrap_or_else(|| self.bound(0, room).max(above)), picked: found }
    }

    /// Further cuts of a bar with `room` worth more than `above`, that share no piece with `first`
    /// or each other: what the next rounds would be likely to find.
    pub(super) fn others(&self, room: i64, above: i64, first: &Picked) -> Vec<Picked> {
        let mut used: Vec<usize> = first.iter().map(|(k, _)| *k).collect();
        let mut others = Vec::new();
        while others.len() < MOST_OTHERS {
            let Some(picked) = self.search(room, above, &used, OTHER_STEPS).0 else { break };
            used.extend(picked.iter().map(|(k, _)| *k));
            others.push(picked);
        }
        others
    }

    /// The best cut worth more than `above` without the pieces `used`, and the most that any can be
    /// worth, where that many steps sufficed.
    fn search(
        &self,
        room: i64,
        above: i64,
        used: &[usize],
        steps: usize,
    ) -> (Option<Picked>, Option<i64>) {
        let mut open = vec![true; self.pieces.len()];
        for k in used {
            open[*k] = false;
        }
        let mut search = Search {
            of: self,
            open,
            at_most: above,
            found: None,
            picked: Vec::new(),
            steps_left: steps,
        };
        search.go(0, room, 0);
        (search.found, (search.steps_left > 0).then_some(search.at_most))
    }

    fn bound(&self, k: usize, room: i64) -> i64 {
        let row = self.pieces.len() - k;
        self.table[row * self.width + (room / self.cell) as usize]
    }
}

struct Search<'a> {
    of: &'a Knapsack<'a>,
    /// Pieces that may be picked.
    open: Vec<bool>,
    at_most: i64,
    found: Option<Picked>,
    picked: Picked,
    steps_left: usize,
}

impl Search<'_> {
    fn go(&mut self, from: usize, room: i64, value: i64) {
        if value > self.at_most {
            self.at_most = value;
            self.found = Some(self.picked.clone());
        }
        for k in from..self.of.pieces.len() {
            if value + self.of.bound(k, room) <= self.at_most || self.steps_left == 0 {
                return;
            }
            self.steps_left -= 1;
            let piece = &self.of.pieces[k];
            if piece.length > room || !self.open[k] || self.of.rivals.meets(k, &self.picked) {
                continue;
            }
            let most = piece.most.min((room / piece.length) as usize);
            for n in (1..=most).rev() {
                let left = room - piece.length * n as i64;
                let worth = value + piece.value * n as i64;
                if worth + self.of.bound(k + 1, left) > self.at_most {
                    self.picked.push((k, n));
                    self.go(k + 1, left, worth);
                    self.picked.pop();
                }
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    /// The best value by trying everything.
    fn by_trying(pieces: &[Piece], rivals: &Rivals, room: i64, picked: &mut Picked) -> i64 {
        let k = picked.len();
        let Some(piece) = pieces.get(k) else { return 0 };
        let before: Picked = picked.iter().copied().filter(|(_, n)| *n > 0).collect();
        let mut best = 0;
        for n in 0..=piece.most {
            let left = room - piece.length * n as i64;
            if left < 0 || n > 0 && rivals.meets(k, &before) {
                break;
            }
            picked.push((k, n));
            let value = piece.value * n as i64 + by_trying(pieces, rivals, left, picked);
            picked.pop();
            best = best.max(value);
        }
        best
    }

    proptest! {
        #[test]
        fn finds_the_best_cut(
            given in prop::collection::vec((1_i64..400, 1_usize..3, 0_i64..50), 1..7),
            room in 1_i64..900,
            scale in prop::sample::select(vec![1_i64, 977]),
            pairs in prop::collection::vec((0_usize..7, 0_usize..7), 0..4),
        ) {
            let pieces: Vec<Piece> = given
                .iter()
                .map(|(length, most, value)| Piece { length: length * scale, most: *most, value: *value })
                .collect();
            let mut rivals = Rivals::none(pieces.len());
            for (a, b) in pairs {
                if a != b && a < pieces.len() && b < pieces.len() {
                    rivals.add(a, b);
                }
            }
            let room = room * scale + scale / 2;
            let knapsack = Knapsack::new(&pieces, &rivals, room);
            let best = knapsack.best(room, -1);
            let picked = best.picked.unwrap();
            let length: i64 = picked.iter().map(|(k, n)| pieces[*k].length * *n as i64).sum();
            let value: i64 = picked.iter().map(|(k, n)| pieces[*k].value * *n as i64).sum();
            prop_assert!(length <= room);
            prop_assert_eq!(value, best.at_most);
            prop_assert_eq!(value, by_trying(&pieces, &rivals, room, &mut Vec::new()));
        }
    }
}
