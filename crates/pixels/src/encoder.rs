//! From linear light to the codes of a written file: 16 bits, or 8 with dither.

/// A fast encoder of linear light 0 to 1 as code 0 to 1: straight lines over 128 parts of every octave of light, found by the
/// number's own exponent and leading digits. Between two knots a display curve, about `l^(1/2.4)`, leaves its chord by
/// `0.24 / 8 / 128^2` of itself: an eighth of a 16-bit step.
pub struct Encoder {
    /// Code at a knot, and its rise per unit of the digits that follow.
    table: Vec<[f32; 2]>,
}

/// Octaves under 1 that are told apart: light of 2^-24 is under a twentieth of a 16-bit step in every encoding here.
const OCTAVES: u32 = 24;
/// Digits of an `f32` after the seven that choose the knot.
const REST: u32 = 23 - 7;
/// The bits of 2^-24.
const LEAST: u32 = (127 - OCTAVES) << 23;

impl Encoder {
    /// Tabulates `encode`.
    pub fn new(encode: impl Fn(f64) -> f64) -> Self {
        let knot = |i: u32| encode(f64::from(f32::from_bits(LEAST + (i << REST)))).min(1.0) as f32;
        let rise = |i: u32| (knot(i + 1) - knot(i)) / (1u32 << REST) as f32;
        Self { table: (0..=OCTAVES << 7).map(|i| [knot(i), rise(i)]).collect() }
    }

    /// The code of a light, both 0 to 1; light outside is clipped.
    #[inline]
    pub fn code(&self, light: f32) -> f32 {
        let least = f32::from_bits(LEAST);
        // What is no number is no light either.
        let bits = if light > least { light.min(1.0) } else { least }.to_bits() - LEAST;
        let [code, rise] = self.table[(bits >> REST) as usize];
        code + rise * (bits & ((1 << REST) - 1)) as f32
    }

    /// The 16-bit code of a light.
    #[inline]
    pub fn sixteen(&self, light: f32) -> u16 {
        // Most of a mount is pure white.
        if light >= 1.0 {
            return u16::MAX;
        }
        (self.code(light) * 65535.0 + 0.5) as i32 as u16
    }
}

/// The 8-bit code of a mount value already encoded 0 to 1, dithered by a place's own noise, except in pure white.
///
/// Triangular noise of one step either side makes the error of rounding independent of the value (two uniform numbers from
/// a hash of the place, so that the same picture always gets the same noise). At 1 there is nothing to dither: 255.
#[inline]
pub fn dither(value: f32, x: usize, y: usize) -> u8 {
    if value >= 1.0 {
        return 255;
    }
    let a = hash(x as u32, y as u32);
    let (u, v) = ((a & 0xFFFF) as f32 / 65536.0, (a >> 16) as f32 / 65536.0);
    (value * 255.0 + 0.5 + u - v).clamp(0.0, 255.0) as u8
}

/// A scrambled 32-bit number of a place (multiply and shift, as in Wellons 2018, "Prospecting for hash functions").
#[inline]
fn hash(x: u32, y: u32) -> u32 {
    let mut h = x.wrapping_mul(0x9E37_79B1) ^ y.wrapping_mul(0x85EB_CA77);
    h = (h ^ (h >> 16)).wrapping_mul(0x7FEB_352D);
    h = (h ^ (h >> 15)).wrapping_mul(0x846C_A68B);
    h ^ (h >> 16)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::colour::srgb_encode;
    use crate::encoding_eci::lstar_encode;

    #[test]
    fn codes_are_right_to_a_quarter_step_and_white_is_white() {
        for encode in [srgb_encode as fn(f64) -> f64, lstar_encode] {
            let e = Encoder::new(encode);
            assert_eq!(e.sixteen(1.0), 65535);
            assert_eq!(e.sixteen(0.0), 0);
            assert_eq!(e.sixteen(-0.1), 0);
            for i in 0..100_000 {
                let l = f64::from(i) / 100_000.0;
                let error = (f64::from(e.code(l as f32)) - encode(l)).abs() * 65535.0;
                assert!(error < 0.25, "{l}: {error}");
            }
        }
    }
}
