//! CIEDE2000 colour difference (ISO/CIE 11664-6).

/// Whether lightness differences count less far from mid-grey.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Lightness {
    /// The formula as standardised.
    #[default]
    Weighted,
    /// `S_L = 1`: every step of L* counts alike, as ISO 19264-1 judges reproductions.
    Even,
}

/// CIEDE2000 between two L*a*b* colours, `k_L = k_C = k_H = 1`.
///
/// ```
/// // The first pair of Sharma, Wu and Dalal's test data.
/// let d = pixels::difference::ciede2000([50.0, 2.6772, -79.7751], [50.0, 0.0, -82.7485]);
/// assert!((d - 2.0425).abs() < 1e-4);
/// ```
pub fn ciede2000(p: [f64; 3], q: [f64; 3]) -> f64 {
    ciede2000_with(p, q, Lightness::Weighted)
}

/// CIEDE2000 with the lightness weight chosen.
///
/// Letters as in Sharma, Wu and Dalal, *Color Res. Appl.* 30(1), 2005, doi 10.1002/col.20070; the mean hue and hue
/// difference where both chromas count, and zero-chroma cases, as there.
pub fn ciede2000_with([l1, a1, b1]: [f64; 3], [l2, a2, b2]: [f64; 3], lightness: Lightness) -> f64 {
    let c_mean = (a1.hypot(b1) + a2.hypot(b2)) / 2.0;
    let g = 0.5 * (1.0 - chroma_share(c_mean));
    let (a1, a2) = ((1.0 + g) * a1, (1.0 + g) * a2);
    let (c1, c2) = (a1.hypot(b1), a2.hypot(b2));
    let (h1, h2) = (hue_deg(a1, b1), hue_deg(a2, b2));
    let grey = c1 * c2 == 0.0;

    let dh = match h2 - h1 {
        _ if grey => 0.0,
        d if d > 180.0 => d - 360.0,
        d if d < -180.0 => d + 360.0,
        d => d,
    };
    let (d_l, d_c) = (l2 - l1, c2 - c1);
    let d_h = 2.0 * (c1 * c2).sqrt() * (dh / 2.0).to_radians().sin();

    let (l, c) = ((l1 + l2) / 2.0, (c1 + c2) / 2.0);
    let h = match (h1 + h2, (h1 - h2).abs() > 180.0) {
        (sum, _) if grey => sum,
        (sum, false) => sum / 2.0,
        (sum, true) if sum < 360.0 => (sum + 360.0) / 2.0,
        (sum, true) => (sum - 360.0) / 2.0,
    };
    let (s_l, s_c, s_h, r_t) = weights(l, c, h, lightness);
    let (l, c, h) = (d_l / s_l, d_c / s_c, d_h / s_h);
    // The rotation term makes the form indefinite only by rounding.
    (l * l + c * c + h * h + r_t * c * h).max(0.0).sqrt()
}

/// The matrix `M` with `|M (q - p)|` = CIEDE2000 of `p` and `q` for colours `q` close to `p` (to first order): what a fit
/// multiplies its L*a*b* residuals by so that their squares add up to squared CIEDE2000.
///
/// With `u` along the hue of `p` and `v` across it, both after the stretch of a* by `1 + G`, the squared difference is
/// `(dL/S_L)^2 + (u/S_C)^2 + (v/S_H)^2 + R_T u v / (S_C S_H)`, completed to squares.
pub fn ciede2000_metric([l, a, b]: [f64; 3]) -> [[f64; 3]; 3] {
    // The stretch's own change with chroma is left out: under 2 % of a step.
    let g = 0.5 * (1.0 - chroma_share(a.hypot(b)));
    let a = (1.0 + g) * a;
    let (c, h) = (a.hypot(b), hue_deg(a, b));
    let (s_l, s_c, s_h, r_t) = weights(l, c, h, Lightness::Weighted);
    let (cos, sin) = (h.to_radians().cos(), h.to_radians().sin());
    let along = [0.0, (1.0 + g) * cos / s_c, sin / s_c];
    let across = [0.0, -(1.0 + g) * sin / s_h, cos / s_h];
    let rest = (1.0 - r_t * r_t / 4.0).max(0.0).sqrt();
    [[1.0 / s_l, 0.0, 0.0], std::array::from_fn(|i| along[i] + r_t / 2.0 * across[i]), across.map(|v| v * rest)]
}

/// `S_L`, `S_C`, `S_H` and `R_T` at a mean lightness, chroma and hue.
fn weights(l: f64, c: f64, h: f64, lightness: Lightness) -> (f64, f64, f64, f64) {
    let cos = |deg: f64| deg.to_radians().cos();
    let t = 1.0 - 0.17 * cos(h - 30.0) + 0.24 * cos(2.0 * h) + 0.32 * cos(3.0 * h + 6.0) - 0.20 * cos(4.0 * h - 63.0);
    let d_theta = 30.0 * (-((h - 275.0) / 25.0).powi(2)).exp();
    let r_t = -(2.0 * d_theta).to_radians().sin() * 2.0 * chroma_share(c);
    let s_l = match lightness {
        Lightness::Weighted => 1.0 + 0.015 * (l - 50.0).powi(2) / (20.0 + (l - 50.0).powi(2)).sqrt(),
        Lightness::Even => 1.0,
    };
    (s_l, 1.0 + 0.045 * c, 1.0 + 0.015 * c * t, r_t)
}

/// `sqrt(C^7 / (C^7 + 25^7))`.
fn chroma_share(c: f64) -> f64 {
    let c7 = c.powi(7);
    (c7 / (c7 + 6_103_515_625.0)).sqrt()
}

/// Hue angle from 0 to 360 degrees; 0 for grey.
fn hue_deg(a: f64, b: f64) -> f64 {
    if a == 0.0 && b == 0.0 { 0.0 } else { b.atan2(a).to_degrees().rem_euclid(360.0) }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Sharma, Wu and Dalal, *Color Res. Appl.* 30(1) 21-30, 2005, table 1.
    #[rustfmt::skip]
    const PAIRS: [([f64; 3], [f64; 3], f64); 34] = [
        ([50.0000, 2.6772, -79.7751], [50.0000, 0.0000, -82.7485], 2.0425),
        ([50.0000, 3.1571, -77.2803], [50.0000, 0.0000, -82.7485], 2.8615),
        ([50.0000, 2.8361, -74.0200], [50.0000, 0.0000, -82.7485], 3.4412),
        ([50.0000, -1.3802, -84.2814], [50.0000, 0.0000, -82.7485], 1.0000),
        ([50.0000, -1.1848, -84.8006], [50.0000, 0.0000, -82.7485], 1.0000),
        ([50.0000, -0.9009, -85.5211], [50.0000, 0.0000, -82.7485], 1.0000),
        ([50.0000, 0.0000, 0.0000], [50.0000, -1.0000, 2.0000], 2.3669),
        ([50.0000, -1.0000, 2.0000], [50.0000, 0.0000, 0.0000], 2.3669),
        ([50.0000, 2.4900, -0.0010], [50.0000, -2.4900, 0.0009], 7.1792),
        ([50.0000, 2.4900, -0.0010], [50.0000, -2.4900, 0.0010], 7.1792),
        ([50.0000, 2.4900, -0.0010], [50.0000, -2.4900, 0.0011], 7.2195),
        ([50.0000, 2.4900, -0.0010], [50.0000, -2.4900, 0.0012], 7.2195),
        ([50.0000, -0.0010, 2.4900], [50.0000, 0.0009, -2.4900], 4.8045),
        ([50.0000, -0.0010, 2.4900], [50.0000, 0.0010, -2.4900], 4.8045),
        ([50.0000, -0.0010, 2.4900], [50.0000, 0.0011, -2.4900], 4.7461),
        ([50.0000, 2.5000, 0.0000], [50.0000, 0.0000, -2.5000], 4.3065),
        ([50.0000, 2.5000, 0.0000], [73.0000, 25.0000, -18.0000], 27.1492),
        ([50.0000, 2.5000, 0.0000], [61.0000, -5.0000, 29.0000], 22.8977),
        ([50.0000, 2.5000, 0.0000], [56.0000, -27.0000, -3.0000], 31.9030),
        ([50.0000, 2.5000, 0.0000], [58.0000, 24.0000, 15.0000], 19.4535),
        ([50.0000, 2.5000, 0.0000], [50.0000, 3.1736, 0.5854], 1.0000),
        ([50.0000, 2.5000, 0.0000], [50.0000, 3.2972, 0.0000], 1.0000),
        ([50.0000, 2.5000, 0.0000], [50.0000, 1.8634, 0.5757], 1.0000),
        ([50.0000, 2.5000, 0.0000], [50.0000, 3.2592, 0.3350], 1.0000),
        ([60.2574, -34.0099, 36.2677], [60.4626, -34.1751, 39.4387], 1.2644),
        ([63.0109, -31.0961, -5.8663], [62.8187, -29.7946, -4.0864], 1.2630),
        ([61.2901, 3.7196, -5.3901], [61.4292, 2.2480, -4.9620], 1.8731),
        ([35.0831, -44.1164, 3.7933], [35.0232, -40.0716, 1.5901], 1.8645),
        ([22.7233, 20.0904, -46.6940], [23.0331, 14.9730, -42.5619], 2.0373),
        ([36.4612, 47.8580, 18.3852], [36.2715, 50.5065, 21.2231], 1.4146),
        ([90.8027, -2.0831, 1.4410], [91.1528, -1.6435, 0.0447], 1.4441),
        ([90.9257, -0.5406, -0.9208], [88.6381, -0.8985, -0.7239], 1.5381),
        ([6.7747, -0.2908, -2.4247], [5.8714, -0.0985, -2.2286], 0.6377),
        ([2.0776, 0.0795, -1.1350], [0.9033, -0.0636, -0.5514], 0.9082),
    ];

    #[test]
    fn the_published_pairs_in_either_order() {
        for (i, &(p, q, want)) in PAIRS.iter().enumerate() {
            for got in [ciede2000(p, q), ciede2000(q, p)] {
                assert!((got - want).abs() <= 1e-4, "pair {}: {got} not {want}", i + 1);
            }
        }
    }

    #[test]
    fn the_metric_is_the_formula_for_small_steps() {
        for p in [[50.0, 0.0, 0.0], [90.0, 3.0, -60.0], [35.0, 40.0, -50.0], [20.0, -30.0, 8.0], [70.0, 12.0, 70.0]] {
            for d in [[0.02, 0.0, 0.0], [0.0, 0.02, 0.0], [0.0, 0.0, 0.02], [0.01, -0.02, 0.015]] {
                let m = ciede2000_metric(p);
                let r = m.map(|row| row[0] * d[0] + row[1] * d[1] + row[2] * d[2]);
                let (got, want) = (r[0].hypot(r[1]).hypot(r[2]), ciede2000(p, [p[0] + d[0], p[1] + d[1], p[2] + d[2]]));
                assert!((got / want - 1.0).abs() < 0.06, "{p:?} {d:?}: {got} {want}");
            }
        }
    }

    #[test]
    fn even_lightness_counts_a_step_of_white_whole() {
        let (p, q) = ([98.0, 0.0, 0.0], [96.0, 0.0, 0.0]);
        assert!((ciede2000_with(p, q, Lightness::Even) - 2.0).abs() < 1e-12);
        assert!(ciede2000(p, q) < 1.3);
    }
}
