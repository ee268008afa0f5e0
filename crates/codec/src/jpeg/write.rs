//! Encodes 8-bit RGB to JPEG with its profile, Exif, XMP and density.

use crate::{Error, Info, exif, file};
use jpeg_encoder::{ColorType, Encoder, EncodingError, PixelDensity, PixelDensityUnit, SamplingFactor};
use std::io;
use std::path::Path;

/// How finely colour is sampled against lightness.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Subsampling {
    /// 4:4:4, every pixel.
    #[default]
    Full,
    /// 4:2:2, every second pixel across.
    Half,
    /// 4:2:0, every second pixel both ways.
    Quarter,
}

/// Writes `rgb` (`3 * width * height` code values) at `quality` 1 to 100.
///
/// # Errors
/// [`Error::TooLarge`] over 65,535 px a side (the format's limit), [`Error::Write`] where the disk refuses.
pub fn write(
    path: &Path,
    width: usize,
    height: usize,
    rgb: &[u8],
    quality: u8,
    subsampling: Subsampling,
    info: &Info,
) -> Result<(), Error> {
    let size = sides(path, width, height)?;
    file::write_beside(path, |out| encode_to(out, size, rgb, quality, subsampling, Some(info)))
}

/// Encodes `rgb` as [`write`] does, into memory; without `info` the bare picture, as a tile of a larger one is.
///
/// # Errors
/// As [`write`]; nothing is written, so the error names no file.
pub fn encode(
    width: usize,
    height: usize,
    rgb: &[u8],
    quality: u8,
    subsampling: Subsampling,
    info: Option<&Info>,
) -> Result<Vec<u8>, Error> {
    let nowhere = Path::new("");
    let size = sides(nowhere, width, height)?;
    // A quarter of a byte for each code value: more than most pictures take, so that the buffer seldom grows.
    let mut out = Vec::with_capacity(rgb.len() / 4 + 1024);
    encode_to(&mut out, size, rgb, quality, subsampling, info).map_err(|e| Error::write(nowhere, &e))?;
    Ok(out)
}

fn sides(path: &Path, width: usize, height: usize) -> Result<(u16, u16), Error> {
    let side = |n: usize| {
        u16::try_from(n).map_err(|_| Error::TooLarge {
            path: path.into(),
            what: format!("the picture is {width} x {height} px"),
            limit: "65535 px a side, the maximum of JPEG".into(),
        })
    };
    Ok((side(width)?, side(height)?))
}

fn encode_to(
    out: impl io::Write,
    (w, h): (u16, u16),
    rgb: &[u8],
    quality: u8,
    subsampling: Subsampling,
    info: Option<&Info>,
) -> io::Result<()> {
    let mut encoder = Encoder::new(out, quality.clamp(1, 100));
    encoder.set_sampling_factor(match subsampling {
        Subsampling::Full => SamplingFactor::F_1_1,
        Subsampling::Half => SamplingFactor::F_2_1,
        Subsampling::Quarter => SamplingFactor::F_2_2,
    });
    if let Some(r) = info.and_then(|i| i.px_per_mm) {
        let per_inch = (r * 25.4).round().clamp(1.0, 65535.0) as u16;
        encoder.set_density(PixelDensity { density: (per_inch, per_inch), unit: PixelDensityUnit::Inches });
    }
    let marked = info.map_or(Ok(()), |info| segments(&mut encoder, info, w, h));
    marked.and_then(|()| encoder.encode(rgb, w, h, ColorType::Rgb)).map_err(|e| match e {
        EncodingError::IoError(e) => e,
        other => io::Error::other(other.to_string()),
    })
}

fn segments<W: jpeg_encoder::JfifWrite>(
    encoder: &mut Encoder<W>,
    info: &Info,
    w: u16,
    h: u16,
) -> Result<(), EncodingError> {
    encoder.add_exif_metadata(&exif::block(info, w.into(), h.into()))?;
    if let Some(xmp) = &info.xmp {
        // A segment holds 65,533 bytes; a longer packet belongs in a sidecar.
        let segment = [b"http://ns.adobe.com/xap/1.0/\0", xmp.as_slice()].concat();
        encoder.add_app_segment(1, segment)?;
    }
    if let Some(profile) = &info.icc {
        encoder.add_icc_profile(profile)?;
    }
    Ok(())
}
