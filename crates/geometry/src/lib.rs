//! Lengths, angles, stops, points, homographies, lens distortion and fits.
//!
//! No dependency and no pixel: everything here is arithmetic in `f64`.
//!
//! Conventions, the same in every crate: image x runs right and y runs down; a pixel's centre is at +0.5; radians inside,
//! degrees on paper. A transform's name says its spaces, target first: `frame_from_print` takes print millimetres to frame
//! pixels.
//!
//! Out of scope: anything with a buffer, a file or a rig.

pub mod fit;
pub mod homography;
pub mod lens;
pub mod point;
pub mod polygon;
pub mod quad;
pub mod ruler;
pub mod solve;
pub mod unit;

pub use homography::{Homography, Ray};
pub use lens::Lens;
pub use point::{Point, point};
pub use quad::Quad;
pub use unit::{Angle, Length, Stops};
