//! CIE 1976 L*a*b* (ISO/CIE 11664-4).

use crate::adapt::D50;

/// (6/29)^3: below this share of white the cube root gives way to a straight line.
const EPSILON: f64 = 216.0 / 24389.0;
/// (29/3)^3: the slope of that line in L*.
const KAPPA: f64 = 24389.0 / 27.0;

/// L*, a*, b* of an XYZ relative to D50 (Y of white = 1).
///
/// `f(t) = t^(1/3)` for `t > (6/29)^3`, else `(kappa t + 16) / 116`; `L* = 116 f(Y/Yn) - 16`,
/// `a* = 500 (f(X/Xn) - f(Y/Yn))`, `b* = 200 (f(Y/Yn) - f(Z/Zn))`. Negative values continue on the straight line.
///
/// ```
/// // The white of D50 is L* 100 without colour.
/// let [l, a, b] = pixels::lab_from_xyz([0.9642, 1.0, 0.8249]);
/// assert!((l - 100.0).abs() < 0.01 && a.abs() < 0.05 && b.abs() < 0.05);
/// ```
pub fn lab_from_xyz(xyz: [f64; 3]) -> [f64; 3] {
    let [x, y, z] = std::array::from_fn(|i| {
        let t = xyz[i] / D50[i];
        if t > EPSILON { t.cbrt() } else { (KAPPA * t + 16.0) / 116.0 }
    });
    [116.0 * y - 16.0, 500.0 * (x - y), 200.0 * (y - z)]
}

/// The XYZ (D50, Y of white = 1) of L*, a*, b*: the inverse of [`lab_from_xyz`].
pub fn xyz_from_lab([l, a, b]: [f64; 3]) -> [f64; 3] {
    let y = (l + 16.0) / 116.0;
    let f = [y + a / 500.0, y, y - b / 200.0];
    std::array::from_fn(|i| {
        let cube = f[i].powi(3);
        D50[i] * if cube > EPSILON { cube } else { (116.0 * f[i] - 16.0) / KAPPA }
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::colour::srgb_decode;

    /// L* of neutral sRGB codes, computed with a general colour library (docs/references.md, colour constants). L* of a
    /// neutral does not depend on the white.
    #[test]
    fn lightness_of_greys_is_the_published_one() {
        for (code, want) in [(128.0, 53.585), (254.0, 99.655), (253.0, 99.310), (250.0, 98.272), (247.0, 97.232)] {
            let y = srgb_decode(code / 255.0);
            let [l, a, b] = lab_from_xyz(D50.map(|w| w * y));
            assert!((l - want).abs() < 6e-4 && a.abs() < 1e-9 && b.abs() < 1e-9, "{code}: {l}");
        }
    }

    #[test]
    fn both_ways_meet_on_either_side_of_the_knee() {
        for lab in [[0.0, 0.0, 0.0], [4.0, 1.0, -2.0], [53.2, 80.1, 67.2], [98.0, -20.0, 40.0], [8.0, 3.0, 0.1]] {
            let back = lab_from_xyz(xyz_from_lab(lab));
            (0..3).for_each(|i| assert!((back[i] - lab[i]).abs() < 1e-9, "{lab:?} {back:?}"));
        }
    }
}
