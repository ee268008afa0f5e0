//! What lies on a bare bed and what shows through it: specks, paper, the desk.

use geometry::fit::{median, spread};
use geometry::{Point, point};
use pixels::{Field, Frame, Plane};

/// Size of a pixel that is searched, mm: half the width of the dust that anybody would remove.
const FINE_MM: f64 = 0.08;
/// Long side of the searched picture, pixels, where the scale is not known.
const UNKNOWN_LONG: usize = 3000;
/// Side of the squares by whose median a speck's surroundings are known, mm and at least so many pixels.
const AROUND: (f64, usize) = (2.5, 12);
/// A speck stands out by this many deviations of the bed, and by this share of its light. Found by trial: the fibre texture of the
/// bare beds of known truth (`truth/rigs`), which hold no dirt, reaches 5.7 % and ten deviations; at lower limits up to 445 of its
/// fibres in a frame were taken for specks, at these none. Whatever stands out less is missed, and is not seen beside a print.
const STANDS_OUT: (f64, f32) = (10.0, 0.06);
/// A reading above this is, or by noise may be, at full scale.
const CLIPPED: f32 = 0.985;
/// Gaps of so many pixels do not part a fibre.
const GAP: usize = 2;
/// Side of the cells in which the desk is looked for, mm: fibre and noise average out in them, a desk's grain does not.
const DESK_MM: f64 = 0.5;
/// A cell farther than so many robust deviations from the light is a speck.
const OUTLIER: f64 = 5.0;

/// Something on the bed.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Speck {
    /// Its middle, frame pixels.
    pub at: Point,
    /// Its longer extent, frame pixels.
    pub length: f64,
    /// Area that differs, square frame pixels.
    pub area: f64,
    /// How much darker (-) or lighter it is than the bed there, as a share, at its strongest.
    pub contrast: f64,
}

/// A bare bed's surface.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Surface {
    /// Specks, hairs and crumbs, the largest first.
    pub specks: Vec<Speck>,
    /// Structure from a pixel to some millimetres: fibre and tooth, rms share of the light, noise left out.
    pub texture: f64,
    /// Structure from half a millimetre up over the smooth light: the desk showing through, creases, stains; rms share, noise
    /// and specks left out.
    pub show_through: f64,
    /// Noise of one frame pixel of bed, rms share of the light.
    pub noise: f64,
}

/// Looks at the surface of a bare bed whose smooth light is `light`.
pub fn surface(frame: &Frame, light: &Field, px_per_mm: Option<f64>) -> Surface {
    let long = frame.width.max(frame.height);
    let step = px_per_mm.map_or(long / UNKNOWN_LONG, |s| (s * FINE_MM) as usize).max(1);
    let per_mm = px_per_mm.map_or(long as f64 / step as f64 / 165.0, |s| s / step as f64);
    let relative = relative(frame, light, step);
    let around = ((AROUND.0 * per_mm) as usize).max(AROUND.1);
    let local = flattened(&relative, around);
    let (texture, noise) = texture_and_noise(&local);
    Surface {
        specks: specks(&local, step),
        texture,
        show_through: show_through(&relative, ((DESK_MM * per_mm).round() as usize).max(2)),
        noise: noise * step as f64,
    }
}

/// Light over the smooth light, less 1, mean of the bands, in pixels of `step` frame pixels; not a number at full scale, where
/// nothing shows.
fn relative(frame: &Frame, light: &Field, step: usize) -> Plane {
    let p = frame.reduce(step);
    let s = step as f64;
    Plane::from_fn(p.width(), p.height(), |x, y| {
        let l = light.at((x as f64 + 0.5) * s, (y as f64 + 0.5) * s);
        let v = p.get(x, y);
        if v.iter().any(|v| *v > CLIPPED) {
            return f32::NAN;
        }
        (0..3).map(|b| v[b] / l[b].max(1e-6)).sum::<f32>() / 3.0 - 1.0
    })
}

/// A plane less the medians of its squares, straight between their middles.
fn flattened(plane: &Plane, side: usize) -> Plane {
    let (w, h) = (plane.width, plane.height);
    let (nx, ny) = (w.div_ceil(side), h.div_ceil(side));
    let middle = |i: usize, j: usize| {
        let (x0, y0) = (i * side, j * side);
        let mut v: Vec<f64> = (y0..(y0 + side).min(h))
            .flat_map(|y| (x0..(x0 + side).min(w)).map(move |x| (x, y)))
            .map(|(x, y)| f64::from(plane.get(x, y)))
            .filter(|v| v.is_finite())
            .collect();
        if v.is_empty() { 0.0 } else { median(&mut v) as f32 }
    };
    let coarse = Plane::from_fn(nx, ny, middle);
    let s = side as f64;
    Plane::from_fn(w, h, |x, y| plane.get(x, y) - coarse.bilinear((x as f64 + 0.5) / s, (y as f64 + 0.5) / s))
}

/// Every seventh pixel that is not at full scale.
fn sample(p: &Plane) -> Vec<f64> {
    p.data.iter().step_by(7).filter(|v| v.is_finite()).map(|v| f64::from(*v)).collect()
}

/// Structure and noise of a flattened plane: noise of neighbours is independent, structure is not, so that the mean product of
/// neighbours is the structure's variance and the rest the noise's.
fn texture_and_noise(p: &Plane) -> (f64, f64) {
    let sample = sample(p);
    let cut = OUTLIER * spread(&sample).max(1e-6);
    let (mut n, mut own, mut shared) = (0.0f64, 0.0, 0.0);
    for row in p.data.chunks_exact(p.width.max(1)) {
        for pair in row.windows(2) {
            let (a, b) = (f64::from(pair[0]), f64::from(pair[1]));
            if a.abs() < cut && b.abs() < cut {
                (n, own, shared) = (n + 1.0, own + a * a, shared + a * b);
            }
        }
    }
    let (own, shared) = (own / n.max(1.0), (shared / n.max(1.0)).max(0.0));
    (shared.sqrt(), (own - shared).max(0.0).sqrt())
}

/// Root mean square of the cells' light over the smooth light: as the mean product of two halves of each cell, so that noise
/// falls out.
fn show_through(p: &Plane, side: usize) -> f64 {
    let (nx, ny) = (p.width / side, p.height / side);
    let mut halves: Vec<(f64, f64)> = Vec::with_capacity(nx * ny);
    for (i, j) in (0..ny).flat_map(|j| (0..nx).map(move |i| (i, j))) {
        let (mut sum, mut n) = ([0.0f64; 2], [0.0f64; 2]);
        for y in j * side..(j + 1) * side {
            for x in i * side..(i + 1) * side {
                let k = (x + y) % 2;
                sum[k] += f64::from(p.get(x, y));
                n[k] += 1.0;
            }
        }
        halves.push((sum[0] / n[0].max(1.0), sum[1] / n[1].max(1.0)));
    }
    halves.retain(|h| (h.0 + h.1).is_finite());
    let mut all: Vec<f64> = halves.iter().map(|h| (h.0 + h.1) / 2.0).collect();
    let deviation = spread(&all).max(1e-6);
    let middle = median(&mut all);
    let kept: Vec<(f64, f64)> = halves
        .into_iter()
        .map(|h| (h.0 - middle, h.1 - middle))
        .filter(|h| ((h.0 + h.1) / 2.0).abs() < OUTLIER * deviation)
        .collect();
    let mean = kept.iter().map(|h| (h.0 + h.1) / 2.0).sum::<f64>() / kept.len().max(1) as f64;
    let shared = kept.iter().map(|h| (h.0 - mean) * (h.1 - mean)).sum::<f64>() / kept.len().max(1) as f64;
    shared.max(0.0).sqrt()
}

/// Pixels that stand out, gathered into specks.
fn specks(p: &Plane, step: usize) -> Vec<Speck> {
    let (w, h) = (p.width, p.height);
    let sample = sample(p);
    let cut = ((STANDS_OUT.0 * spread(&sample)) as f32).max(STANDS_OUT.1);
    let mut open: Vec<bool> = p.data.iter().map(|v| v.abs() > cut).collect();
    let mut found = Vec::new();
    for k in 0..open.len() {
        if !open[k] {
            continue;
        }
        open[k] = false;
        let (mut stack, mut pixels) = (vec![k], vec![]);
        while let Some(k) = stack.pop() {
            pixels.push(k);
            let (x, y) = (k % w, k / w);
            for ny in y.saturating_sub(GAP)..(y + GAP + 1).min(h) {
                for nx in x.saturating_sub(GAP)..(x + GAP + 1).min(w) {
                    let n = ny * w + nx;
                    if open[n] {
                        open[n] = false;
                        stack.push(n);
                    }
                }
            }
        }
        found.extend(speck(p, &pixels, cut, step));
    }
    found.sort_by(|a: &Speck, b: &Speck| b.area.total_cmp(&a.area));
    found
}

/// A speck of the pixels that hang together; a single pixel counts only where it stands out twice as far.
fn speck(p: &Plane, pixels: &[usize], cut: f32, step: usize) -> Option<Speck> {
    let peak = pixels.iter().map(|&k| p.data[k]).fold(0.0f32, |a, v| if v.abs() > a.abs() { v } else { a });
    if pixels.len() < 2 && peak.abs() < 2.0 * cut {
        return None;
    }
    let (mut low, mut high, mut sum) = (point(f64::MAX, f64::MAX), point(0.0, 0.0), Point::default());
    for &k in pixels {
        let q = point((k % p.width) as f64 + 0.5, (k / p.width) as f64 + 0.5);
        low = point(low.x.min(q.x), low.y.min(q.y));
        high = point(high.x.max(q.x), high.y.max(q.y));
        sum = sum + q;
    }
    let s = step as f64;
    Some(Speck {
        at: sum * (s / pixels.len() as f64),
        length: ((high - low).norm() + 1.0) * s,
        area: pixels.len() as f64 * s * s,
        contrast: f64::from(peak),
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Noise and structure by their definitions: a chess board of single pixels has no neighbour alike, stripes of eight have.
    #[test]
    fn noise_and_structure_come_apart() {
        // SplitMix64's finaliser of the pixel's number, as an even spread of deviation 1.
        let random = |x: usize, y: usize| {
            let mut z = (y * 400 + x) as u64;
            z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9).wrapping_add(0x9e37_79b9_7f4a_7c15);
            z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
            (((z ^ (z >> 31)) >> 40) as f32 / (1u64 << 24) as f32 - 0.5) * 12f32.sqrt()
        };
        let p = Plane::from_fn(400, 300, |x, y| 0.01 * (x as f32 * 0.2).sin() + 0.004 * random(x, y));
        let (texture, noise) = texture_and_noise(&p);
        // A sine's rms is its amplitude over the root of 2, less a little from pixel to pixel.
        assert!((texture - 0.00707 * 0.2f64.cos().sqrt()).abs() < 2e-4, "{texture}");
        assert!((noise - 0.004).abs() < 2e-4, "{noise}");
        let desk = show_through(&p, 4);
        assert!((desk - 0.00707).abs() < 4e-4, "{desk}");
    }

    #[test]
    fn specks_are_counted_once_each() {
        let dark = [(50, 40, 3, 3), (200, 100, 40, 1), (300, 250, 2, 2)];
        let p = Plane::from_fn(400, 300, |x, y| {
            let hit = dark.iter().any(|&(a, b, w, h)| (a..a + w).contains(&x) && (b..b + h).contains(&y));
            // The long one is a broken hair.
            if hit && x % 10 != 0 { -0.3 } else { ((x * 7 + y * 13) % 5) as f32 * 0.001 }
        });
        let found = specks(&p, 1);
        assert_eq!(found.len(), 3, "{found:?}");
        assert!(found[0].length > 38.0 && (found[0].contrast + 0.3).abs() < 1e-6);
    }
}
