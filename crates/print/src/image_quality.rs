//! What a found print's surface and surroundings show: clipping, sharpness, what covers it, what veils it, its shadow.

use crate::find::Found;
use geometry::fit::median;
use geometry::polygon::spans;
use geometry::{Point, Quad, point};
use pixels::{Field, Frame, Picture, Plane};
use rayon::prelude::*;

/// Shares of samples at full scale, by channel.
#[derive(Clone, Copy, Debug, Default)]
pub struct Clipped {
    /// Outside the print.
    pub bed: [f64; 3],
    /// On the print.
    pub print: [f64; 3],
}

/// How much of bed and print is at full scale: about 300,000 samples on a grid, which settle a share of 0.1 per cent to a
/// fiftieth of itself.
pub fn clipped(frame: &Frame, polygon: &[Point]) -> Clipped {
    let stride = ((frame.width * frame.height) as f64 / 3e5).sqrt().max(1.0) as usize;
    let (mut hit, mut all) = ([[0f64; 3]; 2], [0f64; 2]);
    for y in (stride / 2..frame.height).step_by(stride) {
        let inside = spans(polygon, y as f64 + 0.5);
        for x in (stride / 2..frame.width).step_by(stride) {
            let i = usize::from(within(&inside, x as f64 + 0.5));
            all[i] += 1.0;
            // The last 8-bit code but one still decodes to 0.991; compression lands clipped light there too.
            frame.linear(x, y).iter().enumerate().filter(|(_, v)| **v > 0.99).for_each(|(c, _)| hit[i][c] += 1.0);
        }
    }
    let share = |i: usize| hit[i].map(|h| h / all[i].max(1.0));
    Clipped { bed: share(0), print: share(1) }
}

fn within(spans: &[(f64, f64)], x: f64) -> bool {
    spans.iter().any(|s| (s.0..s.1).contains(&x))
}

/// A reduced view of the print over the bed in print space, about three pixels per millimetre.
struct Spread {
    plane: Vec<[f32; 3]>,
    width: usize,
    height: usize,
    scale: f64,
    reach: f64,
}

impl Spread {
    /// The print and `reach` mm around it.
    fn new(proxy: &Picture, step: f64, bed: &Field, found: &Found, reach: f64) -> Self {
        let scale = 3.0;
        let (w, h) = found.format.outer;
        let (width, height) = (((w + 2.0 * reach) * scale) as usize, ((h + 2.0 * reach) * scale) as usize);
        let corners = found.outline.corners().0;
        let map = geometry::Homography::from_points(&found.format.outer_quad().0, &corners.0)
            .unwrap_or(found.outline.frame_from_print);
        let value = |i: usize| {
            let (x, y) = ((i % width) as f64 + 0.5, (i / width) as f64 + 0.5);
            let p = map.apply(point(x / scale - reach, y / scale - reach));
            let (sx, sy) = (p.x / step, p.y / step);
            let outside =
                !(sx > 0.5 && sy > 0.5 && sx < proxy.width() as f64 - 0.5 && sy < proxy.height() as f64 - 0.5);
            let b = bed.at(p.x, p.y);
            std::array::from_fn(|c| if outside { f32::NAN } else { proxy.0[c].bilinear(sx, sy) / b[c].max(1e-6) })
        };
        let plane = (0..width * height).into_par_iter().map(value).collect();
        Self { plane, width, height, scale, reach }
    }

    /// True where what lies at a place by the print's edge lies beyond the edge too, and is no bed there: a finger or a thing
    /// goes on, while shading, wear and a piece of bed taken for border end at the edge or are bed outside.
    fn goes_on(&self, p: Point, outer: &Quad) -> bool {
        let centre = outer.centre();
        // Straight out across the nearer edge.
        let (w, h) = (outer.0[2].x, outer.0[2].y);
        let (dx, dy) = (p.x.min(w - p.x), p.y.min(h - p.y));
        let out = if dx < dy {
            point((p.x - centre.x).signum() * 2.5, 0.0)
        } else {
            point(0.0, (p.y - centre.y).signum() * 2.5)
        };
        let at = |p: Point| {
            let (x, y) = ((p.x + self.reach) * self.scale, (p.y + self.reach) * self.scale);
            let inside = x >= 0.0 && y >= 0.0 && (x as usize) < self.width && (y as usize) < self.height;
            inside.then(|| self.plane[y as usize * self.width + x as usize])
        };
        let (Some(here), Some(there)) = (at(p), at(p + out)) else { return true };
        // Past the frame nothing is known.
        if there[0].is_nan() {
            return true;
        }
        let like = (0..3).all(|c| (here[c] - there[c]).abs() < 0.3 * here[c] + 0.1);
        // A twelfth from the bed's own light is its pattern.
        let bed = (0..3).all(|c| (there[c] - 1.0).abs() < 0.085);
        like && !bed
    }

    fn mm(&self, x: usize, y: usize) -> Point {
        point((x as f64 + 0.5) / self.scale - self.reach, (y as f64 + 0.5) / self.scale - self.reach)
    }
}

/// The share of the print that a finger or an object covers, from the border: a patch of the border unlike all the rest of
/// it, wider than writing, that reaches over the print's edge. `None` where there is none. The side is where it comes from.
pub fn covered(proxy: &Picture, step: f64, bed: &Field, found: &Found) -> Option<(f64, Option<crate::Rim>)> {
    let s = Spread::new(proxy, step, bed, found, 4.0);
    let (outer, window) = (found.format.outer_quad(), found.format.window_quad());
    // A back has no window: what lies over it is looked for as far in as a border is usually wide.
    let beside = |p: Point| if found.back { 8.0 - outer.inset(p) } else { -window.inset(p) };
    let border = |p: Point| outer.inset(p) > 0.6 && beside(p) > 0.6;
    let mut colours: [Vec<f64>; 3] = Default::default();
    for y in 0..s.height {
        for x in 0..s.width {
            let v = s.plane[y * s.width + x];
            if border(s.mm(x, y)) && !v[0].is_nan() {
                (0..3).for_each(|c| colours[c].push(f64::from(v[c])));
            }
        }
    }
    let usual: [f64; 3] = std::array::from_fn(|c| geometry::fit::median(&mut colours[c]));
    // A quarter off the border's own colour is more than sheen, shading of a curl, or age does.
    let odd = Plane::from_fn(s.width, s.height, |x, y| {
        let v = s.plane[y * s.width + x];
        let p = s.mm(x, y);
        // On a black border the sheen alone is several times the border: a twentieth of the bed's light is allowed for it.
        let off = (0..3).any(|c| (f64::from(v[c]) - usual[c]).abs() > 0.25 * usual[c] + 0.05);
        f32::from(u8::from(off && outer.inset(p) > 0.0 && beside(p) > 0.0))
    });
    // Writing and scratches are thinner than two millimetres; a finger is not.
    let wide = pixels::filter::erode(&odd, (1.0 * s.scale) as usize);
    let grown = pixels::filter::dilate(&wide, (1.3 * s.scale) as usize);
    let mut area = 0.0;
    let mut centre = Point::default();
    let (mut edge, mut over) = (0usize, 0usize);
    for y in 0..s.height {
        for x in 0..s.width {
            if grown.get(x, y) > 0.0 && odd.get(x, y) > 0.0 {
                let p = s.mm(x, y);
                area += 1.0 / (s.scale * s.scale);
                centre = centre + p;
                if outer.inset(p) < 0.8 {
                    edge += 1;
                    over += usize::from(s.goes_on(p, &outer));
                }
            }
        }
    }
    // It must come over the edge: a stain lies within.
    if area < 12.0 || edge < 4 || over * 2 < edge {
        return None;
    }
    let n = area * s.scale * s.scale;
    let p = found.outline.frame_from_print.apply(centre * (1.0 / n));
    let middle = found.outline.corners().0.centre();
    let rim = crate::Rim::towards(p - middle);
    // The border shows about half of what reaches in over it.
    Some((2.0 * area / outer.area(), Some(rim)))
}

/// True where another thing as large as a print lies on the bed: more than an eighth of this print's area, farther from it
/// than any shadow reaches, differs from the bed by more than the bed's own pattern.
///
/// Squares of about 4 mm are judged by their means, each against the spread of them all: the grain of wood and stone, and
/// paper fibre that was sharpened, is no second print.
pub fn another(proxy: &Picture, step: f64, bed: &Field, found: &Found) -> bool {
    let polygon = found.polygon();
    let scale = found.pose.px_per_mm();
    let centre = found.outline.corners().0.centre();
    let grown: Vec<Point> = polygon.iter().map(|&p| p + (p - centre).unit() * (8.0 * scale)).collect();
    let square = ((4.0 * scale / step) as usize).clamp(2, 64);
    let mean = |x0: usize, y0: usize| -> [f64; 2] {
        let mut sum = [0.0; 2];
        let taps = (0..16).map(|k| (x0 + (k % 4) * square / 4, y0 + (k / 4) * square / 4));
        for (x, y) in taps {
            let b = bed.at((x as f64 + 0.5) * step, (y as f64 + 0.5) * step);
            let r: [f64; 3] = std::array::from_fn(|c| f64::from(proxy.get(x, y)[c] / b[c].max(1e-6)).min(4.0));
            // Border against bed differs in blue most; a desk showing through is even over the bands.
            (sum[0], sum[1]) = (sum[0] + (r[0] - r[2]) / 16.0, sum[1] + r[1] / 16.0);
        }
        sum
    };
    let in_row = |row: usize| {
        let inside = spans(&grown, (row * square + square / 2) as f64 * step);
        let out = |x: &usize| !within(&inside, (*x as f64 + square as f64 / 2.0) * step);
        (0..(proxy.width() / square)).map(|i| i * square).filter(out).map(|x| mean(x, row * square)).collect::<Vec<_>>()
    };
    let squares: Vec<[f64; 2]> = (0..proxy.height() / square).into_par_iter().flat_map_iter(in_row).collect();
    let of = |k: usize| -> (f64, f64) {
        let mut v: Vec<f64> = squares.iter().map(|s| s[k]).collect();
        (median(&mut v), geometry::fit::spread(&v))
    };
    let ((tint, tints), (tone, tones)) = (of(0), of(1));
    // Three per cent of tint and fifteen of tone are more than a desk showing through makes.
    let far = |s: &&[f64; 2]| (s[0] - tint).abs() > 0.03f64.max(4.0 * tints) || s[1] < tone - 0.15f64.max(4.0 * tones);
    let other = squares.iter().filter(far).count();
    let mm = square as f64 * step / scale;
    let (w, h) = found.format.outer;
    other as f64 * mm * mm > 0.125 * w * h
}

/// The window on the canvas, reduced: light over bed.
pub struct Window {
    width: usize,
    values: Vec<[f32; 3]>,
}

impl Window {
    /// From values at `w` by `h` places.
    pub fn new(w: usize, h: usize, at: impl Fn(usize, usize) -> [f32; 3]) -> Self {
        Self { width: w, values: (0..h).flat_map(|j| (0..w).map(move |i| (i, j))).map(|(i, j)| at(i, j)).collect() }
    }
}

impl Window {
    /// Mean of all values and bands.
    pub fn mean(&self) -> f64 {
        let sum = self.values.iter().flatten().filter(|v| !v.is_nan()).map(|v| f64::from(*v)).sum::<f64>();
        sum / (3 * self.values.len()).max(1) as f64
    }
}

/// Share of the window that is brighter than any paper of the print can be: light that did not come from the picture.
///
/// A window's white lies behind a clear layer and is no brighter than the bed. A reflection adds to it. This sees veils over
/// light parts only; over dark parts a veil looks like the picture's own haze.
pub fn veil(window: &Window) -> Veil {
    let n = window.values.len().max(1) as f64;
    let tone: Vec<f32> = window.values.iter().map(|v| v.iter().sum::<f32>() / 3.0).collect();
    let core: Vec<usize> = (0..tone.len()).filter(|&k| tone[k] > OUTSHINES).collect();
    let mut picture: Vec<f64> = tone.iter().filter(|v| **v < WHITEST).map(|v| f64::from(*v)).collect();
    let under = if picture.is_empty() { f64::from(WHITEST) } else { median(&mut picture) };
    let all = grown(&tone, window.width.max(1), &core, (under as f32 + STRONG).min(OUTSHINES));
    let size = (window.width.max(1), (tone.len() / window.width.max(1)).max(1));
    let place =
        |k: usize| point(((k % size.0) as f64 + 0.5) / size.0 as f64, ((k / size.0) as f64 + 0.5) / size.1 as f64);
    let sum = all.iter().fold(Point::default(), |sum, &k| sum + place(k));
    Veil {
        share: core.len() as f64 / n,
        reach: all.len() as f64 / n,
        middle: (!all.is_empty()).then(|| sum * (1.0 / all.len() as f64)),
    }
}

/// Eight per cent over the bed's light: more than curl turns towards a flash 45 degrees high.
const OUTSHINES: f32 = 1.08;
/// A window's white as the bed shows it, and a little more: what is brighter is no picture's own.
const WHITEST: f32 = 0.95;
/// A reflection counts as far as it adds seven tenths of white: less and the picture may be meant, and what a picture adds of its own
/// (some four tenths in the mean) brings most of it over white.
const STRONG: f32 = 0.7;

/// The places of `core` with those that hang together with them and are over `low`.
fn grown(tone: &[f32], w: usize, core: &[usize], low: f32) -> Vec<usize> {
    let mut open: Vec<bool> = tone.iter().map(|v| *v > low).collect();
    let (mut next, mut all) = (core.to_vec(), vec![]);
    core.iter().for_each(|&k| open[k] = false);
    while let Some(k) = next.pop() {
        all.push(k);
        let (x, y) = (k % w, k / w);
        let around =
            [(x > 0, k.wrapping_sub(1)), (x + 1 < w, k + 1), (y > 0, k.wrapping_sub(w)), (k + w < tone.len(), k + w)];
        for (_, n) in around.into_iter().filter(|(inside, _)| *inside) {
            if std::mem::take(&mut open[n]) {
                next.push(n);
            }
        }
    }
    all
}

/// A reflection in a window.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Veil {
    /// Share of the window that it makes brighter than paper.
    pub share: f64,
    /// Share of the window over which it adds seven tenths of white, by the window's own middling light.
    pub reach: f64,
    /// Its middle, as shares of the upright window's width and height from its top left; `None` without a reflection.
    pub middle: Option<Point>,
}
