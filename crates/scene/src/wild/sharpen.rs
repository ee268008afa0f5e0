//! The unsharp mask: code values pushed away from their blurred selves.

use crate::render::blur;
use pixels::Picture;

/// An unsharp mask, `v + amount (v - blurred)`.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Sharpen {
    /// Amount; 0 does nothing.
    pub amount: f64,
    /// Standard deviation of the blur, pixels.
    pub radius_px: f64,
}

impl Sharpen {
    /// Sharpens code values and clips them to 0 to 1.
    pub fn apply(&self, picture: &mut Picture) {
        if self.amount <= 0.0 {
            return;
        }
        let (w, kernel, k) = (picture.width(), blur::kernel(self.radius_px as f32), self.amount as f32);
        for plane in &mut picture.0 {
            let mut soft = plane.data.clone();
            blur::even_plane(&mut soft, w, &kernel);
            plane.data.iter_mut().zip(&soft).for_each(|(v, s)| *v = (*v + k * (*v - s)).clamp(0.0, 1.0));
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use pixels::Plane;

    /// Closed form at a step of height h: far away nothing changes; the pixels beside it overshoot, by the same on both
    /// sides, and their sum stays.
    #[test]
    fn a_step_gets_a_halo_on_both_sides() {
        let step = Plane::from_fn(40, 5, |x, _| if x < 20 { 0.3 } else { 0.6 });
        let mut p = Picture([step.clone(), step.clone(), step]);
        Sharpen { amount: 1.0, radius_px: 0.8 }.apply(&mut p);
        let v = |x: usize| p.0[1].get(x, 2);
        assert!((v(5) - 0.3).abs() < 1e-6 && (v(35) - 0.6).abs() < 1e-6);
        assert!(v(19) < 0.26 && v(20) > 0.64);
        assert!((v(19) + v(20) - 0.9).abs() < 1e-6);
    }
}
