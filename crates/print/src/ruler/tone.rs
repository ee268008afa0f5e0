//! Noise of bare paper and the neutral steps, and the sensor's law behind it.

use super::{Place, Value};
use geometry::fit::spread;
use geometry::ruler::{PITCH, STEP, Sheet};
use geometry::solve::LeastSquares;
use geometry::{Point, Quad, point};
use pixels::{Frame, lab_from_xyz};
use rayon::prelude::*;

/// Share of a step's side that is read: clear of its blur.
const USED: f64 = 0.7;
/// Side of the bare paper that is read between four squares, nominal mm: clear of them and their blur.
const PAPER: f64 = 4.0;
/// Fewest pixels of an area: their deviation is known to a tenth.
const LEAST_PIXELS: usize = 60;
/// Pixels farther from their surface than so many robust standard deviations are left out: of 10,000 normal ones under one.
const OUTLIER: f64 = 4.5;
/// Share of full scale over which a step may touch the clip and is left out of the law.
const NEAR_CLIP: f64 = 0.97;

/// One even area.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Grey {
    /// Reflectance relative to bare paper as it was drawn: 1 for the paper itself. A printer's greys differ.
    pub drawn: f64,
    /// Mean linear light per channel.
    pub mean: [f64; 3],
    /// Standard deviation per channel about a smooth surface.
    pub deviation: [f64; 3],
    /// Standard deviation of L* (ISO/CIE 11664-4, full scale = 100), from that of the luminance.
    pub lightness_deviation: f64,
    /// Pixels read.
    pub pixels: usize,
}

/// Noise of a frame.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Noise {
    /// Paper first, then the steps from light to dark, as far as the frame shows them.
    pub greys: Vec<Grey>,
    /// Variance per unit of light, per channel: one over the electrons at full scale where nothing was sharpened.
    pub shot: [Value; 3],
    /// Standard deviation without light, of full scale, per channel. Printed black still sends light, so the error is wide:
    /// read it with its error or not at all.
    pub read: [Value; 3],
}

/// Reads noise off the sheet.
///
/// Printed greys are dots: where a camera sees them they add to the deviation, and only paper, black and a screenless print
/// tell the sensor's own.
pub fn noise(frame: &Frame, sheet: &Sheet, place: &Place) -> Noise {
    let half = point(PITCH / 2.0 * sheet.scale, PITCH / 2.0 * sheet.scale);
    // Bare paper between the middle square and its diagonal neighbours.
    let paper = [(0, 0), (-1, 0), (0, -1), (-1, -1)].map(|(c, r)| (sheet.place(c, r) + half, 1.0, PAPER));
    let mut steps: Vec<(Point, f64, f64)> = sheet.steps().map(|(p, tone)| (p, tone, USED * STEP)).collect();
    steps.sort_by(|a, b| b.1.total_cmp(&a.1));
    let areas: Vec<(Point, f64, f64)> = paper.into_iter().chain(steps).collect();
    let greys: Vec<Grey> = areas
        .into_par_iter()
        .filter_map(|(middle, drawn, side)| {
            let d = side / 2.0 * sheet.scale;
            let corners = [(-d, -d), (d, -d), (d, d), (-d, d)].map(|(x, y)| place.frame(middle + point(x, y)));
            grey(frame, &Quad(corners), drawn)
        })
        .collect();
    let (shot, read) = law(&greys);
    Noise { greys, shot, read }
}

/// An even area's light and its deviation about a surface of the second degree, which takes the light's fall-off out.
fn grey(frame: &Frame, area: &Quad, drawn: f64) -> Option<Grey> {
    let low = area.0.iter().fold(area.0[0], |a, p| point(a.x.min(p.x), a.y.min(p.y)));
    let high = area.0.iter().fold(area.0[0], |a, p| point(a.x.max(p.x), a.y.max(p.y)));
    if !(low.x >= 0.0 && low.y >= 0.0 && high.x < frame.width as f64 && high.y < frame.height as f64) {
        return None;
    }
    let centre = area.centre();
    let reach = (high - low).norm().max(1.0);
    let mut pixels: Vec<Pixel> = Vec::new();
    for y in low.y as usize..=high.y as usize {
        for x in low.x as usize..=high.x as usize {
            let p = point(x as f64 + 0.5, y as f64 + 0.5);
            if area.contains(p) {
                let q = (p - centre) * (1.0 / reach);
                let light = frame.linear(x, y).map(f64::from);
                pixels.push(([1.0, q.x, q.y, q.x * q.x, q.x * q.y, q.y * q.y], light));
            }
        }
    }
    if pixels.len() < LEAST_PIXELS {
        return None;
    }
    // Dust and scratches are no noise: what lies far from green's own surface is left out of all.
    let green = Surface::fit(&pixels, &|v| v[1])?;
    let far: Vec<f64> = pixels.iter().map(|p| green.far(p, &|v| v[1])).collect();
    // Where rounding leaves most pixels on one code the robust spread is nought: a third of the plain one stands in.
    let plain = (far.iter().map(|d| d * d).sum::<f64>() / far.len() as f64).sqrt();
    let cut = OUTLIER * spread(&far).max(plain / 3.0);
    let pixels: Vec<Pixel> = pixels.into_iter().zip(&far).filter(|(_, d)| d.abs() <= cut).map(|(p, _)| p).collect();
    let n = pixels.len() as f64;
    // Six terms take six degrees of freedom.
    let about = |mix: &dyn Fn(&[f64; 3]) -> f64| -> Option<(f64, f64)> {
        let surface = Surface::fit(&pixels, mix)?;
        let sum: f64 = pixels.iter().map(|p| surface.far(p, mix).powi(2)).sum();
        Some((pixels.iter().map(|(_, v)| mix(v)).sum::<f64>() / n, (sum / (n - 6.0)).sqrt()))
    };
    let (mut mean, mut deviation) = ([0.0; 3], [0.0; 3]);
    for c in 0..3 {
        (mean[c], deviation[c]) = about(&|v| v[c])?;
    }
    let row = frame.encoding.primaries.0[1];
    let (y, dy) = about(&|v| (0..3).map(|c| row[c] * v[c]).sum())?;
    Some(Grey { drawn, mean, deviation, lightness_deviation: lightness_slope(y) * dy, pixels: pixels.len() })
}

/// The six terms of a surface at a pixel, and its light.
type Pixel = ([f64; 6], [f64; 3]);

/// A surface of the second degree through some mix of the channels.
struct Surface(Vec<f64>);

impl Surface {
    fn fit(pixels: &[Pixel], mix: &dyn Fn(&[f64; 3]) -> f64) -> Option<Self> {
        let mut system = LeastSquares::new(6);
        pixels.iter().for_each(|(row, v)| system.add(row, mix(v), 1.0));
        Some(Self(system.solve(1e-12)?))
    }
    /// How far a pixel's light lies over the surface.
    fn far(&self, (row, v): &Pixel, mix: &dyn Fn(&[f64; 3]) -> f64) -> f64 {
        mix(v) - row.iter().zip(&self.0).map(|(a, b)| a * b).sum::<f64>()
    }
}

/// dL*/dY at a luminance, from the L* law itself.
fn lightness_slope(y: f64) -> f64 {
    const STEP: f64 = 1e-5;
    let l = |y: f64| lab_from_xyz(pixels::D50.map(|w| w * y))[0];
    (l(y + STEP) - l(y - STEP)) / (2.0 * STEP)
}

/// Per channel, `variance = shot * light + read^2` through the areas (photon transfer: Poisson noise of the electrons and a
/// constant), each variance weighted by its own certainty, `2 variance^2 / n`.
fn law(greys: &[Grey]) -> ([Value; 3], [Value; 3]) {
    let (mut shot, mut read) = ([Value::default(); 3], [Value::default(); 3]);
    for c in 0..3 {
        let used: Vec<&Grey> = greys.iter().filter(|g| g.mean[c] < NEAR_CLIP && g.deviation[c] > 0.0).collect();
        let mut weight: Vec<f64> = used.iter().map(|g| g.pixels as f64 / g.deviation[c].powi(4)).collect();
        // Weights by the law itself in the later rounds: by the measured variance a low one would count too much.
        for _ in 0..4 {
            let mut system = LeastSquares::new(2);
            for (g, w) in used.iter().zip(&weight) {
                system.add(&[g.mean[c], 1.0], g.deviation[c].powi(2), *w);
            }
            let Some(x) = system.solve(0.0) else { break };
            // A variance from n pixels has variance 2 variance^2 / n, so the weights are twice the certainty.
            let sum =
                |f: &dyn Fn(f64) -> f64| used.iter().zip(&weight).map(|(g, w)| w / 2.0 * f(g.mean[c])).sum::<f64>();
            let (s0, s1, s2) = (sum(&|_| 1.0), sum(&|v| v), sum(&|v| v * v));
            let det = (s0 * s2 - s1 * s1).max(1e-300);
            shot[c] = Value { value: x[0], error: (s0 / det).sqrt() };
            let low = x[1].max(0.0);
            read[c] = Value { value: low.sqrt(), error: (low + (s2 / det).sqrt()).sqrt() - low.sqrt() };
            let by_law = |g: &&Grey| g.pixels as f64 / (x[0] * g.mean[c] + x[1]).powi(2).max(1e-24);
            weight = used.iter().map(by_law).collect();
        }
    }
    (shot, read)
}
