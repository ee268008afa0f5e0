//! A print's light and lift, as its sheet shows them.

use finish::lift_drawing::LiftDrawing;
use finish::light::{ChosenLight, ShadowLight};
use finish::report::LiftFacts;
use schemars::JsonSchema;
use serde::Serialize;

/// How a shadow comes about.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum LightHow {
    /// By the frame's own light.
    #[default]
    AsShot,
    /// By the frame's own light on the opposite side.
    Mirrored,
    /// By a light of the photographer's choice.
    CastAnew,
}

/// The light that was chosen for a print's shadow.
#[derive(Clone, Debug, Default, PartialEq, Serialize, JsonSchema)]
pub struct LightSeen {
    /// How the shadow comes about.
    pub how: LightHow,
    /// Name of the light.
    pub name: Option<String>,
    /// Where it comes from in the upright picture, degrees: 0 right, 90 below.
    pub azimuth_deg: Option<f64>,
    /// How high it stands above the bed, degrees.
    pub elevation_deg: Option<f64>,
    /// What its face spans as seen from the print, degrees.
    pub size_deg: Option<f64>,
}

impl LightSeen {
    /// The light as the page shows it.
    pub fn of(light: &ShadowLight) -> Self {
        match light {
            ShadowLight::AsShot => Self::default(),
            ShadowLight::Mirrored => Self { how: LightHow::Mirrored, ..Self::default() },
            ShadowLight::CastAnew(l) => Self {
                how: LightHow::CastAnew,
                name: l.name.clone(),
                azimuth_deg: Some(l.azimuth_deg),
                elevation_deg: Some(l.elevation_deg),
                size_deg: Some(l.size_deg),
            },
        }
    }
}

/// A light that has a name.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct NamedLight {
    /// Its name.
    pub name: String,
    /// Where it comes from in the upright picture, degrees: 0 right, 90 below.
    pub azimuth_deg: f64,
    /// How high it stands above the bed, degrees.
    pub elevation_deg: f64,
    /// What its face spans as seen from the print, degrees.
    pub size_deg: f64,
    /// True where a person named it for this project.
    pub own: bool,
}

impl NamedLight {
    /// A light with its name.
    pub fn of(light: ChosenLight, own: bool) -> Self {
        Self {
            name: light.name.unwrap_or_default(),
            azimuth_deg: light.azimuth_deg,
            elevation_deg: light.elevation_deg,
            size_deg: light.size_deg,
            own,
        }
    }
}

/// How high a print's edges stand above the bed.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct Lift {
    /// The heights as lines to draw.
    pub drawing: LiftDrawing,
    /// The same in words.
    pub says: String,
}

impl Lift {
    /// The lift of a report; `None` where it tells too little.
    pub fn of(facts: &LiftFacts) -> Option<Self> {
        Some(Self { drawing: LiftDrawing::of(facts)?, says: facts.says() })
    }
}
