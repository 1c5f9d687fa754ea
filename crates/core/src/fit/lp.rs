//! The best small move: maximise the least of several linear functions of a move in x, y and turn.

/// How many unknowns: the least value and the move.
const N: usize = 4;

/// A linear function of the move: `value` without one, and how it grows.
#[derive(Clone, Copy, Debug)]
pub(super) struct Slope {
    pub(super) value: f64,
    pub(super) grows: [f64; N - 1],
}

/// The best move within limits.
#[derive(Clone, Debug)]
pub(super) struct Best {
    /// The move.
    pub(super) by: [f64; N - 1],
    /// The least of the functions there.
    pub(super) least: f64,
    /// The few functions that hold it down, by number, and their shares (which sum to 1).
    pub(super) held_by: Vec<(usize, f64)>,
}

/// The move, each part of it at most `limits` either way, that makes the least of `slopes`
/// greatest. `None` without slopes.
///
/// The simplex method on the dual, in which a basis is just four constraints: those that hold with
/// equality. Each step takes in the constraint that is broken most and lets go of the one whose
/// multiplier reaches zero first. Should rounding make it run in circles the last point is
/// returned; a caller measures what the move brings anyway.
pub(super) fn best_move(slopes: &[Slope], limits: [f64; N - 1]) -> Option<Best> {
    // Constraints are rows (a, b) of a·u ≤ b with u = (least value, move): first those of the
    // slopes, then the limits upward, then downward.
    let n = slopes.len();
    let count = n + 2 * (N - 1);
    let row = |i: usize| match slopes.get(i) {
        Some(s) => ([1.0, -s.grows[0], -s.grows[1], -s.grows[2]], s.value),
        None => {
            let (axis, sign) = ((i - n) % (N - 1), if i - n < N - 1 { 1.0 } else { -1.0 });
            (std::array::from_fn(|j| if j == axis + 1 { sign } else { 0.0 }), limits[axis])
        }
    };
    let worst = (0..n).min_by(|i, j| slopes[*i].value.total_cmp(&slopes[*j].value))?;
    let mut basis: [usize; N] = std::array::from_fn(|i| match i {
        0 => worst,
        _ if slopes[worst].grows[i - 1] >= 0.0 => n + i - 1,
        _ => n + i - 1 + N - 1,
    });
    let mut steps = 0;
    loop {
        let rows = basis.map(row);
        let u = solve(rows.map(|r| r.0), rows.map(|r| r.1))?;
        let broken_by = |i: usize| {
            let (a, b) = row(i);
            dot(&a, &u) - b
        };
        let enters = (0..count).max_by(|i, j| broken_by(*i).total_cmp(&broken_by(*j)))?;
        // Multipliers of the basis (costs: the least value counts, the move does not), and how
        // they change when the new constraint's multiplier grows.
        let across = transposed(rows.map(|r| r.0));
        let multipliers = solve(across, [1.0, 0.0, 0.0, 0.0])?;
        steps += 1;
        if broken_by(enters) <= 1e-10 || steps > 100 {
            let held_by = basis
                .into_iter()
                .zip(multipliers)
                .filter(|(i, share)| *i < n && *share > 0.0)
                .collect();
            return Some(Best { by: [u[1], u[2], u[3]], least: u[0], held_by });
        }
        let change = solve(across, row(enters).0)?;
        let leaves = (0..N).filter(|i| change[*i] > 1e-12).min_by(|i, j| {
            (multipliers[*i] / change[*i]).total_cmp(&(multipliers[*j] / change[*j]))
        })?;
        basis[leaves] = enters;
    }
}

/// No less than the greatest that the least of `slopes` can be made by a move within `limits`:
/// any mean of the functions is at least their least, and a mean in which they hold each other
/// grows little. Infinite where no such mean was found.
pub(super) fn ceiling(slopes: &[Slope], limits: [f64; N - 1]) -> f64 {
    let Some(best) = best_move(slopes, limits) else { return f64::INFINITY };
    let sum: f64 = best.held_by.iter().map(|(_, share)| share).sum();
    if sum.is_nan() || sum < 0.5 {
        return f64::INFINITY;
    }
    let mean = |of: &dyn Fn(&Slope) -> f64| {
        best.held_by.iter().map(|(i, share)| of(&slopes[*i]) * share / sum).sum::<f64>()
    };
    let grown: f64 = (0..N - 1).map(|i| mean(&|s| s.grows[i]).abs() * limits[i]).sum();
    mean(&|s| s.value) + grown
}

fn dot(a: &[f64; N], b: &[f64; N]) -> f64 {
    a.iter().zip(b).map(|(x, y)| x * y).sum()
}

fn transposed(m: [[f64; N]; N]) -> [[f64; N]; N] {
    std::array::from_fn(|i| std::array::from_fn(|j| m[j][i]))
}

/// Solves m·x = b by elimination with row exchange; `None` where m is singular.
fn solve(mut m: [[f64; N]; N], mut b: [f64; N]) -> Option<[f64; N]> {
    for i in 0..N {
        let pivot = (i..N).max_by(|p, q| m[*p][i].abs().total_cmp(&m[*q][i].abs()))?;
        if m[pivot][i].abs() < 1e-14 {
            return None;
        }
        m.swap(i, pivot);
        b.swap(i, pivot);
        for k in i + 1..N {
            let factor = m[k][i] / m[i][i];
            m[k] = std::array::from_fn(|j| m[k][j] - factor * m[i][j]);
            b[k] -= factor * b[i];
        }
    }
    let mut x = [0.0; N];
    for i in (0..N).rev() {
        let known: f64 = (i + 1..N).map(|j| m[i][j] * x[j]).sum();
        x[i] = (b[i] - known) / m[i][i];
    }
    Some(x)
}
