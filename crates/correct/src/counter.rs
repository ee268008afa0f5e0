//! Joins two flat pictures of one print, lit from opposite sides, into one: the mean where they agree, the lower where one is veiled.
//!
//! With reflectance `R`, a reflection `G` of the flash or of a window, noise `n` and the shading `s` that is left after each was evened by
//! its own light, the two read `a = R s_a + G_a + n_a` and `b = R s_b + G_b + n_b`. A smooth `L = ln(s_a / s_b)` (a quadratic over the print,
//! fitted robustly) is divided out half from either, so a curled print's opposite shadings cancel. Where the rest differs by no more than
//! noise the mean has `1 / sqrt(2)` of one frame's noise. A plain minimum would read `sigma / sqrt(pi)` = 0.56 sigma too low everywhere, so the
//! lower is taken only where the two differ, over about a millimetre, by more than that can be.

use crate::canvas::Canvas;
use geometry::fit::spread;
use geometry::solve::LeastSquares;
use geometry::{Point, Quad, point};
use pixels::filter::{box_mean, dilate, erode};
use pixels::{Picture, Plane};

/// Samples per mm at which the two are compared: a reflection is larger than a third of a millimetre.
pub const SCALE: f64 = 3.0;
/// What two lights from opposite sides make of one surface beside noise and the smooth ratio, as a share of the bed's light (sheen, grain
/// lit from either side; our judgement, no source), and the most that the whole is taken to be.
const NOISE: [f64; 2] = [0.005, 0.02];
/// Half the side (samples) of the square beyond which a difference is no noise: a reflection is broader than noise.
const BROAD: usize = 6;
/// Standard deviations from which a difference begins to count, and from which it counts wholly.
const COUNTS: [f64; 2] = [3.0, 5.0];
/// Groups by tone in which the noise is measured.
const GROUPS: usize = 6;
/// Within so much of the print's edge (mm) the front alone is used: beside it bed and shadow differ, and the two edges may.
const EDGE: f64 = 0.6;

/// How two pictures of a print are joined, over the print's millimetres.
#[derive(Clone, Debug)]
pub struct Merge {
    /// Share of the second at [`SCALE`] samples per mm: one half where both agree.
    share: Plane,
    /// Half of `L`: constant, x, y, x^2, xy, y^2 over coordinates from -1 to 1 across the print.
    half: [f64; 6],
    size: (f64, f64),
    /// Share of the print where the first, and where the second, was left out as veiled.
    pub left_out: [f64; 2],
}

fn terms(u: f64, v: f64) -> [f64; 6] {
    [1.0, u, v, u * u, u * v, v * v]
}

fn tone(p: &Picture, k: usize) -> f32 {
    (p.0[0].data[k] + p.0[1].data[k] + p.0[2].data[k]) / 3.0
}

impl Merge {
    /// From both pictures of a print of `size` mm, light over bed at [`SCALE`] samples per mm, the first sample's corner at the print's top
    /// left. `window` is the glossy part, mm. `None` where they are not alike in size or one is hardly there.
    pub fn new(first: &Picture, second: &Picture, size: (f64, f64), window: Option<Quad>) -> Option<Self> {
        let (w, h) = (first.width(), first.height());
        if (w, h) != (second.width(), second.height()) || w < 8 || h < 8 {
            return None;
        }
        let place = |k: usize| {
            let (x, y) = ((k % w) as f64 + 0.5, (k / w) as f64 + 0.5);
            (2.0 * x / w as f64 - 1.0, 2.0 * y / h as f64 - 1.0)
        };
        let glossy = |k: usize| {
            let p = point((k % w) as f64 + 0.5, (k / w) as f64 + 0.5) * (1.0 / SCALE);
            window.is_none_or(|q| q.inset(p) > -0.5)
        };
        let half = shading(first, second, &place, &glossy)?;
        let at = |k: usize| {
            let (u, v) = place(k);
            half.iter().zip(terms(u, v)).map(|(c, t)| c * t).sum::<f64>() as f32
        };
        let mut mean = Plane::filled(w, h, 0.0);
        let mut apart = Plane::filled(w, h, 0.0);
        for k in 0..w * h {
            let (a, b) = (tone(first, k) * (-at(k)).exp(), tone(second, k) * at(k).exp());
            // Where either frame does not reach, the front alone is used.
            let known = a.is_finite() && b.is_finite();
            (mean.data[k], apart.data[k]) = if known { ((a + b) / 2.0, a - b) } else { (0.0, 0.0) };
        }
        let apart = box_mean(&box_mean(&apart, 1), 1);
        let noise = noise_by_tone(&mean, &apart);
        let weigh = |sign: f32| {
            let over = Plane {
                data: apart
                    .data
                    .iter()
                    .zip(&mean.data)
                    .map(|(d, m)| {
                        let t = f64::from(sign * d) / noise.at(f64::from(*m));
                        ((t - COUNTS[0]) / (COUNTS[1] - COUNTS[0])).clamp(0.0, 1.0) as f32
                    })
                    .collect(),
                width: w,
                height: h,
            };
            // A single place is noise or dust; a reflection's faint skirt goes with it.
            box_mean(&dilate(&erode(&over, 1), 3), 2)
        };
        let (veil_first, veil_second) = (weigh(1.0), weigh(-1.0));
        let mut share = Plane::filled(w, h, 0.5);
        let mut left_out = [0.0; 2];
        for (k, s) in share.data.iter_mut().enumerate() {
            let (a, b) = (veil_first.data[k], veil_second.data[k]);
            *s = (0.5 + 0.5 * (a - b)).clamp(0.0, 1.0);
            left_out[0] += f64::from(u8::from(*s > 0.75)) / (w * h) as f64;
            left_out[1] += f64::from(u8::from(*s < 0.25)) / (w * h) as f64;
        }
        Some(Self { share, half, size, left_out })
    }

    /// The gain of the first at a print point, and the share of the second.
    fn at(&self, p: Point) -> (f32, f32) {
        let (w, h) = self.size;
        let (u, v) = (2.0 * p.x / w - 1.0, 2.0 * p.y / h - 1.0);
        let half: f64 = self.half.iter().zip(terms(u.clamp(-1.0, 1.0), v.clamp(-1.0, 1.0))).map(|(c, t)| c * t).sum();
        let inside = p.x.min(w - p.x).min(p.y).min(h - p.y);
        let t = ((inside - EDGE / 2.0) / (EDGE / 2.0)).clamp(0.0, 1.0) as f32;
        let share = self.share.bilinear(p.x * SCALE, p.y * SCALE) * t * t * (3.0 - 2.0 * t);
        ((-half).exp() as f32, share)
    }

    /// Joins rows of the second into the same rows of the first, from row `top` of a canvas. Beyond the print the first stays.
    pub fn join(&self, canvas: &Canvas, top: usize, first: &mut [f32], second: &[f32]) {
        let n = 3 * canvas.width;
        for (j, (a, b)) in first.chunks_exact_mut(n).zip(second.chunks_exact(n)).enumerate() {
            let down = canvas.cover_down(top + j);
            if down == 0.0 {
                continue;
            }
            let columns = canvas.print[0].max(0.0) as usize..(canvas.print[2].ceil() as usize).min(canvas.width);
            for x in columns {
                self.one(canvas, (x, top + j, down), &mut a[3 * x..3 * x + 3], &b[3 * x..3 * x + 3]);
            }
        }
    }

    /// Joins one pixel.
    pub fn join_one(&self, canvas: &Canvas, (x, y): (usize, usize), first: &mut [f32; 3], second: [f32; 3]) {
        self.one(canvas, (x, y, canvas.cover_down(y)), first, &second);
    }

    fn one(&self, canvas: &Canvas, (x, y, down): (usize, usize, f32), first: &mut [f32], second: &[f32]) {
        let cover = down * canvas.cover_across(x);
        if cover == 0.0 {
            return;
        }
        let (gain, share) = self.at(canvas.print_from_canvas(x as f64 + 0.5, y as f64 + 0.5));
        for (a, b) in first.iter_mut().zip(second) {
            let own = *a * (1.0 + cover * (gain - 1.0));
            *a = if b.is_nan() { own } else { own + (b / gain - own) * share };
        }
    }
}

/// Half of the smooth logarithm of the ratio of two pictures.
///
/// The border mirrors nothing, so it begins; the window joins in as far as it agrees with that.
fn shading(
    first: &Picture,
    second: &Picture,
    place: &dyn Fn(usize) -> (f64, f64),
    glossy: &dyn Fn(usize) -> bool,
) -> Option<[f64; 6]> {
    let rows: Vec<([f64; 6], f64, bool)> = (0..first.0[0].data.len())
        .step_by(3)
        .filter_map(|k| {
            let (a, b) = (f64::from(tone(first, k)), f64::from(tone(second, k)));
            // In blacks a ratio is noise.
            (a > 0.03 && b > 0.03).then(|| {
                let (u, v) = place(k);
                (terms(u, v), (a / b).ln(), glossy(k))
            })
        })
        .collect();
    if rows.len() < 200 {
        return None;
    }
    let matte = rows.iter().filter(|r| !r.2).count();
    let by_border = matte > 200;
    let starts = |r: &&([f64; 6], f64, bool)| !by_border || !r.2;
    let middle = geometry::fit::median(&mut rows.iter().filter(starts).map(|r| r.1).collect::<Vec<_>>());
    let mut x = vec![middle, 0.0, 0.0, 0.0, 0.0, 0.0];
    // From loose to tight: a reflection must not bend the fit.
    for (round, width) in [0.4, 0.2, 0.1, 0.05, 0.05, 0.05].into_iter().enumerate() {
        let mut system = LeastSquares::new(6);
        // Held to a plane within a few hundredths, as a bend's shading is.
        for i in 3..6 {
            let mut row = [0.0; 6];
            row[i] = 1.0;
            system.add(&row, 0.0, rows.len() as f64 * 0.02);
        }
        for (row, y, _) in rows.iter().filter(|r| round > 2 || starts(r)) {
            let t = (y - row.iter().zip(&x).map(|(a, b)| a * b).sum::<f64>()) / width;
            system.add(row, *y, if t.abs() < 1.0 { (1.0 - t * t).powi(2) } else { 0.0 });
        }
        x = system.solve(1e-9)?;
    }
    Some(std::array::from_fn(|i| x[i] / 2.0))
}

/// Noise of a difference by tone.
struct NoiseByTone {
    ends: Vec<f64>,
    sigma: Vec<f64>,
}

impl NoiseByTone {
    fn at(&self, tone: f64) -> f64 {
        let k = self.ends.iter().position(|e| tone <= *e).unwrap_or(self.sigma.len() - 1);
        self.sigma[k.min(self.sigma.len() - 1)]
    }
}

fn noise_by_tone(mean: &Plane, apart: &Plane) -> NoiseByTone {
    let broad = box_mean(apart, BROAD);
    let fine = apart.data.iter().zip(&broad.data).map(|(d, b)| d - b);
    let mut all: Vec<(f32, f32)> = mean.data.iter().copied().zip(fine).collect();
    all.sort_by(|a, b| a.0.total_cmp(&b.0));
    let group = all.len().div_ceil(GROUPS).max(1);
    let of = |g: &[(f32, f32)]| {
        let d: Vec<f64> = g.iter().map(|p| f64::from(p.1)).collect();
        (f64::from(g.last().map_or(0.0, |p| p.0)), spread(&d).hypot(NOISE[0]).min(NOISE[1]))
    };
    let (ends, sigma) = all.chunks(group).map(of).unzip();
    NoiseByTone { ends, sigma }
}

/// The canvas on which both are sampled for [`Merge::new`]: the print alone.
pub fn sampling(size: (f64, f64)) -> Canvas {
    let (w, h) = ((size.0 * SCALE) as usize, (size.1 * SCALE) as usize);
    Canvas { width: w, height: h, px_per_mm: SCALE, print: [0.0, 0.0, size.0 * SCALE, size.1 * SCALE] }
}

#[cfg(test)]
mod tests {
    use super::*;

    const SIZE: (f64, f64) = (60.0, 50.0);

    fn window() -> Quad {
        Quad::rectangle(50.0, 38.0).map(|p| p + point(5.0, 5.0))
    }

    /// Deterministic noise of mean 0 and standard deviation 1 (a sum of uniforms, by the central limit).
    fn grain(k: usize, seed: u64) -> f64 {
        let mut s = (k as u64)
            .wrapping_mul(6_364_136_223_846_793_005)
            .wrapping_add(seed.wrapping_mul(1_442_695_040_888_963_407) | 1);
        let mut sum = 0.0;
        for _ in 0..12 {
            s ^= s << 13;
            s ^= s >> 7;
            s ^= s << 17;
            sum += (s >> 11) as f64 / (1u64 << 53) as f64;
        }
        sum - 6.0
    }

    fn truth(x: f64, y: f64) -> f64 {
        0.45 + 0.3 * (x / 4.0).sin() * (y / 5.0).cos()
    }

    /// Both frames of a print on a canvas: shading of the light's side, noise, and a reflection in the first.
    fn shot(canvas: &Canvas, side: f64, veil: f64, seed: u64, sigma: f64) -> Vec<f32> {
        (0..canvas.width * canvas.height)
            .flat_map(|k| {
                let p = canvas.print_from_canvas((k % canvas.width) as f64 + 0.5, (k / canvas.width) as f64 + 0.5);
                let shade = (side * 0.004 * (p.x - 30.0)).exp();
                let glow = veil * (-((p.x - 20.0).powi(2) + (p.y - 25.0).powi(2)) / 40.0).exp();
                [(truth(p.x, p.y) * shade + glow + sigma * grain(k, seed)) as f32; 3]
            })
            .collect()
    }

    fn picture(canvas: &Canvas, rows: &[f32]) -> Picture {
        let plane = |c: usize| Plane {
            width: canvas.width,
            height: canvas.height,
            data: rows.chunks_exact(3).map(|v| v[c]).collect(),
        };
        Picture([plane(0), plane(1), plane(2)])
    }

    /// The reflection goes, opposite shadings cancel, nothing is biased, and the noise is 0.71 of one frame's (the mean of two).
    #[test]
    fn the_reflection_goes_and_the_noise_falls_without_a_bias() {
        let c = sampling(SIZE);
        let (a, b) = (shot(&c, 1.0, 0.4, 1, 0.01), shot(&c, -1.0, 0.0, 2, 0.01));
        let merge = Merge::new(&picture(&c, &a), &picture(&c, &b), SIZE, Some(window())).unwrap();
        let mut joined = a.clone();
        merge.join(&c, 0, &mut joined, &b);
        let (mut clean, mut veiled) = (vec![], vec![]);
        for (k, v) in joined.chunks_exact(3).enumerate() {
            let p = c.print_from_canvas((k % c.width) as f64 + 0.5, (k / c.width) as f64 + 0.5);
            let off = f64::from(v[0]) - truth(p.x, p.y);
            let d = p.distance(point(20.0, 25.0));
            let inside = p.x.min(60.0 - p.x).min(p.y).min(50.0 - p.y) > 1.0;
            if d > 22.0 && inside {
                clean.push(off);
            } else if d < 8.0 {
                veiled.push(off);
            }
        }
        let mean = |v: &[f64]| v.iter().sum::<f64>() / v.len() as f64;
        let rms = |v: &[f64]| (v.iter().map(|x| x * x).sum::<f64>() / v.len() as f64).sqrt();
        // A minimum would read 0.0056 low; the fit of the shading is good to a thousandth or two.
        assert!(mean(&clean).abs() < 0.002, "bias {}", mean(&clean));
        assert!((rms(&clean) / 0.01 - 0.5f64.sqrt()).abs() < 0.08, "noise {}", rms(&clean));
        // The reflection was up to 0.4 bright; what is left is the other frame's own noise.
        assert!(mean(&veiled).abs() < 0.004 && rms(&veiled) < 0.014, "{} {}", mean(&veiled), rms(&veiled));
        assert!(merge.left_out[0] > 0.05 && merge.left_out[1] < 0.005, "{:?}", merge.left_out);
    }

    #[test]
    fn beyond_the_print_the_front_stays() {
        let c = sampling(SIZE);
        let (a, b) = (shot(&c, 1.0, 0.0, 1, 0.01), shot(&c, -1.0, 0.3, 2, 0.01));
        let merge = Merge::new(&picture(&c, &a), &picture(&c, &b), SIZE, Some(window())).unwrap();
        let wide = Canvas::around(SIZE, [3.0; 4], 4.0);
        let (mut first, second) = (vec![0.9; 3 * wide.width * wide.height], vec![0.1; 3 * wide.width * wide.height]);
        merge.join(&wide, 0, &mut first, &second);
        for (k, v) in first.chunks_exact(3).enumerate() {
            if wide.cover_across(k % wide.width) * wide.cover_down(k / wide.width) == 0.0 {
                assert_eq!(v[0], 0.9);
            }
        }
    }
}
