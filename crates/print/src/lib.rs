//! Finds and measures a print in a frame: pixels in, measurements with their uncertainty out. It never changes a pixel.

pub mod bed;
pub mod chart;
pub mod find;
pub mod format;
pub mod shadow;
