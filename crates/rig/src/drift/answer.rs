//! The result of drift as plain data, schema `fallside.drift/1`.

use finish::Role;
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// The schema every answer names.
pub const SCHEMA: &str = "fallside.drift/1";

/// A sitting's drift.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Drift {
    /// Always `fallside.drift/1`.
    pub schema: String,
    /// The frame that all others are compared with: the first blank.
    pub reference: String,
    /// What moved, in order of capture.
    pub events: Vec<Event>,
    /// How much frames differ from one to the next without anything having moved, one standard deviation.
    pub scatter: Scatter,
    /// Every frame compared, in order of capture.
    pub frames: Vec<Row>,
    /// What a person should know: what was left out, what the figures cannot tell.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub notes: Vec<String>,
}

/// Something moved.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Event {
    /// What.
    pub kind: Kind,
    /// The last frame before it (of a slide: its first frame).
    pub after: String,
    /// The first frame after it (of a slide: its last frame).
    pub before: String,
    /// True where it came little by little.
    #[serde(default)]
    pub slide: bool,
    /// The sentence.
    pub says: String,
    /// What mends it.
    #[serde(rename = "do")]
    pub action: String,
    /// How much of what, the telling quantity first.
    pub parts: Vec<Part>,
}

/// What moved.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Kind {
    /// The camera, or the bed under it.
    Camera,
    /// The flash's place.
    Light,
    /// The flash's power.
    Flash,
    /// The light's colour.
    Colour,
}

/// A measured change of one quantity.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Part {
    /// Of what.
    pub quantity: Quantity,
    /// How much, on each of its axes.
    pub size: Vec<f64>,
    /// One standard deviation on each axis.
    pub error: f64,
    /// Unit of both.
    pub unit: String,
    /// Direction in the image, degrees from +x towards +y, where the quantity has one.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub towards_deg: Option<f64>,
}

impl Part {
    /// Its size over all axes.
    pub fn norm(&self) -> f64 {
        self.size.iter().map(|v| v * v).sum::<f64>().sqrt()
    }
}

/// What is followed.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Quantity {
    /// The bed's light, stops, aperture and ISO as the camera wrote them taken out.
    Level,
    /// Red over green and blue over green, stops.
    Colour,
    /// Slope of the light towards the frame's right and bottom, stops over the frame's long side.
    Slope,
    /// The camera's lean about the world's x and y axes, degrees.
    Tilt,
    /// Frame pixels per millimetre, share.
    Scale,
    /// Where the bed lies in the frame, mm to the right and down.
    Shift,
}

/// Scatter from frame to frame, one standard deviation; absent where too few frames tell.
#[derive(Clone, Copy, Debug, Default, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Scatter {
    /// Of the flash's strength, stops.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub level_stops: Option<f64>,
    /// Of its colour, stops.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub colour_stops: Option<f64>,
    /// Of the light's slope, stops over the frame's long side.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub slope_stops: Option<f64>,
    /// Of the lean that single prints show, degrees.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub tilt_deg: Option<f64>,
}

/// One frame's measures over the reference.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Row {
    /// File name.
    pub frame: String,
    /// What it was taken for.
    pub role: Role,
    /// When, by the camera's clock.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub taken: Option<String>,
    /// Light over the reference's, stops, aperture and ISO taken out.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub level_stops: Option<f64>,
    /// Red over green and blue over green, over the reference's, stops.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub colour_stops: Option<[f64; 2]>,
    /// Slope over the reference's towards the frame's right and bottom, stops over the frame's long side.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub slope_stops: Option<[f64; 2]>,
    /// Standard error of either slope.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub slope_error_stops: Option<f64>,
    /// Where the bed lies, mm right and down of the reference's place.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub shift_mm: Option<[f64; 2]>,
    /// Lean that the print shows, degrees.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub tilt_deg: Option<[f64; 2]>,
    /// Standard error of either.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub tilt_error_deg: Option<f64>,
    /// Frame pixels per millimetre on the print.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub px_per_mm: Option<f64>,
}

impl Drift {
    /// The answer as its file holds it: indented JSON with a newline at the end.
    pub fn to_json(&self) -> String {
        let mut text = serde_json::to_string_pretty(self).unwrap_or_default();
        text.push('\n');
        text
    }
}

/// The JSON Schema, as `docs/reference/drift.schema.json` holds it.
pub fn json_schema() -> String {
    let mut text = serde_json::to_string_pretty(&schemars::schema_for!(Drift)).unwrap_or_default();
    text.push('\n');
    text
}
