//! A smooth quantity over a frame, kept coarse.

use crate::Picture;

/// Three smooth bands over a frame: `grid` pixel (i, j) holds the value at frame position ((i + 0.5) step, (j + 0.5) step).
#[derive(Clone, Debug)]
pub struct Field {
    /// The coarse values, row major.
    pub grid: Picture,
    /// Frame pixels per grid cell.
    pub step: f64,
}

impl Field {
    /// The value at a frame position, bilinear between cell centres, level past the outermost ones.
    pub fn at(&self, x: f64, y: f64) -> [f32; 3] {
        std::array::from_fn(|b| self.grid.0[b].bilinear(x / self.step, y / self.step))
    }
}
