//! What the bare bed would read at every place of a frame.
//!
//! Light on a flat bed is smooth. With `E` the reading, the lamp at distance `d`, the lens falling off about the frame's
//! centre, the logarithm of the whole is
//! `ln E = ln c - 3 ln d(x, y) + ln cos(emission) + ln vignette(r) + ln (1 + ambient share)`
//! (inverse square and cosine law, IES definition 9.1.2), whose Taylor series about the centre converges fast: with the
//! lamp three half-diagonals away or more, four orders hold it to 0.1 % over the frame. So the bed is fitted as
//! `ln E_b(x, y) = P4(x, y) + Q2_b(x, y)`, one polynomial of degree four shared by the bands and one of degree two per
//! band for the colour of the light, each term held near what the lamp that makes the measured slope, behind a lens, would
//! give it ([`Prior`]): under the print, where nothing is seen, the law decides; where bed is seen, the bed does. What a
//! single lamp says about itself (azimuth, distance) is read from the same coefficients in [`Lamp`].

mod change;
pub mod dirt;
pub mod lamp_and_vignette;
pub mod paper;
mod shift;

pub use change::{Change, Squares};
pub use shift::Pattern;

use geometry::fit::median;
use geometry::solve::cholesky;
use optics::small_lamp::distance_from_slope;
use pixels::{Field, Picture, Plane};
use rayon::prelude::*;

/// Cells along the frame's long side: about 3 mm of a copy stand's field each, so that a median sees past dust and hairs.
const CELLS: usize = 60;
/// A reading at or above this share of full scale may be clipped.
const CLIPPED: f32 = 0.985;
/// Residuals are never judged finer than this (share of the reading): quantisation of a median of 8-bit codes.
const FLOOR: f64 = 0.0015;
/// Terms of a polynomial in x and y up to the order of the index.
const TERMS: [usize; 5] = [1, 3, 6, 10, 15];

/// A bare bed as a blank frame shows it.
#[derive(Clone, Debug)]
pub struct Blank {
    /// Light and vignette only, smooth: divide the whole frame by it.
    pub light: Field,
    /// The bed's own structure over that (fibre, creases, the desk showing through) about 1, for the surround only.
    pub texture: Field,
    /// Robust spread of the bed about the smooth light at the scale of a cell (about 3 mm), as a share.
    pub spread: f64,
    /// Share of the frame too bright to be measured.
    pub clipped: f64,
    /// The lamp as the light's shape tells it.
    pub lamp: Lamp,
}

/// How well a field is known.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Quality {
    /// Share of the frame's cells that agreed to be bed.
    pub bed_share: f64,
    /// Robust spread of those cells about the field, as a share of the reading.
    pub spread: f64,
    /// Standard error of the field where it is known worst in the frame, as a share of the reading.
    pub error: f64,
    /// Share of the cells offered as bed that were too bright to be measured.
    pub clipped: f64,
    /// The lamp as the field's shape tells it.
    pub lamp: Lamp,
}

/// How a blank's light was brought to the bed of another frame.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Level {
    /// Brighter (+) or darker than the blank, stops, mean of the bands.
    pub stops: f64,
    /// The same per band.
    pub band_stops: [f64; 3],
    /// Change of the light across the frame's diagonal since the blank, stops; corrected in the field when it is over
    /// half a per cent.
    pub slope_stops: f64,
    /// Robust spread of the bed's cells about the levelled field, as a share.
    pub spread: f64,
    /// What is left of higher order (bowl, saddle, bend) between the two lights, rms share over the visible bed.
    pub misfit: f64,
    /// Share of the frame's cells that agreed to be bed.
    pub bed_share: f64,
}

impl Level {
    /// True where the blank still tells this frame's light: its shape differs by less than the half per cent to which the
    /// bed must be even, and what was corrected is a drift of the flash, not a moved lamp.
    pub fn holds(&self) -> bool {
        // A tenth of a stop across the frame is what moving a lamp at 1 m by some 3 cm does.
        self.misfit < 0.005 && self.slope_stops < 0.1 && self.bed_share > 0.02
    }
}

/// What the shape of the light says of the lamp, read at the frame's centre, where the vignette has no slope.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Lamp {
    /// Direction to the lamp, degrees in the image, 0 to the right, 90 down.
    pub azimuth_deg: f64,
    /// Standard error of it from the noise of the bed alone, degrees.
    pub azimuth_error_deg: f64,
    /// Slope of ln light towards the lamp, per frame pixel.
    pub slope_per_px: f64,
}

impl Lamp {
    /// Distance of the lamp from the frame's centre in millimetres, and the factor of its uncertainty (1.3: from 1/1.3 to
    /// 1.3 times).
    ///
    /// By [`distance_from_slope`]; an even ambient that makes up the share `ambient` of the light flattens the slope to
    /// `(1 - ambient)` of the lamp's own. Without a measured elevation
    /// 45 degrees is taken, as copy stands are lit, and 30 to 60 degrees is the uncertainty.
    pub fn distance_mm(&self, px_per_mm: f64, ambient: f64, elevation_deg: Option<f64>) -> Option<(f64, f64)> {
        let slope = self.slope_per_px * px_per_mm / (1.0 - ambient.clamp(0.0, 0.9));
        let elevation = elevation_deg.unwrap_or(45.0);
        // Noise below this slope (a lamp at 20 m) says nothing.
        (slope > 1e-4)
            .then(|| (distance_from_slope(slope, elevation), if elevation_deg.is_some() { 1.15 } else { 1.4 }))
    }
}

/// The bare bed from a blank frame: `blank` is the frame reduced by `step`.
pub fn from_blank(blank: &Picture, step: f64) -> Blank {
    let cells = cells(blank, &|_, _| true);
    let fit = Fit::robust(&cells, vec![1.0; cells.len()], 4, None);
    let light = fit.render(blank, step);
    let texture = texture(blank, &light, step);
    let clipped = cells.iter().filter(|c| c.clipped).count() as f64 / cells.len().max(1) as f64;
    Blank { light, texture, spread: fit.spread, clipped, lamp: fit.lamp(blank, step) }
}

/// The bare bed from the bed seen around a print: `is_bed(x, y)` says of a pixel of `frame` (the frame reduced by `step`)
/// that neither print nor shadow covers it. A few wrong pixels do no harm.
pub fn fit(frame: &Picture, step: f64, is_bed: impl Fn(usize, usize) -> bool + Sync) -> (Field, Quality) {
    let cells = cells(frame, &is_bed);
    let fit = Fit::robust(&cells, vec![1.0; cells.len()], 4, None);
    (fit.render(frame, step), fit.quality(&cells, frame, step))
}

/// A first look with no mask and no blank: the bed as the smooth, bright, even-coloured region that touches the rim.
///
/// `frame` is the frame reduced by `step`. Divided by the answer, the bed is about 1.
pub fn guess(frame: &Picture, step: f64) -> (Field, Quality) {
    let cells = cells(frame, &|_, _| true);
    let mut weights = vec![1.0; cells.len()];
    let mut fit = rim_plane(&cells);
    // From loose to tight: the first plane is good to a few per cent, the last field to a few per mille. Each round the bed
    // is what lies within `near` of the field in tone, and `tint` in colour, and hangs together with the rim. Colour is the
    // sharper witness: a desk showing through, fibre and shadow are neutral, the border of a print seldom is.
    for (degree, near, tint) in [(1, 0.08, 0.03), (2, 0.06, 0.02), (2, 0.045, 0.012), (4, 0.04, 0.01), (4, 0.035, 0.01)]
    {
        let bed = rim_region(&cells, &fit, near, tint);
        weights.iter_mut().zip(bed).for_each(|(w, b)| *w = b as u8 as f64);
        fit = Fit::robust(&cells, weights.clone(), degree, None);
    }
    (fit.render(frame, step), fit.quality(&cells, frame, step))
}

/// Brings a blank's light to the bed seen in another frame: per band for the flash's strength and colour, and linearly in
/// x and y where the light has drifted across the frame.
///
/// `frame` is the frame reduced by `step`; `is_bed` as in [`fit`]. See [`Level::holds`].
pub fn level(light: &mut Field, frame: &Picture, step: f64, is_bed: impl Fn(usize, usize) -> bool + Sync) -> Level {
    let mut cells = cells(frame, &is_bed);
    for c in &mut cells {
        let v = light.at(c.px * step, c.py * step);
        (0..3).for_each(|b| c.ln[b] -= (v[b].max(1e-6) as f64).ln());
    }
    let all = vec![1.0; cells.len()];
    let fit = Fit::robust(&cells, all.clone(), 1, Some(Prior::level(0.3)));
    let bent = Fit::robust(&cells, all, 4, Some(Prior::level(0.3)));
    let slope = 2.0 * fit.tone[1].hypot(fit.tone[2]);
    let bed: Vec<_> = cells.iter().zip(&bent.weights).filter(|(_, w)| **w > 0.3).map(|(c, _)| c).collect();
    let misfit = rms(bed.iter().map(|c| bent.tone(c) - fit.tone(c)));
    let span = Span::of(frame);
    let bend = slope > 0.005;
    let plain = Fit::robust(&cells, vec![1.0; cells.len()], 0, Some(Prior::level(0.3)));
    light.scale(|x, y| {
        let (u, v) = span.place(x / step, y / step);
        if bend { fit.value(u, v) } else { plain.value(0.0, 0.0) }
    });
    let band = |b: usize| plain.value(0.0, 0.0)[b].log2();
    Level {
        stops: (0..3).map(band).sum::<f64>() / 3.0,
        band_stops: std::array::from_fn(band),
        slope_stops: slope / std::f64::consts::LN_2,
        spread: fit.spread,
        misfit,
        bed_share: bed.len() as f64 / cells.len().max(1) as f64,
    }
}

/// The extent of a field's light over the frame positions `places`, stops from the least to the most (mean of the bands).
pub fn fall_off_stops(light: &Field, places: impl Iterator<Item = (f64, f64)>) -> f64 {
    let (lo, hi) = places.fold((f64::INFINITY, 0.0f64), |(lo, hi), (x, y)| {
        let m = light.at(x, y).iter().map(|&v| v as f64).sum::<f64>();
        (lo.min(m), hi.max(m))
    });
    if lo > 0.0 && hi > 0.0 { (hi / lo).log2() } else { 0.0 }
}

/// How much the colour of the light changes over the frame positions `places`: the greatest range of a band over the mean
/// of the three, as a share. Two lights of different colour from different sides make it.
pub fn colour_range(light: &Field, places: impl Iterator<Item = (f64, f64)>) -> f64 {
    let fresh = [(f64::INFINITY, f64::NEG_INFINITY); 3];
    let range = places.fold(fresh, |range, (x, y)| {
        let ln = light.at(x, y).map(|v| (v.max(1e-6) as f64).ln());
        let mean = ln.iter().sum::<f64>() / 3.0;
        std::array::from_fn(|b| (range[b].0.min(ln[b] - mean), range[b].1.max(ln[b] - mean)))
    });
    range.iter().map(|(lo, hi)| hi - lo).fold(0.0, f64::max)
}

/// How much the bed's own structure shows, as a robust rms share of the light, between about 1 mm (a cell) and 10 mm (what
/// is taken as even): fibre, creases, the desk showing through.
///
/// `frame` is the frame reduced by `step`, `light` its bed, `px_per_mm` the frame's scale, `is_bed` as in [`fit`].
pub fn structure(
    frame: &Picture,
    light: &Field,
    step: f64,
    px_per_mm: f64,
    is_bed: impl Fn(usize, usize) -> bool + Sync,
) -> f64 {
    let cells = cells_of(frame, (px_per_mm / step).round().max(1.0) as usize, &is_bed);
    let Some(last) = cells.last() else { return 0.0 };
    let (nx, ny) = (last.at.0 + 1, last.at.1 + 1);
    let off = |c: &Cell| {
        let v = light.at(c.px * step, c.py * step);
        c.tone() - v.iter().map(|v| (v.max(1e-6) as f64).ln()).sum::<f64>() / 3.0
    };
    let value: Vec<Option<f64>> = cells.iter().map(|c| (c.open && !c.clipped).then(|| off(c))).collect();
    let mut rest = vec![];
    for (k, v) in value.iter().enumerate().filter_map(|(k, v)| Some((k, (*v)?))) {
        let (i, j) = (k % nx, k / nx);
        let square = (j.saturating_sub(5)..(j + 6).min(ny))
            .flat_map(|y| (i.saturating_sub(5)..(i + 6).min(nx)).map(move |x| y * nx + x));
        let around: Vec<f64> = square.filter_map(|n| value[n]).collect();
        // Half a square centimetre of bed makes a mean worth leaving.
        if around.len() > 60 {
            rest.push(v - around.iter().sum::<f64>() / around.len() as f64);
        }
    }
    geometry::fit::spread(&rest)
}

/// Frame-centred coordinates in half diagonals.
#[derive(Clone, Copy)]
struct Span {
    cx: f64,
    cy: f64,
    half: f64,
}

impl Span {
    fn of(p: &Picture) -> Self {
        let (w, h) = (p.width() as f64, p.height() as f64);
        Self { cx: w / 2.0, cy: h / 2.0, half: (w.hypot(h) / 2.0).max(1.0) }
    }
    fn place(&self, x: f64, y: f64) -> (f64, f64) {
        ((x - self.cx) / self.half, (y - self.cy) / self.half)
    }
}

/// A square of the frame, by its median.
#[derive(Clone, Debug)]
struct Cell {
    /// Column and row among the cells.
    at: (usize, usize),
    /// Centre, pixels of the reduced frame.
    px: f64,
    py: f64,
    /// Centre in half diagonals from the frame's centre.
    u: f64,
    v: f64,
    /// Natural logarithm of the median reading of each band.
    ln: [f64; 3],
    /// Robust spread of ln green inside.
    rough: f64,
    clipped: bool,
    /// False where too little of it is offered as bed.
    open: bool,
}

impl Cell {
    fn tone(&self) -> f64 {
        (self.ln[0] + self.ln[1] + self.ln[2]) / 3.0
    }
}

fn cells(p: &Picture, is_bed: &(dyn Fn(usize, usize) -> bool + Sync)) -> Vec<Cell> {
    cells_of(p, (p.width().max(p.height()) / CELLS).max(1), is_bed)
}

/// The frame in squares of `size` pixels.
fn cells_of(p: &Picture, size: usize, is_bed: &(dyn Fn(usize, usize) -> bool + Sync)) -> Vec<Cell> {
    let (w, h) = (p.width(), p.height());
    let (nx, ny) = (w.div_ceil(size), h.div_ceil(size));
    let span = Span::of(p);
    // Every second pixel of every second row: a median of 150 is steady enough and four times as fast.
    let stride = if size >= 8 { 2 } else { 1 };
    (0..nx * ny)
        .into_par_iter()
        .map(|k| {
            let (i, j) = (k % nx, k / nx);
            let (x0, y0) = (i * size, j * size);
            let (x1, y1) = ((x0 + size).min(w), (y0 + size).min(h));
            let mut bands = [const { Vec::<f32>::new() }; 3];
            let (mut n, mut hot) = (0, 0);
            for y in (y0..y1).step_by(stride) {
                for x in (x0..x1).step_by(stride) {
                    n += 1;
                    if is_bed(x, y) {
                        let v = p.get(x, y);
                        hot += v.iter().any(|&v| v >= CLIPPED) as usize;
                        (0..3).for_each(|b| bands[b].push(v[b]));
                    }
                }
            }
            let seen = bands[0].len();
            let mid = |b: &mut Vec<f32>, q: f64| {
                let k = ((b.len() - 1) as f64 * q) as usize;
                *b.select_nth_unstable_by(k, f32::total_cmp).1 as f64
            };
            let (mut ln, mut rough) = ([0.0; 3], 0.0);
            if seen > 0 {
                (0..3).for_each(|b| ln[b] = mid(&mut bands[b], 0.5).max(1e-6).ln());
                rough = (mid(&mut bands[1], 0.84).max(1e-6) / mid(&mut bands[1], 0.16).max(1e-6)).ln() / 2.0;
            }
            let (px, py) = ((x0 + x1) as f64 / 2.0, (y0 + y1) as f64 / 2.0);
            let (u, v) = span.place(px, py);
            let clipped = seen > 0 && hot * 10 > seen;
            // Half a cell of bed is enough for its median to be bed; less is mostly edge.
            Cell { at: (i, j), px, py, u, v, ln, rough, clipped, open: seen > 0 && seen * 2 >= n }
        })
        .collect()
}

/// The terms of order 0 to 4 in x and y, lowest order first.
///
/// `r^2` and `r^4` stand in for `x^2` and `x^4`: the lens, which is round, is then one term of each order.
fn terms(x: f64, y: f64) -> [f64; 15] {
    let (x2, y2) = (x * x, y * y);
    let r2 = x2 + y2;
    [1.0, x, y, r2, x * y, y2, x2 * x, x2 * y, x * y2, y2 * y, r2 * r2, x2 * x * y, x2 * y2, x * y2 * y, y2 * y2]
}

/// What the terms are expected to be before any bed is seen: mean and standard deviation.
#[derive(Clone, Copy)]
struct Prior {
    mean: [f64; 15],
    sd: [f64; 15],
}

impl Prior {
    /// One lamp behind a lens, given the slope `(gx, gy)` of ln light per half diagonal.
    ///
    /// With `a = g / 3` and `u` along the slope, a small lamp is
    /// `ln E = -1.5 ln (1 - 2 a u + r^2 / D^2) = 3 a u - 1.5 r^2 / D^2 + 3 a^2 u^2 + 4 a^3 u^3 - 6 a^3 u r^2 + ...`
    /// (at 45 degrees elevation, `1 / D^2 = 2 a^2`). So the lamp's stretch along its own direction is `g^2 / 3`, known to
    /// half of itself for other elevations and an even ambient, and its cubic terms are a few `a^3`. The lens and the lamp's
    /// distance leave `r^2` open; `r^4` is as large as a lens wide open makes it.
    fn lamp(gx: f64, gy: f64) -> Self {
        let g = gx.hypot(gy).min(1.5);
        let a = g / 3.0;
        let (mut mean, mut sd) = ([0.0; 15], [0.0; 15]);
        mean[3] = gx * gx / 3.0;
        mean[4] = 2.0 * gx * gy / 3.0;
        mean[5] = (gy * gy - gx * gx) / 3.0;
        sd[1..3].fill(1.0);
        // A millesimal floor on each order is for what is not one small lamp: a reflector, a wall, a second window.
        (sd[3], sd[4], sd[5]) = (0.5, g * g / 3.0 + 0.01, g * g / 6.0 + 0.01);
        sd[6..10].fill(8.0 * a.powi(3) + 0.01);
        sd[10] = 0.04;
        sd[11..].fill(10.0 * a.powi(4) + 0.005);
        Self { mean, sd }
    }

    /// A field that is nearly level: the ratio of two lights, or the colour of one.
    fn level(sd: f64) -> Self {
        Self { mean: [0.0; 15], sd: [sd; 15] }
    }
}

/// A polynomial field of ln light.
struct Fit {
    /// Shared by the bands.
    tone: [f64; 15],
    /// Per band, over the tone.
    tint: [[f64; 6]; 3],
    /// What each cell weighed in the end, 0 to 1.
    weights: Vec<f64>,
    /// Robust spread of the cells that count.
    spread: f64,
    /// Inverse normal matrix of the tone's terms (row major), in units of variance; empty when nothing could be solved.
    covariance: Vec<f64>,
}

impl Fit {
    /// Fits the open cells of weight over 0. Iteratively reweighted: Cauchy weights walk to the majority, Tukey's biweight
    /// at 4.685 spreads then drops the rest (Huber, *Robust Statistics*, from memory). Without a `prior` the lamp that makes
    /// the slope of the round before is taken.
    fn robust(cells: &[Cell], mut share: Vec<f64>, degree: usize, prior: Option<Prior>) -> Self {
        share.iter_mut().zip(cells).for_each(|(w, c)| *w *= (c.open && !c.clipped) as u8 as f64);
        // Where nearly all the bed is clipped, its clipped reading is still the best there is; the quality says so.
        if share.iter().filter(|w| **w > 0.0).count() < 20 {
            share = cells.iter().map(|c| c.open as u8 as f64).collect();
        }
        let n = TERMS[degree];
        let mut fit =
            Self { tone: [0.0; 15], tint: [[0.0; 6]; 3], weights: share.clone(), spread: 0.02, covariance: vec![] };
        let mut kin = 4.0;
        for round in 0..10 {
            let held = prior.unwrap_or_else(|| Prior::lamp(fit.tone[1], fit.tone[2]));
            let normal = Normal::of(cells, &fit.weights, n, fit.spread.powi(2) * kin, |c| c.tone(), &held);
            fit.tone = normal.solve();
            fit.covariance = normal.a;
            let residual: Vec<f64> = cells.iter().map(|c| c.tone() - fit.tone(c)).collect();
            let mut sizes: Vec<f64> =
                residual.iter().zip(&share).filter(|(_, w)| **w > 0.0).map(|(r, _)| r.abs()).collect();
            fit.spread = (1.4826 * median(&mut sizes)).max(FLOOR);
            for ((w, p), r) in fit.weights.iter_mut().zip(&share).zip(&residual) {
                let u = r / fit.spread;
                *w = p * if round < 5 { 1.0 / (1.0 + u * u) } else { (1.0 - (u / 4.685).powi(2)).max(0.0).powi(2) };
            }
            kin = kinship(cells, &residual, &fit.weights);
        }
        let noise = fit.spread.powi(2) * kin;
        fit.tint = std::array::from_fn(|b| {
            let of = |c: &Cell| c.ln[b] - c.tone();
            let t = Normal::of(cells, &fit.weights, n.min(6), noise, of, &Prior::level(0.1)).solve();
            std::array::from_fn(|k| t[k])
        });
        fit.covariance = inverse(&fit.covariance, n);
        fit
    }

    /// ln of the mean light at a cell.
    fn tone(&self, c: &Cell) -> f64 {
        dot(&self.tone, &terms(c.u, c.v))
    }

    /// Light at a place.
    fn value(&self, u: f64, v: f64) -> [f64; 3] {
        let t = terms(u, v);
        let tone = dot(&self.tone, &t);
        std::array::from_fn(|b| (tone + dot(&self.tint[b], &t)).exp())
    }

    /// Standard error of the tone at a place.
    fn error(&self, u: f64, v: f64) -> f64 {
        let n = (self.covariance.len() as f64).sqrt() as usize;
        let t = terms(u, v);
        let sum: f64 = (0..n).map(|i| t[i] * dot(&self.covariance[i * n..(i + 1) * n], &t)).sum();
        sum.max(0.0).sqrt()
    }

    fn render(&self, p: &Picture, step: f64) -> Field {
        let (w, h) = (p.width().max(1) as f64, p.height().max(1) as f64);
        // 96 cells along the long side: bilinear between them is true to 1e-4 for the steepest light allowed.
        let cell = (w.max(h) / 96.0).max(1.0);
        let (nx, ny) = ((w / cell).ceil() as usize, (h / cell).ceil() as usize);
        let span = Span::of(p);
        let mut grid = Picture([(); 3].map(|_| Plane::filled(nx, ny, 0.0)));
        for j in 0..ny {
            for i in 0..nx {
                let (u, v) = span.place((i as f64 + 0.5) * cell, (j as f64 + 0.5) * cell);
                let value = self.value(u, v);
                (0..3).for_each(|b| grid.0[b].data[j * nx + i] = value[b] as f32);
            }
        }
        Field { grid, step: cell * step }
    }

    fn quality(&self, cells: &[Cell], p: &Picture, step: f64) -> Quality {
        let offered = cells.iter().filter(|c| c.open).count().max(1);
        let clipped = cells.iter().filter(|c| c.open && c.clipped).count();
        let agreed = self.weights.iter().filter(|w| **w > 0.3).count();
        let error = cells.iter().map(|c| self.error(c.u, c.v)).fold(0.0, f64::max);
        Quality {
            bed_share: agreed as f64 / cells.len().max(1) as f64,
            spread: self.spread,
            error: if self.covariance.is_empty() { f64::INFINITY } else { error },
            clipped: clipped as f64 / offered as f64,
            lamp: self.lamp(p, step),
        }
    }

    fn lamp(&self, p: &Picture, step: f64) -> Lamp {
        let (gx, gy) = (self.tone[1], self.tone[2]);
        let slope = gx.hypot(gy);
        let n = (self.covariance.len() as f64).sqrt() as usize;
        let across = if n >= 3 && slope > 0.0 {
            let (sx, sy) = (-gy / slope, gx / slope);
            let c = |i: usize, j: usize| self.covariance[i * n + j];
            (sx * sx * c(1, 1) + 2.0 * sx * sy * c(1, 2) + sy * sy * c(2, 2)).max(0.0).sqrt()
        } else {
            f64::INFINITY
        };
        Lamp {
            azimuth_deg: gy.atan2(gx).to_degrees().rem_euclid(360.0),
            azimuth_error_deg: if slope > 0.0 { (across / slope).atan().to_degrees() } else { 180.0 },
            slope_per_px: slope / (Span::of(p).half * step),
        }
    }
}

fn dot(a: &[f64], b: &[f64]) -> f64 {
    a.iter().zip(b).map(|(a, b)| a * b).sum()
}

fn rms(v: impl Iterator<Item = f64>) -> f64 {
    let (n, s) = v.fold((0.0, 0.0), |(n, s), x| (n + 1.0, s + x * x));
    if n > 0.0 { f64::sqrt(s / n) } else { 0.0 }
}

/// Normal equations of the first terms, with what was expected of them.
struct Normal {
    n: usize,
    a: Vec<f64>,
    b: Vec<f64>,
}

impl Normal {
    fn of(cells: &[Cell], w: &[f64], n: usize, variance: f64, y: impl Fn(&Cell) -> f64, prior: &Prior) -> Self {
        let mut s = Self { n, a: vec![0.0; n * n], b: vec![0.0; n] };
        for (c, &w) in cells.iter().zip(w).filter(|(_, w)| **w > 0.0) {
            let (t, w, y) = (terms(c.u, c.v), w / variance, y(c));
            for i in 0..n {
                let wi = w * t[i];
                (0..=i).for_each(|j| s.a[i * n + j] += wi * t[j]);
                s.b[i] += wi * y;
            }
        }
        for i in 0..n {
            (i + 1..n).for_each(|j| s.a[i * n + j] = s.a[j * n + i]);
        }
        for k in 1..n {
            let w = prior.sd[k].powi(-2);
            s.a[k * n + k] += w;
            s.b[k] += w * prior.mean[k];
        }
        s
    }

    fn solve(&self) -> [f64; 15] {
        let mut out = [0.0; 15];
        if let Some(x) = cholesky(&self.a, &self.b) {
            out[..self.n].copy_from_slice(&x);
        }
        out
    }
}

/// The inverse of a normal matrix, by one solve per column; empty where it has none.
fn inverse(a: &[f64], n: usize) -> Vec<f64> {
    let mut out = vec![0.0; n * n];
    for j in 0..n {
        let e: Vec<f64> = (0..n).map(|i| (i == j) as u8 as f64).collect();
        let Some(x) = cholesky(a, &e) else { return vec![] };
        (0..n).for_each(|i| out[i * n + j] = x[i]);
    }
    out
}

/// How many neighbouring cells count as one observation, because they see the same fibres and the same desk: the variance
/// of the mean residual of blocks of 4 by 4 cells, over what it would be if the sixteen were independent.
fn kinship(cells: &[Cell], residual: &[f64], weights: &[f64]) -> f64 {
    let nx = cells.last().map_or(1, |c| c.at.0 / 4 + 1);
    let ny = cells.last().map_or(1, |c| c.at.1 / 4 + 1);
    let mut blocks = vec![(0.0f64, 0.0f64); nx * ny];
    let mut single = (0.0f64, 0.0f64);
    for ((c, &r), &w) in cells.iter().zip(residual).zip(weights).filter(|(_, w)| **w > 0.3) {
        let b = &mut blocks[c.at.1 / 4 * nx + c.at.0 / 4];
        (b.0, b.1) = (b.0 + w, b.1 + w * r);
        single = (single.0 + w, single.1 + w * r * r);
    }
    // Blocks of half their cells or more.
    let full = blocks.iter().filter(|b| b.0 > 8.0);
    let (n, sum) = full.fold((0.0, 0.0), |(n, s), b| (n + 1.0, s + b.0 * (b.1 / b.0).powi(2)));
    // Structure wider than a block shows up only in part, hence the doubling.
    if n < 6.0 || single.1 <= 0.0 { 8.0 } else { (2.0 * sum / n / (single.1 / single.0)).clamp(2.0, 32.0) }
}

/// The first plane through the rim: of all planes through three of sixteen stretches of the rim, the one that most of the
/// rim lies on, the brighter of two equals.
fn rim_plane(cells: &[Cell]) -> Fit {
    let (nx, ny) = cells.last().map_or((0, 0), |c| (c.at.0 + 1, c.at.1 + 1));
    let rim: Vec<&Cell> =
        cells.iter().filter(|c| c.at.0 < 2 || c.at.1 < 2 || c.at.0 + 2 >= nx || c.at.1 + 2 >= ny).collect();
    let smooth = smoothness(&rim);
    // A lens takes about this much off the corners; leaving it in would cost the plane its agreement there.
    let bowl = |c: &Cell| -0.15 * (c.u * c.u + c.v * c.v);
    let mut stretches = vec![vec![]; 16];
    for c in rim.iter().filter(|c| c.rough <= smooth) {
        let turn = c.v.atan2(c.u) / std::f64::consts::TAU + 0.5;
        stretches[((turn * 16.0) as usize).min(15)].push((c.tone() - bowl(c), c.u, c.v));
    }
    let knots: Vec<(f64, f64, f64)> = stretches
        .iter_mut()
        .filter(|s| !s.is_empty())
        .map(|s| {
            s.sort_by(|a, b| a.0.total_cmp(&b.0));
            s[s.len() / 2]
        })
        .collect();
    let mut best = (f64::NEG_INFINITY, [knots.iter().map(|k| k.0).fold(-14.0, f64::max), 0.0, 0.0]);
    for i in 0..knots.len() {
        for j in i + 1..knots.len() {
            for k in j + 1..knots.len() {
                let Some(p) = plane([knots[i], knots[j], knots[k]]) else { continue };
                // No lamp at arm's length changes a copy stand's field by more than this per half diagonal.
                if p[1].hypot(p[2]) > 1.2 {
                    continue;
                }
                let agree: f64 = rim
                    .iter()
                    .map(|c| (1.0 - ((c.tone() - bowl(c) - p[0] - p[1] * c.u - p[2] * c.v) / 0.06).powi(2)).max(0.0))
                    .sum();
                // A stop brighter counts as much as a quarter of the rim.
                let score = agree / rim.len() as f64 + 0.25 * p[0] / std::f64::consts::LN_2;
                if score > best.0 && agree > 0.15 * rim.len() as f64 {
                    best = (score, p);
                }
            }
        }
    }
    let mut tone = [0.0; 15];
    tone[..3].copy_from_slice(&best.1);
    (tone[3], tone[5]) = (-0.15, -0.15);
    let near: Vec<&&Cell> = rim.iter().filter(|c| (c.tone() - dot(&tone, &terms(c.u, c.v))).abs() < 0.06).collect();
    let tint = std::array::from_fn(|b| {
        let t = median(&mut near.iter().map(|c| c.ln[b] - c.tone()).collect::<Vec<_>>());
        [t, 0.0, 0.0, 0.0, 0.0, 0.0]
    });
    Fit { tone, tint, weights: vec![], spread: 0.02, covariance: vec![] }
}

/// The plane `z = a + b x + c y` through three points `(z, x, y)`.
fn plane(p: [(f64, f64, f64); 3]) -> Option<[f64; 3]> {
    let (x1, y1, z1) = (p[1].1 - p[0].1, p[1].2 - p[0].2, p[1].0 - p[0].0);
    let (x2, y2, z2) = (p[2].1 - p[0].1, p[2].2 - p[0].2, p[2].0 - p[0].0);
    let det = x1 * y2 - x2 * y1;
    // Three stretches nearly in a line do not hold a plane.
    (det.abs() > 0.1).then(|| {
        let (b, c) = ((z1 * y2 - z2 * y1) / det, (x1 * z2 - x2 * z1) / det);
        [p[0].0 - b * p[0].1 - c * p[0].2, b, c]
    })
}

/// The roughness up to which a cell counts as plain paper: three times the typical one of the rim.
fn smoothness(rim: &[&Cell]) -> f64 {
    3.0 * median(&mut rim.iter().map(|c| c.rough).collect::<Vec<_>>()) + 0.005
}

/// The cells within `near` of a field (in ln light), and within `tint` of its colour, that hang together with the rim.
fn rim_region(cells: &[Cell], fit: &Fit, near: f64, tint: f64) -> Vec<bool> {
    let (nx, ny) = cells.last().map_or((0, 0), |c| (c.at.0 + 1, c.at.1 + 1));
    let rim = |c: &Cell| c.at.0 < 1 || c.at.1 < 1 || c.at.0 + 1 >= nx || c.at.1 + 1 >= ny;
    let smooth = smoothness(&cells.iter().filter(|c| rim(c)).collect::<Vec<_>>());
    let like = |c: &Cell| {
        let value = fit.value(c.u, c.v);
        let off: [f64; 3] = std::array::from_fn(|b| c.ln[b] - value[b].ln());
        let mean = off.iter().sum::<f64>() / 3.0;
        c.rough <= smooth && mean.abs() < near && off.iter().all(|o| (o - mean).abs() < tint)
    };
    let like: Vec<bool> = cells.par_iter().map(like).collect();
    let mut seen = vec![false; cells.len()];
    let mut stack: Vec<usize> = (0..cells.len()).filter(|&k| like[k] && rim(&cells[k])).collect();
    stack.iter().for_each(|&k| seen[k] = true);
    while let Some(k) = stack.pop() {
        let (i, j) = (k % nx, k / nx);
        let next = [(i > 0, k.wrapping_sub(1)), (i + 1 < nx, k + 1), (j > 0, k.wrapping_sub(nx)), (j + 1 < ny, k + nx)];
        for (inside, n) in next {
            if inside && like[n] && !seen[n] {
                seen[n] = true;
                stack.push(n);
            }
        }
    }
    seen
}

/// The bed's structure over the smooth light at about a millimetre, by medians, which dust and hairs do not move.
fn texture(p: &Picture, light: &Field, step: f64) -> Field {
    let (w, h) = (p.width(), p.height());
    // 160 cells along the long side: 1 mm of a copy stand's field, finer than a desk's grain, coarser than dust.
    let size = (w.max(h) / 160).max(1);
    let (nx, ny) = ((w / size).max(1), (h / size).max(1));
    let mut grid = Picture([(); 3].map(|_| Plane::filled(nx, ny, 1.0)));
    let values: Vec<f32> = (0..nx * ny)
        .into_par_iter()
        .map(|k| {
            let (x0, y0) = (k % nx * size, k / nx * size);
            let mut v: Vec<f32> = Vec::with_capacity(size * size);
            for y in y0..(y0 + size).min(h) {
                for x in x0..(x0 + size).min(w) {
                    v.push(p.get(x, y).iter().sum());
                }
            }
            let (cx, cy) = ((x0 as f64 + size as f64 / 2.0) * step, (y0 as f64 + size as f64 / 2.0) * step);
            let m = v.len() / 2;
            let mid = *v.select_nth_unstable_by(m, f32::total_cmp).1;
            // A desk shows through paper by a few per cent; more than 6 is dirt on the blank.
            (mid / light.at(cx, cy).iter().sum::<f32>()).clamp(0.94, 1.06)
        })
        .collect();
    // A hair fills a line of cells and a speck one or two: the median of nine cells sees past both. Paper fibre and desk are
    // as good as neutral: one band of structure keeps colour noise out.
    let cell = Plane { width: nx, height: ny, data: values };
    let clean = Plane::from_fn(nx, ny, |x, y| {
        let (x, y) = (x as isize, y as isize);
        let mut nine: [f32; 9] = std::array::from_fn(|k| cell.clamped(x + k as isize % 3 - 1, y + k as isize / 3 - 1));
        nine.sort_by(f32::total_cmp);
        nine[4]
    });
    (0..3).for_each(|b| grid.0[b].data.copy_from_slice(&clean.data));
    Field { grid, step: size as f64 * step }
}

#[cfg(test)]
mod tests;
