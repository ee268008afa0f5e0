//! Writes 16-bit RGB in strips: predicted and deflated in parallel, written in order, so that a large picture is never
//! whole in memory twice and the same pixels give the same bytes.

use crate::file::Beside;
use crate::ifd::{self, Ifd, Value};
use crate::{Error, Info, exif};
use libdeflater::{CompressionLvl, Compressor};
use rayon::prelude::*;
use std::io::{self, Seek, SeekFrom, Write};
use std::ops::Range;
use std::path::Path;

/// How strips are packed. Both are lossless.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Compression {
    /// Horizontal differences (TIFF 6.0 section 14), then deflate at its fastest level: read everywhere.
    #[default]
    Deflate,
    /// As they are.
    None,
}

/// Bytes of pixels in a strip, about: enough to compress well, little enough that workers hold few of them.
const STRIP_BYTES: usize = 1 << 20;
/// Classic TIFF counts bytes in 32 bits; the directory must fit below as well.
const MOST_BYTES: u64 = u32::MAX as u64 - (64 << 20);

/// Writes a 16-bit RGB picture whose rows come from `rows`: the interleaved samples of a range of rows, asked for in
/// parallel, each row once, in strips of about 1 MiB.
///
/// # Errors
/// [`Error::Write`] where the disk refuses or the file would pass 4 GiB.
///
/// # Panics
/// Where `rows` gives another number of samples than asked.
pub fn write(
    path: &Path,
    width: usize,
    height: usize,
    info: &Info,
    compression: Compression,
    rows: impl Fn(Range<usize>) -> Vec<u16> + Sync,
) -> Result<(), Error> {
    write_together([(path, info)], (width, height), compression, |r| ([rows(r)], ()), |()| ())?.settle()
}

/// Writes pictures of one size in one pass, as [`write`] does one: `rows` gives the samples of each, and whatever else comes
/// of the rows, which `then` receives in order.
///
/// # Errors
/// As [`write`]. None of the files is there then.
///
/// # Panics
/// As [`write`].
pub fn write_together<const N: usize, T: Send>(
    targets: [(&Path, &Info); N],
    (width, height): (usize, usize),
    compression: Compression,
    rows: impl Fn(Range<usize>) -> ([Vec<u16>; N], T) + Sync,
    mut then: impl FnMut(T) + Send,
) -> Result<Whole, Error> {
    let mut writers = Vec::with_capacity(N);
    for (path, _) in targets {
        let out = Beside::begin(path)?;
        writers.push(Writer::new(out, width, height, compression).map_err(|e| Error::write(path, &e))?);
    }
    let strip = rows_per_strip(width, height);
    let at_once = strip * 2 * rayon::current_num_threads();
    let make = |from: usize| -> Vec<([Vec<u8>; N], T)> {
        let starts: Vec<usize> = (from..(from + at_once).min(height)).step_by(strip).collect();
        starts
            .par_iter()
            .map(|&y| {
                let to = (y + strip).min(height);
                let (samples, more) = rows(y..to);
                let whole = samples.iter().all(|s| s.len() == 3 * width * (to - y));
                assert!(whole, "the rows asked for");
                (samples.map(|s| pack(s, width, compression)), more)
            })
            .collect()
    };
    let mut put = |batch: Vec<([Vec<u8>; N], T)>| -> Result<(), Error> {
        for (strips, more) in batch {
            for ((writer, strip), (path, _)) in writers.iter_mut().zip(&strips).zip(targets) {
                writer.strip(strip).map_err(|e| Error::write(path, &e))?;
            }
            then(more);
        }
        Ok(())
    };
    // One batch is written while the next is made.
    let mut batch = Vec::new();
    for from in (0..height).step_by(at_once) {
        let (next, written) = rayon::join(|| make(from), || put(std::mem::take(&mut batch)));
        written?;
        batch = next;
    }
    put(batch)?;
    let mut whole = Vec::with_capacity(N);
    for (writer, (path, info)) in writers.into_iter().zip(targets) {
        whole.push(writer.finish(info).map_err(|e| Error::write(path, &e))?);
    }
    Ok(Whole(whole))
}

/// Files written together, all whole, none under its name yet.
#[must_use = "the files have no names yet"]
pub struct Whole(Vec<Beside>);

impl Whole {
    /// Flushes them to the disk and gives them their names, which takes time but no work.
    ///
    /// # Errors
    /// [`Error::Write`] where the disk refuses; those that have their name by then are whole.
    pub fn settle(self) -> Result<(), Error> {
        self.0.into_iter().try_for_each(Beside::settle)
    }
}

fn rows_per_strip(width: usize, height: usize) -> usize {
    (STRIP_BYTES / (6 * width.max(1))).clamp(1, height.max(1))
}

/// Writes strip by strip to any seekable target, for a producer that makes several files in one pass.
pub struct Writer<W> {
    out: W,
    width: usize,
    height: usize,
    /// Rows in every strip but the last.
    pub rows_per_strip: usize,
    compression: Compression,
    at: u64,
    strips: Vec<(u32, u32)>,
}

impl<W: Write + Seek> Writer<W> {
    /// Starts a file at the target's beginning.
    ///
    /// # Errors
    /// The target's own, and sizes that classic TIFF cannot hold.
    pub fn new(mut out: W, width: usize, height: usize, compression: Compression) -> io::Result<Self> {
        if width == 0 || height == 0 || u32::try_from(width.max(height)).is_err() {
            return Err(io::Error::other(format!("TIFF cannot hold {width} x {height} px")));
        }
        // The place of the directory is filled in at the end.
        out.write_all(b"II\x2A\0\0\0\0\0")?;
        let rows_per_strip = rows_per_strip(width, height);
        Ok(Self { out, width, height, rows_per_strip, compression, at: 8, strips: Vec::new() })
    }

    /// Appends the next strip, packed by [`pack`].
    ///
    /// # Errors
    /// The target's own, and a file over 4 GiB.
    pub fn strip(&mut self, packed: &[u8]) -> io::Result<()> {
        if self.at + packed.len() as u64 > MOST_BYTES {
            return Err(io::Error::other("it would be larger than the 4 GiB that TIFF can hold"));
        }
        self.out.write_all(packed)?;
        self.strips.push((self.at as u32, packed.len() as u32));
        self.at += packed.len() as u64;
        // Offsets are even (TIFF 6.0 section 2, "word boundary").
        if packed.len() % 2 == 1 {
            self.out.write_all(&[0])?;
            self.at += 1;
        }
        Ok(())
    }

    /// Writes the directory and its place, and gives the target back.
    ///
    /// # Errors
    /// The target's own, and strips that do not make up the height.
    pub fn finish(mut self, info: &Info) -> io::Result<W> {
        if self.strips.len() != self.height.div_ceil(self.rows_per_strip) {
            return Err(io::Error::other("rows are missing"));
        }
        let directory = self.directory(info).bytes(self.at as u32);
        self.out.write_all(&directory)?;
        self.out.seek(SeekFrom::Start(4))?;
        self.out.write_all(&(self.at as u32).to_le_bytes())?;
        self.out.seek(SeekFrom::End(0))?;
        self.out.flush()?;
        Ok(self.out)
    }

    fn directory(&self, info: &Info) -> Ifd {
        let mut d = exif::words(info);
        let (offsets, counts): (Vec<u32>, Vec<u32>) = self.strips.iter().copied().unzip();
        let deflate = self.compression == Compression::Deflate;
        d.set(ifd::SUBFILE_TYPE, Value::Long(vec![0]))
            .set(ifd::WIDTH, Value::Long(vec![self.width as u32]))
            .set(ifd::HEIGHT, Value::Long(vec![self.height as u32]))
            .set(ifd::BITS, Value::Short(vec![16; 3]))
            // 8: deflate (TIFF technical note, 2002). 1: none.
            .set(ifd::COMPRESSION, Value::Short(vec![if deflate { 8 } else { 1 }]))
            .set(ifd::PHOTOMETRIC, Value::Short(vec![2]))
            .set(ifd::STRIP_OFFSETS, Value::Long(offsets))
            .set(ifd::ORIENTATION, Value::Short(vec![1]))
            .set(ifd::SAMPLES, Value::Short(vec![3]))
            .set(ifd::ROWS_PER_STRIP, Value::Long(vec![self.rows_per_strip as u32]))
            .set(ifd::STRIP_COUNTS, Value::Long(counts))
            .set(ifd::PLANAR, Value::Short(vec![1]))
            .set(ifd::SAMPLE_FORMAT, Value::Short(vec![1; 3]));
        if deflate {
            d.set(ifd::PREDICTOR, Value::Short(vec![2]));
        }
        exif::resolution(&mut d, info.px_per_mm.unwrap_or(72.0 / 25.4));
        d.set_some(ifd::XMP, info.xmp.clone().map(Value::Byte));
        d.set_some(ifd::ICC, info.icc.clone().map(Value::Undefined));
        if info.original.is_some() {
            let mut shot = exif::shot(info.original.as_ref());
            exif::marks(&mut shot, info);
            d.set(ifd::EXIF, Value::Sub(shot));
        }
        d
    }
}

/// Packs the interleaved samples of whole rows as one strip.
pub fn pack(samples: Vec<u16>, width: usize, compression: Compression) -> Vec<u8> {
    let mut bytes = vec![0; 2 * samples.len()];
    let (pairs, _) = bytes.as_chunks_mut::<2>();
    if compression == Compression::None {
        put(pairs, samples.iter().copied());
        return bytes;
    }
    for (to, row) in pairs.chunks_exact_mut(3 * width).zip(samples.chunks_exact(3 * width)) {
        let (first, rest) = to.split_at_mut(3);
        put(first, row.iter().copied());
        put(rest, row[3..].iter().zip(row).map(|(v, before)| v.wrapping_sub(*before)));
    }
    drop(samples);
    // Level 1; the library's own "fastest", 0, only stores.
    let level = CompressionLvl::new(1).unwrap_or_default();
    let mut compressor = Compressor::new(level);
    let mut packed = vec![0; compressor.zlib_compress_bound(bytes.len())];
    // The buffer has the size that the compressor itself asks for, so it always fits.
    let n = compressor.zlib_compress(&bytes, &mut packed).unwrap_or(0);
    packed.truncate(n);
    packed
}

fn put(to: &mut [[u8; 2]], values: impl Iterator<Item = u16>) {
    to.iter_mut().zip(values).for_each(|(b, v)| *b = v.to_le_bytes());
}
