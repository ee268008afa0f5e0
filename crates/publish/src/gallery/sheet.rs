//! The white sheet that a gallery shows a print on: its mount, with equal white on all sides of the print.

use crate::mount::{Mount, Rows};

/// White around the print at least, mm: what a mount has.
const MARGIN: f64 = 8.0;
/// White beyond the shadow's end, mm.
const RIM: f64 = 2.0;

/// Moves a mount on its white so that the print is centred; no pixel is resampled.
pub(super) struct Sheet<'a> {
    mount: &'a Mount,
    /// Mount position of the sheet's first pixel.
    at: [isize; 2],
    size: (usize, usize),
}

impl<'a> Sheet<'a> {
    pub fn new(mount: &'a Mount, px_per_mm: f64) -> Self {
        let [l, t, r, b] = mount.print;
        let ink = mount.ink.map(|n| n as f64);
        let reach = [l - ink[0], t - ink[1], ink[2] - r, ink[3] - b].into_iter().fold(0.0, f64::max);
        let margin = (reach + RIM * px_per_mm).max(MARGIN * px_per_mm).ceil();
        let side = |from: f64, to: f64| (from.floor() - margin, (to.ceil() - from.floor() + 2.0 * margin) as usize);
        let ((x, w), (y, h)) = (side(l, r), side(t, b));
        Self { mount, at: [x as isize, y as isize], size: (w, h) }
    }
}

impl Rows for Sheet<'_> {
    fn size(&self) -> (usize, usize) {
        self.size
    }

    fn row(&self, y: usize, from: usize, light: &mut [f32]) {
        light.fill(1.0);
        let (w, h) = self.mount.size();
        let Some(y) = usize::try_from(y as isize + self.at[1]).ok().filter(|y| *y < h) else { return };
        let first = from as isize + self.at[0];
        let skip = (-first).max(0);
        let start = (first + skip) as usize;
        let length = (light.len() / 3).saturating_sub(skip as usize).min(w.saturating_sub(start));
        if length > 0 {
            let skip = skip as usize;
            self.mount.row(y, start, &mut light[3 * skip..3 * (skip + length)]);
        }
    }
}
