//! The rig: camera, light and sheet, planned before they stand, checked from frames, watched for drift, measured by a ruler sheet.

pub mod check;
pub mod drift;
pub mod plan;
pub mod ruler;
