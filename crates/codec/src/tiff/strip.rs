//! Fast path for large TIFFs such as masters and mounts: 16-bit RGB in deflated strips. Each strip is inflated in one piece, and its
//! differences are summed directly into its rows.

use crate::ifd::{self, Directory};
use crate::source::{self, Source};
use libdeflater::{DecompressionError, Decompressor};
use rayon::prelude::*;
use std::io::{Read, Seek, SeekFrom};

/// Bytes that a strip may have beyond twice its own, where a writer fills strips up: the whole strip of a picture that is lower than one.
const FILLED: usize = 8 << 20;

/// Why strips could not be read.
#[derive(Debug, PartialEq, Eq)]
pub(crate) enum Fault {
    /// Unsupported layout or truncated: fall back to the general decoder.
    Unusual,
    /// A strip is not deflated, has no end, or its checksum does not match.
    Damaged,
}

/// Layout of the strips of such a file.
pub(crate) struct Strips {
    source: Source,
    /// Columns.
    pub width: usize,
    /// Rows.
    pub height: usize,
    /// Rows in every strip but the last.
    rows: usize,
    /// Where each begins, and its bytes.
    places: Vec<(u64, u64)>,
    predicted: bool,
    little: bool,
}

impl Strips {
    /// Those of a picture of `width` by `height`; nothing where the file is of another kind, which the general way reads.
    pub fn of(source: &Source, (width, height): (usize, usize), main: &Directory) -> Option<Self> {
        let is = |tag, wanted: &[u64], usual: u64| wanted.contains(&main.uint(tag).unwrap_or(usual));
        // 8 and 32946: deflate under its old and its new number. Photometric 2: RGB. Tag 266: bits run from the high end.
        let usual = is(ifd::COMPRESSION, &[8, 32946], 1)
            && is(ifd::PHOTOMETRIC, &[2], 0)
            && is(ifd::SAMPLES, &[3], 1)
            && is(ifd::PLANAR, &[1], 1)
            && is(ifd::SAMPLE_FORMAT, &[1], 1)
            && is(ifd::PREDICTOR, &[1, 2], 1)
            && is(266, &[1], 1)
            && main.uints(ifd::BITS) == [16; 3];
        let rows = main.uint(ifd::ROWS_PER_STRIP)?.min(height as u64) as usize;
        let (offsets, counts) = (main.uints(ifd::STRIP_OFFSETS), main.uints(ifd::STRIP_COUNTS));
        let needed = height.div_ceil(rows.max(1));
        if !usual || rows == 0 || offsets.len() != needed || counts.len() != needed {
            return None;
        }
        let places = offsets.into_iter().zip(counts).collect();
        let (predicted, little) = (is(ifd::PREDICTOR, &[2], 1), main.little());
        Some(Self { source: source.clone(), width, height, rows, places, predicted, little })
    }

    /// All pixels, strips side by side.
    ///
    /// # Errors
    /// [`Fault`].
    pub fn all(&self) -> Result<Vec<u16>, Fault> {
        let mut out = vec![0; 3 * self.width * self.height];
        let strips = out.par_chunks_mut(3 * self.width * self.rows).zip(&self.places);
        strips.try_for_each_init(
            || Reader::begin(self),
            |reader, (rows, &place)| {
                let bytes = reader.inflated(place, rows.len())?;
                let lines = bytes.chunks_exact(6 * self.width);
                rows.chunks_exact_mut(3 * self.width).zip(lines).for_each(|(row, line)| self.codes(line, row));
                Ok(())
            },
        )?;
        Ok(out)
    }

    /// Gives every row in turn; how many it gave, fewer than there are where a strip is damaged.
    pub fn each(&self, mut take: impl FnMut(&[u16])) -> usize {
        let mut reader = Reader::begin(self);
        let mut row = vec![0; 3 * self.width];
        for (i, &place) in self.places.iter().enumerate() {
            let first = i * self.rows;
            let rows = self.rows.min(self.height - first);
            let Ok(bytes) = reader.inflated(place, rows * row.len()) else { return first };
            for line in bytes.chunks_exact(6 * self.width) {
                self.codes(line, &mut row);
                take(&row);
            }
        }
        self.height
    }

    /// A row's codes from its bytes.
    fn codes(&self, line: &[u8], row: &mut [u16]) {
        let codes = line.as_chunks::<2>().0.iter();
        if self.little {
            row.iter_mut().zip(codes).for_each(|(v, b)| *v = u16::from_le_bytes(*b));
        } else {
            row.iter_mut().zip(codes).for_each(|(v, b)| *v = u16::from_be_bytes(*b));
        }
        if self.predicted {
            summed(row);
        }
    }
}

/// A worker's own hold on the file, and its memory.
struct Reader {
    file: source::Reader,
    length: u64,
    inflate: Decompressor,
    packed: Vec<u8>,
    bytes: Vec<u8>,
}

impl Reader {
    fn begin(strips: &Strips) -> Self {
        let (file, length) = (strips.source.reader(), strips.source.length());
        Self { file, length, inflate: Decompressor::new(), packed: vec![], bytes: vec![] }
    }

    /// The bytes of a strip of so many codes; what a writer filled it up with is left out.
    fn inflated(&mut self, (offset, count): (u64, u64), codes: usize) -> Result<&[u8], Fault> {
        let (unusual, needed) = (|_| Fault::Unusual, 2 * codes);
        let most = 2 * needed + FILLED;
        // Deflate packs at most 1032 to 1 (RFC 1951): what claims more has no memory made for it.
        // A stored block adds five bytes to 65 535 (RFC 1951 3.2.4): nothing packs to twice its size.
        if offset.checked_add(count).is_none_or(|end| end > self.length)
            || count > 2 * most as u64
            || needed as u64 > 1040 * count
        {
            return Err(Fault::Unusual);
        }
        self.packed.resize(count as usize, 0);
        self.file.seek(SeekFrom::Start(offset)).map_err(unusual)?;
        self.file.read_exact(&mut self.packed).map_err(unusual)?;
        // Only a strip that is read to its end has a checksum to compare.
        match self.all(needed) {
            Err(DecompressionError::InsufficientSpace) => self.all(most),
            other => other,
        }
        .map_err(|_| Fault::Damaged)
        .and_then(|n| if n < needed { Err(Fault::Unusual) } else { Ok(&self.bytes[..needed]) })
    }

    /// Inflates all of what is packed, at most to `most` bytes; to how many.
    fn all(&mut self, most: usize) -> Result<usize, DecompressionError> {
        self.bytes.resize(most, 0);
        self.inflate.zlib_decompress(&self.packed, &mut self.bytes)
    }
}

/// Horizontal differences summed up (TIFF 6.0 section 14).
fn summed(row: &mut [u16]) {
    let mut sum = [0u16; 3];
    for px in row.as_chunks_mut::<3>().0 {
        sum = std::array::from_fn(|c| sum[c].wrapping_add(px[c]));
        *px = sum;
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::tiff::{Compression, Writer, pack, write};
    use crate::{Info, Limits, noise};
    use std::fs::File;
    use std::path::Path;

    /// The library's own decoder is the witness; and what is not usual is left to it.
    #[test]
    fn strips_come_as_the_general_way_reads_them() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("a.tif");
        let (w, h) = (701, 523);
        let rows = |r: std::ops::Range<usize>| (3 * w * r.start..3 * w * r.end).map(noise).collect();
        write(&path, w, h, &Info::default(), Compression::Deflate, rows).unwrap();
        let lies = || {
            let source = Source::open(&path).unwrap();
            Strips::of(&source, (w, h), &super::super::read::directory(&source).unwrap().1)
        };
        let strips = lies().unwrap().all().unwrap();
        assert!(strips.iter().enumerate().all(|(i, v)| *v == noise(i)));
        let mut rows_given = vec![];
        assert_eq!(lies().unwrap().each(|row| rows_given.extend_from_slice(row)), h);
        assert_eq!(rows_given, strips);
        let bytes = std::fs::read(&path).unwrap();
        let mut library = tiff::decoder::Decoder::new(std::io::Cursor::new(&bytes)).unwrap();
        let tiff::decoder::DecodingResult::U16(theirs) = library.read_image().unwrap() else { panic!("16 bits") };
        assert_eq!(strips, theirs);
        // Cut short, the general way says so.
        std::fs::write(&path, &bytes[..bytes.len() / 2]).unwrap();
        assert!(crate::read(&path, &Limits::default()).is_err());
        write(&path, w, h, &Info::default(), Compression::None, rows).unwrap();
        assert!(lies().is_none());
    }

    /// Strips may hold more than their rows: some writers fill the last one up. What is not what was packed is told.
    #[test]
    fn filled_strips_are_read_and_false_ones_told() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("a.tif");
        // Noise of 90 rows in strips of 66, so that no strip packs small; filled up as a writer would.
        let (w, h) = (2600, 90);
        let samples: Vec<u16> = (0..3 * w * 2 * h).map(noise).collect();
        let mut file = Writer::new(File::create(&path).unwrap(), w, h, Compression::Deflate).unwrap();
        let strip = file.rows_per_strip;
        assert!(strip < h && h < 2 * strip);
        for y in [0, strip] {
            let rows = samples[3 * w * y..3 * w * (y + strip)].to_vec();
            file.strip(&pack(rows, w, Compression::Deflate)).unwrap();
        }
        file.finish(&Info::default()).unwrap();
        let codes = |path: &Path| match crate::read(path, &Limits::default()).unwrap().frame.samples {
            pixels::Samples::U16(s) => s,
            pixels::Samples::U8(_) => panic!("16 bits"),
        };
        assert!(codes(&path) == samples[..3 * w * h]);
        // A pixel that is another, and a checksum that is.
        let bytes = std::fs::read(&path).unwrap();
        let main = super::super::read::directory(&Source::open(&path).unwrap()).unwrap().1;
        let (offset, count) = (main.uints(ifd::STRIP_OFFSETS)[0] as usize, main.uints(ifd::STRIP_COUNTS)[0] as usize);
        for at in [offset + count / 2, offset + count - 1] {
            let mut bytes = bytes.clone();
            bytes[at] ^= 0x10;
            std::fs::write(&path, &bytes).unwrap();
            let says = crate::read(&path, &Limits::default()).unwrap_err().to_string();
            assert!(says.contains("damaged"), "{says}");
        }
    }
}
