//! Detects whether a file that is still being written is complete, if its format allows it.

use crate::ifd::{self, Reader};
use crate::source::{self, Source};
use std::io::{BufReader, Read, Seek, SeekFrom};
use std::path::Path;

/// Directories followed: raw files have under ten.
const MOST: usize = 32;
/// So many bytes of nothing at the end of what a file names are room that was set aside, not pixels.
const TAIL: u64 = 16;

/// True if a file is complete: a JPEG by its end marker (ISO/IEC 10918-1, B.1.1.3); TIFF and TIFF-based raw files if every strip, tile
/// and preview of their directories (TIFF 6.0 section 2; tiles, section 15) is in the file and the last of them is not empty. False
/// otherwise, and for formats that cannot tell.
pub fn is_whole(path: &Path) -> bool {
    Source::open(path).is_ok_and(|source| whole(&source))
}

/// The same of an opened file.
pub(crate) fn whole(source: &Source) -> bool {
    let (mut file, length) = (BufReader::new(source.reader()), source.length());
    let mut two = [0; 2];
    if file.read_exact(&mut two).is_err() {
        return false;
    }
    match two {
        [0xFF, 0xD8] => ends(&mut file, 2).is_some_and(|last| last == [0xFF, 0xD9]),
        [b'I', b'I'] | [b'M', b'M'] => {
            let end = file.rewind().ok().and_then(|()| named(&mut file));
            end.is_some_and(|end| {
                end <= length && ends_at(&mut file, end, TAIL).is_some_and(|t| t.iter().any(|b| *b != 0))
            })
        }
        _ => false,
    }
}

/// Where the last strip, tile or preview ends that a file's directories name; nothing where one of them cannot be read.
fn named(file: &mut BufReader<source::Reader>) -> Option<u64> {
    let (mut reader, first) = Reader::open(file)?;
    let (mut open, mut seen, mut end) = (vec![first], vec![], None);
    while let Some(at) = open.pop() {
        if at == 0 || seen.contains(&at) {
            continue;
        }
        seen.push(at);
        let (directory, next) = reader.directory(at).filter(|_| seen.len() <= MOST)?;
        if !directory.cut().is_empty() {
            return None;
        }
        open.push(next);
        open.extend(directory.uints(ifd::SUB_IFDS).into_iter().take(MOST));
        for (offsets, counts) in [
            (ifd::STRIP_OFFSETS, ifd::STRIP_COUNTS),
            (ifd::TILE_OFFSETS, ifd::TILE_COUNTS),
            (ifd::PREVIEW, ifd::PREVIEW_COUNT),
        ] {
            for (offset, count) in directory.uints(offsets).into_iter().zip(directory.uints(counts)) {
                end = end.max(Some(offset.checked_add(count)?));
            }
        }
    }
    end
}

/// The last `n` bytes of a file.
fn ends(file: &mut BufReader<source::Reader>, n: u64) -> Option<Vec<u8>> {
    let end = file.seek(SeekFrom::End(0)).ok()?;
    ends_at(file, end, n)
}

/// The `n` bytes before a place in a file.
fn ends_at(file: &mut BufReader<source::Reader>, end: u64, n: u64) -> Option<Vec<u8>> {
    let mut bytes = vec![0; n as usize];
    file.seek(SeekFrom::Start(end.checked_sub(n)?)).ok()?;
    file.read_exact(&mut bytes).ok()?;
    Some(bytes)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::tiff::{Compression, write};
    use crate::{Info, jpeg};

    /// Cut anywhere, or with room set aside that nothing was written to, a file is not whole.
    #[test]
    fn only_a_whole_file_is_whole() {
        let folder = tempfile::tempdir().unwrap();
        let (tiff, jpg) = (folder.path().join("a.tif"), folder.path().join("a.jpg"));
        let (w, h) = (90, 70);
        let rows = |r: std::ops::Range<usize>| (3 * w * r.start..3 * w * r.end).map(|i| (i * 7919) as u16).collect();
        write(&tiff, w, h, &Info::default(), Compression::Deflate, rows).unwrap();
        jpeg::write(&jpg, w, h, &vec![90; 3 * w * h], 90, jpeg::Subsampling::Full, &Info::default()).unwrap();
        for place in [&tiff, &jpg] {
            assert!(is_whole(place), "{place:?}");
            let bytes = std::fs::read(place).unwrap();
            let part = folder.path().join("part");
            for n in [1, 2, 8, bytes.len() / 3, bytes.len() - 200] {
                std::fs::write(&part, &bytes[..n]).unwrap();
                assert!(!is_whole(&part), "{place:?} cut to {n}");
                // Its whole length set aside.
                std::fs::File::options().write(true).open(&part).unwrap().set_len(bytes.len() as u64).unwrap();
                assert!(!is_whole(&part), "{place:?} written to {n}");
            }
        }
        std::fs::write(&tiff, b"RIFF of another kind").unwrap();
        assert!(!is_whole(&tiff) && !is_whole(folder.path()) && !is_whole(&folder.path().join("none")));
    }
}
