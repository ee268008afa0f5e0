//! Divides a bent print's own shading out of the rows of its flat picture, so that it is lit as a flat print would be.

use crate::canvas::Canvas;
use pixels::Plane;
use print::shading::Shading;

/// Canvas pixels between exact evaluations of the shading, which is so smooth that straight lines between are right to 1e-5.
const KNOT: usize = 16;

/// A print's shading on its canvas.
#[derive(Clone, Debug)]
pub struct Unbend {
    /// `1 / s - 1` at every [`KNOT`]th pixel.
    gain: Plane,
}

impl Unbend {
    /// For a canvas.
    pub fn new(shading: &Shading, canvas: &Canvas) -> Self {
        let (w, h) = (canvas.width / KNOT + 2, canvas.height / KNOT + 2);
        let gain = Plane::from_fn(w, h, |i, j| {
            let p = canvas.print_from_canvas((i * KNOT) as f64, (j * KNOT) as f64);
            // Beyond the print the shading goes on; nothing there is divided by it.
            (-shading.ln_at(p)).exp_m1() as f32
        });
        Self { gain }
    }

    /// Divides rows from row `top` of a canvas, as far as the print covers each pixel.
    pub fn divide(&self, canvas: &Canvas, top: usize, rows: &mut [f32]) {
        for (j, row) in rows.chunks_exact_mut(3 * canvas.width).enumerate() {
            let down = canvas.cover_down(top + j);
            if down == 0.0 {
                continue;
            }
            let first = canvas.print[0].max(0.0) as usize;
            let last = (canvas.print[2].ceil() as usize).min(canvas.width);
            let y = (top + j) as f64 + 0.5;
            for x in first..last {
                let cover = down * canvas.cover_across(x);
                let factor = 1.0 + cover * self.at(x, y);
                row[3 * x..3 * x + 3].iter_mut().for_each(|v| *v *= factor);
            }
        }
    }

    /// Divides one pixel.
    pub fn divide_one(&self, canvas: &Canvas, x: usize, y: usize, v: &mut [f32; 3]) {
        let cover = canvas.cover_down(y) * canvas.cover_across(x);
        let factor = 1.0 + cover * self.at(x, y as f64 + 0.5);
        v.iter_mut().for_each(|v| *v *= factor);
    }

    fn at(&self, x: usize, y: f64) -> f32 {
        let k = KNOT as f64;
        self.gain.bilinear((x as f64 + 0.5) / k + 0.5, y / k + 0.5)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use geometry::{Point, point};

    /// Rows shaded by a planted plane come back even inside the print, and the bed beyond is untouched.
    #[test]
    fn planted_shading_is_divided_out_of_the_print_alone() {
        let shading = Shading {
            slope: point(-2e-3, 1e-3),
            slope_sigma: Point::default(),
            bend: [2e-3, 0.0, 0.0],
            rise: 0.0,
            size: (40.0, 30.0),
            by_border: false,
        };
        let canvas = Canvas::around((40.0, 30.0), [2.0; 4], 9.7);
        let unbend = Unbend::new(&shading, &canvas);
        let (w, h) = (canvas.width, canvas.height);
        let light = |x: usize, y: usize| {
            let inside = canvas.cover_across(x) * canvas.cover_down(y) == 1.0;
            let p = canvas.print_from_canvas(x as f64 + 0.5, y as f64 + 0.5);
            let q = p - point(20.0, 15.0);
            // The closed form again, written out: a plane in the logarithm, less half the squared slope.
            let s = (-2e-3 * q.x + 1e-3 * q.y - (2e-3 * q.x).powi(2) / 2.0).exp();
            if inside { 0.6 * s as f32 } else { 1.0 }
        };
        let mut rows: Vec<f32> = (0..w * h).flat_map(|k| [light(k % w, k / w); 3]).collect();
        unbend.divide(&canvas, 0, &mut rows);
        for (k, v) in rows.chunks_exact(3).enumerate() {
            let (x, y) = (k % w, k / w);
            match canvas.cover_across(x) * canvas.cover_down(y) {
                1.0 => assert!((v[1] - 0.6).abs() < 1e-4, "{x} {y}: {v:?}"),
                0.0 => assert_eq!(v[1], 1.0),
                _ => {}
            }
        }
    }
}
