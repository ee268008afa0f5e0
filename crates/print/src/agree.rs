//! Whether the outline lies where the window says, and what becomes of a side that does not.

use crate::outline::{Outline, Side, Sides};
use crate::pose::Pose;
use geometry::fit::{Polynomial, median};

/// How far (mm) a side may lie from where the window places it: windows lie within half a millimetre of their nominal place,
/// and a lifted corner moves a side by as much (`docs/science/finding.md`).
pub const APART: f64 = 0.7;

/// Sides and window that one camera explains to this (mm, root mean square) contradict each other nowhere: one side of eight at
/// [`APART`] leaves five times as much, before the camera takes up a part of it.
pub const AT_ONE: f64 = 0.05;

/// Gives up each outer side that lies farther from its place by the window than any cut or curl explains: it is a shadow's rim,
/// or the grain's. True where one was given up.
///
/// `by_window` is the camera as the window alone tells it.
pub fn give_up_strays(outline: &mut Outline, by_window: &Pose) -> bool {
    // A coarse frame places a window to a pixel at its worst.
    let most = APART.hypot(1.0 / by_window.px_per_mm().max(1e-6));
    let mut any = false;
    for i in 0..4 {
        let Some(place) = placed(outline, &outline.outer, i, by_window) else { continue };
        let side = &mut outline.outer.sides[i];
        let mut off: Vec<f64> = side.points.iter().map(|(t, d)| d - place.at(*t)).collect();
        if side.sure() && median(&mut off).abs() > most {
            *side = Side::missing(side.seen);
            any = true;
        }
    }
    any
}

/// The outline with only its window, from which the window's own camera is fitted; `None` where the window is not sure.
pub fn window_only(outline: &Outline) -> Option<Outline> {
    let mut only = outline.clone();
    only.outer.sides.iter_mut().for_each(|s| *s = Side::missing(s.seen));
    outline.window.sides.iter().all(Side::sure).then_some(only)
}

/// Side `i` of `sides` as the model of camera and sheet places it: outward deviation in mm.
pub fn placed(outline: &Outline, sides: &Sides, i: usize, pose: &Pose) -> Option<Polynomial> {
    let print_from_frame = outline.frame_from_print.inverse()?;
    let (a, b) = sides.rect.side(i);
    let outward = -(b - a).unit().quarter_turn();
    let samples: Vec<(f64, f64, f64)> = (0..=16)
        .map(|k| {
            let t = f64::from(k) / 8.0 - 1.0;
            let p = a.lerp(b, (t + 1.0) / 2.0);
            (t, (print_from_frame.apply(pose.frame(p)) - p).dot(outward), 1.0)
        })
        .collect();
    Polynomial::fit(&samples, 3, 0.01).map(|(curve, _, _)| curve)
}
