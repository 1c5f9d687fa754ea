//! A small linear program: least cost, every row an equation with a right side that is not
//! negative, columns added as they are found.
//!
//! The revised simplex method with the inverse of the basis kept in full; programs here have a few
//! hundred rows. The right sides are perturbed by less than a millionth, so that the many ties of
//! cutting problems do not make it circle. Nothing that must be right rests on its answer: bounds
//! are proven elsewhere, from its prices, in whole numbers.

/// How far from zero a number must be to count.
const TINY: f64 = 1e-9;
/// Pivots between two fresh inversions, so that rounding does not build up.
const FRESH: usize = 400;
/// Columns looked at before the best of them enters the basis.
const STRETCH: usize = 100;

/// A column: what one unit of it costs, and what it puts into which rows.
#[derive(Clone, Debug)]
pub(super) struct Column {
    pub(super) cost: f64,
    pub(super) entries: Vec<(usize, f64)>,
}

/// The program and a basis of it.
pub(super) struct Simplex {
    rows: usize,
    right: Vec<f64>,
    columns: Vec<Column>,
    /// The column of each place in the basis.
    basis: Vec<usize>,
    is_basic: Vec<bool>,
    /// Column-major: what each row's unit does to each place in the basis.
    inverse: Vec<f64>,
    level: Vec<f64>,
    price: Vec<f64>,
    pivots: usize,
    /// The column looked at last.
    next: usize,
}

impl Simplex {
    /// A program with these right sides. Each row needs a column of its own to start from (entry 1
    /// in that row, nothing else), given by its cost.
    pub(super) fn new(right: &[f64], start_costs: &[f64]) -> Self {
        let rows = right.len();
        let right = right.to_vec();
        let columns = start_costs.iter().enumerate();
        let columns = columns.map(|(i, cost)| Column { cost: *cost, entries: vec![(i, 1.0)] });
        let mut simplex = Self {
            rows,
            right,
            columns: columns.collect(),
            basis: (0..rows).collect(),
            is_basic: vec![true; rows],
            inverse: Vec::new(),
            level: Vec::new(),
            price: start_costs.to_vec(),
            pivots: 0,
            next: 0,
        };
        simplex.identity();
        simplex.level = simplex.perturbed().collect();
        simplex
    }

    /// Adds a column; returns its number.
    pub(super) fn add(&mut self, column: Column) -> usize {
        self.columns.push(column);
        self.is_basic.push(false);
        self.columns.len() - 1
    }

    /// Pivots until no column betters the cost, or `stop` says so.
    pub(super) fn optimise(&mut self, stop: &dyn Fn() -> bool) {
        let most = self.pivots + 50 * self.rows + 1000;
        while self.pivots < most && !stop() {
            let Some((entering, gain)) = self.entering() else { return };
            let change = self.change(entering);
            let Some(place) = self.leaving(&change) else { return };
            self.pivot(place, entering, &change, gain);
            if self.pivots.is_multiple_of(FRESH) {
                self.invert(stop);
            }
        }
    }

    /// The cost of the optimum, without the perturbation.
    pub(super) fn cost(&self) -> f64 {
        self.price.iter().zip(&self.right).map(|(price, right)| price * right).sum()
    }

    /// The price of each row.
    pub(super) fn prices(&self) -> &[f64] {
        &self.price
    }

    /// The columns in use, and how much of each.
    pub(super) fn levels(&self) -> impl Iterator<Item = (usize, f64)> {
        self.basis.iter().copied().zip(self.level.iter().copied())
    }

    /// What one more of a column would cost at the present prices.
    pub(super) fn reduced_cost(&self, column: usize) -> f64 {
        let Column { cost, entries } = &self.columns[column];
        cost - entries.iter().map(|(row, n)| self.price[*row] * n).sum::<f64>()
    }

    /// A column that betters the cost: the best of the first stretch that has one, from where the
    /// last search ended.
    fn entering(&mut self) -> Option<(usize, f64)> {
        let count = self.columns.len();
        let mut seen = 0;
        while seen < count {
            let mut best: Option<(usize, f64)> = None;
            for _ in 0..STRETCH.min(count - seen) {
                self.next = if self.next + 1 < count { self.next + 1 } else { 0 };
                seen += 1;
                if self.is_basic[self.next] {
                    continue;
                }
                let reduced = self.reduced_cost(self.next);
                let betters = reduced < -TINY * (1.0 + self.columns[self.next].cost);
                if betters && best.is_none_or(|(_, least)| reduced < least) {
                    best = Some((self.next, reduced));
                }
            }
            if best.is_some() {
                return best;
            }
        }
        None
    }

    /// By how much the levels fall for one unit of a column.
    fn change(&self, column: usize) -> Vec<f64> {
        let mut change = vec![0.0; self.rows];
        for (row, n) in &self.columns[column].entries {
            let unit = &self.inverse[row * self.rows..(row + 1) * self.rows];
            for (sum, u) in change.iter_mut().zip(unit) {
                *sum += n * u;
            }
        }
        change
    }

    fn leaving(&self, change: &[f64]) -> Option<usize> {
        let mut best: Option<(usize, f64)> = None;
        for (place, fall) in change.iter().enumerate().filter(|(_, fall)| **fall > TINY) {
            let ratio = self.level[place].max(0.0) / fall;
            let nearer = best.is_none_or(|(other, least)| {
                ratio < least - 1e-12 || ratio <= least + 1e-12 && *fall > change[other]
            });
            if nearer {
                best = Some((place, ratio));
            }
        }
        best.map(|(place, _)| place)
    }

    fn pivot(&mut self, place: usize, entering: usize, change: &[f64], gain: f64) {
        let at = change[place];
        for (row, price) in self.price.iter_mut().enumerate() {
            let unit = &mut self.inverse[row * self.rows..(row + 1) * self.rows];
            let share = unit[place] / at;
            if share != 0.0 {
                for (u, c) in unit.iter_mut().zip(change) {
                    *u -= share * c;
                }
                unit[place] = share;
                *price += gain * share;
            }
        }
        let taken = self.level[place].max(0.0) / at;
        for (level, c) in self.level.iter_mut().zip(change) {
            *level -= taken * c;
        }
        self.level[place] = taken;
        self.is_basic[self.basis[place]] = false;
        self.is_basic[entering] = true;
        self.basis[place] = entering;
        self.pivots += 1;
    }

    /// Works the inverse, levels and prices out afresh from the basis, unless stopped.
    fn invert(&mut self, stop: &dyn Fn() -> bool) {
        self.identity();
        let wanted = std::mem::replace(&mut self.basis, vec![usize::MAX; self.rows]);
        for column in &wanted {
            let change = self.change(*column);
            let free = (0..self.rows).filter(|p| self.basis[*p] == usize::MAX);
            let Some(place) = free.max_by(|a, b| change[*a].abs().total_cmp(&change[*b].abs()))
            else {
                break;
            };
            self.basis[place] = *column;
            let at = change[place];
            if stop() {
                continue;
            }
            for unit in self.inverse.chunks_exact_mut(self.rows) {
                let share = unit[place] / at;
                if share != 0.0 {
                    for (u, c) in unit.iter_mut().zip(&change) {
                        *u -= share * c;
                    }
                    unit[place] = share;
                }
            }
        }
        let column = |row: usize| &self.inverse[row * self.rows..(row + 1) * self.rows];
        self.level = vec![0.0; self.rows];
        let perturbed: Vec<f64> = self.perturbed().collect();
        for (row, right) in perturbed.iter().enumerate() {
            for (level, u) in self.level.iter_mut().zip(column(row)) {
                *level += right * u;
            }
        }
        let costs: Vec<f64> = self.basis.iter().map(|c| self.columns[*c].cost).collect();
        self.price = (0..self.rows)
            .map(|row| column(row).iter().zip(&costs).map(|(u, cost)| u * cost).sum())
            .collect();
    }

    /// The right sides as they are solved for: raised by amounts that differ from row to row, of no
    /// visible pattern, the same every time.
    fn perturbed(&self) -> impl Iterator<Item = f64> {
        let golden = |row: usize| (row as f64 * 0.618_033_988_75).fract();
        self.right.iter().enumerate().map(move |(row, right)| right + 1e-7 * (1.0 + golden(row)))
    }

    fn identity(&mut self) {
        self.inverse = vec![0.0; self.rows * self.rows];
        for i in 0..self.rows {
            self.inverse[i * self.rows + i] = 1.0;
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_cheapest_diet() {
        // Two needs, three foods: by hand, one of the third and one half of the first.
        let mut simplex = Simplex::new(&[2.0, 1.0], &[100.0, 100.0]);
        for (cost, entries) in [
            (2.0, vec![(0, 2.0)]),
            (3.0, vec![(1, 1.0)]),
            (2.5, vec![(0, 1.0), (1, 1.0)]),
            (0.0, vec![(0, -1.0)]),
            (0.0, vec![(1, -1.0)]),
        ] {
            simplex.add(Column { cost, entries });
        }
        simplex.optimise(&|| false);
        assert!((simplex.cost() - 3.5).abs() < 1e-5, "{}", simplex.cost());
        assert!((simplex.prices()[0] - 1.0).abs() < 1e-9);
        assert!((simplex.prices()[1] - 1.5).abs() < 1e-9);
        let before = simplex.cost();
        simplex.invert(&|| false);
        assert!((simplex.cost() - before).abs() < 1e-9);
    }
}
