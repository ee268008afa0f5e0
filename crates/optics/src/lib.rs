//! The physical model of camera, light and sheet, in millimetres.
//!
//! One model, three uses: it predicts what a rig would give, it draws the frame the rig would take, and it explains what
//! a frame shows. It knows no pixels' values and no files: numbers in, numbers out.
//!
//! World: right-handed, origin on the bed where the optical axis meets it, x to the image's right, y to the image's *up*,
//! z up to the camera. Print frame: X right and Y up on the upright print, origin at the centre of its outer rectangle.
//! Frame coordinates are those of `geometry`: pixels, x right, y *down*, (0, 0) at the outer corner of the first pixel.
//!
//! Out of scope: several reflections, spectra, lenses that are not well described by a pinhole and a blur circle.

pub mod camera;
pub mod closeup;
pub mod exposure;
pub mod format;
pub mod light;
pub mod mirror;
pub mod plan;
pub mod shadow;
pub mod sheet;
pub mod small_lamp;
pub mod space;
pub mod unit;

pub use camera::Camera;
pub use light::{Ambient, Light, Shape};
pub use mirror::Panel;
pub use sheet::{Curl, Pose, Sheet, Surface};
pub use space::{Vec3, vec3};
pub use unit::{Candela, Ev, FNumber, GuideNumber, Lux};
