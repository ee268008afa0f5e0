//! What one frame of a sitting says of the rig: the light and the place of its bed, the camera's stand.

use super::loaded_frame::{self, LoadedFrame};
use crate::job::Look;
use base::Failure;
use print::bed::{Pattern, Squares};
use std::path::Path;

/// A frame as the rig shows in it.
#[derive(Clone, Debug)]
pub struct Observed {
    /// The first look, from which its role follows.
    pub look: Look,
    /// The light on its bed.
    pub squares: Squares,
    /// The bed's own pattern.
    pub pattern: Pattern,
    /// Frame pixels per pixel that the pattern's shifts are told in.
    pub step: f64,
    /// True where code values carry the camera's own tone curve.
    pub display_referred: bool,
    /// What the print says of the camera; absent where none is sure.
    pub stand: Option<Stand>,
}

/// What a print says of the camera.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Stand {
    /// Lean about the world's x and y axes, degrees.
    pub tilt_deg: [f64; 2],
    /// What the print's own curl leaves open in either, degrees.
    pub tilt_error_deg: f64,
    /// Frame pixels per millimetre.
    pub px_per_mm: f64,
}

/// Reads a frame and keeps what it says of the rig.
///
/// # Errors
/// The file cannot be read or is no picture.
pub fn observe(path: &Path) -> Result<Observed, Failure> {
    let sight = LoadedFrame::read(path, None)?;
    let (look, lying) = super::look_and_find(&sight);
    let w = sight.proxy.width();
    let prints: Vec<_> =
        lying.prints.iter().map(|f| f.polygon()).chain(lying.others.into_iter().map(|o| o.outline)).collect();
    let found = lying.prints.into_iter().max_by(|a, b| a.confidence.total_cmp(&b.confidence));
    // A millimetre clear of the prints, as for evening.
    let bare = loaded_frame::bare(&sight, &prints, found.as_ref().map_or(0.0, |f| f.pose.px_per_mm()));
    let is_bed = |x: usize, y: usize| bare[y * w + x];
    // A back has half the edges to tell a lean by.
    let stand = found.filter(|f| f.confidence > super::SURE && !f.back).map(|f| Stand {
        tilt_deg: [f.pose.tilt_x, f.pose.tilt_y],
        // As in a frame's own measures: 3 mm on one side of a print is 1.6 degrees.
        tilt_error_deg: 0.15f64.hypot(0.3 * f.pose.lift()),
        px_per_mm: f.pose.px_per_mm(),
    });
    Ok(Observed {
        squares: Squares::of(&sight.proxy, is_bed),
        pattern: Pattern::of(&sight.proxy, is_bed),
        step: sight.step as f64,
        display_referred: sight.frame.encoding.display_referred,
        look,
        stand,
    })
}
