//! The archive's encoding: eciRGBv2 (ISO 22028-4), equal steps of lightness, D50 white.

use crate::{Encoding, Primaries, Tone};

/// CIE lightness constants as exact fractions (CIE 15:2018): kappa = 24389/27.
const KAPPA: f64 = 24389.0 / 27.0;

/// L* code (0 to 1 = L* 0 to 100) to light, 0 to 1: Y = ((L* + 16) / 116)^3 above L* = 8, L* / kappa below (CIE 15:2018).
pub fn lstar_decode(c: f64) -> f64 {
    let l = 100.0 * c;
    if l > 8.0 { ((l + 16.0) / 116.0).powi(3) } else { l / KAPPA }
}

/// Light (0 to 1) to L* code (0 to 1), the inverse of [`lstar_decode`].
pub fn lstar_encode(y: f64) -> f64 {
    // 216/24389 = (6/29)^3 is the light of L* = 8.
    let l = if y > 216.0 / 24389.0 { 116.0 * y.cbrt() - 16.0 } else { KAPPA * y };
    l / 100.0
}

impl Tone {
    /// The L* curve of eciRGBv2.
    pub fn lstar() -> Self {
        Self::from_fn(lstar_decode)
    }
}

impl Encoding {
    /// eciRGBv2 (ISO 22028-4).
    pub fn eci_rgb_v2() -> Self {
        Self::new(Tone::lstar(), Primaries::eci_rgb_v2())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn eci_matrix_is_the_published_one() {
        // RGB to XYZ of this encoding as widely tabulated for D50 (0.96422, 1, 0.82521); from memory, so to 3 decimals.
        let published = [[0.6502, 0.1781, 0.1359], [0.3203, 0.6021, 0.0777], [0.0, 0.0678, 0.7574]];
        let ours = Primaries::eci_rgb_v2().0;
        for (a, b) in ours.as_flattened().iter().zip(published.as_flattened()) {
            assert!((a - b).abs() < 5e-4, "{a} {b}");
        }
        let sum: Vec<f64> = ours.iter().map(|r| r.iter().sum()).collect();
        assert!((sum[0] - 0.9642).abs() < 1e-12 && (sum[1] - 1.0).abs() < 1e-12 && (sum[2] - 0.8249).abs() < 1e-12);
    }

    #[test]
    fn lightness_there_and_back() {
        // CIE 15:2018: Y = 0.184187 is L* = 50 (18.42 %).
        assert!((lstar_decode(0.5) - 0.184_187).abs() < 1e-6);
        for i in 0..=100 {
            let c = f64::from(i) / 100.0;
            assert!((lstar_encode(lstar_decode(c)) - c).abs() < 1e-12);
        }
    }
}
