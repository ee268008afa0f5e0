//! Robust fits: median, polynomial through scattered points.

use crate::solve::LeastSquares;

/// The median; 0 for an empty slice. Sorts its argument.
///
/// ```
/// assert_eq!(geometry::fit::median(&mut [3.0, 1.0, 2.0]), 2.0);
/// ```
pub fn median(v: &mut [f64]) -> f64 {
    if v.is_empty() {
        return 0.0;
    }
    v.sort_by(f64::total_cmp);
    let m = v.len() / 2;
    if v.len() % 2 == 1 { v[m] } else { (v[m - 1] + v[m]) / 2.0 }
}

/// Median absolute deviation times 1.4826, which estimates the standard deviation of normal data.
pub fn spread(v: &[f64]) -> f64 {
    let m = median(&mut v.to_vec());
    1.4826 * median(&mut v.iter().map(|x| (x - m).abs()).collect::<Vec<_>>())
}

/// A polynomial in `t`, lowest power first.
#[derive(Clone, Debug, PartialEq)]
pub struct Polynomial(pub Vec<f64>);

impl Polynomial {
    /// The value at `t` (Horner).
    pub fn at(&self, t: f64) -> f64 {
        self.0.iter().rev().fold(0.0, |a, c| a * t + c)
    }
    /// The slope at `t`.
    pub fn slope(&self, t: f64) -> f64 {
        self.0.iter().enumerate().skip(1).rev().fold(0.0, |a, (i, c)| a * t + c * i as f64)
    }

    /// Fits `y(t)` of this degree to weighted samples `(t, y, w)`, robustly.
    ///
    /// Iteratively reweighted least squares with Tukey's biweight at 4.685 robust standard deviations (95 % efficient on
    /// normal data; Huber, *Robust Statistics*, from memory), never tighter than `floor` so that noiseless data do not
    /// reject themselves. Returns the fit, its robust residual spread and the share of the weight that agrees with it.
    pub fn fit(samples: &[(f64, f64, f64)], degree: usize, floor: f64) -> Option<(Self, f64, f64)> {
        let mut weights: Vec<f64> = samples.iter().map(|s| s.2).collect();
        let total: f64 = weights.iter().sum();
        let mut best = None;
        // Eight rounds of Cauchy weights walk from the plain least-squares start to the majority; biweight then rejects.
        for round in 0..16 {
            let mut system = LeastSquares::new(degree + 1);
            for (s, &w) in samples.iter().zip(&weights) {
                let row: Vec<f64> = (0..=degree).map(|i| s.0.powi(i as i32)).collect();
                system.add(&row, s.1, w);
            }
            let poly = Self(system.solve(1e-12)?);
            let residuals: Vec<f64> = samples.iter().map(|s| s.1 - poly.at(s.0)).collect();
            let mut sizes: Vec<f64> =
                residuals.iter().zip(samples).filter(|(_, s)| s.2 > 0.0).map(|(r, _)| r.abs()).collect();
            let scale = (1.4826 * median(&mut sizes)).max(floor);
            let cut = 4.685 * scale;
            weights = residuals
                .iter()
                .zip(samples)
                .map(|(r, s)| {
                    let u = r / cut;
                    if round < 8 {
                        return s.2 / (1.0 + (r / scale).powi(2));
                    }
                    if u.abs() < 1.0 { s.2 * (1.0 - u * u).powi(2) } else { 0.0 }
                })
                .collect();
            let agree = weights.iter().sum::<f64>() / total.max(1e-300);
            best = Some((poly, scale, agree));
        }
        best
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_parabola_survives_a_third_of_outliers() {
        let truth = Polynomial(vec![3.0, -0.2, 0.05]);
        let samples: Vec<_> = (0..60)
            .map(|i| {
                let t = i as f64 / 10.0 - 3.0;
                (t, if i % 3 == 0 { 9.0 + (i % 5) as f64 } else { truth.at(t) }, 1.0)
            })
            .collect();
        let (fit, _, agree) = Polynomial::fit(&samples, 2, 0.01).unwrap();
        assert!((0..3).all(|i| (fit.0[i] - truth.0[i]).abs() < 1e-6), "{fit:?}");
        assert!((agree - 2.0 / 3.0).abs() < 0.02);
        assert!((truth.slope(1.0) - (-0.2 + 0.1)).abs() < 1e-12);
    }
}
