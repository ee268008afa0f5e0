//! Camera raw: the mosaic as the sensor read it, and its development to linear light.
//!
//! The library behind this module only unpacks files; black level, flat field, white balance and demosaicing are ours and
//! run in that order: a mosaic balanced and evened first is demosaiced with fewer colour errors at edges.

mod decode;
mod demosaic;
mod develop;
mod minus;
mod pattern;
mod plain;
mod prepare;
mod readings;

pub(crate) use decode::{ours, probe, recognises, unpack};
pub use prepare::BED;

use crate::{Error, Limits, Metadata, Unpacked};
use pixels::Matrix3;
use std::path::Path;

/// A Bayer mosaic as stored, cropped to the picture area the camera recommends.
#[derive(Clone, Debug)]
pub struct Mosaic {
    /// Columns, at least 2.
    pub width: usize,
    /// Rows, at least 2.
    pub height: usize,
    /// Colour under each filter, 0 red, 1 green, 2 blue, by row and column parity.
    pub pattern: [[u8; 2]; 2],
    /// Reading of no light under each filter, by row and column parity.
    pub black: [[f32; 2]; 2],
    /// Reading at which the sensor saturates.
    pub white: f32,
    /// The camera's own white balance: gains of red, green and blue with green 1.
    pub as_shot: [f32; 3],
    /// The camera's colours, where known.
    pub colours: Option<CameraColours>,
    /// `width * height` readings.
    pub samples: Vec<u16>,
    /// The camera's words.
    pub metadata: Metadata,
}

/// How a camera sees colour: a matrix, and the white under which it was made.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct CameraColours {
    /// Camera red, green, blue (before balance) from XYZ.
    pub camera_from_xyz: Matrix3,
    /// XYZ of the illuminant of the calibration, Y = 1.
    pub white: [f64; 3],
}

/// Reads the mosaic of a raw file or DNG.
///
/// # Errors
/// As [`crate::read`]; [`Error::Unsupported`] where the file has no 2 x 2 pattern of red, green and blue.
pub fn read_mosaic(path: &Path, limits: &Limits) -> Result<Mosaic, Error> {
    match crate::unpack(path, limits)? {
        Unpacked::Sensor { mosaic, .. } => Ok(mosaic),
        Unpacked::Picture(_) => {
            Err(Error::unsupported(path, "a picture without a sensor's 2 x 2 mosaic", "Read it as a picture."))
        }
    }
}

/// XYZ of CIE illuminants, 2 degree observer (CIE 15:2018), Y = 1.
const D55: [f64; 3] = [0.956_82, 1.0, 0.921_49];
const INCANDESCENT: [f64; 3] = [1.098_50, 1.0, 0.355_85];

impl CameraColours {
    /// From a matrix of three rows as files state it, made under `white`; none where it says nothing.
    fn of(matrix: &[f64], white: [f64; 3]) -> Option<Self> {
        let m = matrix.get(..9).filter(|m| m.iter().any(|v| *v != 0.0))?;
        Some(Self { camera_from_xyz: std::array::from_fn(|r| std::array::from_fn(|c| m[3 * r + c])), white })
    }
}

impl Mosaic {
    /// The colour at a pixel: 0 red, 1 green, 2 blue.
    pub fn colour(&self, x: usize, y: usize) -> usize {
        usize::from(self.pattern[y & 1][x & 1])
    }

    /// Share of saturated readings per colour, 0 to 1: what a developed frame, clipped alike in all channels, no longer
    /// shows.
    pub fn clipped_share(&self) -> [f64; 3] {
        let mut hits = [0u64; 3];
        let mut all = [0u64; 3];
        for (y, row) in self.samples.chunks_exact(self.width).enumerate() {
            for (x, &v) in row.iter().enumerate() {
                let c = self.colour(x, y);
                all[c] += 1;
                hits[c] += u64::from(f32::from(v) >= self.white);
            }
        }
        std::array::from_fn(|c| hits[c] as f64 / all[c].max(1) as f64)
    }
}
