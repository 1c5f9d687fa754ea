//! The little statistics that squaring up needs: symmetric 3 × 3 systems and chi-squared limits.

/// A symmetric 3 × 3 matrix.
pub(super) type Matrix = [[f64; 3]; 3];

/// Share of the largest diagonal below which a pivot counts as none: a direction nobody measured.
const LEAST_PIVOT: f64 = 1e-7;

/// The inverse of a positive definite matrix, by elimination; or else which of the three unknowns can't
/// be told from the others.
pub(super) fn inverse(matrix: &Matrix) -> Result<Matrix, usize> {
    let largest = (0..3).map(|i| matrix[i][i]).fold(0.0, f64::max);
    let mut left = *matrix;
    let mut right = [[1.0, 0.0, 0.0], [0.0, 1.0, 0.0], [0.0, 0.0, 1.0]];
    for i in 0..3 {
        let pivot = left[i][i];
        if !pivot.is_finite() || pivot <= largest * LEAST_PIVOT {
            return Err(i);
        }
        for j in 0..3 {
            left[i][j] /= pivot;
            right[i][j] /= pivot;
        }
        for row in (0..3).filter(|r| *r != i) {
            let by = left[row][i];
            for j in 0..3 {
                left[row][j] -= by * left[i][j];
                right[row][j] -= by * right[i][j];
            }
        }
    }
    Ok(right)
}

/// A matrix times a vector.
pub(super) fn times(matrix: &Matrix, v: [f64; 3]) -> [f64; 3] {
    [0, 1, 2].map(|i| (0..3).map(|j| matrix[i][j] * v[j]).sum())
}

/// What the sum of so many squared standard normal numbers stays under in 99 of 100 cases.
pub(super) fn limit_99(count: usize) -> f64 {
    limit(count, 2.326)
}

/// The same in 999 of 1000 cases.
pub(super) fn limit_999(count: usize) -> f64 {
    limit(count, 3.090)
}

/// Wilson and Hilferty's approximation, good to a few parts in a hundred even for one; `z` is the same
/// limit of one standard normal number.
fn limit(count: usize, z: f64) -> f64 {
    let n = count as f64;
    if count == 0 {
        return 0.0;
    }
    let spread = 2.0 / (9.0 * n);
    n * (1.0 - spread + z * spread.sqrt()).powi(3)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn limits_are_as_in_the_tables() {
        for (count, table) in [(1, 6.635), (2, 9.210), (3, 11.345), (5, 15.086), (9, 21.666)] {
            let got = limit_99(count);
            assert!((got / table - 1.0).abs() < 0.04, "{count}: {got} and {table}");
        }
    }

    #[test]
    fn an_inverse_undoes_its_matrix_and_a_missing_direction_is_named() {
        let matrix = [[4.0, 1.0, 0.5], [1.0, 3.0, 0.2], [0.5, 0.2, 2.0]];
        let inverse = inverse(&matrix).unwrap();
        for (i, row) in inverse.iter().enumerate() {
            // The inverse of a symmetric matrix is symmetric: a row is a column.
            for (j, value) in times(&matrix, *row).into_iter().enumerate() {
                assert!((value - f64::from(u8::from(i == j))).abs() < 1e-12);
            }
        }
        assert_eq!(super::inverse(&[[1.0, 0.0, 0.0], [0.0, 0.0, 0.0], [0.0; 3]]), Err(1));
    }
}
