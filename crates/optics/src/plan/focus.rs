//! Focus: depth of field against diffraction, the aperture that balances them, and how level the camera must be.
//!
//! On the sensor, a point z off the plane of focus blurs to `a / N` with `a = m^2 z / (1 + m)`, the Airy disc is `b N` with
//! `b = 2.44 lambda (1 + m)`, and both together are the root of the sum of squares. It is least at `N = sqrt(a / b)`, where
//! both are equal, and may be at most the use's circle c: `a^2 / N^2 + b^2 N^2 <= c^2`.

use super::{Concern, Framing, Wish};
use crate::{FNumber, closeup};
use geometry::{Angle, Length};

/// Depth of field, aperture, levelling.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Focus {
    /// f-number to set.
    pub set: FNumber,
    /// f-number at work.
    pub working: FNumber,
    /// f-number at which defocus at both ends of the curl and diffraction are equal.
    pub balanced: FNumber,
    /// f-numbers between which the whole curl is sharp enough for the use; `None` where none is.
    pub range: Option<(FNumber, FNumber)>,
    /// Height above the bed to focus at: half of the curl.
    pub height: Length,
    /// Total depth of field for the use's blur.
    pub depth: Length,
    /// Total depth of field for a blur of one pixel.
    pub depth_pixel: Length,
    /// Diameter of the Airy disc, pixels.
    pub airy_px: f64,
    /// Blur on the print at both ends of the curl, diffraction included.
    pub blur: Length,
    /// The pixels per inch that this blur can carry.
    pub holds_ppi: f64,
    /// The lift at which the edge leaves the depth of field, focused at half of it.
    pub lift_most: Length,
    /// Most lean before an edge leaves the depth of field, or the use's own limit where that is less.
    pub level: Angle,
}

/// Blur that a picture can take, in its pixels: a disc of two still carries a tenth of the contrast at 0.54 cycles per
/// pixel (`2 J1(x) / x = 0.1` at x = 3.42, f = x / (pi c)), past the finest that pixels hold. Larger softens, smaller asks
/// for apertures that do not exist.
pub const BLUR_PX: f64 = 2.0;
/// Wider than this the lens's own faults, which this model does not know, rule. Common practice, no source.
const WIDEST: f64 = 5.6;

/// The blur on the print that the use allows: two of its pixels, or of the camera's where those are larger.
fn allowed(wish: &Wish, framing: &Framing) -> Length {
    Length::inches(BLUR_PX / wish.asked.ppi.min(framing.ppi))
}

/// Works out the focus, choosing an aperture where none is wished for.
pub(super) fn focus(wish: &Wish, framing: &Framing, concerns: &mut Vec<Concern>) -> Focus {
    let m = framing.magnification;
    let best = closeup::balanced_aperture(wish.lift * 0.5, m, closeup::GREEN);
    let chosen = match range(wish, framing) {
        Some((low, high)) => third(best.0.max(WIDEST)).clamp(low.0, high.0),
        None => third(best.0),
    };
    at(wish, framing, wish.aperture.unwrap_or(FNumber(chosen)), concerns)
}

/// The focus at one aperture.
pub(super) fn at(wish: &Wish, framing: &Framing, set: FNumber, concerns: &mut Vec<Concern>) -> Focus {
    let m = framing.magnification;
    let half = wish.lift * 0.5;
    let working = closeup::working(set, m, 1.0);
    let airy = closeup::airy_diameter(working, closeup::GREEN);
    let circle = allowed(wish, framing) * m;
    let defocus = Length::mm(m * m * half.to_mm() / (set.0 * (1.0 + m)));
    let blur = closeup::combined(defocus, airy) * (1.0 / m);
    let range = range(wish, framing);
    let reach = half_depth(set, m, circle, airy);
    if range.is_none() {
        // 2 a b = c^2 at the best aperture: z = c^2 / (4.88 lambda m^2).
        let z = circle.to_mm().powi(2) / (4.88 * closeup::GREEN.to_mm() * m * m);
        concerns.push(Concern::CurlTooDeep { lift: wish.lift, most: Length::mm(2.0 * z) });
    } else if wish.aperture.is_some() && reach < half {
        concerns.push(Concern::ApertureSoft { wanted: set, range });
    }
    Focus {
        set,
        working,
        balanced: closeup::balanced_aperture(half, m, closeup::GREEN),
        range,
        height: half,
        depth: closeup::depth_of_field(set, circle, m, 1.0),
        depth_pixel: closeup::depth_of_field(set, framing.pitch, m, 1.0),
        airy_px: airy.to_mm() / framing.pitch.to_mm(),
        blur,
        holds_ppi: BLUR_PX * Length::inches(1.0).to_mm() / blur.to_mm(),
        lift_most: reach * 2.0,
        level: level(wish, reach - half),
    }
}

/// How far off the plane of focus both blurs together reach the circle: `z = N (1 + m) sqrt(c^2 - (b N)^2) / m^2`.
fn half_depth(set: FNumber, m: f64, circle: Length, airy: Length) -> Length {
    let left = circle.to_mm().powi(2) - airy.to_mm().powi(2);
    Length::mm(set.0 * (1.0 + m) * left.max(0.0).sqrt() / (m * m))
}

/// The f-numbers between which `a^2 / N^2 + b^2 N^2 <= c^2`: roots of a quadratic in N^2.
fn range(wish: &Wish, framing: &Framing) -> Option<(FNumber, FNumber)> {
    let m = framing.magnification;
    let c = allowed(wish, framing).to_mm() * m;
    let a = m * m * wish.lift.to_mm() / 2.0 / (1.0 + m);
    let b = closeup::airy_diameter(FNumber(1.0 + m), closeup::GREEN).to_mm();
    let root = (c.powi(4) - 4.0 * a * a * b * b).sqrt();
    let high = ((c * c + root) / (2.0 * b * b)).sqrt();
    // The product of the two roots is a / b.
    (root >= 0.0 && high > 0.0).then(|| (FNumber(a / b / high), FNumber(high)))
}

/// The lean that moves an edge half the longer side away by `left`, or the use's own limit.
fn level(wish: &Wish, left: Length) -> Angle {
    let long = wish.print.0.to_mm().max(wish.print.1.to_mm());
    match closeup::tilt_within(left * 2.0, Length::mm(long)) {
        Some(angle) if angle < wish.asked.tilt && angle.to_rad() > 0.0 => angle,
        _ => wish.asked.tilt,
    }
}

/// The nearest aperture in thirds of a stop, `N = 2^(k/6)`.
pub fn third(n: f64) -> f64 {
    ((n.log2() * 6.0).round() / 6.0).exp2()
}
