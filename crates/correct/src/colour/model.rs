//! Colour models, their least-squares fit, and what leaving one patch out says of them.

use crate::colour::tone_curve::ToneCurve;
use geometry::solve::{LeastSquares, levenberg_marquardt};
use pixels::{Primaries, ciede2000, ciede2000_metric, lab_from_xyz, matrix};
use rayon::prelude::*;

/// How light relative to the bed becomes XYZ.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Kind {
    /// A gain for each channel; the frame's primaries are right.
    Balance,
    /// Any 3 by 3 matrix.
    Matrix,
    /// The 3 by 6 matrix of red, green, blue and the roots of their products (Finlayson, Mackiewicz and Hurlbert 2015,
    /// doi 10.1109/TIP.2015.2405336), which scales with exposure as light does.
    RootPolynomial,
}

/// A kind of model with the number of terms of its look.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Shape {
    pub kind: Kind,
    pub look_terms: usize,
}

/// A patch ready to fit.
#[derive(Clone, Debug)]
pub struct Sample {
    /// Light as decoded.
    pub mean: [f64; 3],
    /// The bed's light there as decoded, 1 where unknown.
    pub bed: [f64; 3],
    /// Known L*a*b*.
    pub lab: [f64; 3],
    /// Known XYZ.
    pub xyz: [f64; 3],
    /// Trust, 0 to 1.
    pub weight: f64,
}

/// A fitted model.
#[derive(Clone, Debug)]
pub struct Fit {
    pub shape: Shape,
    pub parameters: Vec<f64>,
    /// CIEDE2000 of each sample under the fit, and under the fit without it.
    pub in_sample: Vec<f64>,
    pub left_out: Vec<f64>,
}

/// Rounds of the descent from the straight start, and from the whole fit to one without a patch (which is close).
const ROUNDS: usize = 40;
const ROUNDS_LEFT_OUT: usize = 8;

impl Shape {
    fn matrix_terms(self) -> usize {
        match self.kind {
            Kind::Balance => 3,
            Kind::Matrix => 9,
            Kind::RootPolynomial => 18,
        }
    }

    /// Free numbers.
    pub fn parameters(self) -> usize {
        self.matrix_terms() + self.look_terms
    }

    /// The look of these parameters.
    pub fn look(self, parameters: &[f64]) -> Option<ToneCurve> {
        (self.look_terms > 0).then(|| ToneCurve::new(&parameters[self.matrix_terms()..]))
    }

    /// The rows that take [`terms`] to XYZ.
    pub fn rows(self, parameters: &[f64], primaries: &Primaries) -> [[f64; 6]; 3] {
        let p = parameters;
        std::array::from_fn(|i| {
            std::array::from_fn(|j| match self.kind {
                Kind::Balance if j < 3 => primaries.0[i][j] * p[j],
                Kind::Matrix if j < 3 => p[3 * i + j],
                Kind::RootPolynomial => p[6 * i + j],
                _ => 0.0,
            })
        })
    }

    fn xyz(self, parameters: &[f64], primaries: &Primaries, look: Option<&ToneCurve>, s: &Sample) -> [f64; 3] {
        let light = |v: f64| look.map_or(v, |l| l.light(v));
        let t = terms(std::array::from_fn(|b| light(s.mean[b]) / light(s.bed[b]).max(1e-9)));
        self.rows(parameters, primaries).map(|row| row.iter().zip(t).map(|(m, v)| m * v).sum())
    }

    /// Weighted residuals whose squares add up to about squared CIEDE2000.
    fn residuals(self, parameters: &[f64], primaries: &Primaries, samples: &[Sample]) -> Vec<f64> {
        let look = self.look(parameters);
        let of = |s: &Sample| {
            let got = lab_from_xyz(self.xyz(parameters, primaries, look.as_ref(), s));
            let d = std::array::from_fn(|i| got[i] - s.lab[i]);
            matrix::apply(&ciede2000_metric(s.lab), d).map(|v| v * s.weight.sqrt())
        };
        // A faint pull of the look towards straight (0.02 each unit of its terms) holds what the chart does not show.
        let pull = parameters[self.matrix_terms()..].iter().map(|p| 0.02 * p);
        samples.iter().flat_map(of).chain(pull).collect()
    }

    /// The straight least-squares start, in XYZ, dark patches weighing more as they do to the eye.
    fn start(self, primaries: &Primaries, samples: &[Sample]) -> Option<Vec<f64>> {
        let relative = |s: &Sample| terms(std::array::from_fn(|b| s.mean[b] / s.bed[b].max(1e-9)));
        // L* rises as Y^(1/3): its slope as Y^(-2/3), whose square weighs squares; 0.01 keeps black finite.
        let weight = |s: &Sample| s.weight * (s.xyz[1].max(0.0) + 0.01).powf(-4.0 / 3.0);
        let solve = |n: usize, row: &dyn Fn(&Sample) -> Vec<Vec<f64>>, target: &dyn Fn(&Sample) -> Vec<f64>| {
            let mut system = LeastSquares::new(n);
            for s in samples {
                row(s).iter().zip(target(s)).for_each(|(r, y)| system.add(r, y, weight(s)));
            }
            system.solve(1e-9)
        };
        let mut x = match self.kind {
            Kind::Balance => {
                let rows = |s: &Sample| {
                    let t = relative(s);
                    primaries.0.map(|p| (0..3).map(|j| p[j] * t[j]).collect()).to_vec()
                };
                solve(3, &rows, &|s| s.xyz.to_vec())?
            }
            kind => {
                let n = if kind == Kind::Matrix { 3 } else { 6 };
                let mut all = Vec::with_capacity(3 * n);
                for i in 0..3 {
                    all.extend(solve(n, &|s| vec![relative(s)[..n].to_vec()], &|s| vec![s.xyz[i]])?);
                }
                all
            }
        };
        x.resize(self.parameters(), 0.0);
        Some(x)
    }

    fn descend(self, primaries: &Primaries, samples: &[Sample], from: &[f64], rounds: usize) -> Vec<f64> {
        let mut steps = vec![1e-5; self.matrix_terms()];
        steps.resize(self.parameters(), 1e-4);
        levenberg_marquardt(|p| self.residuals(p, primaries, samples), from, &steps, rounds).0
    }

    fn difference(self, parameters: &[f64], primaries: &Primaries, s: &Sample) -> f64 {
        let look = self.look(parameters);
        ciede2000(lab_from_xyz(self.xyz(parameters, primaries, look.as_ref(), s)), s.lab)
    }

    /// Fits the samples; `None` where there are too few for this shape, or where even those it is fitted to are met no better
    /// than `bar` (mean CIEDE2000). Samples of no weight are judged in neither way.
    pub fn fit(self, primaries: &Primaries, samples: &[Sample], bar: f64) -> Option<Fit> {
        let used: Vec<Sample> = samples.iter().filter(|s| s.weight > 0.0).cloned().collect();
        // Three numbers a patch; half as many again as are free, or leaving one out would leave too few.
        if 2 * used.len() < self.parameters() + self.look_terms + 2 {
            return None;
        }
        let start = self.start(primaries, &used)?;
        let first = self.descend(primaries, &used, &start, ROUNDS);
        let trusted = self.without_outliers(&first, primaries, &used);
        let parameters = self.descend(primaries, &trusted, &first, ROUNDS);
        let in_sample: Vec<f64> = used.iter().map(|s| self.difference(&parameters, primaries, s)).collect();
        if in_sample.iter().sum::<f64>() > bar * used.len() as f64 {
            return None;
        }
        let left_out = (0..used.len())
            .into_par_iter()
            .map(|i| {
                let others: Vec<Sample> =
                    trusted.iter().enumerate().filter(|(j, _)| *j != i).map(|(_, s)| s.clone()).collect();
                let p = self.descend(primaries, &others, &parameters, ROUNDS_LEFT_OUT);
                self.difference(&p, primaries, &used[i])
            })
            .collect();
        Some(Fit { shape: self, parameters, in_sample, left_out })
    }

    /// The samples, those more than three medians off weighing less in proportion (Huber's weights; a reflex or a fingerprint).
    fn without_outliers(self, parameters: &[f64], primaries: &Primaries, samples: &[Sample]) -> Vec<Sample> {
        let mut all: Vec<f64> = samples.iter().map(|s| self.difference(parameters, primaries, s)).collect();
        let off = all.clone();
        // Never under CIEDE2000 0.3, which no one sees.
        let limit = 3.0 * geometry::fit::median(&mut all).max(0.1);
        samples.iter().zip(off).map(|(s, d)| Sample { weight: s.weight * (limit / d).min(1.0), ..s.clone() }).collect()
    }
}

/// r, g, b, sqrt(r g), sqrt(g b), sqrt(r b); roots of negative products are 0.
pub fn terms([r, g, b]: [f64; 3]) -> [f64; 6] {
    let root = |v: f64, w: f64| (v.max(0.0) * w.max(0.0)).sqrt();
    [r, g, b, root(r, g), root(g, b), root(r, b)]
}
