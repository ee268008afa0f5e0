//! Measures the shadow that a print throws on the bed.
//!
//! On the canvas, where the print is an upright rectangle and the bare bed reads 1, the shadow is the darkness
//! `1 - frame / bed`. What tells it from dust, fibre and a desk showing through is that a shadow hangs together with the
//! print: from its edge outwards no place is darker than the way to it. That is a morphological reconstruction from the
//! edge, and it is all the selecting that is done.

mod cast;
mod corner;

pub use cast::{Cast, FAINT, Side, Station, azimuth, measure, profiles, weigh};
pub use corner::corner_radius;

use pixels::filter::{dilate, erode, keep_edges, reconstruct};
use pixels::{Picture, Plane};
use rayon::prelude::*;
use std::f32::consts::SQRT_2;

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

/// The share of the bare bed's light that reaches a place, per band: the `reading` (1 at full scale) times `gain`, which is one
/// over what the bare bed would read without an end to its scale.
///
/// A band at full scale only says that the light is at least that: there the bands below full scale speak for it, and where
/// none is left the place counts as lit. So the bed is white wherever it is at full scale, however far beyond its light goes.
pub fn lit_share(reading: [f32; 3], gain: [f32; 3]) -> [f32; 3] {
    let share: [f32; 3] = std::array::from_fn(|b| reading[b] * gain[b]);
    let full = reading.map(|v| smoothstep((v - FULL[0]) / (FULL[1] - FULL[0])));
    if full == [0.0; 3] {
        return share;
    }
    let (mut known, mut weight) = (0.0, 0.0);
    for b in 0..3 {
        (known, weight) = (known + (1.0 - full[b]) * share[b], weight + 1.0 - full[b]);
    }
    // One band that is nearly at full scale is no witness for the others: it speaks as far as it is below.
    let rest = weight.min(1.0);
    let least = (known / weight.max(1e-6)) * rest + 1.0 - rest;
    std::array::from_fn(|b| if share[b] < least { share[b] + (least - share[b]) * full[b] } else { share[b] })
}

/// Readings between which a band passes from measured to at full scale: noise and compression spread clipped paper over the
/// last per cent, and a step would show as a rim in a shadow's soft end.
const FULL: [f32; 2] = [0.94, 0.985];

fn smoothstep(t: f32) -> f32 {
    let t = t.clamp(0.0, 1.0);
    t * t * (3.0 - 2.0 * t)
}

/// The shadow around a print.
pub fn shade(g: &Ground) -> Shade {
    let px = |mm: f64| (mm * g.px_per_mm).round().max(1.0) as usize;
    let light = luminance(g);
    let print = dilate(g.cover, px(g.blur_mm));
    let bed = |k: usize| print.data[k] <= BARE && light.data[k].is_finite();
    // Deep under the print nothing is carried on, so that dirt on one side does not hang together with the shadow of another.
    let deep = erode(g.cover, px(1.0));
    let filled = carry_on(&light, g.cover, px(g.blur_mm), bed, |k| deep.data[k] < 0.99);
    let (level, unevenness) = lit(&filled, bed, g.px_per_mm);
    // Grain to average away: what paper and sensor leave at pixel scale, twice over so that it goes entirely.
    let fine = keep_edges(&filled, px(0.35), 2.0 * grain(&filled, bed) as f32);
    let mut depth = map(&fine, |v| (1.0 - v / level as f32).max(0.0));
    depth.data.iter_mut().zip(&deep.data).filter(|(_, c)| **c >= 0.99).for_each(|(d, _)| *d = 0.0);
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

/// Fills what is not bed with the nearest bed: under a print's edge, what lies just outside it.
///
/// Within `reach` pixels of the edge the lens mixes print and bed, and a mixture lies between its parts. So a reading there
/// that lies between the bed carried so far and the print's own tone may be no more than that and is not used; one outside
/// is bed, seen past the blur. Thus a contact shadow narrower than the blur keeps its depth, and a black border lends none.
fn carry_on(
    p: &Plane,
    cover: &Plane,
    reach: usize,
    bed: impl Fn(usize) -> bool,
    wanted: impl Fn(usize) -> bool,
) -> Plane {
    let (solid, rim) = (erode(cover, reach), dilate(cover, reach));
    let of_print = |k: usize| solid.data[k] > 0.99 && p.data[k].is_finite();
    let tone = nearest(p, of_print, |k| rim.data[k] > BARE, |_, v| v);
    // Two per cent: the noise of a pixel.
    let between = |v: f32, a: f32, b: f32| v > a.min(b) - 0.02 && v < a.max(b) + 0.02;
    let seen = |k: usize| cover.data[k] < 0.5 && p.data[k].is_finite();
    nearest(p, bed, wanted, |k, v| if seen(k) && !between(p.data[k], v, tone.data[k]) { p.data[k] } else { v })
}

/// Gives every `wanted` pixel the value of the nearest `known` one, `pass(pixel, value)` on the way; 1 where nothing is
/// known.
///
/// Two raster passes carry distances in steps of 1 and the square root of 2 (chamfer; Borgefors 1986,
/// doi 10.1016/S0734-189X(86)80047-0).
fn nearest(
    p: &Plane,
    known: impl Fn(usize) -> bool,
    wanted: impl Fn(usize) -> bool,
    pass: impl Fn(usize, f32) -> f32,
) -> Plane {
    let (w, h) = (p.width, p.height);
    let mut out = Plane::filled(w, h, 1.0);
    let mut far = vec![f32::INFINITY; w * h];
    for k in (0..w * h).filter(|k| known(*k)) {
        (out.data[k], far[k]) = (p.data[k], 0.0);
    }
    let open: Vec<usize> = (0..w * h).filter(|&k| far[k] != 0.0 && wanted(k)).collect();
    let mut look = |k: usize, sign: isize| {
        let (x, y) = ((k % w) as isize, (k / w) as isize);
        for (dx, dy, step) in [(-1, 0, 1.0), (0, -1, 1.0), (-1, -1, SQRT_2), (1, -1, SQRT_2)] {
            let (i, j) = (x + sign * dx, y + sign * dy);
            if i < 0 || j < 0 || i >= w as isize || j >= h as isize {
                continue;
            }
            let n = j as usize * w + i as usize;
            if far[n] + step < far[k] {
                far[k] = far[n] + step;
                out.data[k] = pass(k, out.data[n]);
            }
        }
    };
    open.iter().for_each(|&k| look(k, 1));
    open.iter().rev().for_each(|&k| look(k, -1));
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

#[cfg(test)]
mod tests {
    use super::*;
    use pixels::filter::box_mean;

    const Q: f64 = 12.0;
    const MARGIN: usize = 96;
    const PRINT: [usize; 4] = [MARGIN, MARGIN, MARGIN + 480, MARGIN + 600];

    fn noise(x: usize, y: usize) -> f32 {
        let mut h = (x as u32).wrapping_mul(0x9E37_79B1) ^ (y as u32).wrapping_mul(0x85EB_CA77);
        h = (h ^ (h >> 15)).wrapping_mul(0x846C_A68B);
        (h >> 8) as f32 / (1u32 << 24) as f32 - 0.5
    }

    /// A slab's shadow with a linear soft end of `soft` mm, its reach `(dx, dy)` mm: the share of light at a place.
    fn slab(x: f64, y: f64, dx: f64, dy: f64, soft: f64) -> f64 {
        let p = PRINT.map(|v| v as f64);
        let inset = (x - p[0] - dx * Q).min(p[2] + dx * Q - x).min(y - p[1] - dy * Q).min(p[3] + dy * Q - y) / Q;
        1.0 - 0.85 * (inset / soft + 0.5).clamp(0.0, 1.0)
    }

    struct Planted {
        ratio: Picture,
        cover: Plane,
    }

    impl Planted {
        /// A print of tone `border` on bed with 1 % grain and a desk of 1 %, `light(x, y)` its shadow.
        fn new(border: f32, light: impl Fn(f64, f64) -> f64 + Sync) -> Self {
            let (w, h) = (PRINT[2] + MARGIN, PRINT[3] + MARGIN);
            let cover = Plane::from_fn(w, h, |x, y| {
                ((PRINT[0]..PRINT[2]).contains(&x) && (PRINT[1]..PRINT[3]).contains(&y)) as u8 as f32
            });
            let band = Plane::from_fn(w, h, |x, y| {
                let desk = 1.0 + 0.01 * ((x as f32 + 0.4 * y as f32) / 15.0).sin();
                let bed = desk * (1.0 + 0.03 * noise(x, y)) * light(x as f64 + 0.5, y as f64 + 0.5) as f32;
                bed + cover.get(x, y) * (border - bed)
            });
            // The lens: a box of three pixels, which mixes print and bed one pixel deep.
            let band = box_mean(&band, 1);
            Self { ratio: Picture([band.clone(), band.clone(), band]), cover }
        }

        fn ground(&self) -> Ground<'_> {
            Ground {
                ratio: &self.ratio,
                luma: [0.2, 0.7, 0.1],
                cover: &self.cover,
                print: PRINT.map(|v| v as f64),
                px_per_mm: Q,
                blur_mm: 0.14,
            }
        }
    }

    #[test]
    fn a_planted_shadow_is_measured() {
        for (dx, dy) in [(1.5, 0.8), (-0.7, 2.0), (0.5, -0.5)] {
            let p = Planted::new(0.92, |x, y| slab(x, y, dx, dy, 0.3));
            let g = p.ground();
            let s = shade(&g);
            let c = measure(&g, &s);
            let want = f64::atan2(dy, dx).to_degrees().rem_euclid(360.0);
            let off = (c.azimuth_deg.unwrap() - want + 180.0).rem_euclid(360.0) - 180.0;
            assert!(off.abs() < 3.0, "{want} {c:?}");
            assert!((c.width_mm - dx.hypot(dy)).abs() < 0.1, "{c:?}");
            assert!((c.depth - 0.85).abs() < 0.02 && (c.softness_mm - 0.24).abs() < 0.15, "{c:?}");
            assert!((s.level - 1.0).abs() < 0.01 && s.unevenness < 0.02);
        }
    }

    #[test]
    fn the_darkness_is_the_planted_one_and_nothing_else() {
        // A speck on the bed, a hair across the lit edge and another object: none of them hangs together with the shadow.
        let dirt = |x: f64, y: f64| {
            let speck = (x - 40.0).hypot(y - 300.0) < 5.0;
            let hair = (y - 400.0).abs() < 1.5 && (60.0..130.0).contains(&x);
            let other = x < 30.0 && y < 200.0;
            if speck || hair || other { 0.4 } else { 1.0 }
        };
        let p = Planted::new(0.92, |x, y| slab(x, y, 1.5, 0.8, 0.3) * dirt(x, y));
        let s = shade(&p.ground());
        let outside = |x: usize, y: usize| !((PRINT[0]..PRINT[2]).contains(&x) && (PRINT[1]..PRINT[3]).contains(&y));
        let (mut sum, mut n) = (0.0, 0.0);
        for y in 0..s.darkness.height {
            for x in (0..s.darkness.width).filter(|x| outside(*x, y)) {
                let light = |u: f64, v: f64| slab(x as f64 + 0.5 + u, y as f64 + 0.5 + v, 1.5, 0.8, 0.3);
                let got = s.darkness.get(x, y) as f64;
                // The lens and the grain filter reach three pixels.
                let around = [(-3.0, -3.0), (3.0, -3.0), (-3.0, 3.0), (3.0, 3.0)].map(|(u, v)| light(u, v));
                if around.iter().all(|l| *l > 0.9999) {
                    assert!(got < 0.05, "{x} {y} {got}");
                } else {
                    (sum, n) = (sum + (1.0 - light(0.0, 0.0) - got).powi(2), n + 1.0);
                }
            }
        }
        assert!(f64::sqrt(sum / n) < 0.05, "{}", f64::sqrt(sum / n));
    }

    #[test]
    fn a_contact_shadow_and_a_black_border_are_told_apart_at_the_edge() {
        // 0.3 mm of shadow beside a white, a grey and a black border: deep at the fall side, none at the lit side.
        for border in [0.92, 0.5, 0.05] {
            let p = Planted::new(border, |x, y| slab(x, y, 0.3, 0.0, 0.05));
            let d = shade(&p.ground()).darkness;
            let (lit, fall): (Vec<f32>, Vec<f32>) =
                (200..500).map(|y| (d.get(PRINT[0] - 1, y), d.get(PRINT[2], y))).unzip();
            let mean = |v: &[f32]| v.iter().sum::<f32>() / v.len() as f32;
            assert!(mean(&lit) < 0.03, "{border}: {}", mean(&lit));
            assert!(mean(&fall) > 0.6, "{border}: {}", mean(&fall));
        }
    }

    #[test]
    fn no_shadow_is_no_direction() {
        let p = Planted::new(0.92, |_, _| 1.0);
        let g = p.ground();
        let c = measure(&g, &shade(&g));
        assert!(c.azimuth_deg.is_none() && c.width_mm == 0.0, "{c:?}");
    }

    #[test]
    fn lamp_and_shadow_are_weighed_and_a_conflict_is_said() {
        let (a, e, odd) = azimuth(Some((359.0, 0.5)), Some((3.0, 1.0))).unwrap();
        assert!(!(1.0..359.0).contains(&a) && e < 2.1 && !odd);
        let (a, _, odd) = azimuth(Some((90.0, 0.5)), Some((150.0, 2.0))).unwrap();
        assert!(a == 150.0 && odd);
        assert_eq!(azimuth(None, None), None);
        assert_eq!(azimuth(None, Some((10.0, 1.0))).unwrap().0, 10.0);
    }
}
