//! Points and directions of the world, millimetres.

use geometry::Point;
use std::ops::{Add, Mul, Neg, Sub};

/// A point or a direction in space; see the crate's page for the axes.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Vec3 {
    /// To the image's right.
    pub x: f64,
    /// To the image's top.
    pub y: f64,
    /// Up from the bed to the camera.
    pub z: f64,
}

/// A vector from its components.
pub const fn vec3(x: f64, y: f64, z: f64) -> Vec3 {
    Vec3 { x, y, z }
}

impl Vec3 {
    /// Straight up from the bed.
    pub const UP: Self = vec3(0.0, 0.0, 1.0);

    /// Scalar product.
    pub fn dot(self, o: Self) -> f64 {
        self.x * o.x + self.y * o.y + self.z * o.z
    }
    /// Vector product.
    pub fn cross(self, o: Self) -> Self {
        vec3(self.y * o.z - self.z * o.y, self.z * o.x - self.x * o.z, self.x * o.y - self.y * o.x)
    }
    /// Length.
    pub fn norm(self) -> f64 {
        self.dot(self).sqrt()
    }
    /// The same direction with length 1; a zero vector stays zero.
    pub fn unit(self) -> Self {
        let n = self.norm();
        if n > 0.0 { self * (1.0 / n) } else { self }
    }
    /// What is left of it seen from straight above.
    pub fn plan(self) -> Point {
        geometry::point(self.x, self.y)
    }
    /// Mirrored at the plane with unit normal `n`: the direction a ray leaves in that arrived along `self`.
    pub fn mirrored(self, n: Self) -> Self {
        self - n * (2.0 * self.dot(n))
    }
}

/// `Rx(a) Ry(b) Rz(c) v`: turns about the world's axes, each counter-clockwise seen against its axis.
pub fn turned(v: Vec3, a: geometry::Angle, b: geometry::Angle, c: geometry::Angle) -> Vec3 {
    let (sa, ca) = a.to_rad().sin_cos();
    let (sb, cb) = b.to_rad().sin_cos();
    let (sc, cc) = c.to_rad().sin_cos();
    let v = vec3(cc * v.x - sc * v.y, sc * v.x + cc * v.y, v.z);
    let v = vec3(cb * v.x + sb * v.z, v.y, cb * v.z - sb * v.x);
    vec3(v.x, ca * v.y - sa * v.z, sa * v.y + ca * v.z)
}

impl Add for Vec3 {
    type Output = Self;
    fn add(self, o: Self) -> Self {
        vec3(self.x + o.x, self.y + o.y, self.z + o.z)
    }
}
impl Sub for Vec3 {
    type Output = Self;
    fn sub(self, o: Self) -> Self {
        vec3(self.x - o.x, self.y - o.y, self.z - o.z)
    }
}
impl Mul<f64> for Vec3 {
    type Output = Self;
    fn mul(self, k: f64) -> Self {
        vec3(self.x * k, self.y * k, self.z * k)
    }
}
impl Neg for Vec3 {
    type Output = Self;
    fn neg(self) -> Self {
        vec3(-self.x, -self.y, -self.z)
    }
}
