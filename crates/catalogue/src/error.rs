//! Errors of the catalogue, with what to do.

/// Why the catalogue could not do something. Nothing of a change that failed is kept.
#[derive(Debug, thiserror::Error)]
pub enum Error {
    /// The disk is full.
    #[error("The disk is full, so this change was not saved. Free some space and try again.")]
    Full,
    /// The file or folder may not be written.
    #[error("The catalogue may not be written here: it is open for reading only.")]
    ReadOnly,
    /// Another program holds the catalogue for longer than one waits.
    #[error("Another program is writing to this catalogue. Wait a moment and try again.")]
    Busy,
    /// There is no catalogue.
    #[error("There is no catalogue in {0}. Run fallside take to create one.")]
    Missing(String),
    /// A later version of Fallside made it.
    #[error(
        "This catalogue was written by a newer version of Fallside (format {found}; this version knows {known}). Use \
         the newer version. Nothing was changed."
    )]
    Newer {
        /// Its form.
        found: i64,
        /// The latest form known here.
        known: i64,
    },
    /// The file is not a catalogue, or is damaged.
    #[error(
        "{0} is damaged or not a catalogue. Restore a backup, or run fallside rebuild to make it from masters, reports \
         and sidecars."
    )]
    Damaged(String),
    /// Something asked for is not there, or cannot be so.
    #[error("{0}")]
    Refused(String),
    /// Any other error of the database.
    #[error("The catalogue could not be used: {0}.")]
    Database(rusqlite::Error),
}

/// A result of the catalogue.
pub type Result<T> = std::result::Result<T, Error>;

impl Error {
    /// A refusal, a sentence.
    pub fn refused(says: impl Into<String>) -> Self {
        Self::Refused(says.into())
    }
}

impl From<rusqlite::Error> for Error {
    fn from(error: rusqlite::Error) -> Self {
        use rusqlite::ErrorCode as Code;
        match error.sqlite_error_code() {
            Some(Code::DiskFull) => Self::Full,
            Some(Code::ReadOnly | Code::PermissionDenied) => Self::ReadOnly,
            Some(Code::DatabaseBusy | Code::DatabaseLocked) => Self::Busy,
            Some(Code::NotADatabase | Code::DatabaseCorrupt) => Self::Damaged("The catalogue".into()),
            _ => Self::Database(error),
        }
    }
}

impl From<dates::EdtfError> for Error {
    fn from(error: dates::EdtfError) -> Self {
        Self::Refused(error.to_string())
    }
}
