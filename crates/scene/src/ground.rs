//! Other grounds than paper: wood with grain lines, stone, woven cloth.

use crate::noise::{fbm, floor, ridged, value};
use crate::rig::Bed;
use std::f32::consts::TAU;

/// What a bed is made of. Depths are amplitudes of reflectance, relative to the bed's own.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub enum Ground {
    /// Paper or card of one colour; its fibre is [`Bed::fibre`].
    #[default]
    Paper,
    /// Wood: streaks and lines along the grain, browner where they are darker.
    Wood {
        /// Amplitude of the streaks.
        depth: f64,
        /// Grain lines per millimetre across the grain.
        lines: f64,
    },
    /// Stone: clouds, veins and speckles.
    Stone {
        /// Amplitude of the clouds and veins.
        depth: f64,
    },
    /// Cloth in plain weave.
    Cloth {
        /// Amplitude of the weave.
        depth: f64,
        /// Distance between threads, mm.
        thread: f64,
    },
}

/// A ground seen at a scale, ready to be looked up. Structure finer than the pixels can show is faded out, as their area
/// would average it.
#[derive(Clone, Copy, Debug)]
pub struct Weave {
    ground: Ground,
    seed: u32,
    along: [f32; 2],
    px_per_mm: f32,
}

impl Weave {
    /// The ground of a bed at a frame's scale.
    pub fn new(bed: &Bed, px_per_mm: f64, seed: u64) -> Self {
        let (s, c) = bed.grain.to_rad().sin_cos();
        Self { ground: bed.ground, seed: seed as u32, along: [c as f32, s as f32], px_per_mm: px_per_mm as f32 }
    }

    /// Reflectance at a bed position (mm) over the bed's own, about 1.
    pub fn at(&self, x: f32, y: f32) -> [f32; 3] {
        let [c, s] = self.along;
        let (u, v) = (c * x + s * y, c * y - s * x);
        match self.ground {
            Ground::Paper => [1.0; 3],
            Ground::Wood { depth, lines } => self.wood(u, v, depth as f32, lines as f32),
            Ground::Stone { depth } => self.stone(u, v, depth as f32),
            Ground::Cloth { depth, thread } => self.cloth(u, v, depth as f32, thread as f32),
        }
    }

    /// 1 for structure of a period that the pixels show, 0 for one under two pixels (the sampling limit).
    fn shown(&self, period_mm: f32) -> f32 {
        ((period_mm * self.px_per_mm - 2.0) / 2.0).clamp(0.0, 1.0)
    }

    fn wood(&self, u: f32, v: f32, depth: f32, lines: f32) -> [f32; 3] {
        let s = self.seed;
        let warp = 5.0 * (fbm(s ^ 1, u * 0.007, v * 0.03, 2, 0.5) - 0.5);
        let rings = ((v * lines * 0.35 + warp) * TAU).sin() * self.shown(1.0 / (0.35 * lines));
        let streaks = 2.0 * value(s ^ 2, u * 0.012, v * lines) - 1.0;
        let pores = (value(s ^ 3, u * 0.11, v * lines * 3.1) - 0.72).max(0.0) * self.shown(0.32 / lines);
        let broad = 2.0 * value(s ^ 4, u * 0.004, v * 0.021) - 1.0;
        let dark = depth * (0.45 * rings + 0.8 * streaks * self.shown(1.0 / lines) + 0.5 * broad + 2.2 * pores);
        // Late wood is redder: it takes more blue than red.
        [1.0 - 0.75 * dark, 1.0 - dark, 1.0 - 1.35 * dark].map(|r| r.clamp(0.2, 1.6))
    }

    fn stone(&self, u: f32, v: f32, depth: f32) -> [f32; 3] {
        let s = self.seed;
        let clouds = 2.0 * fbm(s ^ 1, u * 0.03, v * 0.03, 4, 0.6) - 1.0;
        let vein = (ridged(s ^ 2, u * 0.012, v * 0.02, 3, 0.5) - 0.8).max(0.0) * 4.0;
        let speckle = (2.0 * value(s ^ 3, u * 1.7, v * 1.7) - 1.0) * self.shown(0.6);
        let warm = 0.15 * (value(s ^ 4, u * 0.02, v * 0.02) - 0.5);
        let tone = depth * (1.2 * clouds - 0.8 * vein + 0.5 * speckle);
        [1.0 + tone * (1.0 + warm), 1.0 + tone, 1.0 + tone * (1.0 - warm)].map(|r| r.clamp(0.2, 1.6))
    }

    fn cloth(&self, u: f32, v: f32, depth: f32, thread: f32) -> [f32; 3] {
        let s = self.seed;
        // Threads wander by a fifth of their distance.
        let a = u / thread + 0.4 * value(s ^ 1, u * 0.05, v * 0.9);
        let b = v / thread + 0.4 * value(s ^ 2, u * 0.9, v * 0.05);
        let (i, j) = (floor(a), floor(b));
        let over = (i + j) % 2 == 0;
        let (p, q) = (a - i as f32 - 0.5, b - j as f32 - 0.5);
        let round = if over { 1.0 - 4.0 * p * p } else { 1.0 - 4.0 * q * q };
        let weave = (round - 0.67) * self.shown(thread);
        let slub = (value(s ^ 3, i as f32 * 0.9, b * 0.05) + value(s ^ 4, a * 0.05, j as f32 * 0.9) - 1.0)
            * self.shown(2.0 * thread);
        let folds = 2.0 * fbm(s ^ 5, u * 0.012, v * 0.02, 2, 0.5) - 1.0;
        let tone = 1.0 + depth * (weave + 0.5 * slub) + 0.4 * depth * folds;
        [tone.clamp(0.2, 1.6); 3]
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn mean_and_spread(ground: Ground, px_per_mm: f64) -> (f64, f64) {
        let weave = Weave::new(&Bed { ground, ..Bed::default() }, px_per_mm, 7);
        let n = 300;
        let v: Vec<f64> = (0..n * n)
            .map(|k| f64::from(weave.at((k % n) as f32 * 0.37 - 55.0, (k / n) as f32 * 0.41 - 60.0)[1]))
            .collect();
        let mean = v.iter().sum::<f64>() / v.len() as f64;
        (mean, (v.iter().map(|x| (x - mean).powi(2)).sum::<f64>() / v.len() as f64).sqrt())
    }

    /// Closed form: plain paper is its own reflectance; the others vary about it by about their depth.
    #[test]
    fn grounds_vary_about_the_bed_by_their_depth() {
        assert_eq!(mean_and_spread(Ground::Paper, 5.0), (1.0, 0.0));
        let all = [
            Ground::Wood { depth: 0.1, lines: 0.7 },
            Ground::Stone { depth: 0.1 },
            Ground::Cloth { depth: 0.1, thread: 0.9 },
        ];
        for ground in all {
            let (mean, spread) = mean_and_spread(ground, 8.0);
            assert!((mean - 1.0).abs() < 0.08 && (0.01..0.15).contains(&spread), "{ground:?}: {mean} {spread}");
        }
    }

    /// A weave under two pixels of period is beyond the sampling limit and must not appear as moire.
    #[test]
    fn a_weave_too_fine_for_the_pixels_is_even() {
        let (_, fine) = mean_and_spread(Ground::Cloth { depth: 0.1, thread: 0.4 }, 2.0);
        let (_, coarse) = mean_and_spread(Ground::Cloth { depth: 0.1, thread: 0.4 }, 12.0);
        assert!(fine < 0.4 * coarse, "{fine} {coarse}");
    }
}
