//! Resizes planes by area or by cubic convolution, as tools do before a picture is posted.

use pixels::Plane;

/// How a new pixel is made of old ones.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Kernel {
    /// The mean of the area it covers; for reductions.
    Area,
    /// Cubic convolution with a = -1/2 (Keys 1981, doi 10.1109/TASSP.1981.1163711), widened for reductions.
    Cubic,
}

/// The weights of one new sample: the first old one and a weight for each from there.
struct Taps {
    first: usize,
    weights: Vec<f32>,
}

/// Resizes a plane to `width` by `height`; the frame's rims stay its rims.
pub fn resized(plane: &Plane, width: usize, height: usize, kernel: Kernel) -> Plane {
    if (plane.width, plane.height) == (width, height) {
        return plane.clone();
    }
    let across = taps(plane.width, width, kernel);
    let mut narrow = Plane::filled(width, plane.height, 0.0);
    for (line, out) in plane.data.chunks_exact(plane.width).zip(narrow.data.chunks_exact_mut(width)) {
        for (o, t) in out.iter_mut().zip(&across) {
            *o = t.weights.iter().zip(&line[t.first..]).map(|(w, v)| w * v).sum();
        }
    }
    let mut out = Plane::filled(width, height, 0.0);
    for (row, t) in out.data.chunks_exact_mut(width).zip(taps(plane.height, height, kernel)) {
        for (k, w) in t.weights.iter().enumerate() {
            let from = &narrow.data[(t.first + k) * width..][..width];
            row.iter_mut().zip(from).for_each(|(o, v)| *o += w * v);
        }
    }
    out
}

fn taps(from: usize, to: usize, kernel: Kernel) -> Vec<Taps> {
    let step = from as f64 / to as f64;
    (0..to).map(|i| one(i, step, from, kernel)).collect()
}

fn one(i: usize, step: f64, from: usize, kernel: Kernel) -> Taps {
    // A reduction widens the kernel to the new pixel's side; an enlargement keeps the old one's.
    let scale = step.max(1.0);
    let centre = (i as f64 + 0.5) * step;
    let reach = match kernel {
        Kernel::Area => 0.5 * scale + 0.5,
        Kernel::Cubic => 2.0 * scale,
    };
    let weight = |k: isize| {
        let x = (k as f64 + 0.5 - centre) / scale;
        match kernel {
            Kernel::Area => {
                let half = 0.5 * scale;
                let (a, b) = ((k as f64).max(centre - half), (k as f64 + 1.0).min(centre + half));
                (b - a).max(0.0)
            }
            Kernel::Cubic => cubic(x.abs()),
        }
    };
    let (low, high) = ((centre - reach).floor() as isize, (centre + reach).ceil() as isize);
    let inside = |k: isize| k.clamp(0, from as isize - 1) as usize;
    let mut weights = vec![0.0f64; inside(high) - inside(low) + 1];
    (low..=high).for_each(|k| weights[inside(k) - inside(low)] += weight(k));
    let sum: f64 = weights.iter().sum();
    Taps { first: inside(low), weights: weights.iter().map(|w| (w / sum) as f32).collect() }
}

/// Keys' kernel, a = -1/2.
fn cubic(x: f64) -> f64 {
    if x < 1.0 {
        (1.5 * x - 2.5) * x * x + 1.0
    } else if x < 2.0 {
        ((-0.5 * x + 2.5) * x - 4.0) * x + 2.0
    } else {
        0.0
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A ramp stays a ramp at the same place: pixel centres map by the ratio of the sizes (closed form; cubic convolution
    /// reproduces second-degree polynomials, Keys 1981).
    #[test]
    fn a_ramp_keeps_its_place() {
        let ramp = Plane::from_fn(90, 40, |x, y| 0.01 * (x as f32 + 0.5) + 0.02 * (y as f32 + 0.5));
        for kernel in [Kernel::Area, Kernel::Cubic] {
            for (w, h) in [(60, 30), (45, 20), (67, 29), (120, 53)] {
                if kernel == Kernel::Area && w > 90 {
                    continue;
                }
                let small = resized(&ramp, w, h, kernel);
                for (x, y) in [(w / 2, h / 2), (w / 3, h / 3), (w - 6, h - 6)] {
                    let (u, v) = ((x as f32 + 0.5) * 90.0 / w as f32, (y as f32 + 0.5) * 40.0 / h as f32);
                    let want = 0.01 * u + 0.02 * v;
                    let got = small.get(x, y);
                    // The area kernel's ragged share of edge pixels is exact only in the mean.
                    assert!((got - want).abs() < 4e-3, "{kernel:?} {w}: {got} is not {want}");
                }
            }
        }
    }

    /// Weights sum to one: an even plane stays even.
    #[test]
    fn an_even_plane_stays_even() {
        let even = Plane::filled(31, 17, 0.4);
        for kernel in [Kernel::Area, Kernel::Cubic] {
            assert!(resized(&even, 13, 9, kernel).data.iter().all(|v| (v - 0.4).abs() < 1e-6));
        }
    }
}
