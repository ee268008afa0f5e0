//! The rig (camera, light and sheet): plan it, check it from frames, detect drift, and measure it with a ruler sheet.

pub mod check;
pub mod drift;
pub mod plan;
pub mod ruler;
