//! Points and vectors of the plane.

use std::ops::{Add, Mul, Neg, Sub};

/// A point or a vector. Which space it lives in is said by the name that holds it.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Point {
    /// To the right.
    pub x: f64,
    /// Down in images.
    pub y: f64,
}

/// A point from its coordinates.
pub const fn point(x: f64, y: f64) -> Point {
    Point { x, y }
}

impl Point {
    /// The unit vector at `angle` radians from +x towards +y.
    pub fn at_angle(angle: f64) -> Self {
        point(angle.cos(), angle.sin())
    }
    /// Scalar product.
    pub fn dot(self, o: Self) -> f64 {
        self.x * o.x + self.y * o.y
    }
    /// The third component of the vector product: positive when `o` lies clockwise of `self` as seen in an image.
    pub fn cross(self, o: Self) -> f64 {
        self.x * o.y - self.y * o.x
    }
    /// Euclidean length.
    pub fn norm(self) -> f64 {
        self.x.hypot(self.y)
    }
    /// Euclidean distance to `o`.
    pub fn distance(self, o: Self) -> f64 {
        (self - o).norm()
    }
    /// The same direction with length 1; a zero vector stays zero.
    pub fn unit(self) -> Self {
        let n = self.norm();
        if n > 0.0 { self * (1.0 / n) } else { self }
    }
    /// A quarter turn clockwise as seen in an image: (x, y) to (-y, x).
    pub fn quarter_turn(self) -> Self {
        point(-self.y, self.x)
    }
    /// The point `t` of the way from `self` to `o`.
    pub fn lerp(self, o: Self, t: f64) -> Self {
        self + (o - self) * t
    }
    /// The angle from +x towards +y, radians.
    pub fn angle(self) -> f64 {
        self.y.atan2(self.x)
    }
}

impl Add for Point {
    type Output = Self;
    fn add(self, o: Self) -> Self {
        point(self.x + o.x, self.y + o.y)
    }
}
impl Sub for Point {
    type Output = Self;
    fn sub(self, o: Self) -> Self {
        point(self.x - o.x, self.y - o.y)
    }
}
impl Mul<f64> for Point {
    type Output = Self;
    fn mul(self, k: f64) -> Self {
        point(self.x * k, self.y * k)
    }
}
impl Neg for Point {
    type Output = Self;
    fn neg(self) -> Self {
        point(-self.x, -self.y)
    }
}
