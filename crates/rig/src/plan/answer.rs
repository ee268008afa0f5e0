//! The answer as plain data, schema `fallside.plan/1`.
//!
//! Conventions are the report's: lengths in millimetres, angles in degrees, azimuths in the image from right, clockwise;
//! light in stops, lux and lux seconds; shares from 0 to 1. A field that is absent was not asked or has no answer.

use finish::finding::Aim;
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// The schema every plan names.
pub const SCHEMA: &str = "fallside.plan/1";

/// A whole rig.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Answer {
    /// Always `fallside.plan/1`.
    pub schema: String,
    /// What the prints are for.
    pub aim: Aim,
    /// True where every wish and the aim are kept. False where not: what cannot be at all is planned as near as it can be, what
    /// can be but falls short of the aim is planned as it was said; `concerns` tell which and what mends it.
    pub possible: bool,
    /// What stands against the wishes, and what to mind.
    pub concerns: Vec<Told>,
    /// What was taken for granted because nothing was said.
    pub taken: Vec<Taken>,
    /// The print and how it lies.
    pub print: PrintPlan,
    /// Camera, lens and their heights.
    pub camera: CameraPlan,
    /// Depth of field, aperture, levelling.
    pub focus: FocusPlan,
    /// The light and how even it is.
    pub light: LightPlan,
    /// Flash, shutter and the room's light.
    pub exposure: ExposurePlan,
    /// The shadow.
    pub shadow: ShadowPlan,
    /// What the gloss mirrors.
    pub gloss: GlossPlan,
    /// One frame or several, flash or lamp.
    pub ways: Vec<WayPlan>,
    /// The box; absent where no number of prints was said.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub forecast: Option<ForecastPlan>,
    /// The stand; absent where neither its base nor its arm was said.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub stand: Option<StandPlan>,
}

/// One concern in words.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Told {
    /// Which.
    pub code: String,
    /// True where a wish could not be kept; false where something wants minding.
    pub breaks_a_wish: bool,
    /// What is so.
    pub says: String,
    /// What to do.
    #[serde(rename = "do")]
    pub remedy: String,
}

/// Something taken for granted.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Taken {
    /// What.
    pub what: String,
    /// As what.
    pub value: String,
}

/// How an upright print lies in the frame.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Direction {
    /// To the frame's top.
    Top,
    /// To the frame's left.
    Left,
    /// To the frame's bottom.
    Bottom,
    /// To the frame's right.
    Right,
}

impl Direction {
    /// As a word.
    pub fn word(self) -> &'static str {
        match self {
            Self::Top => "top",
            Self::Left => "left",
            Self::Bottom => "bottom",
            Self::Right => "right",
        }
    }
}

/// The print and how it lies.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct PrintPlan {
    /// Format by its generic name.
    pub format: String,
    /// Outer width, upright.
    pub width_mm: f64,
    /// Outer height, upright.
    pub height_mm: f64,
    /// Height of the most lifted edge planned for.
    pub curl_mm: f64,
    /// True where the print lies sideways in the frame.
    pub sideways: bool,
    /// Where the upright print's top points in the frame.
    pub top_towards: Direction,
    /// Pixels on the print gained over the other way round, as a share.
    pub pixels_gained: f64,
}

/// Camera, lens and their heights.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct CameraPlan {
    /// Sensor as the frame lies, mm.
    pub sensor_mm: [f64; 2],
    /// Frame in pixels.
    pub pixels: [f64; 2],
    /// Focal length.
    pub focal_mm: f64,
    /// True where the plan chose it.
    pub focal_chosen: bool,
    /// Image over object size.
    pub magnification: f64,
    /// Pixels per inch on the print.
    pub ppi: f64,
    /// Pixels per millimetre on the print.
    pub px_per_mm: f64,
    /// What the aim can show, pixels per inch.
    pub ppi_asked: f64,
    /// Bed in the frame.
    pub field_mm: [f64; 2],
    /// Bed between print and frame at the narrowest side.
    pub margin_mm: f64,
    /// The margin that shadow and aim ask for.
    pub margin_wanted_mm: f64,
    /// Sensor over bed.
    pub height_mm: f64,
    /// Lens over bed (its principal planes, taken as one).
    pub lens_height_mm: f64,
    /// Diameter of the lens's front.
    pub lens_front_mm: f64,
}

/// Depth of field, aperture, levelling.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct FocusPlan {
    /// f-number to set.
    pub f_number: f64,
    /// f-number at work, `N (1 + m)`.
    pub working_f_number: f64,
    /// Where defocus at the ends of the curl and diffraction are equal.
    pub balanced_f_number: f64,
    /// Between these the whole curl is sharp enough; absent where no aperture is.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub f_number_range: Option<[f64; 2]>,
    /// Focus this high above the bed.
    pub focus_height_mm: f64,
    /// Total depth of field for the aim (a blur of two of its pixels).
    pub depth_mm: f64,
    /// Total depth of field for a blur of one pixel of the camera.
    pub depth_one_pixel_mm: f64,
    /// Diameter of the Airy disc, pixels.
    pub airy_px: f64,
    /// Blur at the ends of the curl, diffraction included, on the print.
    pub blur_mm: f64,
    /// Pixels per inch that this blur carries.
    pub holds_ppi: f64,
    /// The curl that leaves the depth of field.
    pub curl_most_mm: f64,
    /// Level the camera to the board within this.
    pub level_deg: f64,
    /// The same as a shim under one edge of the board.
    pub shim_mm: f64,
    /// The board's length between shim and opposite edge.
    pub board_mm: f64,
}

/// The light and how even it is.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct LightPlan {
    /// Where it stands in the frame, from right, clockwise.
    pub azimuth_deg: f64,
    /// The same once the picture is upright.
    pub upright_azimuth_deg: f64,
    /// Its height as an angle.
    pub elevation_deg: f64,
    /// From the middle of the print.
    pub distance_mm: f64,
    /// True where the plan chose the distance.
    pub distance_chosen: bool,
    /// Above the bed.
    pub height_mm: f64,
    /// Beside the print's middle, on the bed.
    pub aside_mm: f64,
    /// Its face: width and height, or one diameter.
    pub source_mm: Vec<f64>,
    /// Brightest to darkest across the print.
    pub fall_off_stops: f64,
    /// Allowed.
    pub fall_off_asked_stops: f64,
    /// The distance that brings it under the aim.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub distance_for_aim_mm: Option<f64>,
    /// The light which that costs against where it stands.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub cost_stops: Option<f64>,
    /// Fall-off with a second such light opposite.
    pub two_lights_fall_off_stops: f64,
    /// The distance that two would need.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub two_lights_distance_mm: Option<f64>,
}

/// Flash, shutter and the room's light.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct ExposurePlan {
    /// ISO to set.
    pub iso: f64,
    /// Exposure time.
    pub shutter_s: f64,
    /// The shortest that works with flash.
    pub sync_s: f64,
    /// Guide number of the flash, m at ISO 100.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub guide_m: Option<f64>,
    /// Share of full power.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub power: Option<f64>,
    /// f-number for full power by the guide number alone, `GN / (d (1 + m))`, the light square to the print.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub full_power_f_number: Option<f64>,
    /// What lighting aslant costs.
    pub slant_stops: f64,
    /// The guide number with which this takes half power.
    pub guide_wanted_m: f64,
    /// Light on the print per frame.
    pub dose_lux_s: f64,
    /// The room's light.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub ambient_lux: Option<f64>,
    /// How far it lies under the flash.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub ambient_below_stops: Option<f64>,
    /// How far it should.
    pub ambient_asked_stops: f64,
    /// The most the room may give at this exposure time.
    pub ambient_most_lux: f64,
    /// The exposure time that would put it as far under as asked.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub shutter_for_ambient_s: Option<f64>,
}

/// The shadow.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct ShadowPlan {
    /// Where it falls in the frame, from right, clockwise.
    pub azimuth_deg: f64,
    /// The same once the picture is upright.
    pub upright_azimuth_deg: f64,
    /// Width beside a flat print 0.5 mm thick: where half the light is seen.
    pub flat_width_mm: f64,
    /// Beside the most lifted edge: where half the light is seen.
    pub width_mm: f64,
    /// Where its darkest part ends beside that edge.
    pub umbra_mm: f64,
    /// Where the last of it ends beside that edge.
    pub end_mm: f64,
    /// Width of its soft edge there.
    pub softness_mm: f64,
    /// Darkness where the whole light is hidden.
    pub depth: f64,
}

/// What the gloss mirrors.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct GlossPlan {
    /// Where on the bed a flat print would mirror the light: right and down from the print's middle.
    pub glare_mm: [f64; 2],
    /// From print to mirrored light; negative where it shows.
    pub clear_mm: f64,
    /// Keep the light below this for a flat print.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub flat_below_deg: Option<f64>,
    /// Keep it below this for a print as curled as planned.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub curled_below_deg: Option<f64>,
    /// The steepest slope before the light shows.
    pub slope_most_deg: f64,
    /// The curl that makes it.
    pub curl_most_mm: f64,
    /// Dark card at the lens.
    pub card_mm: [f64; 2],
    /// How far it may reach towards the light before it shades the print; no more than it needs.
    pub card_to_light_mm: f64,
    /// Its height over the bed.
    pub card_height_mm: f64,
    /// Its hole for the lens.
    pub hole_mm: f64,
    /// What is mirrored of a ceiling 1.65 m over the bed.
    pub ceiling_mm: [f64; 2],
}

/// One way to take a print.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct WayPlan {
    /// `flash` or `lamp`.
    pub light: String,
    /// Exposures per picture.
    pub shots: u32,
    /// Pixels per inch recorded.
    pub ppi: f64,
    /// What lens and curl leave of it.
    pub useful_ppi: f64,
    /// True where every pixel sees every colour.
    pub whole_colour: bool,
    /// Light on the print.
    pub dose_lux_s: f64,
    /// First exposure to last.
    pub seconds: f64,
    /// How far the room's light lies under this one.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub room_below_stops: Option<f64>,
}

/// The box.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct ForecastPlan {
    /// Prints.
    pub prints: f64,
    /// Backs taken too.
    pub backs: f64,
    /// Hours at the stand, from and to.
    pub hours: [f64; 2],
    /// With breaks.
    pub hours_with_breaks: [f64; 2],
    /// Frames, gigabytes.
    pub frames_gb: [f64; 2],
    /// Masters, mounts and shares, gigabytes.
    pub finished_gb: [f64; 2],
}

/// The stand.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct StandPlan {
    /// Camera and lens.
    pub camera_kg: f64,
    /// From column to lens axis.
    pub arm_reach_mm: f64,
    /// The base along the arm.
    pub base_mm: f64,
    /// The base's moment over that of what hangs out.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub margin: Option<f64>,
    /// Asked for.
    pub margin_asked: f64,
    /// The base's mass that gives it.
    pub base_kg_wanted: f64,
    /// The reach that gives it.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub arm_reach_most_mm: Option<f64>,
    /// The level pull at the camera that begins to tip it.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub pull_n: Option<f64>,
}

/// The JSON Schema of an answer.
pub fn json_schema() -> String {
    let schema = schemars::schema_for!(Answer);
    serde_json::to_string_pretty(&schema).unwrap_or_default() + "\n"
}
