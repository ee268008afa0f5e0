//! The light of one lamp that is small beside its distance: the inverse-square law, and what follows from it on a level bed.
//!
//! Units: distances in millimetres, angles in degrees, light in stops. Source: E = I sin e / d² for a small source at elevation e
//! (Lambert's cosine law and the inverse-square law, as in the CIE's International Lighting Vocabulary, CIE S 017).

/// Light lost by moving the lamp from one distance to another, direction kept, stops: `2 log2(to / from)`. Negative where the lamp
/// comes nearer.
///
/// ```
/// // Twice the distance costs two stops.
/// assert_eq!(optics::small_lamp::stops_lost(500.0, 1000.0), 2.0);
/// ```
pub fn stops_lost(from_mm: f64, to_mm: f64) -> f64 {
    2.0 * (to_mm / from_mm).log2()
}

/// The factor of distance that brings a fall-off down to `wanted`. Across a print that is small beside the distance d, E ~ 1/d² gives
/// a fall-off of 2 L / (d ln 2) stops over a length L along the light: it goes as 1/d.
pub fn times_farther(fall_off_stops: f64, wanted_stops: f64) -> f64 {
    fall_off_stops / wanted_stops
}

/// Distance of the lamp from the slope of its light on the bed under the point looked at: `|grad ln E| = 3 cos e / d` for the
/// slope per millimetre towards the lamp, from E ~ sin e / d² with the lamp's height kept.
///
/// ```
/// // At 45 degrees and 700 mm the light changes by 0.3 % in a millimetre.
/// let slope = 3.0 * 45f64.to_radians().cos() / 700.0;
/// assert!((optics::small_lamp::distance_from_slope(slope, 45.0) - 700.0).abs() < 1e-9);
/// ```
pub fn distance_from_slope(slope_per_mm: f64, elevation_deg: f64) -> f64 {
    3.0 * elevation_deg.to_radians().cos() / slope_per_mm
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{Light, Shape, Vec3, vec3};
    use geometry::{Angle, Length};

    /// The laws of a small lamp against the whole model's light, a sphere of 1 mm.
    #[test]
    fn the_laws_are_the_models_own_for_a_small_lamp() {
        for (elevation, distance) in [(30.0, 500.0), (45.0, 700.0), (60.0, 1200.0)] {
            let lamp = Light::at(
                Angle::deg(180.0),
                Angle::deg(elevation),
                Length::mm(distance),
                Shape::Sphere { diameter: Length::mm(1.0) },
            );
            let at = |x: f64| lamp.illumination(vec3(x, 0.0, 0.0), Vec3::UP);
            let slope = -(at(0.5) / at(-0.5)).ln();
            assert!((distance_from_slope(slope, elevation) / distance - 1.0).abs() < 1e-4, "{elevation} {distance}");
            let far = lamp.moved_to(Length::mm(2.5 * distance));
            let lost = (at(0.0) / far.illumination(Vec3::default(), Vec3::UP)).log2();
            assert!((stops_lost(distance, 2.5 * distance) - lost).abs() < 1e-9);
            let over = |l: &Light| {
                (l.illumination(vec3(-1.0, 0.0, 0.0), Vec3::UP) / l.illumination(vec3(1.0, 0.0, 0.0), Vec3::UP)).log2()
            };
            assert!((times_farther(over(&lamp), over(&far)) - 2.5).abs() < 1e-4);
        }
    }
}
