//! A path through a misty wood.

use super::canvas::{Canvas, V, norm2};
use crate::noise::{cell as dice, fbm, smooth, value};

/// Focal length in picture units, and the eye's height over the path.
const FOCAL: f32 = 1.5;
const EYE: f32 = 1.0;

struct Wood {
    seed: u32,
    horizon: f32,
    glow: (f32, f32),
    leaf: V,
    mist: V,
}

impl Wood {
    fn new(seed: u32) -> Self {
        let r = |k: u32| value(seed ^ k, 0.5, 0.5);
        let autumn = r(1);
        Self {
            seed,
            horizon: -0.10 - 0.16 * r(2),
            glow: (0.5 * (r(3) - 0.5), 0.18 + 0.2 * r(4)),
            leaf: V(0.22, 0.30, 0.045).mix(V(0.52, 0.24, 0.035), smooth(0.45, 0.75, autumn)),
            mist: V(0.74, 0.78, 0.62).mix(V(0.80, 0.72, 0.56), autumn),
        }
    }

    fn air(&self, u: f32, v: f32) -> V {
        let d2 = ((u - self.glow.0) * 0.9).powi(2) + ((v - self.glow.1) * 1.1).powi(2);
        self.mist * (0.42 + 0.85 * (-2.2 * d2).exp() + 0.9 * (-16.0 * d2).exp())
    }

    fn path(&self, z: f32) -> f32 {
        0.55 * (0.42 * z + 6.0 * value(self.seed ^ 5, 0.5, 0.5)).sin() * smooth(0.6, 5.0, z)
    }

    fn ground(&self, u: f32, v: f32) -> V {
        let z = FOCAL * EYE / (self.horizon - v).max(0.02);
        let x = u * z / FOCAL;
        let off = (x - self.path(z)).abs();
        let litter = fbm(self.seed ^ 10, x * 9.0, z * 9.0, 5, 0.66);
        let fleck = smooth(0.62, 0.78, fbm(self.seed ^ 11, x * 26.0, z * 20.0, 3, 0.6));
        let soil = V(0.15, 0.105, 0.065) * (0.45 + 1.0 * litter) + V(0.16, 0.12, 0.07) * fleck;
        let moss = self.leaf * (0.16 + 0.42 * litter) + V(0.03, 0.035, 0.012) * fleck;
        let way = smooth(0.75, 0.30, off + 0.5 * (fbm(self.seed ^ 12, x * 2.0, z * 1.4, 4, 0.55) - 0.5));
        let dapple = smooth(0.46, 0.68, fbm(self.seed ^ 13, x * 1.2 + 0.3 * z, z * 0.55, 4, 0.5));
        let c = moss.mix(soil, way) * (0.45 + 1.9 * dapple);
        c.mix(self.air(u, v.max(self.horizon)), 1.0 - (-0.13 * z).exp())
    }

    /// One rank of trees at depth `z`: trunks, and leaves above and below.
    fn rank(&self, c: V, u: f32, v: f32, z: f32, k: u32, cell: f32) -> V {
        let (x, y) = (u * z / FOCAL, (v - self.horizon) * z / FOCAL);
        let soft = cell * z / FOCAL * if z < 2.2 { 3.0 } else { 1.0 };
        let fog = 1.0 - (-0.145 * z).exp();
        let air = self.air(u, v);
        let mut c = c;
        let seed = self.seed ^ k.wrapping_mul(977);
        let sway = 0.10 * (fbm(seed ^ 20, 0.3, y * 0.5, 2, 0.5) - 0.5) * y;
        let spacing = 1.15;
        for near in [-1.0, 0.0, 1.0] {
            let i = (x / spacing).floor() + near;
            let (d1, d2, d3) = (dice(seed, i, 1.0), dice(seed, i, 2.0), dice(seed, i, 3.0));
            let centre = (i + 0.2 + 0.6 * d1) * spacing + 0.06 * (d3 - 0.5) * y + sway;
            let radius = (0.055 + 0.11 * d2 * d2) * (1.0 - 0.06 * y).max(0.4) * (1.0 + 0.35 * smooth(-0.6, -1.0, y));
            if d3 < 0.22 || ((i + 0.2 + 0.6 * d1) * spacing - self.path(z)).abs() < 0.62 + radius {
                continue;
            }
            let across = (x - centre) / radius;
            let rough = 0.12 * (fbm(seed ^ 21, y * 6.0, i, 3, 0.6) - 0.5);
            let cover =
                smooth(soft / radius, -soft / radius, across.abs() - 1.0 + rough) * smooth(-1.02, -0.96, y + 0.04 * d2);
            if cover <= 0.0 {
                continue;
            }
            let bend = across.clamp(-1.0, 1.0).asin();
            let bark = fbm(seed ^ 22, bend * 2.2 + i * 7.0, y * 2.2, 2, 0.6) * 0.5
                + 0.5 * fbm(seed ^ 23, bend * 7.0 + i * 3.0, y * 3.2, 4, 0.65);
            let side = (self.glow.0 - u).signum();
            let rim = smooth(0.25, 1.0, across * side) * 0.9 + 0.12;
            let moss = smooth(0.5, 0.7, fbm(seed ^ 24, across * 1.4, y * 1.6, 3, 0.5)) * smooth(0.3, -0.9, y);
            let tone = V(0.085, 0.070, 0.055).mix(self.leaf * 0.42, moss * 0.7) * (0.3 + 1.25 * bark);
            let lit = tone * (0.75 + 1.1 * rim) + self.mist * (0.07 * rim * rim);
            c = c.mix(lit.mix(air, fog), cover);
        }
        // Leaves overhead and brush beside the path.
        let crown = smooth(0.9, 2.6, y + 0.5 * (x - self.path(z)).abs() * smooth(0.0, 1.6, y));
        let brush = smooth(-0.45, -0.95, y) * smooth(0.75, 1.3, (x - self.path(z)).abs()) * smooth(-1.1, -0.98, y);
        let amount = crown.max(0.8 * brush);
        if amount > 0.0 {
            let clump = fbm(seed ^ 30, x * 1.5, y * 1.7, 3, 0.55);
            let leaves = fbm(seed ^ 31, x * 9.0, y * 9.0, 4, 0.7);
            let cover = smooth(0.60, 0.66, 0.55 * clump + 0.45 * leaves + 0.20 * amount - 0.06) * amount.powf(0.3);
            if cover > 0.0 {
                let through = smooth(0.35, 0.75, fbm(seed ^ 32, x * 14.0, y * 14.0, 3, 0.6));
                let shine = 0.35 + 1.3 * through * (0.4 + air.1);
                let leaf = self.leaf * shine;
                c = c.mix(leaf.mix(air, fog), cover * 0.92);
            }
        }
        c
    }

    fn look(&self, u: f32, v: f32, cell: f32) -> V {
        let mut c = self.air(u, v);
        if v < self.horizon {
            let edge = smooth(0.0, 0.05, self.horizon - v);
            c = c.mix(self.ground(u, v), edge);
        }
        for k in 0..9u32 {
            let z = 13.5 * 0.775f32.powi(k as i32);
            c = self.rank(c, u, v, z, k + 1, cell);
        }
        let (dx, dy) = (u - self.glow.0 * 1.4, v - 1.25);
        let shafts =
            smooth(0.45, 0.75, fbm(self.seed ^ 40, dx.atan2(-dy) * 7.0, 0.5, 3, 0.5)) * smooth(1.9, 0.2, norm2(dx, dy));
        c + self.mist * (0.16 * shafts)
    }
}

pub fn paint(seed: u32, width: usize, height: usize) -> Canvas {
    let wood = Wood::new(seed);
    Canvas::traced(width, height, 720, |u, v, cell| wood.look(u, v, cell) * 0.95)
}
