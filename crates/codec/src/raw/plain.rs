//! Simple DNGs that the decoder library does not read: floating-point samples, samples without colour, deflated samples, and lists of short
//! numbers. Uncompressed or deflated, in strips or tiles (TIFF 6.0; DNG 1.7).

use super::pattern::Pattern;
use super::readings::{Black, DEVELOP, Kind, Readings, Values, cropped};
use super::{CameraColours, D55, INCANDESCENT};
use crate::ifd::{self, Directory, Reader};
use crate::limits::check_claim;
use crate::source::Source;
use crate::{Error, Limits, Metadata};
use libdeflater::Decompressor;
use pixels::{D50, D65};
use std::io::{BufReader, Read, Seek, SeekFrom};

// Tags of DNG 1.7 that only this file asks for.
const TILE_WIDTH: u16 = 322;
const TILE_HEIGHT: u16 = 323;
const LINEARIZATION: u16 = 50712;
const BLACK_REPEAT: u16 = 50713;
const BLACK_LEVEL: u16 = 50714;
const BLACK_COLUMNS: u16 = 50715;
const BLACK_ROWS: u16 = 50716;
const WHITE_LEVEL: u16 = 50717;
const CROP_ORIGIN: u16 = 50719;
const CROP_SIZE: u16 = 50720;
const MATRICES: [(u16, u16); 2] = [(50721, 50778), (50722, 50779)];
const AS_SHOT_NEUTRAL: u16 = 50728;
const ACTIVE_AREA: u16 = 50829;

/// Compressions of DNG 1.7: none, lossless JPEG, deflate under its two numbers, lossy JPEG, JPEG XL.
const COMPRESSIONS: [u64; 6] = [1, 7, 8, 32946, 34892, 52546];

const GREY: u64 = 1;
const MOSAIC: u64 = 32803;
const LINEAR: u64 = 34892;

/// Readings of such a file; nothing where it is of another kind, which the library reads.
pub(super) fn read(source: &Source, limits: &Limits) -> Result<Option<(Readings, Metadata)>, Error> {
    let Some((metadata, main)) = Metadata::from_reader(BufReader::new(source.reader())) else { return Ok(None) };
    if !main.has(ifd::DNG_VERSION) {
        return Ok(None);
    }
    let Some(raw) = full_size(source, &main) else { return Ok(None) };
    let compression = raw.uint(ifd::COMPRESSION).unwrap_or(1);
    if !COMPRESSIONS.contains(&compression) {
        let what = format!("a DNG with compression {compression}");
        return Err(Error::unsupported(source.path(), what, DEVELOP));
    }
    let Some(layout) = Layout::of(&raw) else { return Ok(None) };
    let (w, h) = (layout.width as u64, layout.height as u64);
    // The values, a strip beside them, and the picture made of them.
    limits.check(source.path(), w, h, (4 * layout.channels + 6) as u64)?;
    check_claim(source, w, h)?;
    let values = layout.values(source)?;
    Ok(Some((readings(&layout, values, &raw, &main), metadata)))
}

/// The directory of the readings themselves: not a reduced picture (TIFF 6.0, NewSubfileType).
fn full_size(source: &Source, main: &Directory) -> Option<Directory> {
    let (mut reader, _) = Reader::open(BufReader::new(source.reader()))?;
    let subs: Vec<Directory> = main
        .uints(ifd::SUB_IFDS)
        .into_iter()
        .take(16)
        .filter_map(|offset| reader.directory(offset).map(|(d, _)| d))
        .collect();
    let whole = |d: &&Directory| {
        d.uint(ifd::SUBFILE_TYPE).unwrap_or(0) == 0
            && matches!(d.uint(ifd::PHOTOMETRIC), Some(GREY | MOSAIC | LINEAR))
            && d.has(ifd::WIDTH)
    };
    std::iter::once(main).chain(&subs).find(whole).cloned()
}

/// How the readings lie in the file.
struct Layout {
    width: usize,
    height: usize,
    channels: usize,
    photometric: u64,
    bits: usize,
    float: bool,
    deflated: bool,
    predictor: u64,
    little: bool,
    /// A strip or tile: its size in pixels, and how many lie side by side.
    chunk: (usize, usize),
    across: usize,
    places: Vec<(u64, u64)>,
}

impl Layout {
    /// Nothing where the library reads it, or nobody.
    fn of(d: &Directory) -> Option<Self> {
        let photometric = d.uint(ifd::PHOTOMETRIC)?;
        let channels = d.uint(ifd::SAMPLES).unwrap_or(1) as usize;
        let (bits, float) = (d.uint(ifd::BITS)? as usize, d.uint(ifd::SAMPLE_FORMAT).unwrap_or(1) == 3);
        let compression = d.uint(ifd::COMPRESSION).unwrap_or(1);
        // 8 and 32946: deflate under its two numbers.
        let deflated = matches!(compression, 8 | 32946);
        let tiled = d.has(ifd::TILE_OFFSETS);
        let (at, count) =
            if tiled { (ifd::TILE_OFFSETS, ifd::TILE_COUNTS) } else { (ifd::STRIP_OFFSETS, ifd::STRIP_COUNTS) };
        let short = d.kind(at) == Some(3) || d.kind(count) == Some(3);
        let ours = float || photometric == GREY || deflated || short;
        let known = (compression == 1 || deflated)
            && d.uint(ifd::PLANAR).unwrap_or(1) == 1
            && !d.has(LINEARIZATION)
            && !d.has(BLACK_COLUMNS)
            && !d.has(BLACK_ROWS)
            && d.uints(ifd::BITS).iter().all(|b| *b as usize == bits)
            && (if float { matches!(bits, 16 | 24 | 32) } else { matches!(bits, 8 | 16) })
            && (channels == 1 || channels == 3 && photometric == LINEAR);
        if !(ours && known) {
            return None;
        }
        let (width, height) = (d.uint(ifd::WIDTH)? as usize, d.uint(ifd::HEIGHT)? as usize);
        let chunk = if tiled {
            (d.uint(TILE_WIDTH)? as usize, d.uint(TILE_HEIGHT)? as usize)
        } else {
            (width, d.uint(ifd::ROWS_PER_STRIP).map_or(height, |r| (r as usize).min(height)))
        };
        let side = |v: usize| (1..=1 << 17).contains(&v);
        (side(width) && side(height) && side(chunk.0) && side(chunk.1)).then_some(())?;
        let across = width.div_ceil(chunk.0);
        let places: Vec<(u64, u64)> = d.uints(at).into_iter().zip(d.uints(count)).collect();
        (places.len() >= across * height.div_ceil(chunk.1)).then_some(())?;
        let predictor = d.uint(ifd::PREDICTOR).unwrap_or(1);
        let little = d.little();
        Some(Self {
            width,
            height,
            channels,
            photometric,
            bits,
            float,
            deflated,
            predictor,
            little,
            chunk,
            across,
            places,
        })
    }

    fn values(&self, source: &Source) -> Result<Values, Error> {
        let n = self.width * self.height * self.channels;
        let (mut whole, mut float) = if self.float { (vec![], vec![0.0; n]) } else { (vec![0; n], vec![]) };
        let mut reader = source.reader();
        let mut inflate = Decompressor::new();
        let (row, size) = (self.chunk.0 * self.channels, self.bits / 8);
        for (i, &(offset, count)) in
            self.places.iter().take(self.across * self.height.div_ceil(self.chunk.1)).enumerate()
        {
            let (x0, y0) = (i % self.across * self.chunk.0, i / self.across * self.chunk.1);
            let rows = self.chunk.1.min(self.height - y0);
            // A strip ends with the picture, a tile does not; a writer may leave out what lies under the picture's foot.
            let least = row * rows * size;
            let mut bytes = self.chunk(source, &mut reader, &mut inflate, (offset, count), least)?;
            let keep = self.chunk.0.min(self.width - x0) * self.channels;
            for (j, line) in bytes.chunks_exact_mut(row * size).take(rows).enumerate() {
                let to = ((y0 + j) * self.width + x0) * self.channels;
                self.straighten(line, source)?;
                if self.float {
                    let values = line.chunks_exact(size).map(|b| self.float(b));
                    float[to..to + keep].iter_mut().zip(values).for_each(|(v, f)| *v = f);
                } else {
                    let values = line.chunks_exact(size).map(|b| self.whole(b));
                    whole[to..to + keep].iter_mut().zip(values).for_each(|(v, w)| *v = w);
                }
            }
        }
        Ok(if self.float { Values::Float(float) } else { Values::Whole(whole) })
    }

    /// The bytes of a strip or tile, at least `least` of them.
    fn chunk(
        &self,
        source: &Source,
        reader: &mut crate::source::Reader,
        inflate: &mut Decompressor,
        (offset, count): (u64, u64),
        least: usize,
    ) -> Result<Vec<u8>, Error> {
        let path = source.path();
        if offset.checked_add(count).is_none_or(|end| end > source.length()) {
            return Err(Error::truncated(path));
        }
        let mut packed = vec![0; count as usize];
        let read = reader.seek(SeekFrom::Start(offset)).and_then(|_| reader.read_exact(&mut packed));
        read.map_err(|e| Error::unreadable(path, &e))?;
        let bytes = if self.deflated {
            let most = self.chunk.0 * self.chunk.1 * self.channels * self.bits / 8;
            // Deflate packs at most 1032 to 1 (RFC 1951): what claims more has no memory made for it.
            if most as u64 > 1040 * count {
                return Err(Error::damaged(path, "a strip or tile claims more data than it can contain"));
            }
            let mut bytes = vec![0; most];
            let n = inflate.zlib_decompress(&packed, &mut bytes).map_err(|e| Error::damaged(path, e))?;
            bytes.truncate(n);
            bytes
        } else {
            packed
        };
        if bytes.len() < least { Err(Error::truncated(path)) } else { Ok(bytes) }
    }

    /// Undoes a row's differences (TIFF 6.0 section 14; technical note 3 of 2005 for floating point; DNG 1.7 for both at two and
    /// four pixels' distance). What was floating point is then high byte first.
    fn straighten(&self, line: &mut [u8], source: &Source) -> Result<(), Error> {
        let (apart, floats) = match self.predictor {
            1 => return Ok(()),
            2 => (1, false),
            34892 => (2, false),
            34893 => (4, false),
            3 => (1, true),
            34894 => (2, true),
            34895 => (4, true),
            n => {
                let what = format!("a DNG with predictor {n}");
                return Err(Error::unsupported(source.path(), what, DEVELOP));
            }
        };
        let apart = apart * self.channels;
        if floats {
            (apart..line.len()).for_each(|i| line[i] = line[i].wrapping_add(line[i - apart]));
            // All high bytes first, then the next ones: back to one number after the other.
            let (size, planes) = (self.bits / 8, line.to_vec());
            let n = line.len() / size;
            line.chunks_exact_mut(size).enumerate().for_each(|(i, b)| (0..size).for_each(|k| b[k] = planes[k * n + i]));
        } else if self.bits == 8 {
            (apart..line.len()).for_each(|i| line[i] = line[i].wrapping_add(line[i - apart]));
        } else {
            for i in apart..line.len() / 2 {
                let code = |line: &[u8], i: usize| self.whole(&line[2 * i..2 * i + 2]);
                let sum = code(line, i).wrapping_add(code(line, i - apart));
                let bytes = if self.little { sum.to_le_bytes() } else { sum.to_be_bytes() };
                line[2 * i..2 * i + 2].copy_from_slice(&bytes);
            }
        }
        Ok(())
    }

    fn whole(&self, b: &[u8]) -> u16 {
        match *b {
            [a, b] if self.little => u16::from_le_bytes([a, b]),
            [a, b] => u16::from_be_bytes([a, b]),
            [a, ..] => a.into(),
            [] => 0,
        }
    }

    /// A floating-point number of 16, 24 or 32 bits (IEEE 754; DNG 1.7 for 24: 7 bits of exponent, 16 of fraction).
    fn float(&self, b: &[u8]) -> f32 {
        let high_first = matches!(self.predictor, 3 | 34894 | 34895) || !self.little;
        let bits = if high_first {
            b.iter().fold(0u32, |v, b| v << 8 | u32::from(*b))
        } else {
            b.iter().rev().fold(0u32, |v, b| v << 8 | u32::from(*b))
        };
        match b.len() {
            2 => widened(bits, 5, 10),
            3 => widened(bits, 7, 16),
            _ => f32::from_bits(bits),
        }
    }
}

/// A number of one sign bit, `exponent` and `fraction` bits.
fn widened(bits: u32, exponent: u32, fraction: u32) -> f32 {
    let sign = if bits >> (exponent + fraction) & 1 == 1 { -1.0 } else { 1.0 };
    let (e, f) = (bits >> fraction & ((1 << exponent) - 1), bits & ((1 << fraction) - 1));
    let bias = (1i32 << (exponent - 1)) - 1;
    let part = f as f32 / (1u32 << fraction) as f32;
    match e {
        0 => sign * part * 2f32.powi(1 - bias),
        e if e == (1 << exponent) - 1 => {
            if f == 0 {
                sign * f32::INFINITY
            } else {
                f32::NAN
            }
        }
        e => sign * (1.0 + part) * 2f32.powi(e as i32 - bias),
    }
}

/// The readings cropped, with what the directories say of them.
fn readings(layout: &Layout, values: Values, raw: &Directory, main: &Directory) -> Readings {
    let whole = [0, 0, layout.width, layout.height];
    let corners: Vec<usize> = raw.uints(ACTIVE_AREA).into_iter().map(|v| v as usize).collect();
    let active = match corners[..] {
        [top, left, bottom, right]
            if bottom <= layout.height && right <= layout.width && top < bottom && left < right =>
        {
            [left, top, right - left, bottom - top]
        }
        _ => whole,
    };
    let pair = |tag| match raw.reals(tag)[..] {
        [x, y] if x >= 0.0 && y >= 0.0 => Some((x as usize, y as usize)),
        _ => None,
    };
    // Numbers of a file may be beyond all sums.
    let fits = |from: usize, size: usize, of: usize| from.checked_add(size).is_some_and(|end| end <= of);
    // The crop lies inside the active area (DNG 1.7, DefaultCropOrigin).
    let crop = pair(CROP_ORIGIN)
        .zip(pair(CROP_SIZE))
        .filter(|((x, y), (w, h))| *w > 1 && *h > 1 && fits(*x, *w, active[2]) && fits(*y, *h, active[3]));
    let from = crop.map_or((0, 0), |(origin, _)| origin);
    let (width, height) = crop.map_or((active[2], active[3]), |(_, size)| size);
    let (x0, y0) = (active[0] + from.0, active[1] + from.1);
    let cut = |n: usize| [n * x0, y0, n * width, height];
    let (n, stride) = (layout.channels, layout.channels * layout.width);
    let values = match values {
        Values::Whole(v) => Values::Whole(cropped(v, stride, cut(n))),
        Values::Float(v) => Values::Float(cropped(v, stride, cut(n))),
    };
    let repeat = raw.uints(BLACK_REPEAT);
    let (black_rows, black_columns) = match repeat[..] {
        [rows, columns] if rows > 0 && columns > 0 => (rows as usize, columns as usize),
        _ => (1, 1),
    };
    let levels = raw.reals(BLACK_LEVEL).into_iter().map(|v| v as f32).collect();
    let black = Black { levels, width: black_columns, height: black_rows, channels: n, from };
    let full = if layout.float { 1.0 } else { ((1u32 << layout.bits) - 1) as f32 };
    let white = raw.reals(WHITE_LEVEL).into_iter().fold(f64::INFINITY, f64::min);
    let white = if white.is_finite() && white > 0.0 { white as f32 } else { full };
    let kind = match layout.photometric {
        MOSAIC => Kind::Mosaic(pattern(raw).shifted(from.0, from.1)),
        _ if n == 1 => Kind::Grey,
        _ => Kind::Colours,
    };
    let neutral = main.reals(AS_SHOT_NEUTRAL);
    let as_shot = match neutral[..] {
        [r, g, b] if r > 0.0 && g > 0.0 && b > 0.0 => [(g / r) as f32, 1.0, (g / b) as f32],
        _ => [1.0; 3],
    };
    Readings { width, height, kind, values, black, white, as_shot, colours: colours(main) }
}

/// The mosaic, which begins at the active area's corner (TIFF/EP, CFAPattern; DNG 1.7, ActiveArea).
fn pattern(raw: &Directory) -> Pattern {
    let (height, width) = match raw.uints(ifd::CFA_REPEAT)[..] {
        [rows, columns] if rows > 0 && columns > 0 => (rows as usize, columns as usize),
        _ => (2, 2),
    };
    let colours = raw.bytes(ifd::CFA_PATTERN).unwrap_or_default().to_vec();
    if colours.len() == width.saturating_mul(height) {
        Pattern { width, height, colours }
    } else {
        // Of no colour: refused by name.
        Pattern { width: 1, height: 1, colours: vec![u8::MAX] }
    }
}

/// The matrix nearest to daylight (light sources of Exif 2.32).
fn colours(main: &Directory) -> Option<CameraColours> {
    let white = |source: u64| match source {
        21 => (0, D65),
        23 => (1, D50),
        20 => (2, D55),
        1 | 4 | 9 => (3, D55),
        17 | 3 => (4, INCANDESCENT),
        _ => (5, D65),
    };
    let mut known: Vec<_> = MATRICES
        .iter()
        .filter(|(matrix, _)| main.has(*matrix))
        .map(|(matrix, source)| (white(main.uint(*source).unwrap_or(0)), main.reals(*matrix)))
        .collect();
    known.sort_by_key(|((order, _), _)| *order);
    known.into_iter().find_map(|((_, white), m)| CameraColours::of(&m, white))
}

#[cfg(test)]
mod tests;
