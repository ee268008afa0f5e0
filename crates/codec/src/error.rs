//! Errors of picture files: what happened, to which file, and what to do next, in one line each.

use std::io;
use std::path::{Path, PathBuf};

/// Why a file could not be read or written.
#[derive(Debug, thiserror::Error)]
#[non_exhaustive]
pub enum Error {
    /// The system would not open or read the file.
    #[error("{}: cannot be read, {why}. Check that the file exists and that you have permission to read it.", .path.display())]
    Unreadable {
        /// The file.
        path: PathBuf,
        /// The system's reason.
        why: String,
    },
    /// No bytes at all.
    #[error("{}: the file is empty. Copy it from the card again.", .path.display())]
    Empty {
        /// The file.
        path: PathBuf,
    },
    /// Not a picture of any format known here.
    #[error("{}: not a picture, {what}. Leave it out, or check its name.", .path.display())]
    NotAPicture {
        /// The file.
        path: PathBuf,
        /// What it seems to be.
        what: String,
    },
    /// The picture is cut short.
    #[error("{}: the file is truncated. Copy it from the card again.", .path.display())]
    Truncated {
        /// The file.
        path: PathBuf,
    },
    /// A picture, of a kind not read here.
    #[error("{}: {what} is not supported. {hint}", .path.display())]
    Unsupported {
        /// The file.
        path: PathBuf,
        /// The kind of picture.
        what: String,
        /// What to do.
        hint: String,
    },
    /// Over a limit.
    #[error("{}: {what}, over the limit of {limit}. Raise the limit, or make the picture smaller.", .path.display())]
    TooLarge {
        /// The file.
        path: PathBuf,
        /// Its size.
        what: String,
        /// The limit with its unit.
        limit: String,
    },
    /// The bytes contradict themselves.
    #[error("{}: the file is damaged ({why}). Copy it from the card again.", .path.display())]
    Damaged {
        /// The file.
        path: PathBuf,
        /// What the decoder met.
        why: String,
    },
    /// Its decoder was stopped, or stopped itself, without a word of what is wrong.
    #[error("{}: cannot be decoded, its decoder {why}. The file is damaged or unusual: copy it from the card again, or \
             save it as TIFF.", .path.display())]
    Stopped {
        /// The file.
        path: PathBuf,
        /// What the decoder did.
        why: String,
    },
    /// A picture that was made here before, and is not what was written any more.
    #[error("{}: this finished picture is damaged ({why}). Finish its frame again.", .path.display())]
    Spoiled {
        /// The file.
        path: PathBuf,
        /// What the decoder met.
        why: String,
    },
    /// A result could not be written.
    #[error("{}: cannot be written, {why}. {hint}", .path.display())]
    Write {
        /// The file.
        path: PathBuf,
        /// The reason.
        why: String,
        /// What to do.
        hint: String,
    },
}

impl Error {
    /// The file concerned.
    pub fn path(&self) -> &Path {
        match self {
            Self::Unreadable { path, .. }
            | Self::Empty { path }
            | Self::NotAPicture { path, .. }
            | Self::Truncated { path }
            | Self::Unsupported { path, .. }
            | Self::TooLarge { path, .. }
            | Self::Damaged { path, .. }
            | Self::Stopped { path, .. }
            | Self::Spoiled { path, .. }
            | Self::Write { path, .. } => path,
        }
    }

    /// The same of a picture that was made here, where no card holds another copy.
    pub fn of_result(self) -> Self {
        match self {
            Self::Empty { path } => Self::Spoiled { path, why: "it is empty".into() },
            Self::NotAPicture { path, what } => Self::Spoiled { path, why: what },
            Self::Truncated { path } => Self::Spoiled { path, why: "it is truncated".into() },
            Self::Damaged { path, why } => Self::Spoiled { path, why },
            Self::Stopped { path, why } => Self::Spoiled { path, why: format!("its decoder {why}") },
            other => other,
        }
    }

    pub(crate) fn unreadable(path: &Path, e: &io::Error) -> Self {
        let why = match e.kind() {
            io::ErrorKind::NotFound => "it does not exist".into(),
            io::ErrorKind::PermissionDenied => "permission is denied".into(),
            io::ErrorKind::IsADirectory => "it is a folder".into(),
            io::ErrorKind::InvalidFilename => "its name is too long".into(),
            // Our own words.
            io::ErrorKind::InvalidInput => e.to_string(),
            _ => plain(e),
        };
        Self::Unreadable { path: path.into(), why }
    }

    pub(crate) fn damaged(path: &Path, why: impl std::fmt::Display) -> Self {
        Self::Damaged { path: path.into(), why: one_line(&why.to_string()) }
    }

    pub(crate) fn truncated(path: &Path) -> Self {
        Self::Truncated { path: path.into() }
    }

    pub(crate) fn unsupported(path: &Path, what: impl Into<String>, hint: impl Into<String>) -> Self {
        Self::Unsupported { path: path.into(), what: what.into(), hint: hint.into() }
    }

    pub(crate) fn write(path: &Path, e: &io::Error) -> Self {
        let (why, hint) = match e.kind() {
            io::ErrorKind::StorageFull | io::ErrorKind::QuotaExceeded => (
                "the disk is full".into(),
                "Free some space, or choose another output folder. No half-written file was left.",
            ),
            io::ErrorKind::PermissionDenied | io::ErrorKind::ReadOnlyFilesystem => {
                ("permission is denied".into(), "Choose an output folder that you can write to.")
            }
            io::ErrorKind::NotFound => ("its folder does not exist".into(), "Create the folder first."),
            io::ErrorKind::InvalidFilename => {
                ("its name is too long".into(), "Give the file or its folder a shorter name.")
            }
            _ => (plain(e), "Check the disk and the output folder."),
        };
        Self::Write { path: path.into(), why, hint: hint.into() }
    }
}

/// The system's words without the error number.
pub(crate) fn plain(e: &io::Error) -> String {
    let s = e.to_string();
    one_line(s.split(" (os error").next().unwrap_or(&s)).to_lowercase()
}

pub(crate) fn one_line(s: &str) -> String {
    let flat: String = s.chars().map(|c| if c.is_control() { ' ' } else { c }).collect();
    let short: String = flat.trim().chars().take(160).collect();
    short.trim_end_matches('.').to_string()
}
