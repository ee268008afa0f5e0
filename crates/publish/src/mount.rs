//! Reads a mount for handing on: its light as linear sRGB, and the position of print and shadow on its white.

use crate::{Error, Plate, Result};
use geometry::Quad;
use pixels::{Encoding, Frame, Primaries, Samples};
use rayon::prelude::*;

/// Rows of linear sRGB that a smaller picture can be made from.
pub trait Rows: Sync {
    /// Columns and rows.
    fn size(&self) -> (usize, usize);
    /// Interleaved light of columns `from..from + light.len() / 3` of row `y`.
    fn row(&self, y: usize, from: usize, light: &mut [f32]);
}

/// A mount as its file holds it.
pub struct Mount {
    frame: Frame,
    srgb_from_own: [[f32; 3]; 3],
    /// Left, top, right and bottom of the print, pixels.
    pub print: [f64; 4],
    /// Left, top, right and bottom of all that is not pure white, whole pixels: print and shadow.
    pub ink: [usize; 4],
}

impl Mount {
    /// Reads a plate's mount.
    ///
    /// # Errors
    /// The file cannot be read, or has another size than its report says.
    pub fn read(plate: &Plate) -> Result<Self> {
        let held = plate.mount_file().map_err(Error::Refused)?;
        let read = codec::read((*held).as_ref(), &codec::Limits::default());
        let frame = read.map_err(codec::Error::of_result)?.frame;
        if [frame.width, frame.height] != plate.size_px {
            return Err(Error::Changed(plate.mount.clone()));
        }
        Ok(Self::of(frame, plate.print_px))
    }

    /// A picture that was read, with the print's corners on it.
    pub(crate) fn of(frame: Frame, print_px: Quad) -> Self {
        let corners = print_px.0;
        let (x, y) = (corners.map(|p| p.x), corners.map(|p| p.y));
        let least = |v: [f64; 4]| v.into_iter().fold(f64::MAX, f64::min);
        let most = |v: [f64; 4]| v.into_iter().fold(f64::MIN, f64::max);
        let ink = ink(&frame);
        Self { srgb_from_own: srgb_from(&frame.encoding), frame, print: [least(x), least(y), most(x), most(y)], ink }
    }

    /// True where print or shadow reach the mount's own edge, so that its outline would show on white.
    pub fn meets_its_edge(&self) -> bool {
        let [l, t, r, b] = self.ink;
        l == 0 || t == 0 || r == self.frame.width || b == self.frame.height
    }
}

impl Rows for Mount {
    fn size(&self) -> (usize, usize) {
        (self.frame.width, self.frame.height)
    }

    fn row(&self, y: usize, from: usize, light: &mut [f32]) {
        let start = 3 * (y * self.frame.width + from);
        let table = self.frame.encoding.tone.table(self.frame.bits());
        let range = start..start + light.len();
        match &self.frame.samples {
            Samples::U8(s) => decode(&s[range], table, u8::MAX, &self.srgb_from_own, light),
            Samples::U16(s) => decode(&s[range], table, u16::MAX, &self.srgb_from_own, light),
        }
    }
}

/// Code values to linear sRGB. White is white exactly: sums of a matrix' rounded rows would leave it by a ten-millionth.
fn decode<T: Copy + PartialEq + Into<u32>>(code: &[T], table: &[f32], white: T, m: &[[f32; 3]; 3], light: &mut [f32]) {
    for (px, out) in code.as_chunks::<3>().0.iter().zip(light.as_chunks_mut::<3>().0) {
        if *px == [white; 3] {
            *out = [1.0; 3];
            continue;
        }
        let v = px.map(|c| table[Into::<u32>::into(c) as usize]);
        *out = m.map(|row| row[0] * v[0] + row[1] * v[1] + row[2] * v[2]);
    }
}

fn srgb_from(own: &Encoding) -> [[f32; 3]; 3] {
    let Some(srgb) = Primaries::srgb().rgb_from_xyz() else {
        return [[1.0, 0.0, 0.0], [0.0, 1.0, 0.0], [0.0, 0.0, 1.0]];
    };
    pixels::matrix::product(&srgb, &own.primaries.0).map(|row| row.map(|v| v as f32))
}

/// The smallest rectangle that holds every pixel which is not white; an empty one in the middle of a white picture.
pub(crate) fn ink(frame: &Frame) -> [usize; 4] {
    let n = 3 * frame.width;
    let span = |y: usize| match &frame.samples {
        Samples::U8(s) => span(&s[y * n..(y + 1) * n], u8::MAX),
        Samples::U16(s) => span(&s[y * n..(y + 1) * n], u16::MAX),
    };
    let rows: Vec<Option<(usize, usize)>> = (0..frame.height).into_par_iter().map(span).collect();
    let Some(top) = rows.iter().position(Option::is_some) else {
        return [frame.width / 2, frame.height / 2, frame.width / 2, frame.height / 2];
    };
    let bottom = rows.iter().rposition(Option::is_some).map_or(top, |y| y + 1);
    let left = rows.iter().flatten().map(|s| s.0).min().unwrap_or(0);
    let right = rows.iter().flatten().map(|s| s.1).max().unwrap_or(frame.width);
    [left, top, right, bottom]
}

fn span<T: PartialEq + Copy>(row: &[T], white: T) -> Option<(usize, usize)> {
    let first = row.iter().position(|v| *v != white)?;
    let last = row.iter().rposition(|v| *v != white)?;
    Some((first / 3, last / 3 + 1))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn ink_is_all_that_is_not_white() {
        let mut samples = vec![u16::MAX; 3 * 7 * 5];
        samples[3 * (2 * 7 + 3) + 1] = u16::MAX - 1;
        samples[3 * (3 * 7 + 5)] = 0;
        let frame = Frame { width: 7, height: 5, samples: Samples::U16(samples), encoding: Encoding::eci_rgb_v2() };
        assert_eq!(ink(&frame), [3, 2, 6, 4]);
    }

    #[test]
    fn white_stays_white_and_grey_stays_grey() {
        let m = srgb_from(&Encoding::eci_rgb_v2());
        let table = Encoding::eci_rgb_v2();
        let mut light = [0.0; 6];
        decode(&[u16::MAX, u16::MAX, u16::MAX, 32768, 32768, 32768], table.tone.table(16), u16::MAX, &m, &mut light);
        assert_eq!(light[..3], [1.0; 3]);
        // CIE 15:2018: L* 50 is 18.42 % of white.
        light[3..].iter().for_each(|v| assert!((v - 0.1842).abs() < 2e-4, "{v}"));
    }
}
