//! Measures the shadow that a print throws on the bed.
//!
//! On the canvas, where the print is an upright rectangle and the bare bed reads 1, the shadow is the darkness
//! `1 - frame / bed`. What tells it from dust, fibre and a desk showing through is that a shadow hangs together with the
//! print: from its edge outwards no place is darker than the way to it. That is a morphological reconstruction from the
//! edge, and it is all the selecting that is done.

use pixels::filter::{dilate, erode, keep_edges, reconstruct};
use pixels::{Picture, Plane};
use rayon::prelude::*;

/// Cover below this is bed: a 250th of a pixel of print changes its reading by less than the noise.
const BARE: f32 = 0.004;

/// The bed around a print, on the canvas at a working scale (8 to 16 px per mm keeps any shadow; coarser softens contact
/// shadows).
#[derive(Clone, Copy, Debug)]
pub struct Ground<'a> {
    /// Frame over bare bed, 1 on lit bed; NaN where the frame does not reach.
    pub ratio: &'a Picture,
    /// Share of luminance of the three bands, summing to 1.
    pub luma: [f32; 3],
    /// Share of each pixel that the print covers.
    pub cover: &'a Plane,
    /// Left, top, right and bottom of the print's rectangle, pixels of the working scale.
    pub print: [f64; 4],
    /// The working scale.
    pub px_per_mm: f64,
    /// How far the lens mixes print and bed across the edge, mm (2.5 pixels of the frame for a sharp lens).
    pub blur_mm: f64,
}

/// The shadow as it lies on the canvas.
#[derive(Clone, Debug)]
pub struct Shade {
    /// 1 - shadow ratio, 0 on lit bed and 0 to 1 in the shadow; carried on under the print from outside its edge.
    pub darkness: Plane,
    /// Robust spread of the lit bed about 1 at the scale of a millimetre: below about three of it, a shadow cannot be told
    /// from paper.
    pub unevenness: f64,
    /// Median of the lit bed, 1 when it was evened well.
    pub level: f64,
    /// The working scale.
    pub px_per_mm: f64,
}

/// The shadow around a print.
pub fn shade(g: &Ground) -> Shade {
    let px = |mm: f64| (mm * g.px_per_mm).round().max(1.0) as usize;
    let light = luminance(g);
    let print = dilate(g.cover, px(g.blur_mm));
    let bed = |k: usize| print.data[k] <= BARE && light.data[k].is_finite();
    let filled = carry_on(&light, g.cover, px(g.blur_mm), bed);
    let (level, unevenness) = lit(&filled, bed, g.px_per_mm);
    // Grain to average away: what paper and sensor leave at pixel scale, twice over so that it goes entirely.
    let fine = keep_edges(&filled, px(0.35), 2.0 * grain(&filled, bed) as f32);
    let depth = map(&fine, |v| (1.0 - v / level as f32).max(0.0));
    // A hair across the edge is thinner than this; the thinnest contact shadow runs along the edge and, carried on under the
    // print, is wide.
    let broad = dilate(&erode(&depth, px(0.35)), px(0.35));
    let near = dilate(&print, px(0.4));
    let mut marker = broad;
    marker.data.iter_mut().zip(&near.data).filter(|(_, n)| **n <= BARE).for_each(|(b, _)| *b = 0.0);
    Shade { darkness: reconstruct(marker, &depth), unevenness, level, px_per_mm: g.px_per_mm }
}

fn luminance(g: &Ground) -> Plane {
    let [r, gr, b] = &g.ratio.0;
    let mut out = r.clone();
    out.data.par_iter_mut().zip(&gr.data).zip(&b.data).for_each(|((o, g_), b_)| {
        *o = g.luma[0] * *o + g.luma[1] * g_ + g.luma[2] * b_;
    });
    out
}

/// A walk along a row or a column: what bed was seen last, and how many steps ago.
#[derive(Clone, Copy)]
struct Walk {
    value: f32,
    steps: u32,
}

/// Fills what is not bed with the nearest bed along its row or its column: under a print's edge, what lies just outside it.
///
/// Within reach of the blur (`reach` pixels) print and bed are mixed. There a reading is taken as bed when it is farther
/// from the print's own tone than the bed carried so far: mixing only draws readings towards the print, so the farthest is
/// the least mixed. Thus a contact shadow narrower than the blur keeps its depth and a black border lends none.
fn carry_on(p: &Plane, cover: &Plane, reach: usize, bed: impl Fn(usize) -> bool) -> Plane {
    let (w, h) = (p.width, p.height);
    let mut out = p.clone();
    let mut far = vec![u32::MAX; w * h];
    let mut step = |s: &mut Walk, k: usize, ahead: Option<usize>| {
        if bed(k) {
            *s = Walk { value: p.data[k], steps: 0 };
            far[k] = 0;
            return;
        }
        s.steps = s.steps.saturating_add(1);
        if let Some(a) = ahead
            && s.steps <= 3 * reach as u32
            && cover.data[k] < 0.5
            && cover.data[a] > 0.99
            && (p.data[k] - p.data[a]).abs() > (s.value - p.data[a]).abs()
        {
            s.value = p.data[k];
        }
        if s.steps < far[k] {
            (out.data[k], far[k]) = (s.value, s.steps);
        }
    };
    let fresh = Walk { value: 1.0, steps: u32::MAX };
    let look = 2 * reach + 1;
    for y in 0..h {
        let (mut right, mut left) = (fresh, fresh);
        for x in 0..w {
            step(&mut right, y * w + x, (x + look < w).then(|| y * w + x + look));
        }
        for x in (0..w).rev() {
            step(&mut left, y * w + x, (x >= look).then(|| y * w + x - look));
        }
    }
    let mut down = vec![fresh; w];
    for k in 0..w * h {
        step(&mut down[k % w], k, (k + look * w < w * h).then(|| k + look * w));
    }
    let mut up = vec![fresh; w];
    for k in (0..w * h).rev() {
        step(&mut up[k % w], k, k.checked_sub(look * w));
    }
    out.data.iter_mut().zip(&far).filter(|(_, f)| **f == u32::MAX).for_each(|(v, _)| *v = 1.0);
    out
}

/// Median and robust spread of the lit bed by square millimetres. The shadow is a minority of them and does not count.
fn lit(p: &Plane, bed: impl Fn(usize) -> bool, px_per_mm: f64) -> (f64, f64) {
    let size = px_per_mm.round().max(1.0) as usize;
    let mut means = vec![];
    for y in (0..(p.height / size) * size).step_by(size) {
        for x in (0..(p.width / size) * size).step_by(size) {
            let cells = (0..size * size).map(|k| (y + k / size) * p.width + x + k % size);
            let (n, s) = cells.filter(|k| bed(*k)).fold((0, 0.0), |(n, s), k| (n + 1, s + p.data[k] as f64));
            if n * 2 > size * size {
                means.push(s / n as f64);
            }
        }
    }
    if means.is_empty() {
        return (1.0, 0.0);
    }
    let level = geometry::fit::median(&mut means.clone());
    // The spread of the brighter half: shadow and contact lie below.
    let mut up: Vec<f64> = means.iter().map(|m| m - level).filter(|d| *d >= 0.0).collect();
    (level, 1.4826 * geometry::fit::median(&mut up))
}

/// Robust spread of neighbouring pixels of bed, as the spread of one.
fn grain(p: &Plane, bed: impl Fn(usize) -> bool) -> f64 {
    // Every seventh pixel is plenty and misses the regular patterns of mosaics and compression.
    let mut steps: Vec<f64> = (0..p.data.len().saturating_sub(1))
        .step_by(7)
        .filter(|&k| bed(k) && bed(k + 1))
        .map(|k| (p.data[k + 1] - p.data[k]).abs() as f64)
        .collect();
    (1.4826 * geometry::fit::median(&mut steps) / std::f64::consts::SQRT_2).max(0.002)
}

fn map(p: &Plane, f: impl Fn(f32) -> f32) -> Plane {
    Plane { data: p.data.iter().map(|v| f(*v)).collect(), width: p.width, height: p.height }
}
