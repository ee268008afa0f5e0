//! What one frame of a sitting shows about the rig: light, position of the bed, and camera pose.

use super::loaded_frame::{self, LoadedFrame};
use crate::job::Look;
use base::Failure;
use print::flat_field::{Pattern, Squares};
use std::path::Path;

/// What a frame shows about the rig.
#[derive(Clone, Debug)]
pub struct Observed {
    /// The first look, from which its role follows.
    pub look: Look,
    /// The light on its bed.
    pub squares: Squares,
    /// The bed's own pattern.
    pub pattern: Pattern,
    /// Frame pixels per pixel of the pattern's shifts.
    pub step: f64,
    /// True where code values carry the camera's own tone curve.
    pub display_referred: bool,
    /// What the print shows about the camera; absent if no print is certain.
    pub stand: Option<Stand>,
}

/// What a print shows about the camera.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Stand {
    /// Lean about the world's x and y axes, degrees.
    pub tilt_deg: [f64; 2],
    /// Uncertainty of either because of the curl of the print, degrees.
    pub tilt_error_deg: f64,
    /// Frame pixels per millimetre.
    pub px_per_mm: f64,
}

/// Reads a frame and measures the rig in it.
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
    // A back has half as many edges to measure a lean.
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
