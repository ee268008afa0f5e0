//! Reads matrix and curve profiles without the colour library. The library aborts the program if the clock is before 1970, because it asks for
//! the time for every profile.

use moxcms::ToneReprCurve;
use pixels::Primaries;
use std::time::{SystemTime, UNIX_EPOCH};

/// A profile's colour, as ICC.1:2022 section 8.3 has it of a matrix profile, 8.4 of a grey one.
#[derive(Debug, PartialEq)]
pub(super) enum Plain {
    Gray(ToneReprCurve),
    Rgb([ToneReprCurve; 3], Primaries),
}

/// True where the library must not be asked.
pub(super) fn clock_is_before_1970() -> bool {
    SystemTime::now() < UNIX_EPOCH
}

/// Length of a profile's header, and of a line of its table of tags (ICC.1:2022 sections 7.2 and 7.3).
const HEADER: usize = 128;
const LINE: usize = 12;

/// Reads a profile; `None` where it is damaged, or has tables, or is for neither grey nor RGB.
pub(super) fn read(bytes: &[u8]) -> Option<Plain> {
    if tag(bytes, b"A2B0").is_some() || tag(bytes, b"A2B1").is_some() {
        return None;
    }
    let trc = |name: &[u8; 4]| curve(tag(bytes, name)?);
    match bytes.get(16..20)? {
        b"GRAY" => Some(Plain::Gray(trc(b"kTRC")?)),
        b"RGB " => {
            let [r, g, b] = [b"rXYZ", b"gXYZ", b"bXYZ"].map(|name| tag(bytes, name).and_then(xyz));
            let (r, g, b) = (r?, g?, b?);
            let rows = std::array::from_fn(|i| [r[i], g[i], b[i]]);
            Some(Plain::Rgb([trc(b"rTRC")?, trc(b"gTRC")?, trc(b"bTRC")?], Primaries(rows)))
        }
        _ => None,
    }
}

fn word(bytes: &[u8], at: usize) -> Option<u32> {
    let four = bytes.get(at..at.checked_add(4)?)?;
    Some(u32::from_be_bytes(four.try_into().ok()?))
}

/// The bytes of a tag's element.
fn tag<'a>(bytes: &'a [u8], name: &[u8; 4]) -> Option<&'a [u8]> {
    let lines = bytes.get(HEADER + 4..)?.chunks_exact(LINE).take(word(bytes, HEADER)? as usize);
    let line = lines.into_iter().find(|line| &line[..4] == name)?;
    let (from, size) = (word(line, 4)? as usize, word(line, 8)? as usize);
    bytes.get(from..from.checked_add(size)?)
}

/// s15Fixed16Number (section 4.6).
fn fixed(bytes: &[u8], at: usize) -> Option<f64> {
    word(bytes, at).map(|v| f64::from(v.cast_signed()) / 65536.0)
}

/// XYZType (section 10.31).
fn xyz(element: &[u8]) -> Option<[f64; 3]> {
    (element.get(..4)? == b"XYZ ").then_some(())?;
    Some([fixed(element, 8)?, fixed(element, 12)?, fixed(element, 16)?])
}

/// curveType (section 10.6) and parametricCurveType (section 10.18).
fn curve(element: &[u8]) -> Option<ToneReprCurve> {
    match element.get(..4)? {
        b"curv" => {
            let n = word(element, 8)? as usize;
            let entries = element.get(12..12usize.checked_add(n.checked_mul(2)?)?)?;
            Some(ToneReprCurve::Lut(entries.chunks_exact(2).map(|e| u16::from_be_bytes([e[0], e[1]])).collect()))
        }
        b"para" => {
            // Parameters of the five function types (table 68).
            let n = *[1, 3, 4, 5, 7].get(usize::from(u16::from_be_bytes([*element.get(8)?, *element.get(9)?])))?;
            let all: Option<Vec<f32>> = (0..n).map(|i| fixed(element, 12 + 4 * i).map(|v| v as f32)).collect();
            Some(ToneReprCurve::Parametric(all?))
        }
        _ => None,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::icc;
    use moxcms::{ColorProfile, curve_from_gamma};

    /// What moxcms, a general colour library, reads in the same bytes: ours and its own.
    #[test]
    fn matrix_profiles_are_read_as_a_general_library_reads_them() {
        let mut gamma = ColorProfile::new_display_p3();
        gamma.green_trc = Some(curve_from_gamma(1.8));
        let all = [
            icc::srgb(),
            icc::eci_rgb_v2(),
            icc::linear_srgb(),
            ColorProfile::new_srgb().encode().unwrap(),
            ColorProfile::new_adobe_rgb().encode().unwrap(),
            gamma.encode().unwrap(),
        ];
        for bytes in &all {
            let theirs = ColorProfile::new_from_slice(bytes).unwrap();
            let Some(Plain::Rgb(curves, Primaries(rows))) = read(bytes) else { panic!("a matrix profile") };
            assert_eq!(Some(&curves[0]), theirs.red_trc.as_ref());
            assert_eq!(Some(&curves[1]), theirs.green_trc.as_ref());
            assert_eq!(rows, theirs.colorant_matrix().v);
            // Cut anywhere it is no profile, or the same.
            (0..bytes.len()).for_each(|n| drop(read(&bytes[..n])));
        }
        let gray = ColorProfile::new_gray_with_gamma(2.2).encode().unwrap();
        assert_eq!(read(&gray), ColorProfile::new_from_slice(&gray).unwrap().gray_trc.map(Plain::Gray));
    }
}
