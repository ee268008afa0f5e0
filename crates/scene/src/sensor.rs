//! The sensor: from light to code values.

use crate::noise::normal_at;

/// What the camera writes.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Output {
    /// 16 bits, proportional to light.
    Linear16,
    /// 8 bits through the sRGB curve, nothing else.
    Srgb8,
    /// 8 bits with a look of the camera's own: a contrast curve after the sRGB curve and sharpening.
    ///
    /// With e the sRGB code, `x = (1 - c) e + c e^2 (3 - 2 e)`, then an unsharp mask of 0.8 px and this amount.
    Camera8 {
        /// Contrast `c`, 0 to 1.
        contrast: f64,
        /// Amount of sharpening.
        sharpening: f64,
    },
}

/// A sensor, its lens' blur and the camera's processing.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Sensor {
    /// Lens and pixel blur: standard deviation in pixels of the rendered frame, in focus.
    pub blur_px: f64,
    /// Further blur in the frame's corners (a decentred lens), standard deviation in pixels: top left, top right, bottom right,
    /// bottom left. It is nought along the middle lines and grows with the product of the distances from them.
    pub soft_px: [f64; 4],
    /// Sensitivity of red, green and blue, green 1.
    pub sensitivity: [f64; 3],
    /// Error of the white balance, a factor per channel.
    pub wb_error: [f64; 3],
    /// Electrons at full scale.
    pub full_well: f64,
    /// Read noise, electrons.
    pub read_noise: f64,
    /// Bits of the converter.
    pub bits: u32,
    /// True for a colour mosaic (RGGB) that must be interpolated.
    pub mosaic: bool,
    /// What the brightest of the empty bed reaches in the green channel, flash on: 0.9 is well exposed. The rest of a
    /// sitting keeps that exposure.
    pub level: f64,
    /// What is written.
    pub output: Output,
}

impl Default for Sensor {
    fn default() -> Self {
        Self {
            blur_px: 0.8,
            soft_px: [0.0; 4],
            sensitivity: [0.50, 1.0, 0.60],
            wb_error: [1.0; 3],
            full_well: 60_000.0,
            read_noise: 4.0,
            bits: 14,
            mosaic: false,
            level: 0.9,
            output: Output::Srgb8,
        }
    }
}

impl Sensor {
    /// A noiseless, sharp sensor with right white balance, 16-bit linear: what arithmetic checks need.
    pub fn ideal() -> Self {
        Self {
            blur_px: 0.0,
            sensitivity: [1.0; 3],
            full_well: f64::INFINITY,
            read_noise: 0.0,
            bits: 16,
            level: 0.9,
            output: Output::Linear16,
            ..Self::default()
        }
    }

    /// The corners' further blur at a place of the frame, -1 to 1 across and down from its middle.
    pub fn softness(&self, u: f64, v: f64) -> f64 {
        let corners = [(-u, -v), (u, -v), (u, v), (-u, v)];
        self.soft_px.iter().zip(corners).map(|(s, (a, b))| s * a.max(0.0) * b.max(0.0)).sum()
    }

    /// White-balance gains that make the flash's light neutral, times the balance's error.
    pub fn gains(&self, flash_rgb: [f64; 3]) -> [f64; 3] {
        std::array::from_fn(|c| self.wb_error[c] / (self.sensitivity[c] * flash_rgb[c]))
    }

    /// One reading: light times sensitivity, shot noise of its electrons, read noise, clip at full scale, rounding.
    ///
    /// Shot noise has variance `s / full_well` and read noise `(read / full_well)^2` of full scale squared.
    pub fn read(&self, light: f32, counter: u64) -> f32 {
        let steps = ((1u32 << self.bits) - 1) as f32;
        let shot = light.max(0.0) / self.full_well as f32;
        let read = (self.read_noise / self.full_well) as f32;
        let noisy = light + normal_at(counter) * (shot + read * read).sqrt();
        // Adding a half and cutting rounds a number that is not negative, and is quicker.
        ((noisy.clamp(0.0, 1.0) * steps + 0.5) as u32) as f32 / steps
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_soft_corner_leaves_the_others_and_the_middle_sharp() {
        let s = Sensor { soft_px: [0.0, 0.0, 1.5, 0.0], ..Sensor::default() };
        assert_eq!([s.softness(1.0, 1.0), s.softness(0.5, 0.5)], [1.5, 0.375]);
        assert_eq!([s.softness(0.0, 1.0), s.softness(-1.0, 1.0), s.softness(1.0, -1.0)], [0.0; 3]);
    }

    /// Shot noise at half scale of a 60,000-electron well: root of 30,000 electrons (Poisson statistics).
    #[test]
    fn noise_is_the_root_of_the_electrons() {
        let s = Sensor { bits: 16, ..Sensor::default() };
        let v: Vec<f64> = (0..50_000).map(|i| s.read(0.5, i) as f64 * 60_000.0).collect();
        let mean = v.iter().sum::<f64>() / v.len() as f64;
        let sd = (v.iter().map(|x| (x - mean).powi(2)).sum::<f64>() / v.len() as f64).sqrt();
        assert!((mean - 30_000.0).abs() < 5.0);
        assert!((sd - (30_000.0f64 + 16.0).sqrt()).abs() < 2.0, "{sd}");
    }
}
