//! The bed's paper: a tile of fibre texture, and the desk's grain that shows through.

use crate::noise::{Rng, fbm, value};
use crate::rig::Bed;

/// A square tile of relative reflectance, mean 1, that repeats without a seam.
#[derive(Clone, Debug)]
pub struct Fibre {
    tile: Vec<f32>,
    per_mm: f32,
}

/// Cells of the tile's side; a power of two so that wrapping is a mask. At 14 per mm it repeats every 37 mm.
const SIDE: usize = 512;
/// Finest texture drawn, cells per mm: a paper fibre is some 0.03 mm wide and a millimetre or two long.
const FINEST: f64 = 14.0;

impl Fibre {
    /// The texture of a bed seen at `px_per_mm`. Coarser views average it: its strength falls with the cell's side.
    pub fn new(bed: &Bed, px_per_mm: f64, seed: u64) -> Self {
        let per_mm = px_per_mm.clamp(1.0, FINEST);
        let mut tile = vec![0.0f32; SIDE * SIDE];
        let mut rng = Rng::new(seed ^ 0x0f1b);
        let length = (1.6 * per_mm).max(3.0);
        for _ in 0..SIDE * SIDE / 24 {
            stroke(&mut tile, &mut rng, length);
        }
        let n = tile.len() as f32;
        let mean = tile.iter().sum::<f32>() / n;
        let sd = (tile.iter().map(|v| (v - mean).powi(2)).sum::<f32>() / n).sqrt().max(1e-9);
        let gain = (bed.fibre * (per_mm / FINEST)) as f32 / sd;
        tile.iter_mut().for_each(|v| *v = 1.0 + (*v - mean) * gain);
        Self { tile, per_mm: per_mm as f32 }
    }

    /// Relative reflectance at a bed position, mm.
    pub fn at(&self, x: f32, y: f32) -> f32 {
        let (x, y) = (x * self.per_mm + 65_536.0, y * self.per_mm + 65_536.0);
        let (i, j) = (x as usize, y as usize);
        let (fx, fy) = (x - i as f32, y - j as f32);
        let cell = |i: usize, j: usize| self.tile[(j & (SIDE - 1)) * SIDE + (i & (SIDE - 1))];
        let top = cell(i, j) + (cell(i + 1, j) - cell(i, j)) * fx;
        let low = cell(i, j + 1) + (cell(i + 1, j + 1) - cell(i, j + 1)) * fx;
        top + (low - top) * fy
    }
}

/// One faint fibre across the tile, brighter or darker than its ground.
fn stroke(tile: &mut [f32], rng: &mut Rng, length: f64) {
    let (mut x, mut y) = (rng.between(0.0, SIDE as f64), rng.between(0.0, SIDE as f64));
    let mut turn = rng.between(0.0, std::f64::consts::TAU);
    let bend = rng.between(-0.15, 0.15);
    let shade = rng.normal() as f32;
    for _ in 0..length as usize {
        let cell = |x: f64, y: f64| (y as usize & (SIDE - 1)) * SIDE + (x as usize & (SIDE - 1));
        tile[cell(x, y)] += shade;
        tile[cell(x + 1.0, y)] += 0.5 * shade;
        x = (x + turn.cos()).rem_euclid(SIDE as f64);
        y = (y + turn.sin()).rem_euclid(SIDE as f64);
        turn += bend;
    }
}

/// The desk's grain under the paper at a bed position: a factor around 1, stretched along the grain, with rings.
pub fn show_through(bed: &Bed, x: f64, y: f64, seed: u64) -> f32 {
    if bed.show_through == 0.0 {
        return 1.0;
    }
    let (s, c) = bed.grain.to_rad().sin_cos();
    let (along, across) = ((c * x + s * y) as f32, (c * y - s * x) as f32);
    let seed = seed as u32;
    let warp = 9.0 * (fbm(seed, along * 0.006, across * 0.02, 3, 0.5) - 0.5);
    let rings = ((across * 0.16 + warp) * std::f32::consts::TAU * 0.35).sin();
    let pores = value(seed ^ 77, along * 0.05, across * 1.1) - 0.5;
    1.0 + bed.show_through as f32 * (0.7 * rings + 0.8 * pores)
}
