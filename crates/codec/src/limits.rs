//! Limits on size and memory, enforced from the header before anything is allocated.

use crate::source::Source;
use crate::{Error, bounds};
use std::path::Path;

/// The largest picture that will be opened.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Limits {
    /// Width times height. 300 MP is twice the largest single-shot sensor sold; a larger number in a header is more
    /// likely a damaged file.
    pub max_pixels: u64,
    /// Longer side in pixels. 65,000 keeps sides inside 16 bits with room for a border.
    pub max_side: u32,
    /// Bytes that decoding may hold at once, the finished frame included. 4 GiB holds 300 MP at 16 bits twice.
    pub max_bytes: u64,
}

impl Default for Limits {
    fn default() -> Self {
        Self { max_pixels: 300_000_000, max_side: 65_000, max_bytes: 4 << 30 }
    }
}

impl Limits {
    /// Refuses a picture of `width` by `height` that needs `bytes_per_px` while it is decoded.
    pub(crate) fn check(&self, path: &Path, width: u64, height: u64, bytes_per_px: u64) -> Result<(), Error> {
        let too_large = |what: String, limit: String| Err(Error::TooLarge { path: path.into(), what, limit });
        if width == 0 || height == 0 {
            return Err(Error::damaged(path, format!("it claims a size of {width} x {height} px")));
        }
        if width.max(height) > self.max_side.into() {
            return too_large(format!("the picture is {width} x {height} px"), format!("{} px a side", self.max_side));
        }
        let pixels = width * height;
        if pixels > self.max_pixels {
            let mp = |n: u64| n as f64 / 1e6;
            return too_large(
                format!("the picture is {width} x {height} px ({:.1} MP)", mp(pixels)),
                format!("{:.1} MP", mp(self.max_pixels)),
            );
        }
        let bytes = pixels * bytes_per_px;
        if bytes > self.max_bytes {
            let mib = |n: u64| n.div_ceil(1 << 20);
            return too_large(
                format!("decoding {width} x {height} px takes {} MiB of memory", mib(bytes)),
                format!("{} MiB", mib(self.max_bytes)),
            );
        }
        bounds::allow(bytes);
        Ok(())
    }
}

/// Refuses a size that no compression reaches in a file of this length, before memory is asked for: a flat picture of one
/// bit a pixel, deflated (at most 1032 to 1, RFC 1951), holds 8256 pixels in a byte, a JPEG 512 (one bit a block of 64).
pub(crate) fn check_claim(source: &Source, width: u64, height: u64) -> Result<(), Error> {
    const MOST: u64 = 10_000;
    if width.saturating_mul(height) > source.length().saturating_mul(MOST) {
        let says = format!("it claims {width} x {height} px in {} bytes", source.length());
        return Err(Error::damaged(source.path(), says));
    }
    Ok(())
}
