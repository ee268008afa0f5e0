//! Frames, planes, colour, sampling and statistics.
//!
//! A [`Frame`] is a full-size picture as its file holds it (8 or 16 bit, interleaved RGB) with its [`Encoding`]; a
//! [`Picture`] is three planes of scene-linear `f32` in the frame's own primaries, made only at the size or in the area
//! that is needed; a [`Field`] is a smooth quantity over the frame (what the bare bed would read), kept coarse.
//!
//! Coordinates: x right, y down, (0, 0) at the outer top-left corner of the first pixel, pixel centres at +0.5.
//!
//! Out of scope: prints, rigs, files.

pub mod adapt;
pub mod colour;
pub mod difference;
pub mod encoder;
pub mod encoding_eci;
pub mod field;
pub mod filter;
pub mod frame;
pub mod lab;
pub mod matrix;
pub mod plane;
pub mod resize;
pub mod swatch;

pub use adapt::{D50, D65, adaptation};
pub use colour::{Encoding, Primaries, Tone};
pub use difference::{Lightness, ciede2000, ciede2000_metric, ciede2000_with};
pub use field::Field;
pub use frame::{Frame, Samples};
pub use lab::{lab_from_xyz, xyz_from_lab};
pub use matrix::Matrix3;
pub use plane::{Picture, Plane};
pub use swatch::{ChartValues, Swatch};
