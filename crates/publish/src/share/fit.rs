//! Size and position of a print on its sheet.

use super::{Pixels, Settings};
use crate::area::Along;
use crate::mount::Mount;
use crate::{Error, Plate, Result};

/// White left beyond the shadow's end at least, pixels: one block of the JPEG and what centring on whole pixels may take, so that
/// the outermost block holds nothing but white.
const RIM: f64 = 9.0;
/// A print smaller than this on its sheet shows nothing, pixels.
const LEAST: f64 = 32.0;

/// A print on its sheet.
#[derive(Clone, Debug, PartialEq)]
pub struct Fit {
    /// Columns and rows.
    pub size: [usize; 2],
    /// Where the mount goes, across and down.
    pub(crate) along: [Along; 2],
    /// Left, top, right and bottom of the print, pixels.
    pub print_px: [f64; 4],
    /// Sheet pixels for each millimetre of the print.
    pub px_per_mm: f64,
    /// Sentences about anything that is otherwise than asked.
    pub notes: Vec<String>,
}

impl Fit {
    /// Lays a plate's mount on a sheet, as large as fits, or at a scale of the whole set.
    ///
    /// # Errors
    /// The sheet is too small.
    pub fn new(plate: &Plate, mount: &Mount, settings: &Settings, px_per_mm: Option<f64>) -> Result<Self> {
        let mut size = settings.pixels.size(settings.shape);
        let mut scale = px_per_mm.map_or_else(|| largest(mount, settings, size), |s| s / plate.px_per_mm);
        let mut notes = vec![];
        if scale > 1.0 {
            // Pixels that are not there are not invented.
            if let Pixels::Long(_) = settings.pixels {
                size = size.map(|n| ((n as f64 / scale) as usize).max(1));
                notes.push(format!("It is {} × {} px, because the mount has no more pixels.", size[0], size[1]));
            } else {
                notes.push("It is smaller on its sheet than possible, because the mount has no more pixels.".into());
            }
            scale = if px_per_mm.is_some() { 1.0 } else { largest(mount, settings, size).min(1.0) };
        }
        let fit = Self::at(mount, size, scale, plate.px_per_mm, notes);
        let [l, t, r, b] = fit.print_px;
        if scale.is_nan() || (r - l).min(b - t) < LEAST {
            let [w, h] = size;
            return Err(Error::Refused(format!(
                "{}: a sheet of {w} × {h} px is too small for this print.",
                plate.name
            )));
        }
        Ok(fit)
    }

    /// The same, smaller by `factor`.
    pub(crate) fn smaller(&self, mount: &Mount, factor: f64) -> Self {
        let size = self.size.map(|n| ((n as f64 * factor).round() as usize).max(1));
        let mount_px_per_mm = self.px_per_mm / self.along[0].scale;
        Self::at(mount, size, self.along[0].scale * factor, mount_px_per_mm, self.notes.clone())
    }

    fn at(mount: &Mount, size: [usize; 2], scale: f64, mount_px_per_mm: f64, notes: Vec<String>) -> Self {
        let [l, t, r, b] = mount.print;
        // The print's left and top edges lie on whole pixels, so that straight edges stay crisp.
        let along = |n: usize, from: f64, to: f64| {
            let first = ((n as f64 - scale * (to - from)) / 2.0).round();
            (first, first + scale * (to - from), Along { at: first - scale * from, scale })
        };
        let (left, right, across) = along(size[0], l, r);
        let (top, bottom, down) = along(size[1], t, b);
        let (print_px, px_per_mm) = ([left, top, right, bottom], scale * mount_px_per_mm);
        Self { size, along: [across, down], print_px, px_per_mm, notes }
    }
}

/// The largest scale, sheet pixels for each of the mount's, at which the print has its margin and the shadow ends on the sheet.
pub(crate) fn largest(mount: &Mount, settings: &Settings, size: [usize; 2]) -> f64 {
    let [w, h] = size.map(|n| n as f64);
    let [l, t, r, b] = mount.print;
    let ink = mount.ink.map(|n| n as f64);
    let (x, y) = ((l + r) / 2.0, (t + b) / 2.0);
    let reach = |a: f64, b: f64| a.max(b).max(1.0);
    let bounds = [
        filling([r - l, b - t], settings, size),
        (w / 2.0 - RIM) / reach(x - ink[0], ink[2] - x),
        (h / 2.0 - RIM) / reach(y - ink[1], ink[3] - y),
    ];
    bounds.into_iter().fold(f64::MAX, f64::min).max(0.0)
}

/// The scale, sheet pixels for each of the mount's, at which a print of this size on its mount, pixels, fills the sheet but for its margin.
pub(crate) fn filling(print: [f64; 2], settings: &Settings, size: [usize; 2]) -> f64 {
    let [w, h] = size.map(|n| n as f64);
    let margin = settings.margin * w.min(h);
    ((w - 2.0 * margin) / print[0]).min((h - 2.0 * margin) / print[1])
}

/// How many times more pixels each way the sheet asks for than the plate's mount has: over 1 it has too few. By the print alone: a
/// shadow that needs more room than the margin asks for less.
pub fn wanted_over_there(plate: &Plate, settings: &Settings) -> f64 {
    let print = plate.print_mm().map(|mm| mm * plate.px_per_mm);
    filling(print, settings, settings.pixels.size(settings.shape))
}

/// The largest scale that a print of a set may have, sheet pixels for each millimetre, never past the mount's own.
pub fn largest_px_per_mm(plate: &Plate, mount: &Mount, settings: &Settings) -> f64 {
    largest(mount, settings, settings.pixels.size(settings.shape)).min(1.0) * plate.px_per_mm
}
