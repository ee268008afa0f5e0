//! Close-up optics of a thin lens: distances, magnification, aperture at work, depth of field, diffraction.
//!
//! Symbols: `m` image over object size, `f` focal length, `N` f-number as set, `P` pupil ratio (exit over entrance),
//! `c` blur circle on the sensor. Sources: D. Jacobson, *Lens Tutorial* (1995) for distances; Greivenkamp, *Field Guide to
//! Geometrical Optics* (2004) p. 29 for the working f-number; the rest follows from them.

use crate::FNumber;
use geometry::{Angle, Length, Stops};

/// The wavelength that stands for white light, nm 550: near the eye's peak.
pub const GREEN: Length = Length::mm(550e-6);

/// Where a lens forms the image of an object at distance `s_o`: `1/s_i = 1/f - 1/s_o` (Gauss). `None` within the focal
/// length, where there is no real image.
pub fn image_distance(focal: Length, object: Length) -> Option<Length> {
    let (f, s) = (focal.to_mm(), object.to_mm());
    (f > 0.0 && s > f).then(|| Length::mm(f * s / (s - f)))
}

/// `m = f / (s_o - f)`. `None` within the focal length.
///
/// ```
/// use geometry::Length;
/// // At twice the focal length the picture is as large as the object.
/// let m = optics::closeup::magnification(Length::mm(50.0), Length::mm(100.0)).unwrap();
/// assert!((m - 1.0).abs() < 1e-12);
/// ```
pub fn magnification(focal: Length, object: Length) -> Option<f64> {
    let (f, s) = (focal.to_mm(), object.to_mm());
    (f > 0.0 && s > f).then(|| f / (s - f))
}

/// `s_o = f (1 + 1/m)`.
pub fn object_distance_for(focal: Length, m: f64) -> Length {
    focal * (1.0 + 1.0 / m)
}

/// `s_i = f (1 + m)`.
pub fn image_distance_for(focal: Length, m: f64) -> Length {
    focal * (1.0 + m)
}

/// The angle a sensor side sees: `2 atan(X / (2 f (1 + m)))`.
pub fn coverage(side: Length, focal: Length, m: f64) -> Angle {
    Angle::rad(2.0 * (side.to_mm() / (2.0 * focal.to_mm() * (1.0 + m))).atan())
}

/// The f-number at work, `N (1 + m/P)`.
///
/// ```
/// use optics::closeup::working;
/// // At life size a lens set to f/8 works at f/16.
/// assert!((working(optics::FNumber(8.0), 1.0, 1.0).0 - 16.0).abs() < 1e-9);
/// ```
pub fn working(set: FNumber, m: f64, pupil: f64) -> FNumber {
    FNumber(set.0 * (1.0 + m / pupil))
}

/// The f-number to set so that `working` is at work.
pub fn set_for(working: FNumber, m: f64, pupil: f64) -> FNumber {
    FNumber(working.0 / (1.0 + m / pupil))
}

/// The light a close-up costs, `2 log2(1 + m/P)`.
pub fn exposure_loss(m: f64, pupil: f64) -> Stops {
    Stops::new(2.0 * (1.0 + m / pupil).log2())
}

/// Total depth of field, `2 N c (1 + m/P) / m^2`, for an f-number as set.
pub fn depth_of_field(set: FNumber, circle: Length, m: f64, pupil: f64) -> Length {
    circle * (2.0 * set.0 * (1.0 + m / pupil) / (m * m))
}

/// Diameter of the Airy disc's first zero on the sensor, `2.44 lambda N_w`; divide by `m` for its size on the object.
pub fn airy_diameter(working: FNumber, wavelength: Length) -> Length {
    wavelength * (2.44 * working.0)
}

/// Blur circle on the sensor of a point at `at` when focused at `focused`, both from the lens:
/// `c = (f/N) s_i |1/at - 1/focused|` (similar triangles behind a thin lens).
pub fn blur_circle(focal: Length, set: FNumber, focused: Length, at: Length) -> Option<Length> {
    let s_i = image_distance(focal, focused)?.to_mm();
    Some(Length::mm(focal.to_mm() / set.0 * s_i * (1.0 / at.to_mm() - 1.0 / focused.to_mm()).abs()))
}

/// Two independent blurs together: the root of the sum of squares.
pub fn combined(a: Length, b: Length) -> Length {
    Length::mm(a.to_mm().hypot(b.to_mm()))
}

/// The set f-number at which defocus at `depth` from the plane of focus and diffraction blur alike, both on the sensor.
///
/// Defocus `c = m^2 depth / (N (1 + m))` shrinks with N, the Airy disc `2.44 lambda N (1 + m)` grows:
/// `N = m sqrt(depth / (2.44 lambda)) / (1 + m)`, pupil ratio 1.
pub fn balanced_aperture(depth: Length, m: f64, wavelength: Length) -> FNumber {
    FNumber(m / (1.0 + m) * (depth.to_mm().abs() / (2.44 * wavelength.to_mm())).sqrt())
}

/// Pixels per inch of the object: `25.4 m / pitch`.
///
/// ```
/// use geometry::Length;
/// // A pixel of 5 µm at a third of life size.
/// assert!((optics::closeup::ppi(1.0 / 3.0, Length::mm(0.005)) - 1693.3).abs() < 0.1);
/// ```
pub fn ppi(m: f64, pitch: Length) -> f64 {
    Length::inches(1.0).to_mm() * m / pitch.to_mm()
}

/// The magnification that gives `ppi` on the object.
pub fn magnification_for_ppi(ppi: f64, pitch: Length) -> f64 {
    ppi * pitch.to_mm() / Length::inches(1.0).to_mm()
}

/// Near over far edge of a rectangle `height` high under a camera that leans by `tilt` at `distance`:
/// `(d + (h/2) sin t) / (d - (h/2) sin t)`.
pub fn keystone(tilt: Angle, height: Length, distance: Length) -> f64 {
    let (d, s) = (distance.to_mm(), height.to_mm() / 2.0 * tilt.to_rad().sin().abs());
    (d + s) / (d - s)
}

/// The lean at which an edge `height / 2` from the centre leaves half of the depth of field: `asin(depth / height)`.
/// `None` where no lean does.
pub fn tilt_within(depth: Length, height: Length) -> Option<Angle> {
    let s = depth.to_mm() / height.to_mm();
    (0.0..=1.0).contains(&s).then(|| Angle::rad(s.asin()))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn near(a: f64, b: f64, tolerance: f64) {
        assert!((a - b).abs() <= tolerance, "{a} is not {b} within {tolerance}");
    }
    const fn mm(v: f64) -> Length {
        Length::mm(v)
    }

    /// O1, O2: OpenStax, *College Physics*, chapter 25, problem 40 and its neighbour; O3: a copier lens, textbook exercise
    /// (assignmentexpert q-2941); O4: OpenStax-type exercise (physicsforums 577761).
    #[test]
    fn images_form_where_the_textbooks_say() {
        near(image_distance(mm(35.0), mm(750.0)).unwrap().to_mm(), 36.7, 0.05);
        near(magnification(mm(35.0), mm(750.0)).unwrap(), 0.04895, 5e-6);
        near(image_distance(mm(35.0), mm(1500.0)).unwrap().to_mm(), 35.8, 0.05);
        near(image_distance(mm(250.0), mm(400.0)).unwrap().to_mm(), 667.0, 0.5);
        near(magnification(mm(250.0), mm(400.0)).unwrap(), 1.67, 0.005);
        near(object_distance_for(mm(50.0), 2.0).to_mm(), 75.0, 1e-9);
        near(image_distance_for(mm(50.0), 2.0).to_mm(), 150.0, 1e-9);
        assert_eq!(image_distance(mm(50.0), mm(50.0)), None);
    }

    /// O5, O6: Savazzi, *Digital Photography for Science*, depth-of-field and effective-aperture tables (c = 0.019 mm,
    /// inferred), two digits.
    #[test]
    fn depth_of_field_and_aperture_follow_the_table() {
        let c = mm(0.019);
        // Half of the last printed digit.
        let table = [
            (0.1, 17.0, 0.5),
            (0.2, 4.6, 0.05),
            (0.3, 2.2, 0.05),
            (0.5, 0.91, 0.005),
            (1.0, 0.30, 0.005),
            (2.0, 0.11, 0.005),
            (5.0, 0.036, 0.0005),
        ];
        for (m, depth, digit) in table {
            near(depth_of_field(FNumber(4.0), c, m, 1.0).to_mm(), depth, digit);
        }
        near(depth_of_field(FNumber(1.0), c, 0.1, 1.0).to_mm(), 4.2, 0.05);
        near(depth_of_field(FNumber(1.0), c, 1.0, 1.0).to_mm(), 0.076, 5e-4);
        near(depth_of_field(FNumber(2.8), c, 0.5, 1.0).to_mm(), 0.64, 0.005);
        for (m, n) in [(0.1, 4.4), (0.5, 6.0), (1.0, 8.0), (2.0, 12.0), (5.0, 24.0)] {
            near(working(FNumber(4.0), m, 1.0).0, n, 1e-9);
            near(set_for(FNumber(n), m, 1.0).0, 4.0, 1e-9);
        }
    }

    /// Exposure loss at m = 1, 0.3, 0.2: derived, `docs/references.md` (close-up optics).
    #[test]
    fn closeness_costs_light() {
        near(exposure_loss(1.0, 1.0).value(), 2.0, 1e-12);
        near(exposure_loss(0.3, 1.0).value(), 0.757, 5e-4);
        near(exposure_loss(0.2, 1.0).value(), 0.526, 5e-4);
    }

    /// O7: 2.44 lambda N at 550 nm, derived.
    #[test]
    fn airy_discs_in_micrometres() {
        for (n, um) in [(4.0, 5.37), (5.6, 7.52), (8.0, 10.74), (11.0, 14.76), (16.0, 21.47), (22.0, 29.52)] {
            near(airy_diameter(FNumber(n), GREEN).to_mm() * 1000.0, um, 0.006);
        }
        let at_work = airy_diameter(working(FNumber(8.0), 0.3, 1.0), GREEN);
        near(at_work.to_mm() / airy_diameter(FNumber(8.0), GREEN).to_mm(), 1.3, 1e-12);
    }

    /// O8: 36 by 24 mm sensor over a 160 by 107 mm field, derived. The table rounds m by the smaller of the two sides.
    #[test]
    fn a_rig_in_millimetres() {
        let m = 24.0 / 107.0;
        near(m, 0.2243, 5e-5);
        for (f, so, si, total) in [(60.0, 327.5, 73.5, 401.0), (90.0, 491.3, 110.2, 601.0)] {
            near(object_distance_for(mm(f), m).to_mm(), so, 0.06);
            near(image_distance_for(mm(f), m).to_mm(), si, 0.06);
            near((object_distance_for(mm(f), m) + image_distance_for(mm(f), m)).to_mm(), total, 0.5);
        }
    }

    /// O9: derived; equals an OpenCV projection.
    #[test]
    fn two_degrees_of_lean_make_a_keystone() {
        near(keystone(Angle::deg(2.0), mm(107.0), mm(400.0)), 1.0093794, 5e-8);
        near(tilt_within(mm(1.8), mm(107.0)).unwrap().to_deg(), 0.964, 1e-3);
    }

    /// 600 ppi at 3.76 and 5.94 micrometre pitch: derived, `docs/references.md` (close-up optics).
    #[test]
    fn sampling_needs_magnification() {
        near(magnification_for_ppi(600.0, mm(0.00376)), 0.0888, 5e-5);
        near(magnification_for_ppi(600.0, mm(0.00594)), 0.1403, 5e-5);
        near(ppi(0.0888, mm(0.00376)), 600.0, 0.2);
    }

    #[test]
    fn blur_at_the_end_of_the_field_is_the_circle_it_was_made_for() {
        let (f, n, m, c) = (mm(60.0), FNumber(8.0), 0.2, mm(0.01));
        let s = object_distance_for(f, m);
        let half = depth_of_field(n, c, m, 1.0) * 0.5;
        let near_side = blur_circle(f, n, s, s - half).unwrap();
        let far_side = blur_circle(f, n, s, s + half).unwrap();
        near((near_side.to_mm() + far_side.to_mm()) / 2.0, c.to_mm(), 1e-5);
        let best = balanced_aperture(mm(2.0), m, GREEN);
        let defocus = m * m * 2.0 / (best.0 * (1.0 + m));
        near(defocus, airy_diameter(working(best, m, 1.0), GREEN).to_mm(), 1e-9);
    }
}
