//! The light that a mount's shadow is cast by: as it was shot, from the other side, or one of the photographer's choice.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// The light that a shadow is cast by.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(tag = "how", rename_all = "kebab-case")]
pub enum ShadowLight {
    /// The frame's own light, where it stood: what a person says of one frame whose recipe has another light.
    AsShot,
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
///
/// # Errors
/// It is none of them; the sentence says what there is.
pub fn parse(text: &str) -> Result<Option<ShadowLight>, String> {
    parse_with(text, &[])
}

/// The same, where a project has named lights of its own.
///
/// # Errors
/// As [`parse`].
pub fn parse_with(text: &str, own: &[ChosenLight]) -> Result<Option<ShadowLight>, String> {
    let text = text.trim();
    match text {
        "as-shot" => return Ok(None),
        "mirrored" => return Ok(Some(ShadowLight::Mirrored)),
        _ => {}
    }
    if let Some(light) = own.iter().cloned().chain(usual()).find(|l| l.is_called(text)) {
        return Ok(Some(ShadowLight::CastAnew(light)));
    }
    let numbers: Option<Vec<f64>> =
        text.split(',').map(|t| t.trim().parse().ok().filter(|v: &f64| v.is_finite())).collect();
    let Some(numbers) = numbers.and_then(|n| <[f64; 3]>::try_from(n).ok()) else {
        let all = own.iter().cloned().chain(usual());
        let names: Vec<String> = all.filter_map(|l| l.name).collect();
        return Err(format!(
            "there is no light called that; use as-shot, mirrored, {}, or three numbers in degrees, such as 225,45,12: where the light comes \
             from (0 right, 90 below, 180 left, 270 above), its height above the bed, and the width of its face",
            names.join(", ")
        ));
    };
    ChosenLight::new(numbers).map(|light| Some(ShadowLight::CastAnew(light)))
}

/// True where a word may be the name of a light: a project has to be asked.
pub fn may_be_name(text: &str) -> bool {
    text.chars().next().is_some_and(char::is_alphabetic) && name(text).is_ok()
}

/// The lights that have a name everywhere.
pub fn usual() -> impl Iterator<Item = ChosenLight> {
    NAMED.iter().map(|(name, azimuth)| ChosenLight {
        name: Some((*name).into()),
        azimuth_deg: *azimuth,
        elevation_deg: ELEVATION,
        size_deg: SIZE,
    })
}

/// Longest name of a light: it stands in lists of plates.
const LONGEST: usize = 40;

/// A name that a light can have, without spaces around it.
///
/// # Errors
/// A sentence on what a name is.
pub fn name(text: &str) -> Result<String, String> {
    let text = text.trim();
    let fit = |c: char| c.is_alphanumeric() || " -_.".contains(c);
    if text.is_empty() || text.chars().count() > LONGEST || !text.chars().all(fit) {
        return Err(format!("a light's name has letters, digits, spaces and hyphens, at most {LONGEST} characters"));
    }
    if text.parse::<f64>().is_ok() {
        return Err("a light's name needs a letter".into());
    }
    let known = usual().any(|l| l.is_called(text));
    let spoken = text.to_lowercase().replace(' ', "-");
    if known || ["as-shot", "mirrored"].contains(&spoken.as_str()) {
        return Err(format!("“{text}” is already the name of a light"));
    }
    Ok(text.to_owned())
}

impl ChosenLight {
    /// A light without a name: azimuth, elevation and size in degrees.
    ///
    /// # Errors
    /// A sentence where no shadow can be cast by it.
    pub fn new([azimuth, elevation, size]: [f64; 3]) -> Result<Self, String> {
        let [low, high] = ELEVATIONS;
        if !azimuth.is_finite() {
            return Err("the light must come from somewhere: 0 right, 90 below, 180 left, 270 above".into());
        }
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
        Ok(Self { name: None, azimuth_deg: azimuth.rem_euclid(360.0), elevation_deg: elevation, size_deg: size })
    }

    /// The same light under a name.
    #[must_use]
    pub fn called(self, name: String) -> Self {
        Self { name: Some(name), ..self }
    }

    /// True where that is its name, in capitals or not.
    pub fn is_called(&self, name: &str) -> bool {
        self.name.as_ref().is_some_and(|n| n.to_lowercase() == name.trim().to_lowercase())
    }

    /// As a person says it: "upper-left (225°, 45° high, 12° wide)".
    pub fn says(&self) -> String {
        let numbers = format!("{}°, {}° high, {}° wide", self.azimuth_deg, self.elevation_deg, self.size_deg);
        self.name.as_ref().map_or(numbers.clone(), |n| format!("{n} ({numbers})"))
    }
}

impl ShadowLight {
    /// As a person says it.
    pub fn says(&self) -> String {
        match self {
            Self::AsShot => "as shot".into(),
            Self::Mirrored => "mirrored".into(),
            Self::CastAnew(light) => light.says(),
        }
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
    fn a_project_s_own_names_are_lights_too() {
        let own = [ChosenLight::new([200.0, 35.0, 20.0]).unwrap().called(name(" North window ").unwrap())];
        let Some(ShadowLight::CastAnew(found)) = parse_with("north window", &own).unwrap() else { panic!() };
        assert_eq!(found.says(), "North window (200°, 35° high, 20° wide)");
        assert!(parse_with("south", &own).unwrap_err().contains("North window"));
        for (text, word) in
            [("", "letters"), ("a,b", "letters"), ("12", "letter"), ("Upper-Left", "already"), ("as shot", "already")]
        {
            assert!(name(text).unwrap_err().contains(word), "{text}");
        }
        assert!(may_be_name("north") && !may_be_name("1,2") && !may_be_name("upper-left"));
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
