//! Reads a mount row by row and reduces it to the page's resolution without holding it in memory; then crops it to print and shadow.

use crate::Plate;
use codec::Limits;
use geometry::{Quad, point};
use pixels::Primaries;
use pixels::resize::Reducer;

/// White kept round print and shadow, mm: a picture's own rim is bare paper.
const RIM: f64 = 0.5;
/// A mount's white: all channels full, but for the rounding of a mean.
pub(super) const WHITE: f32 = 1.0 - 1e-5;

/// A mount at the page's resolution.
pub(super) struct Reduced {
    /// Columns and rows.
    pub size: [usize; 2],
    /// Interleaved linear light.
    pub light: Vec<f32>,
    /// What its channels are.
    pub primaries: Primaries,
    /// The print's corners.
    pub print: Quad,
    /// Width and height of a pixel, mm of the print.
    pub pixel_mm: [f64; 2],
    /// Left, top, right and foot of print and shadow.
    pub dark: [usize; 4],
    /// The shadow runs to the mount's rim.
    pub at_rim: bool,
}

impl Reduced {
    /// Reads a plate's mount, `share` of its pixels both ways, at most all.
    ///
    /// # Errors
    /// Its mount is not there, cannot be read, or is not what its report says.
    pub fn read(plate: &Plate, share: f64) -> Result<Self, String> {
        let failed = |e: codec::Error| format!("{}: {}", plate.name, e.of_result());
        let held = plate.mount_file().map_err(|why| format!("{}: {why}", plate.name))?;
        let rows = codec::rows((*held).as_ref(), &Limits::default()).map_err(failed)?;
        let from = [rows.width, rows.height];
        if from != plate.size_px {
            return Err(format!(
                "{}: its mount is {} by {} pixels, but its report says {} by {}. Finish it again.",
                plate.name, from[0], from[1], plate.size_px[0], plate.size_px[1]
            ));
        }
        let size = from.map(|n| ((n as f64 * share.min(1.0)).round() as usize).clamp(1, n));
        let mut reducer = Reducer::new((from[0], from[1]), (size[0], size[1]));
        let (primaries, tone) = (rows.encoding.primaries, rows.encoding.tone.clone());
        let light = tone.table(16);
        rows.each(|row| reducer.feed(row, |v| light[usize::from(v)])).map_err(failed)?;
        let scale: [f64; 2] = std::array::from_fn(|i| size[i] as f64 / from[i] as f64);
        let whole = Self {
            size,
            light: reducer.finish().1,
            primaries,
            print: Quad(plate.print_px.0.map(|p| point(p.x * scale[0], p.y * scale[1]))),
            pixel_mm: scale.map(|s| 1.0 / (s * plate.px_per_mm)),
            dark: [0; 4],
            at_rim: false,
        };
        Ok(whole.cut())
    }

    /// Only what holds print and shadow, and a rim of white.
    fn cut(mut self) -> Self {
        let [w, h] = self.size;
        let [left, top, right, foot] = self.box_of_dark();
        self.at_rim = left == 0 || top == 0 || right == w || foot == h;
        let rim: [usize; 2] = self.pixel_mm.map(|mm| (RIM / mm).ceil() as usize);
        let (x, y) = (left.saturating_sub(rim[0]), top.saturating_sub(rim[1]));
        self.dark = [left, top, right, foot];
        self.cropped([x, y, (right + rim[0]).min(w), (foot + rim[1]).min(h)])
    }

    /// Only a part of the print, mm of the print: left, top, width, height. `None` where no pixel is left of it.
    pub fn detail(mut self, [left, top, width, height]: [f64; 4]) -> Option<Self> {
        let [x, y, right, foot] = self.print_box();
        let pixel = |mm: f64, axis: usize| mm / self.pixel_mm[axis];
        // Whole pixels, and none of what lies beyond the print.
        let edge = |from: f64, to: f64| from.clamp(from, to.max(from)).round().max(0.0) as usize;
        let limit = [right.floor() as usize, foot.floor() as usize];
        let from = [
            edge(x + pixel(left, 0), right).max(x.ceil() as usize),
            edge(y + pixel(top, 1), foot).max(y.ceil() as usize),
        ];
        let to = [
            edge(x + pixel(left + width, 0), right).min(limit[0]),
            edge(y + pixel(top + height, 1), foot).min(limit[1]),
        ];
        let to = [to[0].min(self.size[0]), to[1].min(self.size[1])];
        if to[0] <= from[0] || to[1] <= from[1] {
            return None;
        }
        let (w, h) = ((to[0] - from[0]) as f64, (to[1] - from[1]) as f64);
        self = self.cropped([from[0], from[1], to[0], to[1]]);
        self.print = Quad([point(0.0, 0.0), point(w, 0.0), point(w, h), point(0.0, h)]);
        self.dark = [0, 0, self.size[0], self.size[1]];
        self.at_rim = false;
        Some(self)
    }

    /// Only the pixels of an area: left, top, right, foot.
    fn cropped(mut self, [x, y, right, foot]: [usize; 4]) -> Self {
        let w = self.size[0];
        self.size = [right - x, foot - y];
        let n = 3 * self.size[0];
        for row in 0..self.size[1] {
            let from = 3 * ((y + row) * w + x);
            self.light.copy_within(from..from + n, row * n);
        }
        self.light.truncate(n * self.size[1]);
        self.light.shrink_to_fit();
        self.print = Quad(self.print.0.map(|p| point(p.x - x as f64, p.y - y as f64)));
        let [left, top, right, foot] = self.dark;
        self.dark = [left.saturating_sub(x), top.saturating_sub(y), right.saturating_sub(x), foot.saturating_sub(y)];
        self
    }

    /// Left, top, right and foot of what is print or not white.
    fn box_of_dark(&self) -> [usize; 4] {
        let [w, h] = self.size;
        let [left, top, right, foot] = self.print_box();
        let whole = |v: f64, n: usize| v.clamp(0.0, n as f64) as usize;
        let [mut left, mut top] = [whole(left.floor(), w), whole(top.floor(), h)];
        let [mut right, mut foot] = [whole(right.ceil(), w), whole(foot.ceil(), h)];
        for (y, row) in self.light.chunks_exact(3 * w).enumerate() {
            let dark = |v: &f32| *v < WHITE;
            if let Some(first) = row.iter().position(dark) {
                let last = row.iter().rposition(dark).unwrap_or(first);
                (left, right) = (left.min(first / 3), right.max(last / 3 + 1));
                (top, foot) = (top.min(y), foot.max(y + 1));
            }
        }
        [left, top, right, foot]
    }

    /// Left, top, right and foot of the print.
    pub fn print_box(&self) -> [f64; 4] {
        let [a, b, c, d] = self.print.0;
        [a.x.min(d.x), a.y.min(b.y), b.x.max(c.x), c.y.max(d.y)]
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::plate::tests::plate;
    use codec::{Info, icc, tiff};

    /// A dark print with a faint shadow at its foot on white, as a mount; by hand, where it is cut and how large it is.
    #[test]
    fn it_is_cut_to_print_and_shadow_and_keeps_its_measures() {
        let folder = tempfile::tempdir().unwrap();
        let p = Plate { mount: folder.path().join("m.tif"), ..plate() };
        let [w, h] = p.size_px;
        let code = |x: usize, y: usize| match (x, y) {
            (100..980, 80..1150) => 20_000,
            (200..1000, 1150..1170) => 60_000,
            _ => u16::MAX,
        };
        let rows = |r: std::ops::Range<usize>| r.flat_map(|y| (0..w).flat_map(move |x| [code(x, y); 3])).collect();
        let info = Info { icc: Some(icc::eci_rgb_v2()), ..Info::default() };
        tiff::write(&p.mount, w, h, &info, tiff::Compression::Deflate, rows).unwrap();
        let half = Reduced::read(&p, 0.5).unwrap();
        // Ten mount pixels to the millimetre: five here, and half a millimetre of white is three of them.
        assert_eq!(half.pixel_mm, [0.2, 0.2]);
        assert_eq!(half.dark, [3, 3, 453, 548]);
        assert_eq!(half.size, [456, 551]);
        assert_eq!(half.print_box(), [3.0, 3.0, 443.0, 538.0]);
        assert!(!half.at_rim);
        let at = |x: usize, y: usize| half.light[3 * (y * 456 + x)];
        assert_eq!((at(2, 9), at(9, 2), at(455, 550)), (1.0, 1.0, 1.0));
        // The profile's curve is a table: a hundred-thousandth.
        let light = |code: u16| pixels::encoding_eci::lstar_decode(f64::from(code) / 65535.0) as f32;
        assert!((at(3, 3) - light(20_000)).abs() < 1e-5, "{} {}", at(3, 3), light(20_000));
        assert!((at(452, 547) - light(60_000)).abs() < 1e-5, "{} {}", at(452, 547), light(60_000));
        // A third, where new pixels cover parts of old ones: the whole is still the whole.
        let third = Reduced::read(&p, 1.0 / 3.0).unwrap();
        let dark =
            |r: &Reduced| r.light.iter().map(|v| 1.0 - f64::from(*v)).sum::<f64>() * r.pixel_mm[0] * r.pixel_mm[1];
        assert!((dark(&third) / dark(&half) - 1.0).abs() < 1e-4);
        // A detail of 30 by 40 mm that begins 20 and 10 mm into the print: five pixels to the millimetre, all of them print.
        let detail = Reduced::read(&p, 0.5).unwrap().detail([20.0, 10.0, 30.0, 40.0]).unwrap();
        assert_eq!((detail.size, detail.print_box()), ([150, 200], [0.0, 0.0, 150.0, 200.0]));
        assert!(detail.light.iter().all(|v| (v - light(20_000)).abs() < 1e-5));
        // Only the print: what of a detail lies beyond it is not shown.
        assert_eq!(Reduced::read(&p, 0.5).unwrap().detail([80.0, 0.0, 30.0, 500.0]).unwrap().size, [40, 535]);
        assert!(Reduced::read(&p, 0.5).unwrap().detail([90.0, 0.0, 30.0, 5.0]).is_none());
        let wrong = Plate { size_px: [w, h + 1], ..p };
        assert!(Reduced::read(&wrong, 0.5).is_err_and(|e| e.contains("Finish it again")));
    }
}
