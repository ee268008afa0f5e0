//! Rows of the finished pictures: the master as it was, the mount on pure white.

use crate::canvas::Canvas;
use crate::colour::Transform;
use crate::white::{Layer, dither};

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

/// Rows of the master from rows of a [`Flat`](crate::flatten::Flat): absolute colour, the bed as it was; white bed where the
/// frame does not reach.
pub fn master_rows(flat: &[f32], colour: &Transform, encoder: &Encoder) -> Vec<u16> {
    let bed = colour.apply([1.0; 3]);
    let mut out = vec![0; flat.len()];
    for (&[r, g, b], o) in flat.as_chunks::<3>().0.iter().zip(out.as_chunks_mut::<3>().0) {
        let v = if r.is_nan() { bed } else { colour.apply([r, g, b]) };
        *o = v.map(|v| encoder.sixteen(v));
    }
    out
}

/// A mount: the print's own pixels over the shadow on white.
pub struct Mount<'a> {
    /// Its canvas.
    pub canvas: &'a Canvas,
    /// Media-relative colour: the bed is exactly white.
    pub colour: &'a Transform,
    /// The shadow on white.
    pub layer: &'a Layer,
}

impl Mount<'_> {
    /// Linear light of rows from row `top`, interleaved: the print where it covers, shadow on white elsewhere. `flat` are the
    /// same rows of a [`Flat`](crate::flatten::Flat).
    pub fn light(&self, top: usize, flat: &[f32]) -> Vec<f32> {
        let mut out = vec![1.0; flat.len()];
        let n = 3 * self.canvas.width;
        for (j, (row, line)) in flat.chunks_exact(n).zip(out.chunks_exact_mut(n)).enumerate() {
            self.line(top + j, row, line);
        }
        out
    }

    /// Row `y` onto white.
    fn line(&self, y: usize, row: &[f32], out: &mut [f32]) {
        let canvas = self.canvas;
        let down = canvas.cover_down(y);
        // Where the print covers wholly the shadow under it does not show.
        let hidden = if down == 1.0 { canvas.covered_wholly() } else { 0..0 };
        self.layer.lay(y, hidden, out);
        if down == 0.0 {
            return;
        }
        for x in canvas.covered() {
            let (px, o) = (&row[3 * x..3 * x + 3], &mut out[3 * x..3 * x + 3]);
            let print = if px[0].is_nan() { [1.0; 3] } else { self.colour.apply([px[0], px[1], px[2]]) };
            let cover = down * canvas.cover_across(x);
            (0..3).for_each(|c| o[c] = if cover == 1.0 { print[c] } else { o[c] + (print[c] - o[c]) * cover });
        }
    }

    /// 8-bit rows, dithered except in pure white.
    pub fn rows8(&self, encoder: &Encoder, top: usize, flat: &[f32]) -> Vec<u8> {
        let width = self.canvas.width;
        let light = self.light(top, flat);
        let code = |(i, &l): (usize, &f32)| {
            let px = i / 3;
            if l >= 1.0 { 255 } else { dither(encoder.code(l), px % width, top + px / width) }
        };
        light.iter().enumerate().map(code).collect()
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use pixels::colour::srgb_encode;
    use pixels::encoding_eci::lstar_encode;

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
