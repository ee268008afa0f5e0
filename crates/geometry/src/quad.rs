//! Four corners in order.

use crate::{Point, point};

/// Four corners, clockwise as seen in an image (x right, y down).
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Quad(pub [Point; 4]);

impl Quad {
    /// The rectangle from (0, 0) to (`width`, `height`), from its top left.
    ///
    /// ```
    /// let print = geometry::Quad::rectangle(88.0, 107.0);
    /// assert_eq!(print.centre(), geometry::point(44.0, 53.5));
    /// assert_eq!(print.area(), 88.0 * 107.0);
    /// ```
    pub fn rectangle(width: f64, height: f64) -> Self {
        Self([point(0.0, 0.0), point(width, 0.0), point(width, height), point(0.0, height)])
    }
    /// The mean of the corners.
    pub fn centre(&self) -> Point {
        self.0.iter().fold(Point::default(), |a, &p| a + p) * 0.25
    }
    /// The corners starting `k` later: corner `k` comes first.
    pub fn rolled(&self, k: usize) -> Self {
        Self(std::array::from_fn(|i| self.0[(i + k) % 4]))
    }
    /// Every corner through `f`.
    pub fn map(&self, f: impl Fn(Point) -> Point) -> Self {
        Self(self.0.map(f))
    }
    /// Signed area by the shoelace formula; positive for clockwise order as seen in an image.
    pub fn area(&self) -> f64 {
        (0..4).map(|i| self.0[i].cross(self.0[(i + 1) % 4])).sum::<f64>() / 2.0
    }
    /// Side `i` runs from corner `i` to corner `i + 1`.
    pub fn side(&self, i: usize) -> (Point, Point) {
        (self.0[i % 4], self.0[(i + 1) % 4])
    }
    /// True where `p` is inside, the corners being clockwise and convex.
    ///
    /// ```
    /// use geometry::{Quad, point};
    /// let window = Quad::rectangle(79.0, 79.0);
    /// assert!(window.contains(point(1.0, 78.0)) && !window.contains(point(80.0, 1.0)));
    /// ```
    pub fn contains(&self, p: Point) -> bool {
        (0..4).all(|i| {
            let (a, b) = self.side(i);
            (b - a).cross(p - a) >= 0.0
        })
    }
    /// Distance of `p` from the quad's line, positive inside (convex, clockwise).
    pub fn inset(&self, p: Point) -> f64 {
        (0..4)
            .map(|i| {
                let (a, b) = self.side(i);
                (b - a).unit().cross(p - a)
            })
            .fold(f64::INFINITY, f64::min)
    }
    /// The mean corner distance to `o` under the best cyclic shift, and that shift: `self[i]` matches `o[i + shift]`.
    pub fn mean_distance(&self, o: &Self) -> (f64, usize) {
        (0..4)
            .map(|k| {
                let r = o.rolled(k);
                ((0..4).map(|i| self.0[i].distance(r.0[i])).sum::<f64>() / 4.0, k)
            })
            .min_by(|a, b| a.0.total_cmp(&b.0))
            .unwrap_or((f64::INFINITY, 0))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn rectangle_is_clockwise_and_contains_its_centre() {
        let q = Quad::rectangle(88.0, 107.0);
        assert_eq!(q.area(), 88.0 * 107.0);
        assert!(q.contains(q.centre()));
        assert!((q.inset(point(10.0, 50.0)) - 10.0).abs() < 1e-12);
        assert_eq!(q.mean_distance(&q.rolled(3)), (0.0, 1));
    }
}
