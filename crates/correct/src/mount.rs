//! Rows of the finished pictures: the master as it was, the mount on pure white.

use crate::canvas::{Canvas, Edge};
use crate::colour::Transform;
use crate::flatten::Flat;
use crate::rim::Rim;
use crate::shadow_layer::{Layer, dither};

pub use pixels::encoder::Encoder;

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
    /// Where the print ends on it.
    pub edge: &'a Edge,
    /// Media-relative colour: the bed is exactly white.
    pub colour: &'a Transform,
    /// The shadow on white.
    pub layer: &'a Layer,
    /// Where its light is not the frame's: the sides whose last pixels are taken from inside, and what of.
    pub rim: Option<(Rim, &'a Flat<'a>)>,
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
        // Where the print covers wholly the shadow under it does not show.
        self.layer.lay(y, self.edge.covered_wholly(y), out);
        for x in self.edge.covered(y) {
            let cover = self.edge.cover(x, y);
            if cover == 0.0 {
                continue;
            }
            let o = &mut out[3 * x..3 * x + 3];
            let inside = self.rim.and_then(|(rim, flat)| rim.inside(self.edge, x, y).map(|(i, j)| flat.at(i, j)));
            let px = inside.unwrap_or([row[3 * x], row[3 * x + 1], row[3 * x + 2]]);
            let print = if px[0].is_nan() { [1.0; 3] } else { self.colour.apply([px[0], px[1], px[2]]) };
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
