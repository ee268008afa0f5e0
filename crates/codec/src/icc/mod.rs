//! ICC profiles (ICC.1:2022): interprets embedded profiles, and writes the small profiles of result files.

mod plain;
pub(crate) mod read;
mod write;

pub use read::encoding;
pub use write::{eci_rgb_v2, linear, linear_eci_rgb, linear_srgb, srgb};
