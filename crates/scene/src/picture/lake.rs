//! A lake under mountains.

use super::canvas::{Canvas, V};
use crate::noise::{fbm, ridged, smooth, value};
use rayon::prelude::*;

/// Side of the height map in cells.
const MAP: usize = 512;
/// Side of the mapped land in world units; the lake's near shore is at 0, the far one at `SHORE`.
const LAND: f32 = 12.0;
const SHORE: f32 = 2.6;
/// The eye's height over the water.
const EYE: f32 = 0.06;

struct Land {
    seed: u32,
    height: Vec<f32>,
    sun: V,
    horizon: f32,
}

impl Land {
    fn new(seed: u32) -> Self {
        let tall = 1.5 + 0.7 * value(seed ^ 5, 0.5, 0.5);
        let centre = 0.7 * (value(seed ^ 6, 0.5, 0.5) - 0.5);
        let height = (0..MAP * MAP)
            .into_par_iter()
            .map(|k| {
                let x = ((k % MAP) as f32 / MAP as f32 - 0.5) * LAND;
                let z = (k / MAP) as f32 / MAP as f32 * LAND;
                let rise = smooth(SHORE - 0.1, 8.0, z + 0.5 * (fbm(seed ^ 7, x * 0.8, z * 0.8, 3, 0.5) - 0.5));
                // Valley walls on both sides, a gap of sky between.
                let wall = smooth(0.2, 3.2, (x - centre * z * 0.25).abs()) * smooth(SHORE - 1.2, SHORE + 1.5, z);
                let peaks = ridged(seed ^ 8, x * 0.42 + 3.0, z * 0.42, 7, 0.48).powf(1.35);
                let bumps = fbm(seed ^ 9, x * 3.1, z * 3.1, 4, 0.5);
                let shape = (0.35 * wall + 0.75 * rise + 0.35 * rise * wall) * (0.25 + 1.1 * peaks);
                let shore = smooth(SHORE - 0.25, SHORE + 0.3, z + 0.5 * wall + 0.25 * (bumps - 0.5));
                shape * tall + 0.10 * shore * bumps - 0.06 * (1.0 - shore)
            })
            .collect();
        let side = if value(seed ^ 10, 0.5, 0.5) > 0.5 { 1.0 } else { -1.0 };
        Self { seed, height, sun: V(0.8 * side, 0.62, -0.25).unit(), horizon: -0.12 - 0.14 * value(seed ^ 3, 0.5, 0.5) }
    }

    fn at(&self, x: f32, z: f32) -> f32 {
        let s = MAP as f32 / LAND;
        let (u, v) = ((x * s + MAP as f32 / 2.0).clamp(0.0, MAP as f32 - 1.01), (z * s).clamp(0.0, MAP as f32 - 1.01));
        let (i, j) = (u as usize, v as usize);
        let (fx, fy) = (u - i as f32, v - j as f32);
        let h = |i: usize, j: usize| self.height[j.min(MAP - 1) * MAP + i.min(MAP - 1)];
        let (top, low) = (h(i, j) + (h(i + 1, j) - h(i, j)) * fx, h(i, j + 1) + (h(i + 1, j + 1) - h(i, j + 1)) * fx);
        top + (low - top) * fy
    }

    fn normal(&self, x: f32, z: f32, d: f32) -> V {
        V(self.at(x - d, z) - self.at(x + d, z), 2.0 * d, self.at(x, z - d) - self.at(x, z + d)).unit()
    }

    fn sky(&self, d: V) -> V {
        let up = d.1.max(0.0);
        let blue = V(0.60, 0.68, 0.74).mix(V(0.15, 0.29, 0.50), 1.0 - (-2.6 * up).exp());
        let (x, y) = (d.0 / (up + 0.25), d.2 / (up + 0.25));
        let cloud = fbm(self.seed ^ 20, x * 0.9, y * 1.6, 6, 0.54);
        let thick = fbm(self.seed ^ 20, x * 0.9 + 0.10 * self.sun.0, y * 1.6 + 0.05, 5, 0.54);
        let lit = V(0.95, 0.93, 0.90) * (1.05 - 0.9 * (thick - 0.45).clamp(0.0, 0.6));
        blue.mix(lit, smooth(0.47, 0.70, cloud) * 0.9)
    }

    /// The land that a ray from `from` meets, with its distance.
    fn march(&self, from: V, d: V) -> Option<(V, f32)> {
        let (mut t, mut last) = (0.3f32, 0.3f32);
        while t < 13.0 {
            let p = from + d * t;
            if p.1 > 3.2 && d.1 > 0.0 {
                return None;
            }
            if p.1 < self.at(p.0, p.2) {
                let (mut a, mut b) = (last, t);
                for _ in 0..8 {
                    let m = (a + b) / 2.0;
                    let p = from + d * m;
                    if p.1 < self.at(p.0, p.2) { b = m } else { a = m }
                }
                return Some((from + d * b, b));
            }
            last = t;
            t += 0.012 + 0.35 * (p.1 - self.at(p.0, p.2)).clamp(0.0, 0.4) + 0.004 * t;
        }
        None
    }

    fn lit(&self, p: V) -> f32 {
        let mut shade: f32 = 1.0;
        let mut t = 0.06;
        for _ in 0..22 {
            let q = p + self.sun * t;
            shade = shade.min(6.0 * (q.1 - self.at(q.0, q.2)) / t + 1.0);
            if shade <= 0.0 {
                return 0.0;
            }
            t *= 1.22;
        }
        shade.clamp(0.0, 1.0)
    }

    fn ground(&self, p: V, t: f32) -> V {
        let n = self.normal(p.0, p.2, 0.012 + 0.002 * t);
        let fine = fbm(self.seed ^ 30, p.0 * 22.0, (p.2 + p.1) * 22.0, 4, 0.6);
        let rock = V(0.25, 0.235, 0.225)
            * (0.45 + 0.9 * fbm(self.seed ^ 31, p.0 * 6.0 + p.1 * 9.0, p.1 * 30.0 + p.2 * 3.0, 5, 0.6));
        let spots = fbm(self.seed ^ 32, p.0 * 55.0, p.1 * 70.0 + p.2 * 40.0, 3, 0.6);
        let wood = V(0.028, 0.048, 0.026).mix(V(0.075, 0.095, 0.04), spots * fine * 1.6);
        let meadow = V(0.13, 0.14, 0.055) * (0.6 + 0.7 * fine);
        let line = p.1 + 0.35 * (fbm(self.seed ^ 33, p.0 * 2.2, p.2 * 2.2, 4, 0.5) - 0.5);
        let mut c = wood.mix(meadow, smooth(0.55, 0.75, fbm(self.seed ^ 34, p.0 * 2.7, p.2 * 2.7, 3, 0.5)) * 0.8);
        c = c.mix(rock, smooth(0.34, 0.62, line).max(smooth(0.55, 0.35, n.1)));
        let snow = smooth(0.62, 0.95, line + 0.18 * fine) * smooth(0.34, 0.62, n.1 + 0.15 * (fine - 0.5));
        c = c.mix(V(0.80, 0.83, 0.88), snow);
        c = c.mix(V(0.24, 0.22, 0.18) * (0.6 + 0.7 * spots), smooth(0.035, 0.008, p.1));
        let sun = n.dot(self.sun).max(0.0) * self.lit(p + n * 0.015);
        let light = V(1.32, 1.18, 0.96) * sun + V(0.22, 0.28, 0.38) * (0.45 + 0.55 * n.1);
        let air = V(0.50, 0.58, 0.66);
        c.by(light).mix(air, 1.0 - (-(0.055 * t).powf(1.35)).exp())
    }

    fn beyond(&self, from: V, d: V) -> V {
        self.march(from, d).map_or_else(|| self.sky(d), |(p, t)| self.ground(p, t))
    }

    fn look(&self, u: f32, v: f32) -> V {
        let h = v - self.horizon;
        let d = V(u * 0.62, h * 0.62, 1.0).unit();
        let eye = V(0.0, EYE, 0.0);
        if h > 0.0 {
            return self.beyond(eye, d);
        }
        let t = EYE / (-d.1).max(1e-4);
        let p = eye + d * t;
        if let Some((hit, far)) = self.march(eye, d)
            && hit.1 > 0.0
        {
            return self.ground(hit, far);
        }
        let ripple = |k: u32, s: f32| fbm(self.seed ^ k, p.0 * s, p.2 * s * 1.4, 3, 0.5) - 0.5;
        let breeze = 0.25 + 1.3 * smooth(0.45, 0.7, fbm(self.seed ^ 43, p.0 * 0.8, p.2 * 0.5, 3, 0.5));
        let calm = 1.0 / (1.0 + 0.35 * t);
        let n = V(0.035 * breeze * calm * ripple(40, 16.0), 1.0, 0.10 * breeze * calm * ripple(41, 16.0)).unit();
        let r = d.mirrored(n);
        let r = V(r.0, r.1.max(0.003), r.2).unit();
        let fresnel = 0.05 + 0.95 * (1.0 - (-d.dot(n)).clamp(0.0, 1.0)).powi(5);
        let stones = V(0.10, 0.095, 0.07) * (0.4 + 0.9 * fbm(self.seed ^ 44, p.0 * 40.0, p.2 * 40.0, 3, 0.5));
        let deep = V(0.02, 0.05, 0.055).mix(stones, smooth(0.55, 0.15, p.2));
        deep.mix(self.beyond(V(p.0, 0.001, p.2), r) * 0.92, fresnel.clamp(0.0, 1.0).max(0.12))
    }
}

pub fn paint(seed: u32, width: usize, height: usize) -> Canvas {
    let land = Land::new(seed);
    Canvas::traced(width, height, 560, |u, v, _| land.look(u, v))
}
