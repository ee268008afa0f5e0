//! The interface to the work on one frame: input, result, errors.

use crate::Role;
use crate::recipe::{Beside, LensFacts, Recipe, Settings};
use crate::report::{CameraWords, Report};
use base::Failure;
use serde::{Deserialize, Serialize};
use std::path::{Path, PathBuf};

/// The work on one frame: a first look, then finishing. `frame::Frames` implements it; tests use something simpler.
pub trait Work: Sync {
    /// Whether a file is to be looked at: asked before it is read. An error leaves it, as one that cannot be read.
    ///
    /// # Errors
    /// The person asked for no more.
    fn may_look(&self, _path: &Path) -> Result<(), Failure> {
        Ok(())
    }

    /// A quick look at a file: what it holds and what it seems to be for.
    ///
    /// # Errors
    /// The file cannot be read or is no picture.
    fn look(&self, path: &Path) -> Result<Look, Failure>;

    /// Preloads a blank. Errors are reported later, by the frame that needs it.
    fn prepare(&self, _blank: &Reference) {}

    /// Fails if a file contains no chart values.
    ///
    /// # Errors
    /// The message says what is wrong with it.
    fn check_chart_values(&self, _values: &Path) -> Result<(), Failure> {
        Ok(())
    }

    /// How alike the pictures of two frames are that may show one print at one place, where their first looks saw it: 1 the same, about 0
    /// another's; `None` where that cannot be told.
    fn likeness(&self, _one: (&Path, &Look), _other: (&Path, &Look)) -> Option<f64> {
        None
    }

    /// Does everything from the file to its finished pictures, which are written to the `part` paths of `job.outputs`. `judged` receives the
    /// verdict as soon as it is known, before the pictures are made.
    ///
    /// # Errors
    /// The file cannot be read, or a result cannot be written.
    fn finish(&self, job: &FrameJob, judged: &Judged) -> Result<Finished, Failure>;
}

/// Receives a verdict: a report with findings, but without pictures yet.
pub type Judged<'a> = dyn Fn(&Report) + Sync + 'a;

/// Mean light of a frame, share of white, under which it holds no flash light, and a first look looks for no print: eight stops under white.
pub(crate) const DARK: f64 = 0.004;

/// The result of a first look at a frame.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct Look {
    /// Columns as stored.
    pub width: usize,
    /// Rows as stored.
    pub height: usize,
    /// Mean light of the frame, share of the file's white.
    pub mean_level: f64,
    /// How much it looks like a colour chart, 0 to 1.
    pub chart_score: f64,
    /// How surely something lies on the bed, 0 to 1.
    pub print_score: f64,
    /// How surely what lies there has a window, 0 to 1.
    pub window_score: f64,
    /// What the camera wrote.
    pub exif: CameraWords,
    /// Light of the bed at the frame's centre, stops from the file's white (negative: below it); absent where none was told.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub bed_stops: Option<f64>,
    /// How surely it shows the ruler sheet, 0 to 1.
    #[serde(default)]
    pub ruler_score: f64,
    /// What the ruler sheet in it says.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub ruled: Option<Ruled>,
    /// Why a ruler sheet in it could not be measured.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub ruler_fault: Option<String>,
    /// The surest print seen, where one was.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub place: Option<Place>,
    /// Light of the bare bed at the middles of the frame's four quarters (top left, top right, bottom left, bottom right), stops from the
    /// file's white for red, green and blue.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub quarters: Option<[[f64; 3]; 4]>,
    /// All whole prints in reading order, where there are several.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub places: Vec<Place>,
    /// What else lies there: prints that are cut by the frame, or lie over or under another.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub others: Vec<Beside>,
}

/// Confidence above which an outline is trusted to be a print's: eight parts in ten of all edges.
pub(crate) const SURE: f64 = 0.8;

/// Where a first look saw a print.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Place {
    /// Name of its format.
    pub format: String,
    /// True where no window was seen.
    pub back: bool,
    /// Evidence of its edges, 0 to 1.
    pub score: f32,
    /// How sure outline and format are, 0 to 1.
    pub confidence: f64,
    /// Corners in frame pixels, clockwise from the upright print's top left.
    pub corners: [[f64; 2]; 4],
    /// Frame pixels per millimetre.
    pub px_per_mm: f64,
    /// Lean of the camera as the print shows it, about the world's x and y axes, degrees.
    #[serde(default)]
    pub tilt_deg: [f64; 2],
    /// Standard uncertainty of either: a curled print fakes a lean.
    #[serde(default)]
    pub tilt_sigma_deg: f64,
    /// Its whole outline as it is bowed, frame pixels, where several prints lie in the frame.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub rim: Vec<[f64; 2]>,
}

/// What a frame of the ruler sheet says of camera and lens.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Ruled {
    /// The lens.
    pub lens: LensFacts,
    /// Lean about the world's x and y axes, degrees.
    pub tilt_deg: [f64; 2],
    /// Standard error of either.
    pub tilt_error_deg: f64,
    /// Frame pixels per millimetre of the sheet as it was printed: true only where its bar was measured.
    pub px_per_mm: f64,
    /// Squares seen.
    pub squares: usize,
}

/// Another frame or file that a job uses.
#[derive(Clone, Debug, PartialEq)]
pub struct Reference {
    /// Where it is.
    pub path: PathBuf,
    /// BLAKE3, hex.
    pub blake3: String,
}

/// One frame to finish.
#[derive(Clone, Debug)]
pub struct FrameJob {
    /// The original, opened for reading only.
    pub path: PathBuf,
    /// The path as the report writes it.
    pub path_in_report: String,
    /// BLAKE3 of the original, hex.
    pub blake3: String,
    /// What it is for.
    pub role: Role,
    /// Why.
    pub role_reason: String,
    /// What the first look saw.
    pub look: Look,
    /// Blanks to choose from, nearest in time first: the last before it and the first after it. Empty: fit the light.
    pub blanks: Vec<Reference>,
    /// The sitting's chart frame.
    pub chart: Option<Reference>,
    /// The chart's values.
    pub chart_values: Option<Reference>,
    /// The flash-off frame: of the bare bed, or as the photographer named it.
    pub ambient: Option<Reference>,
    /// A flash-off frame taken next to this one, which may show its print in place.
    pub flash_off: Option<Reference>,
    /// The same print lit from the other side.
    pub counter: Option<Reference>,
    /// The photographer's choices.
    pub settings: Settings,
    /// Where results go.
    pub outputs: Outputs,
    /// What goes into the report.
    pub recipe: Recipe,
    /// True where another print of the same frame is finished next: what was read of the frame is kept for it.
    pub more: bool,
}

impl FrameJob {
    /// Other files that it uses.
    fn references(&self) -> impl Iterator<Item = &Reference> {
        let second = self.ambient.iter().chain(&self.flash_off).chain(&self.counter);
        self.blanks.iter().chain(&self.chart).chain(&self.chart_values).chain(second)
    }

    /// Other frames that it uses, as its report names them. The values of a chart are kept with the project by their hash.
    pub fn used(&self) -> Vec<crate::report::FileFacts> {
        let folder = self.outputs.report.place.parent().unwrap_or(Path::new("."));
        let of = |r: &Reference| crate::report::FileFacts {
            path: base::files::relative(&r.path, folder),
            blake3: r.blake3.clone(),
        };
        let second = self.ambient.iter().chain(&self.flash_off).chain(&self.counter);
        self.blanks.iter().chain(&self.chart).chain(second).map(of).collect()
    }

    /// How many frames of its size are in memory while it is finished.
    pub(crate) fn frames_held(&self) -> u64 {
        1 + u64::from(self.flash_off.is_some()) + u64::from(self.counter.is_some())
    }

    /// Every file that it reads, its own first.
    pub fn reads(&self) -> impl Iterator<Item = &Path> {
        std::iter::once(self.path.as_path()).chain(self.references().map(|r| r.path.as_path()))
    }

    /// Fails where a file that was read is no longer the one whose hash the recipe names.
    pub fn unchanged(&self) -> Result<(), Failure> {
        base::files::unchanged(&self.path, &self.blake3)?;
        self.references().try_for_each(|r| base::files::unchanged(&r.path, &r.blake3))
    }
}

/// One result file.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Output {
    /// Its name in the report, relative to the report.
    pub name: String,
    /// Where to write it. It is renamed to its own name once the whole frame is done.
    pub part: PathBuf,
    /// Where it ends up.
    pub place: PathBuf,
}

/// The result files of a frame. What is not written is not missed: only what the report names must exist.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Outputs {
    /// 16-bit TIFF, faithful.
    pub master: Output,
    /// 16-bit TIFF on pure white.
    pub mount: Output,
    /// 8-bit sRGB PNG of the mount, where asked for.
    pub srgb_png: Option<Output>,
    /// Share-size JPEG of the mount.
    pub share: Output,
    /// JPEG preview of the frame as stored, longer side 1200.
    pub before: Output,
    /// JPEG preview of the mount, longer side 1200.
    pub after: Output,
    /// The report; written by the run, last.
    pub report: Output,
}

impl Outputs {
    /// All of them, the report last.
    pub fn all(&self) -> impl Iterator<Item = &Output> {
        [Some(&self.master), Some(&self.mount), self.srgb_png.as_ref(), Some(&self.share), Some(&self.before)]
            .into_iter()
            .chain([Some(&self.after), Some(&self.report)])
            .flatten()
    }
}

/// A finished frame: its report names every file that was written.
#[derive(Clone, Debug)]
pub struct Finished {
    /// The report, findings judged.
    pub report: Report,
}
