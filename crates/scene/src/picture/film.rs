//! Instant film: soft, short in range, a cast of its own, lifted blacks, creamy whites, an uneven spread of chemistry.

use super::Subject;
use super::canvas::{Canvas, V};
use crate::noise::{fbm, smooth, value};
use rayon::prelude::*;

/// How a picture was exposed.
#[derive(Clone, Copy)]
pub struct Key {
    /// Factor of light before the film's curve.
    exposure: f32,
    /// Slope of the curve's middle; 1 is flat.
    contrast: f32,
    /// Depth of colour, 1 as the scene's.
    colour: f32,
}

impl Key {
    /// The exposure that suits a subject.
    pub fn of(subject: Subject) -> Self {
        let (exposure, contrast, colour) = match subject {
            Subject::Snow => (1.3, 1.15, 0.75),
            Subject::Night => (0.75, 1.2, 1.0),
            Subject::Street => (1.1, 1.2, 1.05),
            Subject::Portrait => (1.0, 1.15, 0.95),
            Subject::Lake | Subject::Forest => (1.05, 1.22, 1.0),
            _ => (1.0, 1.25, 1.0),
        };
        Self { exposure, contrast, colour }
    }
}

/// Blackest and whitest reflectance of the dyes and the white behind them (densities about 1.65 and 0.13, by eye).
const BLACK: V = V(0.021, 0.023, 0.026);
const WHITE: V = V(0.76, 0.74, 0.68);

/// The casts that age and temperature leave, as exponents of the three layers and the colour of the shadows.
const CASTS: [(V, V); 5] = [
    (V(0.95, 1.00, 1.08), V(0.008, 0.004, 0.000)),
    (V(1.06, 0.99, 0.96), V(0.000, 0.004, 0.009)),
    (V(1.02, 0.96, 1.05), V(0.002, 0.006, 0.002)),
    (V(0.94, 1.04, 1.03), V(0.009, 0.000, 0.005)),
    (V(0.98, 1.00, 1.03), V(0.003, 0.003, 0.004)),
];

/// Light to reflectance.
pub fn print(light: Canvas, seed: u32, key: Key) -> Vec<[f32; 3]> {
    let (w, h) = (light.width, light.height);
    let soft = blurred(&light, h as f32 / 1500.0 + 0.35);
    let glow = halation(&light);
    let (cast, shadow) = CASTS[seed as usize % CASTS.len()];
    let mut out = vec![[0.0; 3]; w * h];
    out.par_chunks_mut(w).enumerate().for_each(|(j, row)| {
        for (i, p) in row.iter_mut().enumerate() {
            let (x, y) = ((i as f32 + 0.5) / w as f32 * 2.0 - 1.0, (j as f32 + 0.5) / h as f32 * 2.0 - 1.0);
            let n = j * w + i;
            let r2 = x * x + y * y;
            let spread = 1.0 + 0.10 * (fbm(seed ^ 0xf1, x * 1.3, y * 0.9 + 3.0, 3, 0.5) - 0.5);
            let fall = 1.0 / (1.0 + 0.13 * r2).powi(2);
            let v = (soft.data[n] * 0.97 + glow.data[n]) * (key.exposure * fall * spread);
            let v = curve(v, key);
            let v = V(v.0.powf(cast.0), v.1.powf(cast.1), v.2.powf(cast.2));
            // Chemistry spreads from the foot and thins towards the edges.
            let wave = 0.035 * (fbm(seed ^ 0xf2, x * 3.0, y * 3.0, 3, 0.5) - 0.5);
            let edge = smooth(0.965, 1.0, x.abs().max(y.abs()) + wave);
            let v = v.mix(V(0.5, 0.48, 0.42), 0.03 * edge);
            let base = BLACK + shadow;
            let r = base + V(v.0 * (WHITE.0 - base.0), v.1 * (WHITE.1 - base.1), v.2 * (WHITE.2 - base.2));
            *p = [r.0, r.1, r.2];
        }
    });
    out
}

/// Densities scaled by `2^-stops`, then all tones drawn towards one by `fade`.
pub fn worn(picture: &mut [[f32; 3]], stops: f32, fade: f32, seed: u32) {
    let (low, high) = ([BLACK.0, BLACK.1, BLACK.2], [WHITE.0, WHITE.1, WHITE.2]);
    let power = (-stops).exp2();
    let towards = 0.2 + 0.65 * value(seed ^ 0xfa, 0.5, 0.5);
    // A power for every pixel and layer would take longer than the rest of a small frame.
    let table: Vec<f32> = (0..=1023)
        .map(|i| {
            let x = (i as f32 / 1023.0).powf(power);
            x + (towards - x) * fade
        })
        .collect();
    for v in picture {
        *v = std::array::from_fn(|c| {
            let x = ((v[c] - low[c]) / (high[c] - low[c])).clamp(0.0, 1.0);
            low[c] + (high[c] - low[c]) * table[(x * 1023.0 + 0.5) as usize]
        });
    }
}

/// A film's S-curve around a middle grey of 0.18: straight in the middle, long in toe and shoulder, then colour drawn
/// towards grey.
fn curve(v: V, key: Key) -> V {
    let one = |x: f32| {
        let x = (x.max(0.0) / 0.18).powf(key.contrast) * 0.18;
        // The shoulder: 1 - exp bends white in slowly.
        1.0 - (-(1.15 * x + 0.55 * x * x)).exp()
    };
    let c = V(one(v.0), one(v.1), one(v.2));
    let grey = c.dot(V(0.25, 0.62, 0.13));
    V(grey, grey, grey).mix(c, key.colour)
}

/// Light scattered in the film around bright places, reddest.
fn halation(light: &Canvas) -> Canvas {
    let (w, h) = (light.width.div_ceil(8), light.height.div_ceil(8));
    let small = Canvas::paint(w, h, |_, _, _| V::default());
    let data = (0..w * h)
        .into_par_iter()
        .map(|k| {
            let (i, j) = (k % w * 8, k / w * 8);
            let mut sum = V::default();
            let mut n = 0.0;
            for y in j..(j + 8).min(light.height) {
                for x in i..(i + 8).min(light.width) {
                    let p = light.data[y * light.width + x];
                    let over = |v: f32| (v - 0.7).clamp(0.0, 4.0) + 0.05 * v.min(4.0);
                    sum = sum + V(over(p.0), over(p.1), over(p.2));
                    n += 1.0;
                }
            }
            sum * (1.0 / f32::max(n, 1.0))
        })
        .collect();
    let spread = blurred(&Canvas { data, ..small }, 0.012 * light.height as f32 / 8.0 + 1.0);
    let tint = V(0.30, 0.21, 0.15);
    let mut out = Canvas { width: light.width, height: light.height, data: vec![V::default(); light.data.len()] };
    out.data.par_chunks_mut(light.width).enumerate().for_each(|(j, row)| {
        for (i, p) in row.iter_mut().enumerate() {
            let (x, y) = (i as f32 / 8.0 - 0.44, j as f32 / 8.0 - 0.44);
            let (x0, y0) = ((x.max(0.0) as usize).min(w - 1), (y.max(0.0) as usize).min(h - 1));
            let (x1, y1) = ((x0 + 1).min(w - 1), (y0 + 1).min(h - 1));
            let (tx, ty) = ((x - x0 as f32).clamp(0.0, 1.0), (y - y0 as f32).clamp(0.0, 1.0));
            let d = &spread.data;
            let top = d[y0 * w + x0].mix(d[y0 * w + x1], tx);
            let low = d[y1 * w + x0].mix(d[y1 * w + x1], tx);
            *p = top.mix(low, ty).by(tint);
        }
    });
    out
}

/// A Gaussian of `sigma` cells.
pub fn blurred(c: &Canvas, sigma: f32) -> Canvas {
    let k = kernel(sigma);
    let (w, h) = (c.width, c.height);
    let pass = |from: &[V], along: bool| {
        let mut out = vec![V::default(); w * h];
        out.par_chunks_mut(w).enumerate().for_each(|(j, row)| {
            for (i, p) in row.iter_mut().enumerate() {
                let get = |d: isize| {
                    let (x, y) = if along { (i as isize + d, j as isize) } else { (i as isize, j as isize + d) };
                    from[y.clamp(0, h as isize - 1) as usize * w + x.clamp(0, w as isize - 1) as usize]
                };
                *p = k
                    .iter()
                    .enumerate()
                    .skip(1)
                    .fold(get(0) * k[0], |a, (d, t)| a + (get(d as isize) + get(-(d as isize))) * *t);
            }
        });
        out
    };
    let data = pass(&pass(&c.data, true), false);
    Canvas { width: w, height: h, data }
}

fn kernel(sigma: f32) -> Vec<f32> {
    let reach = (3.0 * sigma).ceil() as usize;
    let mut k: Vec<f32> = (0..=reach).map(|i| (-0.5 * (i as f32 / sigma.max(0.1)).powi(2)).exp()).collect();
    let sum = k[0] + 2.0 * k[1..].iter().sum::<f32>();
    k.iter_mut().for_each(|v| *v /= sum);
    k
}
