//! The light that a mount's shadow is cast by: as it was shot, from the other side, or one of the photographer's choice.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// A light other than the frame's own.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(tag = "how", rename_all = "kebab-case")]
pub enum ShadowLight {
    /// The frame's own light, on the opposite side.
    Mirrored,
    /// A light of the photographer's choice.
    CastAnew(ChosenLight),
}

/// A light of the photographer's choice, over the finished, upright picture.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct ChosenLight {
    /// Its name, where it has one.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub name: Option<String>,
    /// Where it comes from: 0 right, 90 below, 180 left, 270 above.
    pub azimuth_deg: f64,
    /// How high it stands above the bed.
    pub elevation_deg: f64,
    /// What its face spans as seen from the print.
    pub size_deg: f64,
}

/// The lights that have a name: where they come from.
const NAMED: [(&str, f64); 8] = [
    ("right", 0.0),
    ("lower-right", 45.0),
    ("lower", 90.0),
    ("lower-left", 135.0),
    ("left", 180.0),
    ("upper-left", 225.0),
    ("upper", 270.0),
    ("upper-right", 315.0),
];
/// How high a named light stands: as books on reproduction say.
const ELEVATION: f64 = 45.0;
/// What a named light's face spans: an umbrella or small softbox of 20 cm at 1 m.
const SIZE: f64 = 12.0;
/// Elevations that a shadow can be cast by: lower, and the shadow of a bent print leaves the picture (5 mm of lift reach 14 mm under
/// 20 degrees); higher, and the light has no direction.
const ELEVATIONS: [f64; 2] = [20.0, 85.0];
/// Sizes of a face: smaller than half a degree (the sun) is no lamp; larger than 60 is no longer one light.
const SIZES: [f64; 2] = [0.5, 60.0];
/// The face's lower edge must be so high above the bed, degrees.
const CLEAR: f64 = 5.0;

/// A light from its words: `as-shot` (none), `mirrored`, a name, or `AZ,EL,SIZE`.
pub fn parse(text: &str) -> Result<Option<ShadowLight>, String> {
    let text = text.trim();
    match text {
        "as-shot" => return Ok(None),
        "mirrored" => return Ok(Some(ShadowLight::Mirrored)),
        _ => {}
    }
    if let Some((name, azimuth)) = NAMED.iter().find(|n| n.0 == text) {
        let (azimuth_deg, elevation_deg, size_deg) = (*azimuth, ELEVATION, SIZE);
        let chosen = ChosenLight { name: Some((*name).into()), azimuth_deg, elevation_deg, size_deg };
        return Ok(Some(ShadowLight::CastAnew(chosen)));
    }
    let numbers: Option<Vec<f64>> =
        text.split(',').map(|t| t.trim().parse().ok().filter(|v: &f64| v.is_finite())).collect();
    let Some([azimuth, elevation, size]) = numbers.and_then(|n| <[f64; 3]>::try_from(n).ok()) else {
        let names: Vec<&str> = NAMED.iter().map(|n| n.0).collect();
        return Err(format!(
            "there is no light called that; use as-shot, mirrored, {}, or three numbers in degrees, such as 225,45,12: where the light comes \
             from (0 right, 90 below, 180 left, 270 above), its height above the bed, and the width of its face",
            names.join(", ")
        ));
    };
    let [low, high] = ELEVATIONS;
    if !(low..=high).contains(&elevation) {
        return Err(format!(
            "the light would stand {elevation}° above the bed; its height, the second number, must be {low} to {high}"
        ));
    }
    let [small, large] = SIZES;
    if !(small..=large).contains(&size) {
        return Err(format!(
            "the light's face would be {size}° wide; its width, the third number, must be {small} to {large}"
        ));
    }
    if elevation - size / 2.0 < CLEAR {
        return Err(format!(
            "a light {size}° wide and {elevation}° above the bed reaches down to the bed; raise it or make it smaller"
        ));
    }
    let azimuth_deg = azimuth.rem_euclid(360.0);
    Ok(Some(ShadowLight::CastAnew(ChosenLight { name: None, azimuth_deg, elevation_deg: elevation, size_deg: size })))
}

impl ChosenLight {
    /// As a person says it: "upper-left (225°, 45° high, 12° wide)".
    pub fn says(&self) -> String {
        let numbers = format!("{}°, {}° high, {}° wide", self.azimuth_deg, self.elevation_deg, self.size_deg);
        self.name.as_ref().map_or(numbers.clone(), |n| format!("{n} ({numbers})"))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn chosen(text: &str) -> ChosenLight {
        match parse(text).unwrap() {
            Some(ShadowLight::CastAnew(c)) => c,
            other => panic!("{other:?}"),
        }
    }

    #[test]
    fn names_and_numbers_are_lights() {
        assert_eq!(parse("as-shot"), Ok(None));
        assert_eq!(parse("mirrored"), Ok(Some(ShadowLight::Mirrored)));
        let c = chosen("upper-left");
        assert_eq!((c.azimuth_deg, c.elevation_deg, c.size_deg), (225.0, 45.0, 12.0));
        let c = chosen(" -45, 30,4.5");
        assert_eq!((c.azimuth_deg, c.elevation_deg, c.size_deg, c.name), (315.0, 30.0, 4.5, None));
    }

    #[test]
    fn what_is_no_light_says_why() {
        for (text, word) in [
            ("north", "upper-left"),
            ("1,2", "225,45,12"),
            ("0,5,2", "20 to 85"),
            ("0,45,90", "60"),
            ("0,25,50", "raise"),
            ("nan,45,12", "no light called"),
        ] {
            let why = parse(text).unwrap_err();
            assert!(why.contains(word), "{text}: {why}");
        }
    }
}
