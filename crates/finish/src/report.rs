//! The report of a frame: its role, findings, measurements and results.
//!
//! One JSON file per frame, or for each of several prints in one, schema `fallside.report/1`. The same inputs and recipe give the
//! same bytes: a report contains no time, duration or machine name. Conventions: image coordinates in pixels of the frame as stored, x right,
//! y down, (0, 0) at the outer corner of the first pixel; azimuths in degrees from +x towards +y; lengths in millimetres,
//! light in stops, shares from 0 to 1; paths relative to the report.

use crate::finding::{Finding, Verdict};
use crate::recipe::Recipe;
use crate::{Corners, Role};
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

mod lift;

pub use lift::{EdgeFacts, LiftFacts, ShadowFacts};

/// The schema every report names.
pub const SCHEMA: &str = "fallside.report/1";

/// Everything known about one frame.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Report {
    /// Always `fallside.report/1`.
    pub schema: String,
    /// The exposure file.
    pub frame: FrameFacts,
    /// Of a frame with a print the worst severity among its findings: `keep`, `look` or `reshoot`. Of a frame without one `used` or
    /// `unusable`; `look` where a print may have been forgotten.
    pub verdict: Verdict,
    /// What a frame without a print does for the others, or why it cannot: a sentence.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub service: Option<String>,
    /// Every measured concern, worst first.
    pub findings: Vec<Finding>,
    /// The print in it; absent where none was found.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub print: Option<PrintFacts>,
    /// Scale and attitude of the camera.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub camera: Option<CameraFacts>,
    /// The light and the shadow.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub light: Option<LightFacts>,
    /// How high the print's edges stand above the bed, and the light that showed it; absent where it was not measured.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub lift: Option<LiftFacts>,
    /// How the mount's shadow came about.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub shadow: Option<ShadowFacts>,
    /// Reflections in the window.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub veil: Option<VeilFacts>,
    /// The room's own light, where a frame with the flash off shows it.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub room: Option<RoomFacts>,
    /// A curled print's own shading, where it was divided out.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub unbend: Option<BendFacts>,
    /// The frame of the same print lit from the other side, where it was joined in.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub counter: Option<CounterFacts>,
    /// Exposure of bed and print.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub exposure: Option<ExposureFacts>,
    /// Sharpness on the print.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub focus: Option<FocusFacts>,
    /// How colour was set, and how well.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub colour: Option<ColourFacts>,
    /// The finished pictures; absent where nothing was made.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub canvas: Option<Canvas>,
    /// Pictures made only to be looked at on the page.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub previews: Option<Previews>,
    /// Every file that was made of the frame, with its hash: what was written is what lies there.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub files: Vec<FileFacts>,
    /// All that decided how it was finished.
    pub recipe: Recipe,
    /// BLAKE3 of the recipe's canonical JSON.
    pub recipe_blake3: String,
    /// What a person should know that is no concern: a camera's own tone curve, an orientation tag not followed, a twin left.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub notes: Vec<String>,
    /// How many of the notes, the last ones, tell of the run and not of the frame.
    #[serde(default, skip_serializing_if = "is_zero")]
    pub notes_of_run: usize,
    /// Other frames that it was made with.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub used: Vec<FileFacts>,
}

fn is_zero(n: &usize) -> bool {
    *n == 0
}

impl Report {
    /// A report that says only what the frame is; no print, no finding, verdict `keep`, or `used` where its role holds no print.
    pub fn of(frame: FrameFacts, recipe: Recipe) -> Self {
        let recipe_blake3 = recipe.key();
        let verdict = match frame.role.holds_print() && recipe.second_of.is_none() {
            true => Verdict::Keep,
            false => Verdict::Used,
        };
        Self {
            schema: SCHEMA.to_owned(),
            frame,
            verdict,
            service: None,
            findings: vec![],
            print: None,
            camera: None,
            light: None,
            lift: None,
            shadow: None,
            veil: None,
            room: None,
            unbend: None,
            counter: None,
            exposure: None,
            focus: None,
            colour: None,
            canvas: None,
            previews: None,
            files: vec![],
            recipe,
            recipe_blake3,
            notes: vec![],
            notes_of_run: 0,
            used: vec![],
        }
    }

    /// True for a frame that is finished as a print: one that is joined with another of the same print is not.
    pub fn shows_print(&self) -> bool {
        self.frame.role.holds_print() && self.recipe.second_of.is_none()
    }

    /// The hash of a file that was made of the frame, as it was when it was written.
    pub fn blake3_of(&self, path: &str) -> Option<&str> {
        self.files.iter().find(|f| f.path == path).map(|f| f.blake3.as_str())
    }

    /// Adds what the run has to say of the frame.
    pub fn add_run_notes(&mut self, notes: &[String]) {
        self.notes.extend_from_slice(notes);
        self.notes_of_run += notes.len();
    }

    /// What the run had to say of the frame.
    pub fn run_notes(&self) -> &[String] {
        self.notes.get(self.notes.len().saturating_sub(self.notes_of_run)..).unwrap_or_default()
    }

    /// Takes the findings, worst first, and sets the verdict from them.
    pub fn judged(mut self, mut findings: Vec<Finding>) -> Self {
        findings.sort_by_key(|f| std::cmp::Reverse(f.severity));
        self.verdict = match Verdict::of(&findings) {
            // A frame without a print keeps its own word unless a person should look.
            Verdict::Keep if !self.shows_print() => self.verdict,
            worst => worst,
        };
        self.findings = findings;
        self
    }

    /// Says what a frame without a print does for the others, or why it cannot.
    pub fn serves(&mut self, service: Result<String, String>) {
        self.verdict = if service.is_ok() { Verdict::Used } else { Verdict::Unusable };
        self.service = Some(service.unwrap_or_else(|why| why));
    }

    /// The report as its file holds it: indented JSON with a newline at the end.
    pub fn to_json(&self) -> String {
        // Serialisation of plain structs with string keys cannot fail.
        let mut text = serde_json::to_string_pretty(self).unwrap_or_default();
        text.push('\n');
        text
    }
}

/// A file that was made of a frame, or that it was made with.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct FileFacts {
    /// Where it is, relative to the report.
    pub path: String,
    /// BLAKE3 of the whole file, hex.
    pub blake3: String,
}

/// The exposure file.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct FrameFacts {
    /// The original, relative to the report.
    pub path: String,
    /// BLAKE3 of the whole file, hex.
    pub blake3: String,
    /// Columns as stored.
    pub width_px: usize,
    /// Rows as stored.
    pub height_px: usize,
    /// What it is for.
    pub role: Role,
    /// Why it was taken for that.
    pub role_reason: String,
    /// `srgb`, `linear-srgb`, `camera`, or the name of an embedded profile.
    pub encoding: String,
    /// Bits per sample in the file.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub bits: Option<u32>,
    /// What the camera wrote about the exposure.
    #[serde(default, skip_serializing_if = "CameraWords::is_empty")]
    pub exif: CameraWords,
}

/// What the camera wrote about the exposure.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct CameraWords {
    /// Camera.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub camera: Option<String>,
    /// Lens.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub lens: Option<String>,
    /// When the frame was taken, `YYYY-MM-DDTHH:MM:SS`, the camera's clock.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub taken: Option<String>,
    /// Exposure time, seconds.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub exposure_s: Option<f64>,
    /// Aperture as written.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub f_number: Option<f64>,
    /// ISO speed.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub iso: Option<f64>,
    /// Focal length, mm.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub focal_mm: Option<f64>,
    /// Orientation tag 1 to 8; never followed, since an overhead camera does not know which way is up.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub orientation: Option<u32>,
}

impl CameraWords {
    /// True where nothing was written.
    pub fn is_empty(&self) -> bool {
        *self == Self::default()
    }
}

/// The print in the frame.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct PrintFacts {
    /// A generic format name, or `plain`.
    pub format: String,
    /// How sure, 0 to 1.
    pub confidence: f64,
    /// Outer corners, clockwise as seen, from the one nearest the frame's top left.
    pub outline_px: Corners,
    /// Corners of the window, the same order; absent on a back.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub window_px: Option<Corners>,
    /// Index in `outline_px` of the upright print's top-left corner.
    pub upright_corner: usize,
    /// False where nothing in the format says which way is up.
    pub upright_known: bool,
    /// Outer width and height, upright.
    pub size_mm: [f64; 2],
    /// Greatest height of the outline above or below the print's middle.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub curl_mm: Option<f64>,
    /// Standard uncertainty of it, from how well a flat sheet, a bent one and one with a lifted corner explain outline and shadow.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub curl_sigma_mm: Option<f64>,
    /// Standard uncertainty of the outline.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub outline_sigma_mm: Option<f64>,
    /// Whole prints seen in the frame.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub prints_in_frame: Option<u32>,
    /// Which of them this is, in reading order from 1; absent where the frame is finished as one print.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub number_in_frame: Option<u32>,
}

/// Scale and attitude of the camera.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct CameraFacts {
    /// At the print's centre.
    pub px_per_mm: f64,
    /// Lean about the world's x axis (image right); positive raises the side towards the frame's top.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub tilt_x_deg: Option<f64>,
    /// Lean about the world's y axis (image up); positive lowers the side towards the frame's right.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub tilt_y_deg: Option<f64>,
    /// Standard uncertainty of either tilt.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub tilt_sigma_deg: Option<f64>,
    /// Turn of the upright print in the frame, clockwise as seen.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub rotation_deg: Option<f64>,
}

/// The light and the shadow.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct LightFacts {
    /// Where the flash stands.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub azimuth_deg: Option<f64>,
    /// Its height above the bed's plane, as an angle.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub elevation_deg: Option<f64>,
    /// Its distance from the print's centre.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub distance_mm: Option<f64>,
    /// Brightest to darkest illumination across the print.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub fall_off_stops: Option<f64>,
    /// How the light was evened: `blank` or `fitted`; absent where the bed is no white paper and nothing was evened.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub evened_by: Option<String>,
    /// Where the shadow falls.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub shadow_azimuth_deg: Option<f64>,
    /// From the print's edge to where the shadow is half gone.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub shadow_width_mm: Option<f64>,
    /// Width of the fade, 10 to 90 per cent.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub shadow_softness_mm: Option<f64>,
    /// Share of the light it takes where it is deepest.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub shadow_depth: Option<f64>,
    /// Colour difference of the bed between the print's two sides.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub mixed_delta_e: Option<f64>,
    /// How far the light on the visible bed departs from the blank's.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub blank_change_stops: Option<f64>,
    /// Contrast of what shows through the bed.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub show_through: Option<f64>,
}

/// Reflections in the window.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct VeilFacts {
    /// Share of the window they cover.
    pub window_share: f64,
    /// Where they lie in the frame, as a corner to corner box.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub box_px: Option<[[f64; 2]; 2]>,
}

/// A curled print's own shading, as it was divided out of master and mount.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct BendFacts {
    /// The greatest change, from the print's middle to a corner.
    pub most_stops: f64,
    /// Standard uncertainty of it.
    pub sigma_stops: f64,
    /// What it was measured by: `bend`, or `bend-and-border`.
    pub by: String,
    /// Standard uncertainty of the lift that the outline alone tells, which the shading follows from.
    pub lift_sigma_mm: f64,
}

/// The frame of the same print lit from the other side, as it was joined with the front.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct CounterFacts {
    /// That frame's file name; `used` has its path.
    pub frame: String,
    /// How far apart the two lights stand as seen from above.
    pub light_apart_deg: f64,
    /// Standard uncertainty of the registration at the window's worst corner, frame pixels.
    pub registered_px: f64,
    /// How far the two outlines alone would have been off, frame pixels.
    pub moved_px: f64,
    /// Share of the print where the front was left out as veiled.
    pub front_left_out: f64,
    /// The same of the other frame.
    pub counter_left_out: f64,
    /// Share of the window under a reflection in the front alone; `veil` has what is left.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub veil_before: Option<f64>,
}

/// The room's own light, as a frame with the flash off shows it.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct RoomFacts {
    /// What that frame shows: `print-in-place` or `bare-bed`.
    pub shows: String,
    /// That frame, relative to the report.
    pub frame: String,
    /// True where its light was subtracted from the print's frame.
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    pub subtracted: bool,
    /// How far the room lies under the flash on the bed beside the print.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub below_flash_stops: Option<f64>,
    /// The room's share of the bed's light: red, green, blue.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub bed_share: Option<[f64; 3]>,
    /// Colour of white paper under the room alone, balanced as the flash is: CIELAB a* and b*.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub colour_ab: Option<[f64; 2]>,
    /// How much of the window's light went with it.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub window_stops: Option<f64>,
    /// Share of the window under a reflection before.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub veil_before: Option<f64>,
    /// The same after.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub veil_after: Option<f64>,
    /// Share of the shadow's depth that the room had filled and that was given back to it.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub shadow_fill: Option<f64>,
    /// How far the print had moved between the two frames, frame pixels.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub moved_px: Option<f64>,
    /// Brighter (+) or darker in this frame than on the bare bed without the flash.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub changed_stops: Option<f64>,
}

/// Exposure of bed and print.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct ExposureFacts {
    /// Stops from the bed to the file's white.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub bed_below_white_stops: Option<f64>,
    /// Share of the bed at full scale: red, green, blue.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub clipped_bed: Option<[f64; 3]>,
    /// Share of the print at full scale: red, green, blue.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub clipped_print: Option<[f64; 3]>,
}

/// Sharpness on the print.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct FocusFacts {
    /// Width of the sharpest edge, 10 to 90 per cent.
    pub edge_px: f64,
    /// The same on the print.
    pub edge_mm: f64,
}

/// How colour was set, and how well.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct ColourFacts {
    /// `chart`, `bed`, or `profile`.
    pub method: String,
    /// Patches used.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub patches: Option<u32>,
    /// CIEDE2000 over the chart's patches, each left out of its own fit: mean.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub delta_e_mean: Option<f64>,
    /// 90th percentile.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub delta_e_p90: Option<f64>,
    /// Worst patch.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub delta_e_worst: Option<f64>,
}

/// The finished pictures: one canvas, several files.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Canvas {
    /// The faithful 16-bit file.
    pub master: String,
    /// The print on pure white, 16-bit.
    pub mount: String,
    /// The mount at full size, 8-bit sRGB, where asked for.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub srgb_png: Option<String>,
    /// The share-size JPEG.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub share: Option<String>,
    /// Columns of master, mount and PNG.
    pub width_px: usize,
    /// Rows.
    pub height_px: usize,
    /// Exact.
    pub px_per_mm: f64,
    /// The print's corners, clockwise from the upright print's top left.
    pub print_px: Corners,
    /// Encoding of master and mount.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub encoding: Option<String>,
}

/// Pictures made only for the page.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Previews {
    /// The frame as stored, reduced.
    pub before: String,
    /// The mount, reduced.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub after: Option<String>,
}

/// The JSON Schema of a report, as `docs/reference/report.schema.json` holds it.
pub fn json_schema() -> String {
    let mut text = serde_json::to_string_pretty(&schemars::schema_for!(Report)).unwrap_or_default();
    text.push('\n');
    text
}
