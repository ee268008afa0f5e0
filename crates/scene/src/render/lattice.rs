//! The coarse lattice over a frame that holds what changes slowly from pixel to pixel, and the flash that lights its nodes.

use crate::rig::Scene;
use geometry::{Point, point};
use optics::camera::View;
use optics::{Shape, Vec3, light};

/// Pixels per lattice cell: over 16 px of a frame 3000 px wide the light changes by a hundredth of a per cent beside the
/// straight line, and places by under a thousandth of a millimetre.
pub const STEP: usize = 16;
/// Pixels that the lattice reaches past the frame: the widest blur looks that far out.
pub const MARGIN: usize = 48;

/// The lattice of one frame, and what its nodes show.
pub struct Lattice<'a> {
    pub scene: &'a Scene,
    pub view: &'a View,
    /// Columns and rows of nodes.
    pub nx: usize,
    pub ny: usize,
    pub px_per_mm: f64,
}

/// The flash, ready for many points.
pub struct Lamp {
    outline: Option<Vec<Vec3>>,
    light: optics::Light,
    unit: f64,
}

impl Lamp {
    pub fn new(light: &optics::Light) -> Self {
        let outline = (!matches!(light.shape, Shape::Sphere { .. })).then(|| light.outline());
        let unit = light.illumination(Vec3::default(), Vec3::UP).max(1e-30);
        Self { outline, light: *light, unit }
    }
    /// Illumination relative to the level bed's at the origin.
    pub fn at(&self, p: Vec3, n: Vec3) -> f64 {
        let e = match &self.outline {
            Some(o) => light::polygon(o, p, n),
            None => self.light.illumination(p, n),
        };
        e / self.unit
    }
}

/// The frame position of a lattice node.
pub fn frame_of_node(i: usize, j: usize) -> Point {
    let at = |k: usize| (k * STEP) as f64 - MARGIN as f64;
    point(at(i), at(j))
}

/// Lattice cell and weight of a pixel's centre.
pub fn cell_of(pixel: isize) -> (usize, f32) {
    let t = (pixel + MARGIN as isize) as f32 + 0.5;
    let k = (t / STEP as f32).max(0.0);
    (k as usize, k - k.floor())
}
