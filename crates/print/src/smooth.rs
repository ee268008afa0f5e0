//! The smooth curve of a side through its single measurements, and how well its ends are known.

use geometry::fit::{Polynomial, median, spread};
use geometry::solve::LeastSquares;

/// How closely a side was measured.
#[derive(Clone, Copy, Debug)]
pub struct Scale {
    /// Distance between the samples of a profile, mm.
    pub step: f64,
    /// How far (mm) from the curve a measurement may lie.
    pub tolerance: f64,
    /// Neighbours on either side that each profile was averaged with.
    pub blended: usize,
    /// Length (mm) of a profile, in which steps may lie.
    pub range: f64,
}

/// A smooth curve through samples, and how well it is known.
pub struct Fitted {
    /// Deviation over t.
    pub curve: Polynomial,
    /// Robust spread of the samples about it, mm.
    pub spread: f64,
    /// Standard error at t = -1 and at t = 1, mm.
    pub ends: [f64; 2],
}

/// Usual size (mm) of a side's coefficients by degree: it may lie and lean as it will; paper bows by half a millimetre as
/// seen, and bends more sharply only where a corner is lifted (5 mm of lift move a corner by about half a millimetre).
const USUAL: [f64; 6] = [10.0, 3.0, 0.6, 0.3, 0.3, 0.2];

impl Fitted {
    /// Least squares with Tukey's biweight, each coefficient held near 0 by its usual size: where samples are few, noisy or on
    /// one half of a side only, the curve stays plain, and its error at the ends says how much is left open.
    pub fn new(samples: &[(f64, f64)], degree: usize, scale: Scale) -> Option<Self> {
        let scatter = scatter(samples).max(0.1 * scale.step).max(0.004);
        // Blended profiles share their noise, and neighbours share fibre, light and compression.
        let kin = 2.0 * (1.0 + scale.blended as f64);
        let mut curve = Polynomial(vec![0.0]);
        let mut solved = None;
        let mut size = scale.tolerance;
        for round in 0..11 {
            let mut system = LeastSquares::new(degree + 1);
            let noise = scatter * scatter * kin;
            for (t, y) in samples {
                let u = (y - curve.at(*t)) / (4.685 * size);
                // All alike at first; Cauchy weights then walk to the majority, and the biweight rejects.
                let w = match round {
                    0 => 1.0,
                    1..5 => 1.0 / (1.0 + (4.685 * u).powi(2)),
                    _ if u.abs() < 1.0 => (1.0 - u * u).powi(2),
                    _ => 0.0,
                };
                system.add(&powers(*t, degree), *y, w / noise);
            }
            for i in 0..=degree {
                let mut row = vec![0.0; degree + 1];
                row[i] = 1.0;
                system.add(&row, 0.0, USUAL[i.min(5)].powi(-2));
            }
            curve = Polynomial(system.solve(0.0)?);
            let mut off: Vec<f64> = samples.iter().map(|(t, y)| (y - curve.at(*t)).abs()).collect();
            size = (1.4826 * median(&mut off)).max(2.0 * scatter);
            solved = Some(system);
        }
        let off: Vec<f64> = samples.iter().map(|(t, y)| y - curve.at(*t)).collect();
        let spread = spread(&off).max(0.5 * scatter);
        // Where the curve does not follow the samples their misfit is the noise.
        let wider = (spread / scatter).max(1.0);
        let ends = [-1.0, 1.0].map(|t| wider * variance(solved.as_ref(), t, degree).sqrt());
        Some(Self { curve, spread, ends })
    }
}

fn powers(t: f64, degree: usize) -> Vec<f64> {
    (0..=degree).map(|i| t.powi(i as i32)).collect()
}

/// Variance at `t` of the curve that a system of normal equations in units of the noise solves: x' A^-1 x.
fn variance(system: Option<&LeastSquares>, t: f64, degree: usize) -> f64 {
    let x = powers(t, degree);
    let solved = system.and_then(|s| s.clone().with_right(&x).solve(0.0));
    solved.map_or(1.0, |z| x.iter().zip(z).map(|(a, b)| a * b).sum())
}

/// Scatter of samples about any smooth curve: the robust spread of each one's distance from the line through its neighbours,
/// whose variance is 1 + 1/4 + 1/4 times a sample's own.
fn scatter(samples: &[(f64, f64)]) -> f64 {
    let off: Vec<f64> = samples
        .windows(3)
        .map(|w| {
            let share = (w[1].0 - w[0].0) / (w[2].0 - w[0].0).max(1e-9);
            w[1].1 - (w[0].1 + (w[2].1 - w[0].1) * share)
        })
        .collect();
    spread(&off) / 1.5f64.sqrt()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_error_of_an_end_is_that_of_least_squares() {
        // A straight line through n even places: variance 1/n + t^2 / sum t^2, at t = 1 nearly 4/n (closed form).
        let places: Vec<f64> = (0..100).map(|k| (f64::from(k) - 49.5) / 50.0).collect();
        let sum: f64 = places.iter().map(|t| t * t).sum();
        let mut system = LeastSquares::new(2);
        places.iter().for_each(|t| system.add(&powers(*t, 1), 0.0, 1.0));
        assert!((variance(Some(&system), 1.0, 1) - (0.01 + 1.0 / sum)).abs() < 1e-6);
    }

    #[test]
    fn half_a_side_leaves_its_far_end_open() {
        let half: Vec<(f64, f64)> = (0..30).map(|k| (f64::from(k) / 30.0, 0.01 * f64::from((k * 7) % 5 - 2))).collect();
        let fit = Fitted::new(&half, 5, Scale { step: 0.05, tolerance: 0.08, blended: 0, range: 2.5 }).unwrap();
        assert!(fit.ends[0] > 0.2 && fit.ends[1] < 0.1, "{:?}", fit.ends);
        assert!(fit.curve.at(-1.0).abs() < 2.0 * fit.ends[0]);
    }

    #[test]
    fn scatter_knows_no_slope() {
        let samples: Vec<(f64, f64)> = (0..200)
            .map(|k| (f64::from(k) / 100.0 - 1.0, 0.3 * f64::from(k) / 100.0 + if k % 2 == 0 { 0.02 } else { -0.02 }))
            .collect();
        // Alternating by 0.02 about a line: every sample is 0.04 off its neighbours' line, over the root of 1.5.
        assert!((scatter(&samples) - 1.4826 * 0.04 / 1.5f64.sqrt()).abs() < 0.003);
    }
}
