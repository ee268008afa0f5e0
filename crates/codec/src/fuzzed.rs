//! Every reader of foreign bytes in this crate, for tests that feed it arbitrary bytes (`fuzz/`). No part of what the crate offers.
//!
//! Each function reads `bytes` as its format and drops the answer. A panic here is a fault of ours even where [`crate::read`]
//! would have contained it.

use crate::source::Source;
use crate::wire::{self, Wire};
use crate::{Error, Format, Header, Limits, Metadata, Unpacked, completeness, icc, jpeg, sidecar, sniff, tiff};
use pixels::Encoding;
use std::io::Write;
use std::path::Path;

/// One megapixel: enough for several strips and tiles, small enough for hundreds of runs a second.
const LIMITS: Limits = Limits { max_pixels: 1 << 20, max_side: 65_000, max_bytes: 64 << 20 };

/// The bytes as an opened file without a name.
fn source(bytes: &[u8]) -> Option<Source> {
    let mut file = tempfile::tempfile().ok()?;
    file.write_all(bytes).ok()?;
    Source::of(Path::new(""), file).ok()
}

/// TIFF, read whole and strip by strip. Both ways must give the same codes.
///
/// # Panics
/// The two ways differ.
pub fn tiff(bytes: &[u8]) {
    let Some(source) = source(bytes) else { return };
    let _ = tiff::probe(&source);
    let read = tiff::read(&source, &LIMITS);
    let Ok(Some((strips, _))) = tiff::strips(&source, &LIMITS) else { return };
    let mut codes = vec![];
    let rows = strips.each(|row| codes.extend_from_slice(row));
    if let (Ok(whole), true) = (read, rows == strips.height)
        && let pixels::Samples::U16(samples) = whole.frame.samples
    {
        assert!(samples == codes, "strips in turn are not the picture");
    }
}

/// Digital negatives, as far as our own reader takes them, and developed.
#[cfg(feature = "raw")]
pub fn dng(bytes: &[u8]) {
    // Other bytes go to a library when their kind is told.
    let Some(source) = source(bytes).filter(|_| bytes.starts_with(b"II") || bytes.starts_with(b"MM")) else { return };
    let _ = sniff::sniff(&source);
    if let Ok(Some(Unpacked::Sensor { mosaic, format })) = crate::raw::ours(&source, Format::Dng, &LIMITS) {
        drop(crate::read::developed(mosaic, format));
    }
}

/// JPEG: its segments, and its scans code by code.
pub fn jpeg(bytes: &[u8]) {
    jpeg::scanned(bytes, &LIMITS);
}

/// Exif blocks, with the directories of TIFF in them.
pub fn exif(bytes: &[u8]) {
    let _ = Metadata::from_exif(bytes);
}

/// ICC profiles.
pub fn icc(bytes: &[u8]) {
    let _ = icc::read::encoding(bytes);
}

/// Whether a file is all there.
pub fn whole(bytes: &[u8]) {
    if let Some(source) = source(bytes) {
        let _ = completeness::whole(&source);
    }
}

/// XMP sidecars. What was read is written to the same text again.
///
/// # Panics
/// It is not.
pub fn xmp(text: &str) {
    let Ok(read) = sidecar::read(text) else { return };
    let written = sidecar::write(&read);
    let again = sidecar::read(&written).map(|c| sidecar::write(&c));
    assert_eq!(again.as_ref(), Ok(&written), "a sidecar does not come back");
}

/// What a decoding process says, by the first byte: a header, an encoding, readings or an error. What was heard can be said again.
///
/// # Panics
/// It cannot.
pub fn wire(bytes: &[u8]) {
    let Some((kind, mut said)) = bytes.split_first() else { return };
    match kind % 4 {
        0 => again::<Header>(&mut said),
        1 => again::<Encoding>(&mut said),
        #[cfg(feature = "raw")]
        2 => again::<crate::raw::Mosaic>(&mut said),
        _ => {
            if let Some(error) = wire::get_error(&mut said, Path::new("a")) {
                let mut out = vec![];
                wire::put_error(&error, &mut out);
                let back: Option<Error> = wire::get_error(&mut &out[..], Path::new("a"));
                assert_eq!(back.map(|e| e.to_string()), Some(error.to_string()));
            }
        }
    }
}

fn again<T: Wire>(said: &mut &[u8]) {
    if let Some(value) = T::get(said) {
        let (mut once, mut twice) = (vec![], vec![]);
        value.put(&mut once);
        // Compared as bytes: a number that is none equals nothing.
        T::get(&mut &once[..]).iter().for_each(|v| v.put(&mut twice));
        assert!(once == twice, "a value does not come back");
    }
}
