//! Taking in: folders to choose from, how an import goes, and how it ended.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};
use std::path::PathBuf;

/// Which folder to list.
#[derive(Clone, Debug, Default, Deserialize, JsonSchema)]
#[serde(default, deny_unknown_fields)]
pub struct FoldersQuery {
    /// The folder, by its whole path; absent: the one to begin with.
    pub at: Option<PathBuf>,
}

/// A folder of this machine, and the folders in it.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, JsonSchema)]
pub struct Folders {
    /// Its whole path.
    pub at: String,
    /// The folder that it lies in; none at the top.
    pub above: Option<String>,
    /// How many frames it holds.
    pub frames: usize,
    /// The folders in it that can be read, by name.
    pub folders: Vec<Folder>,
    /// Where to begin: the home folder, mounted cards and disks, folders imported from.
    pub starts: Vec<Start>,
    /// What is not shown, and why; empty where all is.
    pub says: String,
}

/// A folder to choose.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, JsonSchema)]
pub struct Folder {
    /// Its name.
    pub name: String,
    /// Its whole path.
    pub path: String,
    /// How many frames it holds; none where it was not counted.
    pub frames: Option<usize>,
}

/// A place to begin with.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, JsonSchema)]
pub struct Start {
    /// What it is.
    pub kind: StartKind,
    /// Its name.
    pub name: String,
    /// Its whole path.
    pub path: String,
}

/// What a place to begin with is.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum StartKind {
    /// The home folder of whoever runs the desk.
    Home,
    /// A mounted disk or card.
    Disk,
    /// A mounted card with a camera's folder on it.
    Card,
    /// A folder that was imported from.
    Before,
}

/// The import that is running, and how the last one ended.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, JsonSchema)]
pub struct Imports {
    /// The one that is running.
    pub now: Option<Importing>,
    /// How the last one ended, as long as the desk is open.
    pub last: Option<Imported>,
}

/// How an import goes.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, JsonSchema)]
pub struct Importing {
    /// Where the frames come from.
    pub folder: String,
    /// What is done with them.
    pub stage: ImportStage,
    /// So many are done.
    pub done: usize,
    /// Of so many.
    pub of: usize,
    /// The frame in hand.
    pub frame: Option<String>,
    /// True once somebody stopped it: what is in work is still finished.
    pub stopping: bool,
}

/// What an import does with frames.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum ImportStage {
    /// It waits until other work is finished.
    Waiting,
    /// Files are read to tell which are new.
    Reading,
    /// Each frame is looked at once.
    Looking,
    /// Prints are finished and entered.
    Finishing,
}

/// How an import ended.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, JsonSchema)]
pub struct Imported {
    /// Where the frames came from.
    pub folder: String,
    /// How many frames were entered.
    pub frames: usize,
    /// How many were known before.
    pub known: usize,
    /// How many were left, because it was stopped.
    pub left: usize,
    /// True where it was stopped.
    pub stopped: bool,
    /// How it ended, in a sentence or two.
    pub says: String,
    /// True where something went wrong.
    pub trouble: bool,
    /// What could not be read.
    pub unread: Vec<Unread>,
}

/// Something that could not be read.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, JsonSchema)]
pub struct Unread {
    /// The file, from the folder on; none where it is about the whole.
    pub file: Option<String>,
    /// Why.
    pub says: String,
}

/// Frames that were imported together.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, JsonSchema)]
pub struct TakenIn {
    /// Its name, to undo it by.
    pub take: String,
    /// Where the frames came from.
    pub from: String,
    /// When it began, UTC.
    pub at: String,
    /// How many frames it entered.
    pub frames: usize,
}
