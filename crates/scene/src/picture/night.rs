//! A lit window across the water, nearly black.

use super::canvas::{Canvas, V};
use crate::noise::{cell as dice, fbm, smooth, value};

struct Shore {
    seed: u32,
    line: f32,
    house: f32,
}

impl Shore {
    fn new(seed: u32) -> Self {
        Self { seed, line: -0.12 + 0.12 * value(seed ^ 1, 0.5, 0.5), house: 0.9 * (value(seed ^ 2, 0.5, 0.5) - 0.5) }
    }

    fn sky(&self, u: f32, h: f32) -> V {
        let base = V(0.020, 0.026, 0.042).mix(V(0.006, 0.009, 0.019), smooth(0.0, 0.9, h));
        let cloud = smooth(0.45, 0.75, fbm(self.seed ^ 3, u * 1.4, h * 3.0, 5, 0.55));
        let (x, y) = (u * 46.0, h * 46.0);
        let (dx, dy) = (x.fract() - 0.5, y.fract() - 0.5);
        let lit = dice(self.seed ^ 4, x, y);
        let star = smooth(0.955, 1.0, lit) * (-(dx * dx + dy * dy) * 60.0).exp();
        base * (1.0 + 0.8 * cloud) + V(0.45, 0.47, 0.5) * (star * (1.0 - cloud) * smooth(0.12, 0.4, h))
    }

    fn hills(&self, u: f32) -> f32 {
        0.14 + 0.26 * fbm(self.seed ^ 5, u * 1.1, 0.5, 4, 0.5)
            + 0.03 * (fbm(self.seed ^ 6, u * 26.0, 0.5, 3, 0.6) - 0.5)
    }

    /// What stands over the water at height `h` above its line.
    fn over(&self, u: f32, h: f32) -> V {
        let mut c = self.sky(u, h);
        let top = self.hills(u);
        let dark = V(0.0035, 0.0045, 0.006) * (0.6 + 0.9 * fbm(self.seed ^ 7, u * 18.0, h * 18.0, 4, 0.6));
        c = c.mix(dark, smooth(0.006, -0.006, h - top));
        let x = u - self.house;
        let roof = 0.155 - 0.55 * (x.abs() - 0.10).max(0.0);
        let wall = smooth(0.004, -0.004, x.abs() - 0.135) * smooth(0.004, -0.004, h - roof.min(0.155));
        let near = (-(x * x + (h - 0.06) * (h - 0.06)) * 26.0).exp();
        c = c.mix(V(0.010, 0.009, 0.008) + V(0.05, 0.028, 0.010) * near, wall * smooth(-0.004, 0.0, h));
        for (k, wx, w) in [(0u32, -0.062f32, 0.026f32), (1, 0.056, 0.020)] {
            let pane = smooth(0.004, -0.003, (x - wx).abs() - w) * smooth(0.004, -0.003, (h - 0.078).abs() - 0.032);
            let bars = smooth(0.0012, 0.0035, (x - wx).abs()) * smooth(0.0012, 0.0035, (h - 0.084).abs());
            let warm = V(3.0, 1.65, 0.55) * (0.7 + 0.5 * fbm(self.seed ^ (8 + k), u * 60.0, h * 40.0, 2, 0.5));
            c = c.mix(warm * (0.3 + 0.7 * bars), pane);
        }
        let halo = |x: f32, y: f32| 1.0 / (1.0 + 90.0 * (x * x + y * y));
        c + V(0.075, 0.040, 0.014) * (halo(x, h - 0.075) + 0.25 * halo(x * 0.3, (h - 0.075) * 0.3))
    }

    fn look(&self, u: f32, v: f32) -> V {
        let h = v - self.line;
        if h > 0.0 {
            return self.over(u, h);
        }
        let z = 0.3 / (-h).max(0.004);
        let ripple = |k: u32| fbm(self.seed ^ k, u * z * 3.0, z * 9.0, 4, 0.6) - 0.5;
        let up = -h * (1.0 + 1.3 * ripple(20)) + 0.05 * ripple(21);
        let bend = 0.10 * ripple(22) * smooth(0.0, 0.5, -h);
        let mut sum = V::default();
        // Wavelets smear a light downwards.
        for k in 0..5 {
            sum = sum + self.over(u + bend, (up * (0.35 + 0.35 * k as f32)).max(0.002));
        }
        let reeds = smooth(0.56, 0.68, fbm(self.seed ^ 30, u * 34.0, v * 2.2, 3, 0.6) + 0.32 * smooth(-0.72, -1.0, v));
        (sum * 0.14 + V(0.002, 0.003, 0.005)) * (1.0 - 0.85 * reeds)
    }
}

pub fn paint(seed: u32, width: usize, height: usize) -> Canvas {
    let shore = Shore::new(seed);
    Canvas::traced(width, height, 800, |u, v, _| shore.look(u, v))
}
