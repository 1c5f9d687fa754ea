//! The best small move: maximise the least of several linear functions of a move in x, y and turn.

/// How many unknowns: the least value and the move.
const N: usize = 4;

/// A linear function of the move: `value` without one, and how it grows.
#[derive(Clone, Copy, Debug)]
pub(super) struct Slope {
    pub(super) value: f64,
    pub(super) grows: [f64; N - 1],
}

/// The move, each part of it at most `limits` either way, that makes the least of `slopes`
/// greatest, and what that least is then. `None` without slopes.
///
/// The simplex method on the dual, in which a basis is just four constraints: those that hold with
/// equality. Each step takes in the constraint that is broken most and lets go of the one whose
/// multiplier reaches zero first. Should rounding make it run in circles the last point is
/// returned; a caller measures what the move brings anyway.
pub(super) fn best_move(slopes: &[Slope], limits: [f64; N - 1]) -> Option<([f64; N - 1], f64)> {
    let worst = slopes.iter().min_by(|a, b| a.value.total_cmp(&b.value))?;
    // Constraints are rows (a, b) of a·u ≤ b with u = (least value, move).
    let row_of = |s: &Slope| ([1.0, -s.grows[0], -s.grows[1], -s.grows[2]], s.value);
    let bound = |i: usize, sign: f64| {
        let mut a = [0.0; N];
        a[i + 1] = sign;
        (a, limits[i])
    };
    let mut basis = [row_of(worst); N];
    for i in 0..N - 1 {
        basis[i + 1] = bound(i, if worst.grows[i] >= 0.0 { 1.0 } else { -1.0 });
    }
    let mut u = [0.0; N];
    for _ in 0..100 {
        let rows = basis.map(|r| r.0);
        u = solve(rows, basis.map(|r| r.1))?;
        let broken_by = |(a, b): &([f64; N], f64)| dot(a, &u) - b;
        let enters = slopes
            .iter()
            .map(row_of)
            .chain((0..N - 1).flat_map(|i| [bound(i, 1.0), bound(i, -1.0)]))
            .max_by(|a, b| broken_by(a).total_cmp(&broken_by(b)))?;
        if broken_by(&enters) <= 1e-10 {
            break;
        }
        // Multipliers of the basis (costs: the least value counts, the move does not), and how
        // they change when the new constraint's multiplier grows.
        let across = transposed(rows);
        let multipliers = solve(across, [1.0, 0.0, 0.0, 0.0])?;
        let change = solve(across, enters.0)?;
        let leaves = (0..N).filter(|i| change[*i] > 1e-12).min_by(|i, j| {
            (multipliers[*i] / change[*i]).total_cmp(&(multipliers[*j] / change[*j]))
        })?;
        basis[leaves] = enters;
    }
    Some(([u[1], u[2], u[3]], u[0]))
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
