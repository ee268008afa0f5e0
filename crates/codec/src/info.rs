//! Metadata of written files.

use crate::Metadata;

/// Words and facts that go into a written file beside its pixels; what is absent is left out.
#[derive(Clone, Debug, Default)]
pub struct Info {
    /// Resolution: pixels per millimetre on the print. Rounded by the format only where it must be (PNG: pixels per
    /// metre; JPEG: also in Exif, exact to a part in a million).
    pub px_per_mm: Option<f64>,
    /// The ICC profile of the numbers.
    pub icc: Option<Vec<u8>>,
    /// A whole XMP packet, see [`crate::xmp`].
    pub xmp: Option<Vec<u8>>,
    /// One sentence: what is seen.
    pub description: Option<String>,
    /// The program, with its version.
    pub software: Option<String>,
    /// Facts of the exposure kept from the original: camera, lens, exposure, date taken.
    pub original: Option<Metadata>,
}
