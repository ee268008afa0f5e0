//! Lamp and lens of a bare bed apart: where the light stands, and what the lens takes off the corners.
//!
//! One small lamp at distance `d` and elevation `e` over the bed, whose face looks at the frame's middle, behind a lens:
//! `E = ((1 - A) (d / |p - L|)^3 cos(emission)^q + A) exp(-(v2 r^2 + v4 r^4))`, `L = d (cos e cos a, cos e sin a, sin e)`
//! (inverse square and cosine, IES definition 9.1.2), p and r in half diagonals from the frame's middle, A the share of the
//! room's even light. The slope at the middle is `(1 - A) 3 cos e / d` and has no part of the lens. The bowl of the lamp and
//! that of the lens look alike to second order, so elevation is held near what is known of it and the errors say what the
//! frame adds.

use super::{Cell, Fit, cells, kinship};
use crate::ruler::Value;
use geometry::solve::{covariance, levenberg_marquardt};
use pixels::Picture;

/// What is known before looking.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Known {
    /// Frame pixels per millimetre of bed; `None` leaves lengths unsaid.
    pub px_per_mm: Option<f64>,
    /// Elevation of the lamp and its standard deviation, degrees.
    pub elevation_deg: (f64, f64),
    /// Share of the light at the frame's middle that comes from everywhere alike, and its standard deviation.
    pub ambient: (f64, f64),
}

impl Default for Known {
    /// Copy stands are lit at 45 degrees, from 30 to 60 (common practice); a room gives a tenth of the light or nearly none.
    fn default() -> Self {
        Self { px_per_mm: None, elevation_deg: (45.0, 7.5), ambient: (0.04, 0.04) }
    }
}

/// A bare bed's light taken apart.
#[derive(Clone, Debug, PartialEq)]
pub struct Parts {
    /// Direction to the lamp, degrees in the image, 0 to the right, 90 down.
    pub azimuth_deg: Value,
    /// Elevation of the lamp, degrees.
    pub elevation_deg: Value,
    /// True where the frame itself says more of the elevation than was known before.
    pub elevation_seen: bool,
    /// Distance of the lamp from the frame's middle, mm; `None` without a scale, or where the light has no slope.
    pub distance_mm: Option<Value>,
    /// What the lens takes off a corner, stops.
    pub vignette_stops: Value,
    /// Brightest to darkest of the lamp alone over the frame, stops.
    pub lamp_stops: f64,
    x: [f64; N],
    centre: (f64, f64),
    half: f64,
}

/// ln level, slope of ln light right and down per half diagonal, elevation, emission's power, lens of second and fourth order,
/// share of even light.
const N: usize = 8;
/// Millionths of what matters.
const STEPS: [f64; N] = [1e-6; N];
/// Before looking: a face is something between a bare tube (0) and a matte screen (1); a lens at a working aperture takes 0 to
/// half a stop off its corners, mostly by the second order (`cos^4` of 10 to 18 degrees is 0.06 to 0.2).
const BEFORE: [(usize, f64, f64); 3] = [(4, 0.7, 0.4), (5, 0.12, 0.15), (6, 0.0, 0.04)];
/// Slope of ln light per half diagonal under which nothing is said of a distance.
const LEAST_SLOPE: f64 = 0.01;
/// What a real bed and lamp differ by from the law, as a share of the light, in the smooth shapes that a field can have: paper is
/// not equally white all over, faces are not equally bright (our judgement, no source).
const UNLAWFUL: (f64, f64) = (0.002, 15.0);
/// The elevation counts as seen where the frame halves what was open about it.
const SEEN: f64 = 0.5;

/// Takes a bare bed's light apart: `blank` is the frame reduced by `step`. `None` where too little of it can be read.
pub fn parts(blank: &Picture, step: f64, known: &Known) -> Option<Parts> {
    let cells = cells(blank, &|_, _| true);
    let fit = Fit::robust(&cells, vec![1.0; cells.len()], 4, None);
    let used: Vec<(&Cell, f64)> = cells.iter().zip(fit.weights.iter().copied()).filter(|(_, w)| *w > 0.0).collect();
    if used.len() < 50 {
        return None;
    }
    let off: Vec<f64> = cells.iter().map(|c| c.tone() - fit.tone(c)).collect();
    let noise = (fit.spread.powi(2) * kinship(&cells, &off, &fit.weights)
        + UNLAWFUL.0.powi(2) * used.len() as f64 / UNLAWFUL.1)
        .sqrt();
    let (even, even_sd) = known.ambient;
    let (e0, sd) = (known.elevation_deg.0.to_radians(), known.elevation_deg.1.to_radians());
    let residuals = |x: &[f64]| -> Vec<f64> {
        let mut r: Vec<f64> =
            used.iter().map(|(c, w)| (c.tone() - ln_light(x, (c.u, c.v))) * w.sqrt() / noise).collect();
        r.push((x[3] - e0) / sd);
        r.push((x[7] - even) / even_sd.max(1e-4));
        r.extend(BEFORE.iter().map(|&(i, mean, sd)| (x[i] - mean) / sd));
        r
    };
    let start = [fit.tone[0], fit.tone[1], fit.tone[2], e0, BEFORE[0].1, BEFORE[1].1, BEFORE[2].1, even];
    let (x, _) = levenberg_marquardt(residuals, &start, &STEPS, 40);
    let spread = covariance(residuals, &x, &STEPS)?;
    let x: [f64; N] = x.try_into().ok()?;
    let of = |f: &dyn Fn(&[f64; N]) -> f64| carried(&x, &spread, f);
    let span = super::Span::of(blank);
    let half_mm = known.px_per_mm.filter(|v| *v > 0.0).map(|v| span.half * step / v);
    let elevation = of(&|x| x[3].to_degrees());
    let azimuth = of(&|x| x[2].atan2(x[1]).to_degrees());
    let distance = half_mm.map(|mm| of(&|x| distance(x) * mm));
    let corner = |x: &[f64; N]| (x[5] + x[6]) / std::f64::consts::LN_2;
    let mut parts = Parts {
        azimuth_deg: Value { value: azimuth.value.rem_euclid(360.0), ..azimuth },
        elevation_seen: elevation.error < SEEN * known.elevation_deg.1,
        elevation_deg: elevation,
        // A slope of a hundredth over half a diagonal is less than paper differs from side to side.
        distance_mm: distance.filter(|d| x[1].hypot(x[2]) > LEAST_SLOPE && d.error < d.value),
        vignette_stops: of(&corner),
        lamp_stops: 0.0,
        x,
        centre: (span.cx * step, span.cy * step),
        half: span.half * step,
    };
    let (w, h) = (blank.width() as f64 * step, blank.height() as f64 * step);
    let grid = (0..=16).flat_map(|j| (0..=16).map(move |i| (f64::from(i) / 16.0 * w, f64::from(j) / 16.0 * h)));
    let (low, high) =
        grid.map(|(px, py)| parts.lamp(px, py)).fold((f64::INFINITY, 0.0f64), |(l, h), v| (l.min(v), h.max(v)));
    parts.lamp_stops = (high / low.max(1e-9)).log2();
    Some(parts)
}

impl Parts {
    /// The lamp's and the room's light at a frame position, 1 at the frame's middle.
    pub fn lamp(&self, x: f64, y: f64) -> f64 {
        lamp(&self.x, self.place(x, y))
    }
    /// What the lens passes at a frame position, 1 at the frame's middle.
    pub fn vignette(&self, x: f64, y: f64) -> f64 {
        lens(&self.x, self.place(x, y)).exp()
    }
    fn place(&self, x: f64, y: f64) -> (f64, f64) {
        ((x - self.centre.0) / self.half, (y - self.centre.1) / self.half)
    }
}

/// The lamp's distance in half diagonals: the slope is `(1 - A) 3 cos e / d`.
fn distance(x: &[f64]) -> f64 {
    (1.0 - x[7]) * 3.0 * x[3].cos() / x[1].hypot(x[2]).max(1e-9)
}

fn lamp(x: &[f64], (u, v): (f64, f64)) -> f64 {
    let (slope, d) = (x[1].hypot(x[2]).max(1e-9), distance(x));
    let (ca, sa) = (x[1] / slope, x[2] / slope);
    let l = [d * x[3].cos() * ca, d * x[3].cos() * sa, d * x[3].sin()];
    let to = [l[0] - u, l[1] - v, l[2]];
    let far = (to[0] * to[0] + to[1] * to[1] + to[2] * to[2]).sqrt();
    let emission = ((to[0] * l[0] + to[1] * l[1] + to[2] * l[2]) / (far * d)).max(1e-3);
    (1.0 - x[7]) * (d / far).powi(3) * emission.powf(x[4]) + x[7]
}

/// ln of what the lens passes.
fn lens(x: &[f64], (u, v): (f64, f64)) -> f64 {
    let r2 = u * u + v * v;
    -(x[5] * r2 + x[6] * r2 * r2)
}

fn ln_light(x: &[f64], place: (f64, f64)) -> f64 {
    x[0] + lamp(x, place).max(1e-9).ln() + lens(x, place)
}

/// A figure of the parameters, with the error that their covariance gives it.
fn carried(x: &[f64; N], covariance: &[f64], f: &dyn Fn(&[f64; N]) -> f64) -> Value {
    let slope: [f64; N] = std::array::from_fn(|i| {
        let (mut up, mut down) = (*x, *x);
        (up[i], down[i]) = (x[i] + STEPS[i], x[i] - STEPS[i]);
        (f(&up) - f(&down)) / (2.0 * STEPS[i])
    });
    let sum: f64 = (0..N * N).map(|k| slope[k / N] * covariance[k] * slope[k % N]).sum();
    Value { value: f(x), error: sum.max(0.0).sqrt() }
}

#[cfg(test)]
mod tests {
    use super::*;
    use pixels::Plane;

    /// A frame of 300 by 200 pixels of a lamp by the law itself, with a lens of `cos^4` to 14 degrees at the corner.
    fn drawn(azimuth: f64, elevation: f64, distance: f64, ambient: f64) -> Picture {
        let half = 150f64.hypot(100.0);
        let (sa, ca) = azimuth.to_radians().sin_cos();
        let (se, ce) = elevation.to_radians().sin_cos();
        let l = [distance * ce * ca, distance * ce * sa, distance * se];
        let plane = Plane::from_fn(300, 200, |x, y| {
            let (u, v) = ((x as f64 + 0.5 - 150.0) / half, (y as f64 + 0.5 - 100.0) / half);
            let to = [l[0] - u, l[1] - v, l[2]];
            let far = (to[0] * to[0] + to[1] * to[1] + to[2] * to[2]).sqrt();
            let emission = (to[0] * l[0] + to[1] * l[1] + to[2] * l[2]) / (far * distance);
            let e = (1.0 - ambient) * (distance / far).powi(3) * emission + ambient;
            let lens = (((u * u + v * v).sqrt() * 14f64.to_radians().tan()).atan()).cos().powi(4);
            (0.7 * e * lens) as f32
        });
        Picture([plane.clone(), plane.clone(), plane])
    }

    /// Planted lamps come back where the elevation is known; the lens is `4 log2 cos 14`, 0.174 stop.
    #[test]
    fn lamp_and_lens_come_apart() {
        for (azimuth, elevation, distance, ambient) in
            [(200.0, 45.0, 9.0, 0.0), (315.0, 40.0, 6.0, 0.1), (90.0, 52.0, 4.5, 0.0)]
        {
            // A pixel is a millimetre: half a diagonal is 180 mm.
            let known = Known { px_per_mm: Some(1.0), elevation_deg: (elevation, 1.0), ambient: (ambient, 0.01) };
            let p = parts(&drawn(azimuth, elevation, distance, ambient), 1.0, &known).unwrap();
            assert!((p.azimuth_deg.value - azimuth).abs() < 0.5, "{p:?}");
            let d = p.distance_mm.unwrap().value / (distance * 150f64.hypot(100.0)) - 1.0;
            assert!(d.abs() < 0.05, "{d} {p:?}");
            assert!((p.vignette_stops.value - 0.174).abs() < 0.03, "{p:?}");
            assert!((p.vignette(300.0, 200.0).log2() + p.vignette_stops.value).abs() < 1e-9);
        }
    }

    #[test]
    fn light_without_a_slope_has_no_distance() {
        let even = Plane::filled(300, 200, 0.5);
        let p = parts(
            &Picture([even.clone(), even.clone(), even]),
            1.0,
            &Known { px_per_mm: Some(1.0), ..Known::default() },
        )
        .unwrap();
        assert_eq!(p.distance_mm, None);
    }
}
