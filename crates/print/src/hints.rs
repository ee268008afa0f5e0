//! What is known of a frame before its print is looked for.

use geometry::Quad;

/// An outline drawn by hand.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Drawn {
    /// Corners in frame pixels, clockwise from the upright print's top left.
    pub corners: Quad,
    /// True for a back.
    pub back: bool,
}

/// What the sitting already knows.
#[derive(Clone, Copy, Debug, Default)]
pub struct Hints {
    /// Frame pixels per millimetre on the bed, where other frames of the rig told.
    pub px_per_mm: Option<f64>,
    /// Focal length in frame pixels, from the camera's words.
    pub focal_px: Option<f64>,
    /// The lens as a ruler frame of the rig told it, with the standard error of its k1 (in units of half the frame's diagonal).
    pub lens: Option<(geometry::Lens, f64)>,
    /// The outline as a person drew it, which is then not looked for.
    pub drawn: Option<Drawn>,
}
