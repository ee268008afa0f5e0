//! The slanted edge against closed forms, and edges that cannot be trusted.

use super::*;

/// An area with a straight edge at a slant: `light(d)` gives the light at signed distance `d` px from the edge, averaged over
/// each pixel by `sub` by `sub` points.
fn edge(width: usize, height: usize, slant_deg: f64, sub: usize, light: impl Fn(f64) -> f64 + Sync) -> Plane {
    let (s, c) = slant_deg.to_radians().sin_cos();
    let middle = (width as f64 / 2.0 + 0.3, height as f64 / 2.0);
    Plane::from_fn(width, height, |x, y| {
        let mut sum = 0.0;
        for k in 0..sub * sub {
            let at = |i: usize| (i as f64 + 0.5) / sub as f64;
            let (u, v) = (x as f64 + at(k % sub) - middle.0, y as f64 + at(k / sub) - middle.1);
            sum += light(u * c - v * s);
        }
        (0.05 + 0.75 * sum / (sub * sub) as f64) as f32
    })
}

/// The normal distribution function, by Abramowitz and Stegun 7.1.26 refined by its series near 0: error under 1.5e-7.
fn phi(x: f64) -> f64 {
    let z = x.abs() / std::f64::consts::SQRT_2;
    let t = 1.0 / (1.0 + 0.3275911 * z);
    let poly = t * (0.254829592 + t * (-0.284496736 + t * (1.421413741 + t * (-1.453152027 + t * 1.061405429))));
    let erf = 1.0 - poly * (-z * z).exp();
    0.5 * (1.0 + erf * x.signum())
}

/// ISO 12233's own aim for a check: see `docs/science/ruler.md` for the derivation of the table.
const TOLERANCE: f64 = 0.015;

fn near(got: Option<f64>, want: f64, tolerance: f64, what: &str) {
    let got = got.unwrap_or(f64::NAN);
    assert!((got - want).abs() <= tolerance, "{what}: {got:.5}, wanted {want:.5}");
}

/// Gaussian of standard deviation s, point samples: MTF = exp(-2 pi^2 s^2 f^2), MTF50 = 0.18739 / s, MTF10 = 0.34154 / s.
#[test]
fn a_gaussian_edge_gives_the_closed_form() {
    for (sigma, slant) in [(0.5, 5.0), (0.7, -7.0), (1.2, 5.0)] {
        let r = esfr(&edge(80, 120, slant, 1, |d| phi(d / sigma))).unwrap();
        for f in [0.1, 0.25, 0.5] {
            let want = (-2.0 * (PI * sigma * f).powi(2)).exp();
            near(r.at_frequency(f), want, TOLERANCE, &format!("gaussian {sigma} at {f}"));
        }
        near(r.mtf50(), 0.18739 / sigma, 0.015 * 0.18739 / sigma, "MTF50");
        near(r.mtf10(), 0.34154 / sigma, 0.02 * 0.34154 / sigma, "MTF10");
        assert!((r.slant_deg - slant).abs() < 0.05, "{} {slant}", r.slant_deg);
        // 10 to 90 % of a Gaussian edge is 2.5631 sigma; quarter-pixel bins widen a narrow one a little.
        assert!((r.rise_px - 2.5631 * sigma).abs() < 0.06, "{} {sigma}", r.rise_px);
        assert!(r.peak() < 1.0 + 1e-3 && r.overshoot[0] < 1e-3 && r.overshoot[1] < 1e-3);
    }
}

/// The table's pixel box times a Gaussian: at 0.5 cycles/px 0.40832 (s = 0.3), 0.18539 (0.5), 0.05672 (0.7); MTF50 and MTF10
/// beside them. At 5 degrees the box is sinc(f cos) sinc(f sin), which moves them by less than 0.001.
#[test]
fn a_pixel_box_times_a_gaussian_gives_the_table() {
    let table = [
        (0.3, 0.44234, 0.76367, 0.8057, 0.40832),
        (0.5, 0.32309, 0.58128, 0.6614, 0.18539),
        (0.7, 0.24711, 0.44859, 0.4919, 0.05672),
    ];
    for (sigma, mtf50, mtf10, quarter, half) in table {
        let r = esfr(&edge(80, 120, 5.0, 16, |d| phi(d / sigma))).unwrap();
        near(r.mtf50(), mtf50, 0.01, &format!("MTF50 of {sigma}"));
        near(r.mtf10(), mtf10, 0.015, &format!("MTF10 of {sigma}"));
        near(r.at_frequency(0.25), quarter, TOLERANCE, &format!("0.25 of {sigma}"));
        near(r.at_frequency(0.5), half, TOLERANCE, &format!("0.5 of {sigma}"));
    }
    let bare = esfr(&edge(80, 120, 5.0, 48, |d| f64::from(u8::from(d > 0.0)))).unwrap();
    near(bare.at_frequency(0.25), 0.90032, TOLERANCE, "box at 0.25");
    near(bare.at_frequency(0.5), 2.0 / PI, TOLERANCE, "box at 0.5");
    near(bare.mtf50(), 0.60335, 0.015, "box MTF50");
    assert_eq!(bare.efficiency(), 1.0);
}

/// Diffraction: MTF = (2/pi)(acos v - v sqrt(1 - v^2)), v = f / cut-off; half at v = 0.40397, a tenth at 0.80538.
#[test]
fn diffraction_gives_the_closed_form() {
    let cut = 0.7;
    let mtf = |v: f64| 2.0 / PI * (v.acos() - v * (1.0 - v * v).sqrt());
    // Edge spread by the integral 1/2 + int MTF(f) sin(2 pi f d) / (pi f) df, midpoint rule.
    let n = 400;
    let spread = |d: f64| {
        let sum: f64 = (0..n)
            .map(|i| {
                let v = (f64::from(i) + 0.5) / f64::from(n);
                mtf(v) * (2.0 * PI * v * cut * d).sin() / (PI * v)
            })
            .sum();
        0.5 + sum / f64::from(n)
    };
    let table: Vec<f64> = (-8000..=8000).map(|i| spread(f64::from(i) / 100.0)).collect();
    let at = |d: f64| {
        let t = ((d + 80.0) * 100.0).clamp(0.0, 15999.0);
        table[t as usize] + (table[t as usize + 1] - table[t as usize]) * t.fract()
    };
    let r = esfr(&edge(100, 120, 5.0, 1, at)).unwrap();
    near(r.mtf50(), 0.40397 * cut, 0.01, "diffraction MTF50");
    near(r.mtf10(), 0.80538 * cut, 0.015, "diffraction MTF10");
    near(r.at_frequency(0.25 * cut), 0.68504, TOLERANCE, "quarter of cut-off");
    near(r.at_frequency(0.5 * cut), 0.39100, TOLERANCE, "half of cut-off");
}

/// An unsharp mask of the point-sampled Gaussian: MTF = G(s) (1 + a (1 - G(t))), linear and so exact.
#[test]
fn sharpening_is_seen_as_a_response_over_one() {
    let (sigma, wide, amount) = (0.6f64, 1.5, 0.8);
    let both = sigma.hypot(wide);
    let r = esfr(&edge(80, 120, 5.0, 1, |d| (1.0 + amount) * phi(d / sigma) - amount * phi(d / both))).unwrap();
    let g = |s: f64, f: f64| (-2.0 * (PI * s * f).powi(2)).exp();
    let want = |f: f64| g(sigma, f) * (1.0 + amount * (1.0 - g(wide, f)));
    let peak = (0..=100).map(|i| want(f64::from(i) / 200.0)).fold(0.0, f64::max);
    assert!(peak > 1.1 && (r.peak() - peak).abs() < TOLERANCE, "{} {peak}", r.peak());
    assert!(r.overshoot[0] > 0.02 && r.overshoot[1] > 0.02);
}

#[test]
fn a_curved_edge_is_followed() {
    let area = |bend: f64| {
        Plane::from_fn(80, 120, |x, y| {
            let v = y as f64 - 59.5;
            let d = (x as f64 - 39.3 - 0.0875 * v - bend * v * v / 3600.0) * 5f64.to_radians().cos();
            (0.05 + 0.75 * phi(d / 0.7)) as f32
        })
    };
    let (straight, bent) = (esfr(&area(0.0)).unwrap(), esfr(&area(0.8)).unwrap());
    near(bent.mtf50(), straight.mtf50().unwrap(), 0.003, "bent");
}

#[test]
fn edges_the_standard_would_not_trust_are_named() {
    let good = |d: f64| phi(d / 0.7);
    assert!(matches!(esfr(&edge(80, 120, 0.2, 1, good)), Err(EdgeError::Slant(_))));
    assert!(matches!(esfr(&edge(80, 120, 5.0, 1, |_| 0.5)), Err(EdgeError::Faint(_))));
    assert!(matches!(esfr(&edge(80, 120, 5.0, 1, |d| 2.0 * good(d))), Err(EdgeError::Clipped(_))));
    assert_eq!(esfr(&edge(8, 8, 5.0, 1, good)), Err(EdgeError::Small));
    let dead = Plane::filled(80, 120, f32::NAN);
    assert!(esfr(&dead).is_err());
}
