//! How far the bed lies elsewhere in the frame than before: the paper's own fibre and the desk showing through are a
//! pattern that camera and bed carry with them.
//!
//! The pattern is the bed over its own mean within 3 mm; two patterns are laid over each other at every shift and
//! their normalised correlation `sum a b / sqrt(sum a^2 sum b^2)` is greatest where they agree. Where it does not stand clear
//! of all other shifts (smooth paper, another sheet), nothing is said.

use geometry::fit::{median, spread};
use pixels::{Picture, Plane};
use rayon::prelude::*;

/// The pattern of a frame's bed, small enough to keep.
#[derive(Clone, Debug)]
pub struct Pattern {
    width: usize,
    height: usize,
    /// Deviation from the local mean in steps of [`STEP`]; 0 where no bed is seen.
    off: Vec<i8>,
    /// Pixels of the picture it was made from per pixel of the pattern.
    factor: f64,
}

/// Long side of a pattern, pixels: three to a millimetre of a copy stand's field, where fibre still shows and noise no more.
const SIDE: usize = 500;
/// Half the side of the square whose mean is taken for even, pattern pixels: about 3 mm in all, so that fibre counts and a
/// desk's broad grain, which looks alike from many places, does not.
const AROUND: usize = 4;
/// One step of a deviation, as a share: paper shows 0.2 to 3 %.
const STEP: f32 = 0.0003;
/// Farthest shift looked for, pattern pixels each way: some 8 mm. What moved farther shows in every frame.
const REACH: isize = 24;
/// The best shift must stand this many robust standard deviations of the others above their median: of 2,400 normal numbers the
/// greatest is 3.5 above, and one beyond 5.5 once in ten thousand frames.
const CLEAR: f64 = 5.5;

impl Pattern {
    /// The pattern of a frame (reduced); `is_bed(x, y)` says of a pixel that neither print nor shadow covers it.
    pub fn of(frame: &Picture, is_bed: impl Fn(usize, usize) -> bool + Sync) -> Self {
        let factor = frame.width().max(frame.height()).div_ceil(SIDE).max(1);
        let small = frame.reduce(factor);
        let (w, h) = (small.width(), small.height());
        let tone = |x: usize, y: usize| {
            let v: f32 = small.get(x, y).iter().sum::<f32>() / 3.0;
            let at = |p: usize, n: usize| (p * factor + factor / 2).min(n - 1);
            let open = v > 0.0 && v < 0.98 && is_bed(at(x, frame.width()), at(y, frame.height()));
            if open { v } else { 0.0 }
        };
        let tone = Plane::from_fn(w, h, tone);
        let sums = Sums::of(&tone);
        let off = (0..w * h)
            .into_par_iter()
            .map(|k| {
                let v = tone.data[k];
                let (sum, n) = sums.around(k % w, k / w);
                // A square cut off by the rim or by a print has its mean beside its middle, and shows the light's slope.
                let whole = ((2 * AROUND + 1) * (2 * AROUND + 1)) as f64;
                if v <= 0.0 || n < 0.95 * whole {
                    return 0;
                }
                let off = (f64::from(v) * n / sum - 1.0) as f32 / STEP;
                // Dust, hairs and edges are no paper.
                if off.abs() > 127.0 { 0 } else { off.round() as i8 }
            })
            .collect();
        Self { width: w, height: h, off, factor: factor as f64 }
    }

    /// How far this bed lies from where `other` has it, pixels of the picture they were made from (x right, y down); `None`
    /// where the two do not clearly agree anywhere.
    pub fn shift_from(&self, other: &Self) -> Option<[f64; 2]> {
        if (self.width, self.height) != (other.width, other.height) {
            return None;
        }
        let side = (2 * REACH + 1) as usize;
        let at = |k: usize| ((k % side) as isize - REACH, (k / side) as isize - REACH);
        let all: Vec<f64> = (0..side * side).into_par_iter().map(|k| self.agreement(other, at(k))).collect();
        let best = (0..all.len()).max_by(|&a, &b| all[a].total_cmp(&all[b]))?;
        let (x, y) = at(best);
        if all[best] < median(&mut all.clone()) + CLEAR * spread(&all) || x.abs() == REACH || y.abs() == REACH {
            return None;
        }
        // The top of the parabola through the best and its neighbours.
        let top = |by: usize| {
            let (a, b, c) = (all[best - by], all[best], all[best + by]);
            0.5 * (a - c) / (a - 2.0 * b + c).min(-1e-12)
        };
        Some([(x as f64 + top(1)) * self.factor, (y as f64 + top(side)) * self.factor])
    }

    /// Normalised correlation with `other` moved by a shift; every third row, which is enough.
    fn agreement(&self, other: &Self, (dx, dy): (isize, isize)) -> f64 {
        let (w, h) = (self.width as isize, self.height as isize);
        let (x0, x1) = (dx.max(0), w + dx.min(0));
        let (mut ab, mut aa, mut bb) = (0i64, 0i64, 0i64);
        for y in (dy.max(0)..h + dy.min(0)).step_by(3) {
            let row = |p: &Self, x: isize, y: isize| (y * w + x) as usize..(y * w + x + p.width as isize) as usize;
            let a = &self.off[row(self, 0, y)][x0 as usize..x1 as usize];
            let b = &other.off[row(other, 0, y - dy)][(x0 - dx) as usize..(x1 - dx) as usize];
            let (mut r, mut s, mut t) = (0i32, 0i32, 0i32);
            for (&a, &b) in a.iter().zip(b) {
                // Only places that both show as bed.
                let (a, b) = (i32::from(a) * i32::from(b != 0), i32::from(b) * i32::from(a != 0));
                (r, s, t) = (r + a * b, s + a * a, t + b * b);
            }
            (ab, aa, bb) = (ab + i64::from(r), aa + i64::from(s), bb + i64::from(t));
        }
        if aa == 0 || bb == 0 { 0.0 } else { ab as f64 / ((aa as f64) * (bb as f64)).sqrt() }
    }
}

/// Running sums of a plane and of its places that are not 0, so that the mean of any square is four look-ups.
struct Sums {
    width: usize,
    height: usize,
    at: Vec<(f64, f64)>,
}

impl Sums {
    fn of(p: &Plane) -> Self {
        let (w, h) = (p.width, p.height);
        let mut at = vec![(0.0, 0.0); (w + 1) * (h + 1)];
        for y in 0..h {
            let mut row = (0.0, 0.0);
            for x in 0..w {
                let v = f64::from(p.data[y * w + x]);
                row = (row.0 + v, row.1 + f64::from(u8::from(v > 0.0)));
                let up = at[y * (w + 1) + x + 1];
                at[(y + 1) * (w + 1) + x + 1] = (up.0 + row.0, up.1 + row.1);
            }
        }
        Self { width: w, height: h, at }
    }

    fn around(&self, x: usize, y: usize) -> (f64, f64) {
        let (x0, x1) = (x.saturating_sub(AROUND), (x + AROUND + 1).min(self.width));
        let (y0, y1) = (y.saturating_sub(AROUND), (y + AROUND + 1).min(self.height));
        let at = |x: usize, y: usize| self.at[y * (self.width + 1) + x];
        let (a, b, c, d) = (at(x1, y1), at(x0, y1), at(x1, y0), at(x0, y0));
        (a.0 - b.0 - c.0 + d.0, a.1 - b.1 - c.1 + d.1)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Paper of smooth random fibre, drawn at any place: a lattice of even numbers, cosine between them.
    fn paper(x: f64, y: f64, sheet: u32) -> f64 {
        let knot = |i: f64, j: f64| {
            let mut h =
                (i as i64 as u32).wrapping_mul(0x9E37_79B1) ^ (j as i64 as u32).wrapping_mul(0x85EB_CA77) ^ sheet;
            h = (h ^ (h >> 15)).wrapping_mul(0x846C_A68B);
            h = (h ^ (h >> 13)).wrapping_mul(0xC2B2_AE35);
            f64::from(h >> 8) / f64::from(1u32 << 24) - 0.5
        };
        let (i, j) = (x.floor(), y.floor());
        let ease = |t: f64| (1.0 - (t * std::f64::consts::PI).cos()) / 2.0;
        let (u, v) = (ease(x - i), ease(y - j));
        let mix = |a: f64, b: f64, t: f64| a + (b - a) * t;
        mix(mix(knot(i, j), knot(i + 1.0, j), u), mix(knot(i, j + 1.0), knot(i + 1.0, j + 1.0), u), v)
    }

    fn frame(dx: f64, dy: f64, sheet: u32, noise: u32) -> Picture {
        let plane = Plane::from_fn(500, 333, |x, y| {
            let fibre = 0.006 * paper((x as f64 - dx) / 2.5 + 900.0, (y as f64 - dy) / 2.5 + 900.0, sheet);
            let grain = 0.003 * paper(x as f64 * 7.3, y as f64 * 5.9, noise);
            (0.7 * (1.0 + fibre + grain) * (1.0 + 0.2 * x as f64 / 500.0)) as f32
        });
        Picture([plane.clone(), plane.clone(), plane])
    }

    fn rim(x: usize, y: usize) -> bool {
        !((110..390).contains(&x) && (60..270).contains(&y))
    }

    #[test]
    fn a_planted_shift_comes_back_and_another_sheet_says_nothing() {
        let blank = Pattern::of(&frame(0.0, 0.0, 1, 11), |_, _| true);
        let moved = Pattern::of(&frame(5.3, -3.6, 1, 12), rim);
        let [x, y] = moved.shift_from(&blank).unwrap();
        assert!((x - 5.3).abs() < 0.15 && (y + 3.6).abs() < 0.15, "{x} {y}");
        let still = Pattern::of(&frame(0.0, 0.0, 1, 13), rim).shift_from(&blank).unwrap();
        assert!(still[0].hypot(still[1]) < 0.05, "{still:?}");
        assert_eq!(Pattern::of(&frame(0.0, 0.0, 2, 14), rim).shift_from(&blank), None);
    }
}
