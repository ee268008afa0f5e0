//! The loss of a JPEG: 8 by 8 cosine transform, quantised by the standard's example tables, and back.
//!
//! ITU-T T.81 | ISO/IEC 10918-1, A.3.3 (transform), Annex K (tables); colour by ITU-T T.871 (JFIF). The entropy coding that
//! follows loses nothing and is left out.

use pixels::{Picture, Plane};
use std::f64::consts::PI;

/// Table K.1, luminance, row by row.
const LUMINANCE: [u16; 64] = [
    16, 11, 10, 16, 24, 40, 51, 61, 12, 12, 14, 19, 26, 58, 60, 55, 14, 13, 16, 24, 40, 57, 69, 56, 14, 17, 22, 29, 51,
    87, 80, 62, 18, 22, 37, 56, 68, 109, 103, 77, 24, 35, 55, 64, 81, 104, 113, 92, 49, 64, 78, 87, 103, 121, 120, 101,
    72, 92, 95, 98, 112, 100, 103, 99,
];
/// Table K.2, chrominance.
const CHROMINANCE: [u16; 64] = [
    17, 18, 24, 47, 99, 99, 99, 99, 18, 21, 26, 66, 99, 99, 99, 99, 24, 26, 56, 99, 99, 99, 99, 99, 47, 66, 99, 99, 99,
    99, 99, 99, 99, 99, 99, 99, 99, 99, 99, 99, 99, 99, 99, 99, 99, 99, 99, 99, 99, 99, 99, 99, 99, 99, 99, 99, 99, 99,
    99, 99, 99, 99, 99, 99,
];

/// How a picture is compressed.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Compress {
    /// Quality 1 to 100 by the usual scale.
    pub quality: u8,
    /// True where colour has half the resolution both ways (4:2:0), false for 4:4:4.
    pub half_colour: bool,
}

impl Compress {
    /// A table scaled to the quality: the factor is `5000 / q` per cent below 50 and `200 - 2q` above, as the free reference
    /// implementation scales them; the standard leaves it open.
    fn scaled(&self, table: &[u16; 64]) -> [f32; 64] {
        let q = u32::from(self.quality.clamp(1, 100));
        let percent = if q < 50 { 5000 / q } else { 200 - 2 * q };
        table.map(|t| ((u32::from(t) * percent + 50) / 100).clamp(1, 255) as f32)
    }

    /// Compresses code values 0 to 1 and reads them back, in place.
    pub fn apply(&self, picture: &mut Picture) {
        let (w, h) = (picture.width(), picture.height());
        to_ycc(picture);
        let [y, cb, cr] = &mut picture.0;
        let (light, colour) = (self.scaled(&LUMINANCE), self.scaled(&CHROMINANCE));
        quantise(y, &light);
        for plane in [cb, cr] {
            if self.half_colour {
                let mut half = halved(plane);
                quantise(&mut half, &colour);
                *plane = doubled(&half, w, h);
            } else {
                quantise(plane, &colour);
            }
        }
        to_rgb(picture);
    }
}

/// Code values 0 to 1 to luma and colour differences about 0, in 8-bit levels (T.871, clause 7; luma less 128).
fn to_ycc(p: &mut Picture) {
    let [r, g, b] = &mut p.0;
    for ((x, y), z) in r.data.iter_mut().zip(&mut g.data).zip(&mut b.data) {
        // A compressor reads whole 8-bit levels.
        let [r, g, b] = [*x, *y, *z].map(|v| rounded(v.clamp(0.0, 1.0) * 255.0));
        *x = 0.299 * r + 0.587 * g + 0.114 * b - 128.0;
        *y = -0.168_735_9 * r - 0.331_264_1 * g + 0.5 * b;
        *z = 0.5 * r - 0.418_687_6 * g - 0.081_312_4 * b;
    }
}

fn to_rgb(p: &mut Picture) {
    let [r, g, b] = &mut p.0;
    for ((x, y), z) in r.data.iter_mut().zip(&mut g.data).zip(&mut b.data) {
        let (luma, cb, cr) = (*x + 128.0, *y, *z);
        let rgb = [luma + 1.402 * cr, luma - 0.344_136_3 * cb - 0.714_136_3 * cr, luma + 1.772 * cb];
        [*x, *y, *z] = rgb.map(|v| (v / 255.0).clamp(0.0, 1.0));
    }
}

/// Half the size, each value the mean of two by two.
fn halved(p: &Plane) -> Plane {
    let (w, h) = (p.width.div_ceil(2), p.height.div_ceil(2));
    let mut out = Plane::filled(w, h, 0.0);
    for (j, row) in out.data.chunks_exact_mut(w).enumerate() {
        let (a, b) = (p.row(2 * j), p.row((2 * j + 1).min(p.height - 1)));
        for (i, v) in row.iter_mut().enumerate() {
            let (l, r) = (2 * i, (2 * i + 1).min(p.width - 1));
            *v = 0.25 * (a[l] + a[r] + b[l] + b[r]);
        }
    }
    out
}

/// Twice the size, straight between the centres: each new value is 9, 3, 3 and 1 sixteenths of its neighbours.
fn doubled(p: &Plane, w: usize, h: usize) -> Plane {
    // Nearest and second nearest old value of a new one.
    let pair = |k: usize, n: usize| {
        let near = k / 2;
        let next = if k.is_multiple_of(2) { near.saturating_sub(1) } else { (near + 1).min(n - 1) };
        (near, next)
    };
    let mut out = Plane::filled(w, h, 0.0);
    let mut line = vec![0.0f32; p.width];
    for (j, row) in out.data.chunks_exact_mut(w).enumerate() {
        let (near, next) = pair(j, p.height);
        line.iter_mut().zip(p.row(near).iter().zip(p.row(next))).for_each(|(o, (a, b))| *o = 0.75 * a + 0.25 * b);
        for (i, v) in row.iter_mut().enumerate() {
            let (near, next) = pair(i, p.width);
            *v = 0.75 * line[near] + 0.25 * line[next];
        }
    }
    out
}

/// Transforms, rounds to the table's steps and transforms back, block by block; blocks past the rim repeat it.
fn quantise(p: &mut Plane, table: &[f32; 64]) {
    let basis = basis();
    let (w, h) = (p.width, p.height);
    let mut block = [0.0f32; 64];
    for y0 in (0..h).step_by(8) {
        for x0 in (0..w).step_by(8) {
            for (j, line) in block.chunks_exact_mut(8).enumerate() {
                let from = p.row((y0 + j).min(h - 1));
                line.iter_mut().enumerate().for_each(|(i, v)| *v = from[(x0 + i).min(w - 1)]);
            }
            let mut c = product(&product(&basis.forward, &block), &basis.back);
            c.iter_mut().zip(table).for_each(|(v, q)| *v = rounded(*v / q) * q);
            let out = product(&product(&basis.back, &c), &basis.forward);
            for j in 0..8.min(h - y0) {
                let n = 8.min(w - x0);
                p.data[(y0 + j) * w + x0..][..n].copy_from_slice(&out[8 * j..][..n]);
            }
        }
    }
}

/// The nearest whole number: beside 1.5 * 2^23 a float has no fraction. A call to the mathematics library would take most of
/// the compression's time.
fn rounded(v: f32) -> f32 {
    const WHOLE: f32 = 12_582_912.0;
    v + WHOLE - WHOLE
}

/// The cosine transform as a matrix and its transpose, which is its inverse.
struct Basis {
    forward: [f32; 64],
    back: [f32; 64],
}

/// `C(u) / 2 cos((2x + 1) u pi / 16)`, C(0) = 1 / sqrt 2 (T.81, A.3.3).
fn basis() -> Basis {
    let at = |u: usize, x: usize| {
        let c = if u == 0 { 0.5f64.sqrt() } else { 1.0 };
        (0.5 * c * ((2 * x + 1) as f64 * u as f64 * PI / 16.0).cos()) as f32
    };
    Basis { forward: std::array::from_fn(|k| at(k / 8, k % 8)), back: std::array::from_fn(|k| at(k % 8, k / 8)) }
}

fn product(a: &[f32; 64], b: &[f32; 64]) -> [f32; 64] {
    let mut out = [0.0f32; 64];
    for (line, row) in out.chunks_exact_mut(8).zip(a.chunks_exact(8)) {
        for (k, &v) in row.iter().enumerate() {
            (0..8).for_each(|i| line[i] += v * b[8 * k + i]);
        }
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The transform of an even block is 8 times its value at no frequency (closed form), and the way back is exact.
    #[test]
    fn the_transform_is_orthonormal() {
        let b = basis();
        let even = product(&product(&b.forward, &[3.0; 64]), &b.back);
        assert!((even[0] - 24.0).abs() < 1e-4 && even[1..].iter().all(|v| v.abs() < 1e-4));
        let block: [f32; 64] = std::array::from_fn(|k| ((k * 37) % 64) as f32);
        let there = product(&product(&b.forward, &block), &b.back);
        let again = product(&product(&b.back, &there), &b.forward);
        assert!(block.iter().zip(again).all(|(a, b)| (a - b).abs() < 1e-3));
    }

    /// T.81 Annex K as it stands is quality 50; at 100 every step is one level, so nothing is off by more than two.
    #[test]
    fn quality_scales_the_tables() {
        let of = |quality| Compress { quality, half_colour: false }.scaled(&LUMINANCE);
        assert_eq!(of(50), LUMINANCE.map(f32::from));
        assert_eq!((of(75)[0], of(75)[1], of(25)[0]), (8.0, 6.0, 32.0));
        let mut p = Picture(
            [0, 1, 2].map(|c| Plane::from_fn(37, 21, move |x, y| ((x * 7 + y * 13 + c * 29) % 256) as f32 / 255.0)),
        );
        let before = p.clone();
        Compress { quality: 100, half_colour: false }.apply(&mut p);
        for (a, b) in before.0.iter().zip(&p.0) {
            assert!(a.data.iter().zip(&b.data).all(|(a, b)| (a - b).abs() < 2.5 / 255.0));
        }
    }

    /// Linear colour survives halving and doubling away from the rim (closed form).
    #[test]
    fn half_colour_keeps_a_ramp() {
        let ramp = Plane::from_fn(40, 30, |x, y| x as f32 + 2.0 * y as f32);
        let again = doubled(&halved(&ramp), 40, 30);
        for (x, y) in [(9, 9), (20, 15), (30, 22)] {
            assert!((again.get(x, y) - ramp.get(x, y)).abs() < 1e-4);
        }
    }
}
