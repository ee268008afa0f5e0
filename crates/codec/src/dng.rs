//! Writes a Bayer mosaic as a plain DNG (specification 1.4 and later): one directory, uncompressed, for tests and the demo.

use crate::ifd::{self, Ifd, Value, rational};
use crate::raw::Mosaic;
use crate::{Error, exif, file};
use std::io::{self, Write};
use std::path::Path;

/// Bytes of a strip, about: what readers like to take at once.
const STRIP_BYTES: usize = 1 << 20;

/// Writes `mosaic` losslessly, 16 bits a reading.
///
/// # Errors
/// [`Error::Write`] where the disk refuses, or the mosaic would pass 4 GiB.
pub fn write(path: &Path, mosaic: &Mosaic) -> Result<(), Error> {
    let row_bytes = 2 * mosaic.width;
    let rows_per_strip = (STRIP_BYTES / row_bytes.max(1)).clamp(1, mosaic.height.max(1));
    file::write_beside(path, |out| {
        let total = row_bytes as u64 * mosaic.height as u64;
        if total == 0 || total > u64::from(u32::MAX) - STRIP_BYTES as u64 {
            return Err(io::Error::other("a DNG of this size cannot be made"));
        }
        let directory_at = 8 + total as u32;
        out.write_all(b"II\x2A\0")?;
        out.write_all(&directory_at.to_le_bytes())?;
        for row in mosaic.samples.chunks_exact(mosaic.width) {
            let bytes: Vec<u8> = row.iter().flat_map(|v| v.to_le_bytes()).collect();
            out.write_all(&bytes)?;
        }
        out.write_all(&directory(mosaic, rows_per_strip).bytes(directory_at))
    })
}

fn directory(m: &Mosaic, rows_per_strip: usize) -> Ifd {
    let starts: Vec<usize> = (0..m.height).step_by(rows_per_strip).collect();
    let offsets = starts.iter().map(|y| (8 + 2 * m.width * y) as u32).collect();
    let counts = starts.iter().map(|y| (2 * m.width * rows_per_strip.min(m.height - y)) as u32).collect();
    let mut d = Ifd::default();
    d.set(ifd::SUBFILE_TYPE, Value::Long(vec![0]))
        .set(ifd::WIDTH, Value::Long(vec![m.width as u32]))
        .set(ifd::HEIGHT, Value::Long(vec![m.height as u32]))
        .set(ifd::BITS, Value::Short(vec![16]))
        .set(ifd::COMPRESSION, Value::Short(vec![1]))
        .set(ifd::PHOTOMETRIC, Value::Short(vec![32803]))
        .set(ifd::STRIP_OFFSETS, Value::Long(offsets))
        .set(ifd::SAMPLES, Value::Short(vec![1]))
        .set(ifd::ROWS_PER_STRIP, Value::Long(vec![rows_per_strip as u32]))
        .set(ifd::STRIP_COUNTS, Value::Long(counts))
        .set(ifd::PLANAR, Value::Short(vec![1]))
        .set(ifd::CFA_REPEAT, Value::Short(vec![2, 2]))
        .set(ifd::CFA_PATTERN, Value::Byte(m.pattern.concat()));
    words(&mut d, m);
    sensor(&mut d, m);
    d
}

fn words(d: &mut Ifd, m: &Mosaic) {
    let meta = &m.metadata;
    let text = |s: &Option<String>| s.clone().map(Value::Ascii);
    d.set_some(ifd::MAKE, text(&meta.make)).set_some(ifd::MODEL, text(&meta.model));
    d.set_some(ifd::DESCRIPTION, text(&meta.description));
    d.set(ifd::ORIENTATION, Value::Short(vec![meta.orientation.unwrap_or(1)]));
    d.set(ifd::EXIF, Value::Sub(exif::shot(Some(meta))));
    let name = [meta.make.as_deref(), meta.model.as_deref()].into_iter().flatten().collect::<Vec<_>>().join(" ");
    // UniqueCameraModel is required.
    d.set(50708, Value::Ascii(if name.is_empty() { "Unknown camera".into() } else { name }));
}

/// What a reader needs to make light of the readings (DNG 1.7, chapter 4).
fn sensor(d: &mut Ifd, m: &Mosaic) {
    let black = m.black.concat().iter().map(|b| rational(f64::from(*b))).collect();
    d.set(ifd::DNG_VERSION, Value::Byte(vec![1, 4, 0, 0]))
        .set(50707, Value::Byte(vec![1, 1, 0, 0])) // oldest reader that will do
        .set(50710, Value::Byte(vec![0, 1, 2])) // plane colours: red, green, blue
        .set(50711, Value::Short(vec![1])) // rectangular layout
        .set(50713, Value::Short(vec![2, 2])) // black repeats 2 x 2
        .set(50714, Value::Rational(black))
        .set(50717, Value::Long(vec![m.white as u32]))
        .set(50728, Value::Rational(m.as_shot.iter().map(|g| rational(1.0 / f64::from(*g))).collect()));
    if let Some(c) = &m.colours {
        // Ten-thousandths, as cameras state them.
        let tenth = |v: f64| ((v * 10_000.0).round() as i32, 10_000);
        d.set(50721, Value::SRational(c.camera_from_xyz.as_flattened().iter().map(|v| tenth(*v)).collect()));
        // 21: D65, 23: D50 (Exif light sources).
        let d50 = (c.white[2] - pixels::D50[2]).abs() < 0.01;
        d.set(50778, Value::Short(vec![if d50 { 23 } else { 21 }]));
    }
}
