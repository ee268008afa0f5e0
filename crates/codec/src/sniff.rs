//! Detects the format of a file by its content, not by its name.

use crate::source::Source;
use crate::{Error, ifd};
use std::io::{BufReader, Read};
use std::path::Path;

/// A kind of picture file.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Format {
    /// JPEG.
    Jpeg,
    /// PNG.
    Png,
    /// TIFF or BigTIFF with finished pixels.
    Tiff,
    /// Digital negative.
    Dng,
    /// A camera maker's own raw file.
    Raw,
}

impl Format {
    /// The name for people.
    pub fn name(self) -> &'static str {
        match self {
            Self::Jpeg => "JPEG",
            Self::Png => "PNG",
            Self::Tiff => "TIFF",
            Self::Dng => "DNG",
            Self::Raw => "camera raw",
        }
    }

    /// The format that a file name promises, where it promises one.
    pub fn promised_by(path: &Path) -> Option<Self> {
        match path.extension()?.to_str()?.to_ascii_lowercase().as_str() {
            "jpg" | "jpeg" | "jpe" => Some(Self::Jpeg),
            "png" => Some(Self::Png),
            "tif" | "tiff" => Some(Self::Tiff),
            "dng" => Some(Self::Dng),
            _ => None,
        }
    }
}

/// Looks at the first bytes, and at the directory of a TIFF.
pub(crate) fn sniff(source: &Source) -> Result<Format, Error> {
    let path = source.path();
    let mut f = source.reader();
    let mut head = Vec::new();
    f.by_ref().take(4096).read_to_end(&mut head).map_err(|e| Error::unreadable(path, &e))?;
    match head.as_slice() {
        [0xFF, 0xD8, 0xFF, ..] => return Ok(Format::Jpeg),
        [0x89, b'P', b'N', b'G', 0x0D, 0x0A, 0x1A, 0x0A, ..] => return Ok(Format::Png),
        [b'I', b'I', 42 | 43, 0, ..] | [b'M', b'M', 0, 42 | 43, ..] => {
            return Ok(tiff_kind(source));
        }
        _ => {}
    }
    if let Some(what) = known_elsewhere(&head) {
        return Err(Error::unsupported(path, what, "Save it as TIFF, PNG or JPEG first."));
    }
    if is_text(&head) {
        return Err(Error::NotAPicture { path: path.into(), what: "it contains text".into() });
    }
    #[cfg(feature = "raw")]
    if crate::raw::recognises(source) {
        return Ok(Format::Raw);
    }
    Err(Error::NotAPicture { path: path.into(), what: "its first bytes match no known format".into() })
}

/// A TIFF container may hold a camera's mosaic: a DNG says so by its version tag, other raw files by a colour-filter
/// mosaic, by compressions of their own, or by a reduced first picture with sub-directories behind it.
fn tiff_kind(source: &Source) -> Format {
    let Some((mut reader, first)) = ifd::Reader::open(BufReader::new(source.reader())) else { return Format::Tiff };
    let Some((dir, next)) = reader.directory(first) else { return Format::Tiff };
    if dir.has(ifd::DNG_VERSION) {
        return Format::Dng;
    }
    let mosaic = |d: &ifd::Directory| d.uint(ifd::PHOTOMETRIC) == Some(32803) || d.has(ifd::CFA_PATTERN);
    let own_compression =
        |d: &ifd::Directory| matches!(d.uint(ifd::COMPRESSION), Some(6 | 262 | 32767 | 32769 | 32770 | 34713 | 65535));
    let reduced = dir.uint(ifd::SUBFILE_TYPE).is_some_and(|v| v & 1 == 1) && dir.has(ifd::SUB_IFDS);
    let camera = dir.has(ifd::MAKE);
    let subs = dir.uints(ifd::SUB_IFDS).into_iter().take(8).filter_map(|o| reader.directory(o)).collect::<Vec<_>>();
    let later = (next != 0).then(|| reader.directory(next)).flatten();
    let raw_inside = subs.iter().chain(&later).any(|(d, _)| mosaic(d) || (camera && own_compression(d)));
    if mosaic(&dir) || raw_inside || camera && (reduced || own_compression(&dir)) { Format::Raw } else { Format::Tiff }
}

fn known_elsewhere(head: &[u8]) -> Option<&'static str> {
    let at = |i: usize, s: &[u8]| head.get(i..i + s.len()) == Some(s);
    let brand = |list: &[&[u8]]| at(4, b"ftyp") && list.iter().any(|b| at(8, b));
    if at(0, b"GIF8") {
        Some("GIF")
    } else if at(0, b"RIFF") && at(8, b"WEBP") {
        Some("WebP")
    } else if brand(&[
        b"heic", b"heix", b"hevc", b"mif1", b"msf1", b"heim", b"heis", b"hevm", b"hevs", b"mif2", b"miaf",
    ]) {
        Some("HEIF")
    } else if brand(&[b"avif", b"avis"]) {
        Some("AVIF")
    } else if at(0, &[0xFF, 0x0A]) || at(4, b"JXL \r\n\x87\n") {
        Some("JPEG XL")
    } else if at(4, b"jP  \r\n\x87\n") || at(0, &[0xFF, 0x4F, 0xFF, 0x51]) {
        Some("JPEG 2000")
    } else if at(0, b"%PDF") {
        Some("PDF")
    } else if at(0, b"BM")
        && head.get(14..18).is_some_and(|n| matches!(n[0], 12 | 40 | 52 | 56 | 64 | 108 | 124) && n[1..] == [0; 3])
    {
        // The length of its second header.
        Some("BMP")
    } else if at(0, &[0x76, 0x2F, 0x31, 0x01]) {
        Some("OpenEXR")
    } else if at(0, b"#?RADIANCE") || at(0, b"#?RGBE") {
        Some("an HDR picture with shared exponents")
    } else if at(0, b"qoif") {
        Some("QOI")
    } else if at(0, b"farbfeld") {
        Some("farbfeld")
    } else if head.first() == Some(&b'P')
        && head.get(1).is_some_and(|c| (b'1'..=b'7').contains(c))
        && head.get(2).is_some_and(u8::is_ascii_whitespace)
    {
        Some("a portable anymap (PNM)")
    } else if at(0, b"8BPS") {
        Some("a picture with layers")
    } else if at(0, b"DDS ") {
        Some("DDS")
    } else if at(0, &[0, 0, 1, 0]) && head.get(5) == Some(&0) && head.get(4).is_some_and(|n| *n > 0) && at(9, &[0]) {
        Some("an icon")
    } else if is_svg(head) {
        Some("SVG")
    } else {
        None
    }
}

/// A drawing's root element near the file's beginning, behind a declaration or a comment.
fn is_svg(head: &[u8]) -> bool {
    let begins = head.iter().position(|b| !b.is_ascii_whitespace()).is_some_and(|i| head[i] == b'<');
    begins && head.windows(5).any(|w| w[..4] == *b"<svg" && (w[4].is_ascii_whitespace() || w[4] == b'>'))
}

/// True where nearly every byte could be part of written text.
fn is_text(head: &[u8]) -> bool {
    let control = head.iter().filter(|&&b| b < 32 && !matches!(b, b'\t' | b'\n' | b'\r' | 0x0C)).count();
    control == 0 && std::str::from_utf8(head).map_or_else(|e| e.valid_up_to() + 4 > head.len(), |_| true)
        || head.starts_with(&[0xEF, 0xBB, 0xBF])
}
