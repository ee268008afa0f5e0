//! How round a print's corners are: beyond the arc the frame shows bed, which is no part of the print.

use super::Ground;
use pixels::Picture;

/// The largest radius looked for, mm: integral prints have 1 to 1.5.
const MOST: f64 = 2.5;
/// Step of the radii tried, mm: a tenth moves the arc by 0.04 mm at the corner.
const STEP: f64 = 0.1;
/// Border needed beside a corner for its own tone to be known, mm.
const BORDER: f64 = 3.0;
/// A rounding counts where it explains the corners by so many noise variances better than square ones: five deviations of one
/// pixel, and neighbours share their noise.
const CLEAR: f64 = 50.0;
/// Spread of the bed beside a corner under which it is one tone, share of the light: half lit and half in shadow it is none.
const ONE_TONE: f64 = 0.05;

/// The radius of a print's outer corners, mm; 0 where nothing tells it. `border` is the narrowest border, mm.
///
/// One radius for all corners: at each the bed beyond it and the border within it are known, and a radius says how they mix.
/// The smallest radius that explains the corners as well as the best is taken, so that no paper is cut away.
pub fn corner_radius(g: &Ground, border: f64) -> f64 {
    if border < BORDER {
        return 0.0;
    }
    let corners: Vec<Corner> = (0..4).filter_map(|k| Corner::of(g, k)).collect();
    let n: usize = corners.iter().map(|c| 3 * c.places.len()).sum();
    if n == 0 {
        return 0.0;
    }
    let off = |r: f64| corners.iter().map(|c| c.misfit(r, g.blur_mm)).sum::<f64>();
    let tried: Vec<(f64, f64)> = (0..=(MOST / STEP) as usize).map(|k| k as f64 * STEP).map(|r| (r, off(r))).collect();
    let least = tried.iter().map(|t| t.1).fold(f64::INFINITY, f64::min);
    let noise = (least / n as f64).max(1e-7);
    if tried[0].1 - least < CLEAR * noise {
        return 0.0;
    }
    tried.iter().find(|t| t.1 - least < 9.0 * noise).map_or(0.0, |t| t.0)
}

/// One corner's surroundings.
struct Corner {
    bed: [f64; 3],
    border: [f64; 3],
    /// Distances inward from its two sides (mm), and the reading.
    places: Vec<(f64, f64, [f64; 3])>,
}

impl Corner {
    fn of(g: &Ground, k: usize) -> Option<Self> {
        let (right, low) = (k == 1 || k == 2, k >= 2);
        let at = (g.print[if right { 2 } else { 0 }], g.print[if low { 3 } else { 1 }]);
        let (w, h) = (g.ratio.width(), g.ratio.height());
        let reach = BORDER * g.px_per_mm;
        let span = |c: f64, n: usize| (c - reach).max(0.0) as usize..((c + reach) as usize).min(n);
        let (mut bed, mut border, mut places) = (vec![], vec![], vec![]);
        for (x, y) in span(at.1, h).flat_map(|y| span(at.0, w).map(move |x| (x, y))) {
            let away =
                |p: usize, c: f64, flip: bool| (p as f64 + 0.5 - c) / g.px_per_mm * if flip { -1.0 } else { 1.0 };
            let (u, v) = (away(x, at.0, right), away(y, at.1, low));
            let value = reading(g.ratio, x, y)?;
            let out = u.min(v);
            // Bed from past the blur to a millimetre out, beside the corner only.
            if (-1.0..-0.4).contains(&out) && u.max(v) < 1.0 {
                bed.push(value);
            }
            // What lies so far in is border for every radius up to 4 mm.
            if out > 1.2 {
                border.push(value);
            }
            if out > -0.2 && u.max(v) < MOST {
                places.push((u, v, value));
            }
        }
        let (bed, spread) = mean(&bed)?;
        let (border, _) = mean(&border)?;
        (spread < ONE_TONE).then_some(Self { bed, border, places })
    }

    /// Sum of the squares by which the places differ from a corner of this radius, seen through a blur (mm).
    fn misfit(&self, r: f64, blur: f64) -> f64 {
        let one = |&(u, v, value): &(f64, f64, [f64; 3])| {
            let inside = if u < r && v < r { r - (r - u).hypot(r - v) } else { u.min(v) };
            let cover = (inside / blur + 0.5).clamp(0.0, 1.0);
            (0..3).map(|b| (value[b] - self.bed[b] - (self.border[b] - self.bed[b]) * cover).powi(2)).sum::<f64>()
        };
        self.places.iter().map(one).sum()
    }
}

fn reading(p: &Picture, x: usize, y: usize) -> Option<[f64; 3]> {
    let v = p.get(x, y).map(f64::from);
    v.iter().all(|v| v.is_finite()).then_some(v)
}

/// Mean of readings, and the deviation of their green.
fn mean(v: &[[f64; 3]]) -> Option<([f64; 3], f64)> {
    let n = v.len() as f64;
    let mean: [f64; 3] = std::array::from_fn(|b| v.iter().map(|p| p[b]).sum::<f64>() / n);
    let spread = (v.iter().map(|p| (p[1] - mean[1]).powi(2)).sum::<f64>() / n).sqrt();
    (v.len() > 20).then_some((mean, spread))
}

#[cfg(test)]
mod tests {
    use super::*;
    use pixels::Plane;

    /// Corners drawn from the circle's equation, with a border 6 % darker than the bed and 1 % of noise, come back; square ones
    /// and a border of the bed's own tone stay square.
    #[test]
    fn planted_corners_come_back() {
        let (w, h, q) = (600usize, 500usize, 10.0);
        let print = [80.0, 80.0, 520.0, 420.0];
        for (radius, tone, want) in [(1.5, 0.94, 1.5), (1.0, 0.3, 1.0), (0.0, 0.94, 0.0), (1.5, 1.0, 0.0)] {
            let band = Plane::from_fn(w, h, |x, y| {
                let (x, y) = (x as f64 + 0.5, y as f64 + 0.5);
                let (u, v) = ((x - print[0]).min(print[2] - x) / q, (y - print[1]).min(print[3] - y) / q);
                let d = if u < radius && v < radius { radius - (radius - u).hypot(radius - v) } else { u.min(v) };
                let cover = (d / 0.2 + 0.5).clamp(0.0, 1.0);
                let noise = 0.035 * (((x * 12.9898 + y * 78.233).sin() * 43_758.545_3).fract().abs() - 0.5);
                (1.0 + (tone - 1.0) * cover + noise) as f32
            });
            let ratio = Picture([band.clone(), band.clone(), band]);
            let cover = Plane::filled(w, h, 0.0);
            let g = Ground { ratio: &ratio, luma: [0.2, 0.7, 0.1], cover: &cover, print, px_per_mm: q, blur_mm: 0.2 };
            let got = corner_radius(&g, 4.5);
            assert!((got - want).abs() < 0.25, "{radius} {tone}: {got}");
        }
    }
}
