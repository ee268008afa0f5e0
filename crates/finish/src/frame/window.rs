//! The window of a print, straightened at a scale that reflections and writing are judged at.

use super::Seen;
use super::loaded_frame::LoadedFrame;
use correct::canvas::{Canvas, Warp};
use correct::flatten::Flat;
use geometry::{Point, Quad};
use pixels::Field;
use print::image_quality;

/// Samples per millimetre in the window: a reflection is larger than a third of a millimetre.
const WINDOW: f64 = 3.0;

/// A canvas at [`WINDOW`] samples per millimetre, and the window's left, top and size on it.
fn window_place(seen: &Seen) -> (Canvas, usize, usize, [usize; 2]) {
    let f = &seen.found.format;
    let canvas = Canvas::around(f.outer, [1.0; 4], WINDOW);
    let left = (canvas.print[0] + f.inset.0 * WINDOW) as usize;
    let top = (canvas.print[1] + f.inset.1 * WINDOW) as usize;
    (canvas, left, top, [f.window.0, f.window.1].map(|mm| (mm * WINDOW) as usize))
}

/// The straightened window at [`WINDOW`] samples per millimetre.
pub(super) fn window(sight: &LoadedFrame, seen: &Seen) -> image_quality::Window {
    let (canvas, left, top, size) = window_place(seen);
    let flat = seen.flat(sight, canvas, Warp::new(&seen.found));
    image_quality::Window::new(size[0], size[1], |i, j| flat.at(left + i, top + j))
}

/// A window's light on another frame of the same pose.
pub(super) struct WindowLight {
    /// Mean light, share of the file's white.
    pub raw: f64,
    /// Share of it under a reflection.
    pub veil: f64,
}

/// The light of a print's window in `sight`, whose bare bed reads `bed`; `None` where it has no window.
pub(super) fn window_light(sight: &LoadedFrame, seen: &Seen, bed: &Field) -> Option<WindowLight> {
    if seen.found.back {
        return None;
    }
    let one = Field { grid: pixels::Picture([0; 3].map(|_| pixels::Plane::filled(1, 1, 1.0))), step: 1.0 };
    let raw = window_by(seen, &sight.frame, &one);
    let raw = raw.mean();
    Some(WindowLight { raw, veil: image_quality::veil(&window_by(seen, &sight.frame, bed)).share })
}

/// The straightened window of a frame over a bed.
fn window_by(seen: &Seen, frame: &pixels::Frame, bed: &Field) -> image_quality::Window {
    let (canvas, left, top, size) = window_place(seen);
    let flat = Flat { frame, bed, texture: None, unbend: None, second: None, canvas, warp: Warp::new(&seen.found) };
    image_quality::Window::new(size[0], size[1], |i, j| flat.at(left + i, top + j))
}

/// Share of a window, from its middle, in which two frames of a print are compared: its rim, which all prints of a format share, and what
/// the lens mixes in beside it have no part.
const INSIDE: f64 = 0.95;

/// The part of a window, or of a print without one, in which two frames of it are compared.
pub(super) fn inside(window: &Quad) -> [Point; 4] {
    let middle = window.centre();
    window.0.map(|p| middle + (p - middle) * INSIDE)
}
