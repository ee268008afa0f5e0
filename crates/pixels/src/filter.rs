//! Neighbourhood filters on planes: box mean, edge-keeping mean, running minimum and maximum, reconstruction.

use crate::Plane;
use rayon::prelude::*;
use std::collections::VecDeque;

/// The mean over the square of `2 r + 1` pixels about each pixel; past the rim the rim's pixels are repeated.
///
/// ```
/// use pixels::{Plane, filter::box_mean};
/// let flat = box_mean(&Plane::filled(9, 9, 0.5), 2);
/// assert!((flat.get(4, 4) - 0.5).abs() < 1e-6);
/// ```
pub fn box_mean(p: &Plane, r: usize) -> Plane {
    if p.data.is_empty() || r == 0 {
        return p.clone();
    }
    columns(&rows(p, |line, out| running_mean(line, out, r)), r)
}

/// A mean that keeps edges: each pixel is a local linear function of itself, `out = A in + B`, where over every square of
/// `2 r + 1` pixels `a = var / (var + noise^2)`, `b = (1 - a) mean`, and `A`, `B` are the means of `a`, `b`.
///
/// Structure well under `noise` is averaged away, steps well over it stay (guided filter with itself as its guide; He, Sun
/// and Tang 2013, doi 10.1109/TPAMI.2012.213).
pub fn keep_edges(p: &Plane, r: usize, noise: f32) -> Plane {
    let mean = box_mean(p, r);
    let square = Plane { data: p.data.iter().map(|v| v * v).collect(), width: p.width, height: p.height };
    let mut a = box_mean(&square, r);
    let mut b = mean;
    a.data.par_iter_mut().zip(b.data.par_iter_mut()).for_each(|(a, b)| {
        let var = (*a - *b * *b).max(0.0);
        *a = var / (var + noise * noise);
        *b *= 1.0 - *a;
    });
    let (a, mut out) = (box_mean(&a, r), box_mean(&b, r));
    out.data.par_iter_mut().zip(&a.data).zip(&p.data).for_each(|((o, a), v)| *o += a * v);
    out
}

/// The least value over the square of `2 r + 1` pixels about each pixel.
pub fn erode(p: &Plane, r: usize) -> Plane {
    extreme(p, r, f32::min)
}

/// The greatest value over the square of `2 r + 1` pixels about each pixel.
pub fn dilate(p: &Plane, r: usize) -> Plane {
    extreme(p, r, f32::max)
}

/// Reconstruction by dilation: at each pixel the greatest level that can be reached from `marker` without ever rising above
/// `mask`, `out = max over paths from any q of min(marker(q), least mask on the path)`, over the eight neighbours.
///
/// What no marker touches is gone; what a marker touches comes back whole, and no higher than the way to it (Vincent 1993,
/// doi 10.1109/83.217222: two raster scans, then a queue).
pub fn reconstruct(marker: Plane, mask: &Plane) -> Plane {
    let (w, h) = (mask.width, mask.height);
    let mut out = marker;
    out.data.iter_mut().zip(&mask.data).for_each(|(o, m)| *o = o.min(*m));
    if w == 0 {
        return out;
    }
    for y in 0..h {
        let (done, rest) = out.data.split_at_mut(y * w);
        scan((y > 0).then(|| &done[(y - 1) * w..]), &mut rest[..w], mask.row(y), false);
    }
    let mut queue = VecDeque::new();
    for y in (0..h).rev() {
        let (rest, done) = out.data.split_at_mut((y + 1) * w);
        scan((y + 1 < h).then(|| &done[..w]), &mut rest[y * w..], mask.row(y), true);
        for x in 0..w {
            // A pixel waits when one behind the scan could still rise to it.
            let k = y * w + x;
            let v = out.data[k];
            if v > 0.0 && around(k, w, h).any(|n| out.data[n] < v && out.data[n] < mask.data[n]) {
                queue.push_back(k);
            }
        }
    }
    while let Some(k) = queue.pop_front() {
        let v = out.data[k];
        for n in around(k, w, h) {
            let up = v.min(mask.data[n]);
            if out.data[n] < up {
                out.data[n] = up;
                queue.push_back(n);
            }
        }
    }
    out
}

/// One row of a raster scan: each pixel rises to the greatest of the row before and its own neighbour, under the mask.
fn scan(before: Option<&[f32]>, row: &mut [f32], mask: &[f32], backwards: bool) {
    let w = row.len();
    if let Some(b) = before {
        for x in 0..w {
            let v = b[x].max(b[x.saturating_sub(1)]).max(b[(x + 1).min(w - 1)]).max(row[x]);
            row[x] = v.min(mask[x]);
        }
    }
    let mut last = 0.0f32;
    let mut rise = |x: usize| {
        last = last.max(row[x]).min(mask[x]);
        row[x] = last;
    };
    if backwards { (0..w).rev().for_each(&mut rise) } else { (0..w).for_each(&mut rise) }
}

/// The up to eight pixels around pixel `k`.
fn around(k: usize, w: usize, h: usize) -> impl Iterator<Item = usize> {
    let (x, y) = (k % w, k / w);
    let (x0, x1) = (x.saturating_sub(1), (x + 1).min(w - 1));
    let (y0, y1) = (y.saturating_sub(1), (y + 1).min(h - 1));
    (y0..=y1).flat_map(move |j| (x0..=x1).map(move |i| j * w + i)).filter(move |n| *n != k)
}

/// Every row through `f(in, out)`.
fn rows(p: &Plane, f: impl Fn(&[f32], &mut [f32]) + Sync) -> Plane {
    let mut out = Plane::filled(p.width, p.height, 0.0);
    out.data.par_chunks_mut(p.width).zip(p.data.par_chunks(p.width)).for_each(|(o, i)| f(i, o));
    out
}

fn running_mean(line: &[f32], out: &mut [f32], r: usize) {
    let n = line.len();
    let wide: Vec<f64> = (0..n + 2 * r + 1).map(|i| line[i.saturating_sub(r).min(n - 1)] as f64).collect();
    let mut sum: f64 = wide[..=2 * r].iter().sum();
    let k = 1.0 / (2 * r + 1) as f64;
    for (o, (add, drop)) in out.iter_mut().zip(wide[2 * r + 1..].iter().zip(&wide)) {
        *o = (sum * k) as f32;
        sum += add - drop;
    }
}

/// The running mean down the columns, in bands of rows that each start their own sums.
fn columns(p: &Plane, r: usize) -> Plane {
    let (w, h) = (p.width, p.height as isize);
    let r = r as isize;
    let row = |y: isize| p.row(y.clamp(0, h - 1) as usize);
    let band = 64.max(4 * r as usize);
    let k = 1.0 / (2 * r + 1) as f64;
    let mut out = Plane::filled(w, p.height, 0.0);
    out.data.par_chunks_mut(w * band).enumerate().for_each(|(b, chunk)| {
        let y0 = (b * band) as isize;
        let mut sum = vec![0.0f64; w];
        for y in y0 - r..=y0 + r {
            sum.iter_mut().zip(row(y)).for_each(|(s, v)| *s += *v as f64);
        }
        for (i, line) in chunk.chunks_mut(w).enumerate() {
            let y = y0 + i as isize;
            line.iter_mut().zip(&sum).for_each(|(o, s)| *o = (*s * k) as f32);
            let (add, drop) = (row(y + r + 1), row(y - r));
            sum.iter_mut().zip(add.iter().zip(drop)).for_each(|(s, (a, d))| *s += (*a - *d) as f64);
        }
    });
    out
}

/// Separable running extreme: along rows, then down columns. Windows of 1, 2, 4 ... are made by pairing, and two of the last
/// that overlap make `2 r + 1`; past the rim the rim is repeated.
fn extreme(p: &Plane, r: usize, f: impl Fn(f32, f32) -> f32 + Sync + Copy) -> Plane {
    if p.data.is_empty() || r == 0 {
        return p.clone();
    }
    let across = rows(p, |line, out| window(line, out, r, f));
    let (w, h, size) = (p.width, p.height, 2 * r + 1);
    let tall = h + 2 * r;
    // The first pairing reads the rows themselves, so the padding is never stored.
    let padded = |y: usize| across.row(y.saturating_sub(r).min(h - 1));
    let mut cur = Plane::filled(w, tall, 0.0);
    cur.data.par_chunks_mut(w).enumerate().for_each(|(y, o)| pair(o, padded(y), padded((y + 1).min(tall - 1)), f));
    let mut span = 2;
    while span * 2 <= size {
        let mut next = Plane::filled(w, tall, 0.0);
        next.data.par_chunks_mut(w).enumerate().for_each(|(y, o)| {
            pair(o, cur.row(y), cur.row((y + span).min(tall - 1)), f);
        });
        (span, cur) = (span * 2, next);
    }
    let mut out = Plane::filled(w, h, 0.0);
    out.data.par_chunks_mut(w).enumerate().for_each(|(y, o)| pair(o, cur.row(y), cur.row(y + size - span), f));
    out
}

fn pair(out: &mut [f32], a: &[f32], b: &[f32], f: impl Fn(f32, f32) -> f32) {
    out.iter_mut().zip(a.iter().zip(b)).for_each(|(o, (a, b))| *o = f(*a, *b));
}

fn window(line: &[f32], out: &mut [f32], r: usize, f: impl Fn(f32, f32) -> f32) {
    let n = line.len();
    let (size, wide) = (2 * r + 1, n + 2 * r);
    let mut cur: Vec<f32> = (0..wide).map(|i| line[i.saturating_sub(r).min(n - 1)]).collect();
    let mut span = 1;
    while span * 2 <= size {
        // Past the end nothing is paired, and nothing past the end is read below.
        for i in 0..wide - span {
            cur[i] = f(cur[i], cur[i + span]);
        }
        span *= 2;
    }
    out.iter_mut().enumerate().for_each(|(i, o)| *o = f(cur[i], cur[i + size - span]));
}

#[cfg(test)]
mod tests {
    use super::*;

    fn noise(x: usize, y: usize) -> f32 {
        let h = (x as u32).wrapping_mul(0x9E37_79B1) ^ (y as u32).wrapping_mul(0x85EB_CA77);
        (h.wrapping_mul(0xC2B2_AE3D) >> 16) as f32 / 65536.0
    }

    fn brute(p: &Plane, r: isize, f: impl Fn(&[f32]) -> f32, repeat: bool) -> Plane {
        Plane {
            width: p.width,
            height: p.height,
            data: (0..p.height as isize)
                .flat_map(|y| (0..p.width as isize).map(move |x| (x, y)))
                .map(|(x, y)| {
                    let mut v = vec![];
                    for j in y - r..=y + r {
                        for i in x - r..=x + r {
                            let inside = i >= 0 && j >= 0 && i < p.width as isize && j < p.height as isize;
                            if inside || repeat {
                                v.push(p.clamped(i, j));
                            }
                        }
                    }
                    f(&v)
                })
                .collect(),
        }
    }

    #[test]
    fn running_filters_equal_their_definition() {
        let p = Plane::from_fn(37, 23, noise);
        for r in [1, 2, 3, 5, 8] {
            let near = |a: &Plane, b: &Plane| a.data.iter().zip(&b.data).all(|(a, b)| (a - b).abs() < 1e-5);
            let r_ = r as isize;
            assert!(
                near(&box_mean(&p, r), &brute(&p, r_, |v| v.iter().sum::<f32>() / v.len() as f32, true)),
                "mean {r}"
            );
            let least = brute(&p, r_, |v| v.iter().fold(f32::INFINITY, |a, b| a.min(*b)), false);
            let most = brute(&p, r_, |v| v.iter().fold(0.0f32, |a, b| a.max(*b)), false);
            assert!(erode(&p, r) == least && dilate(&p, r) == most, "{r}");
        }
    }

    #[test]
    fn edges_stay_and_grain_goes() {
        let p = Plane::from_fn(80, 80, |x, y| if x < 40 { 0.2 } else { 1.0 } + 0.02 * (noise(x, y) - 0.5));
        let q = keep_edges(&p, 4, 0.05);
        let worst = |x: usize, level: f32| (20..60).map(|y| (q.get(x, y) - level).abs()).fold(0.0, f32::max);
        assert!(worst(15, 0.2) < 0.003 && worst(60, 1.0) < 0.003);
        assert!(worst(39, 0.2) < 0.02 && worst(40, 1.0) < 0.02);
    }

    #[test]
    fn reconstruction_keeps_what_is_touched_and_clips_what_hangs_on_a_bridge() {
        // A slope with a peak behind a pass at 0.3, and an island: marked at its left end only.
        let mask = Plane { width: 9, height: 1, data: vec![0.9, 0.8, 0.3, 0.7, 0.1, 0.0, 0.5, 0.5, 0.0] };
        let mut marker = Plane::filled(9, 1, 0.0);
        marker.data[0] = 0.9;
        let out = reconstruct(marker, &mask);
        assert_eq!(out.data, vec![0.9, 0.8, 0.3, 0.3, 0.1, 0.0, 0.0, 0.0, 0.0]);
        // Round a corner against the scan order: only the queue gets there.
        let mask = Plane::from_fn(5, 5, |x, y| ((y == 4 || x == 4 || y == 0) && !(x == 0 && y == 4)) as u8 as f32);
        let mut marker = Plane::filled(5, 5, 0.0);
        marker.data[0] = 1.0;
        let out = reconstruct(marker, &mask);
        assert_eq!(out, mask);
    }
}
