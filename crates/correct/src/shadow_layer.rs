//! Sets a print on pure white with its own shadow.
//!
//! The surround of a mount is `S^depth`, one neutral band: `S = 1 - d` with `d` the measured darkness, smooth, 0 exactly
//! where the shadow cannot be told from paper, and reaching 0 with zero slope so that no edge shows (common practice, no source).

use crate::canvas::Canvas;
use pixels::Plane;
pub use pixels::encoder::dither;
use pixels::filter::box_mean;
use print::shadow::Shade;
use std::ops::Range;

/// The darkness fades to nothing over so much before the canvas ends, mm: no shadow may meet the edge of the picture.
pub const RIM_MM: f64 = 2.0;

/// The measured darkness with its faint end made smooth, ready to be laid on any canvas of its print.
#[derive(Clone, Debug)]
pub struct Tail {
    darkness: Plane,
    /// Left, top, right and bottom of the print's rectangle, pixels of the working scale.
    print: [f64; 4],
    px_per_mm: f64,
}

impl Tail {
    /// The tail of a shade in which the print's rectangle is `print` (left, top, right, bottom, pixels of the shade).
    pub fn new(shade: &Shade, print: [f64; 4]) -> Self {
        Self { darkness: smooth_tail(shade), print, px_per_mm: shade.px_per_mm }
    }

    /// How far the shadow reaches beyond the print's rectangle at the left, top, right and bottom, mm.
    pub fn reach_mm(&self) -> [f64; 4] {
        let h = self.darkness.height;
        let mut used = [f64::INFINITY, f64::INFINITY, 0.0f64, 0.0f64];
        for y in 0..h {
            let x = extent(self.darkness.row(y), |v| v > 0.0);
            if !x.is_empty() {
                used[0] = used[0].min(x.start as f64);
                used[2] = used[2].max(x.end as f64);
                used[1] = used[1].min(y as f64);
                used[3] = used[3].max(y as f64 + 1.0);
            }
        }
        let past = |i: usize| if i < 2 { self.print[i] - used[i] } else { used[i] - self.print[i] };
        std::array::from_fn(|i| past(i).max(0.0) / self.px_per_mm)
    }

    /// The layer for a canvas, with the shadow's `depth` (0 none, 1 as shot, 2 twice as deep: the share of light that the
    /// shadow leaves is raised to that power, as two such shadows would).
    pub fn on(&self, canvas: &Canvas, depth: f64) -> Layer {
        let step = canvas.px_per_mm / self.px_per_mm;
        // Where the canvas begins, in working pixels: a fraction, since the two canvases' pixels need not meet.
        let origin = [self.print[0] - canvas.print[0] / step, self.print[1] - canvas.print[1] / step];
        let end = [origin[0] + canvas.width as f64 / step, origin[1] + canvas.height as f64 / step];
        let reach = RIM_MM * self.px_per_mm;
        let (w, h) = (self.darkness.width, self.darkness.height);
        let share = Plane::from_fn(w, h, |x, y| {
            let d = self.darkness.get(x, y);
            if d <= 0.0 {
                return 1.0;
            }
            let (x, y) = (x as f64 + 0.5, y as f64 + 0.5);
            // The last working pixel's centre may lie within the canvas: it must be white too.
            let rim = (x - origin[0]).min(end[0] - x).min(y - origin[1]).min(end[1] - y) - 1.0;
            (1.0 - (d * smoothstep((rim / reach) as f32)).min(1.0)).powf(depth as f32)
        });
        let dark = (0..h).map(|y| extent(share.row(y), |v| v < 1.0)).collect();
        Layer { share, step, origin, dark }
    }
}

/// From the first to past the last value that `holds`; empty where none does.
fn extent(row: &[f32], holds: impl Fn(f32) -> bool) -> Range<usize> {
    let first = row.iter().position(|v| holds(*v));
    first.map_or(0..0, |from| from..row.iter().rposition(|v| holds(*v)).map_or(from, |last| last + 1))
}

/// The shadow as it will lie on the white of one canvas.
#[derive(Clone, Debug)]
pub struct Layer {
    /// Share of white, 1 outside the shadow, at the shade's working scale.
    share: Plane,
    /// Canvas pixels per pixel of `share`.
    step: f64,
    /// The canvas's top left corner in pixels of `share`.
    origin: [f64; 2],
    /// From the first to the last pixel under 1 in each row of `share`.
    dark: Vec<Range<usize>>,
}

impl Layer {
    /// The share of white at a canvas position, 1 exactly outside the shadow.
    pub fn at(&self, x: f64, y: f64) -> f32 {
        self.share.bilinear(x / self.step + self.origin[0], y / self.step + self.origin[1])
    }

    /// Lays canvas row `y` onto white, interleaved RGB, as [`Layer::at`] gives it at its pixels' centres; what lies in the
    /// columns `hidden` is left alone.
    pub fn lay(&self, y: usize, hidden: Range<usize>, out: &mut [f32]) {
        let s = &self.share;
        let (j, below, fy) = cell((y as f64 + 0.5) / self.step + self.origin[1], s.height);
        let (Some(a), Some(b)) = (self.dark.get(j), self.dark.get(below)) else { return };
        if a.is_empty() && b.is_empty() {
            return;
        }
        let (from, to) = if a.is_empty() {
            (b.start, b.end)
        } else if b.is_empty() {
            (a.start, a.end)
        } else {
            (a.start.min(b.start), a.end.max(b.end))
        };
        // A dark cell shows in the canvas pixels between the centres of its neighbours.
        let column = |c: f64| ((c - self.origin[0]) * self.step).max(0.0);
        let first = column(from as f64 - 0.5) as usize;
        let last = (column(to as f64 + 0.5).ceil() as usize).min(out.len() / 3);
        let (top, bottom) = (s.row(j), s.row(below));
        // `a + (b - a) t` is exactly 1 between ones.
        let down = |i: usize| top[i] + (bottom[i] - top[i]) * fy;
        for x in (first..last).filter(|x| !hidden.contains(x)) {
            let (i, right, fx) = cell((x as f64 + 0.5) / self.step + self.origin[0], s.width);
            let a = down(i);
            out[3 * x..3 * x + 3].fill(a + (down(right) - a) * fx);
        }
    }
}

/// The two cells around a position (centres at +0.5) and the share of the second, clamped at the rim.
fn cell(at: f64, n: usize) -> (usize, usize, f32) {
    let t = (at - 0.5).clamp(0.0, n as f64 - 1.0);
    let i = t as usize;
    (i, (i + 1).min(n - 1), (t - i as f64) as f32)
}

/// The darkness with its faint end made smooth.
///
/// Where the darkness is well over the bed's unevenness it is kept as measured. Where it comes near, paper and desk would
/// show: there it is averaged over a millimetre, and what stays below the unevenness fades to nothing, as
/// `d smoothstep((d - d0) / (d1 - d0))`, which leaves 0 with zero slope and meets `d` with that of `d`.
fn smooth_tail(shade: &Shade) -> Plane {
    // Three spreads: the chance that plain paper passes is small, and what passes must still hang together with the print.
    // Never under 0.6 %, half a step above the finest darkness 8 bits can show.
    let d0 = (3.0 * shade.unevenness).clamp(0.006, 0.06) as f32;
    let d1 = 3.0 * d0;
    let faint = |d: f32| d * smoothstep((d - d0) / (d1 - d0));
    let broad = broad_mean(&shade.darkness, 2.0 * d1, shade.px_per_mm);
    let mut out = shade.darkness.clone();
    out.data.iter_mut().zip(&broad.data).for_each(|(d, b)| {
        let sure = smoothstep((*d - 1.5 * d0) / (4.5 * d0));
        *d = sure * *d + (1.0 - sure) * faint(*b).min(*d + d0);
    });
    out
}

fn smoothstep(t: f32) -> f32 {
    let t = t.clamp(0.0, 1.0);
    t * t * (3.0 - 2.0 * t)
}

/// The mean over about a millimetre of the darkness under `most`, weighted so that the deep shadow beside it has no part.
fn broad_mean(d: &Plane, most: f32, px_per_mm: f64) -> Plane {
    let r = (0.45 * px_per_mm).round().max(1.0) as usize;
    let weight = |v: f32| 1.0 - smoothstep(v / most * 2.0 - 1.0);
    let mut sum = like(d, |v| v * weight(v));
    let mut n = like(d, weight);
    // Three boxes make a bell (standard deviation r).
    for _ in 0..3 {
        (sum, n) = (box_mean(&sum, r), box_mean(&n, r));
    }
    sum.data.iter_mut().zip(&n.data).for_each(|(s, n)| *s = if *n > 1e-3 { *s / n } else { 0.0 });
    sum
}

fn like(p: &Plane, f: impl Fn(f32) -> f32) -> Plane {
    Plane { data: p.data.iter().map(|v| f(*v)).collect(), width: p.width, height: p.height }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A shade with a soft ramp of 1 mm along a strip and grain all over, none of it over the bed's unevenness.
    fn planted(unevenness: f64) -> Shade {
        let darkness = Plane::from_fn(300, 200, |x, y| {
            let ramp = (1.0 - (x as f32 - 100.0) / 12.0).clamp(0.0, 1.0) * 0.8;
            ramp.max(0.01 * ((x * 7 + y * 13) % 10) as f32 / 10.0)
        });
        Shade { darkness, unevenness, level: 1.0, px_per_mm: 12.0 }
    }

    /// The layer of a shade on a canvas `step` times as fine that shows all of it, a print of 40 mm square in its middle.
    fn laid(shade: &Shade, step: f64, depth: f64) -> Layer {
        let (w, h) = (shade.darkness.width as f64, shade.darkness.height as f64);
        let print = [60.0, 60.0, w - 60.0, h - 60.0];
        let canvas = Canvas {
            width: (w * step) as usize,
            height: (h * step) as usize,
            px_per_mm: shade.px_per_mm * step,
            print: print.map(|v| v * step),
        };
        Tail::new(shade, print).on(&canvas, depth)
    }

    #[test]
    fn paper_becomes_exactly_white_and_the_shadow_stays() {
        let layer = laid(&planted(0.01), 1.5, 1.0);
        for y in (40..250).step_by(7) {
            assert!((200..440).step_by(3).all(|x| layer.at(x as f64, y as f64) == 1.0), "row {y}");
            assert!((layer.at(90.0, y as f64) - 0.2).abs() < 0.01);
            // The middle of the ramp, where nothing may be shaved off.
            assert!((layer.at(1.5 * 106.5, y as f64) - 0.6).abs() < 0.02);
        }
    }

    #[test]
    fn the_shadow_fades_outwards_without_a_step_and_never_returns() {
        let layer = laid(&planted(0.004), 1.0, 1.0);
        let row: Vec<f32> = (60..200).map(|x| layer.at(x as f64 + 0.5, 100.5)).collect();
        assert!(row.windows(2).all(|w| w[1] >= w[0] - 0.004), "{row:?}");
        // The steepest step is that of the ramp itself (0.8 / 12) and a little for the foot being drawn in.
        assert!(row.windows(2).all(|w| w[1] - w[0] < 0.11));
    }

    #[test]
    fn depth_scales_from_none_to_double() {
        let s = planted(0.01);
        let at = |depth| laid(&s, 1.0, depth).at(50.0, 100.0);
        assert_eq!(at(0.0), 1.0);
        assert!((at(2.0) - at(1.0) * at(1.0)).abs() < 1e-6);
    }

    #[test]
    fn a_row_is_its_places() {
        let layer = laid(&planted(0.01), 1.7, 1.0);
        for y in [0, 33, 170, 339] {
            let mut row = vec![1.0; 3 * 510];
            layer.lay(y, 0..0, &mut row);
            let far = |(x, v): (usize, &[f32])| (v[2] - layer.at(x as f64 + 0.5, y as f64 + 0.5)).abs();
            assert!(row.chunks_exact(3).enumerate().map(far).fold(0.0, f32::max) < 1e-5);
        }
    }

    /// A shadow stays where it lies beside the print on a canvas whose pixels do not meet the working ones.
    #[test]
    fn a_canvas_with_other_margins_shows_the_shadow_in_its_place() {
        let shade = planted(0.01);
        let print = [60.0, 60.0, 100.0, 140.0];
        for (step, margin) in [(1.37, 3.3), (0.83, 2.9)] {
            let canvas = Canvas::around((40.0 / 12.0, 80.0 / 12.0), [margin; 4], 12.0 * step);
            let layer = Tail::new(&shade, print).on(&canvas, 1.0);
            // The ramp is through half its depth 106 working pixels from the left: 6 past the print's right edge.
            let half = layer.at(canvas.print[2] + 6.0 * step, (canvas.print[1] + canvas.print[3]) / 2.0);
            assert!((half - 0.6).abs() < 0.04, "{half}");
        }
    }

    #[test]
    fn the_layer_is_white_at_the_end_of_the_canvas() {
        let s = Shade { darkness: Plane::filled(120, 120, 0.7), unevenness: 0.005, level: 1.0, px_per_mm: 12.0 };
        let layer = laid(&s, 1.0, 1.0);
        assert!((0..120).all(|k| layer.at(k as f64 + 0.5, 0.5) == 1.0 && layer.at(119.5, k as f64 + 0.5) == 1.0));
        assert!((layer.at(60.0, 60.0) - 0.3).abs() < 1e-5);
        let m = Tail::new(&planted(0.01), [50.0, 50.0, 90.0, 150.0]).reach_mm();
        assert!((m[2] - 22.0 / 12.0).abs() < 0.2 && m[0] > 45.0 / 12.0, "{m:?}");
    }

    #[test]
    fn dither_keeps_the_mean_and_leaves_white_alone() {
        for v in [0.2137, 0.5, 0.9921, 0.998] {
            let n = 512;
            let mean = (0..n * n).map(|k| dither(v, k % n, k / n) as f64).sum::<f64>() / (n * n) as f64;
            // The top half step is clipped at 255, which near white costs a little of the mean.
            let slack = if v > 0.995 { 0.15 } else { 0.01 };
            assert!((mean - v as f64 * 255.0).abs() < slack, "{v}: {mean}");
        }
        assert!((0..1000).all(|k| dither(1.0, k, k / 7) == 255));
    }
}
