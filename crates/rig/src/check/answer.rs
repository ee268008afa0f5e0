//! The answer as plain data, schema `fallside.check/1`.
//!
//! Conventions are the report's: lengths in millimetres, angles in degrees, azimuths in the image from right, clockwise;
//! light in stops; shares from 0 to 1. A field that is absent was not asked or could not be measured.

use base::Exit;
use finish::Role;
use finish::finding::Aim;
use finish::report::CameraWords;
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// The schema every check names.
pub const SCHEMA: &str = "fallside.check/1";

/// What the frames of a rig say of it.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Answer {
    /// Always `fallside.check/1`.
    pub schema: String,
    /// What the prints are for.
    pub aim: Aim,
    /// What is wrong, the gravest first; empty where nothing is.
    pub faults: Vec<Fault>,
    /// What could not be read or measured, a line each.
    pub problems: Vec<String>,
    /// What to know about how it was measured.
    pub notes: Vec<String>,
    /// The frames and what each was taken for.
    pub frames: Vec<FrameUsed>,
    /// Camera, lens and sharpness.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub ruler: Option<RulerFacts>,
    /// Light and bed.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub blank: Option<BlankFacts>,
    /// Colour.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub chart: Option<ChartFacts>,
    /// The room's light.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub ambient: Option<AmbientFacts>,
    /// Prints that were looked at for reflections.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub veils: Vec<VeilFound>,
    /// Measured figures beside the tolerance classes of the standards.
    pub standards: Vec<Judged>,
    /// Measured figures beside the plan's; empty without a plan.
    pub plan: Vec<Beside>,
    /// How it ended, as the process says it.
    #[serde(skip, default = "done")]
    pub exit: Exit,
}

fn done() -> Exit {
    Exit::AllDone
}

/// A figure, with its standard error where it is known, in the same unit.
#[derive(Clone, Copy, Debug, Default, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Value {
    /// The figure.
    pub value: f64,
    /// One standard deviation of it.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub error: Option<f64>,
}

impl Value {
    /// Without an error.
    pub fn bare(value: f64) -> Self {
        Self { value, error: None }
    }
    /// With one.
    pub fn with(value: f64, error: f64) -> Self {
        Self { value, error: error.is_finite().then_some(error) }
    }
}

impl From<print::ruler::Value> for Value {
    fn from(v: print::ruler::Value) -> Self {
        Self::with(v.value, v.error)
    }
}

/// One thing that is wrong.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Fault {
    /// Which, as `camera.tilt`.
    pub code: String,
    /// How much.
    pub value: f64,
    /// Its standard error.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub error: Option<f64>,
    /// How much there may be.
    pub limit: f64,
    /// Unit of both.
    pub unit: String,
    /// Which way, where it has one: a side or corner of the frame, `nearer`, `brighter`, ...
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub direction: Option<String>,
    /// How far to move what is to be moved.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub step: Option<Step>,
    /// What is so.
    pub says: String,
    /// What to do.
    #[serde(rename = "do")]
    pub remedy: String,
}

/// A move with its size.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Step {
    /// What moves: `board`, `camera`, `flash`, `aperture`, ...
    pub what: String,
    /// By how much; with a sign where the direction does not say it.
    pub by: f64,
    /// Unit.
    pub unit: String,
}

/// A frame and what it was taken for.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct FrameUsed {
    /// Where it is.
    pub path: String,
    /// What it shows.
    pub role: Role,
    /// Why it was taken for that.
    pub reason: String,
    /// True where figures were read from it.
    pub measured: bool,
    /// What the camera wrote.
    pub exif: CameraWords,
}

/// What the ruler sheet says.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct RulerFacts {
    /// The frame.
    pub path: String,
    /// `a4` or `letter`.
    pub paper: String,
    /// The frame's columns and rows.
    pub frame_px: [usize; 2],
    /// Squares seen whole.
    pub squares: usize,
    /// True where nobody measured the sheet's bar, so that lengths are the printer's.
    pub bar_assumed: bool,
    /// Image distance used for the tilt, pixels.
    pub focal_px: f64,
    /// True where a usual copy lens was taken for want of a better word.
    pub focal_assumed: bool,
    /// Lean about the world's x axis, degrees; positive: the camera's side towards the frame's top is high.
    pub tilt_x_deg: Value,
    /// Lean about the world's y axis, degrees; positive: the camera's side towards the frame's right is low.
    pub tilt_y_deg: Value,
    /// Both together.
    pub tilt_deg: Value,
    /// The sheet's turn, degrees counter-clockwise as seen.
    pub rotation_deg: Value,
    /// Pixels per millimetre on the axis.
    pub px_per_mm: Value,
    /// The same in pixels per inch.
    pub ppi: Value,
    /// How much longer the sheet was printed down than across.
    pub stretch: Value,
    /// First radial term, in half diagonals.
    pub k1: Value,
    /// Second radial term.
    pub k2: Value,
    /// The principal point from the frame's middle, right and down, pixels.
    pub principal_px: [Value; 2],
    /// The greatest radial distortion in the frame, as a share of the distance from the principal point.
    pub distortion: Value,
    /// How far red and blue lie from green at worst, pixels.
    pub lateral_px: [Value; 2],
    /// What the model of camera and lens leaves of whole edges, pixels: a sheet that does not lie flat shows here.
    pub edge_rms_px: f64,
    /// Sharpness in the frame's middle and corners.
    pub zones: Vec<ZoneFacts>,
    /// Each corner's MTF50 over the middle's: top left, top right, bottom right, bottom left; absent where a zone has none.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub flatness: Option<[Value; 4]>,
    /// Brightest to darkest of the paper over the frame, stops.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub fall_off_stops: Option<Value>,
    /// Noise as deviation of L*: bare paper, then the steps from light to dark.
    pub noise: Vec<GreyNoise>,
    /// Electrons at full scale by the noise's law, per channel; absent where it says nothing.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub electrons: Option<[Value; 3]>,
}

/// Noise of one even area.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct GreyNoise {
    /// Reflectance over the paper's as the sheet was drawn.
    pub drawn: f64,
    /// Deviation of L*.
    pub lightness: Value,
}

/// Sharpness in one place.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct ZoneFacts {
    /// `middle`, `top-left`, ...
    pub place: String,
    /// Detail across the frame; absent where it could not be measured.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub across: Option<EdgeFacts>,
    /// Detail down the frame.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub down: Option<EdgeFacts>,
    /// Why one is absent.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub why: Option<String>,
}

/// Edge response one way, by ISO 12233; frequencies in cycles per pixel.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct EdgeFacts {
    /// Where it falls to a half.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub mtf50: Option<Value>,
    /// Where it falls to a tenth.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub mtf10: Option<Value>,
    /// MTF10 over the half-sampling frequency, at most 1.
    pub efficiency: Value,
    /// Response at the half-sampling frequency.
    pub half_sampling: Value,
    /// The greatest response up to there: over 1 the picture was sharpened.
    pub sharpening: Value,
}

/// What the bare bed says.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct BlankFacts {
    /// The frame.
    pub path: String,
    /// Brightest to darkest over the frame, lamp and lens together, stops.
    pub fall_off_stops: f64,
    /// The same over a print in the frame's middle.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub fall_off_print_stops: Option<f64>,
    /// That print's width and height as it lies, mm.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub print_mm: Option<[f64; 2]>,
    /// The fall-off as a map.
    pub map: FallOffMap,
    /// Of it the lamp's alone, brightest to darkest over the frame, stops.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub lamp_stops: Option<f64>,
    /// Of it the lens's alone, from the middle to a corner, stops.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub vignette_stops: Option<Value>,
    /// Where the light stands in the frame.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub light_azimuth_deg: Option<Value>,
    /// Its elevation; absent where the frame does not tell it.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub light_elevation_deg: Option<Value>,
    /// The elevation taken for its distance.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub elevation_taken_deg: Option<Value>,
    /// Its distance from the frame's middle, mm.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub light_distance_mm: Option<Value>,
    /// From the brightest bed to full scale per channel, stops; negative where it is over.
    pub head_room_stops: [f64; 3],
    /// Share of the frame at full scale.
    pub clipped: f64,
    /// Greatest colour difference between two places of the bed, CIEDE2000 without lightness.
    pub colour_delta_e: f64,
    /// Where it is warmest, degrees in the image; absent where the colour is even to a tenth of a per cent.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub warmer_towards_deg: Option<f64>,
    /// Fibre and tooth of the paper, rms share.
    pub texture: f64,
    /// What shows through it, and stains, rms share.
    pub show_through: f64,
    /// Noise of a pixel of bed, rms share.
    pub noise: f64,
    /// Specks, hairs and crumbs.
    pub specks: usize,
    /// The same on a square decimetre; absent without a scale.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub specks_per_dm2: Option<f64>,
    /// The largest of them.
    pub largest: Vec<SpeckFacts>,
    /// How the light changed to the last blank.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub change: Option<LightChange>,
}

/// The bed's light in stops under its brightest: `stops[row][column]`, at the middles of equal cells of the frame.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct FallOffMap {
    /// Cells across.
    pub columns: usize,
    /// Cells down.
    pub rows: usize,
    /// Stops, none positive.
    pub stops: Vec<Vec<f64>>,
}

/// Something on the bed.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct SpeckFacts {
    /// Its middle in the frame, pixels.
    pub at_px: [f64; 2],
    /// Its longer extent, mm; absent without a scale.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub length_mm: Option<f64>,
    /// Darker (-) or lighter than the bed, as a share.
    pub contrast: f64,
}

/// How the light of the last blank differs from the first's.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct LightChange {
    /// The last blank.
    pub path: String,
    /// Change across the frame's diagonal, stops.
    pub slope_stops: f64,
    /// Where it is brighter than before, degrees in the image.
    pub towards_deg: f64,
    /// Brighter (+) or darker in all, stops.
    pub level_stops: f64,
    /// How far the light went round the frame, degrees, clockwise as seen.
    pub turned_deg: f64,
    /// Its slope now over before: 2 where it stands half as far.
    pub slope_ratio: f64,
}

/// What the chart says, under the colour that Fallside sets by it.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct ChartFacts {
    /// The frame.
    pub path: String,
    /// Patches used.
    pub patches: usize,
    /// Patches of the chart.
    pub of: usize,
    /// Mean CIEDE2000 of the patches.
    pub delta_e_mean: Value,
    /// Its 90th percentile.
    pub delta_e_p90: f64,
    /// Its largest.
    pub delta_e_worst: f64,
    /// The patch that has it.
    pub worst_patch: String,
    /// Mean where each patch is judged by a fit that did not see it.
    pub unseen_mean: Value,
    /// The same, 90th percentile.
    pub unseen_p90: f64,
    /// The same, largest.
    pub unseen_worst: f64,
    /// Mean by the formula with `S_L = 1`.
    pub even_mean: Value,
    /// Largest by it.
    pub even_worst: f64,
    /// Neutral patches found.
    pub neutrals: usize,
    /// Greatest difference of L* on them.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub tone: Option<Value>,
    /// The same as the lightness term of CIEDE2000.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub tone_2000: Option<Value>,
    /// Greatest colour difference on them without lightness.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub white_balance: Option<Value>,
    /// Greatest difference between two bands on them as 8-bit counts, their own tint apart.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub white_balance_counts: Option<Value>,
    /// The same of the frame as the camera balanced it, against the lightest neutral's lightness.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub white_balance_as_shot: Option<f64>,
    /// Least and greatest slope of L* between neighbouring neutrals, measured over known.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub gain: Option<[Value; 2]>,
    /// The slope between the two lightest of them.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub gain_highlights: Option<Value>,
    /// Greatest deviation of L* in a neutral patch.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub noise: Option<Value>,
}

/// What the frame with the flash off says.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct AmbientFacts {
    /// The frame.
    pub path: String,
    /// The blank it was laid beside.
    pub flash: String,
    /// How far the room lies under the flash per channel, stops.
    pub below_stops: [f64; 3],
    /// The same of all light.
    pub below: Value,
    /// The room's share of the light.
    pub share: f64,
    /// Colour of the room's light against the flash's, CIEDE2000 without lightness: the tint of a full shadow.
    pub tint_delta_e: f64,
}

/// A reflection in a print's window.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct VeilFound {
    /// The frame.
    pub path: String,
    /// Share of the window under it.
    pub share: f64,
    /// Where the reflection lies from the window's middle, azimuth in the frame.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub towards_deg: Option<f64>,
}

/// A figure beside the classes of the standards.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Judged {
    /// Which, as `sampling-efficiency`.
    pub figure: String,
    /// In words.
    pub name: String,
    /// As measured, by the standard's formula.
    pub value: Value,
    /// Unit.
    pub unit: String,
    /// The formula.
    pub formula: String,
    /// The classes.
    pub classes: Vec<ClassMet>,
}

/// One class and whether it is met.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct ClassMet {
    /// The standard.
    pub standard: String,
    /// Its class.
    pub class: String,
    /// What it asks, as `< 4`.
    pub asks: String,
    /// True where it is met.
    pub meets: bool,
    /// By how much it is missed, in the figure's unit; 0 where it is met.
    pub misses_by: f64,
    /// `read`, `secondary` (known through another text) or `unsure`.
    pub known: String,
}

/// A measured figure beside the planned one.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Beside {
    /// Which.
    pub figure: String,
    /// As planned.
    pub planned: f64,
    /// As measured.
    pub measured: Value,
    /// Unit.
    pub unit: String,
    /// True where they differ by more than both can be held or known to.
    pub differs: bool,
    /// What mends it, with its size; absent where nothing is to be done.
    #[serde(rename = "do", default, skip_serializing_if = "Option::is_none")]
    pub remedy: Option<String>,
}

/// The JSON Schema of an answer.
pub fn json_schema() -> String {
    let schema = schemars::schema_for!(Answer);
    serde_json::to_string_pretty(&schema).unwrap_or_default() + "\n"
}
