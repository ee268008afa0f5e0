//! Shares: a print with its shadow on a sheet of pure white, in a given shape and size.
//!
//! The print is centred on the sheet; its shadow does not affect the centring. Print and shadow are never cropped or enlarged beyond the
//! pixels of the mount. The rest of the sheet is white, so the edge of the mount is invisible.

mod fit;
mod shape;

use crate::mount::Mount;
use crate::privacy::Said;
use crate::{Error, Plate, Result, area};
use codec::jpeg::{self, Subsampling};
use codec::sidecar::{self, Object, Sidecar};
use codec::{Info, icc};
pub use fit::{Fit, largest_px_per_mm, wanted_over_there};
pub use shape::{Pixels, Shape};

/// How shares are made.
#[derive(Clone, Debug, PartialEq)]
pub struct Settings {
    /// The sheet's shape.
    pub shape: Shape,
    /// The sheet's size.
    pub pixels: Pixels,
    /// Least white between print and edge, a share of the sheet's shorter side.
    pub margin: f64,
    /// Most bytes of a file, in thousands.
    pub kilobytes: Option<u32>,
}

impl Default for Settings {
    fn default() -> Self {
        // 2160 px: twice the 1080 that most places show, for screens with two pixels to the point (common practice, no source).
        Self { shape: Shape::new(4.0, 5.0), pixels: Pixels::Long(2160), margin: 0.06, kilobytes: None }
    }
}

/// A share, encoded.
#[derive(Clone, Debug)]
pub struct Made {
    /// The JPEG file.
    pub bytes: Vec<u8>,
    /// Columns and rows.
    pub size: [usize; 2],
    /// Left, top, right and bottom of the print on it, pixels.
    pub print_px: [f64; 4],
    /// Its pixels for each millimetre of the print.
    pub px_per_mm: f64,
    /// Quality it was encoded at, 1 to 100.
    pub quality: u8,
    /// Sentences about anything that is otherwise than asked.
    pub notes: Vec<String>,
}

/// Qualities tried for a size in kilobytes, the best first. Under 60 the shadow falls into visible blocks (judged by eye).
const QUALITIES: [u8; 14] = [95, 93, 91, 89, 87, 85, 82, 79, 76, 73, 70, 67, 64, 60];
/// Quality where no size is asked for: an eye finds no difference from the mount at any scale (judged by eye).
const USUAL: u8 = 93;

/// Makes the share of a plate. `px_per_mm` is the scale of the whole set, where it is to have one.
///
/// # Errors
/// The sheet is too small for a print, or the file cannot be held under the size asked for.
pub fn make(plate: &Plate, mount: &Mount, said: &Said, settings: &Settings, px_per_mm: Option<f64>) -> Result<Made> {
    let mut fit = Fit::new(plate, mount, settings, px_per_mm)?;
    let Some(kilobytes) = settings.kilobytes else {
        let bytes = encode(plate, said, &fit, &draw(mount, &fit), USUAL)?;
        return Ok(made(bytes, &fit, USUAL, notes(&fit, mount)));
    };
    let most = kilobytes as usize * 1000;
    let asked = fit.size;
    // A sheet whose size was not said in both directions may get smaller, to no less than a third of what was asked.
    let steps = if matches!(settings.pixels, Pixels::Long(_)) && px_per_mm.is_none() { 8 } else { 1 };
    for step in 0..steps {
        if step > 0 {
            fit = fit.smaller(mount, 0.87);
        }
        let rgb = draw(mount, &fit);
        if let Some((bytes, quality)) = under(most, |quality| encode(plate, said, &fit, &rgb, quality))? {
            let mut notes = notes(&fit, mount);
            if step > 0 {
                let [w, h] = fit.size;
                notes.push(format!("It is {w} × {h} px, to stay under {kilobytes} kB."));
            }
            return Ok(made(bytes, &fit, quality, notes));
        }
    }
    let [w, h] = asked;
    Err(Error::Refused(format!(
        "{}: {w} × {h} px does not fit into {kilobytes} kB. Allow more with --kilobytes, or use fewer pixels with \
         --pixels.",
        plate.name
    )))
}

fn made(bytes: Vec<u8>, fit: &Fit, quality: u8, notes: Vec<String>) -> Made {
    Made { bytes, size: fit.size, print_px: fit.print_px, px_per_mm: fit.px_per_mm, quality, notes }
}

fn notes(fit: &Fit, mount: &Mount) -> Vec<String> {
    let mut notes = fit.notes.clone();
    if mount.meets_its_edge() {
        notes.push(
            "The mount is not white up to its edge, which will show on the sheet. Finish the print again.".into(),
        );
    }
    notes
}

fn draw(mount: &Mount, fit: &Fit) -> Vec<u8> {
    area::on_white(mount, mount.ink, fit.along, (fit.size[0], fit.size[1]))
}

/// The best quality whose file is no longer than `most`, by halving; `None` where none is.
pub(crate) fn under(most: usize, encode: impl Fn(u8) -> Result<Vec<u8>>) -> Result<Option<(Vec<u8>, u8)>> {
    let qualities: Vec<u8> = QUALITIES.into_iter().filter(|q| keeps_white(*q)).collect();
    let (mut low, mut high, mut best) = (0, qualities.len(), None);
    while low < high {
        let middle = (low + high) / 2;
        let bytes = encode(qualities[middle])?;
        if bytes.len() <= most {
            best = Some((bytes, qualities[middle]));
            high = middle;
        } else {
            low = middle + 1;
        }
    }
    Ok(best)
}

/// True where a block of pure white comes back as 255 at a quality.
///
/// White is 127 above the middle, its mean coefficient 8 · 127 = 1016; what is stored is a whole number of steps of
/// `q = (16 s + 50) / 100` with `s = 200 - 2 quality` (ITU-T T.81 annex K, scaled as its reference encoder does), and half a
/// count short is seen as 254.
pub(crate) fn keeps_white(quality: u8) -> bool {
    let scale = if quality < 50 { 5000 / u32::from(quality.max(1)) } else { 200 - 2 * u32::from(quality.min(100)) };
    let step = f64::from(((16 * scale + 50) / 100).max(1));
    let back = (1016.0 / step).round() * step / 8.0;
    back > 127.0 - 0.5
}

fn encode(plate: &Plate, said: &Said, fit: &Fit, rgb: &[u8], quality: u8) -> Result<Vec<u8>> {
    let info = Info {
        px_per_mm: Some(fit.px_per_mm),
        icc: Some(icc::srgb()),
        xmp: Some(sidecar::write(&words(plate, said)).into_bytes()),
        software: Some(format!("Fallside {}", env!("CARGO_PKG_VERSION"))),
        ..Info::default()
    };
    Ok(jpeg::encode(fit.size[0], fit.size[1], rgb, quality, Subsampling::Full, Some(&info))?)
}

/// What the file says of the print: nothing but what was allowed, and its format and size.
fn words(plate: &Plate, said: &Said) -> Sidecar {
    let w = &said.words;
    let plain = sidecar::is_plain(&w.date);
    let date = |yes: bool| if yes { w.date.clone() } else { String::new() };
    let [width, height] = plate.print_mm();
    let physical = [plate.format.clone(), format!("{width:.0} × {height:.0} mm"), w.film.clone()];
    let physical: Vec<&str> = physical.iter().map(String::as_str).filter(|t| !t.is_empty()).collect();
    Sidecar {
        title: w.title.clone(),
        alt: said.alt.clone(),
        keywords: w.subject.clone(),
        rights: w.rights.clone(),
        people: w.people.clone(),
        place: w.place.clone(),
        exposed: date(plain),
        tool: format!("Fallside {}", env!("CARGO_PKG_VERSION")),
        object: Object {
            title: w.title.clone(),
            date: date(plain),
            circa: date(!plain),
            physical: physical.join(", "),
            content: [w.inscription.as_str(), &w.note]
                .into_iter()
                .filter(|t| !t.is_empty())
                .collect::<Vec<_>>()
                .join("\n"),
            ..Object::default()
        },
        ..Sidecar::default()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Pure white blocks encoded and decoded again by a general decoder.
    #[test]
    fn white_comes_back_as_255_where_it_is_said_to() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("white.jpg");
        for quality in (50..=100).filter(|q| keeps_white(*q)) {
            let bytes = jpeg::encode(16, 16, &[255; 768], quality, Subsampling::Full, None).unwrap();
            std::fs::write(&path, bytes).unwrap();
            let frame = codec::read(&path, &codec::Limits::default()).unwrap().frame;
            assert_eq!(frame.samples, pixels::Samples::U8(vec![255; 768]), "{quality}");
        }
        assert!(QUALITIES.iter().filter(|q| keeps_white(**q)).count() > 8 && keeps_white(USUAL));
    }
}
