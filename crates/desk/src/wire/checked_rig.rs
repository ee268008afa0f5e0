//! The rig as a check measured it, beside the plan.

use schemars::JsonSchema;
use serde::Serialize;

/// The rig as a check measured it. What it could not measure is absent.
#[derive(Clone, Debug, Default, PartialEq, Serialize, JsonSchema)]
pub struct CheckedRig {
    /// How many frames it looked at.
    pub frames: usize,
    /// Pixels per millimetre on the bed.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub px_per_mm: Option<f64>,
    /// The camera's lean about both axes together, degrees.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub lean_deg: Option<f64>,
    /// Where the light stands in the frame, degrees clockwise from right.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub azimuth_deg: Option<f64>,
    /// Its elevation, degrees.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub elevation_deg: Option<f64>,
    /// Its distance from the frame's middle, mm.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub distance_mm: Option<f64>,
    /// Brightest to darkest across a print, stops.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub fall_off_stops: Option<f64>,
    /// How far the room's light is below the flash, stops.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub ambient_below_stops: Option<f64>,
}
