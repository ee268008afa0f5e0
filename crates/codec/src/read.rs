//! The two ways in: the whole picture, or its header.

use crate::{Error, Format, Limits, Metadata, file, jpeg, png, sniff, tiff};
use pixels::Frame;
use std::path::Path;

/// A picture as its file holds it.
#[derive(Clone, Debug)]
pub struct Decoded {
    /// Code values as stored and what they mean. Grey became three equal channels; an alpha channel was left out.
    pub frame: Frame,
    /// What the file is, whatever its name says.
    pub format: Format,
    /// The camera's words.
    pub metadata: Metadata,
    /// The embedded profile as stored, also where it could not be used.
    pub icc: Option<Vec<u8>>,
    /// Plain sentences for the photographer about anything read otherwise than stored, or assumed.
    pub notes: Vec<String>,
}

/// What a file's header says.
#[derive(Clone, Debug, PartialEq)]
pub struct Header {
    /// What the file is, whatever its name says.
    pub format: Format,
    /// Columns as stored.
    pub width: usize,
    /// Rows as stored.
    pub height: usize,
    /// The camera's words.
    pub metadata: Metadata,
}

/// Reads a picture file.
///
/// The format is told by content. Code values are as stored, in the file's own encoding, and the picture lies as stored:
/// the orientation tag is reported, never applied.
///
/// # Errors
/// One of the categories of [`Error`], naming the file. A truncated picture is an error, never a half-grey frame.
pub fn read(path: &Path, limits: &Limits) -> Result<Decoded, Error> {
    let format = sniff::sniff(path)?;
    let mut decoded = file::contain(path, || match format {
        Format::Jpeg => jpeg::read(path, limits),
        Format::Png => png::read(path, limits),
        Format::Tiff => tiff::read(path, limits),
        #[cfg(feature = "raw")]
        Format::Dng | Format::Raw => crate::raw::read(path, format, limits),
        #[cfg(not(feature = "raw"))]
        Format::Dng | Format::Raw => Err(no_raw(path)),
    })?;
    if let Some(promised) = Format::promised_by(path).filter(|p| *p != format) {
        let (was, is) = (promised.name(), format.name());
        decoded.notes.insert(0, format!("Named as {was}, but it holds {is}; it was read as {is}."));
    }
    if let Some(tag) = decoded.metadata.orientation.filter(|t| *t != 1) {
        decoded.notes.push(format!(
            "The file's orientation tag ({tag}) was left alone: an overhead camera cannot tell up from down."
        ));
    }
    Ok(decoded)
}

/// Reads a picture file's header: format, size and the camera's words, without its pixels.
///
/// # Errors
/// As [`read`], as far as the header shows. No limit is applied.
pub fn probe(path: &Path) -> Result<Header, Error> {
    let format = sniff::sniff(path)?;
    let ((width, height), metadata) = file::contain(path, || match format {
        Format::Jpeg => jpeg::probe(path),
        Format::Png => png::probe(path),
        Format::Tiff => tiff::probe(path),
        #[cfg(feature = "raw")]
        Format::Dng | Format::Raw => crate::raw::probe(path),
        #[cfg(not(feature = "raw"))]
        Format::Dng | Format::Raw => Err(no_raw(path)),
    })?;
    Ok(Header { format, width, height, metadata })
}

#[cfg(not(feature = "raw"))]
fn no_raw(path: &Path) -> Error {
    Error::unsupported(path, "camera raw in this build", "Build with the feature `raw`, or develop it to TIFF first.")
}
