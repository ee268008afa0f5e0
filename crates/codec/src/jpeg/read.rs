//! Decodes JPEG to 8-bit RGB.

use super::scan;
use super::walk::{FrameHeader, Stop, Walk, walk};
use crate::limits::check_claim;
use crate::source::Source;
use crate::{Decoded, Error, Format, Limits, Metadata, icc};
use pixels::Samples;
use std::path::Path;
use zune_jpeg::JpegDecoder;
use zune_jpeg::zune_core::bytestream::ZCursor;
use zune_jpeg::zune_core::colorspace::ColorSpace;
use zune_jpeg::zune_core::options::DecoderOptions;

/// Metadata segments come first; 16 MiB holds the largest profile and packet seen with room to spare.
const HEADER_BYTES: u64 = 16 << 20;

const SAVE: &str = "Save it as an 8-bit baseline RGB JPEG, or as TIFF.";

pub(crate) fn probe(source: &Source) -> Result<((usize, usize), Metadata), Error> {
    let path = source.path();
    let data = source.bytes(HEADER_BYTES)?;
    let walked = walk(&data, true).map_err(|stop| stopped(path, stop))?;
    let header = frame_header(path, &walked)?;
    Ok(((header.width.into(), header.height.into()), metadata(&walked)))
}

/// Decodes it; `tell` is told how many bytes its pixels take before they are decoded.
pub(crate) fn read(source: &Source, limits: &Limits, tell: &mut dyn FnMut(u64)) -> Result<Decoded, Error> {
    let path = source.path();
    {
        // The size is checked before the whole file is read.
        let ((w, h), _) = probe(source)?;
        limits.check(path, w as u64, h as u64, 3)?;
        check_claim(source, w as u64, h as u64)?;
    }
    let data = source.bytes(limits.max_bytes)?;
    let walked = walk(&data, false).map_err(|stop| stopped(path, stop))?;
    let header = frame_header(path, &walked)?;
    check_kind(path, header)?;
    // Progressive decoding holds every 16-bit coefficient beside the finished frame.
    let bytes_per_px = if header.kind == 2 { 3 + 2 * u64::from(header.components) } else { 3 };
    limits.check(path, header.width.into(), header.height.into(), bytes_per_px)?;
    tell(3 * u64::from(header.width) * u64::from(header.height));
    let mut notes = Vec::new();
    let (checked, rgb) = rayon::join(|| scan::check(&data), || decode(path, &data, &mut notes));
    let checked = checked.map_err(|why| Error::damaged(path, why))?;
    if checked.ragged {
        return Err(Error::unsupported(path, "a JPEG whose scans end between restart markers", SAVE));
    }
    if checked.stray {
        notes.push("A few stray bytes after the last block of the picture were ignored.".into());
    }
    let rgb = rgb?;
    drop(data);
    let (width, height) = (usize::from(header.width), usize::from(header.height));
    if rgb.len() != 3 * width * height {
        return Err(Error::damaged(path, "its size changes inside the file"));
    }
    let profile =
        icc::read::Source { profile: walked.icc.as_deref(), gray: header.components == 1, sixteen_bit: false };
    let mut frame = profile.frame(width, height, Samples::U8(rgb), &mut notes);
    frame.encoding.display_referred = !frame.encoding.tone.linear;
    Ok(Decoded { frame, format: Format::Jpeg, metadata: metadata(&walked), icc: walked.icc, notes })
}

/// Everything of a JPEG's bytes that is read here and not by the library; nothing is made of it.
pub(crate) fn scanned(data: &[u8], limits: &Limits) {
    let path = Path::new("");
    let header = walk(data, true).ok().and_then(|w| frame_header(path, &w).ok());
    let sized = |h: &FrameHeader| limits.check(path, h.width.into(), h.height.into(), 3).is_ok();
    if header.filter(sized).is_some()
        && let Ok(walked) = walk(data, false)
        && frame_header(path, &walked).and_then(|h| check_kind(path, h)).is_ok()
    {
        let _ = metadata(&walked);
        let _ = scan::check(data);
    }
}

fn metadata(walked: &Walk) -> Metadata {
    let mut meta = walked.exif.as_deref().map(Metadata::from_exif).unwrap_or_default();
    meta.xmp = walked.xmp.clone();
    meta
}

fn stopped(path: &Path, stop: Stop) -> Error {
    match stop {
        Stop::Short => Error::truncated(path),
        Stop::Nonsense => Error::damaged(path, "its segments are not in sequence"),
    }
}

fn frame_header(path: &Path, walked: &Walk) -> Result<FrameHeader, Error> {
    let header = walked.frame.ok_or_else(|| Error::damaged(path, "it has no frame header"))?;
    if header.width == 0 || header.height == 0 {
        return Err(Error::damaged(path, format!("it claims a size of {} x {} px", header.width, header.height)));
    }
    Ok(header)
}

fn check_kind(path: &Path, header: FrameHeader) -> Result<(), Error> {
    match header {
        FrameHeader { components: 4, .. } => {
            Err(Error::unsupported(path, "CMYK in a JPEG", "Convert it to RGB (sRGB or another RGB profile) first."))
        }
        FrameHeader { components: 2 | 5.., .. } => {
            Err(Error::unsupported(path, format!("a JPEG of {} channels", header.components), SAVE))
        }
        FrameHeader { kind: 3.., .. } => Err(Error::unsupported(path, "lossless or arithmetic JPEG", SAVE)),
        FrameHeader { precision, .. } if precision != 8 => {
            Err(Error::unsupported(path, format!("a JPEG of {precision} bits"), SAVE))
        }
        _ => Ok(()),
    }
}

/// Decodes strictly; a file with nothing worse than stray bytes between headers is decoded all the same.
fn decode(path: &Path, data: &[u8], notes: &mut Vec<String>) -> Result<Vec<u8>, Error> {
    let run = |strict: bool| {
        // The decoder's own default limit is 16,384 px; ours was checked already.
        let options = DecoderOptions::default()
            .set_max_width(65_535)
            .set_max_height(65_535)
            .set_strict_mode(strict)
            .jpeg_set_out_colorspace(ColorSpace::RGB);
        JpegDecoder::new_with_options(ZCursor::new(data), options).decode()
    };
    match run(true) {
        Err(e) if format!("{e:?}").contains("Extra bytes") => {
            notes.push("Stray bytes between the segments of the file were ignored.".into());
            run(false)
        }
        other => other,
    }
    .map_err(|e| Error::damaged(path, format!("{e:?}")))
}
