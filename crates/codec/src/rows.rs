//! Reads a picture row by row, for work that needs each row once: the same content as [`crate::read`] and, if the file allows it, as
//! masters and mounts do, never completely in memory.

use crate::source::Source as File;
use crate::tiff::{self, Strips};
use crate::{Error, Format, Limits, Unpacked, door, file, in_process, sniff};
use pixels::{Encoding, Frame, Samples};
use std::path::Path;

/// A picture that was opened.
pub struct Rows {
    /// Columns.
    pub width: usize,
    /// Rows.
    pub height: usize,
    /// What its codes, 0 to 65535, mean.
    pub encoding: Encoding,
    source: Source,
}

enum Source {
    Strips(Strips, File, Limits),
    Samples(Samples),
    #[cfg(unix)]
    Piped(crate::child::Child),
}

/// Opens a picture file.
///
/// # Errors
/// As [`crate::read`]; damage to strips that are read in turn is found by [`Rows::each`].
pub fn rows(path: &Path, limits: &Limits) -> Result<Rows, Error> {
    let file = File::open(path)?;
    match door::apart() {
        #[cfg(unix)]
        Some(decoder) => {
            let (width, height, encoding, child) = crate::child::rows(decoder, &file, limits)?;
            Ok(Rows { width, height, encoding, source: Source::Piped(child) })
        }
        _ => here(&file, limits),
    }
}

/// Rows decoded in this process.
pub(crate) fn here(file: &File, limits: &Limits) -> Result<Rows, Error> {
    if sniff::sniff(file)? == Format::Tiff
        && let Some((strips, encoding)) = file::contain(file.path(), || tiff::strips(file, limits))?
    {
        let (width, height) = (strips.width, strips.height);
        return Ok(Rows { width, height, encoding, source: Source::Strips(strips, file.clone(), *limits) });
    }
    let Frame { width, height, samples, encoding } = whole(file, limits)?;
    Ok(Rows { width, height, encoding, source: Source::Samples(samples) })
}

fn whole(file: &File, limits: &Limits) -> Result<Frame, Error> {
    Ok(match in_process::unpack(file, limits)? {
        Unpacked::Picture(decoded) => decoded.frame,
        #[cfg(feature = "raw")]
        Unpacked::Sensor { mosaic, format } => crate::read::developed(mosaic, format).frame,
    })
}

impl Rows {
    /// Gives every row in turn: interleaved RGB codes, 65535 full also where the file has 8 bits.
    ///
    /// # Errors
    /// As [`crate::read`], after the rows that could be read.
    pub fn each(self, mut take: impl FnMut(&[u16])) -> Result<(), Error> {
        let n = 3 * self.width;
        let (samples, from) = match self.source {
            #[cfg(unix)]
            Source::Piped(child) => return each_piped(child, n, self.height, take),
            Source::Samples(samples) => (samples, 0),
            Source::Strips(strips, file, limits) => match strips.each(&mut take) {
                given if given == self.height => return Ok(()),
                // The general way reads the rest, or says what is wrong.
                given => {
                    let frame = whole(&file, &limits)?;
                    if (frame.width, frame.height) != (self.width, self.height) {
                        return Err(Error::damaged(file.path(), "it changed while it was read"));
                    }
                    (frame.samples, given)
                }
            },
        };
        match samples {
            Samples::U16(s) => s.chunks_exact(n).skip(from).for_each(take),
            Samples::U8(s) => s.chunks_exact(n).skip(from).for_each(|row| {
                take(&row.iter().map(|v| 257 * u16::from(*v)).collect::<Vec<_>>());
            }),
        }
        Ok(())
    }
}

#[cfg(unix)]
fn each_piped(
    mut child: crate::child::Child,
    n: usize,
    height: usize,
    mut take: impl FnMut(&[u16]),
) -> Result<(), Error> {
    // Half a MiB of codes at a time: a row by itself would cost a call of the system each.
    let some = ((1 << 18) / n.max(1)).clamp(1, height.max(1));
    let mut codes = vec![0; n * some];
    for first in (0..height).step_by(some) {
        let codes = &mut codes[..n * some.min(height - first)];
        child.codes(codes)?;
        codes.chunks_exact(n).for_each(&mut take);
    }
    child.finish()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::tiff::Compression;
    use crate::{Info, icc, jpeg, noise, read};

    fn all(path: &Path) -> Result<(Encoding, Vec<u16>), Error> {
        let rows = rows(path, &Limits::default())?;
        let (encoding, mut codes) = (rows.encoding.clone(), vec![]);
        rows.each(|row| codes.extend_from_slice(row))?;
        Ok((encoding, codes))
    }

    /// Whatever the kind of file, rows are what the whole reading gives, in the same encoding.
    #[test]
    fn rows_are_what_reading_the_whole_gives() {
        let folder = tempfile::tempdir().unwrap();
        let place = |name: &str| folder.path().join(name);
        let (w, h) = (307, 211);
        let some = |r: std::ops::Range<usize>| (3 * w * r.start..3 * w * r.end).map(noise).collect();
        let info = Info { icc: Some(icc::eci_rgb_v2()), ..Info::default() };
        tiff::write(&place("strips.tif"), w, h, &info, Compression::Deflate, some).unwrap();
        tiff::write(&place("plain.tif"), w, h, &info, Compression::None, some).unwrap();
        tiff::write(&place("no-profile.tif"), w, h, &Info::default(), Compression::Deflate, some).unwrap();
        let eight: Vec<u8> = (0..3 * w * h).map(|i| (noise(i) >> 8) as u8).collect();
        jpeg::write(&place("eight.jpg"), w, h, &eight, 95, jpeg::Subsampling::Full, &info).unwrap();
        for name in ["strips.tif", "plain.tif", "no-profile.tif", "eight.jpg"] {
            let whole = read(&place(name), &Limits::default()).unwrap().frame;
            let (encoding, codes) = all(&place(name)).unwrap();
            assert_eq!(encoding.primaries, whole.encoding.primaries, "{name}");
            assert_eq!(encoding.tone.table(16), whole.encoding.tone.table(16), "{name}");
            let wanted: Vec<u16> = match whole.samples {
                Samples::U16(s) => s,
                Samples::U8(s) => s.iter().map(|v| 257 * u16::from(*v)).collect(),
            };
            assert!(codes == wanted, "{name}");
        }
    }

    #[test]
    fn a_damaged_strip_is_an_error_of_the_reader() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("a.tif");
        let (w, h) = (900, 700);
        let info = Info { icc: Some(icc::eci_rgb_v2()), ..Info::default() };
        // Noise does not pack, so that the middle of the file lies in a strip.
        let some = |r: std::ops::Range<usize>| (3 * w * r.start..3 * w * r.end).map(noise).collect();
        tiff::write(&path, w, h, &info, Compression::Deflate, some).unwrap();
        let mut bytes = std::fs::read(&path).unwrap();
        let middle = bytes.len() / 2;
        bytes[middle..middle + 64].fill(0x55);
        std::fs::write(&path, bytes).unwrap();
        let says = all(&path).unwrap_err().to_string();
        assert!(says.contains("a.tif") && says.contains("damaged"), "{says}");
        assert_eq!(read(&path, &Limits::default()).unwrap_err().to_string(), says);
    }
}
