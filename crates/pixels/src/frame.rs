//! A full-size picture as its file holds it.

use crate::{Encoding, Picture, Plane};
use rayon::prelude::*;

/// Interleaved RGB code values.
#[derive(Clone, Debug, PartialEq)]
pub enum Samples {
    /// 8 bits, full scale 255.
    U8(Vec<u8>),
    /// 16 bits, full scale 65535.
    U16(Vec<u16>),
}

/// A picture of `width * height` interleaved RGB samples with the meaning of its numbers.
#[derive(Clone, Debug)]
pub struct Frame {
    /// Columns.
    pub width: usize,
    /// Rows.
    pub height: usize,
    /// `3 * width * height` code values.
    pub samples: Samples,
    /// How code values become scene-linear light, and in which primaries.
    pub encoding: Encoding,
}

impl Frame {
    /// Scene-linear RGB of a pixel, in the frame's own primaries. Panics outside.
    pub fn linear(&self, x: usize, y: usize) -> [f32; 3] {
        let i = 3 * (y * self.width + x);
        let lut = self.encoding.tone.table(self.bits());
        match &self.samples {
            Samples::U8(s) => std::array::from_fn(|b| lut[s[i + b] as usize]),
            Samples::U16(s) => std::array::from_fn(|b| lut[s[i + b] as usize]),
        }
    }

    /// 8 or 16.
    pub fn bits(&self) -> u32 {
        match self.samples {
            Samples::U8(_) => 8,
            Samples::U16(_) => 16,
        }
    }

    /// The frame at `1 / factor` of its size, each pixel the mean light of a whole block; a ragged rest at the right and
    /// bottom is left out.
    pub fn reduce(&self, factor: usize) -> Picture {
        let factor = factor.max(1);
        self.read(0, 0, self.width / factor, self.height / factor, factor)
    }

    /// The area from (`x`, `y`) as `w` by `h` blocks of `factor` pixels, each the mean light of its block.
    ///
    /// Panics where the area leaves the frame.
    pub fn read(&self, x: usize, y: usize, w: usize, h: usize, factor: usize) -> Picture {
        let lut = self.encoding.tone.table(self.bits());
        match &self.samples {
            Samples::U8(s) => blocks(s, self.width, lut, [x, y, w, h], factor),
            Samples::U16(s) => blocks(s, self.width, lut, [x, y, w, h], factor),
        }
    }
}

fn blocks<T: Copy + Into<u32> + Sync>(
    s: &[T],
    stride: usize,
    lut: &[f32],
    [x0, y0, w, h]: [usize; 4],
    f: usize,
) -> Picture {
    let mut planes = [0; 3].map(|_| Plane::filled(w, h, 0.0));
    if w == 0 || h == 0 {
        return Picture(planes);
    }
    let [r, g, b] = &mut planes;
    let scale = 1.0 / (f * f) as f32;
    r.data.par_chunks_mut(w).zip(g.data.par_chunks_mut(w)).zip(b.data.par_chunks_mut(w)).enumerate().for_each(
        |(j, ((r, g), b))| {
            for k in 0..f {
                let line = &s[3 * ((y0 + j * f + k) * stride + x0)..][..3 * w * f];
                for (i, block) in line.chunks_exact(3 * f).enumerate() {
                    let mut sum = [0.0f32; 3];
                    for px in block.chunks_exact(3) {
                        (0..3).for_each(|c| sum[c] += lut[Into::<u32>::into(px[c]) as usize]);
                    }
                    r[i] += sum[0] * scale;
                    g[i] += sum[1] * scale;
                    b[i] += sum[2] * scale;
                }
            }
        },
    );
    Picture(planes)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{Primaries, Tone};

    #[test]
    fn blocks_average_light_not_code() {
        let encoding = Encoding::new(Tone::srgb(), Primaries::srgb());
        let frame = Frame {
            width: 2,
            height: 2,
            samples: Samples::U8(vec![0, 0, 0, 255, 255, 255, 0, 0, 0, 255, 255, 255]),
            encoding,
        };
        let small = frame.reduce(2);
        assert_eq!((small.width(), small.height()), (1, 1));
        assert!((small.get(0, 0)[1] - 0.5).abs() < 1e-6);
        assert_eq!(frame.linear(1, 0), [1.0; 3]);
    }
}
