//! Encodes RGB rows to PNG.

use crate::{Error, Info, exif, file};
use png::{
    BitDepth, ColorType, Compression, Encoder, EncodingError, Filter, PixelDimensions, SrgbRenderingIntent, Unit,
};
use rayon::prelude::*;
use std::borrow::Cow;
use std::io::{self, Write};
use std::ops::Range;
use std::path::Path;

/// A code value of 8 or 16 bits.
pub trait Sample: Copy + Send + Sync {
    /// Its bits.
    const BITS: u32;
    /// Appends its bytes, high byte first.
    fn push(self, out: &mut Vec<u8>);
}

impl Sample for u8 {
    const BITS: u32 = 8;
    fn push(self, out: &mut Vec<u8>) {
        out.push(self);
    }
}

impl Sample for u16 {
    const BITS: u32 = 16;
    fn push(self, out: &mut Vec<u8>) {
        out.extend(self.to_be_bytes());
    }
}

/// Rows computed at a time by each worker: long enough to share the work, short enough to hold few rows.
const BAND: usize = 32;

/// Writes an RGB picture whose rows come from `rows`: the interleaved samples of a range of rows, asked for in parallel,
/// each row once.
///
/// # Errors
/// [`Error::Write`] where the disk refuses.
///
/// # Panics
/// Where `rows` gives another number of samples than asked.
pub fn write<S: Sample>(
    path: &Path,
    width: usize,
    height: usize,
    info: &Info,
    rows: impl Fn(Range<usize>) -> Vec<S> + Sync,
) -> Result<(), Error> {
    let (Ok(w), Ok(h)) = (u32::try_from(width), u32::try_from(height)) else {
        return Err(Error::write(path, &io::Error::other("the picture is too large for PNG")));
    };
    file::write_beside(path, |out| {
        let mut encoder = Encoder::with_info(out, header(info, w, h)).map_err(refused)?;
        encoder.set_color(ColorType::Rgb);
        encoder.set_depth(if S::BITS == 8 { BitDepth::Eight } else { BitDepth::Sixteen });
        encoder.set_compression(Compression::Fast);
        // One filter for all rows: a fifth faster than choosing per row, for a twelfth more bytes (24 MP frame).
        encoder.set_filter(Filter::Up);
        if let Some(xmp) = info.xmp.as_deref().and_then(|x| std::str::from_utf8(x).ok()) {
            encoder.add_itxt_chunk("XML:com.adobe.xmp".into(), xmp.into()).map_err(refused)?;
        }
        for (key, text) in [("Description", &info.description), ("Software", &info.software)] {
            if let Some(t) = text {
                encoder.add_itxt_chunk(key.into(), t.clone()).map_err(refused)?;
            }
        }
        let mut writer = encoder.write_header().map_err(refused)?;
        let mut stream = writer.stream_writer_with_size(1 << 18).map_err(refused)?;
        let at_once = BAND * rayon::current_num_threads();
        for from in (0..height).step_by(at_once) {
            for band in bands::<S>(from..(from + at_once).min(height), width, &rows) {
                stream.write_all(&band)?;
            }
        }
        stream.finish().map_err(refused)?;
        writer.finish().map_err(refused)
    })
}

fn bands<S: Sample>(
    range: Range<usize>,
    width: usize,
    rows: &(impl Fn(Range<usize>) -> Vec<S> + Sync),
) -> Vec<Vec<u8>> {
    let starts: Vec<usize> = range.clone().step_by(BAND).collect();
    let band = |&from: &usize| {
        let to = (from + BAND).min(range.end);
        let samples = rows(from..to);
        assert_eq!(samples.len(), 3 * width * (to - from), "the rows asked for");
        let mut bytes = Vec::with_capacity(samples.len() * S::BITS as usize / 8);
        samples.into_iter().for_each(|s| s.push(&mut bytes));
        bytes
    };
    starts.par_iter().map(band).collect()
}

fn header(info: &Info, width: u32, height: u32) -> png::Info<'static> {
    let mut head = png::Info::with_size(width, height);
    match &info.icc {
        Some(profile) => head.icc_profile = Some(Cow::Owned(profile.clone())),
        None => head.srgb = Some(SrgbRenderingIntent::RelativeColorimetric),
    }
    head.exif_metadata = Some(Cow::Owned(exif::block(info, width, height)));
    head.pixel_dims = info.px_per_mm.map(|r| {
        let per_metre = (r * 1000.0).round().clamp(1.0, f64::from(u32::MAX)) as u32;
        PixelDimensions { xppu: per_metre, yppu: per_metre, unit: Unit::Meter }
    });
    head
}

fn refused(e: EncodingError) -> io::Error {
    match e {
        EncodingError::IoError(e) => e,
        other => io::Error::other(other.to_string()),
    }
}
