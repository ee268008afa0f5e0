//! How sure an outline is: whether it is a print's at all, and how far its worst corner may be off.

use crate::outline::Outline;
use crate::pose::Pose;

/// How sure outline and format are, 0 to 1: the share of places that agree, less where the model of camera and sheet does not
/// hold, where sides are missing and where the outline lies outside the frame.
pub fn confidence(outline: &Outline, pose: &Pose, back: bool) -> f64 {
    let outer: Vec<f64> = outline.outer.sides.iter().filter(|s| s.seen > 0.3).map(|s| s.support / s.seen).collect();
    let window: Vec<f64> = outline.window.sides.iter().filter(|s| s.seen > 0.3).map(|s| s.support / s.seen).collect();
    let mean = |v: &[f64]| v.iter().sum::<f64>() / v.len().max(1) as f64;
    // The model must hold as well: an outline that needs a bent camera is not one.
    // A lifted corner or a dome is no part of the model: they leave two tenths of a millimetre, and a coarse frame half a pixel.
    let fits = 1.0 / (1.0 + (pose.rms / 0.2f64.hypot(0.5 / pose.px_per_mm().max(1e-6))).powi(2));
    let edges = if back { mean(&outer) * 0.8 } else { 0.6 * mean(&outer) + 0.4 * mean(&window) };
    // Four sides make a rectangle: with fewer, most of it is only supposed.
    let sure = outline.outer.sides.iter().chain(&outline.window.sides).filter(|s| s.sure()).count();
    // What lies outside the frame says nothing for it, as in the first look.
    let view = outline.outer.sides.iter().map(|s| s.seen).sum::<f64>() / 4.0;
    let enough = (sure as f64 / 4.0).min(1.0) * (view / 0.6).min(1.0);
    // No profile reaches so far: a side there was put there by a model gone astray.
    let stays = outline.outer.sides.iter().all(|s| s.curve.at(-1.0).abs().max(s.curve.at(1.0).abs()) < FARTHEST);
    if stays { edges * fits * enough } else { 0.0 }
}

/// Farther (mm) than any profile reaches from where a side was looked for.
const FARTHEST: f64 = 5.0;

/// Standard uncertainty of the outline, mm: that of its least known corner.
///
/// A corner is where two sides meet, so it is as uncertain as both are at their ends: by the scatter of the single places, by
/// the degree of the curve, by what another explanation of the same lines would say ([`Side::rival`]), and by how an edge is
/// placed in its blur ([`PLACED`]). A side that was not found lies where its window's side says, or the model of the camera.
pub fn sigma(outline: &Outline, pose: &Pose) -> f64 {
    let scale = pose.px_per_mm().max(1e-6);
    // What camera and sheet leave unexplained, past the tenth of a pixel to which any side is measured, is bend or lift that
    // a side's curve may miss at its ends as well.
    let misfit = 3.0 * (pose.rms - 0.1 / scale).max(0.0);
    let end = |i: usize, k: usize| {
        let (side, window) = (&outline.outer.sides[i], &outline.window.sides[i]);
        if side.sure() {
            // Where part of a side did not show, the rest may be a line near by.
            let partly = PARTLY * (1.0 - side.support / side.seen.max(0.1)).max(0.0).powf(1.2);
            let placed = PLACED.hypot(GLOW / f64::from(side.step).max(0.01)) / scale;
            side.ends[k].hypot(side.rival).hypot(partly).hypot(misfit).hypot(placed).hypot(0.01)
        } else if window.sure() {
            UNSEEN.hypot(window.ends[k]).hypot(pose.rms)
        } else {
            (2.0 * UNSEEN).hypot(4.0 * pose.rms)
        }
    };
    (0..4).map(|i| end(i, 0).hypot(end((i + 3) % 4, 1))).fold(0.0, f64::max)
}

/// Standard error of placing an edge in its blur, frame pixels: sharpening, tone curves that nobody wrote down and light
/// scattered in the paper move where half the light is.
const PLACED: f64 = 0.12;
/// What the bed's own unevenness beside an edge moves it by, frame pixels times the edge's step (cube root): a lit wall of the
/// print brightens the bed at its foot by up to four per cent of light, a cube root of 0.0125, and fades over a few pixels. A
/// step `s` then seems to lie off by `0.0125 / s` of its blur, which is about a pixel, and by twice that at a corner, to which
/// the curve is carried on.
const GLOW: f64 = 0.025;
/// Standard uncertainty (mm) of a side of which next to nothing shows.
const PARTLY: f64 = 1.0;
/// Standard uncertainty (mm) of a side that only its window's side places: how far windows lie from their nominal place.
const UNSEEN: f64 = 0.25;

#[cfg(test)]
mod tests {
    use super::*;
    use crate::format::{Format, known};
    use crate::outline::{Side, Sides};
    use geometry::fit::Polynomial;
    use geometry::{Homography, Lens, Quad, point};

    /// Twenty pixels to the millimetre, every side found all along with this step.
    fn outline(format: &Format, step: f32) -> Outline {
        let sides = |rect: Quad| {
            let points = (0..40).map(|k| (f64::from(k) / 20.0 - 1.0, 0.0)).collect();
            let curve = Polynomial(vec![0.0]);
            let side =
                Side { curve, spread: 0.004, support: 1.0, step, seen: 1.0, points, ends: [0.005; 2], rival: 0.0 };
            Sides { rect, sides: std::array::from_fn(|_| side.clone()) }
        };
        let rect = format.outer_quad();
        let frame_from_print = Homography::from_points(&rect.0, &rect.map(|p| p * 20.0 + point(300.0, 200.0)).0);
        let (outer, window) = (sides(rect), sides(format.window_quad()));
        Outline { frame_from_print: frame_from_print.expect("four corners"), outer, window, tips: Vec::new() }
    }

    fn of(step: f32) -> f64 {
        let format = &known()[0];
        let outline = outline(format, step);
        let pose = Pose::fit(&outline, format, 9000.0, (3000, 3000), Some((Lens::straight(3000.0, 3000.0), 1e-4)));
        sigma(&outline, &pose)
    }

    #[test]
    fn a_faint_side_is_less_sure_than_a_loud_one() {
        // Two sides, each a root of squares: 0.005 mm of its own, 0.01 mm, and pixels of a twentieth of a millimetre.
        let by_hand = |px: f64| 2f64.sqrt() * 0.005f64.hypot(0.01).hypot(px / 20.0);
        assert!((of(0.7) - by_hand(0.12f64.hypot(0.025 / 0.7))).abs() < 0.003, "{}", of(0.7));
        // A step of a twentieth beside four per cent of glow (a cube root of 0.0125): half a pixel at the corner.
        assert!((of(0.05) - by_hand(0.12f64.hypot(0.5))).abs() < 0.003, "{}", of(0.05));
    }
}
