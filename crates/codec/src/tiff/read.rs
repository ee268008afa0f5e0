//! Decodes TIFF to 8- or 16-bit RGB, rows of strips or tiles in parallel, each straight into its place in the frame.

use super::strip::{Fault, Strips};
use super::{Input, lzw};
use crate::ifd::{self, Directory};
use crate::limits::check_claim;
use crate::source::Source;
use crate::{Decoded, Error, Format, Limits, Metadata, icc};
use pixels::{Encoding, Primaries, Samples, Tone};
use rayon::prelude::*;
use std::io::{BufReader, ErrorKind};
use std::path::Path;
use tiff::decoder::{ChunkType, Decoder, DecodingResult};
use tiff::{ColorType, TiffError, TiffFormatError};

pub(crate) fn probe(source: &Source) -> Result<((usize, usize), Metadata), Error> {
    let path = source.path();
    let (metadata, main) = directory(source)?;
    let side = |tag| main.uint(tag).filter(|v| *v > 0 && *v <= u32::MAX.into()).map(|v| v as usize);
    let size = side(ifd::WIDTH).zip(side(ifd::HEIGHT)).ok_or_else(|| Error::damaged(path, "it states no size"))?;
    Ok((size, metadata))
}

pub(super) fn directory(source: &Source) -> Result<(Metadata, Directory), Error> {
    let path = source.path();
    Metadata::from_reader(BufReader::new(source.reader())).ok_or_else(|| {
        if source.length() < 16 {
            Error::truncated(path)
        } else {
            Error::damaged(path, "its first directory cannot be read")
        }
    })
}

pub(crate) fn read(source: &Source, limits: &Limits) -> Result<Decoded, Error> {
    let path = source.path();
    let ((width, height), metadata) = probe(source)?;
    let (_, main) = directory(source)?;
    limits.check(path, width as u64, height as u64, 3)?;
    // 50000 and 34926: Zstandard, whose runs have no such bound.
    if !matches!(main.uint(ifd::COMPRESSION), Some(50000 | 34926)) {
        check_claim(source, width as u64, height as u64)?;
    }
    let mut decoder = open(source, limits)?;
    let layout = Layout::of(path, &mut decoder, &main)?;
    // The frame, and a strip or tile per worker beside it.
    limits.check(path, width as u64, height as u64, if layout.depth == 8 { 3 } else { 6 })?;
    layout.check_chunks(path, limits, &main)?;
    // Without its profile the picture would be shown in wrong colours.
    if main.cut().contains(&ifd::ICC) {
        return Err(Error::truncated(path));
    }
    let mut notes = Vec::new();
    if !main.cut().is_empty() {
        notes.push("The file is truncated after its pixels; some metadata is missing.".into());
    }
    if layout.alpha {
        notes.push("The picture's transparency was removed; the colours are as stored.".into());
    }
    let samples = match layout.depth {
        8 => Samples::U8(pixels::<u8>(source, limits, &layout)?),
        _ => Samples::U16(sixteen(source, limits, &layout, &main)?),
    };
    let profile = main.bytes(ifd::ICC).map(<[u8]>::to_vec);
    let source = icc::read::Source { profile: profile.as_deref(), gray: layout.gray, sixteen_bit: layout.depth == 16 };
    let mut frame = source.frame(layout.width, layout.height, samples, &mut notes);
    if layout.depth == 32 {
        notes.retain(|n| !n.starts_with("The file has no colour profile"));
        notes.push(
            "The file has floating-point values; they were taken as linear light, clipped to 0..1, 16-bit.".into(),
        );
        if profile.is_none() {
            frame.encoding = Encoding::new(Tone::linear(), Primaries::srgb());
        }
    }
    Ok(Decoded { frame, format: Format::Tiff, metadata, icc: profile, notes })
}

/// Strips that can be read in turn, and what their codes mean; nothing where the file is of another kind.
pub(crate) fn strips(source: &Source, limits: &Limits) -> Result<Option<(Strips, Encoding)>, Error> {
    let (size, _) = probe(source)?;
    let (_, main) = directory(source)?;
    limits.check(source.path(), size.0 as u64, size.1 as u64, 6)?;
    let encoding = main.bytes(ifd::ICC).and_then(icc::read::encoding);
    Ok(Strips::of(source, size, &main).zip(encoding))
}

/// How the pixels lie in the file.
struct Layout {
    width: usize,
    height: usize,
    /// Bits a channel in the file: 8, 16, or 32 for floating point.
    depth: u8,
    gray: bool,
    alpha: bool,
    tiled: bool,
    /// Strip or tile size in pixels.
    chunk: (usize, usize),
    /// Separate planes of one channel each.
    planes: usize,
}

impl Layout {
    fn of(path: &Path, d: &mut Input, main: &Directory) -> Result<Self, Error> {
        let save = "Save it as 8- or 16-bit RGB or grey TIFF.";
        let odd = |what: String| Err(Error::unsupported(path, what, save));
        let colour = d.colortype().map_err(|e| failed(path, e))?;
        let (gray, alpha) = match colour {
            ColorType::RGB(_) => (false, main.uint(ifd::SAMPLES).is_some_and(|n| n > 3)),
            ColorType::RGBA(_) => (false, true),
            ColorType::Gray(_) => (true, false),
            ColorType::GrayA(_) | ColorType::Multiband { .. } if main.uint(ifd::PHOTOMETRIC).is_some_and(|p| p < 2) => {
                (true, true)
            }
            ColorType::CMYK(_) | ColorType::CMYKA(_) => {
                return Err(Error::unsupported(path, "CMYK in a TIFF", "Convert it to RGB (any RGB profile) first."));
            }
            ColorType::YCbCr(_) if main.uint(ifd::COMPRESSION) != Some(7) => return odd("a TIFF in YCbCr".into()),
            ColorType::YCbCr(_) => (false, false),
            other => return odd(format!("a TIFF of kind {other:?}")),
        };
        let format = main.uint(ifd::SAMPLE_FORMAT).unwrap_or(1);
        let depth = match (colour.bit_depth(), format) {
            (8, 1) => 8,
            (16, 1) => 16,
            (32, 3) => 32,
            (bits, 2) => return odd(format!("a TIFF of {bits}-bit signed numbers")),
            (bits, 3) => return odd(format!("a TIFF of {bits}-bit floating point")),
            (bits, _) => return odd(format!("a TIFF of {bits} bits a channel")),
        };
        let (width, height) = d.dimensions().map_err(|e| failed(path, e))?;
        let (cw, ch) = d.chunk_dimensions();
        let planes = if main.uint(ifd::PLANAR) == Some(2) { main.uint(ifd::SAMPLES).unwrap_or(1) as usize } else { 1 };
        Ok(Self {
            width: width as usize,
            height: height as usize,
            depth,
            gray,
            alpha,
            tiled: d.get_chunk_type() == ChunkType::Tile,
            chunk: (cw as usize, ch as usize),
            planes,
        })
    }

    fn across(&self) -> usize {
        if self.tiled { self.width.div_ceil(self.chunk.0) } else { 1 }
    }

    fn down(&self) -> usize {
        self.height.div_ceil(self.chunk.1)
    }

    /// Refuses strips or tiles larger than the memory limit, and a file that has fewer of them than its size needs.
    fn check_chunks(&self, path: &Path, limits: &Limits, main: &Directory) -> Result<(), Error> {
        let (w, h) = (self.chunk.0 as u64, self.chunk.1.min(self.height) as u64);
        if w == 0 || h == 0 {
            return Err(Error::damaged(path, "it has strips or tiles of no size"));
        }
        let samples = main.uint(ifd::SAMPLES).unwrap_or(1).max(1);
        let bytes = w.saturating_mul(h).saturating_mul(samples.saturating_mul(u64::from(self.depth)) / 8);
        if bytes > limits.max_bytes / 2 {
            return Err(Error::TooLarge {
                path: path.into(),
                what: format!("one strip or tile of it takes {} MiB", bytes >> 20),
                limit: format!("{} MiB", limits.max_bytes >> 21),
            });
        }
        let counts = main.uints(if self.tiled { ifd::TILE_COUNTS } else { ifd::STRIP_COUNTS }).len();
        if counts < self.across() * self.down() * self.planes.min(if self.gray { 1 } else { 3 }) {
            return Err(Error::damaged(path, "it lists too few strips or tiles for its size"));
        }
        Ok(())
    }
}

fn open(source: &Source, limits: &Limits) -> Result<Input, Error> {
    let mut allowed = tiff::decoder::Limits::default();
    let bytes = usize::try_from(limits.max_bytes).unwrap_or(usize::MAX);
    allowed.decoding_buffer_size = bytes / 2;
    allowed.intermediate_buffer_size = bytes / 2;
    // Strip tables of a 300 MP file with one row a strip stay below this.
    allowed.ifd_value_size = 16 << 20;
    let input = BufReader::with_capacity(1 << 17, source.reader());
    Ok(Decoder::new(input).map_err(|e| failed(source.path(), e))?.with_limits(allowed))
}

/// A code value that chunks of any depth turn into.
trait Code: Copy + Default + Send + Sync {
    /// Sample `i` of a decoded chunk.
    fn of(chunk: &DecodingResult, i: usize) -> Self;
}

impl Code for u8 {
    fn of(chunk: &DecodingResult, i: usize) -> u8 {
        match chunk {
            DecodingResult::U8(v) => v[i],
            _ => 0,
        }
    }
}

impl Code for u16 {
    fn of(chunk: &DecodingResult, i: usize) -> u16 {
        match chunk {
            DecodingResult::U16(v) => v[i],
            DecodingResult::F32(v) => (v[i].clamp(0.0, 1.0) * 65535.0).round() as u16,
            _ => 0,
        }
    }
}

/// All pixels of a file of 16 or 32 bits a channel.
fn sixteen(source: &Source, limits: &Limits, layout: &Layout, main: &Directory) -> Result<Vec<u16>, Error> {
    let strips = Strips::of(source, (layout.width, layout.height), main);
    match strips.map_or(Err(Fault::Unusual), |s| s.all()) {
        Ok(codes) => Ok(codes),
        Err(Fault::Unusual) => pixels(source, limits, layout),
        Err(Fault::Damaged) => {
            // The general way says more exactly what is wrong, but it asks for no checksum.
            pixels::<u16>(source, limits, layout)?;
            Err(Error::damaged(source.path(), "its pixels were changed: the length or checksum of a strip is wrong"))
        }
    }
}

/// All pixels. Each worker opens the file for itself and fills whole rows of strips or tiles.
fn pixels<T: Code>(source: &Source, limits: &Limits, layout: &Layout) -> Result<Vec<T>, Error> {
    let path = source.path();
    let mut out = vec![T::default(); 3 * layout.width * layout.height];
    let band = 3 * layout.width * layout.chunk.1.min(layout.height);
    out.par_chunks_mut(band).enumerate().try_for_each_init(
        || open(source, limits),
        |decoder, (row, rows)| {
            let decoder = match decoder {
                Ok(d) => d,
                Err(_) => return Err(Error::damaged(path, "it could not be opened twice")),
            };
            (0..layout.across()).try_for_each(|column| chunk(path, decoder, layout, rows, row, column))
        },
    )?;
    Ok(out)
}

/// Decodes the strip or tile at (`row`, `column`) of all planes into `rows`.
fn chunk<T: Code>(
    path: &Path,
    decoder: &mut Input,
    layout: &Layout,
    rows: &mut [T],
    row: usize,
    column: usize,
) -> Result<(), Error> {
    let per_plane = layout.across() * layout.down();
    let wanted = if layout.gray { 1 } else { 3 };
    for plane in 0..layout.planes.min(wanted) {
        let index = (plane * per_plane + row * layout.across() + column) as u32;
        let data = decoder.read_chunk(index).or_else(|e| lzw::tile(decoder, index).ok_or_else(|| failed(path, e)))?;
        let (w, h) = decoder.chunk_data_dimensions(index);
        let (w, h) = (w as usize, (h as usize).min(rows.len() / (3 * layout.width)));
        let length = length(&data);
        if w == 0 || h == 0 || !length.is_multiple_of(w) {
            return Err(Error::damaged(path, "a strip or tile has the wrong size"));
        }
        let per_px = length / (w * h);
        if per_px < if layout.planes > 1 { 1 } else { wanted } {
            return Err(Error::damaged(path, "a strip or tile is too short"));
        }
        for y in 0..h {
            let line = &mut rows[3 * (y * layout.width + column * layout.chunk.0)..][..3 * w];
            place(line, |x, c| T::of(&data, (y * w + x) * per_px + c), wanted, layout.planes > 1, plane);
        }
    }
    Ok(())
}

/// Fills a line: grey three times, colour as it comes, or one plane of it.
fn place<T: Copy>(line: &mut [T], value: impl Fn(usize, usize) -> T, wanted: usize, planar: bool, plane: usize) {
    for (x, px) in line.chunks_exact_mut(3).enumerate() {
        match (wanted, planar) {
            (1, _) => px.fill(value(x, 0)),
            (_, true) => px[plane] = value(x, 0),
            _ => (0..3).for_each(|c| px[c] = value(x, c)),
        }
    }
}

fn length(chunk: &DecodingResult) -> usize {
    match chunk {
        DecodingResult::U8(v) => v.len(),
        DecodingResult::U16(v) => v.len(),
        DecodingResult::F32(v) => v.len(),
        _ => 0,
    }
}

fn failed(path: &Path, e: TiffError) -> Error {
    match e {
        TiffError::IoError(e) if e.kind() == ErrorKind::UnexpectedEof => Error::truncated(path),
        TiffError::IoError(e)
            if matches!(e.kind(), ErrorKind::InvalidData | ErrorKind::InvalidInput | ErrorKind::Other) =>
        {
            Error::damaged(path, e)
        }
        TiffError::IoError(e) => Error::unreadable(path, &e),
        TiffError::FormatError(TiffFormatError::InconsistentSizesEncountered) => Error::truncated(path),
        TiffError::UnsupportedError(e) => {
            Error::unsupported(path, format!("this kind of TIFF ({e})"), "Save it as 8- or 16-bit RGB or grey TIFF.")
        }
        other => Error::damaged(path, other),
    }
}
