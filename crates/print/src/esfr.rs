//! Edge response of lens and sensor from a slanted edge (ISO 12233 e-SFR).
//!
//! The steps are the standard's (2000 to the fourth edition; Burns 2000, PICS): the edge's place in each row, a smooth curve
//! through the places, all pixels laid side by side by their distance from it in quarter pixels (the edge spread function),
//! its derivative (the line spread function), and the modulus of that one's Fourier transform.

use geometry::fit::Polynomial;
use pixels::Plane;
use std::f64::consts::PI;

/// Bins per pixel of the edge spread function (ISO 12233: four).
const BINS: f64 = 4.0;
/// Degree of the curve through the rows' edge places. Edition 4 allows up to 5; over one edge of the sheet a lens bends a
/// line by a parabola, and more freedom only follows noise.
const DEGREE: usize = 2;
/// Spacing of the response's values, cycles per pixel: fine enough to read a crossing off a straight line between two.
const FREQUENCY_STEP: f64 = 0.005;
/// Highest frequency given, cycles per pixel: twice the half-sampling frequency, where any real lens has nothing left.
const FREQUENCY_END: f64 = 1.0;
/// Least slant: under 1 degree the rows repeat the same few phases (ISO 12233's warning).
const LEAST_SLANT_DEG: f64 = 1.0;
/// Most slant from the nearer pixel direction: past it rows cross the edge too obliquely to find their own place in it.
const MOST_SLANT_DEG: f64 = 40.0;
/// Least contrast, (bright - dark) / (bright + dark) (ISO 12233's warning).
const LEAST_CONTRAST: f64 = 0.2;
/// Light from which a pixel counts as clipped: half a code of 8 bits under full scale.
const CLIPPED: f32 = 0.995;
/// Share of clipped pixels that spoils an edge (ISO 12233's warning).
const MOST_CLIPPED: f64 = 0.005;
/// Largest gain of a correction, as the standard's reference code caps it (from memory).
const MOST_GAIN: f64 = 10.0;
/// Fewest rows and columns of an area: some four phases of the slant, and the edge with a little rest beside it.
const LEAST_SIDE: usize = 16;

/// Why an edge gives no response.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum EdgeError {
    /// The area is smaller than [`LEAST_SIDE`] pixels one way, or the edge leaves it.
    Small,
    /// Less contrast than the standard asks for; the contrast.
    Faint(f64),
    /// More clipped pixels than the standard allows; their share.
    Clipped(f64),
    /// The edge runs along the pixels, or too obliquely; its slant in degrees.
    Slant(f64),
}

impl std::error::Error for EdgeError {}

impl std::fmt::Display for EdgeError {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Self::Small => {
                write!(f, "too few pixels across the edge: come nearer, or keep the edge whole in the frame")
            }
            Self::Faint(c) => write!(f, "the edge's contrast is {:.0} %, and 20 % is the least", c * 100.0),
            Self::Clipped(s) => write!(f, "{:.1} % of the edge's pixels are clipped: give less light", s * 100.0),
            Self::Slant(a) => {
                write!(
                    f,
                    "the edge lies {a:.1}\u{b0} off the pixels, and 1\u{b0} to 40\u{b0} can be measured: turn the sheet"
                )
            }
        }
    }
}

/// The edge response of one edge.
#[derive(Clone, Debug, PartialEq)]
pub struct Response {
    /// Response at multiples of the frequency step, along the edge's normal; 1 at frequency 0.
    pub values: Vec<f64>,
    /// Distance between two values, cycles per pixel.
    pub step: f64,
    /// Slant of the edge off the pixel grid, degrees, with its sign.
    pub slant_deg: f64,
    /// (bright - dark) / (bright + dark).
    pub contrast: f64,
    /// Where the edge crosses the area's middle row, pixels from its left rim.
    pub at: f64,
    /// How far the edge spread function leaves 0 to 1 on the dark and on the bright side, as shares of the step.
    pub overshoot: [f64; 2],
    /// Distance in which the edge rises from 10 to 90 %, pixels along its normal; as the crossings of the quarter-pixel bins.
    pub rise_px: f64,
}

impl Response {
    /// The response at a frequency, straight between two values; `None` past the last.
    pub fn at_frequency(&self, cycles_per_px: f64) -> Option<f64> {
        let t = cycles_per_px / self.step;
        let i = t.floor() as usize;
        let (a, b) = (self.values.get(i)?, self.values.get(i + 1).or(self.values.get(i))?);
        Some(a + (b - a) * (t - t.floor()))
    }
    /// The lowest frequency, cycles per pixel, at which the response falls to `level`; `None` where it never does.
    pub fn falls_to(&self, level: f64) -> Option<f64> {
        let i = self.values.windows(2).position(|w| w[0] >= level && w[1] < level)?;
        let (a, b) = (self.values[i], self.values[i + 1]);
        Some((i as f64 + (a - level) / (a - b)) * self.step)
    }
    /// MTF50, cycles per pixel.
    pub fn mtf50(&self) -> Option<f64> {
        self.falls_to(0.5)
    }
    /// MTF10, cycles per pixel: the limit of resolution by Rayleigh's measure.
    pub fn mtf10(&self) -> Option<f64> {
        self.falls_to(0.1)
    }
    /// Sampling efficiency: MTF10 over the half-sampling frequency of 0.5 cycles per pixel (FADGI 2016, ISO 19264-1). A
    /// response still over a tenth where the sampling ends counts as whole.
    pub fn efficiency(&self) -> f64 {
        self.mtf10().map_or(1.0, |f| (f / 0.5).min(1.0))
    }
    /// The response at the half-sampling frequency.
    pub fn at_half_sampling(&self) -> f64 {
        self.at_frequency(0.5).unwrap_or(0.0)
    }
    /// The greatest response up to the half-sampling frequency: over 1 the picture was sharpened (FADGI 2016).
    pub fn peak(&self) -> f64 {
        let n = (0.5 / self.step) as usize;
        self.values.iter().take(n + 1).fold(0.0, |a, &v| a.max(v))
    }
    /// The mean of several responses, value by value; `None` of none.
    pub fn mean(all: &[Self]) -> Option<Self> {
        let first = all.first()?;
        let n = all.len() as f64;
        let mean = |f: &dyn Fn(&Self) -> f64| all.iter().map(f).sum::<f64>() / n;
        let length = all.iter().map(|r| r.values.len()).min()?;
        Some(Self {
            values: (0..length).map(|i| mean(&|r| r.values[i])).collect(),
            step: first.step,
            slant_deg: mean(&|r| r.slant_deg.abs()),
            contrast: mean(&|r| r.contrast),
            at: mean(&|r| r.at),
            overshoot: [mean(&|r| r.overshoot[0]), mean(&|r| r.overshoot[1])],
            rise_px: mean(&|r| r.rise_px),
        })
    }
}

/// The response of the one edge in an area of linear light, which runs from its top to its bottom.
///
/// Frequencies are in cycles per pixel along the edge's normal: with the slant `a` a quarter-pixel bin is `cos(a) / 4` wide.
/// The derivative `[1/2 0 -1/2]` over bins of that width `D` responds with `sin(2 pi f D) / (2 pi f D)`, which is divided
/// out. So is the bins' own averaging, `sin(pi f D) / (pi f D)`, which the standard leaves in: 0.6 % at a quarter and 2.6 %
/// at half a cycle per pixel, as much as the sharpest lenses differ by (`docs/decisions/2026-11-25-bins.md`).
///
/// # Errors
/// [`EdgeError`] where the standard would not trust the edge.
pub fn esfr(area: &Plane) -> Result<Response, EdgeError> {
    if area.width < LEAST_SIDE || area.height < LEAST_SIDE {
        return Err(EdgeError::Small);
    }
    let clipped = area.data.iter().filter(|v| **v >= CLIPPED).count() as f64 / area.data.len() as f64;
    if clipped > MOST_CLIPPED {
        return Err(EdgeError::Clipped(clipped));
    }
    let (left, right) = ends(area);
    let contrast = (left - right).abs() / (left + right).abs().max(1e-9);
    if contrast.is_nan() || contrast < LEAST_CONTRAST {
        return Err(EdgeError::Faint(contrast));
    }
    let sign = if right > left { 1.0 } else { -1.0 };
    let edge = edge_curve(area, sign).ok_or(EdgeError::Small)?;
    let middle = area.height as f64 / 2.0;
    let slope = edge.slope(middle);
    let slant = slope.atan();
    if !(LEAST_SLANT_DEG..=MOST_SLANT_DEG).contains(&slant.abs().to_degrees()) {
        return Err(EdgeError::Slant(slant.to_degrees()));
    }
    let esf = edge_spread(area, &edge, slope).ok_or(EdgeError::Small)?;
    let bin = slant.cos() / BINS;
    let values = transform(&line_spread(&esf, sign), bin);
    let (overshoot, rise) = shape(&esf, sign);
    Ok(Response {
        values,
        step: FREQUENCY_STEP,
        slant_deg: slant.to_degrees(),
        contrast,
        at: edge.at(middle),
        overshoot,
        rise_px: rise * bin,
    })
}

/// Mean light of the outer fifths of the columns.
fn ends(area: &Plane) -> (f64, f64) {
    let n = (area.width / 5).max(1);
    let mean = |from: usize| {
        let sum: f64 = (0..area.height).flat_map(|y| &area.row(y)[from..from + n]).map(|v| f64::from(*v)).sum();
        sum / (n * area.height) as f64
    };
    (mean(0), mean(area.width - n))
}

/// The edge's place in each row as a curve x(y), pixel coordinates with centres at +0.5.
///
/// Per row the centroid of the difference `[1/2 -1/2]`, under a window that is wide at first and then follows the curve.
fn edge_curve(area: &Plane, sign: f64) -> Option<Curve> {
    // Rows from -1 to 1: powers of hundreds of rows would drown the lower terms.
    let unit = Curve { fit: Polynomial(Vec::new()), middle: area.height as f64 / 2.0 };
    let rows = |centre: &dyn Fn(f64) -> f64, half: f64| -> Vec<(f64, f64, f64)> {
        (0..area.height)
            .filter_map(|j| {
                let y = j as f64 + 0.5;
                Some((unit.row(y), centroid(area.row(j), sign, centre(y), half)?, 1.0))
            })
            .collect()
    };
    // Rows agree to a few hundredths of a pixel; the floor keeps noiseless ones from rejecting each other.
    const FLOOR: f64 = 0.02;
    let width = area.width as f64;
    let (fit, ..) = Polynomial::fit(&rows(&|_| width / 2.0, width / 2.0), 1, FLOOR)?;
    let mut curve = Curve { fit, middle: unit.middle };
    // Narrower windows keep noise and neighbours out: a third of the area, then a dozen pixels about the edge.
    for half in [(width / 3.0).max(8.0), (width / 3.0).clamp(8.0, 16.0), (width / 3.0).clamp(8.0, 16.0)] {
        let found = rows(&|y| curve.at(y), half);
        if found.len() < area.height / 2 {
            return None;
        }
        curve.fit = Polynomial::fit(&found, DEGREE, FLOOR)?.0;
    }
    Some(curve)
}

/// The edge as a curve x(y), its rows counted from -1 to 1 inside.
struct Curve {
    fit: Polynomial,
    middle: f64,
}

impl Curve {
    fn row(&self, y: f64) -> f64 {
        y / self.middle - 1.0
    }
    fn at(&self, y: f64) -> f64 {
        self.fit.at(self.row(y))
    }
    fn slope(&self, y: f64) -> f64 {
        self.fit.slope(self.row(y)) / self.middle
    }
}

/// The centroid of a row's rising difference under a raised-cosine window of half width `half` about `centre`.
fn centroid(row: &[f32], sign: f64, centre: f64, half: f64) -> Option<f64> {
    let (mut sum, mut moment) = (0.0, 0.0);
    for (i, pair) in row.windows(2).enumerate() {
        // The difference lies on the boundary between two pixels.
        let x = (i + 1) as f64;
        let t = (x - centre) / half;
        if t.abs() < 1.0 {
            // Tukey's window with alpha 1, lifted so that its rim still counts (edition 4: 0.95 w + 0.05).
            let w = 0.95 * (0.5 + 0.5 * (PI * t).cos()) + 0.05;
            let d = sign * f64::from(pair[1] - pair[0]) * w;
            sum += d;
            moment += d * x;
        }
    }
    let at = moment / sum;
    (sum > 0.0 && at > 0.0 && at < row.len() as f64).then_some(at)
}

/// Mean light by distance from the edge, in bins of a quarter pixel along the row, over whole cycles of the slant.
fn edge_spread(area: &Plane, edge: &Curve, slope: f64) -> Option<Vec<f64>> {
    let cycles = (area.height as f64 * slope.abs()).floor();
    let rows = if cycles >= 1.0 { (cycles / slope.abs()).round() as usize } else { area.height }.min(area.height);
    let first = (area.height - rows) / 2;
    let place = |j: usize| edge.at(j as f64 + 0.5);
    let room = (first..first + rows).map(|j| place(j).min(area.width as f64 - place(j))).fold(f64::INFINITY, f64::min);
    let half = ((room - 0.5) * BINS).floor();
    if half.is_nan() || half < 3.0 * BINS {
        return None;
    }
    let n = 2 * half as usize + 1;
    let (mut sum, mut count) = (vec![0.0; n], vec![0.0f64; n]);
    for j in first..first + rows {
        let at = place(j);
        for (i, v) in area.row(j).iter().enumerate() {
            let bin = ((i as f64 + 0.5 - at) * BINS + half + 0.5).floor();
            if bin >= 0.0 && bin < n as f64 {
                sum[bin as usize] += f64::from(*v);
                count[bin as usize] += 1.0;
            }
        }
    }
    let mut esf: Vec<f64> = sum.iter().zip(&count).map(|(s, c)| s / c).collect();
    // A bin that no pixel fell in stands half way between its neighbours.
    for k in 1..n - 1 {
        if count[k] == 0.0 {
            esf[k] = (esf[k - 1] + sum[k + 1] / count[k + 1].max(1e-9)) / 2.0;
        }
    }
    esf.iter().all(|v| v.is_finite()).then_some(esf)
}

/// The derivative `[1/2 0 -1/2]` of the edge spread function under Tukey's window about the edge, level over its middle half.
///
/// The standard's windows fall from the middle on, which narrows the line spread of a frame out of focus: a Hamming window 76
/// pixels wide reads 5 % too much where the blur is 4 pixels. A level middle costs a little more noise.
fn line_spread(esf: &[f64], sign: f64) -> Vec<f64> {
    let n = esf.len() - 2;
    let middle = (n as f64 - 1.0) / 2.0;
    (0..n)
        .map(|k| {
            let t = (k as f64 - middle).abs() / middle;
            let w = if t < 0.5 { 1.0 } else { 0.5 + 0.5 * (PI * (2.0 * t - 1.0)).cos() };
            sign * (esf[k + 2] - esf[k]) / 2.0 * w
        })
        .collect()
}

/// Modulus of the Fourier transform over its value at 0, with the responses of derivative and bins divided out. `bin` in pixels.
fn transform(lsf: &[f64], bin: f64) -> Vec<f64> {
    let total: f64 = lsf.iter().sum();
    let n = (FREQUENCY_END / FREQUENCY_STEP).round() as usize;
    (0..=n)
        .map(|k| {
            let f = k as f64 * FREQUENCY_STEP;
            let (re, im) = lsf.iter().enumerate().fold((0.0, 0.0), |(re, im), (i, v)| {
                let (s, c) = (2.0 * PI * f * bin * i as f64).sin_cos();
                (re + v * c, im + v * s)
            });
            let x = 2.0 * PI * f * bin;
            let gain = |x: f64| if x > 0.0 { (x / x.sin()).abs().min(MOST_GAIN) } else { 1.0 };
            re.hypot(im) / total.abs().max(1e-12) * gain(x) * gain(x / 2.0)
        })
        .collect()
}

/// Overshoot on the dark and bright side as shares of the step, and the 10 to 90 % rise in bins.
fn shape(esf: &[f64], sign: f64) -> ([f64; 2], f64) {
    let rising: Vec<f64> = if sign > 0.0 { esf.to_vec() } else { esf.iter().rev().copied().collect() };
    let n = rising.len();
    let flat = (n / 5).max(1);
    let mean = |s: &[f64]| s.iter().sum::<f64>() / s.len() as f64;
    let (dark, bright) = (mean(&rising[..flat]), mean(&rising[n - flat..]));
    let unit: Vec<f64> = rising.iter().map(|v| (v - dark) / (bright - dark)).collect();
    let (low, high) = unit.iter().fold((0.0f64, 1.0f64), |(a, b), &v| (a.min(v), b.max(v)));
    // From the middle outwards, so that noise on the flats is not taken for a crossing.
    let middle = unit.iter().position(|v| *v >= 0.5).unwrap_or(n / 2);
    let up = (middle..n).find(|&k| unit[k] >= 0.9).unwrap_or(n - 1).max(1);
    let down = (0..=middle).rev().find(|&k| unit[k] <= 0.1).unwrap_or(0).min(n - 2);
    let cross = |k: usize, level: f64| k as f64 + ((level - unit[k]) / (unit[k + 1] - unit[k])).clamp(0.0, 1.0);
    ([-low, high - 1.0], cross(up - 1, 0.9) - cross(down, 0.1))
}

#[cfg(test)]
mod tests;
