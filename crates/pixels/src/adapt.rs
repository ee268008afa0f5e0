//! Chromatic adaptation from one white to another.

use crate::matrix::{Matrix3, apply, diagonal, inverse, product};

/// CIE illuminant D50 as the ICC profile connection space rounds it (ICC.1:2022, 6.3.4.3): the white of every XYZ here.
pub const D50: [f64; 3] = [0.9642, 1.0, 0.8249];

/// CIE illuminant D65 from its chromaticity (0.3127, 0.3290), the white of sRGB (IEC 61966-2-1:1999).
pub const D65: [f64; 3] = [0.3127 / 0.3290, 1.0, (1.0 - 0.3127 - 0.3290) / 0.3290];

/// XYZ to the sharpened cone responses of the Bradford transform (as in ICC.1:2022, annex E).
pub const BRADFORD: Matrix3 = [[0.8951, 0.2664, -0.1614], [-0.7502, 1.7135, 0.0367], [0.0389, -0.0685, 1.0296]];

/// The matrix that takes XYZ seen under the white `from` to XYZ seen under the white `to`:
/// `B^-1 diag(B to / B from) B` with `B` = [`BRADFORD`] (linear von Kries scaling; ICC.1:2022, annex E).
///
/// Both whites need positive cone responses, which every real white has.
pub fn adaptation(from: [f64; 3], to: [f64; 3]) -> Matrix3 {
    let (f, t) = (apply(&BRADFORD, from), apply(&BRADFORD, to));
    let scaled = product(&diagonal(std::array::from_fn(|i| t[i] / f[i])), &BRADFORD);
    inverse(&BRADFORD).map_or(scaled, |b| product(&b, &scaled))
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Derived seven-digit matrix between the whites (.95047, 1, 1.08883) and (.96422, 1, .82521), computed with a general
    /// colour library (docs/references.md, colour constants).
    #[test]
    fn d65_to_d50_is_the_published_matrix() {
        let want = [
            [1.0478112, 0.0228866, -0.0501270],
            [0.0295424, 0.9904844, -0.0170491],
            [-0.0092345, 0.0150436, 0.7521316],
        ];
        let (d65, d50) = ([0.95047, 1.0, 1.08883], [0.96422, 1.0, 0.82521]);
        let got = adaptation(d65, d50);
        (0..9).for_each(|i| assert!((got[i / 3][i % 3] - want[i / 3][i % 3]).abs() < 2e-7, "{got:?}"));
        let round = product(&adaptation(d50, d65), &got);
        (0..9).for_each(|i| assert!((round[i / 3][i % 3] - f64::from(i % 4 == 0)).abs() < 1e-12));
    }

    #[test]
    fn the_white_lands_on_the_white() {
        let w = apply(&adaptation(D65, D50), D65);
        (0..3).for_each(|i| assert!((w[i] - D50[i]).abs() < 1e-12));
    }
}
