//! Quantities that cannot be mistaken for one another.

use std::ops::{Add, Mul, Neg, Sub};

macro_rules! quantity {
    ($(#[$doc:meta])* $name:ident) => {
        $(#[$doc])*
        #[derive(Clone, Copy, Debug, Default, PartialEq, PartialOrd)]
        pub struct $name(f64);

        impl Add for $name {
            type Output = Self;
            fn add(self, o: Self) -> Self {
                Self(self.0 + o.0)
            }
        }
        impl Sub for $name {
            type Output = Self;
            fn sub(self, o: Self) -> Self {
                Self(self.0 - o.0)
            }
        }
        impl Neg for $name {
            type Output = Self;
            fn neg(self) -> Self {
                Self(-self.0)
            }
        }
        impl Mul<f64> for $name {
            type Output = Self;
            fn mul(self, k: f64) -> Self {
                Self(self.0 * k)
            }
        }
        impl $name {
            /// The magnitude without its sign.
            pub fn abs(self) -> Self {
                Self(self.0.abs())
            }
        }
    };
}

quantity!(
    /// A length, millimetres inside.
    Length
);
quantity!(
    /// An angle, radians inside.
    Angle
);
quantity!(
    /// A ratio of light as a power of two: one stop doubles it.
    Stops
);

impl Length {
    /// From millimetres.
    pub const fn mm(v: f64) -> Self {
        Self(v)
    }
    /// From international inches (25.4 mm exactly, 1959 agreement).
    ///
    /// ```
    /// assert_eq!(geometry::Length::inches(4.0).to_mm(), 101.6);
    /// ```
    pub const fn inches(v: f64) -> Self {
        Self(v * 25.4)
    }
    /// In millimetres.
    pub const fn to_mm(self) -> f64 {
        self.0
    }
}

impl Angle {
    /// From degrees.
    pub const fn deg(v: f64) -> Self {
        Self(v * std::f64::consts::PI / 180.0)
    }
    /// From radians.
    pub const fn rad(v: f64) -> Self {
        Self(v)
    }
    /// In degrees.
    pub const fn to_deg(self) -> f64 {
        self.0 * 180.0 / std::f64::consts::PI
    }
    /// In radians.
    pub const fn to_rad(self) -> f64 {
        self.0
    }
}

impl Stops {
    /// From a number of stops.
    pub const fn new(v: f64) -> Self {
        Self(v)
    }
    /// The stops by which `a` exceeds `b`: `log2(a / b)`.
    ///
    /// ```
    /// assert_eq!(geometry::Stops::between(0.25, 1.0).value().abs(), 2.0);
    /// ```
    pub fn between(a: f64, b: f64) -> Self {
        Self((a / b).log2())
    }
    /// As a number of stops.
    pub const fn value(self) -> f64 {
        self.0
    }
    /// As a factor of light, `2^stops`.
    pub fn factor(self) -> f64 {
        self.0.exp2()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn quantities_convert_both_ways() {
        assert_eq!(Length::inches(1.0).to_mm(), 25.4);
        assert!((Angle::deg(180.0).to_rad() - std::f64::consts::PI).abs() < 1e-15);
        assert_eq!(Stops::between(8.0, 1.0).value(), 3.0);
        assert_eq!(Stops::new(-1.0).factor(), 0.5);
    }
}
