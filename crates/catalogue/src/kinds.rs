//! Results of catalogue queries: prints, frames, results, edits, hand-offs, as plain structs that are also written as JSON.

use crate::error::Error;
use crate::fact::Facts;
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};
use std::fmt;
use std::str::FromStr;

/// A print's number: minted once, never given again. Written `P0042`.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(try_from = "String", into = "String")]
pub struct PrintId(pub i64);

impl fmt::Display for PrintId {
    fn fmt(&self, f: &mut fmt::Formatter) -> fmt::Result {
        write!(f, "P{:04}", self.0)
    }
}

impl FromStr for PrintId {
    type Err = Error;
    /// `P0042`, `p42` or `42`.
    fn from_str(text: &str) -> Result<Self, Error> {
        let digits = text.trim().trim_start_matches(['P', 'p']);
        let plain = digits.len() <= 12 && digits.bytes().all(|b| b.is_ascii_digit());
        plain
            .then(|| digits.parse().ok())
            .flatten()
            .filter(|n| *n > 0)
            .map(Self)
            .ok_or_else(|| Error::refused(format!("“{text}” is not a print number. Print numbers look like P0042.")))
    }
}

impl TryFrom<String> for PrintId {
    type Error = Error;
    fn try_from(text: String) -> Result<Self, Error> {
        text.parse()
    }
}

impl From<PrintId> for String {
    fn from(id: PrintId) -> Self {
        id.to_string()
    }
}

impl JsonSchema for PrintId {
    fn schema_name() -> std::borrow::Cow<'static, str> {
        "PrintId".into()
    }
    fn json_schema(_: &mut schemars::SchemaGenerator) -> schemars::Schema {
        schemars::json_schema!({ "type": "string", "pattern": "^P[0-9]{4,}$" })
    }
}

/// A frame's number.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize, JsonSchema)]
#[serde(transparent)]
pub struct FrameId(pub i64);

/// A print as a list or the table shows it.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct Row {
    /// Its number.
    pub id: PrintId,
    /// A short name.
    pub title: String,
    /// Its format.
    pub format: String,
    /// When it was exposed, EDTF.
    pub date: String,
    /// First day of that date, `YYYY-MM-DD`, for sorting; `..` where open.
    pub from: Option<String>,
    /// Where.
    pub place: String,
    /// The box it lies in.
    #[serde(rename = "box")]
    pub box_name: String,
    /// Its sleeve.
    pub sleeve: String,
    /// The verdict on its front.
    pub verdict: Option<String>,
    /// The sentence of its front's worst finding.
    pub says: String,
    /// The chosen front.
    pub front: Option<FrameId>,
    /// The front's small picture on white, relative to the project.
    pub picture: Option<String>,
    /// Size of the mount's canvas, pixels.
    pub canvas_px: Option<[i64; 2]>,
    /// Pixels of the canvas for each millimetre.
    pub px_per_mm: Option<f64>,
    /// Outer size of the print, upright.
    pub size_mm: Option<[f64; 2]>,
    /// Hash of the recipe that made the front's pictures.
    pub stamp: Option<String>,
    /// How many frames it has.
    pub frames: i64,
    /// `none`, `blank`, or `back`.
    pub back: String,
    /// The latest back.
    pub back_frame: Option<FrameId>,
    /// Hash of the recipe that made its pictures.
    pub back_stamp: Option<String>,
    /// Names of the edits it is in.
    pub edits: Vec<String>,
}

/// A print with all that is known of it.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct Print {
    /// Its number.
    pub id: PrintId,
    /// What is said of it.
    pub facts: Facts,
    /// When the chosen front was taken: the date it was digitised, by the camera's clock.
    pub digitised: Option<String>,
    /// The chosen front.
    pub front: Option<FrameId>,
    /// Why that one.
    pub front_why: String,
    /// `rule` or `person`: who chose it.
    pub front_by: String,
    /// Its frames, in the order they came.
    pub frames: Vec<Frame>,
    /// The edits it is in, with its place in each, from 0.
    pub edits: Vec<InEdit>,
    /// How it lies, where anything was said.
    pub stacked: Option<Stacked>,
    /// What it was handed on with.
    pub hand_offs: Vec<HandOff>,
    /// When it was added.
    pub added: String,
}

/// How many prints there are of each kind.
#[derive(Clone, Debug, Default, PartialEq, Serialize, JsonSchema)]
pub struct Tally {
    /// All.
    pub prints: i64,
    /// By the verdict on the front.
    pub verdicts: Vec<(String, i64)>,
    /// By format.
    pub formats: Vec<(String, i64)>,
}

/// Prints that lie on one another.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, JsonSchema)]
pub struct Stack {
    /// Its number.
    pub number: i64,
    /// True where a rule laid one of them there, and nobody has said anything to it.
    pub proposed: bool,
    /// Its prints, in order.
    pub prints: Vec<PrintId>,
}

/// How a print lies.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, JsonSchema)]
pub struct Stacked {
    /// In which stack; `None` where somebody lifted it out.
    pub stack: Option<i64>,
    /// Its place there, from 0.
    pub place: i64,
    /// `rule` or `person`: who laid it so.
    pub by: String,
}

/// A print's place in an edit.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, JsonSchema)]
pub struct InEdit {
    /// The edit's name.
    pub edit: String,
    /// `wide`, `tight` or `sequence`.
    pub kind: String,
    /// Its place, from 0.
    pub place: i64,
}

/// Which of an exposure's prints a frame shows, in reading order.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize, JsonSchema)]
pub struct PartOf {
    /// From 1.
    pub number: i64,
    /// Of so many.
    pub of: i64,
}

impl PartOf {
    /// True where the exposure shows no other.
    pub fn is_whole(&self) -> bool {
        self.of < 2
    }
}

impl Default for PartOf {
    /// The only one.
    fn default() -> Self {
        Self { number: 1, of: 1 }
    }
}

/// An exposure file, or one of the prints that it shows.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct Frame {
    /// Its number.
    pub id: FrameId,
    /// BLAKE3 of the file, hex.
    pub blake3: String,
    /// The file's own name; of one of several prints in it the file's name without its ending, and the print's number.
    pub name: String,
    /// Which of the exposure's prints it shows, where there are several.
    #[serde(skip_serializing_if = "PartOf::is_whole")]
    pub part: PartOf,
    /// Where the original lies: absolute, or relative to the project where it was copied in.
    pub path: String,
    /// Lesser files of the same exposure.
    pub twins: Vec<String>,
    /// When it was taken, the camera's clock.
    pub taken: Option<String>,
    /// What it is for: front, back, counter, blank, chart, ruler, ambient.
    pub role: String,
    /// Why.
    pub role_why: String,
    /// Its print, where it has one.
    pub print: Option<PrintId>,
    /// Why that one.
    pub print_why: String,
    /// Its sitting.
    pub sitting: Option<i64>,
    /// What a person said of the frame, JSON; empty where nothing.
    pub said: String,
    /// What finishing found and made.
    pub result: Option<Finished>,
}

impl Frame {
    /// True for a frame that shows a print, not the bed or what is laid there for it.
    pub fn holds_print(&self) -> bool {
        holds_print(&self.role)
    }
}

fn holds_print(role: &str) -> bool {
    ["front", "back", "counter"].contains(&role)
}

/// What tells a frame among its sitting's others, without what was made of it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Brief {
    /// Its number.
    pub id: FrameId,
    /// BLAKE3 of the file.
    pub blake3: String,
    /// Where it lies, from the project.
    pub path: String,
    /// When it was taken, the camera's clock.
    pub taken: Option<String>,
    /// What it shows.
    pub role: String,
    /// Which of the file's prints.
    pub part: PartOf,
}

impl Brief {
    /// True for a frame that shows a print.
    pub fn holds_print(&self) -> bool {
        holds_print(&self.role)
    }
}

/// What finishing found and made of a frame; paths are relative to the project.
#[derive(Clone, Debug, Default, PartialEq, Serialize, JsonSchema)]
pub struct Finished {
    /// keep, look or reshoot.
    pub verdict: String,
    /// The worst finding's sentence.
    pub says: String,
    /// The format found; empty where no print was.
    pub format: String,
    /// How sure, 0 to 1.
    pub confidence: Option<f64>,
    /// Outer size, upright.
    pub size_mm: Option<[f64; 2]>,
    /// Size of the frame.
    pub frame_px: [i64; 2],
    /// Pixels of the canvas for each millimetre.
    pub px_per_mm: Option<f64>,
    /// Size of master and mount.
    pub canvas_px: Option<[i64; 2]>,
    /// For a back: `blank`, `marked`, or empty where it was not told.
    pub marks: String,
    /// The report.
    pub report: String,
    /// The faithful file.
    pub master: Option<String>,
    /// The print on white.
    pub mount: Option<String>,
    /// The same as PNG.
    pub srgb_png: Option<String>,
    /// A JPEG to send.
    pub share: Option<String>,
    /// The frame, small.
    pub before: Option<String>,
    /// The mount, small.
    pub after: Option<String>,
    /// Hash of the recipe.
    pub recipe: String,
    /// What was found, worst first.
    pub findings: Vec<Finding>,
}

/// A measured concern.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct Finding {
    /// Which.
    pub code: String,
    /// note, look or reshoot.
    pub severity: String,
    /// What was measured.
    pub value: Option<f64>,
    /// The limit.
    pub limit: Option<f64>,
    /// Unit of both.
    pub unit: String,
    /// A sentence.
    pub says: String,
    /// What to do.
    pub remedy: String,
}

/// A frame as it comes in.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct NewFrame {
    /// BLAKE3 of the file, hex.
    pub blake3: String,
    /// The file's own name, or that of the print in it.
    pub name: String,
    /// Which of its prints, where there are several.
    pub part: PartOf,
    /// Where it lies.
    pub path: String,
    /// Lesser files of the same exposure.
    pub twins: Vec<String>,
    /// When it was taken, `YYYY-MM-DDTHH:MM:SS`.
    pub taken: Option<String>,
    /// What it is for.
    pub role: String,
    /// Why.
    pub role_why: String,
    /// Its sitting.
    pub sitting: Option<i64>,
}

/// Frames of one unchanged rig.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, JsonSchema)]
pub struct Sitting {
    /// Its number.
    pub id: i64,
    /// The camera, as it names itself.
    pub camera: String,
    /// Size of its frames.
    pub frame_px: [i64; 2],
    /// First and last frame, the camera's clock.
    pub began: Option<String>,
    /// Last frame.
    pub ended: Option<String>,
    /// How many frames.
    pub frames: i64,
}

/// A box or a sleeve, with how many prints lie in it.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, JsonSchema)]
pub struct Holder {
    /// The box.
    #[serde(rename = "box")]
    pub box_name: String,
    /// The sleeve; empty for prints of the box without one.
    pub sleeve: String,
    /// How many prints.
    pub prints: i64,
}

/// A choice of prints, in order.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, JsonSchema)]
pub struct Edit {
    /// Its name.
    pub name: String,
    /// `wide`, `tight` or `sequence`.
    pub kind: String,
    /// Its prints, in order.
    pub prints: Vec<PrintId>,
}

/// Finished prints handed to somebody or something.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, JsonSchema)]
pub struct HandOff {
    /// Its number.
    pub id: i64,
    /// When.
    pub at: String,
    /// What kind: a book, a pack, a gallery.
    pub kind: String,
    /// Where it went, relative to the project where inside it.
    pub place: String,
    /// Anything else.
    pub note: String,
    /// Its prints, in order.
    pub prints: Vec<PrintId>,
}

/// An entry of the journal.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, JsonSchema)]
pub struct Entry {
    /// Its number.
    pub id: i64,
    /// When, UTC.
    pub at: String,
    /// What was done, a sentence.
    pub says: String,
    /// `done`, `undone`, or `dropped` (undone, and then something else was done).
    pub state: String,
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_are_written_and_read() {
        assert_eq!(PrintId(42).to_string(), "P0042");
        assert_eq!(PrintId(123_456).to_string(), "P123456");
        for text in ["P0042", "p42", "42", " P42 "] {
            assert_eq!(text.parse::<PrintId>().unwrap(), PrintId(42));
        }
        for text in ["", "P", "P-1", "0", "x1", "99999999999999999999"] {
            assert!(text.parse::<PrintId>().is_err(), "{text}");
        }
    }
}
