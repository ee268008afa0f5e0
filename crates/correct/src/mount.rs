//! Rows of the finished pictures: the master as it was, the mount on pure white.

use crate::colour::Transform;
use crate::flatten::Flat;
use crate::white::{Layer, dither};
use std::ops::Range;

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

/// Rows of the master: absolute colour, the bed as it was; white bed where the frame does not reach.
pub fn master_rows(flat: &Flat, colour: &Transform, encoder: &Encoder, rows: Range<usize>) -> Vec<u16> {
    let bed = colour.apply([1.0; 3]);
    let mut out = vec![0; 3 * flat.canvas.width * rows.len()];
    for (y, line) in rows.zip(out.chunks_exact_mut(3 * flat.canvas.width)) {
        for (px, o) in flat.row(y).chunks_exact(3).zip(line.chunks_exact_mut(3)) {
            let v = if px[0].is_nan() { bed } else { colour.apply([px[0], px[1], px[2]]) };
            (0..3).for_each(|c| o[c] = encoder.sixteen(v[c]));
        }
    }
    out
}

/// A mount: the print's own pixels over the shadow on white.
pub struct Mount<'a> {
    /// Light over bed.
    pub flat: &'a Flat,
    /// Media-relative colour: the bed is exactly white.
    pub colour: &'a Transform,
    /// The shadow on white.
    pub layer: &'a Layer,
}

impl Mount<'_> {
    /// Linear light of rows, interleaved: the print where it covers, shadow on white elsewhere.
    pub fn light(&self, rows: Range<usize>) -> Vec<f32> {
        let mut out = vec![1.0; 3 * self.flat.canvas.width * rows.len()];
        for (y, line) in rows.zip(out.chunks_exact_mut(3 * self.flat.canvas.width)) {
            self.line(y, line);
        }
        out
    }

    /// Row `y` onto white.
    fn line(&self, y: usize, out: &mut [f32]) {
        let canvas = &self.flat.canvas;
        let down = canvas.cover_down(y);
        // Where the print covers wholly the shadow under it does not show.
        let hidden = if down == 1.0 { canvas.covered_wholly() } else { 0..0 };
        self.layer.lay(y, hidden, out);
        if down == 0.0 {
            return;
        }
        let row = self.flat.row(y);
        for x in canvas.covered() {
            let (px, o) = (&row[3 * x..3 * x + 3], &mut out[3 * x..3 * x + 3]);
            let print = if px[0].is_nan() { [1.0; 3] } else { self.colour.apply([px[0], px[1], px[2]]) };
            let cover = down * canvas.cover_across(x);
            (0..3).for_each(|c| o[c] = if cover == 1.0 { print[c] } else { o[c] + (print[c] - o[c]) * cover });
        }
    }

    /// 8-bit rows, dithered except in pure white.
    pub fn rows8(&self, encoder: &Encoder, rows: Range<usize>) -> Vec<u8> {
        let (from, width) = (rows.start, self.flat.canvas.width);
        let light = self.light(rows);
        let code = |(i, &l): (usize, &f32)| {
            let px = i / 3;
            if l >= 1.0 { 255 } else { dither(encoder.code(l), px % width, from + px / width) }
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
