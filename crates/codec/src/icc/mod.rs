//! ICC profiles (ICC.1:2022): what an embedded one means for a frame, and the small ones that written files carry.

mod plain;
pub(crate) mod read;
mod write;

pub use read::encoding;
pub use write::{eci_rgb_v2, linear, linear_eci_rgb, linear_srgb, srgb};
