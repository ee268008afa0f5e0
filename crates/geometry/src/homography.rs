//! Projective maps of the plane.

use crate::solve::LeastSquares;
use crate::{Point, point};

/// Points in equal steps along a line, as a projective map shows them: on a line again, but no longer equally far apart.
#[derive(Clone, Copy, Debug)]
pub struct Ray {
    /// The first image, homogeneous.
    from: [f64; 3],
    /// What a step adds.
    step: [f64; 3],
}

impl Ray {
    /// The image of the point `k` steps on.
    #[inline]
    pub fn at(&self, k: f64) -> Point {
        let [x, y, w] = std::array::from_fn(|i| self.from[i] + self.step[i] * k);
        let per = 1.0 / w;
        point(x * per, y * per)
    }
}

/// A projective map `x' ~ H x`, row major, scaled so that `h33 = 1`.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Homography(pub [[f64; 3]; 3]);

impl Homography {
    /// Leaves every point where it is.
    pub const IDENTITY: Self = Self([[1.0, 0.0, 0.0], [0.0, 1.0, 0.0], [0.0, 0.0, 1.0]]);

    /// Scales by `s`, then moves by (`dx`, `dy`).
    pub const fn scale_then_move(s: f64, dx: f64, dy: f64) -> Self {
        Self([[s, 0.0, dx], [0.0, s, dy], [0.0, 0.0, 1.0]])
    }

    /// The map that takes each `from` to its `to` in the least-squares sense (exactly for four points).
    ///
    /// Direct linear transform on normalised points (centroid 0, mean distance sqrt 2), two rows per point with
    /// `h33 = 1` (Hartley and Zisserman, *Multiple View Geometry*, ch. 4; from memory). `None` for fewer than four points
    /// or where they lie on a line.
    ///
    /// ```
    /// use geometry::{Homography, Quad, point};
    /// // A square metre seen at 10 px/mm, moved by 100 px.
    /// let print = Quad::rectangle(100.0, 100.0);
    /// let frame = print.map(|p| p * 10.0 + point(100.0, 100.0));
    /// let frame_from_print = Homography::from_points(&print.0, &frame.0).unwrap();
    /// assert!(frame_from_print.apply(point(50.0, 50.0)).distance(point(600.0, 600.0)) < 1e-9);
    /// assert!((frame_from_print.scale_at(point(50.0, 50.0)) - 10.0).abs() < 1e-9);
    /// ```
    pub fn from_points(from: &[Point], to: &[Point]) -> Option<Self> {
        if from.len() < 4 || from.len() != to.len() {
            return None;
        }
        let (na, nb) = (normaliser(from)?, normaliser(to)?);
        let mut s = LeastSquares::new(8);
        for (&a, &b) in from.iter().zip(to) {
            let (p, q) = (na.apply(a), nb.apply(b));
            s.add(&[p.x, p.y, 1.0, 0.0, 0.0, 0.0, -q.x * p.x, -q.x * p.y], q.x, 1.0);
            s.add(&[0.0, 0.0, 0.0, p.x, p.y, 1.0, -q.y * p.x, -q.y * p.y], q.y, 1.0);
        }
        let h = s.solve(0.0)?;
        let h = Self([[h[0], h[1], h[2]], [h[3], h[4], h[5]], [h[6], h[7], 1.0]]);
        Some(nb.inverse()?.then_after(&h).then_after(&na))
    }

    /// The image of `p`.
    pub fn apply(&self, p: Point) -> Point {
        let h = &self.0;
        let w = h[2][0] * p.x + h[2][1] * p.y + h[2][2];
        point((h[0][0] * p.x + h[0][1] * p.y + h[0][2]) / w, (h[1][0] * p.x + h[1][1] * p.y + h[1][2]) / w)
    }

    /// The images of points in equal steps along a line, from `from`.
    pub fn ray(&self, from: Point, step: Point) -> Ray {
        let h = &self.0;
        Ray { from: h.map(|r| r[0] * from.x + r[1] * from.y + r[2]), step: h.map(|r| r[0] * step.x + r[1] * step.y) }
    }

    /// `self` after `first`: applies `first`, then `self` (the matrix product `self * first`).
    pub fn then_after(&self, first: &Self) -> Self {
        let m: [[f64; 3]; 3] =
            std::array::from_fn(|i| std::array::from_fn(|j| (0..3).map(|k| self.0[i][k] * first.0[k][j]).sum::<f64>()));
        Self(m.map(|row| row.map(|v| v / m[2][2])))
    }

    /// The inverse map, by cofactors; `None` where the matrix is singular.
    ///
    /// ```
    /// use geometry::{Homography, point};
    /// let there = Homography::scale_then_move(2.0, 3.0, 4.0);
    /// let back = there.inverse().unwrap();
    /// assert!(back.apply(there.apply(point(5.0, 6.0))).distance(point(5.0, 6.0)) < 1e-12);
    /// ```
    pub fn inverse(&self) -> Option<Self> {
        let m = &self.0;
        let c = |a: usize, b: usize, d: usize, e: usize| m[a][b] * m[d][e] - m[a][e] * m[d][b];
        let adj = [
            [c(1, 1, 2, 2), -c(0, 1, 2, 2), c(0, 1, 1, 2)],
            [-c(1, 0, 2, 2), c(0, 0, 2, 2), -c(0, 0, 1, 2)],
            [c(1, 0, 2, 1), -c(0, 0, 2, 1), c(0, 0, 1, 1)],
        ];
        let det = m[0][0] * adj[0][0] + m[0][1] * adj[1][0] + m[0][2] * adj[2][0];
        let s = adj[2][2];
        (det.abs() > 1e-300 && s != 0.0).then(|| Self(adj.map(|row| row.map(|v| v / s))))
    }

    /// Local scale at `p`: the square root of the Jacobian's determinant, target units per source unit.
    pub fn scale_at(&self, p: Point) -> f64 {
        let h = 1e-4;
        let dx = (self.apply(p + point(h, 0.0)) - self.apply(p - point(h, 0.0))) * (0.5 / h);
        let dy = (self.apply(p + point(0.0, h)) - self.apply(p - point(0.0, h))) * (0.5 / h);
        dx.cross(dy).abs().sqrt()
    }
}

/// Moves the centroid to 0 and scales the mean distance from it to sqrt 2.
fn normaliser(points: &[Point]) -> Option<Homography> {
    let n = points.len() as f64;
    let c = points.iter().fold(Point::default(), |a, &p| a + p) * (1.0 / n);
    let mean = points.iter().map(|p| p.distance(c)).sum::<f64>() / n;
    (mean > 0.0).then(|| {
        let s = std::f64::consts::SQRT_2 / mean;
        Homography::scale_then_move(s, -c.x * s, -c.y * s)
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::Quad;

    /// Test vector T2, computed with OpenCV 5.0 (`docs/references.md`, geometry).
    #[test]
    fn four_points_return_the_matrix_that_made_them() {
        let h = Homography([[50.0, 3.0, 1000.0], [-2.0, 51.0, 700.0], [1e-4, -2e-4, 1.0]]);
        let rect = Quad::rectangle(88.0, 107.0);
        let want = [
            point(1000.0, 700.0),
            point(5352.894528, 519.429025),
            point(5794.004456, 6057.322260),
            point(1349.887595, 6291.641120),
        ];
        for (p, w) in rect.0.iter().zip(want) {
            assert!(h.apply(*p).distance(w) < 1e-5);
        }
        let back = Homography::from_points(&rect.0, &want).unwrap();
        for i in 0..3 {
            for j in 0..3 {
                assert!((back.0[i][j] - h.0[i][j]).abs() < 1e-6 * h.0[i][j].abs().max(1.0));
            }
        }
        let round = h.inverse().unwrap().apply(want[2]);
        assert!(round.distance(rect.0[2]) < 1e-6);
    }
}
