//! What to finish, and how.

use crate::recipe::Settings;
use crate::sources::Source;
use std::collections::BTreeMap;
use std::path::PathBuf;

/// What to finish, and how.
#[derive(Clone, Debug, Default)]
pub struct Request {
    /// Folders and files.
    pub inputs: Vec<PathBuf>,
    /// Folder for results; never a folder that originals are read from.
    pub out: PathBuf,
    /// Frames said to be the bare bed. Empty: found among the inputs.
    pub blanks: Vec<PathBuf>,
    /// Frames said to be backs.
    pub backs: Vec<PathBuf>,
    /// The frame said to be the chart.
    pub chart: Option<PathBuf>,
    /// The chart's values.
    pub chart_values: Option<PathBuf>,
    /// The frame said to be without flash.
    pub ambient: Option<PathBuf>,
    /// Frames said to show a print lit from the other side.
    pub counters: Vec<PathBuf>,
    /// The photographer's choices.
    pub settings: Settings,
    /// Set for a project, which holds many boxes.
    pub project: Option<OfProject>,
    /// Memory limit for frames in progress, bytes; `None` for a quarter of RAM.
    pub memory: Option<u64>,
}

/// How the frames of a project are finished: results of all boxes are in one folder, so each is named by frame name and hash. There is no
/// page, because the project has its own, and earlier results are kept.
#[derive(Clone, Debug, Default)]
pub struct OfProject {
    /// The exposures, in order, instead of what `inputs` hold.
    pub sources: Vec<Source>,
    /// BLAKE3 of frames whose results are kept whatever recipe they would get now, as long as their role is the same: they are only looked
    /// at, because other frames use them. Each with the number of prints that it was finished as.
    pub standing: BTreeMap<String, u32>,
}
