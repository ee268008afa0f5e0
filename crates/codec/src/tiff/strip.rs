//! The usual large TIFF, as masters and mounts are: 16-bit RGB in deflated strips. Each strip is inflated in one piece
//! and its differences are summed up straight into the frame.

use crate::file;
use crate::ifd::{self, Directory};
use libdeflater::Decompressor;
use rayon::prelude::*;
use std::io::{Read, Seek, SeekFrom};
use std::path::Path;

/// All pixels of `width` by `height`, or nothing: the file is of another kind, or damaged. The general way then reads it, or says
/// what is wrong.
pub(super) fn sixteen(path: &Path, (width, height): (usize, usize), main: &Directory) -> Option<Vec<u16>> {
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
    let strip = main.uint(ifd::ROWS_PER_STRIP)?.min(height as u64) as usize;
    let (offsets, counts) = (main.uints(ifd::STRIP_OFFSETS), main.uints(ifd::STRIP_COUNTS));
    let needed = height.div_ceil(strip.max(1));
    if !usual || strip == 0 || offsets.len() != needed || counts.len() != needed {
        return None;
    }
    let (predicted, little) = (is(ifd::PREDICTOR, &[2], 1), main.little());
    let mut out = vec![0; 3 * width * height];
    let begin = || (file::open(path).ok(), Decompressor::new(), vec![], vec![]);
    let strips = out.par_chunks_mut(3 * width * strip).zip(offsets.par_iter().zip(&counts));
    let whole = strips.map_init(begin, |(file, inflate, packed, bytes), (rows, (&offset, &count))| {
        let (file, length) = file.as_mut()?;
        // A stored block adds five bytes to 65 535 (RFC 1951 3.2.4): nothing packs to twice its size.
        if offset.checked_add(count)? > *length || count > 4 * rows.len() as u64 + 1024 {
            return None;
        }
        packed.resize(count as usize, 0);
        bytes.resize(2 * rows.len(), 0);
        file.seek(SeekFrom::Start(offset)).ok()?;
        file.read_exact(packed).ok()?;
        (inflate.zlib_decompress(packed, bytes).ok()? == bytes.len()).then_some(())?;
        for (row, line) in rows.chunks_exact_mut(3 * width).zip(bytes.chunks_exact(6 * width)) {
            let codes = line.as_chunks::<2>().0.iter();
            let code = |b: &[u8; 2]| if little { u16::from_le_bytes(*b) } else { u16::from_be_bytes(*b) };
            row.iter_mut().zip(codes).for_each(|(v, b)| *v = code(b));
            if predicted {
                summed(row);
            }
        }
        Some(())
    });
    whole.all(|strip| strip.is_some()).then_some(out)
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
    use crate::tiff::{Compression, write};
    use crate::{Info, Limits};

    /// The library's own decoder is the witness; and what is not usual is left to it.
    #[test]
    fn strips_come_as_the_general_way_reads_them() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("a.tif");
        let (w, h) = (701, 523);
        let code = |i: usize| (i as u32).wrapping_mul(2_654_435_761).rotate_right(i as u32 % 13) as u16;
        let rows = |r: std::ops::Range<usize>| (3 * w * r.start..3 * w * r.end).map(code).collect();
        write(&path, w, h, &Info::default(), Compression::Deflate, rows).unwrap();
        let main = super::super::read::directory(&path).unwrap().1;
        let strips = sixteen(&path, (w, h), &main).unwrap();
        assert!(strips.iter().enumerate().all(|(i, v)| *v == code(i)));
        let bytes = std::fs::read(&path).unwrap();
        let mut library = tiff::decoder::Decoder::new(std::io::Cursor::new(&bytes)).unwrap();
        let tiff::decoder::DecodingResult::U16(theirs) = library.read_image().unwrap() else { panic!("16 bits") };
        assert_eq!(strips, theirs);
        // Cut short, the general way says so.
        std::fs::write(&path, &bytes[..bytes.len() / 2]).unwrap();
        assert!(crate::read(&path, &Limits::default()).is_err());
        write(&path, w, h, &Info::default(), Compression::None, rows).unwrap();
        let main = super::super::read::directory(&path).unwrap().1;
        assert!(sixteen(&path, (w, h), &main).is_none());
    }
}
