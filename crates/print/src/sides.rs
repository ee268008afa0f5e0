//! Measures the four sides of a rectangle, and from them a print's outline.

use crate::edge::{HALF, Reader, Step};
use crate::format::Format;
use crate::outline::{Outline, Side, Sides};
use crate::smooth::{Fitted, Scale};
use crate::strip::{self, Reach, Strip, Which};
use geometry::fit::Polynomial;
use geometry::{Homography, Point, Quad};
use pixels::{Field, Frame};
use rayon::prelude::*;

/// Samples half a pixel apart, for a sharp lens.
pub const SHARP: f64 = 0.5;
/// Samples two pixels apart, for a frame out of focus: a step is the difference of means of three samples, so an edge ten
/// pixels wide still stands out as one.
pub const SOFT: f64 = 2.0;

/// Measures four sides near the rectangle `rect` (print mm) under `frame_from_print`.
pub fn measure(
    frame: &Frame,
    bed: &Field,
    frame_from_print: &Homography,
    rect: Quad,
    which: Which,
    reach: Reach,
) -> Sides {
    let reader = Reader::new(frame);
    let sides: Vec<Side> =
        (0..4usize).into_par_iter().map(|i| side(&reader, bed, frame_from_print, rect.side(i), which, reach)).collect();
    Sides { rect, sides: sides.try_into().unwrap_or_else(|_| unreachable!("four sides in, four out")) }
}

fn side(
    reader: &Reader<'_>,
    bed: &Field,
    frame_from_print: &Homography,
    (a, b): (Point, Point),
    which: Which,
    reach: Reach,
) -> Side {
    let strip = Strip::read(reader, bed, frame_from_print, (a, b), which, reach);
    let seen = strip.places.iter().filter(|(_, p)| p.good > 0.9).count() as f64 / strip.places.len().max(1) as f64;
    // Edges agree with their curve to a twelfth of a millimetre, and to a pixel of a coarse frame.
    let pixel = 1.0 / frame_from_print.scale_at(a.lerp(b, 0.5)).max(1e-6);
    let tolerance = TOLERANCE.max(1.1 * pixel);
    let mut best = Side::missing(seen);
    // Where noise hides the side in single profiles, neighbours are averaged, and longer means compared.
    for &(blended, half) in WAYS {
        let other = (blended > 0).then(|| strip.blend(blended, half));
        let found = other.as_ref().unwrap_or(&strip).steps();
        let range = strip.range();
        let scale = Scale { step: strip.step, tolerance, blended, range };
        let side = choose(&found, scale, reach.degree, seen);
        if side.support > best.support + 0.1 {
            best = side;
        }
        if best.support > 0.6 * seen {
            break;
        }
    }
    // Profiles of a window run inward; deviations are told outward.
    best.curve.0.iter_mut().for_each(|c| *c *= strip.sign);
    best.points.iter_mut().for_each(|p| p.1 *= strip.sign);
    best
}

/// How far (mm) a single measurement may lie from its side's curve.
const TOLERANCE: f64 = 0.08;
/// Neighbours averaged on either side and samples in each mean, in the order they are tried: from a sharp clean frame to one
/// whose border differs from the bed by less than its grain.
const WAYS: &[(usize, usize)] = &[(0, HALF), (2, HALF), (2, 8), (4, 14)];

/// The chain of steps that is the side: the first one met coming from the border, unless the loudest is far better
/// supported. The first keeps the shadow's outer edge, which lies farther out, from being taken for the print's.
fn choose(found: &[strip::Found], scale: Scale, degree: usize, seen: f64) -> Side {
    let chain = |pick: &dyn Fn(&[Step]) -> Option<Step>| {
        let samples: Vec<(f64, f64, f64)> =
            found.iter().filter_map(|(t, s, _)| pick(s).map(|s| (*t, s.at, 1.0))).collect();
        let start = degree.min(samples.len() / 4);
        let (curve, _, _) = Polynomial::fit(&samples, start, 0.03)?;
        snap(found, &curve, scale, degree)
    };
    let first = chain(&|s| s.first().copied());
    let loudest = chain(&|s| s.iter().copied().max_by(|a, b| a.size.total_cmp(&b.size)));
    let (best, other) = match (first, loudest) {
        (Some(f), Some(l)) if l.support > f.support + 0.25 => (Some(l), Some(f)),
        (Some(f), l) => (Some(f), l),
        (None, l) => (l, None),
    };
    let Some(mut side) = best else { return Side::missing(seen) };
    // Another line with as much behind it may be the side: the less of this one was found, the likelier.
    if let Some(other) = other {
        let far = (other.curve.at(0.0) - side.curve.at(0.0)).abs();
        side.rival = far * (other.support - 0.5).clamp(0.0, 0.5) * (1.0 - side.support).max(0.0);
    }
    side.seen = seen;
    side
}

/// Refits a curve to the steps nearest to it, whichever their rank, and counts who agrees.
fn snap(found: &[strip::Found], curve: &Polynomial, scale: Scale, degree: usize) -> Option<Side> {
    let tolerance = scale.tolerance;
    let mut curve = curve.clone();
    let mut fitted = None;
    let mut near: Vec<(f64, Step)> = Vec::new();
    for cut in [4.0 * tolerance, 2.0 * tolerance, 2.0 * tolerance] {
        near = found
            .iter()
            .filter_map(|(t, steps, _)| {
                let want = curve.at(*t);
                let s = steps.iter().min_by(|a, b| (a.at - want).abs().total_cmp(&(b.at - want).abs()))?;
                ((s.at - want).abs() < cut).then_some((*t, *s))
            })
            .collect();
        if near.len() <= degree + 2 {
            break;
        }
        let samples: Vec<(f64, f64)> = near.iter().map(|(t, s)| (*t, s.at)).collect();
        if let Some(f) = Fitted::new(&samples, degree, scale) {
            curve = f.curve.clone();
            fitted = Some(f);
        }
    }
    let Fitted { spread, ends, .. } = fitted?;
    let within = (4.0 * spread).clamp(0.25 * tolerance, tolerance);
    near.retain(|(t, s)| (s.at - curve.at(*t)).abs() < within);
    let support = beyond_chance(near.len() as f64 / found.len().max(1) as f64, found, within, scale.range);
    let mut sizes: Vec<f64> = near.iter().map(|(_, s)| f64::from(s.size)).collect();
    let step = geometry::fit::median(&mut sizes) as f32;
    let points = near.iter().map(|(t, s)| (*t, s.at)).collect();
    Some(Side { curve, spread, support, step, seen: 1.0, points, ends, rival: 0.0 })
}

/// The share of places that agree less what steps thrown at random would give: with `p` the chance that one of a profile's
/// steps falls within reach of any line, `(share - p) / (1 - p)`.
fn beyond_chance(share: f64, found: &[strip::Found], within: f64, range: f64) -> f64 {
    let steps: usize = found.iter().map(|(_, s, _)| s.len()).sum();
    let each = steps as f64 / found.len().max(1) as f64;
    let p = 1.0 - (1.0 - (2.0 * within / range.max(1e-6)).min(1.0)).powf(each);
    ((share - p) / (1.0 - p).max(1e-6)).max(0.0)
}

impl Outline {
    /// Refines rough corners (frame px, from the upright print's top left) of a format by profiles of samples `step_px` frame
    /// pixels apart ([`SHARP`] or [`SOFT`]).
    pub fn refine(frame: &Frame, bed: &Field, format: &Format, rough: Quad, step_px: f64) -> Option<Self> {
        let rect = format.outer_quad();
        let mut base = Homography::from_points(&rect.0, &rough.0)?;
        // The narrowest border bounds how far profiles may start inside it.
        let border = format.border();
        let first = Reach { border: (border * 0.55).min(2.4), beyond: 2.4, places: 32, degree: 2, step_px }
            .at_least(border, base.scale_at(rect.centre()));
        let sides = measure(frame, bed, &base, rect, Which::Outer, first);
        base = base_on(&base, &sides, rect)?;
        Some(Self::close_to(frame, bed, format, base, step_px))
    }

    /// Measures a format's sides where they lie within half a millimetre of their place under `base`.
    pub fn close_to(frame: &Frame, bed: &Field, format: &Format, base: Homography, step_px: f64) -> Self {
        let (rect, inner) = (format.outer_quad(), format.window_quad());
        let border = format.border();
        let scale = base.scale_at(rect.centre());
        let close = Reach { border: (border * 0.4).min(1.6), beyond: 0.9, places: 72, degree: 4, step_px }
            .at_least(border, scale);
        let outer = measure(frame, bed, &base, rect, Which::Outer, close);
        let window_reach = Reach { border: (border * 0.5).min(2.0), beyond: 1.5, places: 48, degree: 3, step_px }
            .at_least(border, scale);
        let window = measure(frame, bed, &base, inner, Which::Window, window_reach);
        Self { frame_from_print: base, outer, window, tips: Vec::new() }
    }
}

/// The base map moved onto the corners just found; sides not found keep their place.
fn base_on(base: &Homography, sides: &Sides, rect: Quad) -> Option<Homography> {
    let mut sides = sides.clone();
    for s in &mut sides.sides {
        if !s.sure() {
            s.curve = Polynomial(vec![0.0]);
        }
    }
    let corners = sides.corners().map(|p| base.apply(p));
    Homography::from_points(&rect.0, &corners.0)
}
