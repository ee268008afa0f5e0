//! Photometric quantities that cannot be mistaken for one another.

use geometry::{Length, Stops};

macro_rules! plain {
    ($(#[$doc:meta])* $name:ident) => {
        $(#[$doc])*
        #[derive(Clone, Copy, Debug, Default, PartialEq, PartialOrd)]
        pub struct $name(pub f64);
    };
}

plain!(
    /// A ratio of focal length to pupil diameter; say in the name that holds it whether it is the one set or at work.
    FNumber
);
plain!(
    /// Luminous intensity.
    Candela
);
plain!(
    /// Illuminance.
    Lux
);
plain!(
    /// Exposure value at ISO 100: `log2(N^2 / t)`.
    Ev
);

impl FNumber {
    /// The light lost against `o`: `2 log2(N / o)`.
    pub fn stops_slower_than(self, o: Self) -> Stops {
        Stops::new(2.0 * (self.0 / o.0).log2())
    }
    /// This aperture opened by `s` stops: `N 2^(-s/2)`.
    pub fn opened(self, s: Stops) -> Self {
        Self(self.0 * (-s.value() / 2.0).exp2())
    }
}

/// A flash's guide number: f-number times distance for a full exposure, at ISO 100 and full power.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct GuideNumber(Length);

impl GuideNumber {
    /// From the value in metres printed on the flash, and the ISO it is stated for: `GN_100 = GN sqrt(100 / S)`.
    pub fn metres(value: f64, iso: f64) -> Self {
        Self(Length::mm(value * 1000.0 * (100.0 / iso).sqrt()))
    }
    /// In metres at ISO `iso`: grows with the root of the speed.
    pub fn to_metres(self, iso: f64) -> f64 {
        self.0.to_mm() / 1000.0 * (iso / 100.0).sqrt()
    }
    /// At a fraction of full power: the root of it.
    pub fn at_power(self, fraction: f64) -> Self {
        Self(self.0 * fraction.max(0.0).sqrt())
    }
}
