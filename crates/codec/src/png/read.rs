//! Decodes PNG to 8- or 16-bit RGB, row by row.

use crate::limits::check_claim;
use crate::source::{Reader as FileReader, Source};
use crate::{Decoded, Error, Format, Limits, Metadata, icc};
use pixels::{Encoding, Primaries, Samples, Tone};
use png::{ColorType, Decoder, DecodingError, Info, Reader, Transformations};
use std::io::{BufReader, ErrorKind};
use std::path::Path;

type Input = BufReader<FileReader>;

pub(crate) fn probe(source: &Source) -> Result<((usize, usize), Metadata), Error> {
    let path = source.path();
    let decoder = open(source, &Limits::default());
    let reader = decoder.read_info().map_err(|e| failed(path, e))?;
    let info = reader.info();
    Ok(((info.width as usize, info.height as usize), metadata(info)))
}

pub(crate) fn read(source: &Source, limits: &Limits) -> Result<Decoded, Error> {
    let path = source.path();
    let mut decoder = open(source, limits);
    decoder.set_transformations(Transformations::EXPAND);
    let head = decoder.read_header_info().map_err(|e| failed(path, e))?;
    let bytes_per_px = if head.bit_depth as u8 == 16 { 6 } else { 3 };
    // An interlaced picture is put together in one buffer with its alpha.
    let extra = if head.interlaced { 8 } else { 0 };
    let (width, height) = (head.width.into(), head.height.into());
    limits.check(path, width, height, bytes_per_px + extra)?;
    check_claim(source, width, height)?;
    let mut reader = decoder.read_info().map_err(|e| failed(path, e))?;
    let mut notes = Vec::new();
    let (kind, depth) = reader.output_color_type();
    let (width, height) = (reader.info().width as usize, reader.info().height as usize);
    let channels = kind.samples();
    if matches!(kind, ColorType::Rgba | ColorType::GrayscaleAlpha) {
        notes.push("The picture's transparency was removed; the colours are as stored.".into());
    }
    let samples = if depth as u8 == 16 {
        let mut out = Vec::with_capacity(3 * width * height);
        rows(path, &mut reader, width * channels * 2, |row| {
            let value = |i: usize| u16::from_be_bytes([row[2 * i], row[2 * i + 1]]);
            spread(&mut out, width, channels, value);
        })?;
        Samples::U16(out)
    } else {
        let mut out = Vec::with_capacity(3 * width * height);
        rows(path, &mut reader, width * channels, |row| spread(&mut out, width, channels, |i| row[i]))?;
        Samples::U8(out)
    };
    // The chunks behind the picture may hold Exif or XMP; the checksum of the last one tells a cut file.
    reader.finish().map_err(|e| failed(path, e))?;
    let info = reader.info();
    let profile = info.icc_profile.as_deref();
    let gray = matches!(kind, ColorType::Grayscale | ColorType::GrayscaleAlpha);
    let unmarked = info.srgb.is_none() && info.gama_chunk.is_none();
    let source = icc::read::Source { profile, gray, sixteen_bit: depth as u8 == 16 && unmarked };
    let mut frame = source.frame(width, height, samples, &mut notes);
    if profile.is_none() && info.srgb.is_none() {
        frame.encoding = by_gamma(info, &mut notes).unwrap_or(frame.encoding);
    }
    Ok(Decoded {
        metadata: metadata(info),
        icc: info.icc_profile.as_deref().map(<[u8]>::to_vec),
        frame,
        format: Format::Png,
        notes,
    })
}

/// The gAMA chunk alone, where it is not that of sRGB: light = code^(1 / gamma) (ISO/IEC 15948 section 11.3.2.2).
fn by_gamma(info: &Info, notes: &mut Vec<String>) -> Option<Encoding> {
    let gamma = f64::from(info.gama_chunk?.into_value());
    // 0.45455 is written for sRGB by most programs; within 1 % it means just that.
    if !(0.1..=2.0).contains(&gamma) || (gamma - 0.45455).abs() < 0.005 {
        return None;
    }
    notes.push(format!(
        "The file has a gamma of {gamma:.3} and no profile; it was read with this gamma and sRGB primaries."
    ));
    let tone = if (gamma - 1.0).abs() < 1e-4 { Tone::linear() } else { Tone::from_fn(|c| c.powf(1.0 / gamma)) };
    Some(Encoding::new(tone, Primaries::srgb()))
}

fn open(source: &Source, limits: &Limits) -> Decoder<Input> {
    let bytes = usize::try_from(limits.max_bytes).unwrap_or(usize::MAX);
    Decoder::new_with_limits(BufReader::with_capacity(1 << 18, source.reader()), png::Limits { bytes })
}

/// Hands each finished row to `take`. An interlaced picture is decoded whole first.
fn rows(path: &Path, reader: &mut Reader<Input>, row_bytes: usize, mut take: impl FnMut(&[u8])) -> Result<(), Error> {
    if reader.info().interlaced {
        let size = reader.output_buffer_size().ok_or_else(|| Error::damaged(path, "its size overflows"))?;
        let mut whole = vec![0; size];
        reader.next_frame(&mut whole).map_err(|e| failed(path, e))?;
        whole.chunks_exact(row_bytes).for_each(take);
    } else {
        while let Some(row) = reader.next_row().map_err(|e| failed(path, e))? {
            take(row.data());
        }
    }
    Ok(())
}

/// Appends a row as RGB: grey three times, alpha left out.
fn spread<T: Copy>(out: &mut Vec<T>, width: usize, channels: usize, value: impl Fn(usize) -> T) {
    match channels {
        1 | 2 => out.extend((0..width).flat_map(|x| [value(x * channels); 3])),
        _ => out.extend((0..width).flat_map(|x| [0, 1, 2].map(|c| value(x * channels + c)))),
    }
}

fn metadata(info: &Info) -> Metadata {
    let mut meta = info.exif_metadata.as_deref().map(Metadata::from_exif).unwrap_or_default();
    let xmp = info.utf8_text.iter().find(|t| t.keyword == "XML:com.adobe.xmp");
    meta.xmp = xmp.and_then(|t| t.get_text().ok()).map(String::into_bytes);
    if let Some(d) = info.pixel_dims.filter(|d| d.unit == png::Unit::Meter && d.xppu > 0) {
        meta.px_per_mm = Some(f64::from(d.xppu) / 1000.0);
    }
    meta
}

fn failed(path: &Path, e: DecodingError) -> Error {
    match e {
        DecodingError::IoError(e) if e.kind() == ErrorKind::UnexpectedEof => Error::truncated(path),
        DecodingError::IoError(e) => Error::unreadable(path, &e),
        DecodingError::LimitsExceeded => Error::damaged(path, "a chunk needs more memory than the limit"),
        other => Error::damaged(path, other),
    }
}
