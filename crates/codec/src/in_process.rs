//! Decodes in this process.

use crate::source::Source;
use crate::{Error, Format, Header, Limits, Unpacked, file, jpeg, png, sniff, tiff};

/// The header alone.
pub(crate) fn header(source: &Source) -> Result<Header, Error> {
    let path = source.path();
    let format = sniff::sniff(source)?;
    let ((width, height), metadata) = file::contain(path, || match format {
        Format::Jpeg => jpeg::probe(source),
        Format::Png => png::probe(source),
        Format::Tiff => tiff::probe(source),
        #[cfg(feature = "raw")]
        Format::Dng | Format::Raw => crate::raw::probe(source),
        #[cfg(not(feature = "raw"))]
        Format::Dng | Format::Raw => Err(no_raw(path)),
    })?;
    Ok(Header { format, width, height, metadata })
}

/// Everything, without developing raw files.
pub(crate) fn unpack(source: &Source, limits: &Limits) -> Result<Unpacked, Error> {
    unpack_told(source, limits, &mut |_| {})
}

/// The same; tells how many bytes the pixels will take as soon as that is known, where their kind of file says it before they are decoded
/// all at once.
pub(crate) fn unpack_told(source: &Source, limits: &Limits, tell: &mut dyn FnMut(u64)) -> Result<Unpacked, Error> {
    let path = source.path();
    let format = sniff::sniff(source)?;
    file::contain(path, || match format {
        Format::Jpeg => jpeg::read(source, limits, tell).map(Unpacked::Picture),
        Format::Png => png::read(source, limits).map(Unpacked::Picture),
        Format::Tiff => tiff::read(source, limits).map(Unpacked::Picture),
        #[cfg(feature = "raw")]
        Format::Dng | Format::Raw => crate::raw::unpack(source, format, limits),
        #[cfg(not(feature = "raw"))]
        Format::Dng | Format::Raw => Err(no_raw(path)),
    })
}

#[cfg(not(feature = "raw"))]
fn no_raw(path: &std::path::Path) -> Error {
    Error::unsupported(path, "camera raw in this build", "Build with the feature `raw`, or develop it to TIFF first.")
}
