//! The box ahead: hours at the stand and gigabytes on the disk, as ranges.

use super::{Extent, Framing};
use geometry::Length;

/// What a box of prints will take.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Forecast {
    /// Prints in the box.
    pub prints: f64,
    /// Backs to be taken.
    pub backs: f64,
    /// Hours at the stand, hands busy: from, to.
    pub hours: (f64, f64),
    /// The same with breaks.
    pub hours_with_breaks: (f64, f64),
    /// Gigabytes (10^9 bytes) of frames: from, to.
    pub frames_gb: (f64, f64),
    /// Gigabytes of masters, mounts and shares.
    pub finished_gb: (f64, f64),
}

/// Seconds per front for one person with checks. Our estimate (`docs/references.md`, rates); no measured rate of a copy
/// stand for small prints was found.
const FRONT_SECONDS: (f64, f64) = (20.0, 30.0);
/// A back takes this share of a front's time: it is the same print turned over. Estimate, no source.
const BACK: f64 = 0.6;
/// Working time over busy time: 500 prints took 8 h 20 without and about 10 h with breaks (`docs/references.md`, rates).
const BREAKS: f64 = 1.2;
/// Bytes of a raw file per pixel: 14 bits, packed from well to badly.
const RAW_BYTES: (f64, f64) = (1.75 * 0.7, 1.75 * 1.3);
/// Bytes per pixel of a 16-bit RGB TIFF, deflated: noise hardly packs.
const TIFF_BYTES: (f64, f64) = (6.0 * 0.6, 6.0);
/// Bytes of a share picture.
const SHARE_BYTES: (f64, f64) = (0.2e6, 1.0e6);

/// Forecasts a box of `prints`, of which the share `backs` is also turned over.
pub fn forecast(prints: f64, backs: f64, pixels: (f64, f64), print: Extent, framing: &Framing) -> Forecast {
    let backs = (prints * backs).round();
    let frames = prints + backs;
    let range = |(a, b): (f64, f64), k: f64| (a * k, b * k);
    let hours = range(FRONT_SECONDS, (prints + BACK * backs) / 3600.0);
    let bed = |l: Length| (l + framing.margin * 2.0).to_mm() * framing.ppi / Length::inches(1.0).to_mm();
    // Master and mount share one canvas: the print with the bed around it.
    let canvas = 2.0 * bed(print.0) * bed(print.1);
    let tiff = range(TIFF_BYTES, canvas);
    Forecast {
        prints,
        backs,
        hours,
        hours_with_breaks: range(hours, BREAKS),
        frames_gb: range(RAW_BYTES, pixels.0 * pixels.1 * frames / 1e9),
        finished_gb: range((tiff.0 + SHARE_BYTES.0, tiff.1 + SHARE_BYTES.1), frames / 1e9),
    }
}
