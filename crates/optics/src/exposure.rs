//! Exposure: values, guide numbers, flash and ambient together.

use crate::{Ev, FNumber, GuideNumber, Lux, closeup};
use geometry::{Length, Stops};

/// Incident-light constant of a meter with a hemispherical receptor, lux seconds at ISO 100 (ISO 2720 allows 240 to 400).
pub const INCIDENT: f64 = 250.0;
/// Reflected-light constant, candela seconds per square metre at ISO 100 (ISO 2720 allows 10.6 to 13.4).
pub const REFLECTED: f64 = 12.5;

/// `EV = log2(N^2 / t)`, t in seconds.
///
/// ```
/// use optics::{FNumber, exposure::ev};
/// // f/16 at 1/125 s is EV 15, to the rounding of the marked times.
/// assert!((ev(FNumber(16.0), 1.0 / 125.0).0 - 15.0).abs() < 0.05);
/// ```
pub fn ev(n: FNumber, seconds: f64) -> Ev {
    Ev((n.0 * n.0 / seconds).log2())
}

/// The illuminance a correct exposure at ISO 100 stands for: `E = 2^EV C / 100 = 2.5 2^EV` lux.
pub fn illuminance(ev: Ev) -> Lux {
    Lux(ev.0.exp2() * INCIDENT / 100.0)
}

/// The luminance a correct exposure at ISO 100 stands for: `L = 2^EV K / 100 = 2^(EV-3)` cd/m^2.
pub fn luminance(ev: Ev) -> f64 {
    ev.0.exp2() * REFLECTED / 100.0
}

/// The f-number that must be at work for a flash at `distance`: `N_w = GN / d`, GN at this ISO.
pub fn flash_working(guide: GuideNumber, iso: f64, distance: Length) -> FNumber {
    FNumber(guide.to_metres(iso) * 1000.0 / distance.to_mm())
}

/// The f-number to set close up: `N = GN / (d (1 + m/P))`.
pub fn flash_set(guide: GuideNumber, iso: f64, distance: Length, m: f64, pupil: f64) -> FNumber {
    closeup::set_for(flash_working(guide, iso, distance), m, pupil)
}

/// The distance at which a flash suits an f-number at work: `d = GN / N_w`.
pub fn flash_distance(guide: GuideNumber, iso: f64, working: FNumber) -> Length {
    Length::mm(guide.to_metres(iso) * 1000.0 / working.0)
}

/// The share of full power that suits an aperture at work and a distance: `(N_w d / GN)^2`; above 1 it is too little.
pub fn power_for(guide: GuideNumber, iso: f64, distance: Length, working: FNumber) -> f64 {
    (working.0 * distance.to_mm() / 1000.0 / guide.to_metres(iso)).powi(2)
}

/// How far the ambient light lies under the flash, from a frame with and one without it (linear values).
pub fn ambient_below(with_flash: f64, without: f64) -> Stops {
    Stops::between(with_flash - without, without)
}

/// How far under the flash the ambient must lie to be no more than `share` of it: `log2(1 / share)`.
pub fn ambient_for(share: f64) -> Stops {
    Stops::between(1.0, share)
}

/// Light dose of one correctly exposed frame, lux seconds: `C N_w^2 / S`.
pub fn dose(working: FNumber, iso: f64) -> f64 {
    INCIDENT * working.0 * working.0 / iso
}

/// Time above 10 % of the peak from the time above 50 %, for an exponential tail: `ln 10 / ln 2` (terms of ISO 2827).
pub fn duration_tenth(half: f64) -> f64 {
    half * std::f64::consts::LN_10 / std::f64::consts::LN_2
}

#[cfg(test)]
mod tests {
    use super::*;

    fn near(a: f64, b: f64, tolerance: f64) {
        assert!((a - b).abs() <= tolerance, "{a} is not {b} within {tolerance}");
    }

    /// Exposure-value tables (Ray 2000; ISO 2720 constants), through the encyclopedia article "Exposure value".
    #[test]
    fn exposure_values_stand_for_light() {
        let table = [(0.0, 2.5, 0.125), (5.0, 80.0, 4.0), (10.0, 2560.0, 128.0), (12.0, 10240.0, 512.0)];
        for (value, lux, cd) in table {
            near(illuminance(Ev(value)).0, lux, 1e-9 * lux);
            near(luminance(Ev(value)), cd, 1e-9 * cd);
        }
        near(illuminance(Ev(15.0)).0, 81920.0, 1e-6);
        for (n, t, cell) in [(16.0, 1.0 / 125.0, 15.0), (8.0, 1.0 / 60.0, 12.0), (5.6, 1.0 / 125.0, 12.0)] {
            near(ev(FNumber(n), t).0, cell, 0.1);
        }
        near(ev(FNumber(16.0), 1.0 / 125.0).0, 14.966, 5e-4);
        near(ev(FNumber(8.0), 1.0 / 60.0).0, 11.907, 5e-4);
        near(ev(FNumber(1.0), 1.0).0, 0.0, 1e-12);
    }

    /// G1 and G4: camera handbooks (makers withheld); G2: a photographic dictionary; G3: a question-and-answer page.
    #[test]
    fn guide_numbers_work_as_in_the_handbooks() {
        let m = |v: f64| Length::mm(v * 1000.0);
        let g1 = GuideNumber::metres(51.0, 200.0);
        near(flash_working(g1, 200.0, m(9.0)).0, 5.67, 0.005);
        near(g1.to_metres(800.0), 102.0, 1e-9);
        near(flash_working(GuideNumber::metres(45.0, 100.0), 100.0, m(5.0)).0, 9.0, 1e-9);
        let g3 = GuideNumber::metres(40.0, 100.0);
        near(flash_working(g3, 100.0, m(10.0)).0, 4.0, 1e-9);
        near(flash_working(g3, 100.0, m(5.0)).0, 8.0, 1e-9);
        near(g3.to_metres(200.0), 56.0, 0.6);
        let g4 = GuideNumber::metres(15.6, 200.0);
        near(flash_distance(g4, 200.0, FNumber(4.0)).to_mm(), 3900.0, 1e-6);
        near(flash_working(g4, 200.0, m(5.2)).0, 3.0, 1e-9);
    }

    /// `docs/references.md` (lighting): 1 % is 6.64 stops; f/8 at ISO 100 is 160 lux seconds; t0.1 is 3.32 t0.5.
    #[test]
    fn ambient_dose_and_duration() {
        near(ambient_for(0.01).value(), 6.64, 0.005);
        near(ambient_below(1.01, 0.01).value(), 6.64, 0.005);
        near(dose(FNumber(8.0), 100.0), 160.0, 1e-9);
        near(duration_tenth(1.0), 3.32, 0.005);
        let g = GuideNumber::metres(20.0, 100.0);
        near(power_for(g, 100.0, Length::mm(1000.0), FNumber(10.0)), 0.25, 1e-12);
        near(flash_working(g.at_power(0.25), 100.0, Length::mm(1000.0)).0, 10.0, 1e-12);
    }
}
