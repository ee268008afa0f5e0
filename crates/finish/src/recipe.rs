//! The recipe: everything that decides how a frame becomes master and mount.
//!
//! The same recipe over the same inputs gives the same bytes, so its hash shows whether a finished frame is still
//! valid. Paths are not part of it: a frame is identified by its bytes.

use crate::finding::Aim;
use crate::light::ShadowLight;
use crate::{Corners, Role};
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// Raised whenever finished pictures or reports would differ for the same inputs and settings.
pub const PIPELINE: u32 = 6;

/// Everything that decides how a frame is finished.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Recipe {
    /// Version of Fallside.
    pub fallside: String,
    /// Version of the pipeline ([`PIPELINE`]).
    pub pipeline: u32,
    /// What the frame was taken for.
    pub role: Role,
    /// False where an empty bed would be a surprise: a bare bed between prints.
    pub empty_is_meant: bool,
    /// Frame pixels per millimetre that the sitting's other frames agree on, where this frame alone leaves doubt.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub sitting_px_per_mm: Option<f64>,
    /// The lens as a ruler frame told it; absent where each print tells it.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub lens: Option<LensFacts>,
    /// In what this frame's rig differs from the sitting's.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub rig: Vec<RigChange>,
    /// Of a bare bed: the size of the frames with a print, where none has its own size, so that it evens none of them.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub prints_frame_px: Option<[usize; 2]>,
    /// Which of the frame's prints this is; absent where it is finished as one.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub part: Option<PartOf>,
    /// What else lies in the frame, which the light, the shadow and the picture of this print leave out.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub beside: Vec<Beside>,
    /// The frame of the same print that this one is joined with, lit from the other side: then it is no print of its own.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub second_of: Option<String>,
    /// What a person said of this frame alone.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub by_hand: Option<ByHand>,
    /// The photographer's choices.
    pub settings: Settings,
    /// Hashes of all that went in.
    pub inputs: Inputs,
}

/// Which of a frame's prints: counted in reading order, rows from top to bottom, each from left to right.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
pub struct PartOf {
    /// From 1.
    pub number: u32,
    /// Of so many.
    pub of: u32,
}

/// Something else that lies in the frame.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Beside {
    /// What it is.
    pub what: What,
    /// Its outline, frame pixels, clockwise.
    pub outline_px: Vec<[f64; 2]>,
}

/// What lies beside a print.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum What {
    /// A whole print, finished by itself.
    Print,
    /// A print that leaves the frame at its left.
    CutLeft,
    /// At its top.
    CutTop,
    /// At its right.
    CutRight,
    /// At its bottom.
    CutBottom,
    /// A print that lies over or under one that is finished.
    Overlaps,
}

/// What a person said of one frame. Nothing said means: as it was found.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct ByHand {
    /// Corners in frame pixels, clockwise from the upright print's top left, before any turn.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub outline_px: Option<Corners>,
    /// The format's generic name.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub format: Option<String>,
    /// Quarter turns clockwise.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub turn: Option<u8>,
    /// The shadow kept: 0 none, 1 as shot, 2 twice as deep.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub shadow: Option<f64>,
    /// The light that casts the shadow.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub light: Option<ShadowLight>,
}

impl ByHand {
    /// The settings with what was said in the place of what they say.
    pub fn over(&self, mut settings: Settings) -> Settings {
        settings.shadow = self.shadow.unwrap_or(settings.shadow);
        settings.light = match &self.light {
            None => settings.light,
            Some(ShadowLight::AsShot) => None,
            Some(other) => Some(other.clone()),
        };
        settings.formats = self.format.clone().map_or(settings.formats, |f| vec![f]);
        settings
    }
}

/// A lens: Brown-Conrady about its principal point, in units of half the frame's diagonal, undistorted to distorted.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct LensFacts {
    /// First radial term.
    pub k1: f64,
    /// Second radial term.
    pub k2: f64,
    /// Standard error of k1.
    pub k1_error: f64,
    /// Principal point, frame pixels.
    pub principal_point_px: [f64; 2],
    /// Columns and rows of the frames it holds for.
    pub frame_px: [usize; 2],
}

impl LensFacts {
    /// The lens, and the standard error of its k1.
    pub fn lens(&self) -> (geometry::Lens, f64) {
        let [w, h] = self.frame_px.map(|v| v as f64);
        let [x, y] = self.principal_point_px;
        let lens = geometry::Lens {
            centre: geometry::point(x, y),
            k: [self.k1, self.k2, 0.0],
            ..geometry::Lens::straight(w, h)
        };
        (lens, self.k1_error)
    }
}

/// What of the rig is not as in the rest of the sitting.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct RigChange {
    /// What.
    pub part: RigPart,
    /// The sitting's, in the part's unit.
    pub was: f64,
    /// This frame's.
    pub is: f64,
}

/// A part of the rig that a frame can be held against.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum RigPart {
    /// Frame pixels per millimetre: the camera's height.
    Scale,
    /// The camera's lean from the sitting's, degrees (`was` is 0).
    Tilt,
    /// f-number.
    Aperture,
    /// Focal length, mm.
    FocalLength,
    /// The bed's light, stops from white, aperture and ISO taken out.
    Flash,
}

impl RigPart {
    /// As a finding's `part`.
    pub fn word(self) -> &'static str {
        match self {
            Self::Scale => "scale",
            Self::Tilt => "tilt",
            Self::Aperture => "aperture",
            Self::FocalLength => "focal-length",
            Self::Flash => "flash",
        }
    }
}

impl RigChange {
    /// How much, in the unit of the limit table: shares for scale and focal length, stops for aperture and flash, degrees.
    pub fn size(&self) -> f64 {
        match self.part {
            RigPart::Scale | RigPart::FocalLength => (self.is / self.was - 1.0).abs(),
            // Light through an aperture goes with 1 / N^2.
            RigPart::Aperture => 2.0 * (self.is / self.was).log2().abs(),
            RigPart::Tilt | RigPart::Flash => (self.is - self.was).abs(),
        }
    }
}

/// BLAKE3 hashes of the files that went in, hex.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Inputs {
    /// The frame.
    pub frame: String,
    /// Blanks to choose from, nearest in time first.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub blanks: Vec<String>,
    /// The chart frame.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub chart: Option<String>,
    /// The chart's values.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub chart_values: Option<String>,
    /// The flash-off frame: of the bare bed, or as the photographer named it.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub ambient: Option<String>,
    /// The flash-off frame taken next to this one.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub flash_off: Option<String>,
    /// The frame of the same print lit from the other side.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub counter: Option<String>,
}

/// The photographer's choices, with their defaults.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Settings {
    /// What the prints are for.
    pub aim: Aim,
    /// The shadow kept: 0 none, 1 as shot, 2 twice as deep.
    pub shadow: f64,
    /// The light that the mount's shadow is cast by; absent where it stays as shot.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub light: Option<ShadowLight>,
    /// Encoding of master and mount.
    pub encoding: MasterEncoding,
    /// Longer side of the share JPEG, pixels.
    pub share_px: u32,
    /// True where a full-size 8-bit sRGB PNG of the mount is asked for.
    pub srgb_png: bool,
    /// Formats to expect, generic names; empty for all.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub formats: Vec<String>,
    /// Outer size of a plain original, mm, where no format fits.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub plain_mm: Option<[f64; 2]>,
    /// True where each frame is finished as one print, whatever else lies in it.
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    pub one: bool,
    /// True to divide a curled print's own shading out, false never to; absent: wherever the bend is known well enough.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub unbend: Option<bool>,
}

impl Default for Settings {
    fn default() -> Self {
        Self {
            aim: Aim::Book,
            shadow: 1.0,
            light: None,
            encoding: MasterEncoding::EciRgbV2,
            // A screen's height: the print stands whole on it without scaling.
            share_px: 1600,
            srgb_png: false,
            formats: vec![],
            plain_mm: None,
            one: false,
            unbend: None,
        }
    }
}

/// Encodings offered for master and mount.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
pub enum MasterEncoding {
    /// eciRGBv2, ISO 22028-4.
    #[default]
    #[serde(rename = "ecirgb-v2")]
    EciRgbV2,
    /// The primaries of ROMM RGB (ISO 22028-2) in linear light, without that standard's curve.
    #[serde(rename = "romm")]
    Romm,
    /// sRGB, IEC 61966-2-1.
    #[serde(rename = "srgb")]
    Srgb,
}

impl Recipe {
    /// A recipe of this version.
    pub fn new(role: Role, settings: Settings, inputs: Inputs) -> Self {
        Self {
            fallside: env!("CARGO_PKG_VERSION").to_owned(),
            pipeline: PIPELINE,
            role,
            empty_is_meant: true,
            sitting_px_per_mm: None,
            lens: None,
            rig: vec![],
            prints_frame_px: None,
            part: None,
            beside: vec![],
            second_of: None,
            by_hand: None,
            settings,
            inputs,
        }
    }

    /// The same recipe, as this version follows it.
    pub fn of_this_version(mut self) -> Self {
        self.fallside = env!("CARGO_PKG_VERSION").to_owned();
        self.pipeline = PIPELINE;
        self
    }

    /// The photographer's choices, with what a person said of this frame over them.
    pub fn chosen(&self) -> Settings {
        self.by_hand.iter().fold(self.settings.clone(), |s, b| b.over(s))
    }

    /// One line of JSON, keys sorted, no spaces: the same text for the same recipe.
    pub fn canonical(&self) -> String {
        // serde_json's map is ordered by key, so a value's text is sorted at every level.
        serde_json::to_value(self).map(|v| v.to_string()).unwrap_or_default()
    }

    /// BLAKE3 of the canonical text, hex.
    pub fn key(&self) -> String {
        blake3::hash(self.canonical().as_bytes()).to_hex().to_string()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn recipe() -> Recipe {
        Recipe::new(Role::Front, Settings::default(), Inputs { frame: "00".into(), ..Inputs::default() })
    }

    /// What is said of one frame takes the place of what the box was finished with, and no more.
    #[test]
    fn a_person_s_word_lies_over_the_settings() {
        let mut recipe = recipe();
        recipe.settings.light = Some(ShadowLight::Mirrored);
        assert_eq!(recipe.chosen(), recipe.settings);
        recipe.by_hand = Some(ByHand { shadow: Some(0.5), ..ByHand::default() });
        assert_eq!((recipe.chosen().shadow, recipe.chosen().light), (0.5, Some(ShadowLight::Mirrored)));
        recipe.by_hand = Some(ByHand { light: Some(ShadowLight::AsShot), ..ByHand::default() });
        assert_eq!((recipe.chosen().shadow, recipe.chosen().light), (1.0, None));
    }

    #[test]
    fn canonical_text_is_sorted_and_comes_back() {
        let text = recipe().canonical();
        assert!(text.starts_with(r#"{"empty_is_meant":true,"fallside":""#), "{text}");
        assert!(text.find(r#""inputs""#) < text.find(r#""pipeline""#));
        assert_eq!(serde_json::from_str::<Recipe>(&text).unwrap(), recipe());
    }

    #[test]
    fn any_choice_and_any_input_changes_the_key() {
        let base = recipe();
        let mut shadow = base.clone();
        shadow.settings.shadow = 0.5;
        let mut blank = base.clone();
        blank.inputs.blanks.push("01".into());
        let mut pipeline = base.clone();
        pipeline.pipeline += 1;
        for other in [shadow, blank, pipeline] {
            assert_ne!(other.key(), base.key());
        }
        assert_eq!(base.key(), recipe().key());
    }
}
