//! Develops a mosaic to a linear frame, or to a quick half-size picture.

use super::demosaic::{MARGIN, Piece, demosaic};
use super::{CameraColours, Mosaic, prepare};
use pixels::matrix::{apply, inverse, product};
use pixels::{D50, Encoding, Field, Frame, Matrix3, Picture, Plane, Primaries, Samples, Tone, adaptation};
use rayon::prelude::*;

/// Rows demosaiced at a time by a worker: long enough that the margin costs a third, short enough for its cache.
const BAND: usize = 64;

impl Mosaic {
    /// The mosaic at half its size: each 2 x 2 block gives one pixel, red and blue as read, green the mean of two.
    ///
    /// Linear, black subtracted, balanced as shot, 1 = saturation of the channel with the least gain, where all three are
    /// clipped; the same scale as [`Mosaic::develop`] without a flat field.
    pub fn half(&self) -> Picture {
        let (w, h) = (self.width / 2, self.height / 2);
        let gains = prepare::gains(self.as_shot);
        let mut planes = [0; 3].map(|_| Plane::filled(w, h, 0.0));
        let [r, g, b] = &mut planes;
        r.data.par_chunks_mut(w).zip(g.data.par_chunks_mut(w)).zip(b.data.par_chunks_mut(w)).enumerate().for_each(
            |(j, ((r, g), b))| {
                let mut lines = [vec![0.0; self.width], vec![0.0; self.width]];
                for (k, line) in lines.iter_mut().enumerate() {
                    prepare::row(self, gains, None, 2 * j + k, line);
                }
                for i in 0..w {
                    let mut sum = [0.0; 3];
                    let mut count = [0.0; 3];
                    for (k, line) in lines.iter().enumerate() {
                        for x in [2 * i, 2 * i + 1] {
                            let c = self.colour(x, k);
                            sum[c] += line[x];
                            count[c] += 1.0;
                        }
                    }
                    (r[i], g[i], b[i]) = (sum[0] / count[0], sum[1] / count[1], sum[2] / count[2]);
                }
            },
        );
        Picture(planes)
    }

    /// Develops to a linear 16-bit frame in the camera's own primaries.
    ///
    /// `balance` multiplies red, green and blue (only their ratios count). `flat` is what the bare bed would read, in the
    /// balanced scale of [`Mosaic::half`]: it is divided out before demosaicing, and the even bed comes to lie at 0.8 of
    /// full scale. Without it full scale is the saturation of the channel with the least gain. Where one channel
    /// saturates, all are clipped at its level: highlights stay neutral.
    pub fn develop(&self, balance: [f32; 3], flat: Option<&Field>) -> Frame {
        let gains = prepare::gains(balance);
        let mut out = vec![0u16; 3 * self.width * self.height];
        out.par_chunks_mut(3 * self.width * BAND).enumerate().for_each(|(k, rows)| {
            let piece = self.piece(gains, flat, k * BAND, rows.len() / (3 * self.width));
            let mut samples = rows.iter_mut();
            demosaic(&piece, |px| {
                for (v, s) in px.into_iter().zip(&mut samples) {
                    *s = (v.clamp(0.0, 1.0) * 65535.0 + 0.5) as u16;
                }
            });
        });
        let encoding = Encoding::new(Tone::linear(), self.primaries());
        Frame { width: self.width, height: self.height, samples: Samples::U16(out), encoding }
    }

    /// The primaries of the balanced camera channels relative to D50; sRGB's where the camera is unknown.
    ///
    /// Equal channels are white. The camera's matrix M (camera from XYZ) is taken at its own calibration white w: with
    /// n = M w, XYZ of the balanced channels is A M^-1 diag(n), A adapting w to D50 (Bradford). So a balance error stays
    /// a change of channel gains, which a later balance on the bed undoes exactly.
    pub fn primaries(&self) -> Primaries {
        primaries_of(self.colours)
    }

    /// Rows from `y0`, balanced, with a mirrored margin that keeps the pattern.
    fn piece(&self, gains: [f32; 3], flat: Option<&Field>, y0: usize, rows: usize) -> Piece {
        let (width, height) = (self.width + 2 * MARGIN, rows + 2 * MARGIN);
        let mut data = vec![0.0; width * height];
        for (j, line) in data.chunks_exact_mut(width).enumerate() {
            let y = mirrored(y0 as isize + j as isize - MARGIN as isize, self.height);
            prepare::row(self, gains, flat, y, &mut line[MARGIN..MARGIN + self.width]);
            for k in 0..MARGIN {
                let outside = [k as isize - MARGIN as isize, (self.width + k) as isize];
                for (slot, x) in [k, MARGIN + self.width + k].into_iter().zip(outside) {
                    line[slot] = line[MARGIN + mirrored(x, self.width)];
                }
            }
        }
        // Bands start at even rows and the margin is even, so the piece has the mosaic's own pattern.
        Piece { width, height, colour: self.pattern, data }
    }
}

/// Index mirrored at the outermost pixel, which keeps its parity.
fn mirrored(mut i: isize, n: usize) -> usize {
    let last = n as isize - 1;
    while !(0..=last).contains(&i) {
        i = if i < 0 { -i } else { 2 * last - i };
    }
    i as usize
}

pub(super) fn primaries_of(colours: Option<CameraColours>) -> Primaries {
    colours.and_then(|c| primaries(&c)).map_or_else(Primaries::srgb, Primaries)
}

fn primaries(c: &CameraColours) -> Option<Matrix3> {
    let n = apply(&c.camera_from_xyz, c.white);
    let back = inverse(&c.camera_from_xyz)?;
    let balanced = product(&back, &pixels::matrix::diagonal(n));
    let m = product(&adaptation(c.white, D50), &balanced);
    (n.iter().all(|v| *v > 0.0) && m.as_flattened().iter().all(|v| v.is_finite())).then_some(m)
}
