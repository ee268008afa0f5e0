//! The stand: whether camera and arm could tip it over.
//!
//! `margin = base mass * half its depth / (camera mass * reach + arm mass * reach / 2)`: the base's moment about its own
//! edge over that of what hangs out from the column, all of the reach counted, so that it errs on the safe side. At least 2
//! is asked for (common practice, no source); the stand maker's rated load decides.

use geometry::Length;

/// Camera, arm and base.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Stand {
    /// Camera and lens, kg.
    pub camera_kg: f64,
    /// The arm, kg; its weight acts half way out.
    pub arm_kg: f64,
    /// From the column to the lens's axis.
    pub reach: Length,
    /// The base's extent along the arm.
    pub base: Length,
    /// Base and column, kg.
    pub base_kg: Option<f64>,
}

/// The margin asked for.
pub const MARGIN: f64 = 2.0;
/// Standard gravity, m/s^2 (3rd CGPM, 1901).
const GRAVITY: f64 = 9.80665;

impl Stand {
    fn load(&self) -> f64 {
        (self.camera_kg + self.arm_kg / 2.0) * self.reach.to_mm()
    }
    /// The margin, where the base's mass is known.
    pub fn margin(&self) -> Option<f64> {
        Some(self.base_kg? * self.base.to_mm() / 2.0 / self.load())
    }
    /// The base's mass that gives the margin asked for.
    pub fn base_kg_wanted(&self) -> f64 {
        MARGIN * self.load() / (self.base.to_mm() / 2.0)
    }
    /// The reach that gives the margin asked for.
    pub fn reach_most(&self) -> Option<Length> {
        let per_mm = self.camera_kg + self.arm_kg / 2.0;
        Some(Length::mm(self.base_kg? * self.base.to_mm() / 2.0 / (MARGIN * per_mm)))
    }
    /// The level pull at the camera's height that begins to tip the base over its edge, newton: `M g b / (2 H)`, the
    /// camera's own weight left out.
    pub fn pull(&self, height: Length) -> Option<f64> {
        Some(self.base_kg? * GRAVITY * self.base.to_mm() / 2.0 / height.to_mm())
    }
}
