//! The demonstration box: frames that Fallside draws itself, and the request that finishes them.

use crate::finish::Request;
use crate::job::FrameError;
use std::path::Path;

/// Draws the box into `out/frames` and returns the request that finishes it into `out/finished`.
///
/// # Errors
/// A frame cannot be written.
pub fn draw(_out: &Path, _tell: &dyn Fn(String)) -> Result<Request, FrameError> {
    Err(FrameError::new("This version cannot draw the demonstration box yet."))
}
