//! The lift of a print's edges and its mount's shadow, as the report has them.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// How high the edges of the print stand above the bed, and the light that showed it. Azimuths are those of the finished, upright
/// picture: 0 right, 90 below.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct LiftFacts {
    /// The left, top, right and bottom edge.
    pub edges: Vec<EdgeFacts>,
    /// Thickness of the print.
    pub thickness_mm: f64,
    /// Radius of its corners.
    pub corner_mm: f64,
    /// Robust spread of the lit bed about 1: what is not well over it is drawn in no shadow.
    pub unevenness: f64,
    /// Where the light came from.
    pub light_azimuth_deg: f64,
    /// Standard deviation of it.
    pub light_azimuth_sigma_deg: f64,
    /// How high it stood above the bed.
    pub light_elevation_deg: f64,
    /// Standard deviation of it.
    pub light_elevation_sigma_deg: f64,
    /// What its face spanned as seen from the print.
    pub light_size_deg: f64,
    /// How far it was from the bed at the frame's middle; absent where its light does not fall off.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub light_distance_mm: Option<f64>,
    /// The room's light that the shadow keeps, as a share of all light on the bare bed: what a flash-off frame told is taken out.
    pub fill: f64,
    /// The point of the bed under the camera, from the print's top left corner, x right, y down.
    pub camera_foot_mm: [f64; 2],
    /// Height of the camera above the bed.
    pub camera_height_mm: f64,
    /// The frame's middle on the bed, as `camera_foot_mm`.
    pub frame_middle_mm: [f64; 2],
}

/// One edge, from its left or top end.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct EdgeFacts {
    /// `left`, `top`, `right` or `bottom` of the upright print.
    pub side: String,
    /// `shadow` where its own shadow was measured; `bend` where its height follows from the form of the sheet alone.
    pub told_by: String,
    /// Places along the edge.
    pub along_mm: Vec<f64>,
    /// Height of the top face above the bed at each.
    pub height_mm: Vec<f64>,
    /// Standard deviation of each height.
    pub sigma_mm: Vec<f64>,
    /// Standard deviation of height over the tangent of the light's elevation, which the shadow measures.
    pub reach_sigma_mm: Vec<f64>,
    /// Where the edge is seen, from the print's top left corner, x right, y down.
    pub seen_mm: Vec<[f64; 2]>,
}

/// How the mount's shadow came about.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct ShadowFacts {
    /// `as shot`, `mirrored` or `cast anew`.
    pub how: String,
    /// Name of the light, where it has one.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub name: Option<String>,
    /// Where the light comes from in the upright picture: 0 right, 90 below.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub azimuth_deg: Option<f64>,
    /// How high it stands above the bed.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub elevation_deg: Option<f64>,
    /// What its face spans as seen from the print.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub size_deg: Option<f64>,
    /// How far away it is.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub distance_mm: Option<f64>,
    /// The room's light as a share of all light on the bare bed, as the frame measured it.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub fill: Option<f64>,
    /// Expected error of the shadow: root mean square over its zone after a blur of 0.25 mm, as a share of white.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub expected_error: Option<f64>,
    /// Why it stayed as shot where another light was asked for.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub why: Option<String>,
}

impl EdgeFacts {
    /// True where its own shadow was measured.
    pub fn is_seen(&self) -> bool {
        self.told_by == "shadow"
    }

    /// "left 0.6 to 1.9 mm ± 0.2 mm, from its shadow".
    fn says(&self) -> String {
        let range = self.height_mm.iter().fold((f64::INFINITY, f64::NEG_INFINITY), |r, v| (r.0.min(*v), r.1.max(*v)));
        let sigma = self.sigma_mm.iter().fold(0.0f64, |m, v| m.max(*v));
        let from = if self.is_seen() { "its shadow" } else { "the sheet's form" };
        format!("{} {:.1} to {:.1} mm ± {sigma:.1} mm, from {from}", self.side, range.0, range.1)
    }
}

impl LiftFacts {
    /// The heights in words, for who cannot see the drawing.
    pub fn says(&self) -> String {
        let edges: Vec<String> = self.edges.iter().filter(|e| !e.height_mm.is_empty()).map(EdgeFacts::says).collect();
        format!("Height of the print's edges above the paper: {}.", edges.join("; "))
    }
}

impl ShadowFacts {
    /// As a list of plates says it.
    pub fn says(&self) -> String {
        let number = |v: Option<f64>| v.map_or_else(String::new, |v| format!("{v}"));
        if self.how == "as shot" {
            return self.how.clone();
        }
        let name = self.name.as_ref().map_or_else(String::new, |n| format!("{n}, "));
        format!(
            "{} ({name}{}°, {}° high, {}° wide; expected error {} %)",
            self.how,
            number(self.azimuth_deg),
            number(self.elevation_deg),
            number(self.size_deg),
            number(self.expected_error.map(|e| (e * 1000.0).round() / 10.0)),
        )
    }
}
