//! A headland, sea and a low sun in haze.

use super::canvas::{Canvas, V};
use crate::noise::{fbm, ridged, smooth, value};

struct Day {
    seed: u32,
    horizon: f32,
    /// Direction of the sun.
    sun: V,
    glow: V,
    zenith: V,
    low: V,
}

impl Day {
    fn new(seed: u32) -> Self {
        let pick = |k: u32| value(seed ^ k, 0.5, 0.5);
        let x = 0.9 * (pick(11) - 0.5);
        Self {
            seed,
            horizon: 0.02 + 0.22 * pick(12),
            sun: V(x, 0.12 + 0.16 * pick(13), 1.0).unit(),
            glow: V(1.7, 1.15, 0.66),
            zenith: V(0.16, 0.27, 0.44).mix(V(0.25, 0.3, 0.36), pick(14)),
            low: V(0.78, 0.66, 0.52).mix(V(0.62, 0.66, 0.68), pick(15)),
        }
    }

    fn sky(&self, d: V) -> V {
        let up = d.1.max(0.0);
        let base = self.low.mix(self.zenith, 1.0 - (-4.0 * up).exp());
        let near = d.dot(self.sun).max(0.0);
        let glow = self.glow * (0.55 * near.powi(12) + 0.9 * near.powi(90)) + V(3.0, 2.7, 2.1) * near.powi(2500);
        let (x, y) = (d.0 / (up + 0.12), d.2 / (up + 0.12));
        let body = fbm(self.seed ^ 1, x * 0.7, y * 0.9 + 7.0, 6, 0.52);
        let cover = smooth(0.48, 0.74, body) * smooth(0.0, 0.10, up);
        let lit = self.low * 1.05 + self.glow * (0.25 * near.powi(6)) + V(0.1, 0.1, 0.1);
        let dark = self.zenith.mix(self.low, 0.45) * 0.82;
        (base + glow).mix(dark.mix(lit, 1.0 - smooth(0.55, 0.85, body) * 0.7), cover * 0.75)
    }

    fn haze(&self, colour: V, u: f32, distance: f32) -> V {
        let towards = (-((u - self.sun.0 / self.sun.2) * 1.6).powi(2)).exp();
        let air = self.low * 0.92 + self.glow * (0.30 * towards);
        colour.mix(air, 1.0 - (-distance).exp())
    }

    fn sea(&self, u: f32, below: f32, cell: f32) -> V {
        let z = 0.28 / below.max(0.002);
        let x = u * z;
        let detail = (0.6 / (z * cell * 30.0)).clamp(0.0, 1.0);
        let wave = |k: u32, s: f32| fbm(self.seed ^ k, x * s, z * s * 2.6, 4, 0.6) - 0.5;
        let close = smooth(0.25, 1.1, below);
        let (nx, nz) = (
            wave(21, 1.6) + 0.8 * detail * wave(22, 9.0) + 1.1 * close * wave(25, 24.0),
            wave(23, 1.6) + 1.1 * detail * wave(24, 9.0) + 1.5 * close * wave(26, 24.0),
        );
        let steep = 0.42 + 0.25 * close;
        let n = V(nx * steep, 1.0, nz * steep).unit();
        let eye = V(u, -below, 1.0).unit();
        let r = eye.mirrored(n);
        let r = V(r.0, r.1.abs().max(0.01), r.2);
        let fresnel = 0.03 + 0.97 * (1.0 - (-eye.dot(n)).clamp(0.0, 1.0)).powi(5);
        let glint = r.unit().dot(self.sun).max(0.0).powi(220) * 5.0;
        let deep = V(0.015, 0.055, 0.07) + V(0.01, 0.04, 0.035) * smooth(0.2, 0.9, below);
        let water = deep.mix(self.sky(r.unit()) * 0.9, fresnel.clamp(0.0, 1.0)) + self.glow * glint;
        self.haze(water, u, 0.05 * z)
    }

    /// A headland's skyline over the horizon at `u`: tall on one side, running down to the water.
    fn skyline(&self, k: u32, u: f32, side: f32, from: f32, tall: f32) -> f32 {
        let t = (u * side - from).max(0.0);
        let body = tall * (1.0 - (-1.7 * t).exp());
        body * (0.72 + 0.5 * fbm(self.seed ^ k, u * 2.3, 0.3, 5, 0.5))
            + if t > 0.0 { 0.012 * (fbm(self.seed ^ k, u * 40.0, 0.9, 2, 0.5) - 0.5) } else { -0.05 }
    }

    fn land(&self, k: u32, u: f32, h: f32, top: f32, near: f32) -> V {
        let grass = V(0.10, 0.12, 0.045).mix(V(0.21, 0.18, 0.075), fbm(self.seed ^ k, u * 9.0, h * 26.0, 4, 0.6));
        let rock = V(0.20, 0.165, 0.13) * (0.35 + 1.1 * ridged(self.seed ^ (k + 1), u * 12.0, h * 7.0, 5, 0.55));
        let cliff = smooth(0.45, 0.2, h / top + 0.35 * (fbm(self.seed ^ (k + 2), u * 6.0, h * 6.0, 3, 0.5) - 0.5));
        let folds = 0.55 + 0.75 * fbm(self.seed ^ (k + 3), u * 5.0 + h * 4.0, h * 11.0, 5, 0.55);
        let scrub = 1.0 - 0.5 * smooth(0.58, 0.72, fbm(self.seed ^ (k + 4), u * 30.0, h * 60.0, 3, 0.5));
        grass.mix(rock, cliff) * (folds * scrub * near)
    }

    fn look(&self, u: f32, v: f32, cell: f32) -> V {
        let h = v - self.horizon;
        let mut c = if h > 0.0 { self.sky(V(u, h, 1.0).unit()) } else { self.sea(u, -h, cell) };
        let side = if value(self.seed ^ 31, 0.5, 0.5) > 0.5 { 1.0 } else { -1.0 };
        for (k, s, from, tall, distance, near) in
            [(40, -side, -0.35, 0.13, 1.5, 0.9), (50, side, -0.05, 0.24, 0.85, 1.0), (60, side, 0.38, 0.52, 0.28, 1.15)]
        {
            let top = self.skyline(k, u, s, from, tall);
            let foot = -0.01 - 0.05 * (near - 0.88) + 0.008 * (fbm(self.seed ^ k, u * 14.0, 5.5, 3, 0.5) - 0.5);
            let cover = smooth(-cell, cell, top - h) * smooth(-cell, cell, h - foot);
            if cover > 0.0 && top > 0.0 {
                let land = self.haze(self.land(k, u, h.max(0.0), top, near), u, distance);
                c = c.mix(land, cover);
            }
            // A line of foam at the foot.
            let foam = smooth(0.012, 0.0, (h - foot).abs())
                * smooth(0.42, 0.7, fbm(self.seed ^ 71, u * 22.0, h * 90.0, 3, 0.5));
            if top > 0.0 {
                c = c.mix(self.haze(V(0.75, 0.73, 0.7), u, distance), foam * 0.5 * (near - 0.7));
            }
        }
        self.rocks(c, u, v, cell)
    }

    /// Wet rocks in the near corner.
    fn rocks(&self, c: V, u: f32, v: f32, cell: f32) -> V {
        let side = if value(self.seed ^ 32, 0.5, 0.5) > 0.5 { 1.0 } else { -1.0 };
        let t = u * side;
        let top = -0.93
            + 0.42 * smooth(0.05, 1.1, t)
            + 0.20 * (ridged(self.seed ^ 80, u * 2.2, 1.0, 5, 0.5) - 0.45)
            + 0.035 * (fbm(self.seed ^ 81, u * 16.0, 2.0, 3, 0.6) - 0.5);
        let cover = smooth(-1.5 * cell, 1.5 * cell, top - v);
        let depth = (top - v).max(0.0);
        let foam = smooth(0.10, 0.0, v - top) * smooth(0.42, 0.64, fbm(self.seed ^ 84, u * 9.0, v * 22.0, 5, 0.62));
        let c = c.mix(V(0.86, 0.83, 0.78), foam * 0.85);
        if cover <= 0.0 {
            return c;
        }
        let crack = ridged(self.seed ^ 82, u * 5.0 + v * 2.0, v * 7.0, 6, 0.55);
        let grain = fbm(self.seed ^ 83, u * 60.0, v * 60.0, 3, 0.6);
        let form = fbm(self.seed ^ 85, u * 4.0, v * 5.5, 5, 0.55)
            - fbm(self.seed ^ 85, u * 4.0 + 0.10, v * 5.5 - 0.16, 5, 0.55);
        let light = (0.34 + 2.6 * form).clamp(0.05, 1.2) * (0.5 + 0.7 * crack) * (0.75 + 0.5 * grain);
        let wet = smooth(0.78, 0.95, crack + 1.2 * form) * smooth(0.3, 0.0, depth);
        let rock = V(0.115, 0.098, 0.085).mix(V(0.20, 0.17, 0.12), smooth(0.1, 0.5, depth)) * light;
        c.mix(rock + self.glow * (0.35 * wet), cover)
    }
}

pub fn paint(seed: u32, width: usize, height: usize) -> Canvas {
    let day = Day::new(seed);
    Canvas::traced(width, height, 800, |u, v, cell| day.look(u, v, cell))
}
