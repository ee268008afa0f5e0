//! Lens blur: a Gaussian of one width, or of a width that follows the height over the plane of focus.

use super::shade::Strip;

/// Widest kernel reach, pixels; three standard deviations of a blur of 15 px.
pub const REACH: usize = 45;

/// The kernel of a Gaussian, from its middle out, normalised over both sides.
///
/// Each tap is the Gaussian's mean over its pixel by Simpson's rule; under 0.2 px it is the pixel itself.
pub fn kernel(sigma: f32) -> Vec<f32> {
    if sigma < 0.2 {
        return vec![1.0];
    }
    let g = |x: f32| (-0.5 * (x / sigma).powi(2)).exp();
    let reach = ((3.2 * sigma).ceil() as usize).clamp(1, REACH);
    let mut k: Vec<f32> = (0..=reach).map(|i| g(i as f32 - 0.5) + 4.0 * g(i as f32) + g(i as f32 + 0.5)).collect();
    let sum = k[0] + 2.0 * k[1..].iter().sum::<f32>();
    k.iter_mut().for_each(|v| *v /= sum);
    k
}

/// Blurs all planes of a strip by one kernel. Values past the strip are taken as its edge.
pub fn even(strip: &mut Strip, k: &[f32]) {
    let width = strip.width;
    strip.planes.iter_mut().for_each(|plane| even_plane(plane, width, k));
}

/// Blurs one plane of rows of `w` values by a kernel, across and down.
pub fn even_plane(plane: &mut [f32], w: usize, k: &[f32]) {
    if k.len() == 1 || w == 0 {
        return;
    }
    let rows = plane.len() / w;
    let across = rows_blurred(plane, w, k);
    for j in 0..rows {
        let out = &mut plane[j * w..][..w];
        let row = |d: isize| &across[(j as isize + d).clamp(0, rows as isize - 1) as usize * w..][..w];
        out.iter_mut().zip(row(0)).for_each(|(o, v)| *o = k[0] * v);
        for (d, &t) in k.iter().enumerate().skip(1) {
            let (up, down) = (row(-(d as isize)), row(d as isize));
            out.iter_mut().zip(up.iter().zip(down)).for_each(|(o, (a, b))| *o += t * (a + b));
        }
    }
}

fn rows_blurred(plane: &[f32], w: usize, k: &[f32]) -> Vec<f32> {
    let r = k.len() - 1;
    let mut padded = vec![0.0f32; w + 2 * r];
    let mut out = vec![0.0f32; plane.len()];
    for (line, out) in plane.chunks_exact(w).zip(out.chunks_exact_mut(w)) {
        padded[..r].fill(line[0]);
        padded[r..r + w].copy_from_slice(line);
        padded[r + w..].fill(line[w - 1]);
        out.iter_mut().zip(line).for_each(|(o, v)| *o = k[0] * v);
        for (d, &t) in k.iter().enumerate().skip(1) {
            let (a, b) = (&padded[r - d..][..w], &padded[r + d..][..w]);
            out.iter_mut().zip(a.iter().zip(b)).for_each(|(o, (a, b))| *o += t * (a + b));
        }
    }
    out
}

/// Blurs by a standard deviation that differs from pixel to pixel, across and then down.
///
/// `widths` holds sixteenths of a pixel; `kernels[i]` is the kernel of i sixteenths.
pub fn uneven(strip: &mut Strip, widths: &[u16], kernels: &[Vec<f32>]) {
    let (w, rows) = (strip.width, strip.rows);
    for plane in &mut strip.planes {
        for (step, count) in [(1usize, w), (w, rows)] {
            let from = plane.clone();
            for j in 0..rows {
                for i in 0..w {
                    let (n, at) = (j * w + i, if step == 1 { i } else { j });
                    let k = &kernels[widths[n] as usize];
                    let mut sum = k[0] * from[n];
                    for (d, t) in k.iter().enumerate().skip(1) {
                        let (a, b) = (d.min(at), d.min(count - 1 - at));
                        sum += t * (from[n - a * step] + from[n + b * step]);
                    }
                    plane[n] = sum;
                }
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// An edge blurred by a Gaussian of sigma rises from 10 to 90 % over 2.5631 sigma (normal distribution).
    #[test]
    fn an_edge_rises_as_the_gaussian_says() {
        let sigma = 2.0f32;
        let w = 60;
        let line: Vec<f32> = (0..w).map(|i| if i >= 30 { 1.0 } else { 0.0 }).collect();
        let plane: Vec<f32> = line.iter().cycle().take(w * 5).copied().collect();
        let strip =
            || Strip { width: w, rows: 5, planes: [plane.clone(), plane.clone(), plane.clone()], height: vec![] };
        let (mut a, mut b) = (strip(), strip());
        even(&mut a, &kernel(sigma));
        let kernels: Vec<Vec<f32>> = (0..=40).map(|i| kernel(i as f32 / 16.0)).collect();
        uneven(&mut b, &vec![32; w * 5], &kernels);
        let row = &a.planes[1][2 * w..3 * w];
        let cross = |level: f32| {
            let i = row.iter().position(|&v| v > level).unwrap();
            i as f32 - (row[i] - level) / (row[i] - row[i - 1])
        };
        assert!((cross(0.9) - cross(0.1) - 2.5631 * sigma).abs() < 0.12, "{}", cross(0.9) - cross(0.1));
        assert!(a.planes[0].iter().zip(&b.planes[0]).all(|(x, y)| (x - y).abs() < 1e-5));
    }
}
