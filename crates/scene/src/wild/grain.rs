//! Grain over a finished picture: Gaussian noise with a size, alike or different in the channels.

use crate::noise::{mix, normal_at};
use crate::render::blur;
use pixels::Picture;

/// Grain of code values.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Grain {
    /// Standard deviation after the blur, 8-bit levels.
    pub levels: f64,
    /// Blur of white noise that gives the grain its size: standard deviation, pixels.
    pub size_px: f64,
    /// Share of its variance that each channel has for itself; 0 is the same grain in all.
    pub coloured: f64,
}

impl Grain {
    /// Adds grain to code values 0 to 1.
    pub fn apply(&self, picture: &mut Picture, seed: u64) {
        if self.levels <= 0.0 {
            return;
        }
        let (w, n) = (picture.width(), picture.0[0].data.len());
        let kernel = blur::kernel(self.size_px as f32);
        // White noise through a separable kernel keeps the square of the sum of squared taps of its variance.
        let kept: f32 = kernel[0] * kernel[0] + 2.0 * kernel[1..].iter().map(|k| k * k).sum::<f32>();
        let grains = |which: u64| {
            let start = mix(seed ^ which.wrapping_mul(0xa5a5));
            let mut noise: Vec<f32> = (0..n as u64).map(|i| normal_at(start.wrapping_add(i))).collect();
            blur::even_plane(&mut noise, w, &kernel);
            noise
        };
        let strength = self.levels as f32 / 255.0 / kept;
        let (common, own) = ((1.0 - self.coloured).sqrt() as f32, self.coloured.sqrt() as f32);
        let shared = grains(0);
        for (c, plane) in picture.0.iter_mut().enumerate() {
            plane.data.iter_mut().zip(&shared).for_each(|(v, g)| *v += strength * common * g);
            if own > 0.0 {
                let mine = grains(1 + c as u64);
                plane.data.iter_mut().zip(&mine).for_each(|(v, g)| *v += strength * own * g);
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use pixels::Plane;

    /// Statistics of a large sample: the spread asked for, whatever the size; correlation of channels 1 - coloured.
    #[test]
    fn grain_has_the_spread_and_likeness_asked_for() {
        for (size_px, coloured) in [(0.0, 0.0), (0.6, 0.0), (1.0, 0.5), (0.4, 1.0)] {
            let mut p = Picture([0; 3].map(|_| Plane::filled(400, 300, 0.5)));
            Grain { levels: 4.0, size_px, coloured }.apply(&mut p, 3);
            let v = |c: usize| p.0[c].data.iter().map(|x| f64::from(x - 0.5) * 255.0);
            let n = (400 * 300) as f64;
            let var = |c: usize| v(c).map(|x| x * x).sum::<f64>() / n;
            assert!((var(0).sqrt() - 4.0).abs() < 0.1, "{}", var(0).sqrt());
            let both = v(0).zip(v(2)).map(|(a, b)| a * b).sum::<f64>() / n / (var(0) * var(2)).sqrt();
            assert!((both - (1.0 - coloured)).abs() < 0.03, "{both}");
        }
    }
}
