//! Which way the straight edges of a frame run.

use crate::edge_evidence::{EdgeEvidence, FAINT};
use rayon::prelude::*;

/// Candidate angles of the print's sides, radians in [0, pi/2), best first: directions along which steps in tone line up
/// into long straight edges.
///
/// A Radon transform of signed edge evidence over a quarter turn: at the true angle a side falls into one or two bins, so
/// the sum of squares peaks; texture, whose signs alternate, cancels.
pub fn angles(look: &EdgeEvidence, most: usize) -> Vec<f64> {
    let (n, (bins, profile)) = (HALF_DEGREES, radon(look));
    let energy = |i: usize| -> f64 {
        profile[i * bins..(i + 1) * bins].iter().map(|p| f64::from(p[0] * p[0] + p[1] * p[1]).powf(0.75)).sum()
    };
    let score: Vec<f64> = (0..n).map(|i| energy(i) + energy(i + n)).collect();
    let smooth: Vec<f64> = (0..n).map(|i| score[(i + n - 1) % n] + 2.0 * score[i] + score[(i + 1) % n]).collect();
    let mut order: Vec<usize> =
        (0..n).filter(|&i| smooth[i] >= smooth[(i + 1) % n] && smooth[i] > smooth[(i + n - 1) % n]).collect();
    order.sort_by(|&a, &b| smooth[b].total_cmp(&smooth[a]));
    let mut out: Vec<f64> = Vec::new();
    for i in order {
        let (l, m, r) = (smooth[(i + n - 1) % n], smooth[i], smooth[(i + 1) % n]);
        let shift = 0.5 * (l - r) / (l - 2.0 * m + r).min(-1e-12);
        let angle = (i as f64 + shift) * std::f64::consts::FRAC_PI_2 / n as f64;
        out.push(angle);
        if out.len() >= most {
            break;
        }
    }
    out
}

/// Angles of a quarter turn: over the longest side (about 300 px) half a degree is 2.6 px, within the bins' reach.
const HALF_DEGREES: usize = 180;
/// Width of a bin, px.
const BIN: f64 = 2.0;
/// Bands of rows that are gathered side by side and added up in order, so that the sum is the same on any machine.
const BANDS: usize = 4;

/// Signed edge evidence along lines of every direction: bins of each of the half turn's angles, `[tone, tint]`, and how many bins
/// an angle has.
fn radon(look: &EdgeEvidence) -> (usize, Vec<[f32; 2]>) {
    let (w, h) = (look.tone.width, look.tone.height);
    let n = HALF_DEGREES;
    let bins = ((w as f64).hypot(h as f64) / BIN) as usize + 4;
    let (cx, cy) = (w as f64 / 2.0, h as f64 / 2.0);
    let table: Vec<(f64, f64)> =
        (0..2 * n).map(|i| (i as f64 * std::f64::consts::PI / (2 * n) as f64).sin_cos()).collect();
    let rows = h.saturating_sub(2);
    let band = |k: usize| {
        let mut profile = vec![[0f32; 2]; 2 * n * bins];
        for y in 1 + k * rows / BANDS..1 + (k + 1) * rows / BANDS {
            for x in 1..w.saturating_sub(1) {
                let d = |p: &pixels::Plane| (p.get(x + 1, y) - p.get(x - 1, y), p.get(x, y + 1) - p.get(x, y - 1));
                let ((tx, ty), (cx2, cy2)) = (d(&look.tone), d(&look.tint));
                let g = (tx * tx + ty * ty + cx2 * cx2 + cy2 * cy2).sqrt();
                if g < FAINT {
                    continue;
                }
                let k = 1.0 / (g + 2.5 * FAINT);
                // The stronger of the two gives the direction; normals within 12 degrees of an axis may belong to it.
                let (gx, gy) = if tx.hypot(ty) >= cx2.hypot(cy2) { (tx, ty) } else { (cx2, cy2) };
                let a =
                    f64::from(gy.atan2(gx)).rem_euclid(std::f64::consts::PI) / std::f64::consts::PI * (2 * n) as f64;
                for o in -24i64..=24 {
                    let i = (a as i64 + o).rem_euclid(2 * n as i64) as usize;
                    let (s, c) = table[i];
                    let (px, py) = (x as f64 + 0.5 - cx, y as f64 + 0.5 - cy);
                    let b = ((px * c + py * s) / BIN + bins as f64 / 2.0) as usize;
                    let cell = &mut profile[i * bins + b.min(bins - 1)];
                    cell[0] += (tx * c as f32 + ty * s as f32) * k;
                    cell[1] += (cx2 * c as f32 + cy2 * s as f32) * k;
                }
            }
        }
        profile
    };
    let all: Vec<Vec<[f32; 2]>> = (0..BANDS).into_par_iter().map(band).collect();
    let sum = all.into_iter().reduce(|mut sum, one| {
        sum.iter_mut().zip(one).for_each(|(s, v)| (0..2).for_each(|c| s[c] += v[c]));
        sum
    });
    (bins, sum.unwrap_or_default())
}
