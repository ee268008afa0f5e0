//! Reads a whole picture, the sensor readings, or only the header.

#[cfg(feature = "raw")]
use crate::raw::Mosaic;
use crate::source::Source;
use crate::{Error, Format, Limits, Metadata, door};
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

/// A file's content before anything is developed.
#[derive(Clone, Debug)]
// One at a time, and boxing would only hide it.
#[allow(clippy::large_enum_variant)]
pub enum Unpacked {
    /// A sensor's readings.
    #[cfg(feature = "raw")]
    Sensor {
        /// The readings, with the camera's words.
        mosaic: Mosaic,
        /// DNG or a maker's own raw file.
        format: Format,
    },
    /// A picture with three colours in every pixel.
    Picture(Decoded),
}

/// Reads a picture file; a sensor's readings stay undeveloped.
///
/// # Errors
/// As [`read`].
pub fn unpack(path: &Path, limits: &Limits) -> Result<Unpacked, Error> {
    let source = Source::open(path)?;
    let unpacked = door::unpack(&source, limits)?;
    Ok(match unpacked {
        Unpacked::Picture(decoded) => Unpacked::Picture(noted(path, decoded)),
        #[cfg(feature = "raw")]
        sensor => sensor,
    })
}

/// Reads a picture file, developed with the camera's own balance where it holds a sensor's readings.
///
/// The format is told by content. Code values are as stored, in the file's own encoding, and the picture lies as stored:
/// the orientation tag is reported, never applied.
///
/// # Errors
/// One of the categories of [`Error`], naming the file. A truncated picture is an error, never a half-grey frame.
pub fn read(path: &Path, limits: &Limits) -> Result<Decoded, Error> {
    Ok(match unpack(path, limits)? {
        Unpacked::Picture(decoded) => decoded,
        #[cfg(feature = "raw")]
        Unpacked::Sensor { mosaic, format } => noted(path, developed(mosaic, format)),
    })
}

/// A sensor's readings developed with the camera's own balance and no flat field.
#[cfg(feature = "raw")]
pub(crate) fn developed(mosaic: Mosaic, format: Format) -> Decoded {
    let mut notes = Vec::new();
    if mosaic.colours.is_none() {
        notes.push("The file does not define the camera's colours; sRGB primaries were assumed.".into());
    }
    let frame = mosaic.develop(mosaic.as_shot, None);
    Decoded { frame, format, metadata: mosaic.metadata, icc: None, notes }
}

/// With notes on a name that promises something else, and on an orientation that is not applied.
fn noted(path: &Path, mut decoded: Decoded) -> Decoded {
    if let Some(promised) = Format::promised_by(path).filter(|p| *p != decoded.format) {
        let (was, is) = (promised.name(), decoded.format.name());
        decoded.notes.insert(0, format!("The name says {was}, but the content is {is}; it was read as {is}."));
    }
    if let Some(tag) = decoded.metadata.orientation.filter(|t| *t != 1) {
        decoded
            .notes
            .push(format!("The orientation tag ({tag}) was ignored: an overhead camera cannot tell up from down."));
    }
    decoded
}

/// Reads a picture file's header: format, size and the camera's words, without its pixels.
///
/// # Errors
/// As [`read`], as far as the header shows. No limit is applied.
pub fn probe(path: &Path) -> Result<Header, Error> {
    door::header(&Source::open(path)?)
}
