//! Exif blocks (CIPA DC-008, Exif 2.32) for written files.

use crate::ifd::{self, Ifd, Value, rational};
use crate::{Info, Metadata};

/// Digitisation time, offsets from UTC and sub-seconds of change, exposure and digitisation (DC-008, Exif 2.32, section 4.6.5).
pub const CLOCK: [u16; 7] = [36868, 36880, 36881, 36882, 37520, 37521, 37522];

/// A block for a JPEG or PNG of `width` by `height` pixels: what the standard asks for, and the exposure's own facts.
pub fn block(info: &Info, width: u32, height: u32) -> Vec<u8> {
    let mut main = words(info);
    main.set(ifd::ORIENTATION, Value::Short(vec![1]));
    // The standard asks for a resolution always: 72 per inch stands for "unknown" (DC-008 section 4.6.4).
    resolution(&mut main, info.px_per_mm.unwrap_or(72.0 / 25.4));
    // 531: chroma sites are centred (1), as this encoder and JFIF place them.
    main.set(531, Value::Short(vec![1]));
    let mut sub = shot(info.original.as_ref());
    sub.set(ifd::COMPONENTS, Value::Undefined(vec![1, 2, 3, 0]));
    marks(&mut sub, info);
    sub.set(ifd::EXIF_WIDTH, Value::Long(vec![width])).set(ifd::EXIF_HEIGHT, Value::Long(vec![height]));
    main.set(ifd::EXIF, Value::Sub(sub));
    ifd::block(&main)
}

/// Version and colour space, which the standard requires in every Exif directory.
pub(crate) fn marks(sub: &mut Ifd, info: &Info) {
    sub.set(ifd::FLASHPIX, Value::Undefined(b"0100".to_vec()));
    sub.set(ifd::COLOUR_SPACE, Value::Short(vec![colour_space(info)]));
}

/// 1 for sRGB (assumed without a profile), 65535 for any other encoding.
fn colour_space(info: &Info) -> u16 {
    let srgb = info.icc.as_ref().is_none_or(|p| *p == crate::icc::srgb());
    if srgb { 1 } else { 65535 }
}

/// Description, camera, its owner, program: what stands in a file's first directory.
pub(crate) fn words(info: &Info) -> Ifd {
    let text = |s: &Option<String>| s.clone().filter(|s| !s.is_empty()).map(Value::Ascii);
    let mut main = Ifd::default();
    main.set_some(ifd::DESCRIPTION, text(&info.description)).set_some(ifd::SOFTWARE, text(&info.software));
    if let Some(m) = &info.original {
        main.set_some(ifd::MAKE, text(&m.make)).set_some(ifd::MODEL, text(&m.model));
        main.set_some(ifd::ARTIST, text(&m.artist)).set_some(ifd::COPYRIGHT, text(&m.copyright));
    }
    main
}

/// The exposure: time, f-number, speed, lens, moment, flash.
pub(crate) fn shot(original: Option<&Metadata>) -> Ifd {
    let mut sub = Ifd::default();
    sub.set(ifd::EXIF_VERSION, Value::Undefined(b"0232".to_vec()));
    let Some(m) = original else { return sub };
    let fraction = |v: Option<f64>| v.map(|v| Value::Rational(vec![rational(v)]));
    sub.set_some(ifd::EXPOSURE, fraction(m.exposure_s)).set_some(ifd::F_NUMBER, fraction(m.f_number));
    sub.set_some(ifd::FOCAL_LENGTH, fraction(m.focal_length_mm));
    sub.set_some(ifd::ISO, m.iso.map(|v| Value::Short(vec![v.min(65535) as u16])));
    sub.set_some(ifd::DATE_ORIGINAL, m.taken.clone().map(Value::Ascii));
    for (tag, text) in m.clock.iter().filter(|(tag, _)| CLOCK.contains(tag)) {
        sub.set(*tag, Value::Ascii(text.clone()));
    }
    sub.set_some(ifd::LENS_MODEL, m.lens.clone().map(Value::Ascii));
    sub.set_some(ifd::FLASH, m.flash_fired.map(|f| Value::Short(vec![f.into()])));
    sub
}

/// Resolution in pixels per inch, as the nearest simple fraction.
pub(crate) fn resolution(main: &mut Ifd, px_per_mm: f64) {
    let per_inch = Value::Rational(vec![rational(px_per_mm * 25.4)]);
    main.set(ifd::X_RESOLUTION, per_inch.clone()).set(ifd::Y_RESOLUTION, per_inch);
    main.set(ifd::RESOLUTION_UNIT, Value::Short(vec![2]));
}
