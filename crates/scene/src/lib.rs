//! Renders the frame a rig would take, with its truth.
//!
//! A [`Scene`] is a rig (camera, flash, ambient light, bed, sensor), what lies on the bed, and a seed. [`render`] draws it
//! through the optics of the `optics` crate and says beside it what is true: corners, scale, tilt, light, shadow, veil.
//! Pictures in the prints are invented by our own code. The same scene and size give the same bytes.
//!
//! ```
//! let scene = scene::sample(7);
//! let shot = scene::render(&scene, 600, 400);
//! assert_eq!(shot.frame.width, 600);
//! assert_eq!(shot.truth.prints.len(), 1);
//! ```
//!
//! Out of scope: spectra, several bounces of light, lenses that flare, pictures of anybody or anything real.

pub mod bed;
pub mod chart;
pub mod demo;
pub mod dust;
pub mod face;
pub mod format;
pub mod ground;
pub mod noise;
pub mod picture;
pub mod print;
pub mod render;
pub mod rig;
pub mod ruler;
pub mod sample;
pub mod sensor;
pub mod truth;
pub mod wild;

pub use format::Format;
pub use ground::Ground;
pub use picture::{Picture, Subject};
pub use print::{Border, Print, Side};
pub use render::{Mosaic, Shot, coverage, render, response, shadow};
pub use rig::{Bed, Fault, Placed, Rig, Role, Scene};
pub use sample::sample;
pub use sensor::{Output, Sensor};
pub use truth::{PrintTruth, Truth};
pub use wild::wild;
