//! Three by three matrices for colour.

/// Row major.
pub type Matrix3 = [[f64; 3]; 3];

/// Leaves every colour as it is.
pub const IDENTITY: Matrix3 = diagonal([1.0, 1.0, 1.0]);

/// The matrix with `d` on its diagonal.
pub const fn diagonal(d: [f64; 3]) -> Matrix3 {
    [[d[0], 0.0, 0.0], [0.0, d[1], 0.0], [0.0, 0.0, d[2]]]
}

/// `m v`.
pub fn apply(m: &Matrix3, v: [f64; 3]) -> [f64; 3] {
    m.map(|row| row[0] * v[0] + row[1] * v[1] + row[2] * v[2])
}

/// `a b`: applies `b`, then `a`.
pub fn product(a: &Matrix3, b: &Matrix3) -> Matrix3 {
    std::array::from_fn(|i| std::array::from_fn(|j| (0..3).map(|k| a[i][k] * b[k][j]).sum()))
}

/// The inverse by cofactors; `None` where `m` is singular.
///
/// ```
/// use pixels::matrix::{apply, inverse};
/// let m = [[2.0, 0.0, 0.0], [0.0, 4.0, 0.0], [0.0, 0.0, 8.0]];
/// assert_eq!(apply(&inverse(&m).unwrap(), [2.0, 4.0, 8.0]), [1.0; 3]);
/// ```
pub fn inverse(m: &Matrix3) -> Option<Matrix3> {
    // Cyclic indices give each cofactor its sign.
    let minor = |i: usize, j: usize| {
        let (a, b, c, d) = ((i + 1) % 3, (i + 2) % 3, (j + 1) % 3, (j + 2) % 3);
        m[a][c] * m[b][d] - m[a][d] * m[b][c]
    };
    let det: f64 = (0..3).map(|j| m[0][j] * minor(0, j)).sum();
    let size: f64 = m.iter().map(|r| r.iter().map(|v| v * v).sum::<f64>().sqrt()).product();
    // The volume of the rows against that of a box as large: under 1e-12 only rounding is left of it.
    (det.is_finite() && det.abs() > size * 1e-12)
        .then(|| std::array::from_fn(|i| std::array::from_fn(|j| minor(j, i) / det)))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn inverse_undoes_and_singular_is_refused() {
        let m = [[2.0, 1.0, 0.5], [0.0, 3.0, -1.0], [1.0, 0.2, 4.0]];
        let p = product(&m, &inverse(&m).unwrap());
        (0..3).for_each(|i| (0..3).for_each(|j| assert!((p[i][j] - IDENTITY[i][j]).abs() < 1e-14)));
        assert_eq!(inverse(&[[1.0, 2.0, 3.0], [2.0, 4.0, 6.0], [0.0, 0.0, 1.0]]), None);
        assert_eq!(apply(&diagonal([1.0, 2.0, 3.0]), [1.0, 1.0, 1.0]), [1.0, 2.0, 3.0]);
    }
}
