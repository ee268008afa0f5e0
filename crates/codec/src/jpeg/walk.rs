//! Walks the markers of a JPEG without decoding: size, kind, metadata segments, completeness.

/// What the markers say.
#[derive(Debug, Default)]
pub(super) struct Walk {
    /// The frame header, once met: marker, precision, width, height, components.
    pub frame: Option<FrameHeader>,
    /// Exif block without its mark.
    pub exif: Option<Vec<u8>>,
    /// Standard XMP packet.
    pub xmp: Option<Vec<u8>>,
    /// ICC profile put together from its chunks; absent where a chunk is missing.
    pub icc: Option<Vec<u8>>,
    /// True where the end-of-image marker was met in its place.
    pub complete: bool,
}

/// Start of frame (T.81 B.2.2).
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct FrameHeader {
    /// Low nibble of the marker: 0 and 1 sequential, 2 progressive, others are kinds not read here.
    pub kind: u8,
    pub precision: u8,
    pub width: u16,
    pub height: u16,
    pub components: u8,
}

/// Why a walk stopped.
#[derive(Debug, PartialEq)]
pub(super) enum Stop {
    /// The bytes end inside a segment or scan.
    Short,
    /// No marker where one must be.
    Nonsense,
}

/// Walks to the end of the image, or, for a `header_only` walk, to the first scan.
pub(super) fn walk(data: &[u8], header_only: bool) -> Result<Walk, Stop> {
    let mut walk = Walk::default();
    let mut chunks: Vec<Option<&[u8]>> = Vec::new();
    let mut at = 2;
    loop {
        let marker = next_marker(data, &mut at)?;
        match marker {
            0xD9 => {
                walk.complete = true;
                break;
            }
            // Markers without a segment: restart, start of image, TEM.
            0xD0..=0xD8 | 0x01 => continue,
            _ => {}
        }
        let length =
            usize::from(u16::from_be_bytes([*data.get(at).ok_or(Stop::Short)?, *data.get(at + 1).ok_or(Stop::Short)?]));
        let body = data.get(at + 2..at + length.max(2)).ok_or(Stop::Short)?;
        at += length.max(2);
        match marker {
            0xC0..=0xC3 | 0xC5..=0xC7 | 0xC9..=0xCB | 0xCD..=0xCF => {
                let &[precision, h1, h0, w1, w0, components, ..] = body else { return Err(Stop::Nonsense) };
                let (width, height) = (u16::from_be_bytes([w1, w0]), u16::from_be_bytes([h1, h0]));
                let header = FrameHeader { kind: marker & 15, precision, width, height, components };
                walk.frame.get_or_insert(header);
            }
            0xE1 => {
                if let Some(block) = body.strip_prefix(b"Exif\0\0") {
                    walk.exif.get_or_insert_with(|| block.to_vec());
                } else if let Some(packet) = body.strip_prefix(b"http://ns.adobe.com/xap/1.0/\0") {
                    walk.xmp.get_or_insert_with(|| packet.to_vec());
                }
            }
            // ICC.1:2022 annex B.4: chunk number from 1, count, then data.
            0xE2 => {
                if let Some([number, count, part @ ..]) = body.strip_prefix(b"ICC_PROFILE\0")
                    && (1..=*count).contains(number)
                {
                    chunks.resize(chunks.len().max(usize::from(*count)), None);
                    chunks[usize::from(*number) - 1] = Some(part);
                }
            }
            0xDA if header_only => break,
            0xDA => skip_scan(data, &mut at)?,
            _ => {}
        }
    }
    if !chunks.is_empty() {
        walk.icc = chunks.into_iter().collect::<Option<Vec<_>>>().map(|parts| parts.concat());
    }
    Ok(walk)
}

/// Moves past fill and stray bytes to the code of the next marker.
pub(super) fn next_marker(data: &[u8], at: &mut usize) -> Result<u8, Stop> {
    // Some writers leave a few stray bytes between segments; more than this is not a JPEG any more.
    const STRAY: usize = 4096;
    let start = *at;
    loop {
        let window = data.get(*at..).ok_or(Stop::Short)?;
        let skip = window.iter().position(|&b| b == 0xFF).ok_or(Stop::Short)?;
        *at += skip + 1;
        while data.get(*at) == Some(&0xFF) {
            *at += 1;
        }
        let code = *data.get(*at).ok_or(Stop::Short)?;
        *at += 1;
        if code != 0 {
            return Ok(code);
        }
        if *at - start > STRAY {
            return Err(Stop::Nonsense);
        }
    }
}

/// Moves past entropy-coded data: to the 0xFF of the next marker that is neither stuffing nor a restart.
fn skip_scan(data: &[u8], at: &mut usize) -> Result<(), Stop> {
    loop {
        let rest = data.get(*at..).ok_or(Stop::Short)?;
        let i = rest.iter().position(|&b| b == 0xFF).ok_or(Stop::Short)?;
        match rest.get(i + 1) {
            None => return Err(Stop::Short),
            Some(0 | 0xD0..=0xD7) => *at += i + 2,
            Some(0xFF) => *at += i + 1,
            Some(_) => {
                *at += i;
                return Ok(());
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Laid out by hand after T.81 annex B: start, frame header, one scan with stuffing and a restart, end.
    const SMALL: &[u8] = &[
        0xFF, 0xD8, 0xFF, 0xC0, 0, 11, 8, 0, 5, 0, 7, 1, 1, 0x11, 0, 0xFF, 0xDA, 0, 8, 1, 1, 0, 0, 63, 0, 0x12, 0xFF,
        0, 0x34, 0xFF, 0xD0, 0x56, 0xFF, 0xD9,
    ];

    #[test]
    fn the_end_must_be_there() {
        let w = walk(SMALL, false).unwrap();
        assert!(w.complete);
        let frame = FrameHeader { kind: 0, precision: 8, width: 7, height: 5, components: 1 };
        assert_eq!(w.frame, Some(frame));
        for n in 2..SMALL.len() {
            assert_eq!(walk(&SMALL[..n], false).err(), Some(Stop::Short), "{n}");
        }
        assert!(walk(&SMALL[..24], true).is_err() && walk(&SMALL[..25], true).is_ok());
    }
}
