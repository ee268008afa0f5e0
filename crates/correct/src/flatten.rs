//! Straightens a frame onto a canvas with one resample in linear light, divided by what the bare bed would read.

use crate::canvas::{Canvas, Warp};
use geometry::Point;
use pixels::{Field, Frame, Samples};
use rayon::prelude::*;

/// Light over bare bed on a canvas: interleaved RGB in the frame's own primaries, NaN where the frame does not reach.
pub struct Flat {
    /// The canvas it lies on.
    pub canvas: Canvas,
    /// `3 * width * height` values.
    pub data: Vec<f32>,
}

impl Flat {
    /// Row `y`, interleaved.
    pub fn row(&self, y: usize) -> &[f32] {
        let n = 3 * self.canvas.width;
        &self.data[y * n..(y + 1) * n]
    }
}

/// Canvas pixels between exact evaluations of warp and bed; both are so smooth that straight lines between are right to a
/// thousandth of a pixel.
const KNOT: usize = 16;

/// Resamples a frame onto a canvas by cubic convolution (Keys 1981, a = -1/2, doi 10.1109/TASSP.1981.1163711), dividing by
/// `bed` and, outside the print, by `texture` (the bed's own structure) as well.
pub fn flatten(frame: &Frame, bed: &Field, texture: Option<&Field>, canvas: &Canvas, warp: &Warp) -> Flat {
    let mut data = vec![0f32; 3 * canvas.width * canvas.height];
    let table = frame.encoding.tone.table(frame.bits());
    let way = Way { bed, texture, canvas, warp };
    data.par_chunks_mut(TILE * 3 * canvas.width).enumerate().for_each(|(band, rows)| match &frame.samples {
        Samples::U8(s) => resample(&Source { s, table, frame }, &way, band * TILE, rows),
        Samples::U16(s) => resample(&Source { s, table, frame }, &way, band * TILE, rows),
    });
    Flat { canvas: *canvas, data }
}

/// Canvas pixels along the side of a tile. A print that lies across the frame is read down the frame's columns: within a
/// tile those reads stay in a few thousand pixels, which a core's cache holds.
const TILE: usize = 64;

struct Source<'a, T> {
    s: &'a [T],
    table: &'a [f32],
    frame: &'a Frame,
}

/// From a canvas position to the frame, and what its light is divided by there.
struct Way<'a> {
    bed: &'a Field,
    texture: Option<&'a Field>,
    canvas: &'a Canvas,
    warp: &'a Warp,
}

impl Way<'_> {
    /// The frame position of the middle of a pixel, and the gain that makes the bare bed 1.
    fn knot(&self, x: usize, y: usize) -> (Point, [f32; 3]) {
        let p = self.warp.frame(self.canvas.print_from_canvas(x as f64 + 0.5, y as f64 + 0.5));
        let mut b = self.bed.at(p.x, p.y);
        let beyond = self.canvas.cover_across(x.min(self.canvas.width - 1)) * self.canvas.cover_down(y) == 0.0;
        if let Some(t) = self.texture.filter(|_| beyond) {
            let t = t.at(p.x, p.y);
            (0..3).for_each(|c| b[c] *= t[c]);
        }
        (p, b.map(|v| 1.0 / v.max(1e-6)))
    }
}

/// Fills a band of whole rows from row `top`, tile by tile.
fn resample<T: Copy + Into<u32>>(source: &Source<'_, T>, way: &Way<'_>, top: usize, rows: &mut [f32]) {
    let width = way.canvas.width;
    for left in (0..width).step_by(TILE) {
        let right = (left + TILE).min(width);
        for (j, row) in rows.chunks_exact_mut(3 * width).enumerate() {
            let mut from = way.knot(left, top + j);
            for x0 in (left..right).step_by(KNOT) {
                let to = way.knot(x0 + KNOT, top + j);
                let n = KNOT.min(right - x0);
                stretch(source, from, to, &mut row[3 * x0..3 * (x0 + n)]);
                from = to;
            }
        }
    }
}

/// Fills the pixels from one knot towards the next.
fn stretch<T: Copy + Into<u32>>(
    source: &Source<'_, T>,
    from: (Point, [f32; 3]),
    to: (Point, [f32; 3]),
    out: &mut [f32],
) {
    for (k, out) in out.chunks_exact_mut(3).enumerate() {
        let t = k as f64 / KNOT as f64;
        match cubic(source, from.0.lerp(to.0, t)) {
            Some(v) => (0..3).for_each(|c| {
                let gain = from.1[c] + (to.1[c] - from.1[c]) * t as f32;
                // Overshoot below black is no light.
                out[c] = (v[c] * gain).max(0.0);
            }),
            None => out.fill(f32::NAN),
        }
    }
}

/// The four weights of cubic convolution for a fraction `t` between the middle two samples.
fn weights(t: f32) -> [f32; 4] {
    let (t2, t3) = (t * t, t * t * t);
    [-0.5 * t + t2 - 0.5 * t3, 1.0 - 2.5 * t2 + 1.5 * t3, 0.5 * t + 2.0 * t2 - 1.5 * t3, -0.5 * t2 + 0.5 * t3]
}

#[inline]
fn cubic<T: Copy + Into<u32>>(source: &Source<'_, T>, p: Point) -> Option<[f32; 3]> {
    let (w, h) = (source.frame.width, source.frame.height);
    let (x, y) = (p.x - 0.5, p.y - 0.5);
    if !(x >= 0.0 && y >= 0.0 && x <= (w - 1) as f64 && y <= (h - 1) as f64) {
        return None;
    }
    let (i, j) = (x as usize, y as usize);
    let (wx, wy) = (weights((x - i as f64) as f32), weights((y - j as f64) as f32));
    let mut sum = [0f32; 3];
    if i >= 1 && j >= 1 && i + 2 < w && j + 2 < h {
        for (r, &wr) in wy.iter().enumerate() {
            let line = &source.s[3 * ((j + r - 1) * w + i - 1)..][..12];
            let mut acc = [0f32; 3];
            for (k, &wk) in wx.iter().enumerate() {
                for c in 0..3 {
                    acc[c] += wk * source.table[Into::<u32>::into(line[3 * k + c]) as usize];
                }
            }
            (0..3).for_each(|c| sum[c] += wr * acc[c]);
        }
        return Some(sum);
    }
    for (r, &wr) in wy.iter().enumerate() {
        let jj = (j + r).saturating_sub(1).min(h - 1);
        for (k, &wk) in wx.iter().enumerate() {
            let ii = (i + k).saturating_sub(1).min(w - 1);
            for (c, s) in sum.iter_mut().enumerate() {
                *s += wr * wk * source.table[Into::<u32>::into(source.s[3 * (jj * w + ii) + c]) as usize];
            }
        }
    }
    Some(sum)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn cubic_weights_keep_level_and_slope() {
        for i in 0..=10 {
            let t = i as f32 / 10.0;
            let w = weights(t);
            assert!((w.iter().sum::<f32>() - 1.0).abs() < 1e-6);
            let slope: f32 = w.iter().zip([-1.0, 0.0, 1.0, 2.0]).map(|(w, x)| w * x).sum();
            assert!((slope - t).abs() < 1e-6);
        }
    }
}
