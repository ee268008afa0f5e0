//! The sides of a print and of its window, to a fraction of a pixel.

use crate::edge::{Reader, Step, profile, steps, with_contact};
use crate::format::Format;
use geometry::fit::Polynomial;
use geometry::{Homography, Point, Quad, Ray, point};
use pixels::{Field, Frame};
use rayon::prelude::*;

/// One side as measured: how far outward it lies from a straight base line, along that line.
#[derive(Clone, Debug)]
pub struct Side {
    /// Outward deviation in mm over `t`, which runs -1 to 1 along the side, clockwise.
    pub curve: Polynomial,
    /// Robust spread of the single measurements about the curve, mm.
    pub spread: f64,
    /// Share of the places along the side that agree with the curve, 0 to 1.
    pub support: f64,
    /// Median size of the step, cube root of the ratio to the bed.
    pub step: f32,
    /// Share of the side inside the frame.
    pub seen: f64,
    /// The single measurements `(t, deviation mm)` that agree.
    pub points: Vec<(f64, f64)>,
}

impl Side {
    /// True where enough of the side was found to rely on it.
    pub fn sure(&self) -> bool {
        // Half of the places: fewer can be a chance line through writing or a picture's own edges.
        self.support > 0.5
    }
}

/// A rectangle's four sides (top, right, bottom, left of the upright print) about a base.
#[derive(Clone, Debug)]
pub struct Sides {
    /// The rectangle in print millimetres.
    pub rect: Quad,
    /// The four sides.
    pub sides: [Side; 4],
}

/// Which rectangle is looked for: its profiles start in the border, whose paper is even, and go away from it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Which {
    /// The print's outer edge: from the border outward.
    Outer,
    /// The window's edge: from the border inward.
    Window,
}

/// How closely to look.
#[derive(Clone, Copy, Debug)]
pub struct Reach {
    /// How far (mm) into the border the profiles start.
    pub border: f64,
    /// How far (mm) past the base line they go.
    pub beyond: f64,
    /// Places along each side.
    pub places: usize,
    /// Degree of the side's curve.
    pub degree: usize,
    /// Distance between the samples of a profile, frame pixels.
    pub step_px: f64,
}

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
    let along = b - a;
    let length = along.norm();
    let outward = -along.unit().quarter_turn();
    let scale = frame_from_print.scale_at(a.lerp(b, 0.5));
    // No finer than 15 micrometres: paper edges are not sharper than that.
    let step = (reach.step_px / scale).max(0.015);
    let sign = if which == Which::Outer { 1.0 } else { -1.0 };
    let count = ((reach.border + reach.beyond) / step) as usize;
    // Corners are rounded by up to 3 mm; the window's by less.
    let margin = if which == Which::Outer { 3.5 } else { 1.5 } / length;
    let width = (1.0 - 2.0 * margin) / reach.places as f64;
    // One tap per pixel along the side up to 24: past that noise no longer decides.
    let taps = ((width * length * scale) as usize).clamp(3, 24);
    let found: Vec<(f64, Vec<Step>, f32)> = (0..reach.places)
        .map(|k| {
            let t0 = margin + width * k as f64;
            let tap = |i: usize| {
                let t = t0 + width * (i as f64 + 0.5) / taps as f64;
                frame_from_print.ray(a.lerp(b, t) - outward * (reach.border * sign), outward * (step * sign))
            };
            let rays: Vec<Ray> = (0..taps).map(tap).collect();
            let p = profile(reader, bed, (-reach.border, step, count), &rays);
            let t = 2.0 * (t0 + width / 2.0) - 1.0;
            let s = if p.good > 0.9 { steps(&p) } else { Vec::new() };
            // Only the outer edge lies on the bed; a thin line beside the window is part of the picture.
            let s = if which == Which::Outer { with_contact(&p, &s) } else { s };
            (t, s, p.good)
        })
        .collect();
    let seen = found.iter().filter(|f| f.2 > 0.9).count() as f64 / reach.places as f64;
    choose(&found, sign, reach, seen)
}

/// The chain of steps that is the side: the first one met coming from the border, unless the loudest is far better
/// supported. The first keeps the shadow's outer edge, which lies farther out, from being taken for the print's.
fn choose(found: &[(f64, Vec<Step>, f32)], sign: f64, reach: Reach, seen: f64) -> Side {
    let tolerance = 0.08;
    let chain = |pick: &dyn Fn(&[Step]) -> Option<Step>| {
        let samples: Vec<(f64, f64, f64)> =
            found.iter().filter_map(|(t, s, _)| pick(s).map(|s| (*t, s.at, 1.0))).collect();
        let degree = reach.degree.min(samples.len() / 4);
        let (curve, _, _) = Polynomial::fit(&samples, degree, 0.03)?;
        Some(snap(found, &curve, tolerance, reach.degree))
    };
    let first = chain(&|s| s.first().copied());
    let loudest = chain(&|s| s.iter().copied().max_by(|a, b| a.size.total_cmp(&b.size)));
    let best = match (first, loudest) {
        (Some(f), Some(l)) if l.support > f.support + 0.25 => Some(l),
        (Some(f), _) => Some(f),
        (None, l) => l,
    };
    let mut side = best.unwrap_or(Side {
        curve: Polynomial(vec![0.0]),
        spread: f64::INFINITY,
        support: 0.0,
        step: 0.0,
        seen,
        points: Vec::new(),
    });
    side.seen = seen;
    // Profiles of a window run inward; deviations are told outward.
    side.curve.0.iter_mut().for_each(|c| *c *= sign);
    side.points.iter_mut().for_each(|p| p.1 *= sign);
    side
}

/// Refits a curve to the steps nearest to it, whichever their rank, and counts who agrees.
fn snap(found: &[(f64, Vec<Step>, f32)], curve: &Polynomial, tolerance: f64, degree: usize) -> Side {
    let mut curve = curve.clone();
    let mut spread = tolerance;
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
        let samples: Vec<_> = near.iter().map(|(t, s)| (*t, s.at, 1.0)).collect();
        if samples.len() <= degree + 2 {
            break;
        }
        if let Some((c, s, _)) = Polynomial::fit(&samples, degree, 0.01) {
            (curve, spread) = (c, s);
        }
    }
    near.retain(|(t, s)| (s.at - curve.at(*t)).abs() < (4.0 * spread).clamp(0.02, tolerance));
    let support = near.len() as f64 / found.len().max(1) as f64;
    let mut sizes: Vec<f64> = near.iter().map(|(_, s)| f64::from(s.size)).collect();
    let step = geometry::fit::median(&mut sizes) as f32;
    Side { curve, spread, support, step, seen: 1.0, points: near.iter().map(|(t, s)| (*t, s.at)).collect() }
}

impl Sides {
    /// The point of side `i` at `t` (-1 to 1, clockwise), print mm.
    pub fn at(&self, i: usize, t: f64) -> Point {
        let (a, b) = self.rect.side(i);
        let outward = -(b - a).unit().quarter_turn();
        a.lerp(b, (t + 1.0) / 2.0) + outward * self.sides[i % 4].curve.at(t)
    }

    /// The corner between side `i - 1` and side `i`: where their curves meet.
    pub fn corner(&self, i: usize) -> Point {
        let before = (i + 3) % 4;
        let (a, b) = self.rect.side(i);
        let (c, d) = self.rect.side(before);
        let (l, m) = ((b - a).norm(), (d - c).norm());
        let (mut t, mut u) = (-1.0, 1.0);
        // Each round moves one side's end by the other's deviation; slopes are under one in twenty, so it converges fast.
        for _ in 0..6 {
            t = -1.0 - 2.0 * self.sides[before].curve.at(u) / l;
            u = 1.0 + 2.0 * self.sides[i % 4].curve.at(t) / m;
        }
        self.at(i, t)
    }

    /// All four corners.
    pub fn corners(&self) -> Quad {
        Quad(std::array::from_fn(|i| self.corner(i)))
    }
}

/// A print's outline and window as measured, about a base map.
#[derive(Clone, Debug)]
pub struct Outline {
    /// Print millimetres (upright, origin top left, y down) to frame pixels: exact at the outer corners found.
    pub frame_from_print: Homography,
    /// The outer edge.
    pub outer: Sides,
    /// The window's edge.
    pub window: Sides,
}

impl Outline {
    /// Refines rough corners (frame px, from the upright print's top left) of a format by profiles of samples `step_px` frame
    /// pixels apart ([`SHARP`] or [`SOFT`]).
    pub fn refine(frame: &Frame, bed: &Field, format: &Format, rough: Quad, step_px: f64) -> Option<Self> {
        let rect = format.outer_quad();
        let mut base = Homography::from_points(&rect.0, &rough.0)?;
        // The narrowest border bounds how far profiles may start inside it.
        let border = format.border();
        let first = Reach { border: (border * 0.55).min(2.4), beyond: 2.4, places: 32, degree: 2, step_px };
        let sides = measure(frame, bed, &base, rect, Which::Outer, first);
        base = base_on(&base, &sides, rect)?;
        Some(Self::close_to(frame, bed, format, base, step_px))
    }

    /// Measures a format's sides where they lie within half a millimetre of their place under `base`.
    pub fn close_to(frame: &Frame, bed: &Field, format: &Format, base: Homography, step_px: f64) -> Self {
        let (rect, inner) = (format.outer_quad(), format.window_quad());
        let border = format.border();
        let close = Reach { border: (border * 0.4).min(1.6), beyond: 0.9, places: 72, degree: 4, step_px };
        let outer = measure(frame, bed, &base, rect, Which::Outer, close);
        let window_reach = Reach { border: (border * 0.5).min(2.0), beyond: 1.5, places: 48, degree: 3, step_px };
        let window = measure(frame, bed, &base, inner, Which::Window, window_reach);
        Self { frame_from_print: base, outer, window }
    }

    /// Corners in frame pixels, outer and window, from the upright print's top left.
    pub fn corners(&self) -> (Quad, Quad) {
        let map = |s: &Sides| s.corners().map(|p| self.frame_from_print.apply(p));
        (map(&self.outer), map(&self.window))
    }

    /// Side `i` of the outline as `n` points in frame pixels, ends included.
    pub fn polyline(&self, i: usize, n: usize) -> Vec<Point> {
        let (a, b) = (self.outer.corner(i), self.outer.corner((i + 1) % 4));
        let (p, q) = self.outer.rect.side(i);
        let along = (q - p).unit();
        let length = (q - p).norm();
        let t = |c: Point| 2.0 * (c - p).dot(along) / length - 1.0;
        let (t0, t1) = (t(a), t(b));
        (0..n)
            .map(|k| self.outer.at(i, t0 + (t1 - t0) * k as f64 / (n - 1) as f64))
            .map(|p| self.frame_from_print.apply(p))
            .collect()
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

/// The upright corner's index when the corners are listed clockwise from the one nearest the frame's top left.
pub fn from_top_left(corners: Quad) -> (Quad, usize) {
    let nearest = (0..4)
        .min_by(|&a, &b| {
            let d = |i: usize| corners.0[i].distance(point(0.0, 0.0));
            d(a).total_cmp(&d(b))
        })
        .unwrap_or(0);
    (corners.rolled(nearest), (4 - nearest) % 4)
}
