//! Camera metadata of a picture.

use crate::ifd::{self, Directory, Ifd, Reader, Value};
use std::io::{Cursor, Read, Seek};

/// Camera metadata; absent fields were not in the file.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Metadata {
    /// Camera maker.
    pub make: Option<String>,
    /// Camera model.
    pub model: Option<String>,
    /// Lens model.
    pub lens: Option<String>,
    /// Exposure time in seconds.
    pub exposure_s: Option<f64>,
    /// f-number as set.
    pub f_number: Option<f64>,
    /// ISO speed.
    pub iso: Option<u32>,
    /// Focal length in mm.
    pub focal_length_mm: Option<f64>,
    /// Focal length of a lens of the same view on 36 mm wide film, mm.
    pub focal_length_35_mm: Option<f64>,
    /// True where the camera says that its flash fired, false where it says that it did not.
    pub flash_fired: Option<bool>,
    /// Date and time of the exposure as the camera wrote it, `YYYY:MM:DD HH:MM:SS`.
    pub taken: Option<String>,
    /// What else the camera says of that moment, by Exif tag: when it was digitised, sub-seconds, offsets from UTC
    /// ([`crate::exif::CLOCK`]).
    pub clock: Vec<(u16, String)>,
    /// Who took it, as the camera was told.
    pub artist: Option<String>,
    /// Who holds the rights, as the camera was told.
    pub copyright: Option<String>,
    /// Orientation tag, 1 to 8 (Exif 2.32 section 4.6.4). Never applied here.
    pub orientation: Option<u16>,
    /// Pixel pitch on the sensor in micrometres, where the focal-plane resolution tells it.
    pub pixel_pitch_um: Option<f64>,
    /// Stated resolution in pixels per mm. Cameras write an empty figure; finished files a true one.
    pub px_per_mm: Option<f64>,
    /// Picture description.
    pub description: Option<String>,
    /// The whole Exif block (a small TIFF). From TIFF and DNG, rebuilt of the directory's words without maker notes.
    pub exif: Option<Vec<u8>>,
    /// XMP packet as stored.
    pub xmp: Option<Vec<u8>>,
}

impl Metadata {
    /// From an Exif block as JPEG and PNG carry it; a leading "Exif" mark is allowed. An unreadable block gives nothing
    /// but its bytes.
    pub(crate) fn from_exif(block: &[u8]) -> Self {
        let block = block.strip_prefix(b"Exif\0\0").unwrap_or(block);
        let mut meta = Self::from_reader(Cursor::new(block)).map(|(m, _)| m).unwrap_or_default();
        meta.exif = Some(block.to_vec());
        meta
    }

    /// From a TIFF or DNG file; gives its first directory as well.
    pub(crate) fn from_reader(source: impl Read + Seek) -> Option<(Self, Directory)> {
        let (mut reader, first) = Reader::open(source)?;
        let (main, _) = reader.directory(first)?;
        let exif = main.uint(ifd::EXIF).and_then(|o| reader.directory(o)).map(|(d, _)| d).unwrap_or_default();
        let mut meta = Self::from_directories(&main, &exif);
        meta.exif = rebuilt(&main, &exif);
        meta.xmp = main.bytes(ifd::XMP).map(<[u8]>::to_vec);
        Some((meta, main))
    }

    fn from_directories(main: &Directory, exif: &Directory) -> Self {
        let either = |f: &dyn Fn(&Directory) -> Option<f64>| f(exif).or_else(|| f(main)).filter(|v| *v > 0.0);
        let mm_per_unit = |unit: Option<u64>| match unit {
            Some(3) => 10.0,
            Some(4) => 1.0,
            Some(5) => 0.001,
            _ => 25.4,
        };
        // Unit 1 of the main directory means "no unit", that is, an aspect ratio.
        let stated = main.uint(ifd::RESOLUTION_UNIT) != Some(1);
        Self {
            make: main.text(ifd::MAKE),
            model: main.text(ifd::MODEL),
            lens: exif.text(ifd::LENS_MODEL).or_else(|| main.text(ifd::LENS_MODEL)),
            exposure_s: either(&|d| d.real(ifd::EXPOSURE)),
            f_number: either(&|d| d.real(ifd::F_NUMBER)),
            iso: either(&|d| d.real(ifd::ISO)).map(|v| v as u32),
            focal_length_mm: either(&|d| d.real(ifd::FOCAL_LENGTH)),
            focal_length_35_mm: either(&|d| d.real(ifd::FOCAL_LENGTH_35)),
            flash_fired: exif.uint(ifd::FLASH).map(|v| v & 1 == 1),
            taken: exif.text(ifd::DATE_ORIGINAL).or_else(|| main.text(ifd::DATE_ORIGINAL)),
            clock: crate::exif::CLOCK.iter().filter_map(|t| Some((*t, exif.text(*t)?))).collect(),
            artist: main.text(ifd::ARTIST),
            copyright: main.text(ifd::COPYRIGHT),
            orientation: main.uint(ifd::ORIENTATION).filter(|v| (1..=8).contains(v)).map(|v| v as u16),
            pixel_pitch_um: either(&|d| d.real(ifd::FOCAL_PLANE_X))
                .map(|r| 1000.0 * mm_per_unit(exif.uint(ifd::FOCAL_PLANE_UNIT)) / r),
            px_per_mm: main
                .real(ifd::X_RESOLUTION)
                .filter(|r| *r > 0.0 && stated)
                .map(|r| r / mm_per_unit(main.uint(ifd::RESOLUTION_UNIT))),
            description: main.text(ifd::DESCRIPTION),
            exif: None,
            xmp: None,
        }
    }
}

/// A compact Exif block of a file whose directory also holds pixels: the words only.
fn rebuilt(main: &Directory, exif: &Directory) -> Option<Vec<u8>> {
    use ifd::{ARTIST, COPYRIGHT, DATE_TIME, DESCRIPTION, MAKE, MODEL, ORIENTATION, SOFTWARE};
    let words = [DESCRIPTION, MAKE, MODEL, ORIENTATION, SOFTWARE, DATE_TIME, ARTIST, COPYRIGHT];
    let mut out = Ifd::default();
    for (tag, value) in main.copied(|t| words.contains(&t)) {
        out.set(tag, value);
    }
    let mut sub = Ifd::default();
    // Maker notes hold offsets into their own file and would dangle.
    for (tag, value) in exif.copied(|t| t != ifd::MAKER_NOTE && t != ifd::INTEROP) {
        sub.set(tag, value);
    }
    if !sub.is_empty() {
        out.set(ifd::EXIF, Value::Sub(sub));
    }
    (!out.is_empty()).then(|| ifd::block(&out))
}
