//! Errors while prints are handed on.

use std::path::PathBuf;

/// Why a print could not be handed on: one clear line.
#[derive(Debug, thiserror::Error)]
pub enum Error {
    /// A picture could not be read or written.
    #[error(transparent)]
    Picture(#[from] codec::Error),
    /// The mount no longer matches its report.
    #[error("{}: this mount does not match its report. Finish the print again.", .0.display())]
    Changed(PathBuf),
    /// A file could not be written.
    #[error("{place}: it could not be written: {why}.", place = .0.display(), why = .1)]
    Write(PathBuf, std::io::Error),
    /// What was asked for cannot be.
    #[error("{0}")]
    Refused(String),
}

impl Error {
    /// True where no other print could be written either: a full or closed disk.
    pub fn stops_the_run(&self) -> bool {
        matches!(self, Self::Write(..) | Self::Picture(codec::Error::Write { .. }))
    }
}

/// A result of this crate's work.
pub type Result<T> = std::result::Result<T, Error>;
