//! Small dense systems: Cholesky, least squares and Levenberg-Marquardt.

/// Solves `A x = b` for a symmetric positive definite `A` (row major, `n` by `n`) by Cholesky factors.
///
/// Returns `None` when `A` is not positive definite to working precision.
pub fn cholesky(a: &[f64], b: &[f64]) -> Option<Vec<f64>> {
    let n = b.len();
    let mut l = a.to_vec();
    for j in 0..n {
        for i in j..n {
            let dot: f64 = (0..j).map(|k| l[i * n + k] * l[j * n + k]).sum();
            let v = l[i * n + j] - dot;
            if i == j {
                // Relative to the pivot's own size: a column that is a sum of the ones before it leaves only rounding.
                if v.is_nan() || v <= a[j * n + j].abs() * 1e-14 {
                    return None;
                }
                l[j * n + j] = v.sqrt();
            } else {
                l[i * n + j] = v / l[j * n + j];
            }
        }
    }
    let mut x = b.to_vec();
    for i in 0..n {
        let dot: f64 = (0..i).map(|k| l[i * n + k] * x[k]).sum();
        x[i] = (x[i] - dot) / l[i * n + i];
    }
    for i in (0..n).rev() {
        let dot: f64 = (i + 1..n).map(|k| l[k * n + i] * x[k]).sum();
        x[i] = (x[i] - dot) / l[i * n + i];
    }
    Some(x)
}

/// Normal equations gathered row by row: minimises `sum w (row . x - y)^2`.
#[derive(Clone, Debug)]
pub struct LeastSquares {
    n: usize,
    ata: Vec<f64>,
    atb: Vec<f64>,
}

impl LeastSquares {
    /// An empty system in `n` unknowns.
    pub fn new(n: usize) -> Self {
        Self { n, ata: vec![0.0; n * n], atb: vec![0.0; n] }
    }
    /// Adds one equation `row . x = y` with weight `w`.
    pub fn add(&mut self, row: &[f64], y: f64, w: f64) {
        debug_assert_eq!(row.len(), self.n);
        for i in 0..self.n {
            let wi = w * row[i];
            for j in 0..=i {
                self.ata[i * self.n + j] += wi * row[j];
            }
            self.atb[i] += wi * y;
        }
    }
    /// The same system with another right-hand side: its solution is the inverse of the normal matrix times `right`.
    pub fn with_right(mut self, right: &[f64]) -> Self {
        debug_assert_eq!(right.len(), self.n);
        self.atb = right.to_vec();
        self
    }
    /// The minimiser, with `ridge` times the mean diagonal added for stability (0 for none).
    pub fn solve(&self, ridge: f64) -> Option<Vec<f64>> {
        let n = self.n;
        let mut a = self.ata.clone();
        for i in 0..n {
            for j in i + 1..n {
                a[i * n + j] = a[j * n + i];
            }
        }
        let add = ridge * (0..n).map(|i| a[i * n + i]).sum::<f64>() / n as f64;
        (0..n).for_each(|i| a[i * n + i] += add);
        cholesky(&a, &self.atb)
    }
}

/// Minimises `sum r_i(x)^2` from `x` by Levenberg-Marquardt with forward differences.
///
/// `steps[i]` is the difference step of parameter `i`, in its own unit: small against the change that matters, large
/// against rounding. Stops when a step improves the cost by less than one part in 10^9 or after `rounds`. Returns the
/// best parameters and their cost.
pub fn levenberg_marquardt(
    residuals: impl Fn(&[f64]) -> Vec<f64>,
    x: &[f64],
    steps: &[f64],
    rounds: usize,
) -> (Vec<f64>, f64) {
    let cost = |r: &[f64]| r.iter().map(|v| v * v).sum::<f64>();
    let (n, mut x) = (x.len(), x.to_vec());
    let mut r = residuals(&x);
    let mut c = cost(&r);
    let mut damping = 1e-3;
    for _ in 0..rounds {
        let columns: Vec<Vec<f64>> = (0..n)
            .map(|j| {
                let mut xj = x.clone();
                xj[j] += steps[j];
                residuals(&xj).iter().zip(&r).map(|(a, b)| (a - b) / steps[j]).collect()
            })
            .collect();
        let (mut jtj, mut jtr) = (vec![0.0; n * n], vec![0.0; n]);
        for i in 0..n {
            for j in 0..n {
                jtj[i * n + j] = columns[i].iter().zip(&columns[j]).map(|(a, b)| a * b).sum();
            }
            jtr[i] = -columns[i].iter().zip(&r).map(|(a, b)| a * b).sum::<f64>();
        }
        let before = c;
        // Ten tries raise the damping by 10^10: past that the point is a minimum to working precision.
        for _ in 0..10 {
            let mut a = jtj.clone();
            (0..n).for_each(|i| a[i * n + i] = jtj[i * n + i] * (1.0 + damping) + 1e-30);
            if let Some(d) = cholesky(&a, &jtr) {
                let trial: Vec<f64> = x.iter().zip(&d).map(|(a, b)| a + b).collect();
                let rt = residuals(&trial);
                let ct = cost(&rt);
                if ct < c {
                    (x, r, c) = (trial, rt, ct);
                    damping = (damping * 0.3).max(1e-12);
                    break;
                }
            }
            damping *= 10.0;
        }
        if before - c <= before * 1e-9 {
            break;
        }
    }
    (x, c)
}

/// The covariance of a least-squares fit at its minimum `x`, `(J^T J)^-1`, row major, for residuals in units of their own
/// standard deviation; differences as in [`levenberg_marquardt`]. `None` where the data do not fix every parameter.
pub fn covariance(residuals: impl Fn(&[f64]) -> Vec<f64>, x: &[f64], steps: &[f64]) -> Option<Vec<f64>> {
    let n = x.len();
    let columns: Vec<Vec<f64>> = (0..n)
        .map(|j| {
            let (mut up, mut down) = (x.to_vec(), x.to_vec());
            up[j] += steps[j];
            down[j] -= steps[j];
            residuals(&up).iter().zip(&residuals(&down)).map(|(a, b)| (a - b) / (2.0 * steps[j])).collect()
        })
        .collect();
    let size: Vec<f64> = columns.iter().map(|c| c.iter().map(|v| v * v).sum::<f64>().sqrt()).collect();
    if size.iter().any(|s| s.is_nan() || *s <= 0.0) {
        return None;
    }
    // Columns of unit length keep parameters of unlike units apart from rounding.
    let mut a = vec![0.0; n * n];
    for i in 0..n {
        for j in 0..n {
            let dot: f64 = columns[i].iter().zip(&columns[j]).map(|(a, b)| a * b).sum();
            a[i * n + j] = dot / (size[i] * size[j]);
        }
    }
    let mut out = vec![0.0; n * n];
    for j in 0..n {
        let unit: Vec<f64> = (0..n).map(|i| if i == j { 1.0 } else { 0.0 }).collect();
        let column = cholesky(&a, &unit)?;
        (0..n).for_each(|i| out[i * n + j] = column[i] / (size[i] * size[j]));
    }
    Some(out)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn least_squares_returns_a_planted_plane() {
        let mut s = LeastSquares::new(3);
        for i in 0..10 {
            let (u, v) = (i as f64, (i * i % 7) as f64);
            s.add(&[1.0, u, v], 2.0 - 0.5 * u + 3.0 * v, 1.0);
        }
        let x = s.solve(0.0).unwrap();
        assert!((x[0] - 2.0).abs() < 1e-10 && (x[1] + 0.5).abs() < 1e-10 && (x[2] - 3.0).abs() < 1e-10);
    }

    #[test]
    fn a_singular_system_is_refused() {
        let mut s = LeastSquares::new(2);
        s.add(&[1.0, 1.0], 1.0, 1.0);
        assert!(s.solve(0.0).is_none());
    }

    /// The textbook's straight line: slope variance `1 / sum (t - mean)^2`, intercept's `1/n + mean^2 / sum (t - mean)^2`.
    #[test]
    fn covariance_of_a_line_is_the_textbooks() {
        let t = [1.0, 2.0, 4.0, 7.0];
        let c = covariance(|x| t.iter().map(|t| x[0] + x[1] * t).collect(), &[0.3, 2.0], &[1e-4, 1e-4]).unwrap();
        let (mean, spread) = (3.5, 21.0);
        assert!((c[3] - 1.0 / spread).abs() < 1e-9 && (c[0] - (0.25 + mean * mean / spread)).abs() < 1e-9);
        assert!((c[1] + mean / spread).abs() < 1e-9);
        assert!(covariance(|x| vec![x[0] + x[1]; 3], &[0.0, 0.0], &[1e-4, 1e-4]).is_none());
    }

    /// Rosenbrock's valley, minimum at (1, 1) (Rosenbrock 1960, doi 10.1093/comjnl/3.3.175).
    #[test]
    fn levenberg_marquardt_walks_rosenbrocks_valley() {
        let f = |x: &[f64]| vec![10.0 * (x[1] - x[0] * x[0]), 1.0 - x[0]];
        let (x, c) = levenberg_marquardt(f, &[-1.2, 1.0], &[1e-7, 1e-7], 200);
        assert!((x[0] - 1.0).abs() < 1e-5 && (x[1] - 1.0).abs() < 1e-5 && c < 1e-10);
    }
}
