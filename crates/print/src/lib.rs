//! Finds and measures a print in a frame: pixels in, measurements with their uncertainty out. It never changes a pixel.

pub mod bed;
pub mod chart;
pub mod edge;
pub mod find;
pub mod format;
pub mod look;
pub mod orient;
pub mod outline;
pub mod pose;
pub mod shadow;
pub mod template;
