//! Locks: one run at a time writes into a folder, and nobody writes into a folder of results while it is read.

use super::write::{folder_of, lock_of};
use crate::Failure;
use crate::files::MARK;
use catalogue::{Hold, HoldError};
use std::path::Path;

/// The lock of a folder of results, in its mark.
pub const RESULTS: &str = "finish.lock";
/// The lock of a hand-off folder. It is removed when the run ends.
pub const FOLDER: &str = ".fallside-lock";

fn who() -> String {
    format!("another run, process {}", std::process::id())
}

fn refused(place: &Path, error: HoldError, lock: &Path) -> Failure {
    match error {
        HoldError::Held(by) => Failure::new(format!("{} is in use by {by}.", place.display()))
            .with_remedy("Wait until that run has ended, or choose another place with --out."),
        HoldError::Io(e) => Failure::writing(lock, &e),
    }
}

/// Locks `out` for writing results.
///
/// # Errors
/// Another run writes there, or hands on its results.
pub fn write_results(out: &Path) -> Result<Hold, Failure> {
    let lock = out.join(MARK).join(RESULTS);
    Hold::take(&lock, &who()).map_err(|e| refused(out, e, &lock))
}

/// Locks the results in `folder` for reading; `None` on a read-only disk, where nobody can write.
///
/// # Errors
/// Another run writes there.
pub fn read_results(folder: &Path) -> Result<Option<Hold>, Failure> {
    let lock = folder.join(MARK).join(RESULTS);
    match Hold::share(&lock, &who()) {
        Ok(held) => Ok(Some(held)),
        Err(HoldError::Held(by)) => {
            Err(Failure::new(format!("Results are being written into {} by {by}.", folder.display()))
                .with_remedy("Wait until that run has ended, and run the same command again."))
        }
        // On a read-only disk the results cannot change.
        Err(HoldError::Io(_)) => Ok(None),
    }
}

/// Locks the existing folder `out` for filling it.
///
/// # Errors
/// Another run fills it.
pub fn fill(out: &Path) -> Result<Hold, Failure> {
    let lock = out.join(FOLDER);
    let held = Hold::take(&lock, &who()).map_err(|e| refused(out, e, &lock))?;
    Ok(held.leaving_nothing(&lock))
}

/// Locks the file `place`, and the files beside it, for writing.
///
/// # Errors
/// Another run writes it, or its folder does not exist.
pub fn write_file(place: &Path) -> Result<Hold, Failure> {
    let folder = folder_of(place);
    if !folder.is_dir() {
        return Err(Failure::new(format!("There is no folder {}.", folder.display()))
            .with_remedy("Create it, or give another one."));
    }
    let lock = lock_of(place);
    let held = Hold::take(&lock, &who()).map_err(|e| refused(place, e, &lock))?;
    Ok(held.leaving_nothing(&lock))
}
