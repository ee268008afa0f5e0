//! Reduces a picture onto a larger white sheet: each new pixel is the mean light of the area it covers.
//!
//! Area means have no negative weights, so there are no bright or dark lines along a print's edge, and white stays white.

use crate::mount::Rows;
use pixels::encoder::{Encoder, dither};
use rayon::prelude::*;
use std::ops::Range;

/// Where a picture goes along one axis of a sheet: pixel `i` of the picture covers `at + i * scale .. at + (i + 1) * scale`.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Along {
    /// Sheet position of the picture's first edge, pixels.
    pub at: f64,
    /// Sheet pixels for each of the picture's, at most 1.
    pub scale: f64,
}

/// What of the picture a sheet pixel covers: its pixels with their weights, the rest white.
struct Tap {
    first: usize,
    weights: Vec<f32>,
}

impl Along {
    /// The picture's pixels under each of `length` sheet pixels, of those in `part`.
    fn taps(&self, length: usize, part: &Range<usize>) -> Vec<Tap> {
        let edge = |t: f64| ((t - self.at) / self.scale).clamp(part.start as f64, part.end as f64);
        let tap = |i: usize| {
            let (from, to) = (edge(i as f64), edge(i as f64 + 1.0));
            let (first, last) = (from.floor() as usize, (to.ceil() as usize).min(part.end));
            let share = |x: usize| ((to.min(x as f64 + 1.0) - from.max(x as f64)).max(0.0) * self.scale) as f32;
            Tap { first, weights: if to > from { (first..last).map(share).collect() } else { vec![] } }
        };
        (0..length).map(tap).collect()
    }
}

/// Draws the part of a picture that holds `ink` on a white sheet of `size`, as 8-bit sRGB: encoded and dithered at the end,
/// pure white left alone.
pub fn on_white(picture: &impl Rows, ink: [usize; 4], along: [Along; 2], size: (usize, usize)) -> Vec<u8> {
    let (columns, rows) = (ink[0]..ink[2], ink[1]..ink[3]);
    let across = along[0].taps(size.0, &columns);
    let down = along[1].taps(size.1, &rows);
    let encoder = Encoder::new(pixels::colour::srgb_encode);
    let mut out = vec![255; 3 * size.0 * size.1];
    out.par_chunks_mut(3 * size.0.max(1)).zip(&down).enumerate().for_each_init(
        || (vec![0.0f32; 3 * columns.len()], vec![0.0f32; 3 * columns.len()]),
        |(line, sum), (y, (out, tap))| {
            if tap.weights.is_empty() {
                return;
            }
            sum.fill(1.0 - tap.weights.iter().sum::<f32>());
            for (j, weight) in tap.weights.iter().enumerate() {
                picture.row(tap.first + j, columns.start, line);
                sum.iter_mut().zip(&*line).for_each(|(s, v)| *s += weight * v);
            }
            let sum = sum.as_chunks::<3>().0;
            for (x, (px, tap)) in out.as_chunks_mut::<3>().0.iter_mut().zip(&across).enumerate() {
                if tap.weights.is_empty() {
                    continue;
                }
                let mut light = [1.0 - tap.weights.iter().sum::<f32>(); 3];
                for (px, weight) in sum[tap.first - columns.start..].iter().zip(&tap.weights) {
                    (0..3).for_each(|c| light[c] += weight * px[c]);
                }
                *px = light.map(|l| eight(l, &encoder, x, y));
            }
        },
    );
    out
}

/// The 8-bit code of a light at a place. A mean of whites is white but for the rounding of its weights.
pub fn eight(light: f32, encoder: &Encoder, x: usize, y: usize) -> u8 {
    if light >= 1.0 - 1e-5 { 255 } else { dither(encoder.code(light), x, y) }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A square of middle grey on white.
    struct Square;

    impl Rows for Square {
        fn size(&self) -> (usize, usize) {
            (40, 40)
        }
        fn row(&self, y: usize, from: usize, light: &mut [f32]) {
            for (i, px) in light.as_chunks_mut::<3>().0.iter_mut().enumerate() {
                let inside = (10..30).contains(&y) && (10..30).contains(&(from + i));
                *px = [if inside { 0.25 } else { 1.0 }; 3];
            }
        }
    }

    #[test]
    fn a_square_keeps_its_light_and_white_is_255() {
        let along = Along { at: 3.3, scale: 0.37 };
        let rgb = on_white(&Square, [8, 8, 32, 32], [along; 2], (20, 20));
        let light = |v: u8| pixels::colour::srgb_decode(f64::from(v) / 255.0);
        let dark: f64 = rgb.iter().step_by(3).map(|v| (1.0 - light(*v)) / 0.75).sum();
        // The square's area on the sheet: (20 * 0.37)^2 = 54.8 px.
        assert!((dark - 54.76).abs() < 0.5, "{dark}");
        let (first, last) = (3.3 + 3.7, 3.3 + 11.1);
        for (i, v) in rgb.iter().step_by(3).enumerate() {
            let (x, y) = ((i % 20) as f64, (i / 20) as f64);
            let clear = |t: f64| t + 1.0 <= first || t >= last;
            assert!(!(clear(x) || clear(y)) || *v == 255, "{x} {y} {v}");
        }
    }
}
