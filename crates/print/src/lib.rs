//! Finds and measures a print in a frame: pixels in, measurements with their uncertainty out. It never changes a pixel.

mod agree;
pub mod blur;
pub mod chart;
pub mod edge;
pub mod edge_evidence;
mod ends;
pub mod esfr;
pub mod find;
pub mod fingerprint;
pub mod flat_field;
pub mod format;
pub mod hints;
pub mod image_quality;
pub mod lift;
pub mod manual_outline;
pub mod marks;
pub mod orient;
pub mod outline;
pub mod pose;
pub mod register;
pub mod ruler;
pub mod several;
pub mod shading;
pub mod shadow;
pub mod sides;
pub mod smooth;
pub mod strip;
mod sure;
pub mod template;

/// A side of the frame as stored.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Rim {
    /// Towards -x.
    Left,
    /// Towards -y.
    Top,
    /// Towards +x.
    Right,
    /// Towards +y.
    Bottom,
}

impl Rim {
    /// The side that a vector points to most.
    pub fn towards(v: geometry::Point) -> Self {
        match (v.x.abs() > v.y.abs(), v.x > 0.0, v.y > 0.0) {
            (true, true, _) => Self::Right,
            (true, false, _) => Self::Left,
            (false, _, true) => Self::Bottom,
            (false, _, false) => Self::Top,
        }
    }
}
