//! Straightens a frame onto a canvas with one resample in linear light, divided by what the bare bed would read.

use crate::canvas::{Canvas, Warp};
use crate::counter::Merge;
use crate::unbend::Unbend;
use geometry::Point;
use pixels::{Field, Frame, Samples};
use std::ops::Range;
use wide::f32x4;

/// A frame as it lies straightened on a canvas: light over bare bed, interleaved RGB in the frame's own primaries, NaN where
/// the frame does not reach. Rows are made as they are asked for; the whole is never in memory.
///
/// Resampled by cubic convolution (Keys 1981, a = -1/2, doi 10.1109/TASSP.1981.1163711), divided by `bed` and, outside the
/// print, by `texture` (the bed's own structure) as well.
pub struct Flat<'a> {
    /// The frame to straighten.
    pub frame: &'a Frame,
    /// What the bare bed reads in it.
    pub bed: &'a Field,
    /// The bed's own structure.
    pub texture: Option<&'a Field>,
    /// The print's own shading, divided out of it.
    pub unbend: Option<Unbend>,
    /// The same print lit from the other side, joined in.
    pub second: Option<Box<Second<'a>>>,
    /// The canvas it lies on.
    pub canvas: Canvas,
    /// The way from the canvas to the frame.
    pub warp: Warp,
}

/// The other frame of a print that was taken twice.
pub struct Second<'a> {
    /// Its flat picture, on the same canvas.
    pub flat: Flat<'a>,
    /// How the two are joined.
    pub merge: &'a Merge,
}

/// Canvas pixels, across and down, between exact evaluations of warp and bed; both are so smooth that straight lines between
/// are right to a thousandth of a pixel.
const KNOT: usize = 16;

/// Canvas pixels in a tile, about. A print that lies across the frame is read down the frame's columns: within a tile those
/// reads stay in a few thousand pixels, which a core's cache holds.
const TILE: usize = 64 * 64;

impl Flat<'_> {
    /// The values of some rows.
    pub fn rows(&self, rows: Range<usize>) -> Vec<f32> {
        let mut out = vec![0.0; 3 * self.canvas.width * rows.len()];
        match &self.frame.samples {
            Samples::U8(s) => self.resample(s, rows.start, &mut out),
            Samples::U16(s) => self.resample(s, rows.start, &mut out),
        }
        if let Some(unbend) = &self.unbend {
            unbend.divide(&self.canvas, rows.start, &mut out);
        }
        if let Some(second) = &self.second {
            second.merge.join(&self.canvas, rows.start, &mut out, &second.flat.rows(rows));
        }
        out
    }

    /// The value of one pixel.
    pub fn at(&self, x: usize, y: usize) -> [f32; 3] {
        let (knot, mut patch, mut out) = (self.knot(x, y), Patch::default(), [0.0; 3]);
        match &self.frame.samples {
            Samples::U8(s) => patch.read(self.frame, s, std::iter::once(knot.place)),
            Samples::U16(s) => patch.read(self.frame, s, std::iter::once(knot.place)),
        }
        patch.stretch(knot, knot, &mut out);
        if let Some(unbend) = &self.unbend {
            unbend.divide_one(&self.canvas, x, y, &mut out);
        }
        if let Some(second) = &self.second {
            second.merge.join_one(&self.canvas, (x, y), &mut out, second.flat.at(x, y));
        }
        out
    }

    /// The knot at the middle of a pixel.
    fn knot(&self, x: usize, y: usize) -> Knot {
        let p = self.warp.frame(self.canvas.print_from_canvas(x as f64 + 0.5, y as f64 + 0.5));
        let mut b = self.bed.at(p.x, p.y);
        let beyond = self.canvas.cover_across(x.min(self.canvas.width - 1)) * self.canvas.cover_down(y) == 0.0;
        if let Some(t) = self.texture.filter(|_| beyond) {
            let t = t.at(p.x, p.y);
            (0..3).for_each(|c| b[c] *= t[c]);
        }
        Knot { place: p, gain: b.map(|v| 1.0 / v.max(1e-6)) }
    }

    /// Fills whole rows from row `top`, tile by tile.
    fn resample<T: Copy + Into<u32>>(&self, samples: &[T], top: usize, rows: &mut [f32]) {
        let width = self.canvas.width;
        let height = rows.len() / (3 * width);
        // As wide as the rows are few, in whole knots.
        let tile = (TILE / height.max(1)).clamp(KNOT, 16 * KNOT).next_multiple_of(KNOT);
        let mut patch = Patch::default();
        for left in (0..width).step_by(tile) {
            let right = (left + tile).min(width);
            let line =
                |y: usize| -> Vec<Knot> { (left..right + KNOT).step_by(KNOT).map(|x| self.knot(x, y)).collect() };
            let knots: Vec<Vec<Knot>> = (0..height + KNOT).step_by(KNOT).map(|j| line(top + j)).collect();
            patch.read(self.frame, samples, knots.iter().flatten().map(|k| k.place));
            for (j, row) in rows.chunks_exact_mut(3 * width).enumerate() {
                let (above, below) = (&knots[j / KNOT], &knots[j / KNOT + 1]);
                let at = |i: usize| above[i].towards(below[i], (j % KNOT) as f64 / KNOT as f64);
                let pixels = row[3 * left..3 * right].chunks_mut(3 * KNOT);
                pixels.enumerate().for_each(|(i, out)| patch.stretch(at(i), at(i + 1), out));
            }
        }
    }
}

/// What is known exactly at one canvas position.
#[derive(Clone, Copy)]
struct Knot {
    /// The frame position.
    place: Point,
    /// The gain that makes the bare bed 1 there.
    gain: [f32; 3],
}

impl Knot {
    /// The knot a share `t` of the way to another.
    fn towards(self, to: Self, t: f64) -> Self {
        let gain = std::array::from_fn(|c| self.gain[c] + (to.gain[c] - self.gain[c]) * t as f32);
        Self { place: self.place.lerp(to.place, t), gain }
    }
}

/// The part of a frame that a tile reads, in linear light: each frame pixel is made light once, not once for every canvas
/// pixel that it helps to make. Four numbers a pixel, the last 0, so that one vector holds it.
#[derive(Default)]
struct Patch {
    light: Vec<f32x4>,
    /// Frame position of its first pixel.
    left: isize,
    top: isize,
    width: usize,
    height: usize,
    /// Between which of its own positions, left, top, right and bottom, the middles of the frame's pixels lie.
    shown: [i64; 4],
}

impl Patch {
    /// Reads what the cubic of positions within the hull of `places` needs; past the frame's rim the rim is repeated.
    fn read<T: Copy + Into<u32>>(&mut self, frame: &Frame, samples: &[T], places: impl Iterator<Item = Point>) {
        let (w, h) = (frame.width, frame.height);
        let table = frame.encoding.tone.table(frame.bits());
        let start = [f64::INFINITY, f64::INFINITY, f64::NEG_INFINITY, f64::NEG_INFINITY];
        let hull = places.fold(start, |[l, t, r, b], p| [l.min(p.x), t.min(p.y), r.max(p.x), b.max(p.y)]);
        // A tile that lies past the frame altogether reads nothing; one pixel keeps the arithmetic whole. The cubic reads one
        // pixel before and two after; one more on either side is for positions that rounding takes across a pixel.
        let span = |low: f64, high: f64, n: usize| {
            let from = (low - 0.5).clamp(0.0, (n - 1) as f64) as isize - 2;
            let to = (high - 0.5).clamp(0.0, (n - 1) as f64) as isize + 4;
            // Places that are no numbers leave the hull empty, from its high end to its low one.
            (from.min(to - 6), (to - from).max(6) as usize)
        };
        (self.left, self.width) = span(hull[0], hull[2], w);
        (self.top, self.height) = span(hull[1], hull[3], h);
        let ends = |from: isize, n: usize| [fixed(-from as f64), fixed((n as isize - 1 - from) as f64)];
        let ([left, right], [top, bottom]) = (ends(self.left, w), ends(self.top, h));
        self.shown = [left, top, right, bottom];
        self.light.clear();
        let rim = |i: isize, n: usize| i.clamp(0, n as isize - 1) as usize;
        for j in 0..self.height {
            let line = &samples[3 * w * rim(self.top + j as isize, h)..][..3 * w];
            self.light.extend((0..self.width).map(|i| {
                let k = 3 * rim(self.left + i as isize, w);
                let v = |c: usize| table[Into::<u32>::into(line[k + c]) as usize];
                f32x4::new([v(0), v(1), v(2), 0.0])
            }));
        }
    }

    /// Fills the pixels from one knot towards the next; what lies past the frame gets NaN.
    fn stretch(&self, from: Knot, to: Knot, out: &mut [f32]) {
        let own = |p: Point| [fixed(p.x - 0.5 - self.left as f64), fixed(p.y - 0.5 - self.top as f64)];
        let (mut at, end) = (own(from.place), own(to.place));
        let step: [i64; 2] = std::array::from_fn(|i| (end[i] - at[i]) / KNOT as i64);
        let vector = |[r, g, b]: [f32; 3]| f32x4::new([r, g, b, 0.0]);
        let mut gain = vector(from.gain);
        let rise = (vector(to.gain) - gain) * (1.0 / KNOT as f32);
        for out in out.chunks_exact_mut(3) {
            match self.cubic(at) {
                // Overshoot below black is no light.
                Some(v) => out.copy_from_slice(&(v * gain).max(f32x4::ZERO).to_array()[..3]),
                None => out.fill(f32::NAN),
            }
            (0..2).for_each(|i| at[i] += step[i]);
            gain += rise;
        }
    }

    /// The light at a position among the pixels read; `None` outside the frame.
    #[inline]
    fn cubic(&self, [x, y]: [i64; 2]) -> Option<f32x4> {
        let [left, top, right, bottom] = self.shown;
        if x < left || y < top || x > right || y > bottom {
            return None;
        }
        let (wx, wy) = (weights(fraction(x)).to_array(), weights(fraction(y)).to_array());
        let wx = wx.map(f32x4::splat);
        let first = ((y >> 32) - 1) as usize * self.width + (x >> 32) as usize - 1;
        let light = self.light.get(first..first + 3 * self.width + 4)?;
        let mut sum = f32x4::ZERO;
        for (r, wr) in wy.into_iter().enumerate() {
            let px: &[f32x4; 4] = light[r * self.width..].first_chunk()?;
            sum += (px[0] * wx[0] + px[1] * wx[1] + px[2] * wx[2] + px[3] * wx[3]) * wr;
        }
        Some(sum)
    }
}

/// A position in units of 2^-32 pixel: its whole part and its fraction are had without rounding, and a walk of equal steps
/// stays as exact as its ends.
fn fixed(px: f64) -> i64 {
    (px * (1u64 << 32) as f64) as i64
}

/// The fraction of a position, to the 24 bits that single precision holds.
fn fraction(fixed: i64) -> f32 {
    (fixed as u32 >> 8) as f32 * (1.0 / (1 << 24) as f32)
}

/// The four weights of cubic convolution for a fraction `t` between the middle two samples: each a cubic in `t`.
fn weights(t: f32) -> f32x4 {
    let [cube, square, line, one] =
        [[-0.5, 1.5, -1.5, 0.5], [1.0, -2.5, 2.0, -0.5], [-0.5, 0.0, 0.5, 0.0], [0.0, 1.0, 0.0, 0.0]].map(f32x4::new);
    ((cube * t + square) * t + line) * t + one
}

#[cfg(test)]
mod tests {
    use super::*;
    use geometry::{Homography, point};
    use pixels::{Encoding, Picture, Plane, Primaries, Tone};

    #[test]
    fn cubic_weights_keep_level_and_slope() {
        for i in 0..=10 {
            let t = i as f32 / 10.0;
            let w = weights(t).to_array();
            assert!((w.iter().sum::<f32>() - 1.0).abs() < 1e-6);
            let slope: f32 = w.iter().zip([-1.0, 0.0, 1.0, 2.0]).map(|(w, x)| w * x).sum();
            assert!((slope - t).abs() < 1e-6);
        }
    }

    /// A frame whose light is a plane comes back as that plane wherever the canvas lies on it, whichever way it is turned.
    #[test]
    fn a_plane_of_light_is_resampled_exactly_and_the_rim_is_where_the_frame_ends() {
        let (w, h) = (150, 110);
        let light = |x: f64, y: f64| 0.1 + 0.004 * x + 0.002 * y;
        let code = |v: f64| (v * 65535.0).round() as u16;
        let samples = (0..h)
            .flat_map(|y| (0..w).flat_map(move |x| [code(light(x as f64 + 0.5, y as f64 + 0.5)); 3]))
            .collect::<Vec<u16>>();
        let encoding = Encoding::new(Tone::linear(), Primaries::srgb());
        let frame = Frame { width: w, height: h, samples: Samples::U16(samples), encoding };
        let bed = Field { grid: Picture([0; 3].map(|_| Plane::filled(1, 1, 0.5))), step: 150.0 };
        for turned in [false, true] {
            // Canvas pixels are 0.8 frame pixels; the canvas begins 7 px left of the frame.
            let place =
                |x: f64, y: f64| if turned { (0.8 * y - 7.0, 100.0 - 0.8 * x) } else { (0.8 * x - 7.0, 0.8 * y + 3.0) };
            let corners = [(0.0, 0.0), (100.0, 0.0), (100.0, 80.0), (0.0, 80.0)];
            let on_frame = corners.map(|(x, y)| place(x, y)).map(|(x, y)| point(x, y));
            let map = Homography::from_points(&corners.map(|(x, y)| point(x, y)), &on_frame).unwrap();
            let canvas = Canvas { width: 100, height: 80, px_per_mm: 1.0, print: [0.0, 0.0, 100.0, 80.0] };
            let warp = Warp::straight(map, (100.0, 80.0));
            let flat = Flat { frame: &frame, bed: &bed, texture: None, unbend: None, second: None, canvas, warp };
            // In strips that are no whole number of knots.
            let data: Vec<f32> = [0..33, 33..34, 34..80].into_iter().flat_map(|rows| flat.rows(rows)).collect();
            assert!((flat.at(40, 50)[2] - data[3 * (50 * 100 + 40) + 2]).abs() < 1e-5);
            for (k, px) in data.chunks_exact(3).enumerate() {
                let (x, y) = place((k % 100) as f64 + 0.5, (k / 100) as f64 + 0.5);
                let shown = x >= 0.5 && y >= 0.5 && x <= w as f64 - 0.5 && y <= h as f64 - 0.5;
                assert_eq!(px[0].is_nan(), !shown, "{x} {y}");
                // Within a pixel of the rim the repeated pixel bends the plane.
                if x > 2.0 && y > 2.0 && x < w as f64 - 2.0 && y < h as f64 - 2.0 {
                    assert!((f64::from(px[1]) - 2.0 * light(x, y)).abs() < 1e-4, "{x} {y}: {px:?}");
                }
            }
        }
    }
}
