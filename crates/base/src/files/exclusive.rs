//! One run at a time in a folder that is written to, and nobody who writes in a folder of results that others read.

use super::write::{folder_of, lock_of};
use crate::Failure;
use crate::files::MARK;
use catalogue::{Hold, HoldError};
use std::path::Path;

/// The lock of a folder of results, in its mark.
pub const RESULTS: &str = "finish.lock";
/// The lock of a folder that is handed on. It goes when the run ends.
pub const FOLDER: &str = ".fallside-lock";

fn who() -> String {
    format!("another run, process {}", std::process::id())
}

fn refused(place: &Path, error: HoldError, lock: &Path) -> Failure {
    match error {
        HoldError::Held(by) => Failure::new(format!("{} is in use by {by}.", place.display()))
            .with_remedy("Wait until that is done, or name another place with --out."),
        HoldError::Io(e) => Failure::writing(lock, &e),
    }
}

/// Writes results into `out` alone.
///
/// # Errors
/// Somebody else writes there, or hands on what lies there.
pub fn write_results(out: &Path) -> Result<Hold, Failure> {
    let lock = out.join(MARK).join(RESULTS);
    Hold::take(&lock, &who()).map_err(|e| refused(out, e, &lock))
}

/// Reads the results in `folder` while nobody writes there; `None` where nobody could write.
///
/// # Errors
/// Somebody writes there.
pub fn read_results(folder: &Path) -> Result<Option<Hold>, Failure> {
    let lock = folder.join(MARK).join(RESULTS);
    match Hold::share(&lock, &who()) {
        Ok(held) => Ok(Some(held)),
        Err(HoldError::Held(by)) => {
            Err(Failure::new(format!("Results are being written into {} by {by}.", folder.display()))
                .with_remedy("Wait until that is done, and run the same command again."))
        }
        // A disk that takes no writing keeps its results as they are.
        Err(HoldError::Io(_)) => Ok(None),
    }
}

/// Fills the folder `out`, which is there, alone.
///
/// # Errors
/// Somebody else does.
pub fn fill(out: &Path) -> Result<Hold, Failure> {
    let lock = out.join(FOLDER);
    let held = Hold::take(&lock, &who()).map_err(|e| refused(out, e, &lock))?;
    Ok(held.leaving_nothing(&lock))
}

/// Writes the file `place`, and what goes beside it, alone.
///
/// # Errors
/// Somebody else does, or its folder is not there.
pub fn write_file(place: &Path) -> Result<Hold, Failure> {
    let folder = folder_of(place);
    if !folder.is_dir() {
        return Err(Failure::new(format!("There is no folder {}.", folder.display()))
            .with_remedy("Make it, or say another one."));
    }
    let lock = lock_of(place);
    let held = Hold::take(&lock, &who()).map_err(|e| refused(place, e, &lock))?;
    Ok(held.leaving_nothing(&lock))
}
