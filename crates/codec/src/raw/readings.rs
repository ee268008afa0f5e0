//! Sensor readings of a file, and their next step: a mosaic to even and develop later or, if the sensor has no 2 x 2 mosaic, a linear
//! picture at once.

use super::pattern::{self, Pattern};
use super::{CameraColours, Mosaic, develop, prepare};
use crate::{Decoded, Error, Format, Metadata, Unpacked};
use pixels::{Encoding, Frame, Samples, Tone};
use rayon::prelude::*;
use std::path::Path;

/// What to do with a raw file that is read by nobody here.
pub(super) const DEVELOP: &str = "Develop it to TIFF with the camera's own program first.";

/// Readings, cropped to the picture area.
pub(super) struct Readings {
    pub width: usize,
    pub height: usize,
    pub kind: Kind,
    pub values: Values,
    pub black: Black,
    /// Reading at which the sensor saturates.
    pub white: f32,
    /// Gains of red, green and blue with green 1.
    pub as_shot: [f32; 3],
    pub colours: Option<CameraColours>,
}

/// What a pixel's readings are of.
pub(super) enum Kind {
    /// One colour a pixel.
    Mosaic(Pattern),
    /// Light without colour.
    Grey,
    /// Red, green and blue.
    Colours,
}

/// The readings themselves, `channels` to a pixel.
pub(super) enum Values {
    Whole(Vec<u16>),
    Float(Vec<f32>),
}

impl Values {
    fn len(&self) -> usize {
        match self {
            Self::Whole(v) => v.len(),
            Self::Float(v) => v.len(),
        }
    }

    fn get(&self, i: usize) -> f32 {
        match self {
            Self::Whole(v) => f32::from(v[i]),
            Self::Float(v) => v[i],
        }
    }
}

/// Readings of no light, repeating from a place: the values of a cell's channels together (DNG 1.7, BlackLevel).
pub(super) struct Black {
    pub levels: Vec<f32>,
    pub width: usize,
    pub height: usize,
    pub channels: usize,
    /// Columns and rows of the cell that lie before the picture area's corner.
    pub from: (usize, usize),
}

impl Black {
    fn at(&self, x: usize, y: usize, channel: usize) -> f32 {
        let (x, y) = ((x + self.from.0) % self.width.max(1), (y + self.from.1) % self.height.max(1));
        let i = (y * self.width.max(1) + x) * self.channels.max(1) + channel.min(self.channels.max(1) - 1);
        self.levels.get(i).or(self.levels.first()).copied().unwrap_or(0.0)
    }
}

impl Readings {
    /// What a file gives.
    pub fn unpacked(self, path: &Path, format: Format, metadata: Metadata) -> Result<Unpacked, Error> {
        let channels = if matches!(self.kind, Kind::Colours) { 3 } else { 1 };
        let wanted = self.width.checked_mul(self.height).and_then(|n| n.checked_mul(channels));
        if wanted != Some(self.values.len()) || self.values.len() == 0 {
            return Err(Error::damaged(path, "it has fewer pixels than it states"));
        }
        let picture = |frame, notes: Vec<String>| {
            Unpacked::Picture(Decoded { frame, format, metadata: metadata.clone(), icc: None, notes })
        };
        match &self.kind {
            Kind::Mosaic(pattern) if pattern.is_usual() && self.width > 1 && self.height > 1 => {
                let pattern = pattern.two_by_two();
                Ok(Unpacked::Sensor { mosaic: self.mosaic(pattern, metadata), format })
            }
            Kind::Mosaic(pattern) if pattern.is_complete() => {
                let note = format!(
                    "The sensor's mosaic repeats every {} x {} px; it was developed without the blank.",
                    pattern.width, pattern.height
                );
                Ok(picture(self.demosaiced(pattern), vec![note]))
            }
            Kind::Mosaic(_) => Err(Error::unsupported(
                path,
                "a sensor whose mosaic is not of red, green and blue",
                "Develop it to TIFF first.",
            )),
            Kind::Grey => Ok(picture(
                self.grey(),
                vec!["The sensor is monochrome; grey was copied to three equal channels.".into()],
            )),
            Kind::Colours => {
                let note = "The raw file contains demosaiced linear colour; it was not demosaiced again.";
                Ok(picture(self.coloured(), vec![note.into()]))
            }
        }
    }

    /// Light of a value, 0 to 1 at saturation.
    fn light(&self, i: usize, x: usize, y: usize, channel: usize) -> f32 {
        let black = self.black.at(x, y, channel);
        // A NaN is no light; what white is under black says nothing.
        ((self.values.get(i) - black) / (self.white - black).max(f32::MIN_POSITIVE)).clamp(0.0, 1.0).max(0.0)
    }

    fn mosaic(self, pattern: [[u8; 2]; 2], metadata: Metadata) -> Mosaic {
        let corner: [[f32; 2]; 2] = std::array::from_fn(|y| std::array::from_fn(|x| self.black.at(x, y, 0)));
        let (width, height, as_shot, colours) = (self.width, self.height, self.as_shot, self.colours);
        let (black, white, samples) = match &self.values {
            Values::Float(_) => {
                // Sixteen bits of light from black to white.
                let code = |i: usize| (self.light(i, i % width, i / width, 0) * 65535.0).round() as u16;
                ([[0.0; 2]; 2], 65535.0, (0..width * height).into_par_iter().map(code).collect())
            }
            Values::Whole(_) => (corner, self.white, vec![]),
        };
        let samples = match self.values {
            Values::Whole(v) => v,
            Values::Float(_) => samples,
        };
        Mosaic { width, height, pattern, black, white, as_shot, colours, samples, metadata }
    }

    fn frame(&self, samples: Vec<u16>, colours: Option<CameraColours>) -> Frame {
        let encoding = Encoding::new(Tone::linear(), develop::primaries_of(colours));
        Frame { width: self.width, height: self.height, samples: Samples::U16(samples), encoding }
    }

    /// Every pixel by itself: `codes` fills it from its place.
    fn each(&self, codes: impl Fn(usize, usize) -> [f32; 3] + Sync) -> Vec<u16> {
        let mut out = vec![0; 3 * self.width * self.height];
        out.par_chunks_mut(3 * self.width).enumerate().for_each(|(y, row)| {
            for (x, px) in row.as_chunks_mut::<3>().0.iter_mut().enumerate() {
                *px = codes(x, y).map(|v| (v.clamp(0.0, 1.0) * 65535.0 + 0.5) as u16);
            }
        });
        out
    }

    fn grey(&self) -> Frame {
        let samples = self.each(|x, y| [self.light(y * self.width + x, x, y, 0); 3]);
        self.frame(samples, None)
    }

    fn coloured(&self) -> Frame {
        let gains = prepare::gains(self.as_shot);
        let samples =
            self.each(|x, y| std::array::from_fn(|c| self.light(3 * (y * self.width + x) + c, x, y, c) * gains[c]));
        self.frame(samples, self.colours)
    }

    fn demosaiced(&self, pattern: &Pattern) -> Frame {
        let gains = prepare::gains(self.as_shot);
        let mut light = vec![0.0; self.width * self.height];
        light.par_chunks_mut(self.width).enumerate().for_each(|(y, row)| {
            for (x, v) in row.iter_mut().enumerate() {
                let gain = gains[usize::from(pattern.at(x, y)).min(2)];
                *v = (self.light(y * self.width + x, x, y, 0) * gain).min(1.0);
            }
        });
        let colours = pattern::demosaic(&light, self.width, self.height, pattern);
        let samples = self.each(|x, y| colours[y * self.width + x]);
        self.frame(samples, self.colours)
    }
}

/// The values of an area, of rows of `stride` values.
pub(super) fn cropped<T: Copy>(all: Vec<T>, stride: usize, [x0, y0, w, h]: [usize; 4]) -> Vec<T> {
    if w == stride && all.len() == w * h {
        return all;
    }
    all.chunks_exact(stride).skip(y0).take(h).flat_map(|row| &row[x0..x0 + w]).copied().collect()
}
