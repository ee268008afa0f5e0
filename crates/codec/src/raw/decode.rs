//! Unpacks raw files with a decoder library. The library is not trusted: sizes and extents are checked first, and panics are contained.

use super::pattern::Pattern;
use super::readings::{Black, DEVELOP, Kind, Readings, Values, cropped};
use super::{CameraColours, D55, INCANDESCENT, plain};
use crate::ifd::{self, Directory, Reader};
use crate::limits::check_claim;
use crate::source::Source;
use crate::{Error, Format, Limits, Metadata, Unpacked, file};
use pixels::{D50, D65};
use rawler::decoders::{Decoder, RawDecodeParams};
use rawler::imgop::xyz::Illuminant;
use rawler::rawimage::{RawImage, RawImageData, RawPhotometricInterpretation};
use rawler::rawsource::RawSource;
use std::io::BufReader;
use std::path::Path;
use std::sync::Arc;

/// True where the decoder library knows the file.
pub(crate) fn recognises(source: &Source) -> bool {
    file::contain(source.path(), || open(source).map(|_| ())).is_ok()
}

/// Size of the picture area and the camera's words, without unpacking pixels.
pub(crate) fn probe(source: &Source) -> Result<((usize, usize), Metadata), Error> {
    let path = source.path();
    let (raw, decoder) = open(source)?;
    let metadata = metadata(source, &raw, &*decoder);
    if let Some(size) =
        check_container(source, &Limits { max_pixels: u64::MAX, max_side: u32::MAX, max_bytes: u64::MAX })?
    {
        return Ok((size, metadata));
    }
    let image = decoder.raw_image(&raw, &RawDecodeParams::default(), true).map_err(|e| failed(path, &e))?;
    let [_, _, w, h] = area(&image);
    Ok(((w, h), metadata))
}

/// A raw file's readings, or its picture where the sensor has no usual mosaic.
pub(crate) fn unpack(source: &Source, format: Format, limits: &Limits) -> Result<Unpacked, Error> {
    if let Some(ours) = ours(source, format, limits)? {
        return Ok(ours);
    }
    let (image, metadata) = image(source, limits)?;
    readings(source.path(), image)?.unpacked(source.path(), format, metadata)
}

/// What is read without the library; nothing where that must read it.
pub(crate) fn ours(source: &Source, format: Format, limits: &Limits) -> Result<Option<Unpacked>, Error> {
    check_container(source, limits)?;
    let read = plain::read(source, limits)?;
    read.map(|(readings, metadata)| readings.unpacked(source.path(), format, metadata)).transpose()
}

/// Opens the file's bytes with the library. They are read and not mapped: a file that grows shorter meanwhile, as on a card
/// that is pulled out, ends a process that has mapped it.
fn open(source: &Source) -> Result<(RawSource, Box<dyn Decoder>), Error> {
    let bytes = source.bytes(MAX_FILE)?;
    let raw = RawSource::new_from_shared_vec(Arc::new(bytes));
    let decoder = rawler::get_decoder(&raw).map_err(|e| failed(source.path(), &e))?;
    Ok((raw, decoder))
}

fn image(source: &Source, limits: &Limits) -> Result<(RawImage, Metadata), Error> {
    let path = source.path();
    let sized = check_container(source, limits)?.is_some();
    let (raw, decoder) = open(source)?;
    if !sized {
        // Not a TIFF inside: the library tells the size without unpacking.
        let image = decoder.raw_image(&raw, &RawDecodeParams::default(), true).map_err(|e| failed(path, &e))?;
        limits.check(path, image.width as u64, image.height as u64, BYTES_PER_PX)?;
        check_claim(source, image.width as u64, image.height as u64)?;
    }
    let image = decoder.raw_image(&raw, &RawDecodeParams::default(), false).map_err(|e| failed(path, &e))?;
    limits.check(path, image.width as u64, image.height as u64, BYTES_PER_PX)?;
    let metadata = metadata(source, &raw, &*decoder);
    Ok((image, metadata))
}

/// Bytes of a raw file that are read. The largest sensor's file without compression is a third of it (150 MP, 16 bits).
const MAX_FILE: u64 = 1 << 30;

/// The mosaic and the developed frame beside it.
const BYTES_PER_PX: u64 = 2 + 6;

/// Checks every directory of a TIFF container against the limits and the file's length. Gives the size of the sensor's
/// picture area where the container states it (a DNG does), `None` where the file is no TIFF or does not say.
fn check_container(source: &Source, limits: &Limits) -> Result<Option<(usize, usize)>, Error> {
    let (path, length) = (source.path(), source.length());
    let Some((mut reader, first)) = Reader::open(BufReader::new(source.reader())) else { return Ok(None) };
    let Some((main, next)) = reader.directory(first) else { return Err(Error::truncated(path)) };
    let mut directories = vec![main];
    for offset in directories[0].uints(ifd::SUB_IFDS).into_iter().take(16) {
        directories.extend(reader.directory(offset).map(|(d, _)| d));
    }
    directories.extend((next != 0).then(|| reader.directory(next)).flatten().map(|(d, _)| d));
    let mut size = None;
    for d in &directories {
        if let Some((w, h)) = d.uint(ifd::WIDTH).zip(d.uint(ifd::HEIGHT)) {
            limits.check(path, w, h, BYTES_PER_PX)?;
            check_claim(source, w, h)?;
        }
        if past_the_end(d, length) {
            return Err(Error::truncated(path));
        }
        if matches!(d.uint(ifd::PHOTOMETRIC), Some(32803 | 34892)) && directories[0].has(ifd::DNG_VERSION) {
            size = size.or(picture_area(d));
        }
    }
    Ok(size)
}

/// True where a strip or tile of the directory reaches past the file's end.
fn past_the_end(d: &Directory, length: u64) -> bool {
    [(ifd::STRIP_OFFSETS, ifd::STRIP_COUNTS), (ifd::TILE_OFFSETS, ifd::TILE_COUNTS)]
        .iter()
        .any(|&(at, count)| d.uints(at).iter().zip(d.uints(count)).any(|(o, n)| o.saturating_add(n) > length))
}

/// Default crop (50720), else active area (50829: top, left, bottom, right), else the whole (DNG 1.7).
fn picture_area(d: &Directory) -> Option<(usize, usize)> {
    let pair = |v: &[u64]| (v[0] as usize, v[1] as usize);
    let crop = d.reals(50720).into_iter().map(|v| v as u64).collect::<Vec<_>>();
    let active = d.uints(50829);
    match (crop.as_slice(), active.as_slice()) {
        ([_, _], _) => Some(pair(&crop)),
        (_, [top, left, bottom, right]) if bottom > top && right > left => {
            Some(((right - left) as usize, (bottom - top) as usize))
        }
        _ => d.uint(ifd::WIDTH).zip(d.uint(ifd::HEIGHT)).map(|(w, h)| (w as usize, h as usize)),
    }
}

/// Left, top, width, height of the recommended crop, else of the area with light, kept inside the picture.
fn area(image: &RawImage) -> [usize; 4] {
    let whole = [0, 0, image.width, image.height];
    let Some(r) = image.crop_area.or(image.active_area) else { return whole };
    let fits = r.p.x + r.d.w <= image.width && r.p.y + r.d.h <= image.height && r.d.w > 1 && r.d.h > 1;
    if fits { [r.p.x, r.p.y, r.d.w, r.d.h] } else { whole }
}

fn readings(path: &Path, image: RawImage) -> Result<Readings, Error> {
    let [x0, y0, width, height] = area(&image);
    let kind = match (&image.photometric, image.cpp) {
        (RawPhotometricInterpretation::Cfa(cfa), 1) => {
            let (w, h) = (cfa.cfa.width, cfa.cfa.height);
            let places = (0..h).flat_map(|y| (0..w).map(move |x| (x, y)));
            let colours = places.map(|(x, y)| cfa.cfa.color_at(y + y0, x + x0) as u8).collect();
            Kind::Mosaic(Pattern { width: w, height: h, colours })
        }
        (_, 1) => Kind::Grey,
        (_, 3) => Kind::Colours,
        (_, n) => {
            let what = format!("a raw file of {n} channels");
            return Err(Error::unsupported(path, what, "Develop it to TIFF first."));
        }
    };
    let black = black(&image, x0, y0);
    let white = image.whitelevel.0.iter().min().map_or(65535.0, |w| *w as f32);
    let (as_shot, colours) = (balance(&image), colours(&image));
    let row = image.cpp * image.width;
    let place = [image.cpp * x0, y0, image.cpp * width, height];
    let short = || Error::damaged(path, "it has fewer pixels than it states");
    let (values, white) = match image.data {
        RawImageData::Integer(v) if v.len() == row * image.height => (Values::Whole(cropped(v, row, place)), white),
        // Floating-point readings are full at 1 unless the file says otherwise (DNG 1.7, WhiteLevel); the library then says
        // the largest whole number.
        RawImageData::Float(v) if v.len() == row * image.height => {
            (Values::Float(cropped(v, row, place)), if white > 65535.0 { 1.0 } else { white })
        }
        _ => return Err(short()),
    };
    Ok(Readings { width, height, kind, values, black, white, as_shot, colours })
}

/// Black levels repeat from the corner of the area with light.
fn black(image: &RawImage, x0: usize, y0: usize) -> Black {
    let (width, height) = (image.blacklevel.width.max(1), image.blacklevel.height.max(1));
    let origin = image.active_area.map_or((0, 0), |r| (r.p.x, r.p.y));
    let from = (x0.saturating_sub(origin.0), y0.saturating_sub(origin.1));
    Black { levels: image.blacklevel.as_vec(), width, height, channels: image.blacklevel.cpp.max(1), from }
}

/// As-shot gains with green 1; none where the camera wrote none.
fn balance(image: &RawImage) -> [f32; 3] {
    let [r, g, b, _] = image.wb_coeffs;
    let ok = [r, g, b].iter().all(|v| v.is_finite() && *v > 0.0);
    if ok { [r / g, 1.0, b / g] } else { [1.0; 3] }
}

/// The matrix nearest to daylight among those in the file.
fn colours(image: &RawImage) -> Option<CameraColours> {
    let known = [
        (Illuminant::D65, D65),
        (Illuminant::D50, D50),
        (Illuminant::D55, D55),
        (Illuminant::Flash, D55),
        (Illuminant::Daylight, D55),
        (Illuminant::FineWeather, D55),
        (Illuminant::A, INCANDESCENT),
        (Illuminant::Tungsten, INCANDESCENT),
        (Illuminant::Unknown, D65),
    ];
    let (m, white) = known.iter().find_map(|(i, white)| Some((image.color_matrix.get(i)?, *white)))?;
    CameraColours::of(&m.iter().map(|v| f64::from(*v)).collect::<Vec<_>>(), white)
}

/// The camera's words: by our own reader where the container is a TIFF, filled up by the library's.
fn metadata(source: &Source, raw: &RawSource, decoder: &dyn Decoder) -> Metadata {
    let own = Metadata::from_reader(BufReader::new(source.reader()));
    let mut m = own.map(|(m, _)| m).unwrap_or_default();
    let Ok(theirs) = decoder.raw_metadata(raw, &RawDecodeParams::default()) else { return m };
    let e = theirs.exif;
    let ratio = |r: Option<rawler::formats::tiff::Rational>| {
        r.map(|r| f64::from(r.n) / f64::from(r.d)).filter(|v| v.is_finite() && *v > 0.0)
    };
    let word = |s: String| Some(s.trim().to_string()).filter(|s| !s.is_empty());
    m.make = m.make.or_else(|| word(theirs.make));
    m.model = m.model.or_else(|| word(theirs.model));
    m.lens = m.lens.or(e.lens_model);
    m.exposure_s = m.exposure_s.or(ratio(e.exposure_time));
    m.f_number = m.f_number.or(ratio(e.fnumber));
    m.focal_length_mm = m.focal_length_mm.or(ratio(e.focal_length));
    m.iso = m.iso.or(e.iso_speed).or(e.iso_speed_ratings.map(u32::from));
    m.taken = m.taken.or(e.date_time_original);
    m.artist = m.artist.or(e.artist);
    m.copyright = m.copyright.or(e.copyright);
    m.orientation = m.orientation.or(e.orientation).filter(|o| (1..=8).contains(o));
    m.flash_fired = m.flash_fired.or(e.flash.map(|v| v & 1 == 1));
    m
}

fn failed(path: &Path, e: &rawler::RawlerError) -> Error {
    let kind = |what: &str| Error::unsupported(path, format!("this kind of raw file ({what})"), DEVELOP);
    match e {
        rawler::RawlerError::Unsupported { what, .. } => kind(what),
        // The library's word for what it was never taught.
        other if other.to_string().to_lowercase().contains("unsupported") => {
            kind(&crate::error::one_line(&other.to_string()))
        }
        other => Error::damaged(path, other),
    }
}
