//! A camera's own tone curve, and how to undo it.

use pixels::colour::{srgb_decode, srgb_encode};

/// The inverse of a camera's look: from the light its code values decode to, back to light proportional to the scene's.
///
/// On the sRGB code scale, where cameras draw their S, the curve is
/// `T(y) = int_0^y exp(p(t)) dt / int_0^1 exp(p(t)) dt` with `p(t) = p1 t + p2 t^2 + ...`: rising and smooth for any `p`, 0
/// to 0, 1 to 1, straight for `p = 0`. Two terms follow common S-curves to about 0.001 of the scale, four to 0.0003 (trial on
/// logistic, polynomial, filmic and gamma curves).
#[derive(Clone, Debug, PartialEq)]
pub struct ToneCurve {
    /// `p1, p2, ...`
    slope: Vec<f64>,
    table: Vec<f64>,
}

/// Steps of the table of `T`; straight lines between them are right to 1e-5.
const STEPS: usize = 128;

impl ToneCurve {
    /// From the coefficients of the log of its slope.
    pub fn new(slope: &[f64]) -> Self {
        let rise = |i: usize| {
            let t = i as f64 / STEPS as f64;
            // Past e^30 nothing else of the curve would be left; a fit that wanders there comes back.
            slope.iter().rev().fold(0.0, |a, p| (a + p) * t).clamp(-30.0, 30.0).exp()
        };
        let mut table = vec![0.0; STEPS + 1];
        for i in 1..=STEPS {
            table[i] = table[i - 1] + (rise(i - 1) + rise(i)) / 2.0;
        }
        let whole = table[STEPS];
        table.iter_mut().for_each(|t| *t /= whole);
        Self { slope: slope.to_vec(), table }
    }

    /// The coefficients of the log of its slope.
    pub fn slope(&self) -> &[f64] {
        &self.slope
    }

    /// `T` on the sRGB code scale, 0 to 1.
    pub fn code(&self, y: f64) -> f64 {
        let at = y.clamp(0.0, 1.0) * STEPS as f64;
        let i = (at as usize).min(STEPS - 1);
        self.table[i] + (self.table[i + 1] - self.table[i]) * (at - i as f64)
    }

    /// Scene-proportional light from decoded light, both 0 to 1.
    pub fn light(&self, decoded: f64) -> f64 {
        srgb_decode(self.code(srgb_encode(decoded)))
    }
}
